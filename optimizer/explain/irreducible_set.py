"""An irreducible infeasible set: limits that together leave nothing below the pick, none of them needlessly."""

from __future__ import annotations

from collections.abc import Sequence
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
    every such set. All of ``among`` together leave nothing. Limits are taken away one after the other, those first of
    which a person can do the least, as long as nothing is left without them; so the set does not hang on which bundles
    were found on the way. With a ceiling in cents it is first grown by what the cheapest bundles fail. Every step is a
    solve. Raises :class:`OutOfTimeError`, before anything is known.
    """
    kept = set(among)
    full = scenario.left_out(*(droppable() - among - always_kept()))

    def tried(limits: set[str], known: Outcome | None = None) -> Outcome:
        eased = full.left_out(*(among - limits))
        return resolver.first(eased, below, known) if below < inf else resolver.any(eased, below, known)

    outcome: Outcome | None = None
    if below < inf:
        kept = set(needed)
        while (grown := tried(kept)).bundle is not None:
            failing = [r for r in misses(full, grown.bundle) if r.limit in among - kept]
            kept.add(max(failing, key=lambda r: (_ease(r.limit), min(relative_miss(r), 1e9), r.limit)).limit)
        outcome = grown

    def thin(group: Sequence[str]) -> None:
        """Take away what is needless of a group: all at once where nothing is left without them, else by halves."""
        nonlocal outcome
        if not group:
            return
        thinner = tried(kept - set(group), outcome)
        if thinner.bundle is None:
            kept.difference_update(group)
            outcome = thinner
        elif len(group) > 1:
            middle = len(group) // 2
            thin(group[:middle])
            thin(group[middle:])

    thin(sorted(kept - needed, key=lambda name: (_ease(name), name)))
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
