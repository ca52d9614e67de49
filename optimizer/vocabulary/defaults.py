"""The figures that stand where a job states none: one table, each with its unit and its source.

The defaults of catalogue columns stand with the columns, in ``catalog/tables.py``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class DefaultFigure:
    """One figure with a meaning: its value in ``unit``, what it is, and where it comes from."""

    name: str
    value: float
    unit: str
    meaning: str
    source: str


# power factor of a motor whose job states W and none, by its kind: common practice, no source
MOTOR_POWER_FACTORS = {"psc": 0.9, "three-phase": 0.8}
MOTOR_POWER_FACTOR = 0.7  # of any other kind, and where the kind is not stated: common practice, no source
# ways to place 120 V units on two legs that are tried; beyond, small loads are to be put together as one
MOST_PLACINGS = 1 << 18
MOST_START_PLANS = 20_000  # ways to put starters on loads that are told apart

COMMON = "common practice, no source"

_FIGURES = (
    ("site.array_ceiling", 600.0, "V", "highest array voltage; one- and two-family dwellings (other buildings "
           "1000 V)", "NEC 690.7"),
    ("site.rear_light", 0.135, "share", "light on the rear of a panel", "IEC 61215-1:2021, nameplate irradiance "
           "of bifacial panels"),
    ("site.array_factor", 0.80, "share", "what soiling, mismatch, wiring, heat and tracker leave", COMMON),
    ("supply.hz", 60.0, "Hz", "frequency of the supplies \"120\" and \"120/240\"", COMMON),
    ("load.count", 1.0, "", "units of a load", "the meaning of a load"),
    ("load.starting_power_factor", 1.0, "", "power factor while starting", "the cautious end"),
    ("load.start_time", 1.0, "s", "length of a start", COMMON),
    ("load.daytime", 0.35, "share", "energy used while the sun is on the array: 8 to 9 h of 24", COMMON),
    ("need.autonomy_days", 1.0, "d", "days without sun that the bank carries", COMMON),
    ("reserve.running", 0.25, "share", "running W and VA against converter, leg and bank", COMMON),
    ("reserve.starting", 0.25, "share", "every start against converter, leg and bank", COMMON),
    ("reserve.voltage", 0.05, "share", "cold string voltage below the tracker's highest", COMMON),
    ("reserve.hot_voltage", 0.03, "share", "hot string voltage above the tracker's lowest: ageing, wiring",
           COMMON),
    ("reserve.current", 0.25, "share", "short-circuit current; never less", "NEC 690.8(A)(1), IEC 62548"),
    ("reserve.parallel_share", 0.80, "share", "what paralleled bank strings share evenly", COMMON),
    ("weather.ground", 0.20, "share", "light that the ground throws back; snow is not counted",
           "PVWatts manual, from memory"),
    ("replay.array_losses", 0.84, "share", "what dirt, mismatch, wiring and tracker leave; heat, glass angle and "
           "ceilings are worked out beside it", "PVWatts 5 losses of 14.08 %, from memory, and 2 % of the tracker "
           "(common practice, no source)"),
    ("water.reserve_days", 0.0, "d", "days of water to be stored", "the person's wish"),
    ("water.tank_on_hand", 0.0, "L", "water storage already there", "the person's wish"),
    ("water.daytime_with_tank", 0.9, "share", "pumping that a day's tank moves into the sun", COMMON),
)  # fmt: skip

DEFAULTS: Mapping[str, DefaultFigure] = {fields[0]: DefaultFigure(*fields) for fields in _FIGURES}


def default(name: str) -> float:
    """The default of a job's key, such as "site.array_factor". Raises KeyError."""
    return DEFAULTS[name].value
