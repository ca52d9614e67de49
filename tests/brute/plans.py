"""What a bundle may add beside its array and bank: starters on the loads, tanks for their water.

A plan is one choice of both. Every start plan is tried. Of tanks every multiset is tried that could be part of a
cheapest bundle; which are left out, and why that loses nothing, stands with `useful_tanks` and `worth_trying`.
"""

from __future__ import annotations

import itertools
import math
import operator
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from tests.brute.limits import MONTHS, Limits, at_most
from tests.brute.loads import Demand, Figures, demand, figures
from tests.brute.money import Needs
from tests.brute.parts import Parts, Starter, Tank
from tests.brute.reading import INFINITE, Job, Load

LEAST_VOLTS_SHARE = 0.65  # of the supply's, at the terminals of a motor that starts directly; from memory
LEAST_STARTER_SHARE = 0.55  # the same through a starter; a maker's figure for a tap
PHASES_OF_SUPPLY = 1
StartPlan = tuple[Starter | None, ...]  # one entry for each load


class Tanks(NamedTuple):
    pieces: tuple[tuple[str, int], ...]  # of each model that is chosen
    days: float  # days of water stored
    raised: bool  # a day of water at least: the pumping loads' daytime share may rise
    rest: bool  # autonomy_days of water at least: the bank need not carry the pumping loads


@dataclass(frozen=True)
class Plan:
    starters: tuple[tuple[str, str], ...]  # load and part
    tanks: tuple[tuple[str, int], ...]
    water_days: float
    raised: bool
    needs: Needs  # pieces of starters and tanks
    asked: Demand


# --- starters -------------------------------------------------------------------------------------


def may_serve(job: Job, load: Load, asked: Figures, starter: Starter, limits: Limits) -> bool:
    """Whether a load may have a starter of this model; those that are excluded were taken out before.

    Any but a drive lowers the volts at the motor, so that it serves only a load that states what its cable loses.
    """
    if limits.on("listed") and job.listed_only and not starter.listed:
        return False
    return (
        load.motor in starter.motors
        and (starter.kind == "drive" or load.cable_drop is not None)
        and at_most(asked.running_a, starter.running_a)
        and at_most(starter.volts_min, load.voltage_v)
        and at_most(load.voltage_v, starter.volts_max)
    )


def phases_fit(load: Load, starter: Starter | None, limits: Limits) -> bool:
    """phases: of a supply of one phase, the only one there is, a three-phase motor runs behind a drive alone."""
    if not limits.on("phases"):
        return True
    wanted = 3 if load.three_phase else 1
    if starter is None:
        return wanted == PHASES_OF_SUPPLY
    return (starter.phases_in, starter.makes_phases) == (PHASES_OF_SUPPLY, wanted)


def volts_hold(load: Load, starter: Starter | None, limits: Limits) -> bool:
    """start-volts: what the cable leaves of the volts while the motor's amps peak.

    Behind a starter that leaves a share α of the volts the motor draws α times the amps, so that the cable, which
    loses c of the volts at a direct start, leaves α·(1 - c). No starter but a drive, which is not judged, helps a load
    that has too few volts at its direct start.
    """
    if not limits.on("start-volts") or load.cable_drop is None:
        return True
    if starter is not None and starter.kind == "drive":
        return True
    stated = load.start_volts_least
    left = 1 - load.cable_drop
    if not at_most(LEAST_VOLTS_SHARE if stated is None else stated, left):
        return False
    return starter is None or at_most(LEAST_STARTER_SHARE if stated is None else stated, starter.start_volts * left)


def start_plans(job: Job, starters: Iterable[Starter], limits: Limits) -> Iterator[StartPlan]:
    """Every way to give each load a starter or none."""
    rows = list(starters)
    ways: list[list[Starter | None]] = []
    for load in job.loads:
        asked = figures(load, job.sun_hours)
        fit: list[Starter | None] = [None]
        fit += [starter for starter in rows if may_serve(job, load, asked, starter, limits)]
        ways.append([one for one in fit if phases_fit(load, one, limits) and volts_hold(load, one, limits)])
    return itertools.product(*ways)


# --- water ----------------------------------------------------------------------------------------


def daily_water(job: Job) -> list[float]:
    """W_m: the water of all loads in a day of each month, L."""
    watered = [load.water_per_day_l for load in job.loads if load.water_per_day_l is not None]
    return [sum(month) for month in zip(*watered, strict=True)] or [0.0]


def well_gives(job: Job, limits: Limits) -> bool:
    """well-yield: no month asks more of the well than it gives in a day."""
    return not limits.on("well-yield") or all(at_most(water, job.well_yield_l_per_h * 24) for water in daily_water(job))


def stored(job: Job, tanks: Iterable[Tank], pieces: Iterable[int], limits: Limits) -> Tanks | None:
    """What these pieces make of the water; None where water-reserve or the space for tanks bars them."""
    chosen = [(tank, count) for tank, count in zip(tanks, pieces, strict=True) if count]
    if limits.on("space") and sum(count for _, count in chosen) > job.max_tanks:
        return None
    volume = job.tank_on_hand_l + sum(count * tank.usable_l for tank, count in chosen)
    water = max(daily_water(job))
    reserve = max(0.0, job.reserve_days - limits.more("water-reserve"))
    if limits.on("water-reserve") and not at_most(reserve * water, volume):
        return None
    autonomy = max(0.0, job.autonomy_days - limits.more("autonomy"))
    return Tanks(
        tuple((tank.part, count) for tank, count in chosen),
        0.0 if volume == 0 else volume / water if water else INFINITE,
        volume > 0 and at_most(water, volume),
        volume > 0 and at_most(autonomy * water, volume),
    )


def useful_tanks(
    job: Job,
    tanks: Sequence[Tank],
    limits: Limits,
    must: Mapping[str, int | None],
    on_hand: Mapping[str, int] | None = None,
) -> list[Tanks]:
    """Every multiset of tanks that meets the limits and from which no piece can be taken away for nothing.

    The volume changes a bundle only by what it reaches: the reserve, a day, autonomy_days. So a multiset of which
    a smaller one reaches the same is no better: what the smaller one needs is a part of what it needs, and to buy
    more never costs less. Going down one piece at a time ends at a multiset of this list. More than what reaches
    all three by one model alone is never of use either (it could lose a piece), which ends the enumeration. Pieces
    that `must` asks for are never taken away.

    Where sellers have floors, `on_hand` is given, and to buy more may cost less: more of a part that is bought at
    all may be bought anyway, but one that is not bought counts for no floor. There the only piece that is bought of
    a model is not taken away.
    """
    water = max(daily_water(job))
    most_days = max(1.0, job.reserve_days, job.autonomy_days)
    ranges = []
    for tank in tanks:
        owned = 0 if on_hand is None else on_hand.get(tank.part, 0)
        least, most = 0, max(1 + owned, math.ceil(most_days * water / tank.usable_l))
        if tank.part in must:
            count = must[tank.part]
            least, most = (1, most) if count is None else (count, count)
        ranges.append(range(least, most + 1))
    found = []
    for pieces in itertools.product(*ranges):
        here = stored(job, tanks, pieces, limits)
        if here is None:
            continue
        fewer = [
            stored(job, tanks, (*pieces[:place], count - 1, *pieces[place + 1 :]), limits)
            for place, count in enumerate(pieces)
            if count > ranges[place][0] and (on_hand is None or count != on_hand.get(tanks[place].part, 0) + 1)
        ]
        if not any(one and (one.raised, one.rest) == (here.raised, here.rest) for one in fewer):
            found.append(here)
    return found


# --- both -----------------------------------------------------------------------------------------


def every_plan(
    job: Job,
    parts: Parts,
    limits: Limits,
    must: Mapping[str, int | None],
    never: frozenset[str],
    on_hand: Mapping[str, int] | None = None,
) -> list[Plan]:
    """Every plan within the limits that starters and tanks meet for themselves; none where the well gives too
    little. `on_hand` as in `useful_tanks`."""
    if not well_gives(job, limits):
        return []
    barred = never | (frozenset(job.exclude) if limits.on("allowed") else frozenset())
    watered = useful_tanks(job, [tank for tank in parts.tanks if tank.part not in barred], limits, must, on_hand)
    plans = []
    for starters in start_plans(job, [one for one in parts.starters if one.part not in barred], limits):
        pieces: dict[str, int] = {}
        for load, starter in zip(job.loads, starters, strict=True):
            if starter is not None:
                pieces[starter.part] = pieces.get(starter.part, 0) + load.count
        named = tuple((load.name, starter.part) for load, starter in zip(job.loads, starters, strict=True) if starter)
        demands: dict[tuple[bool, bool], Demand] = {}
        for one in watered:
            key = one.raised, one.rest
            if key not in demands:
                with_tank = job.daytime_with_tank if one.raised else 0.0
                demands[key] = demand(job, starters, with_tank=with_tank, pumps_rest=one.rest)
            needs = (*pieces.items(), *one.pieces)
            plans.append(Plan(named, one.pieces, one.days, one.raised, needs, demands[key]))
    return plans


def worth_trying(plans: Sequence[Plan], on_hand: Mapping[str, int] | None = None) -> list[Plan]:
    """Of the plans that one bank fits, those that no other makes needless.

    What is left of a bundle, its array, sees of a plan only the energy of each month, in all and at night, and the
    money. A plan is needless beside one that asks no more energy and needs no more of any part: with the same array it
    meets what the first meets, costs no more and has no more pieces. Of plans that are equal in this the first stays.
    Where sellers have floors, `on_hand` is given (as in `useful_tanks`), and the same models must be bought for both.
    """

    def bought(plan: Plan) -> set[str]:
        return set() if on_hand is None else {part for part, count in plan.needs if count > on_hand.get(part, 0)}

    kept: list[tuple[Plan, list[float]]] = []
    for plan in sorted(plans, key=lambda one: (not one.raised, sum(count for _, count in one.needs))):
        need, asks = dict(plan.needs), energies(plan.asked)
        if not any(
            all(map(operator.le, less, asks))
            and all(need.get(part, 0) >= count for part, count in other.needs)
            and bought(other) == bought(plan)
            for other, less in kept
        ):
            kept.append((plan, asks))
    return [plan for plan, _ in kept]


def energies(asked: Demand) -> list[float]:
    """Wh of each month in all, then of each month at night."""
    return [sum(load.energy_wh[month] for load in asked.loads) for month in MONTHS] + [
        sum(load.energy_wh[month] * (1 - load.daytime[month]) for load in asked.loads) for month in MONTHS
    ]
