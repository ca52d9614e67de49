"""Mounting: rows of racking and the area of panels (mm, m²)."""

from __future__ import annotations

from typing import Any

from optimizer.rules.tolerance import whole_up

MM2_PER_M2 = 1e6


def string_rows(series: Any, row_max: Any) -> Any:
    """Rows of one string: every string stands in rows of its own."""
    return whole_up(series / row_max)


def string_rack_units(series: Any, rows: Any, per_panel: Any, per_row: Any) -> Any:
    """Rack units of one string: ceil(n·per_panel + rows·per_row)."""
    return whole_up(series * per_panel + rows * per_row)


def panel_area(length_mm: Any, width_mm: Any) -> Any:
    """Area of one panel in m²."""
    return length_mm * width_mm / MM2_PER_M2


def fits_rack(panel: Any, rack: Any) -> Any:
    """Whether the rack takes the panel's width, length and weight; mappings of floats or arrays."""
    return (
        (panel["width_mm"] <= rack["max_width_mm"])
        & (panel["length_mm"] <= rack["max_length_mm"])
        & (panel["weight_kg"] <= rack["max_panel_kg"])
    )
