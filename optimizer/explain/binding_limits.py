"""Which limits bind, what each costs, and the smallest set of limits that proves that nothing cheaper exists.

A limit binds when loosening it lowers the optimum; room that is left says nothing among whole numbers.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

from optimizer.auditor.audit import Reading, audit
from optimizer.bundles.bundle import Bundle
from optimizer.explain.relaxations import Lever, Moved, least_step, measure_levers, slack_lever, wish_levers
from optimizer.explain.resolve import (  # fmt: skip
    Again,
    Case,
    Outcome,
    cents_of,
    has_figure,
    miss,
    missed_of,
    misses,
    most_missed,
    relative_miss,
)
from optimizer.rules.limits import LIMITS, LOOSENED, NEVER_LEFT_OUT

LOOSE = frozenset(LIMITS) - NEVER_LEFT_OUT
# loosened by keys of the job
WISHES = frozenset({"autonomy", "recovery", "daily-energy", "water-reserve", "space", "allowed", "listed", "budget"})
NEAR, FAR = 0.1, 0.5  # shares of what is allowed within which a bundle misses "by little": only what is shown first
WHOLE_UNITS = ("strings", "batteries", "pieces")
LINES = 5  # near misses that a pick shows at the most
ENOUGH = 2  # near misses after which a pick looks no further away


@dataclass(frozen=True)
class Near:
    """A cheaper bundle that one limit alone refuses; ``reading`` is that limit's."""

    bundle: Bundle
    reading: Reading

    @property
    def cents(self) -> int:
        """Its delivered total."""
        return cents_of(self.bundle)


@dataclass(frozen=True)
class Cost:
    """What one limit costs: ``moves`` are its first changes that pay, the largest saving first; ``dropped`` is the
    cheapest bundle without the limit, and ``asked`` that bundle's reading of it."""

    limit: str
    moves: tuple[Moved, ...]
    dropped: Bundle
    asked: Reading


@dataclass(frozen=True)
class Core:
    """Limits that together leave nothing (below the pick, or at all), where ``proven`` none of them needlessly."""

    limits: tuple[str, ...]
    proven: bool


def applicable(case: Case) -> list[str]:
    """The limits that may be left out and say anything about a job, in the order of the registry."""
    job, setting = case.job, case.terms
    moot = {
        "budget": job.need.budget_cents is None,
        "listed": not job.allow.listed_only,
        "recovery": job.need.recover_days is None,
        "space": job.space.max_panels is None and job.space.max_area_m2 is None and job.water.max_tanks is None,
        "leg-balance": job.supply.kind != "120/240",
        "start-volts": all(load.cable_drop is None for load in job.loads),
        "well-yield": job.water.well_yield_l_per_h is None,
        "water-reserve": job.water.reserve_days == 0,
    }
    return [name for name in LIMITS if name in LOOSE - setting.without and not moot.get(name, False)]


# near misses ------------------------------------------------------------------------------------------------------


def nearly(
    again: Again, picked: Bundle, work: float = inf, case: Case | None = None
) -> tuple[tuple[Near, ...], bool]:
    """Cheaper bundles that one limit alone refuses, and by little: those that miss by the least first.

    Looked for within a tenth of what each limit allows; where that brings too few, within a half; then without the
    limit. Of each limit the cheapest such bundle, and as long as there is one, the cheapest of those that miss by half
    as much; the limits that stand nearest the pick first, until ``work`` choices were opened. Also says whether all
    limits were gone through. ``case`` narrows what is looked at; nothing in it is cheaper than the pick either.
    """
    case, below = case or again.base, cents_of(picked) - 1
    floor = again.covered(case, below)
    judged = audit(again.base.job, picked, again.base.catalog)
    allowed = {reading.limit: reading for reading in judged.tightest()}
    applies = [limit for limit in applicable(case) if limit != "budget"]
    order = [limit for limit in allowed if limit in applies]
    order += [limit for limit in applies if limit not in allowed]
    end = again.opened + work
    found: dict[str, Near] = {}
    barren: dict[str, Outcome] = {}  # what was looked through in vain already
    for share in (NEAR, FAR, inf):
        for limit in order:
            if limit in found:
                continue
            if again.opened > end:
                return _nearest(found), False
            eased = _eased(case, limit, share, allowed.get(limit))
            if eased is None:
                continue
            outcome = again.first(eased, below, barren.get(limit, floor))
            bundle = outcome.bundle
            if bundle is None:
                barren[limit] = outcome
            else:
                found[limit] = _halved(again, case, limit, bundle, below, floor)
        if len(found) >= ENOUGH:
            break
    return _nearest(found), True


def _halved(again: Again, case: Case, limit: str, bundle: Bundle, below: int, floor: Outcome) -> Near:
    """A bundle that misses a limit by little: by half as much as the one before, as long as there is such a one."""
    while True:
        reading = missed_of(case, limit, bundle)
        assert reading is not None  # nothing under the pick meets all limits
        if not has_figure(reading) or limit not in LOOSENED or reading.unit in WHOLE_UNITS:
            return Near(bundle, reading)
        nearer = again.first(case.loosened(limit, miss(reading) / 2), below, floor).bundle
        if nearer is None:
            return Near(bundle, reading)
        bundle = nearer


def _nearest(found: Mapping[str, Near]) -> tuple[Near, ...]:
    ranked = sorted(found.values(), key=lambda near: (relative_miss(near.reading), near.cents, near.reading.limit))
    return tuple(ranked[:LINES])


def _eased(case: Case, limit: str, share: float, reading: Reading | None) -> Case | None:
    """A limit loosened by a share of what it allows now, or left out; None where the share means nothing for it."""
    if share == inf:
        return case.left_out(limit)
    if limit not in LOOSENED or reading is None or not has_figure(reading):
        return None
    amount = share * abs(reading.allowed)
    whole = reading.unit in WHOLE_UNITS
    return case.loosened(limit, max(1.0, amount // 1) if whole else amount) if amount else None


# what each limit costs --------------------------------------------------------------------------------------------


def costs(again: Again, picked: Bundle) -> tuple[Cost, ...]:
    """Every limit whose loosening lowers the total, the dearest first."""
    case, total = again.base, cents_of(picked)
    floor = again.covered(case, total - 1)
    found = []
    for limit in applicable(case):
        if limit == "budget":
            continue
        again.step(f"what {limit} costs")
        dropped = again.first(case.left_out(limit), total - 1, floor).bundle
        if dropped is None:
            continue
        reading = missed_of(case, limit, dropped)
        assert reading is not None  # nothing under the pick meets all limits
        levers = _levers(case, limit, dropped, reading)
        moves = [least_step(again, lever, total - 1, floor, seen) for lever, seen in levers]
        paying = sorted((m for m in moves if m is not None), key=lambda m: (cents_of(m.bundle), m.lever.key))
        found.append(Cost(limit, tuple(paying), dropped, reading))
    return tuple(sorted(found, key=lambda cost: (cents_of(cost.dropped), cost.limit)))


def _levers(case: Case, limit: str, dropped: Bundle, reading: Reading) -> list[tuple[Lever, Bundle | None]]:
    """The levers of a limit, each with a bundle that surely does at its last step, where one is known."""
    if limit in WISHES:
        return [(lever, None) for lever in wish_levers(case, limit, dropped)]
    if limit == "bank-temperature":
        return [(lever, None) for lever in measure_levers(case) if lever.limit == limit]
    if limit not in LOOSENED or not has_figure(reading):
        return []
    return [(slack_lever(case, limit, reading.unit, most_missed(case, limit, dropped)), dropped)]


# the smallest set of limits that leaves nothing -------------------------------------------------------------------


def core(again: Again, case: Case, below: float, needed: frozenset[str], among: frozenset[str]) -> Core:
    """A minimal set of the limits ``among`` with which no bundle of at most ``below`` cents exists.

    ``needed``: limits that are surely in every such set. All of ``among`` together leave nothing. Grown by what found
    bundles fail, then thinned out; every step is a solve. Raises :class:`OutOfTimeError`, before anything is known.
    """
    kept = set(needed)
    full = case.left_out(*(LOOSE - among))

    def tried(limits: set[str], known: Outcome | None = None) -> Outcome:
        eased = full.left_out(*(among - limits))
        return again.first(eased, below, known) if below < inf else again.any(eased, below, known, ordered=True)

    while True:
        outcome = tried(kept)
        if outcome.bundle is None:
            break
        failing = [r for r in misses(full, outcome.bundle) if r.limit in among - kept]
        kept.add(max(failing, key=lambda r: (_ease(r.limit), min(relative_miss(r), 1e9), r.limit)).limit)
    for name in sorted(kept - needed, key=lambda name: (_ease(name), name)):
        thinner = tried(kept - {name}, outcome)
        if thinner.bundle is None:
            kept.remove(name)
            outcome = thinner
    return Core(tuple(name for name in LIMITS if name in kept), True)


def _ease(limit: str) -> int:
    """How much a person can do about a limit: sets keep those that can be changed, where there is a choice."""
    easiest = {"definition": 0, "safety": 1, "reserve": 2, "wish": 3}
    return max(easiest[kind] for kind in LIMITS[limit].kinds)


def proof(again: Again, picked: Bundle, paying: tuple[Cost, ...]) -> Core:
    """The smallest proof that nothing under the pick's total exists; ``paying`` limits are in every proof."""
    among = frozenset(applicable(again.base)) - {"budget"}
    needed = frozenset(cost.limit for cost in paying)
    again.step("the smallest proof")
    return core(again, again.base, cents_of(picked) - 1, needed, among)
