"""What a starter leaves of a start: VA at the supply, volts at the motor, and what a drive takes while it runs."""

from __future__ import annotations

import numpy as np

from catalog.rows import StarterRow
from optimizer.rules.comparisons import at_least
from optimizer.rules.figure_types import Figure
from optimizer.vocabulary.motor_tables import motor_phases

# Share of its rated volts that a motor must have to come up to speed, where its job states no figure of its maker's:
# direct from memory; behind a starter a maker's figure for an autotransformer's tap.
LEAST_VOLTS_DIRECT = 0.65
LEAST_VOLTS_STARTER = 0.55
DRIVE = "drive"


def is_drive(starter: StarterRow | None) -> bool:
    """Whether a starter makes its own volts and hertz."""
    return starter is not None and starter["kind"] == DRIVE


def softened_va(
    start_factor: Figure, start_va: Figure | float, floor_x: Figure | float, running_va: Figure | float
) -> Figure:
    """Starting VA with a starter: ``start_factor`` (a share) of the direct start, but never less than ``floor_x``
    times the running VA, nor than the running VA itself; floats or arrays that broadcast. Not of a drive.

    Makers' handbooks and generator tables agree, from memory.
    """
    softened: Figure = np.maximum(np.maximum(start_factor * start_va, floor_x * running_va), running_va)
    return softened


def drive_input(running_w: float, efficiency_pct: float, input_power_factor: float) -> tuple[float, float]:
    """W and VA that a drive takes while its motor takes ``running_w``: its losses, and its own power factor in place
    of the motor's (circuit theory)."""
    watts = running_w / (efficiency_pct / 100)
    return watts, watts / input_power_factor


def start_volts_share(starter: StarterRow | None) -> float:
    """Share of the supply's volts that a motor has while its amps peak, its cable left out: all without a starter, not
    a number behind a drive, which is not judged."""
    return 1.0 if starter is None else float(starter["start_volts_pct"]) / 100


def volts_left(cable_drop: float, share: Figure | float) -> Figure | float:
    """The share of its volts that a motor has while it starts; floats or arrays that broadcast.

    ``cable_drop`` is the share that its cable loses at the amps of a direct start; ``share`` what the starter leaves.
    A motor that draws a share of the amps loses the same share of the drop: share x (1 - cable_drop). Textbook.
    """
    return share * (1 - cable_drop)


def least_volts(softened: bool, stated: float | None = None) -> float:
    """The share of its volts that a motor must have to start, directly or ``softened`` by a starter: its maker's figure
    where it is ``stated``."""
    if stated is not None:
        return stated
    return LEAST_VOLTS_STARTER if softened else LEAST_VOLTS_DIRECT


def fits_phases(starter: StarterRow | None, motor: str | None) -> bool:
    """Whether a motor gets the phases it needs from a supply of one: directly, or through a drive that makes them."""
    if starter is None:
        return motor_phases(motor) == 1
    return bool(starter["phases_in"] == 1 and starter["makes_phases"] == motor_phases(motor))


def starts_motor(starter: StarterRow | None, cable_drop: float | None, least_stated: float | None) -> bool:
    """start-volts of a motor that starts harder than it runs, by the share its cable loses (None: not stated).

    A drive is not judged. Any other starter only lowers the volts, so it never serves a motor that would not start
    without it.
    """
    if cable_drop is None or is_drive(starter):
        return True
    each = (None,) if starter is None else (None, starter)
    return all(
        bool(at_least(volts_left(cable_drop, start_volts_share(one)), least_volts(one is not None, least_stated)))
        for one in each
    )


def serves(
    starter: StarterRow, motor: str | None, running_a: float, voltage_v: float, cable_drop: float | None
) -> bool:
    """Whether a starter (a catalogue row) may serve a motor of this kind, of so many running A before it, at so many V.

    A motor whose kind is not stated gets none; one whose cable is not stated (``cable_drop`` None) none but a drive:
    any other lowers the volts at the motor, and whether it still turns depends on the cable.
    """
    if cable_drop is None and not is_drive(starter):
        return False
    if motor is None or motor not in str(starter["motors"]).split(";") or not fits_phases(starter, motor):
        return False
    low, high = float(starter["volts_min"]), float(starter["volts_max"])  # not stated: not a number, which bars nothing
    return bool(at_least(starter["running_a"], running_a)) and not (voltage_v < low or voltage_v > high)
