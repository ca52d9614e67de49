"""Which limits bind, what each costs, and the smallest set of limits that proves that nothing cheaper exists.

A limit binds when loosening it lowers the optimum; room that is left says nothing among whole numbers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from optimizer.auditor.audit import audit
from optimizer.auditor.reading import Reading
from optimizer.bundles.bundle import Bundle
from optimizer.explain.near_misses import applicable
from optimizer.explain.relaxations import Lever, Moved, key_levers, least_step, slack_lever
from optimizer.explain.resolve import Resolver, Scenario, cents_of, has_figure, missed_of, most_missed
from optimizer.rules.limits import LIMITS


@dataclass(frozen=True)
class Cost:
    """What one limit costs: ``moves`` are its first changes that pay, the largest saving first; ``dropped`` is the
    cheapest bundle without the limit, and ``asked`` that bundle's reading of it. ``loosened``: where the limit itself
    was loosened and no key of the job, its reading on the bundle that this brings."""

    limit: str
    moves: tuple[Moved, ...]
    dropped: Bundle
    asked: Reading
    loosened: Reading | None = None


# what each limit costs --------------------------------------------------------------------------------------------


def costs(resolver: Resolver, picked: Bundle) -> tuple[Cost, ...]:
    """Every limit whose loosening lowers the total, the dearest first."""
    return dearest_first(each_cost(resolver, picked))


def dearest_first(found: Iterable[Cost]) -> tuple[Cost, ...]:
    """Costs in the order in which they are told."""
    return tuple(sorted(found, key=lambda cost: (cents_of(cost.dropped), cost.limit)))


def each_cost(resolver: Resolver, picked: Bundle) -> Iterator[Cost]:
    """The same one after the other, in the order of the registry: each is whole when the next is begun."""
    scenario, total = resolver.base, cents_of(picked)
    floor = resolver.proven(scenario, total - 1)
    for limit in applicable(scenario):
        if LIMITS[limit].on_total:
            continue
        resolver.step(f"what {limit} costs")
        dropped = resolver.first(scenario.left_out(limit), total - 1, floor).bundle
        if dropped is None:
            continue
        reading = missed_of(scenario, limit, dropped)
        assert reading is not None  # nothing under the pick meets all limits
        levers = _levers(scenario, limit, dropped, reading)
        moves = [least_step(resolver, lever, total - 1, floor, seen) for lever, seen in levers]
        paying = sorted((m for m in moves if m is not None), key=lambda m: (cents_of(m.bundle), m.lever.key))
        loosened = next((_reading(scenario, limit, move.bundle) for move in paying if not move.lever.key), None)
        yield Cost(limit, tuple(paying), dropped, reading, loosened)


def _reading(scenario: Scenario, limit: str, bundle: Bundle) -> Reading:
    return audit(scenario.job, bundle, scenario.catalog).reading(limit)


def _levers(scenario: Scenario, limit: str, dropped: Bundle, reading: Reading) -> list[tuple[Lever, Bundle | None]]:
    """The levers of a limit, each with a bundle that surely does at its last step, where one is known."""
    if LIMITS[limit].keys:
        return [(lever, None) for lever in key_levers(scenario, limit, dropped)]
    if not LIMITS[limit].slack or not has_figure(reading):
        return []
    return [(slack_lever(scenario, limit, reading.unit, most_missed(scenario, limit, dropped)), dropped)]
