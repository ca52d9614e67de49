"""The supply that converters make: how many units for each kind, and its frequency."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

import numpy as np

SUPPLY_COLUMN: Mapping[str, Literal["units_120", "units_120_240", "units_230"]] = {
    "120": "units_120",
    "120/240": "units_120_240",
    "230": "units_230",
}


def makes_frequency(hz: np.ndarray, wanted: int) -> np.ndarray:
    """Whether each converter states the supply's frequency, or states none."""
    return np.array([not text or str(wanted) in str(text).split(";") for text in hz], dtype=bool)
