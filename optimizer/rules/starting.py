"""Starting a motor through a starter: what is left of its start, and of its volts (VA, s, shares)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from optimizer.rules.compare import at_least

# makers' handbooks and generator tables agree, from memory: below these shares of its volts a motor may not start
LEAST_VOLTS_DIRECT = 0.65
LEAST_VOLTS_SOFT = 0.55


def softened_va(start_factor: float, start_va: float, floor_x: float, running_va: float) -> float:
    """Starting VA through a starter: the share it leaves, never below its floor over the running VA, nor below
    running itself."""
    return max(start_factor * start_va, floor_x * running_va, running_va)


def volts_left(cable_drop: float, start_factor: float = 1.0) -> float:
    """Share of its volts that the motor has at the start; ``cable_drop`` is the share its cable loses at direct
    starting amps (makers' handbooks and generator tables agree, from memory)."""
    return start_factor * (1 - cable_drop * start_factor)


def serves(starter: Mapping[str, Any], motor: str | None, running_a: float, voltage_v: float) -> bool:
    """Whether a starter (a catalogue row) may serve a motor of this kind, of so many running A, at so many V. A motor
    whose kind is not stated gets none."""
    if motor is None or motor not in str(starter["motors"]).split(";"):
        return False
    low, high = float(starter["volts_min"]), float(starter["volts_max"])  # not stated: not a number, which bars nothing
    return bool(at_least(starter["running_a"], running_a)) and not (voltage_v < low or voltage_v > high)
