"""An irreducible infeasible set: limits that together leave nothing below the pick, none of them needlessly."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from optimizer.bundles.bundle import Bundle
from optimizer.explain.binding_limits import Cost
from optimizer.explain.near_misses import members
from optimizer.explain.resolve import Outcome, Resolver, Scenario, cents_of, misses, relative_miss
from optimizer.rules.limits import LIMITS, always_kept, droppable


@dataclass(frozen=True)
class IrreducibleSet:
    """Limits that together leave nothing (below the pick, or at all), with those that are always kept; where ``proven``
    none of them needlessly."""

    limits: tuple[str, ...]
    proven: bool


# the smallest set of limits that leaves nothing -------------------------------------------------------------------


def irreducible_set(
    resolver: Resolver, scenario: Scenario, below: float, needed: frozenset[str], among: frozenset[str]
) -> IrreducibleSet:
    """A minimal set of the limits ``among`` with which no bundle of at most ``below`` cents exists.

    What is always kept stays in force beside them, where it is not among them. ``needed``: limits that are surely in
    every such set. All of ``among`` together leave nothing. Grown by what found bundles fail, then thinned out; every
    step is a solve. Raises :class:`OutOfTimeError`, before anything is known.
    """
    kept = set(needed)
    full = scenario.left_out(*(droppable() - among - always_kept()))

    def tried(limits: set[str], known: Outcome | None = None) -> Outcome:
        eased = full.left_out(*(among - limits))
        return resolver.first(eased, below, known) if below < inf else resolver.any(eased, below, known, ordered=True)

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
    return IrreducibleSet(tuple(name for name in LIMITS if name in kept), True)


def _ease(limit: str) -> int:
    """How much a person can do about a limit: sets keep those that can be changed, where there is a choice."""
    easiest = {"definition": 0, "safety": 1, "reserve": 2, "wish": 3}
    return max(easiest[kind] for kind in LIMITS[limit].kinds)


def proof(resolver: Resolver, picked: Bundle, paying: tuple[Cost, ...]) -> IrreducibleSet:
    """The smallest proof that nothing under the pick's total exists; ``paying`` limits are in every proof."""
    among = frozenset(limit for limit in members(resolver.base) if not LIMITS[limit].on_total)
    needed = frozenset(cost.limit for cost in paying) & among
    resolver.step("the smallest proof")
    return irreducible_set(resolver, resolver.base, cents_of(picked) - 1, needed, among)
