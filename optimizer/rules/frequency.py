"""The frequency of the supply that converters make; its kinds are in :mod:`optimizer.vocabulary.supplies`."""

from __future__ import annotations

import numpy as np


def makes_frequency(hz: np.ndarray, wanted: int) -> np.ndarray:
    """Whether each converter states the supply's frequency, or states none."""
    return np.array([not text or str(wanted) in str(text).split(";") for text in hz], dtype=bool)
