"""What a day asks of bank and array (Wh, W; monthly figures have the month as their last axis)."""

from __future__ import annotations

import numpy as np

from optimizer.rules.figure_types import Array, Figure, where

IDLE_NIGHT_HOURS = 16.0  # common practice, no source: 8 h of a day's idle draw in the sun, 16 h from the bank
IDLE_DAY_HOURS = 8.0
LEAD_ACID = ("agm", "gel", "flooded")
ARRAY_TO_LOAD = 1.20  # IEEE 1562, from memory
ARRAY_TO_LOAD_LEAD_ACID = 1.30  # IEEE 1562, from memory
PROTECTION = 1.25  # NEC 690.9(B), from memory: overcurrent devices carry 125 % of the continuous current


def night_energy(night_wh: Figure, efficiency: Figure | float, idle_w: Figure | float, units: Figure | float) -> Figure:
    """Wh that the bank gives in a night: the loads' night share through the converter, and its idle draw."""
    return night_wh / efficiency + idle_w * units * IDLE_NIGHT_HOURS


def day_energy(day_wh: Figure, efficiency: Figure | float, idle_w: Figure | float, units: Figure | float) -> Figure:
    """Wh that the array gives straight to loads and idle draw in a day."""
    return day_wh / efficiency + idle_w * units * IDLE_DAY_HOURS


def through_bank(night: Figure, round_trip: Figure | float) -> Figure:
    """B_m: Wh to put into the bank in a day so that ``night`` comes out again."""
    return night / round_trip


def sunless_day(
    critical_wh: Figure, efficiency: Figure | float, idle_w: Figure | float, units: Figure | float
) -> Figure:
    """Wh that the bank gives in a day without sun: the critical loads and all idle draw."""
    return critical_wh / efficiency + idle_w * units * (IDLE_DAY_HOURS + IDLE_NIGHT_HOURS)


def refill_days(
    bank_wh: Figure | float, round_trip: Figure | float, usable_w: Figure | float, sun_hours: Figure, day_wh: Figure
) -> Figure:
    """Days until an empty bank is full again from what the array makes beyond the day's own demand; infinite where it
    makes no more than that."""
    spare = usable_w * sun_hours - day_wh
    days: Figure = where(spare > 0, bank_wh / round_trip / where(spare > 0, spare, 1.0), np.inf)
    return days


def power_to_refill(
    bank_wh: Figure | float, round_trip: Figure | float, days: float, sun_hours: Figure | float, day_wh: Figure
) -> Figure:
    """Usable array W at which an empty bank is full again in ``days``: :func:`refill_days` turned round."""
    return (bank_wh / round_trip / days + day_wh) / sun_hours


def default_array_to_load(chemistry: str | np.ndarray) -> Array:
    """How many times the day's demand the array must make, where the job does not say; an array of the shape of
    ``chemistry``, without axes for a single one."""
    return np.where(np.isin(chemistry, LEAD_ACID), ARRAY_TO_LOAD_LEAD_ACID, ARRAY_TO_LOAD)


def protection_current(
    continuous_w: Figure, efficiency: Figure | float, idle_w: Figure | float, lowest_v: Figure | float
) -> Figure:
    """A that the bank's protection must carry for one converter: (1.25·continuous_w/η + idle)/V_low."""
    return (PROTECTION * continuous_w / efficiency + idle_w) / lowest_v
