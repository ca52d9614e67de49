"""What a budget buys: the exact staircase of cost against sunless days, water, spare power or hours with power.

Everything stated in the job stays a floor. A quantity goes by whole steps, as fine as it is printed: 0.01 days, 0.1 %
of the stated water, 1 W, 1 h. What meets a job at one step meets it at every lower one, so from each stair the next is
the cheapest bundle one step above the most that the stair carries: nothing between is missed, and none is dominated.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from time import monotonic
from typing import Literal

from optimizer.answers.answer import Answer, audited
from optimizer.answers.stair_quantity import StairQuantity
from optimizer.auditor.audit import audit
from optimizer.auditor.reading import Audit
from optimizer.bundles.bundle import Bundle
from optimizer.explain.explanation import beside_pick
from optimizer.explain.resolve import Resolver, Scenario, cents_of, first_where, misses
from optimizer.inputs.job import Job, Load
from optimizer.inputs.job_checks import DAY_H
from optimizer.search import branch_and_bound
from optimizer.vocabulary.faults import OutOfTimeError
from optimizer.vocabulary.supplies import SUPPLIES
from optimizer.vocabulary.tolerance import just_above
from optimizer.vocabulary.units import Quantity

StairEnd = Literal["", "catalogue", "pumps", "farthest", "whole"]
YEAR_H = 8760
STEPS = {
    StairQuantity.AUTONOMY: 0.01,
    StairQuantity.WATER: 0.001,
    StairQuantity.RESERVE: 1.0,
    StairQuantity.HOURS: 1.0,
}  # days, share of the stated water, W, h
FARTHEST = {
    StairQuantity.AUTONOMY: 10_000,
    StairQuantity.WATER: 1_000_000,
    StairQuantity.RESERVE: 1_000_000,
    StairQuantity.HOURS: YEAR_H,
}  # steps: 100 days, a thousand times the water, 1 MW, a whole year; beyond them a staircase is cut
STAIRS = 10  # shown where neither a budget nor an end is given
SPARE = "spare power"  # the load that stands for the reserve; it has no energy


@dataclass(frozen=True)
class Stair:
    """One step of the staircase: the most whole steps of the quantity that the cheapest bundle there carries, and its
    audit against the job as it is stated."""

    level: int
    bundle: Bundle
    audit: Audit

    @property
    def cents(self) -> int:
        """Its delivered total."""
        return cents_of(self.bundle)


@dataclass(frozen=True)
class Short:
    """Where a budget does not buy the job as it is stated: how much of one quantity it buys, everything else as stated;
    None where it buys none of it."""

    quantity: StairQuantity
    stair: Stair | None


@dataclass(frozen=True)
class Staircase:
    """The stairs from the cheapest bundle that meets the job up. ``end``: why there is none after the last: no bundle
    carries more ("catalogue"), a pump would run for more than a day a day ("pumps"), no more is looked for
    ("farthest"), every hour has power ("whole"); "" where there is one, or the time limit or what was asked cut it
    short.

    ``bought``: the place of the stair that the budget buys, None without a budget or where it buys none; ``short`` then
    says what it does buy. ``proven``: False where the time limit cut the staircase short.

    ``shown``: the bundle to show in full, what the budget buys or the cheapest where there is none; no option where the
    budget does not buy the job; where there is no stair at all, why nothing meets the job. Its job has no budget.
    """

    quantity: StairQuantity
    shown: Answer
    stairs: tuple[Stair, ...]
    end: StairEnd
    proven: bool
    budget_cents: int | None
    bought: int | None
    short: tuple[Short, ...] = ()

    def value(self, level: int) -> float:
        """A level in days, as a share, in W, or in hours with power."""
        return level * STEPS[self.quantity]


def without_budget(job: Job) -> Job:
    """The job with no budget."""
    return replace(job, need=replace(job.need, budget_cents=None))


def has_water(job: Job) -> bool:
    """Whether any load pumps a stated amount of water."""
    return any(load.water_per_day_l for load in job.loads)


def money_cents(money: float) -> int | None:
    """Money in cents; None where it has more than two decimals."""
    cents = round(money * 100)
    return cents if abs(money * 100 - cents) < 1e-6 else None


def staircase_of(
    resolver: Resolver, quantity: StairQuantity, budget_cents: int | None = None, end: float | None = None
) -> Staircase:
    """The staircase of ``resolver.base``: up to the first stair that the budget does not buy, or that reaches ``end``
    (in days, as a share, in W); without either, ten stairs. ``budget_cents`` stands in place of the job's own."""
    job = resolver.base.job
    budget = job.need.budget_cents if budget_cents is None else budget_cents
    base = replace(resolver.base, job=without_budget(job))
    stairs: list[Stair] = []
    short: tuple[Short, ...] = ()
    proven = False
    last: StairEnd = ""
    try:
        for stair, reason in climb(resolver, base, quantity):
            stairs.append(stair)
            last = reason
            high = end is not None and stair.level * STEPS[quantity] >= end
            dear = budget is not None and stair.cents > budget
            many = end is None and budget is None and len(stairs) >= STAIRS
            if high or many or (dear and end is None):
                break
        proven = True
        if budget is not None and stairs and stairs[0].cents > budget:
            short = tuple(_short(resolver, base, budget))
    except OutOfTimeError:
        pass  # what was found before the time limit stays
    bought = [place for place, stair in enumerate(stairs) if budget is not None and stair.cents <= budget]
    place = bought[-1] if bought else None
    if not stairs:
        shown = _nothing(resolver, base)
    else:
        best = () if budget is not None and place is None else (stairs[place or 0].bundle,)
        shown = Answer.of_bundles(base.job, base.catalog, best, base.terms)
    return Staircase(quantity, shown, tuple(stairs), last if proven else "", proven, budget, place, short)


def _nothing(resolver: Resolver, base: Scenario) -> Answer:
    """Why no bundle meets the job whatever it may cost, or that none was found in the time there was."""
    left = None if resolver.deadline is None else max(0.0, resolver.deadline - monotonic())
    found = branch_and_bound.pick(
        base.catalog, base.job, 1, solver=resolver.solver, terms=base.terms, time_limit=left
    )  # fmt: skip
    why = beside_pick(Resolver(base, resolver.solver), found)
    return audited(base.catalog, base.job, found, why, base.terms)


def climb(resolver: Resolver, base: Scenario, quantity: StairQuantity) -> Iterator[tuple[Stair, StairEnd]]:
    """The stairs one after the other, dearer and higher each, and why each is the last, if it is. ``base`` has no
    budget."""
    level = None
    held: Stair | None = None
    end: StairEnd = "catalogue"
    while True:
        resolver.step(
            "the cheapest bundle" if held is None else f"the next step after {held.level * STEPS[quantity]:g}"
        )
        scenario = base if level is None else at_level(base, quantity, level)
        if level is not None and level > FARTHEST[quantity]:
            end = "whole" if quantity == StairQuantity.HOURS else "farthest"
            break
        if level is not None and quantity == StairQuantity.WATER and any(map(_over_a_day, scenario.job.loads)):
            end = "pumps"
            break
        bundle = resolver.first(scenario).bundle
        if bundle is None:
            break
        stair = Stair(most(base, quantity, bundle, level), bundle, audit(base.job, bundle, base.catalog))
        if held is not None and stair.cents > held.cents:
            yield held, ""
        held = stair
        level = stair.level + 1
    if held is not None:
        yield held, end


def at_level(base: Scenario, quantity: StairQuantity, level: int) -> Scenario:
    """The job with a floor on the quantity, never below what it states itself."""
    job, value = base.job, level * STEPS[quantity]
    if quantity == StairQuantity.AUTONOMY:
        days = max(job.need.autonomy_days, round(value, 2))
        return replace(base, job=replace(job, need=replace(job.need, autonomy_days=days)))
    if quantity == StairQuantity.WATER:
        return replace(base, job=replace(job, loads=tuple(_watered(load, round(value, 3)) for load in job.loads)))
    if quantity == StairQuantity.HOURS:
        return replace(base, job=replace(job, replay=replace(job.replay, hours_short=short_at(job, level))))
    return replace(base, job=replace(job, loads=(*job.loads, _spare(job, value))))


def short_at(job: Job, level: int) -> int:
    """Hours short that are accepted where so many have power, never more than the job states itself."""
    accepted = YEAR_H if job.replay.hours_short is None else job.replay.hours_short
    return min(YEAR_H - level, accepted)


def below_stated(base: Scenario, quantity: StairQuantity, level: int) -> Scenario:
    """The job with the quantity itself at a level, lower than stated too."""
    if quantity != StairQuantity.AUTONOMY:
        return at_level(base, quantity, level)
    need = replace(base.job.need, autonomy_days=round(level * STEPS[StairQuantity.AUTONOMY], 2))
    return replace(base, job=replace(base.job, need=need))


def _watered(load: Load, share: float) -> Load:
    if load.water_per_day_l is None:
        return load
    return replace(load, water_per_day_l=tuple(litres * share for litres in load.water_per_day_l))


def _spare(job: Job, watts: float) -> Load:
    """Watts that may run beside everything: power factor 1, no start, no energy; across both legs where there are."""
    volts = SUPPLIES[job.supply.kind].volts
    return Load(
        SPARE, volts, Quantity(max(watts, 1e-9), "W", f"{watts:g} W"), power_factor=1.0, starting="none",
        energy_per_day_wh=(0.0,) * 12, critical=False, index=len(job.loads),
    )  # fmt: skip


def most(base: Scenario, quantity: StairQuantity, bundle: Bundle, least: int | None = None) -> int:
    """The most whole steps of the quantity at which a bundle meets every limit; ``least`` is one at which it does."""
    low = least if least is not None else stated(base, quantity)
    high = max(low, 1)
    while high < FARTHEST[quantity] and _meets(base, quantity, high, bundle):
        low, high = high, high * 2
    high = min(high, FARTHEST[quantity] + 1)
    return first_where(low, high, lambda level: not _meets(base, quantity, level, bundle)) - 1


def stated(base: Scenario, quantity: StairQuantity) -> int:
    """The whole steps that the job states itself."""
    if quantity == StairQuantity.AUTONOMY:
        return int(base.job.need.autonomy_days / STEPS[StairQuantity.AUTONOMY] + 1e-6)
    if quantity == StairQuantity.HOURS:
        return YEAR_H - short_at(base.job, 0)
    return round(1 / STEPS[StairQuantity.WATER]) if quantity == StairQuantity.WATER else 0


def _meets(base: Scenario, quantity: StairQuantity, level: int, bundle: Bundle) -> bool:
    scenario = at_level(base, quantity, level)
    if quantity == StairQuantity.WATER and any(_over_a_day(load) for load in scenario.job.loads):
        return False
    return not misses(scenario, bundle)


def _over_a_day(load: Load) -> bool:
    """Whether a pump would have to run for more than a day a day."""
    if load.water_per_day_l is None or load.flow_l_per_h is None:
        return False
    return max(load.water_per_day_l) > just_above(DAY_H * load.count * load.flow_l_per_h)


def _short(resolver: Resolver, base: Scenario, budget: int) -> Iterator[Short]:
    """What a budget that is too small buys of each quantity that the job states."""
    for quantity in (StairQuantity.WATER, StairQuantity.AUTONOMY):
        if quantity == StairQuantity.WATER and not has_water(base.job):
            continue
        resolver.step(f"what it buys of {quantity}")
        low, high, best = -1, stated(base, quantity), None
        while high - low > 1:
            middle = (low + high) // 2
            bundle = resolver.cheapest(below_stated(base, quantity, middle), budget).bundle
            if bundle is None:
                high = middle
            else:
                low, best = middle, bundle
        final = resolver.first(below_stated(base, quantity, low), budget).bundle if best is not None else None
        judged = None if final is None else audit(base.job, final, base.catalog)
        yield Short(quantity, None if final is None or judged is None else Stair(low, final, judged))
