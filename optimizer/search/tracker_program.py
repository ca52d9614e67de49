"""An exact dynamic program over trackers: the most usable power of exactly N panels."""

from __future__ import annotations

import numpy as np

from optimizer.candidates import strings
from optimizer.rules.comparisons import at_least, whole_up


def most_power(layouts: tuple[strings.Layout, ...], trackers: int, most: float) -> np.ndarray:
    """The most usable W of exactly N panels, for N from 0 up; -inf where so many cannot be wired.

    Exact by a dynamic program over trackers: the most of N panels on t trackers is the most over layouts of what
    N - n·m panels give on t - 1, plus this one.
    """
    best: dict[int, float] = {}
    for layout in layouts:
        best[layout.panels] = max(best.get(layout.panels, 0.0), layout.usable_w)
    largest = max(best, default=0)
    ceiling = int(min(most, largest * trackers))
    power = np.full(max(ceiling, 0) + 1, -np.inf)
    power[0] = 0.0
    for _ in range(trackers):
        more = power.copy()
        for panels, usable_w in best.items():
            if panels <= ceiling:
                np.maximum(more[panels:], power[: ceiling + 1 - panels] + usable_w, out=more[panels:])
        if np.array_equal(more, power):
            break
        power = more
    return power


def fewest_panels(power: np.ndarray, need_w: float, least: float) -> int | None:
    """The fewest panels that can be wired to give ``need_w`` and are at least ``least``; ``power`` as
    :func:`most_power` gives it. None where no number does."""
    enough = at_least(power, need_w) & np.isfinite(power)
    enough[: int(max(1.0, whole_up(least)))] = False
    counts = np.flatnonzero(enough)
    return int(counts[0]) if len(counts) else None
