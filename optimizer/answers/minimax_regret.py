"""One bundle for several price lists: the one whose worst extra cost over them (its regret) is least, proven.

The extra cost on a list is the least that the bundle can be bought for there, beyond the list's cheapest bundle. A
bundle that cannot be bought at some list, or breaks a limit there, is not in question.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf

from catalog.price_age import OLD_PRICES
from catalog.reader import Catalog
from optimizer.answers.answer import Answer
from optimizer.auditor.reading import Audit
from optimizer.bundles.bundle import Bundle
from optimizer.candidates.terms import PLAIN, SearchTerms, Setting
from optimizer.explain.resolve import cents_of
from optimizer.explain.verdict import Verdict, judge
from optimizer.inputs.job import Job
from optimizer.search.branch_and_bound import Proof, Search, pick
from optimizer.search.cache import SearchCache
from optimizer.search.objectives import LeastRegret
from optimizer.search.space import SearchSpace
from optimizer.vocabulary.faults import RefusedError

WINNER = "the bundle that was proven least"
UNPRICED = "parts-without-price"  # which list lacks what tells itself where it matters


@dataclass(frozen=True)
class BoughtAt:
    """A bundle at one list: ``cents`` of its cheapest order there, None where it cannot be had or breaks a limit;
    ``unpriced``: parts that cannot be had; ``failing``: limits that it breaks there."""

    bundle: Bundle
    cents: int | None
    audit: Audit
    unpriced: tuple[str, ...]
    failing: tuple[str, ...]


@dataclass(frozen=True)
class OnList:
    """One list: its cheapest bundle and total; ``own``: that bundle at every list."""

    cheapest: Bundle
    cents: int
    own: tuple[BoughtAt, ...] = ()


@dataclass(frozen=True)
class Settled:
    """What was found. ``lists``: in the order given, None where no bundle meets the job there; then nothing else is
    looked for. ``bought``: the bundle at every list, empty where none can be bought at all of them.

    ``opened`` and ``solved``: nodes opened, and subproblems solved, for the proof over all lists.
    """

    lists: tuple[OnList | None, ...]
    bought: tuple[BoughtAt, ...] = ()
    opened: int = 0
    solved: int = 0

    @property
    def extras(self) -> tuple[int, ...]:
        """Cents beyond the cheapest, list by list."""
        return extras(self.lists, self.bought) or ()

    @property
    def worst(self) -> int:
        """The worst of them."""
        return max(self.extras)


@dataclass(frozen=True)
class LeastRegretAnswer:
    """What was found for a job over several price lists: their ``names``, and the catalogue with each of them.

    ``shown``: the bundle at the list where it is dearest beside the cheapest, with the warnings of all lists but those
    of old prices and of parts without one; None where there is none to settle on.
    """

    job: Job
    names: tuple[str, ...]
    catalogs: tuple[Catalog, ...]
    settled: Settled
    shown: Answer | None

    @classmethod
    def of(cls, job: Job, lists: Mapping[str, Catalog], settled: Settled) -> LeastRegretAnswer:
        """With the bundle audited once more, as every answer is."""
        names, catalogs = tuple(lists), tuple(lists.values())
        if not settled.bought:
            return cls(job, names, catalogs, settled, None)
        place = settled.extras.index(settled.worst)
        every = [problem for catalog in catalogs for problem in catalog.warnings]
        noted = [problem for problem in every if problem.kind.id not in (UNPRICED, *OLD_PRICES)]
        once = {(each.kind.id, each.place, *sorted(each.slots.items())): each for each in noted}
        catalog = replace(catalogs[place], warnings=tuple(once.values()))
        proof = Proof(0, settled.solved, settled.opened, None, 0.0)
        shown = Answer.of_bundles(job, catalog, (settled.bought[place].bundle,), proof=proof)
        return cls(job, names, catalogs, settled, shown)


def extras(lists: Sequence[OnList | None], bought: Sequence[BoughtAt]) -> tuple[int, ...] | None:
    """Cents beyond the cheapest of each list; None where the bundle is not to be had at some."""
    found = []
    for each, there in zip(lists, bought, strict=False):
        if each is None or there.cents is None:
            return None
        found.append(there.cents - each.cents)
    return tuple(found)


def settle(
    catalogs: Sequence[Catalog], job: Job, *, solver: str = "highs", watch: Callable[[int, int], None] | None = None
) -> Settled:
    """The bundle whose worst extra cost over all ``catalogs`` is least, proven to the cent; they are of the same parts,
    each with the prices of one list. Of equal ones the least sum of the extras, then as among equal totals.

    ``watch`` is called with (opened, solved) now and then. Raises :class:`optimizer.vocabulary.faults.SolverError`
    where the solver breaks its word, and :class:`RefusedError` where the auditor does not bear out what was found.
    """
    cache = SearchCache()

    def cheapest(terms: SearchTerms) -> list[Bundle | None]:
        found = [pick(each, job, 1, solver=solver, terms=terms, watch=watch, cache=cache) for each in catalogs]
        return [answer.bundles[0] if answer.bundles else None for answer in found]

    def everywhere(bundle: Bundle) -> tuple[BoughtAt, ...]:
        return tuple(_bought(judge(job, _bare(bundle), each, solver)) for each in catalogs)

    alone = cheapest(PLAIN)
    bare = [None if bundle is None else OnList(bundle, cents_of(bundle)) for bundle in alone]
    ready = [each for each in bare if each is not None]
    if len(ready) < len(bare):
        return Settled(tuple(bare))
    lists = tuple(replace(each, own=everywhere(each.cheapest)) for each in ready)
    known = [each.own for each in lists]
    setting = Setting.of(job, SearchTerms(never=_lacking(catalogs, job, cache)))
    if all(extras(lists, bought) is None for bought in known):
        common = cheapest(setting.terms)
        if None in common:
            return Settled(lists)
        known += [everywhere(bundle) for bundle in common if bundle is not None]
    worst = [max(found) for found in (extras(lists, bought) for bought in known) if found is not None]
    least = [each.cents for each in lists]
    objective = LeastRegret(SearchSpace(catalogs, setting, cache), least, solver)
    search = Search(objective, 1, watch=watch, below=min(worst, default=inf), attained=bool(worst))
    found = search.answer(search.run()).bundles
    if not found:
        if worst:
            raise RefusedError(WINNER, ("no bundle was found where one is known",))
        return Settled(lists, (), search.opened, search.solved)
    settled = Settled(lists, everywhere(found[0]), search.opened, search.solved)
    _check(settled, search.queue.cutoff)
    return settled


def _check(settled: Settled, worst: float) -> None:
    """What the search found must be what a purchase of its own and the auditor find at every list."""
    wrong = tuple(dict.fromkeys(limit for there in settled.bought for limit in (*there.failing, *there.unpriced)))
    if wrong or len(settled.extras) < len(settled.lists):
        raise RefusedError(WINNER, wrong)
    if settled.worst != worst or min(settled.extras) < 0:
        raise RefusedError(WINNER, (f"extras {settled.extras} in cents, worst {worst}",))


def _bare(bundle: Bundle) -> Bundle:
    """A bundle without what it was bought for, so that it is priced anew."""
    return replace(bundle, order=None, quoted_cents=None, legs=None)


def _bought(verdict: Verdict) -> BoughtAt:
    """What a judged bundle comes to: no price where it may not be bought so."""
    failing = tuple(dict.fromkeys((*(r.limit for r in verdict.failing), *verdict.audit.not_judged)))
    sound = not failing and verdict.audit.passes
    return BoughtAt(verdict.bundle, verdict.cents if sound else None, verdict.audit, verdict.unpriced, failing)


def _lacking(catalogs: Sequence[Catalog], job: Job, cache: SearchCache) -> frozenset[str]:
    """The parts of which not one piece can be had at some list; extras aside, which every bundle needs by rule."""
    setting = Setting.of(job)
    lacking: set[str] = set()
    for catalog in catalogs:
        market = cache.market(catalog, setting)
        for kind, table in catalog.tables.items():
            if kind != "extra":
                lacking.update(str(part) for part in table.part[market.ladders[kind].most < 1])
    return frozenset(lacking)
