"""The supplies that a job may ask for: one table of their voltages, legs, and columns in the catalogue."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Band = tuple[float, float]  # V, both ends included


@dataclass(frozen=True)
class SupplyKind:
    """``bands``: the V of loads that it serves; ``volts``: its nominal V across all legs; ``column``: the converters'
    column that says how many units make it; ``split_phase``: it has two legs."""

    bands: tuple[Band, ...]
    volts: float
    column: Literal["units_120", "units_120_240", "units_230"]
    split_phase: bool = False


HOUSE_BAND: Band = (110.0, 125.0)  # V of a load that stands on one leg of a split-phase supply
SUPPLIES: Mapping[str, SupplyKind] = {
    "120": SupplyKind((HOUSE_BAND,), 120.0, "units_120"),
    "230": SupplyKind(((220.0, 240.0),), 230.0, "units_230"),
    "120/240": SupplyKind((HOUSE_BAND, (220.0, 250.0)), 240.0, "units_120_240", split_phase=True),
}
