"""Mounting: rows of racking and the area of panels (mm, m²)."""

from __future__ import annotations

from collections.abc import Mapping

from catalog.rows import PanelColumn, RackColumn
from catalog.tables import ROOF_HEAT_C
from optimizer.rules.comparisons import whole_up
from optimizer.rules.figure_types import Array, Figure, Mask

MM2_PER_M2 = 1e6


def unknown_rack_heat(mounts: tuple[str, ...] | None) -> float:
    """heat_c of a rack that nobody named: the largest default of the mounts that the job allows (None: any)."""
    return ROOF_HEAT_C if mounts is None or "roof" in mounts else 0.0


def string_rows(series: Figure, row_max: Figure | float) -> Figure:
    """Rows of one string: every string stands in rows of its own."""
    return whole_up(series / row_max)


def string_rack_units(
    series: Figure, rows: Figure | float, per_panel: Figure | float, per_row: Figure | float
) -> Figure:
    """Rack units of one string: ceil(n·per_panel + rows·per_row)."""
    return whole_up(series * per_panel + rows * per_row)


def panel_area(length_mm: Figure, width_mm: Figure) -> Figure:
    """Area of one panel in m²."""
    return length_mm * width_mm / MM2_PER_M2


def fits_rack(panel: Mapping[PanelColumn, Array | float], rack: Mapping[RackColumn, Array | float]) -> Mask | bool:
    """Whether the rack takes the panel's width, length and weight; figures of one or arrays of many."""
    return (
        (panel["width_mm"] <= rack["max_width_mm"])
        & (panel["length_mm"] <= rack["max_length_mm"])
        & (panel["weight_kg"] <= rack["max_panel_kg"])
    )
