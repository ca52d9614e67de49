"""A bundle gone through hour by hour: what the array hands on, who gets it, and what lacks (W; of an hour, Wh; L).

Several years run through in order, and the last is followed by the first; see :mod:`optimizer.rules.hours` for an hour.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.rules import bounded_sum, hours
from optimizer.rules.figure_types import Array
from optimizer.rules.hourly_loads import HourlyLoads


@dataclass(frozen=True)
class ArrayHours:
    """W of each hour: what the panels offer, and what the trackers hand on of it."""

    offered: Array
    handed_on: Array


@dataclass(frozen=True)
class ReplayParts:
    """What a replay reckons with of converter, bank and tanks: ``idle_w`` of all units, ``charge_w`` the most that goes
    into the bank, ``round_trip`` the share of it that is stored, ``bank_wh`` what the bank holds in its window."""

    efficiency: float
    idle_w: float
    charge_w: float
    round_trip: float
    bank_wh: float


@dataclass(frozen=True)
class WaterHours:
    """L of each hour: pumped, lacking of what is drawn, and in the tanks after it; without tanks what runs lacks."""

    delivered: Array
    lacking: Array
    level: Array | None


@dataclass(frozen=True)
class ReplayHours:
    """All hours of all years in order. ``asked``: of array and bank together; ``shed``: of it by loads that are not
    critical; ``lacking``: what critical loads lack; ``short``: where it is over 1 %; ``pumps_w``: W of each pump that
    waits for the sun. ``water`` is None where no water is pumped."""

    array: ArrayHours
    asked: Array
    shed: Array
    flows: hours.HourFlows
    lacking: Array
    short: np.ndarray
    pumps_w: dict[str, Array]
    water: WaterHours | None


def array_hours(
    strings: Sequence[tuple[int, int]], panel_w: Array, volts: Array, tracker_w: float, tracker_a: float, most_w: float
) -> ArrayHours:
    """What the array makes. ``strings``: (panels in series, strings side by side) of each tracker; ``panel_w`` and
    ``volts``: W that one panel offers and its V at its best, by hour; ``tracker_w`` and ``tracker_a``: what a tracker
    makes use of; ``most_w``: all of them together."""
    offered = np.zeros_like(panel_w)
    handed_on = np.zeros_like(panel_w)
    for series, parallel in strings:
        string_w = series * panel_w
        offered += parallel * string_w
        handed_on += hours.handed_on(string_w, parallel, tracker_w, tracker_a, series * volts)
    return ArrayHours(offered, np.minimum(handed_on, most_w))


def replay(array: ArrayHours, loads: HourlyLoads, parts: ReplayParts) -> ReplayHours:
    """Go through all hours. The years of ``array`` stand one after the other on one axis; the loads are those of every
    year."""
    sun = array.handed_on
    years = sun.shape[-1] // loads.each_w.shape[1]
    critical_w, shed = np.tile(loads.critical_w, years), np.tile(loads.shed_w, years) / parts.efficiency
    asked = hours.asked_power(critical_w, parts.efficiency, parts.idle_w, 1) + shed
    pumps_w, tanks = pumped(loads, np.maximum(sun - asked, 0.0) * parts.efficiency, years)
    for pump_w in pumps_w.values():
        asked = asked + pump_w / parts.efficiency
    step = hours.bank_step(sun, asked, parts.charge_w, parts.round_trip)
    before, level = bounded_sum.levels(step, parts.bank_wh)
    flows = hours.flows(sun, asked, parts.round_trip, before, level)
    lacking = hours.critical_unserved(flows.unserved, shed)
    short = hours.is_short(lacking, asked - shed)
    water = tanks
    if tanks is None and loads.water_l.any():
        water = _with_power(loads, asked, shed, flows.unserved, lacking, years)
    return ReplayHours(array, asked, shed, flows, lacking, short, pumps_w, water)


def pumped(loads: HourlyLoads, left_w: Array, years: int) -> tuple[dict[str, Array], WaterHours | None]:
    """W of each pump that waits for the sun, the first of the job first, and the water of the tanks. ``left_w``: what
    the sun leaves over behind the converter (…, hours)."""
    if not loads.waiting:
        return {}, None
    could_w, could_l = {}, np.zeros_like(left_w)
    for pump in loads.waiting:
        runs = np.minimum(np.tile(pump.most_w, years), left_w)
        left_w = left_w - runs
        could_w[pump.name] = runs
        could_l = could_l + runs * np.tile(pump.l_per_wh, years)
    drawn = np.tile(loads.drawn_l, years)
    before, level = bounded_sum.levels(could_l - drawn, loads.stored_l)
    pumped, lacking = hours.tank_flows(could_l, drawn, before, level)
    share = np.divide(pumped, could_l, out=np.zeros_like(pumped), where=could_l > 0)
    water = WaterHours(drawn - lacking, lacking, level)
    return {name: watts * share for name, watts in could_w.items()}, water


def _with_power(
    loads: HourlyLoads, asked: Array, shed: Array, unserved: Array, lacking: Array, years: int
) -> WaterHours:
    """Water that is pumped as it is used: what a pump lacks of its power, it lacks of its water."""
    critical = np.divide(lacking, asked - shed, out=np.zeros_like(asked), where=asked > shed)
    others = np.divide(unserved - lacking, shed, out=np.zeros_like(asked), where=shed > 0)
    of_critical = np.tile(loads.water_l[loads.critical].sum(axis=0), years)
    of_others = np.tile(loads.water_l[~loads.critical].sum(axis=0), years)
    lacks = of_critical * critical + of_others * others
    return WaterHours(of_critical + of_others - lacks, lacks, None)
