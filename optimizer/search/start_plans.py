"""Every plan that may be part of a bundle: which loads get which starter, and how much water is stored.

A starter matters by three things alone: what is left of the start, how long it lasts as the ratings tell times apart,
and what it costs. One that another beats in all three is never looked at again.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import product
from math import prod
from typing import Any

import numpy as np

from catalog.reader import Catalog
from optimizer.candidates.plan import DIRECT, Plan
from optimizer.candidates.terms import Setting, allowed_rows
from optimizer.costs.market import Market, Offer, rows_with_price
from optimizer.rules import demand as loads
from optimizer.rules import soft_start, water
from optimizer.rules.demand import LoadFigures
from optimizer.rules.tolerance import TOLERANCE, at_least, at_most, whole_up
from optimizer.vocabulary.defaults import MOST_START_PLANS
from optimizer.vocabulary.problems import Fault, InputError, Place


@dataclass(frozen=True)
class Candidate:
    """A starter for one load ("" for none): the start VA and class of time it leaves, cents by set of sellers that a
    bundle saves without it at the least, and costs more with it at the most (infinite where that is not known)."""

    part: str
    start_va: float
    lasts: int
    least: np.ndarray
    most: np.ndarray
    makes_up: bool = False  # it may be bought to make up an order

    def beats(self, other: Candidate) -> bool:
        """Whether it stands for the other one: no harder, no longer, and no dearer whatever sellers are used.

        None stands for one that may make up an order: without it a seller might ask freight, or not sell at all.
        """
        softer = self.start_va <= other.start_va and self.lasts <= other.lasts
        return softer and not other.makes_up and bool((self.most <= other.least).all())


def planned(base: Setting, catalog: Catalog, plan: Plan) -> Setting:
    """The setting of a plan."""
    if plan == DIRECT:
        return base
    table = catalog.tables["starter"]
    rows = {name: table.record(row) for name, part in plan.starters if (row := table.index_of(part)) is not None}
    return replace(base, demand=loads.demand(base.job, rows, plan.tanks_l), plan=plan)


def plans(base: Setting, catalog: Catalog, *markets: Market) -> tuple[Plan, ...]:
    """Every plan that the limits on it leave, the plain ones first; none where no plan meets them.

    ``markets``: the one that it is to be bought in, or all, where it must be had in each: then only what is no dearer
    in any of them makes another plan needless.

    Raises InputError where there are more than ``MOST_START_PLANS``.
    """
    job = base.job
    gives = water.well_gives(job.water.well_yield_l_per_h)
    if base.keeps("well-yield") and not at_most(base.demand.water_l.max(), gives):
        return ()
    volumes = tuple(_volumes(base, markets))
    options = [_candidates(base, catalog, markets, figures) for figures in base.demand.loads]
    if prod(map(len, options)) * max(len(volumes), 1) > MOST_START_PLANS:
        slots = {"count": f"{prod(map(len, options)):,}", "most": f"{MOST_START_PLANS:,}"}
        raise InputError([Fault("too-many-plans", slots).at(Place(str(job.path)))])
    names = [load.name for load in job.loads]
    must = base.terms.must.get("starter")
    found = []
    for chosen in product(*options):
        starters = tuple((name, c.part) for name, c in zip(names, chosen, strict=True) if c.part)
        for tanks_l in volumes:
            plan = Plan(starters, tanks_l)
            pieces = plan.pieces(job)
            if must is None or (pieces[must[0]] == must[1] if must[1] else pieces[must[0]] > 0):
                found.append(plan)
    return tuple(sorted(found, key=lambda plan: (len(plan.starters), plan.tanks_l, plan.starters)))


# starters ---------------------------------------------------------------------------------------------------------


def _candidates(
    base: Setting, catalog: Catalog, markets: Sequence[Market], figures: LoadFigures
) -> list[Candidate]:  # fmt: skip
    """What one load may start through, none at all among it; those that another beats in every market left out."""
    each = [_had_in(base, catalog, market, figures) for market in markets]
    everywhere = [part for part in each[0] if all(part in found for found in each)]
    asked_for = base.terms.must.get("starter", ("", None))[0]
    kept: list[str] = []
    first = each[0]
    for part in sorted(everywhere, key=lambda p: (first[p].least.min(), first[p].start_va, first[p].lasts, p)):
        if part == asked_for or not any(all(found[other].beats(found[part]) for found in each) for other in kept):
            kept.append(part)
    return [first[part] for part in kept]


def _had_in(base: Setting, catalog: Catalog, market: Market, figures: LoadFigures) -> dict[str, Candidate]:
    """What one load may start through in one market, by part."""
    load = next(load for load in base.job.loads if load.name == figures.name)
    times = _times(catalog)
    sets = 1 << market.groups
    found = {}
    if not base.keeps("start-volts") or starts_direct(load.cable_drop, figures):
        free = np.zeros(sets)
        found[""] = Candidate("", figures.start_va, _lasts(times, figures.start_s), free, free)
    if not figures.starts or load.motor is None:
        return found
    rows = rows_with_price(allowed_rows(catalog.tables["starter"], base), market)
    # other loads may start through the same one
    beside = sum(load.count for load in base.job.loads if load.motor is not None and load.name != figures.name)
    for row in rows.index:
        starter = catalog.tables["starter"].record(int(row))
        if not may_have(base, starter, load.motor, load.cable_drop, figures):
            continue
        if figures.count > market.ladders["starter"].most[row]:
            continue
        softened = soft_start.softened_va(
            starter["start_factor"], figures.direct_va, starter["floor_x"], figures.running_va
        )
        seconds = max(figures.start_s, float(starter["ramp_s"]))
        least = market.saved("starter", int(row), figures.count, beside)
        most = market.surely("starter", int(row), figures.count, beside)
        part, lasts = str(starter["part"]), _lasts(times, seconds)
        found[part] = Candidate(part, float(softened), lasts, least, most, market.makes_up(part))
    return found


def starts_direct(cable_drop: float | None, figures: LoadFigures) -> bool:
    """start-volts without a starter."""
    starts = figures.direct_va > figures.running_va * (1 + TOLERANCE)
    if cable_drop is None or not starts:
        return True
    return bool(at_least(soft_start.volts_left(cable_drop), soft_start.LEAST_VOLTS_DIRECT))


def may_have(
    base: Setting, starter: Mapping[str, Any], motor: str | None, cable_drop: float | None, figures: LoadFigures
) -> bool:
    """Whether a load may start through a starter: that it serves it, and start-volts."""
    if not soft_start.serves(starter, motor, figures.running_va / figures.voltage_v, figures.voltage_v):
        return False
    if cable_drop is None or not base.keeps("start-volts"):
        return True
    return bool(at_least(soft_start.volts_left(cable_drop, starter["start_factor"]), soft_start.LEAST_VOLTS_SOFT))


def _lasts(times: np.ndarray, seconds: float) -> int:
    """The place of a time among those that ratings are given for."""
    return int(np.searchsorted(times, seconds * (1 - TOLERANCE)))


def _times(catalog: Catalog) -> np.ndarray:
    """The times that ratings are given for: a start that lasts no longer than one of them is as good as any other
    that lasts no longer, so only the place among them counts."""
    seconds = np.concatenate([catalog.tables["converter"]["surge_s"], catalog.tables["battery"]["peak_s"]])
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
    seen: list[loads.Demand] = []
    for tanks_l in sorted(volumes):
        if tanks_l > 0 and not all(_can_hold(base, market, tanks_l) for market in markets):
            continue
        here = loads.demand(job, tanks_l=tanks_l)
        # more water that changes nothing is no plan of its own
        if not any(_alike(base, here, other) for other in seen):
            seen.append(here)
            yield tanks_l


def _alike(base: Setting, one: loads.Demand, other: loads.Demand) -> bool:
    days = base.job.need.autonomy_days - base.slack("autonomy")
    return bool((one.day_wh == other.day_wh).all() and (one.carried_wh(days) == other.carried_wh(days)).all())


def tank_rows(base: Setting, market: Market) -> tuple[list[str], np.ndarray, np.ndarray]:
    """The tanks that may be had: part ids, the L that can be drawn from each, and their rows in the table."""
    table = market.catalog.tables["tank"]
    rows = rows_with_price(allowed_rows(table, base), market)
    litres = water.usable_volume(rows["volume_l"], rows["usable_pct"])
    return [str(part) for part in table.part[rows.index]], litres, rows.index


def tanks_worth_asking(base: Setting, market: Market) -> list[tuple[str, float]]:
    """The tanks that a cheapest bundle of a plan may have, with the L that can be drawn from each.

    Where none is asked for, those alone that could make up an order. Else left out is a tank that others stand in for
    at each of its sellers: one or, where there is room, more of another, which hold as much of what is asked, for
    less, weigh no more where that is charged for, and which that seller has at any time and in any number. The seller
    is paid its freight anyway, so the bundle would cost less with them; unless the seller's order might be worth
    making up.
    """
    parts, litres, _ = tank_rows(base, market)
    must = base.terms.must.get("tank", ("", None))[0]
    asked_for = base.plan.tanks_l > 0 or must
    enough = base.plan.tanks_l if base.plan.tanks_l > 0 else np.inf
    holds = {part: min(float(each), enough) for part, each in zip(parts, litres, strict=True)}
    room = np.isinf(most_tanks(base))
    ready: dict[str, list[tuple[float, int, Fraction]]] = {}

    def charged_kg(offer: Offer) -> Fraction:
        kg = market.catalog.weight_kg(offer.part) if market.seller(offer.seller).freight_per_kg else None
        return kg or Fraction(0)

    for part, held in holds.items():
        for offer in market.offers_of(part):
            if offer.least == 1 and offer.pack == 1 and offer.stock < 0 and offer.seller not in market.thresholds:
                ready.setdefault(offer.seller, []).append((held, offer.cents, charged_kg(offer)))

    def stood_in_for(offer: Offer, held: float) -> bool:
        for each, cents, kg in ready.get(offer.seller, ()):
            pieces = int(whole_up(held / each))
            less = cents * pieces < offer.cents and kg * pieces <= charged_kg(offer)
            if less and (pieces == 1 or room):
                return True
        return False

    def replaced(part: str) -> bool:
        if not asked_for:
            return not market.makes_up(part)
        held, offers = holds[part], market.offers_of(part)
        if part == must or market.on_hand(part) or not offers:
            return False
        return all(stood_in_for(offer, held) for offer in offers)

    return [(part, float(each)) for part, each in zip(parts, litres, strict=True) if not replaced(part)]


def tanks_worth_asking_in(base: Setting, markets: Sequence[Market]) -> list[tuple[str, float]]:
    """The same where a bundle is to be bought in each of several markets. What stands in for a tank in one of them may
    be dear in another, so all that can be had in each are left where any is asked for."""
    had = [tank_rows(base, market) for market in markets]
    everywhere = set.intersection(*(set(parts) for parts, _, _ in had))
    asked_for = base.plan.tanks_l > 0 or "tank" in base.terms.must
    parts, litres, _ = had[0]
    return [
        (part, float(each))
        for part, each in zip(parts, litres, strict=True)
        if part in everywhere and (asked_for or any(market.makes_up(part) for market in markets))
    ]


def most_tanks(base: Setting) -> float:
    """The most tanks that the job has room for."""
    most = base.job.water.max_tanks
    return float(most) if most is not None and base.keeps("space") else np.inf


def _can_hold(base: Setting, market: Market, tanks_l: float) -> bool:
    """Whether the tanks that may be had hold so much, the largest first."""
    _, litres, index = tank_rows(base, market)
    left, room = tanks_l * (1 - TOLERANCE), most_tanks(base)
    most = market.ladders["tank"].most[index]
    for place in np.argsort(-litres):
        pieces = min(room, most[place], float(whole_up(left / litres[place])))
        left, room = left - pieces * litres[place], room - pieces
        if left <= 0:
            return True
    return False


# what a plan costs ------------------------------------------------------------------------------------------------


def plan_floor(setting: Setting, market: Market) -> np.ndarray:
    """Cents by set of sellers of a plan's parts at the least, (sets,): each starter by itself, and tanks at the lowest
    price that a piece has from the set, whole tanks only. With tanks on hand their litres are free."""
    catalog, plan = market.catalog, setting.plan
    total = np.zeros(1 << market.groups)
    for part, pieces in plan.pieces(setting.job).items():
        row = catalog.tables["starter"].index_of(part)
        total = total + market.by_set("starter", np.array([row]), float(pieces))[0]
    if plan.tanks_l > 0:
        _, litres, index = tank_rows(setting, market)
        ladder = market.ladders["tank"]
        left = plan.tanks_l * (1 - TOLERANCE) - float((ladder.on_hand[index] * litres).sum())
        if left > 0:
            apart = ladder.cents[index].min(axis=2, initial=np.inf)  # a piece, by seller group
            each = market.spread(apart, replace(ladder, on_hand=np.zeros_like(ladder.on_hand)), index, 1.0)
            room = most_tanks(setting)
            total = total + np.array([cover(each[:, column], litres, left, room) for column in range(each.shape[1])])
    return total


@dataclass
class TankFloor:
    """What whole tanks that hold ``left_l`` together cost at the least, by the sellers that they come from.

    ``cents``: of one of each tank, by seller; ``litres``: what can be drawn from each; ``room``: pieces at the most.
    """

    cents: Mapping[str, np.ndarray]
    litres: np.ndarray
    left_l: float
    room: float
    known: dict[frozenset[str], float] = field(default_factory=dict)

    @classmethod
    def of(cls, setting: Setting, market: Market) -> TankFloor | None:
        """That of a plan; None where none need be bought."""
        parts, litres, index = tank_rows(setting, market)
        left = setting.plan.tanks_l * (1 - TOLERANCE) - float((market.ladders["tank"].on_hand[index] * litres).sum())
        if setting.plan.tanks_l <= 0 or left <= 0:
            return None
        cents: dict[str, np.ndarray] = {}
        for place, part in enumerate(parts):
            for offer in market.offers_of(part):
                prices = cents.setdefault(offer.seller, np.full(len(parts), np.inf))
                prices[place] = min(prices[place], market.each[offer.row])
        return cls(cents, litres, left, most_tanks(setting))

    def __call__(self, sellers: Iterable[str]) -> float:
        """Cents at the least from these sellers, freight left out."""
        key = frozenset(seller for seller in sellers if seller in self.cents)
        if key not in self.known:
            prices = np.stack([np.full(len(self.litres), np.inf), *(self.cents[seller] for seller in key)])
            self.known[key] = cover(prices.min(axis=0), self.litres, self.left_l, self.room)
        return self.known[key]


def cover(cents: np.ndarray, litres: np.ndarray, need_l: float, room: float = np.inf) -> float:
    """The least cents of whole tanks that hold so much together, at most ``room`` of them; infinite where none do.
    ``cents`` and ``litres`` of one tank of each kind.

    Exact: of tanks that hold no more and cost no less than another none is needed; the rest are tried out depth first,
    the cheapest litre first, and left where even the cheapest litre could not bring them below what is known, or the
    largest tanks could not hold the rest.
    """
    order = np.lexsort((-litres, cents))
    kept: list[tuple[float, float]] = []
    for place in order:
        if np.isfinite(cents[place]) and (not kept or litres[place] > kept[-1][1]):
            kept.append((float(cents[place]), float(litres[place])))
    most = kept[-1][1] if kept else 0.0
    kept.sort(key=lambda tank: (tank[0] / tank[1], -tank[1]))
    alike = ((-(-need_l // held), price) for price, held in kept)  # so many of one kind
    best = min((pieces * price for pieces, price in alike if pieces <= room), default=np.inf)

    def fill(first: int, left: float, spent: float, pieces: float) -> None:
        nonlocal best
        if left <= 0:
            best = min(best, spent)
            return
        if left > pieces * most:
            return
        for place in range(first, len(kept)):
            price, held = kept[place]
            if spent + left * price / held >= best:
                return  # every later tank's litre costs as much or more
            fill(place, left - held, spent + price, pieces - 1)

    fill(0, need_l, 0.0, room)
    return best
