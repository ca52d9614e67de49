"""Near misses: cheaper bundles that one limit alone refuses, and by little."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

from optimizer.auditor.audit import audit
from optimizer.auditor.reading import Reading
from optimizer.bundles.bundle import Bundle
from optimizer.explain.resolve import Outcome, Resolver, Scenario, cents_of, has_figure, miss, missed_of, relative_miss
from optimizer.rules.limits import LIMITS, always_kept, droppable

NEAR, FAR = 0.1, 0.5  # shares of what is allowed within which a bundle misses "by little": only what is shown first
WHOLE_UNITS = ("strings", "batteries", "pieces")
LINES = 5  # near misses that a pick shows at the most
ENOUGH = 2  # near misses after which none is looked for further away


@dataclass(frozen=True)
class NearMiss:
    """A cheaper bundle that one limit alone refuses; ``reading`` is that limit's."""

    bundle: Bundle
    reading: Reading

    @property
    def cents(self) -> int:
        """Its delivered total."""
        return cents_of(self.bundle)


def applicable(scenario: Scenario) -> list[str]:
    """The limits that may be left out and say anything about a job, in the order of the registry."""
    left = droppable() - scenario.terms.without
    return [name for name, limit in LIMITS.items() if name in left and limit.applies(scenario.job)]


def members(scenario: Scenario) -> frozenset[str]:
    """The applicable limits that proofs and conflicts are made of; what is always kept is none of them."""
    return frozenset(applicable(scenario)) - always_kept()


# near misses ------------------------------------------------------------------------------------------------------


def near_misses(resolver: Resolver, picked: Bundle, scenario: Scenario | None = None) -> tuple[NearMiss, ...]:
    """Cheaper bundles that one limit alone refuses, and by little: those that miss by the least first.

    Every limit is gone through. Looked for within a tenth of what each allows; where that brings too few, within a
    half; then without the limit. Of each limit the cheapest such bundle, and as long as there is one, the cheapest of
    those that miss by half as much. ``scenario`` narrows what is looked at; nothing in it is cheaper than the pick
    either.
    """
    scenario, below = scenario or resolver.base, cents_of(picked) - 1
    floor = resolver.proven(scenario, below)
    judged = audit(resolver.base.job, picked, resolver.base.catalog)
    allowed = {reading.limit: reading for reading in judged.tightest()}
    applies = [limit for limit in applicable(scenario) if not LIMITS[limit].on_total]
    order = [limit for limit in allowed if limit in applies]
    order += [limit for limit in applies if limit not in allowed]
    found: dict[str, NearMiss] = {}
    barren: dict[str, Outcome] = {}  # what was looked through in vain already
    for share in (NEAR, FAR, inf):
        for limit in order:
            if limit in found:
                continue
            eased = _eased(scenario, limit, share, allowed.get(limit))
            if eased is None:
                continue
            outcome = resolver.first(eased, below, barren.get(limit, floor))
            bundle = outcome.bundle
            if bundle is None:
                barren[limit] = outcome
            else:
                found[limit] = _halved(resolver, scenario, limit, bundle, below, floor)
        if len(found) >= ENOUGH:
            break
    return _nearest(found)


def _halved(resolver: Resolver, scenario: Scenario, limit: str, bundle: Bundle, below: int, floor: Outcome) -> NearMiss:
    """A bundle that misses a limit by little: by half as much as the one before, as long as there is such a one."""
    while True:
        reading = missed_of(scenario, limit, bundle)
        assert reading is not None  # nothing under the pick meets all limits
        if not has_figure(reading) or not LIMITS[limit].slack or reading.unit in WHOLE_UNITS:
            return NearMiss(bundle, reading)
        nearer = resolver.first(scenario.loosened(limit, miss(reading) / 2), below, floor).bundle
        if nearer is None:
            return NearMiss(bundle, reading)
        bundle = nearer


def _nearest(found: Mapping[str, NearMiss]) -> tuple[NearMiss, ...]:
    ranked = sorted(found.values(), key=lambda near: (relative_miss(near.reading), near.cents, near.reading.limit))
    return tuple(ranked[:LINES])


def _eased(scenario: Scenario, limit: str, share: float, reading: Reading | None) -> Scenario | None:
    """A limit loosened by a share of what it allows now, or left out; None where the share means nothing for it."""
    if share == inf:
        return scenario.left_out(limit)
    if not LIMITS[limit].slack or reading is None or not has_figure(reading):
        return None
    amount = share * abs(reading.allowed)
    whole = reading.unit in WHOLE_UNITS
    return scenario.loosened(limit, max(1.0, amount // 1) if whole else amount) if amount else None
