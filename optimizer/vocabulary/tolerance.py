"""The one tolerance of comparisons: a limit met exactly is met.

A relative 1e-9 is far above the rounding of binary arithmetic (about 1e-16 a step) and far below anything an instrument
can read, so it can neither fail a limit that is met exactly nor pass one that is missed by a part in a million.
"""

from __future__ import annotations

TOLERANCE = 1e-9


def just_below(value: float) -> float:
    """The least figure that still counts as ``value``, which is not negative."""
    return value * (1 - TOLERANCE)


def just_above(value: float) -> float:
    """The largest figure that still counts as ``value``, which is not negative."""
    return value * (1 + TOLERANCE)
