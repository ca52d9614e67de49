"""Every plan that may be part of a bundle: which loads get which starter, and how much water is stored.

A starter matters by three things alone: what is left of the start, how long it lasts as the ratings tell times apart,
and what it costs. One that another beats in all three is never looked at again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import prod

import numpy as np

from catalog.reader import Catalog
from catalog.rows import StarterRow
from optimizer.candidates.plan import DIRECT, Plan
from optimizer.candidates.rows import allowed_rows
from optimizer.candidates.terms import Setting
from optimizer.costs.market import Market, rows_with_price
from optimizer.costs.tank_bounds import can_hold
from optimizer.inputs.job import Load
from optimizer.rules import demand as demand_rules
from optimizer.rules import soft_start, water
from optimizer.rules.comparisons import at_most
from optimizer.rules.load_figures import LoadFigures, load_figures, needs_volts
from optimizer.vocabulary.defaults import MOST_START_PLANS
from optimizer.vocabulary.problems import Fault, InputError, Place
from optimizer.vocabulary.tolerance import just_below

ENDLESS_L = 1e15  # more water than any tanks hold


@dataclass(frozen=True, eq=False)
class Candidate:
    """A starter for one load ("" for none): the W and VA it runs and starts at with it and the class of time that the
    start lasts, cents by set of sellers that a bundle saves without it at the least, and costs more with it at the most
    (infinite where that is not known)."""

    part: str
    asks: tuple[float, float, float, float]
    lasts: int
    least: np.ndarray
    most: np.ndarray
    makes_up: bool = False  # it may be bought to make up an order
    anywhere: np.ndarray | float = np.inf  # as ``most``, or with the fee of one more seller that is asked for it

    def beats(self, other: Candidate) -> bool:
        """Whether it stands for the other one: no harder running or starting, no longer, and no dearer whatever sellers
        are used. The energy of a day goes with the running W.

        None stands for one that may make up an order: without it a seller might ask freight, or not sell at all.
        """
        if not self._eases(other):
            return False
        # of equal bundles the one whose part comes first is the answer
        cheaper = self.most < other.least if self.part > other.part else self.most <= other.least
        return bool(cheaper.all())

    def saves(self, other: Candidate) -> bool:
        """Whether a bundle with this one costs less than with the other in any case, and any limit is as easily met:
        bought from one seller, whose fee is added where the bundle has nothing from it yet."""
        return self._eases(other) and bool(((self.anywhere < other.least) | np.isinf(other.least)).all())

    def _eases(self, other: Candidate) -> bool:
        softer = all(mine <= its for mine, its in zip(self.asks, other.asks, strict=True))
        return softer and self.lasts <= other.lasts and not other.makes_up


Options = Mapping[str, Mapping[str, tuple[Candidate, ...]]]  # by load and part, a candidate for each market


def planned(base: Setting, catalog: Catalog, plan: Plan) -> Setting:
    """The setting of a plan."""
    if plan == DIRECT:
        return base
    table = catalog.starters
    rows = {name: table.record(row) for name, part in plan.starters if (row := table.index_of(part)) is not None}
    return replace(base, demand=demand_rules.demand(base.job, rows, plan.tanks_l), plan=plan)


def running(catalog: Catalog, plan: Plan) -> Plan:
    """The plan as far as it moves what runs: its drives alone, and its water."""
    table = catalog.starters
    drives = tuple((load, part) for load, part in plan.starters if table.columns["kind"][table.place(part)] == "drive")
    return Plan(drives, plan.tanks_l)


def easiest(base: Setting, catalog: Catalog) -> demand_rules.Demand:
    """What the loads ask at the least, whatever starters and tanks they get: no plan is below it in anything."""
    job = base.job
    rows = [catalog.starters.record(row) for row in range(len(catalog.starters))]
    stored = demand_rules.demand(job, tanks_l=ENDLESS_L) if job.water.max_tanks and len(catalog.tanks) else base.demand

    def least(load: Load, direct: LoadFigures) -> LoadFigures:
        motor = (load.motor, direct.motor_a, direct.voltage_v, load.cable_drop)
        served = [row for row in rows if soft_start.serves(row, *motor)]
        each = [direct, *(load_figures(load, job.site.sun_hours, row) for row in served)]
        energy = min((figures.energy_wh for figures in each), key=sum)  # goes with the W that run, month by month
        low = {
            name: min(getattr(figures, name) for figures in each)
            for name in ("running_w", "running_va", "start_w", "start_va", "start_s")
        }
        return replace(direct, energy_wh=energy, **low)

    if not rows:
        return stored
    loads = tuple(least(load, figures) for load, figures in zip(job.loads, stored.loads, strict=True))
    return demand_rules.demand_of(job, loads, stored.water_l, stored.water_days)


def plans(base: Setting, options: Options, *markets: Market) -> tuple[Plan, ...]:
    """Every plan that the limits on it leave, the plain ones first; none where no plan meets them. ``options`` of
    :func:`start_options`.

    ``markets``: the one that it is to be bought in, or all, where it must be had in each: then only what is no dearer
    in any of them makes another plan needless.

    Raises InputError where there are more than ``MOST_START_PLANS``.
    """
    job = base.job
    gives = water.well_gives(job.water.well_yield_l_per_h)
    if base.keeps("well-yield") and not at_most(base.demand.water_l.max(), gives):
        return ()
    volumes = tuple(_volumes(base, markets))
    ways = prod(map(len, options.values()))
    if ways * max(len(volumes), 1) > MOST_START_PLANS:
        slots = {"count": f"{ways:,}", "most": f"{MOST_START_PLANS:,}"}
        raise InputError([Fault("too-many-plans", slots).at(Place(str(job.path)))])
    must = base.terms.must.get("starter")
    found = []
    for chosen in product(*options.values()):
        starters = tuple((name, part) for name, part in zip(options, chosen, strict=True) if part)
        for tanks_l in volumes:
            plan = Plan(starters, tanks_l)
            pieces = plan.pieces(job)
            if must is None or (pieces[must[0]] == must[1] if must[1] else pieces[must[0]] > 0):
                found.append(plan)
    return tuple(sorted(found, key=lambda plan: (len(plan.starters), plan.tanks_l, plan.starters)))


def worth_opening(base: Setting, options: Options, every: Sequence[Plan]) -> tuple[Plan, ...]:
    """The plans that may be part of a cheapest bundle: those left out in which some load has a starter in whose place
    another saves, in every market. A bundle with it costs more than one with the other, which has the same converter,
    panel and battery; so no search looks for it, unless it is asked for, or sellers are counted."""
    if base.terms.most_sellers is not None or base.terms.must.get("starter") is not None:
        return tuple(every)
    saved = {
        (load, part)
        for load, had in options.items()
        for part, its in had.items()
        if any(all(a.saves(b) for a, b in zip(other, its, strict=True)) for other in had.values())
    }
    direct = {load for load, part in saved if not part}
    return tuple(
        plan for plan in every if saved.isdisjoint(plan.starters) and direct <= {load for load, _ in plan.starters}
    )


# starters ---------------------------------------------------------------------------------------------------------


def start_options(base: Setting, catalog: Catalog, *markets: Market) -> Options:
    """What each load may start through, nothing ("") among it, without what another beats in every market."""
    return {figures.name: _candidates(base, catalog, markets, figures) for figures in base.demand.loads}


def _candidates(
    base: Setting, catalog: Catalog, markets: Sequence[Market], figures: LoadFigures
) -> dict[str, tuple[Candidate, ...]]:  # fmt: skip
    each = [_had_in(base, catalog, market, figures) for market in markets]
    everywhere = [part for part in each[0] if all(part in found for found in each)]
    asked_for = base.terms.must.get("starter", ("", None))[0]
    kept: list[str] = []
    first = each[0]
    for part in sorted(everywhere, key=lambda p: (first[p].least.min(), first[p].asks, first[p].lasts, p)):
        if part == asked_for or not any(all(found[other].beats(found[part]) for found in each) for other in kept):
            kept.append(part)
    return {part: tuple(found[part] for found in each) for part in kept}


def _had_in(base: Setting, catalog: Catalog, market: Market, figures: LoadFigures) -> dict[str, Candidate]:
    """What one load may start through in one market, by part."""
    load = next(load for load in base.job.loads if load.name == figures.name)
    times = _times(catalog)
    sets = 1 << market.groups
    found = {}
    if soft_start.fits_phases(None, load.motor) and starts(base, None, load, figures):
        free = np.zeros(sets)
        found[""] = Candidate("", asks(figures), _lasts(times, figures.start_s), free, free, anywhere=free)
    if load.motor is None:
        return found
    rows = rows_with_price(allowed_rows(catalog.starters, base), market)
    # other loads may start through the same one
    beside = sum(load.count for load in base.job.loads if load.motor is not None and load.name != figures.name)
    for row in rows.index:
        starter = catalog.starters.record(int(row))
        drop, volts = load.cable_drop, figures.voltage_v
        if not soft_start.serves(starter, load.motor, figures.motor_a, volts, drop) or not starts(
            base, starter, load, figures
        ):
            continue
        if figures.count > market.ladders["starter"].most[row]:
            continue
        through = load_figures(load, base.job.site.sun_hours, starter)
        least = market.least_saving("starter", int(row), figures.count, beside)
        most = market.upper_cost("starter", int(row), figures.count, beside)
        part, lasts = str(starter["part"]), _lasts(times, through.start_s)
        found[part] = Candidate(
            part, asks(through), lasts, least, most, market.makes_up(part), market.from_one_more(most)
        )  # fmt: skip
    return found


def starts(base: Setting, starter: StarterRow | None, load: Load, figures: LoadFigures) -> bool:
    """start-volts of a load that starts through a starter, or directly."""
    if not needs_volts(load, figures) or not base.keeps("start-volts"):
        return True
    return soft_start.starts_motor(starter, load.cable_drop, load.start_volts_least)


def asks(figures: LoadFigures) -> tuple[float, float, float, float]:
    """What one unit asks: W and VA running, W and VA at its start."""
    return figures.running_w, figures.running_va, figures.start_w, figures.start_va


def _lasts(times: np.ndarray, seconds: float) -> int:
    """The place of a time among those that ratings are given for."""
    return int(np.searchsorted(times, just_below(seconds)))


def _times(catalog: Catalog) -> np.ndarray:
    """The times that ratings are given for: a start that lasts no longer than one of them is as good as any other
    that lasts no longer, so only the place among them counts."""
    seconds = np.concatenate([catalog.converters["surge_s"], catalog.batteries["peak_s"]])
    return np.unique(seconds)


# water ------------------------------------------------------------------------------------------------------------


def _volumes(base: Setting, markets: Sequence[Market]) -> Iterator[float]:
    """The L of tanks that are worth having: what the wish for stored water asks, and what lets pumping wait for the
    sun, or the bank leave the pumps out."""
    job, demand = base.job, base.demand
    wishes = job.water
    a_day = float(demand.water_l.max())
    asked = max(wishes.reserve_days - base.slack("water-reserve"), 0.0) if base.keeps("water-reserve") else 0.0
    least = max(asked * a_day - wishes.tank_on_hand_l, 0.0)
    days = [water.SUNNY_DAYS]
    if base.keeps("autonomy"):
        days.append(max(job.need.autonomy_days - base.slack("autonomy"), 0.0))
    volumes = {least} | {max(each * a_day - wishes.tank_on_hand_l, least) for each in days}
    seen: list[demand_rules.Demand] = []
    for tanks_l in sorted(volumes):
        if tanks_l > 0 and not all(can_hold(base, market, tanks_l) for market in markets):
            continue
        here = demand_rules.demand(job, tanks_l=tanks_l)
        # more water that changes nothing is no plan of its own
        if not any(_alike(base, here, other) for other in seen):
            seen.append(here)
            yield tanks_l


def _alike(base: Setting, one: demand_rules.Demand, other: demand_rules.Demand) -> bool:
    days = base.job.need.autonomy_days - base.slack("autonomy")
    return bool((one.day_wh == other.day_wh).all() and (one.carried_wh(days) == other.carried_wh(days)).all())
