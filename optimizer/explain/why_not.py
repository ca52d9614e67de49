"""Why not this part, or this bundle: what it breaks, or how much dearer it is and at what price it would be chosen."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from optimizer.auditor.reading import Reading
from optimizer.bundles.bundle import Bundle
from optimizer.explain.infeasibility import MOST_CONFLICTS
from optimizer.explain.irreducible_set import irreducible_set
from optimizer.explain.near_misses import NearMiss, applicable, members, near_misses
from optimizer.explain.price_ranging import Entering, entering
from optimizer.explain.resolve import Resolver, misses
from optimizer.explain.verdict import Verdict
from optimizer.rules.limits import LIMITS, always_kept


@dataclass(frozen=True)
class Broken:
    """One limit that a part cannot meet: ``reading`` is that of ``bundle``, the cheapest with it that misses none but
    those it cannot meet; None where that bundle happens to meet this one."""

    limit: str
    reading: Reading | None
    bundle: Bundle | None


@dataclass(frozen=True)
class PartInstead:
    """A part that is not in the pick. ``bundle``: the cheapest that meets every limit with it, and ``enters`` the price
    at which it would be chosen; or ``broken``: limits that it cannot meet, each by itself where they are ``alone``,
    else not together. ``near``: bundles with it that are cheaper than the pick, each refused by one limit."""

    part: str
    kind: str
    picked: bool
    bundle: Bundle | None = None
    enters: Entering | None = None
    broken: tuple[Broken, ...] = ()
    near: tuple[NearMiss, ...] = ()
    alone: bool = False


@dataclass(frozen=True)
class BundleInstead:
    """A bundle that somebody names: what the auditor says, and the pick it is held against."""

    verdict: Verdict


def of_part(resolver: Resolver, picked: Bundle, kind: str, part: str) -> PartInstead:
    """Why a part of a kind that is chosen is not in the pick."""
    if part in picked.rows:
        return PartInstead(part, kind, True, picked)
    scenario = resolver.base.with_part(kind, part)
    resolver.step(f"the cheapest bundle with {part}")
    best = resolver.first(scenario).bundle
    if best is not None:
        resolver.step(f"what refuses cheaper bundles with {part}")
        near = near_misses(resolver, picked, scenario=scenario)
        return PartInstead(part, kind, False, best, entering(resolver, picked, kind, part, best), near=near)
    resolver.step(f"which limits {part} cannot meet")
    among, barring = members(scenario), set[str]()
    if resolver.any(scenario.left_out(*among)).bundle is None:  # what is always kept bars it: said as far as it can be
        among = frozenset(applicable(scenario)) & always_kept()
    alone = True
    for _ in range(MOST_CONFLICTS):
        found = irreducible_set(resolver, scenario.left_out(*barring), inf, frozenset(), among - barring)
        alone = alone and len(found.limits) == 1
        barring |= set(found.limits)
        if not found.limits or resolver.any(scenario.left_out(*barring)).bundle is not None:
            break
    nearest = resolver.first(scenario.left_out(*barring)).bundle
    failing = {reading.limit: reading for reading in misses(scenario, nearest)} if nearest is not None else {}
    broken = tuple(Broken(limit, failing.get(limit), nearest) for limit in LIMITS if limit in barring)
    return PartInstead(part, kind, False, broken=broken, alone=alone)
