"""What a budget may buy more of. Apart from the staircase itself, so that a command line can name it at once."""

from __future__ import annotations

from enum import StrEnum


class StairQuantity(StrEnum):
    """The quantity that a staircase climbs: sunless days, water a day, W to spare at the worst start, or hours of the
    worst year that have power."""

    AUTONOMY = "autonomy"
    WATER = "water"
    RESERVE = "reserve"
    HOURS = "hours"
