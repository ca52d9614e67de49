"""How two figures are compared, in one place: a limit met exactly is met.

Every comparison allows a relative 1e-9, which is far above the rounding of binary arithmetic (about 1e-16 a step)
and far below anything an instrument can read, so it can neither fail a limit that is met exactly nor pass one
that is missed by a part in a million.
"""

from __future__ import annotations

from typing import Any

import numpy as np

TOLERANCE = 1e-9


def at_most(value: Any, allowed: Any) -> Any:
    """True where ``value`` ≤ ``allowed``; floats or arrays; a NaN on either side is never met."""
    return value <= allowed + TOLERANCE * np.abs(allowed)


def at_least(value: Any, allowed: Any) -> Any:
    """True where ``value`` ≥ ``allowed``; floats or arrays; a NaN on either side is never met."""
    return value >= allowed - TOLERANCE * np.abs(allowed)


def whole_down(value: Any) -> Any:
    """The largest whole number that is at most ``value`` (by :func:`at_most`), as floats."""
    return np.floor(value + TOLERANCE * np.abs(value))


def whole_up(value: Any) -> Any:
    """The smallest whole number that is at least ``value`` (by :func:`at_least`), as floats."""
    return np.ceil(value - TOLERANCE * np.abs(value))
