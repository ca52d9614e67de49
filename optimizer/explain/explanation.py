"""What a pick says of itself, and the object that holds an explanation: what was solved for, and what was not.

Nothing of it is a sentence. The rest of an explanation, which a pick does not wait for, is made by
:mod:`optimizer.explain.whole_explanation`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, TypeVar

from optimizer.bundles.bundle import Bundle
from optimizer.explain.near_misses import NearMiss, near_misses
from optimizer.explain.part_values import OnHand, Saving, hardest_starts, on_hand, savings
from optimizer.explain.resolve import Resolver
from optimizer.rules.starts import StartCase
from optimizer.search.branch_and_bound import Pick, Status
from optimizer.vocabulary.faults import OutOfTimeError

if TYPE_CHECKING:  # these are filled in elsewhere
    from optimizer.explain import why_not
    from optimizer.explain.binding_limits import Cost
    from optimizer.explain.hours_accepted import AtHours
    from optimizer.explain.infeasibility import Conflict
    from optimizer.explain.irreducible_set import IrreducibleSet
    from optimizer.explain.price_ranging import Entering, General, Leaving
    from optimizer.explain.sensitivity import Input
    from optimizer.explain.tidier_bundles import Tidier

T = TypeVar("T")


@dataclass(frozen=True)
class Why:
    """Every part stands empty until it is asked for.

    ``unfinished`` names the parts that the time limit cut short: what they hold is true, and there may be more.
    ``whole``: everything was asked for, so an empty part means "none".
    """

    near: tuple[NearMiss, ...] = ()
    near_sought: bool = False
    costs: tuple[Cost, ...] = ()
    core: IrreducibleSet | None = None
    hours: tuple[AtHours, ...] = ()
    leaving: tuple[Leaving, ...] = ()
    entering: tuple[Entering, ...] = ()
    general: tuple[General, ...] = ()
    inputs: tuple[Input, ...] = ()
    tidier: tuple[Tidier, ...] = ()
    savings: tuple[Saving, ...] = ()
    hardest: tuple[StartCase, StartCase] | None = None
    on_hand: tuple[OnHand, ...] = ()
    instead: why_not.PartInstead | why_not.BundleInstead | None = None
    conflict: Conflict | None = None
    unfinished: tuple[str, ...] = ()
    solves: int = 0
    whole: bool = False


def beside_pick(resolver: Resolver, found: Pick) -> Why:
    """What a pick says of itself: near misses where it is proven, the conflict where nothing meets the job."""
    if found.status == Status.NONE:
        from optimizer.explain.infeasibility import conflict

        explained = conflict(resolver)
        return Why(conflict=explained, unfinished=explained.unfinished)
    if not found.bundles or not found.proven[0]:
        return Why()
    rest = Collector(resolver)
    near = rest.gather("near misses", lambda: near_misses(resolver, found.bundles[0]))
    why = replace(beside(rest, found.bundles[0]), near=near, near_sought=True)
    return replace(why, unfinished=tuple(rest.unfinished), solves=resolver.solves)


def beside(rest: Collector, picked: Bundle) -> Why:
    """What starters, tanks and parts on hand are worth."""
    resolver = rest.resolver
    return Why(
        savings=rest.gather("what starters and tanks save", lambda: savings(resolver, picked)),
        hardest=hardest_starts(resolver, picked),
        on_hand=rest.gather("parts on hand", lambda: on_hand(resolver, picked)),
    )


@dataclass
class Collector:
    """Gathers the parts of an explanation, each as far as the time goes."""

    resolver: Resolver
    unfinished: list[str] = field(default_factory=list)

    def gather(self, name: str, make: Callable[[], Iterable[T]]) -> tuple[T, ...]:
        """What ``make`` yields until it ends or the time does."""
        found: list[T] = []
        try:
            found.extend(make())  # what was found before the time limit stays
        except OutOfTimeError:
            self.unfinished.append(name)
        return tuple(found)
