"""What a reduced-voltage starter leaves of a start: VA at the supply, volts at the motor."""

from __future__ import annotations

import numpy as np

from catalog.rows import StarterRow
from optimizer.rules.comparisons import at_least
from optimizer.rules.figure_types import Figure

# Share of its rated volts that a motor must have to come up to speed: makers' handbooks and generator tables agree,
# from memory. A starter holds its volts while the motor turns, so it may go lower.
LEAST_VOLTS_DIRECT = 0.65
LEAST_VOLTS_SOFT = 0.55


def softened_va(
    start_factor: Figure, start_va: Figure | float, floor_x: Figure | float, running_va: Figure | float
) -> Figure:
    """Starting VA with a starter: ``start_factor`` (a share) of the direct start, but never less than ``floor_x``
    times the running VA, nor than the running VA itself; floats or arrays that broadcast.

    Makers' handbooks and generator tables agree, from memory.
    """
    softened: Figure = np.maximum(np.maximum(start_factor * start_va, floor_x * running_va), running_va)
    return softened


def volts_left(cable_drop: float, start_factor: Figure) -> Figure:
    """The share of its volts that a motor has while it starts; floats or arrays that broadcast.

    ``cable_drop`` is the share that its cable loses at direct starting amps. A starter of ``start_factor`` (a share)
    lets through as large a share of amps and of volts, and the smaller amps lose less: start_factor x (1 - cable_drop
    x start_factor). Makers' handbooks and generator tables agree, from memory.
    """
    return start_factor * (1 - cable_drop * start_factor)


def serves(starter: StarterRow, motor: str | None, running_a: float, voltage_v: float) -> bool:
    """Whether a starter (a catalogue row) may serve a motor of this kind, of so many running A, at so many V. A motor
    whose kind is not stated gets none."""
    if motor is None or motor not in str(starter["motors"]).split(";"):
        return False
    low, high = float(starter["volts_min"]), float(starter["volts_max"])  # not stated: not a number, which bars nothing
    return bool(at_least(starter["running_a"], running_a)) and not (voltage_v < low or voltage_v > high)
