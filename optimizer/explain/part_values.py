"""What each starter, each tank and each part on hand is worth: what the cheapest bundle without it costs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from catalog.part_kinds import ONE_MODEL
from optimizer.auditor.audit import audit
from optimizer.auditor.reading import Reading
from optimizer.bundles.bundle import Bundle
from optimizer.candidates.plan import Plan
from optimizer.candidates.terms import Setting
from optimizer.explain.resolve import Resolver, Scenario
from optimizer.rules.starts import StartCase
from optimizer.search.plans import planned

STARTER, TANK = "starter", "tank"


@dataclass(frozen=True)
class Saving:
    """A starter or the tanks of a pick. ``loads``: what the starter starts; ``instead``: the cheapest bundle without,
    None where nothing meets the job then; ``short``: the limits that the pick itself fails without, the tightest first.
    """

    kind: str
    parts: tuple[str, ...]
    loads: tuple[str, ...]
    instead: Bundle | None
    short: tuple[Reading, ...]


@dataclass(frozen=True)
class OnHand:
    """A part that is there already: ``used`` of ``there`` pieces. ``instead``: where it is used the cheapest bundle if
    it were not there, where it is left the cheapest bundle with it; None: there is none, or it was not looked for."""

    part: str
    kind: str
    used: int
    there: int
    instead: Bundle | None


def savings(resolver: Resolver, picked: Bundle) -> Iterator[Saving]:
    """What each starter of the pick saves, and what its tanks do."""
    case = resolver.base
    every = {kind: frozenset(map(str, case.catalog.tables[kind].part)) for kind in (STARTER, TANK)}
    mine = {str(starter["part"]) for starter in picked.starters.values()}
    for part in sorted(mine):
        resolver.step(f"what {part} saves")
        served = tuple(load for load, starter in picked.starters.items() if starter["part"] == part)
        kept = {load: starter for load, starter in picked.starters.items() if starter["part"] != part}
        # another starter in its place would hide what it is worth; those that serve other loads stay
        instead = resolver.first(_without(case, STARTER, every[STARTER] - (mine - {part}))).bundle
        yield Saving(STARTER, (part,), served, instead, _short(resolver, replace(picked, starters=kept, order=None)))
    if picked.tanks:
        resolver.step("what the tanks save")
        instead = resolver.first(_without(case, TANK, every[TANK])).bundle
        bare = replace(picked, tanks={}, tank_records={}, order=None)
        yield Saving(TANK, tuple(picked.tanks), (), instead, _short(resolver, bare))


def _without(case: Scenario, kind: str, parts: frozenset[str]) -> Scenario:
    """The case without some parts of a kind, even where one of them is asked for."""
    must = {each: asked for each, asked in case.terms.must.items() if each != kind or asked[0] not in parts}
    return replace(case, terms=replace(case.terms, must=must, never=case.terms.never | parts))


def _short(resolver: Resolver, bundle: Bundle) -> tuple[Reading, ...]:
    judged = audit(resolver.base.job, bundle, resolver.base.catalog)
    return tuple(reading for reading in judged.tightest() if not reading.holds)


def hardest_starts(resolver: Resolver, picked: Bundle) -> tuple[StartCase, StartCase] | None:
    """The hardest start as the loads are and as the pick starts them, by VA; None where no starter changes it."""
    case = resolver.base
    base = Setting.of(case.job, case.terms)
    plan = Plan(tuple((load, str(starter["part"])) for load, starter in sorted(picked.starters.items())))
    before, after = base.demand.cases, planned(base, case.catalog, plan).demand.cases
    if not plan.starters or not before or not after:
        return None
    direct, soft = (max(cases, key=lambda found: found.va) for cases in (before, after))
    return None if direct == soft else (direct, soft)


def on_hand(resolver: Resolver, picked: Bundle) -> Iterator[OnHand]:
    """What became of each part on hand."""
    case = resolver.base
    used: Mapping[str, int] = {p.part: p.on_hand for p in picked.order.purchases} if picked.order is not None else {}
    for part, there in sorted(case.job.on_hand.items()):
        kind = case.catalog.kind_of(part) or ""
        pieces = used.get(part, 0)
        if pieces:
            resolver.step(f"what {part} on hand saves")
            others = {name: count for name, count in case.job.on_hand.items() if name != part}
            instead = resolver.first(replace(case, job=replace(case.job, on_hand=others))).bundle
        elif kind in ONE_MODEL:
            resolver.step(f"the cheapest bundle with {part}")
            instead = resolver.first(case.with_part(kind, part)).bundle
        else:
            instead = None  # extras follow by rule, and starters and tanks by what they save
        yield OnHand(part, kind, pieces, there, instead)
