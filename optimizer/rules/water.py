"""Water: what tanks hold and how long it lasts (L, days)."""

from __future__ import annotations

import numpy as np

from optimizer.rules.comparisons import at_least
from optimizer.rules.figure_types import Figure

DAY_H = 24.0
SUNNY_DAYS = 1.0  # days of water stored from which pumping may wait for the sun (common practice, no source)


def usable_volume(volume_l: Figure, usable_pct: Figure | float) -> Figure:
    """L that can be drawn from a tank."""
    return volume_l * usable_pct / 100


def stored_days(stored_l: float, water_l: np.ndarray) -> float:
    """Days that the stored water lasts in the month that takes most; ``water_l`` L a day by month. Where nothing is
    asked, water stored lasts for ever."""
    most = float(np.max(water_l))
    if stored_l <= 0:
        return 0.0
    return stored_l / most if most > 0 else float("inf")


def well_gives(yield_l_per_h: float | None) -> float:
    """L that the well gives in a day; without end where its yield is not stated."""
    return float("inf") if yield_l_per_h is None else yield_l_per_h * DAY_H


def waits_for_sun(days: float) -> bool:
    """Whether so many days of water stored let pumping wait for the sun."""
    return bool(at_least(days, SUNNY_DAYS))


def carries(days: float, sunless_days: float) -> bool:
    """Whether the water stored outlasts the sunless days asked, so that the bank need not carry the pumps."""
    return days > 0 and bool(at_least(days, sunless_days))
