"""How two figures are compared, in one place: a limit met exactly is met.

Every comparison allows the relative tolerance of :mod:`optimizer.vocabulary.tolerance`.
"""

from __future__ import annotations

from typing import overload

import numpy as np

from optimizer.rules.figure_types import Array, Figure, Mask
from optimizer.vocabulary.tolerance import TOLERANCE


@overload
def at_most(value: float, allowed: float) -> bool: ...
@overload
def at_most(value: Array, allowed: Array | float) -> Mask: ...
@overload
def at_most(value: float, allowed: Array) -> Mask: ...
def at_most(value: Array | float, allowed: Array | float) -> Mask | bool:
    """True where ``value`` ≤ ``allowed``; floats or arrays; a NaN on either side is never met."""
    return value <= allowed + TOLERANCE * np.abs(allowed)


@overload
def at_least(value: float, allowed: float) -> bool: ...
@overload
def at_least(value: Array, allowed: Array | float) -> Mask: ...
@overload
def at_least(value: float, allowed: Array) -> Mask: ...
def at_least(value: Array | float, allowed: Array | float) -> Mask | bool:
    """True where ``value`` ≥ ``allowed``; floats or arrays; a NaN on either side is never met."""
    return value >= allowed - TOLERANCE * np.abs(allowed)


def whole_down(value: Figure) -> Figure:
    """The largest whole number that is at most ``value`` (by :func:`at_most`), as floats."""
    whole: Figure = np.floor(value + TOLERANCE * np.abs(value))
    return whole


def whole_up(value: Figure) -> Figure:
    """The smallest whole number that is at least ``value`` (by :func:`at_least`), as floats."""
    whole: Figure = np.ceil(value - TOLERANCE * np.abs(value))
    return whole
