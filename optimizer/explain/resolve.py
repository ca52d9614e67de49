"""Solving again: the same search with something changed hypothetically, and whether a bundle would do there.

Every figure of an explanation comes from here. What was proven before is not gone through again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from math import inf, isfinite
from time import monotonic

from catalog.reader import Catalog
from optimizer.auditor.audit import audit, leg_placings
from optimizer.auditor.reading import Reading
from optimizer.bundles.bundle import Bundle
from optimizer.candidates.terms import PLAIN, SearchTerms, Setting
from optimizer.costs.market import Market
from optimizer.inputs.job import Job
from optimizer.rules.comparisons import at_least, at_most
from optimizer.rules.limits import LIMITS
from optimizer.search.branch_and_bound import Search, Status
from optimizer.search.cache import SearchCache
from optimizer.search.objectives import LeastCost
from optimizer.search.space import SearchSpace
from optimizer.vocabulary.faults import OutOfTimeError, RefusedError


@dataclass(frozen=True)
class Scenario:
    """What is assumed in one solve: a job, terms, and a price list."""

    job: Job
    catalog: Catalog
    terms: SearchTerms = PLAIN

    def left_out(self, *limits: str) -> Scenario:
        """The same with limits left out hypothetically."""
        return replace(self, terms=replace(self.terms, without=self.terms.without | frozenset(limits)))

    def loosened(self, limit: str, amount: float) -> Scenario:
        """The same with a limit loosened by so much of its own unit."""
        return replace(self, terms=replace(self.terms, slack={**self.terms.slack, limit: amount}))

    def without_part(self, part: str) -> Scenario:
        """The same where a part may not be had."""
        return replace(self, terms=replace(self.terms, never=self.terms.never | {part}))

    def with_part(self, kind: str, part: str) -> Scenario:
        """The same where the bundle has a part."""
        return replace(self, terms=replace(self.terms, must={**self.terms.must, kind: (part, None)}))


@dataclass(frozen=True)
class Outcome:
    """What a solve found: a bundle of at most ``below`` cents, or that what ``proven`` goes through has none."""

    bundle: Bundle | None
    proven: SearchSpace
    below: float


def ceiling(scenario: Scenario, below: float) -> float:
    """The most cents that a search goes through: what is asked, or the budget where it is kept and less."""
    budget = scenario.job.need.budget_cents
    return below if budget is None or "budget" in scenario.terms.without else min(below, float(budget))


def first_where(low: int, high: int, holds: Callable[[int], bool]) -> int:
    """The first whole number above ``low`` at which ``holds`` does, found by halving; it does from there on, and
    ``high``, where it is taken to hold, is not tried."""
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high


def cents_of(bundle: Bundle) -> int:
    """The delivered total of a bundle that was searched for."""
    assert bundle.order is not None
    return bundle.order.cents


@dataclass
class Resolver:
    """Solves in changed cases, and counts how often and how many choices were opened. ``say`` is told in words what
    is being worked out."""

    base: Scenario
    solver: str = "highs"
    deadline: float | None = None
    say: Callable[[str], None] | None = None
    cache: SearchCache = field(default_factory=SearchCache)
    solves: int = 0
    opened: int = 0

    def step(self, words: str) -> None:
        """Tell what is being worked out."""
        if self.say is not None:
            self.say(words)

    def _searched(
        self, scenario: Scenario, below: float, known: Outcome | None, *, any_will_do: bool = False
    ) -> Search:
        """A search that has run to its end: to the cheapest bundle, or to the first."""
        left = None if self.deadline is None else self.deadline - monotonic()
        if left is not None and left <= 0:
            raise OutOfTimeError
        proven = None
        if known is not None and known.bundle is None and ceiling(scenario, below) <= known.below:
            proven = known.proven
        objective = LeastCost(self._space(scenario), self.solver)
        self.solves += 1
        search = Search(objective, 1, left, below=below, fathomed=proven)
        ended = search.exists() is not None if any_will_do else search.run() != Status.STOPPED
        self.opened += search.opened
        if not ended:
            raise OutOfTimeError
        return search

    def cheapest(self, scenario: Scenario, below: float = inf, known: Outcome | None = None) -> Outcome:
        """A cheapest bundle of at most ``below`` cents. ``known``: an outcome that found nothing at or above that.

        Raises :class:`OutOfTimeError`.
        """
        search = self._searched(scenario, below, known)
        return Outcome(_passed(scenario, search.any_best()), search.space, ceiling(scenario, below))

    def first(self, scenario: Scenario, below: float = inf, known: Outcome | None = None) -> Outcome:
        """The cheapest bundle of at most ``below`` cents, of equal totals the one that an answer would show."""
        search = self._searched(scenario, below, known)
        return Outcome(_passed(scenario, _in_order(search)), search.space, ceiling(scenario, below))

    def proven(self, scenario: Scenario, below: float) -> Outcome:
        """That a case has nothing of at most ``below`` cents, where that is proven already."""
        return Outcome(None, self._space(scenario), ceiling(scenario, below))

    def _space(self, scenario: Scenario) -> SearchSpace:
        return SearchSpace((scenario.catalog,), Setting.of(scenario.job, scenario.terms), self.cache)

    def market(self, scenario: Scenario) -> Market:
        """The offers of a case, shared with the searches in it."""
        return self.cache.market(scenario.catalog, Setting.of(scenario.job, scenario.terms))

    def any(self, scenario: Scenario, below: float = inf, known: Outcome | None = None) -> Outcome:
        """Any bundle of at most ``below`` cents: quicker where there may be none. Which one is no answer to show."""
        search = self._searched(scenario, below, known, any_will_do=True)
        return Outcome(_passed(scenario, search.any_best()), search.space, ceiling(scenario, below))


def _in_order(search: Search) -> Bundle | None:
    """Of the cheapest bundles that a search found the one that an answer would show."""
    return search.answer(Status.PROVEN).bundles[0] if search.found else None


def _passed(scenario: Scenario, bundle: Bundle | None) -> Bundle | None:
    """The bundle, which the auditor passes in its case. Raises :class:`RefusedError` where it does not."""
    if bundle is not None and (wrong := misses(scenario, bundle)):
        raise RefusedError("a bundle of its own explanation", tuple(reading.limit for reading in wrong))
    return bundle


def misses(scenario: Scenario, bundle: Bundle) -> tuple[Reading, ...]:
    """The tightest reading of each limit that a bundle fails in a case, what is left out or loosened there counted."""
    # what is loosened is loosened by so much of its unit for each month, start and leg, not for the tightest alone
    judged = audit(scenario.job, bundle, scenario.catalog, every=bool(scenario.terms.slack))
    failing: dict[str, Reading] = {}
    for reading in judged.readings:
        if not _met(scenario, reading):
            failing.setdefault(reading.limit, judged.reading(reading.limit))
    for limit in [name for name in failing if LIMITS[name].by_placing and name in scenario.terms.slack]:
        placings = leg_placings(scenario.job, bundle)  # another placing may miss by less
        if any(all(_met(scenario, reading) for reading in placing) for placing in placings):
            del failing[limit]
    return tuple(failing.values())


def missed_of(scenario: Scenario, limit: str, bundle: Bundle) -> Reading | None:
    """The reading of one limit that a bundle fails in a case; None where it meets it."""
    return next((reading for reading in misses(scenario, bundle) if reading.limit == limit), None)


def most_missed(scenario: Scenario, limit: str, bundle: Bundle) -> float:
    """By how much a limit must be loosened for a bundle, in its unit; infinite where no figure says."""
    if LIMITS[limit].by_placing and (placings := leg_placings(scenario.job, bundle)):
        return min(max(miss(r) if not r.holds else 0.0 for r in placing) for placing in placings)
    readings = audit(scenario.job, bundle, scenario.catalog, every=True).readings
    return max((miss(r) for r in readings if r.limit == limit and not r.holds), default=0.0)


def _met(scenario: Scenario, reading: Reading) -> bool:
    slack = scenario.terms.slack.get(reading.limit, 0.0)
    if reading.holds or reading.limit in scenario.terms.without:
        return True
    if not slack or reading.settled:
        return False
    if reading.sense == "at most":
        return bool(at_most(reading.value, reading.allowed + slack))
    return bool(at_least(reading.value, reading.allowed - slack))


def has_figure(reading: Reading) -> bool:
    """Whether a limit is missed by so much: not where it is met or not, nor where its value cannot be known."""
    return not reading.settled and isfinite(reading.value - reading.allowed)


def miss(reading: Reading) -> float:
    """By how much a reading misses, in its unit; infinite where it has no figure."""
    return abs(reading.value - reading.allowed) if has_figure(reading) else inf


def relative_miss(reading: Reading) -> float:
    """By how much a reading misses, as a share of what is asked; infinite where it has no figure."""
    asked = reading.value if reading.sense == "at most" else reading.allowed
    return miss(reading) / abs(asked) if asked and has_figure(reading) else inf
