"""What new prices do to a job that was answered before: the new answer held against the one kept beside it.

The old bundle is priced again at the new prices, in its exact parts and counts, and audited: it passes and costs so
much more, or it cannot be had, or it breaks a limit now.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from math import inf
from pathlib import Path

from catalog.reader import Catalog
from optimizer.answers.answer import Answer
from optimizer.answers.budget_staircase import without_budget
from optimizer.auditor.reading import Reading
from optimizer.bundles.bundle import Bundle
from optimizer.bundles.bundle_file import read_bundle
from optimizer.bundles.kept_answer import BUDGET, BundleShape, Kept
from optimizer.bundles.order import Order, Purchase
from optimizer.explain.explanation import Why
from optimizer.explain.infeasibility import Conflict, ConflictingLimit, ConflictSet
from optimizer.explain.irreducible_set import irreducible_set
from optimizer.explain.near_misses import applicable
from optimizer.explain.rejections import rejections
from optimizer.explain.resolve import Resolver, missed_of
from optimizer.explain.verdict import judge
from optimizer.inputs.job import Job
from optimizer.search.branch_and_bound import Pick
from optimizer.search.branch_and_bound import Status as SearchStatus
from optimizer.vocabulary.faults import UnprovenError
from optimizer.vocabulary.problems import InputError, Problem

# why a part of an old bundle cannot be bought
NO_PART, NO_SELLER, NOT_ALLOWED, NO_STOCK, NOT_NAMED = "no part", "no seller", "not allowed", "no stock", "not named"


class JobStatus(StrEnum):
    """What became of a job: the same bundle at the same total, dearer or cheaper; another bundle; the first answer; no
    bundle any more; or wrong input."""

    SAME = "same"
    DEARER = "dearer"
    CHEAPER = "cheaper"
    CHANGED = "changed"
    NEW = "new"
    LOST = "lost"
    WRONG = "wrong"


@dataclass(frozen=True)
class OldAnswer:
    """The answer kept beside a job; ``bundle``: its first, in the parts of the catalogue there is now, or
    ``unreadable``: why it cannot be read so."""

    kept: Kept
    bundle: Bundle | None = None
    unreadable: Problem | None = None

    @classmethod
    def of(cls, kept: Kept, path: str | Path, job: Job, catalog: Catalog) -> OldAnswer:
        """With its bundle read from the file ``path`` where it has one."""
        if not kept.answered:
            return cls(kept)
        try:
            return cls(kept, read_bundle(path, job, catalog))
        except InputError as error:
            return cls(kept, unreadable=error.problems[0])


@dataclass(frozen=True)
class Move:
    """What a part, or where ``part`` is "" a charge of ``seller`` (freight or tax), cost before and costs now, in
    cents."""

    part: str
    seller: str
    before: Purchase | int
    after: Purchase | int
    charge: str = ""

    @property
    def cents(self) -> int:
        """The rise."""
        return _cents(self.after) - _cents(self.before)


@dataclass(frozen=True)
class OldBundleNow:
    """The old bundle at the new prices. ``cents``: the cheapest purchase of its exact parts and counts, None where it
    cannot be had. ``absent``: (part, why) of what cannot be bought. ``failing``: limits that it breaks now."""

    cents: int | None = None
    failing: tuple[Reading, ...] = ()
    absent: tuple[tuple[str, str], ...] = ()
    unreadable: Problem | None = None

    @property
    def passes(self) -> bool:
        """Whether it can be bought and meets every limit."""
        return self.cents is not None and not self.failing


@dataclass(frozen=True)
class Refreshed:
    """One job answered again: ``cents`` now and ``before``; shapes of the two bundles; ``moves`` of the same bundle's
    parts and freights, the largest first, which add up to the difference.

    ``edited``: the kept answer is not as it was written here. ``barred``: limits that leave nothing, and ``least`` the
    cheapest total where only the budget does.
    """

    status: JobStatus
    cents: int | None
    before: int | None = None
    shape: BundleShape | None = None
    old_shape: BundleShape | None = None
    moves: tuple[Move, ...] = ()
    keeping: OldBundleNow | None = None
    edited: bool = False
    barred: tuple[str, ...] = ()
    least: int | None = None
    up_to_date: bool = False
    was_answered: bool = False  # a kept answer was there, with or without a bundle


@dataclass(frozen=True)
class AnsweredAgain:
    """One job answered again: ``answer``, as it is to be kept; ``outcome``, it held against the old one; and
    ``explained``, the same with all that a pick says of itself, where that was asked for."""

    answer: Answer
    outcome: Refreshed
    explained: Answer | None = None


@dataclass(frozen=True)
class JobReport:
    """What is told of one job: ``file`` below the folder, and ``name`` for short; ``outcome``, or the problems or the
    fault of this tool for which there is none."""

    file: str
    name: str
    job: Job | None = None
    outcome: Refreshed | None = None
    problems: tuple[Problem, ...] = ()
    fault: str = ""

    @property
    def status(self) -> JobStatus:
        """The status in one word."""
        return JobStatus.WRONG if self.outcome is None or self.problems or self.fault else self.outcome.status


@dataclass(frozen=True)
class RefreshedFolder:
    """What is told of a folder of jobs: each in the order of the files, and the ``catalogs`` that they are of.

    ``others``: files that are no jobs; ``written``: answers that were, or by a ``dry`` run would be; ``left``: jobs
    that were not looked at because it was interrupted.
    """

    folder: str
    jobs: tuple[JobReport, ...]
    catalogs: tuple[Catalog, ...]
    others: int
    written: int
    dry: bool = False
    left: int = 0


def up_to_date(kept: Kept) -> Refreshed:
    """A job whose kept answer still rests on what is there."""
    return Refreshed(
        JobStatus.SAME if kept.answered else JobStatus.LOST, kept.cents, kept.cents, kept.shape, kept.shape,
        barred=kept.barred, least=kept.least, up_to_date=True, was_answered=True,
    )  # fmt: skip


def compare(answer: Answer, before: OldAnswer | None) -> Refreshed:
    """The new answer of a job against its kept one. Raises :class:`UnprovenError`."""
    best = answer.pick.bundles[0] if answer.pick.bundles else None
    cents = best.order.cents if best is not None and best.order is not None else None
    shape = BundleShape.of(best) if best is not None else None
    kept = None if before is None else before.kept
    bare = Refreshed(
        JobStatus.NEW if best is not None else JobStatus.LOST, cents, shape=shape, was_answered=kept is not None
    )
    barred, least = _barred(answer.why)
    bare = replace(bare, barred=barred, least=least)
    if before is None or kept is None or kept.shape is None or kept.cents is None:
        return replace(bare, edited=kept is not None and not kept.sealed)
    old = replace(bare, before=kept.cents, old_shape=kept.shape, edited=not kept.sealed)
    same = shape == kept.shape
    if not same or old.edited:
        keeping = keep(answer.job, answer.catalog, before)
        if keeping.passes and keeping.cents is not None and (cents is None or keeping.cents < cents):
            raise UnprovenError(f"the old bundle passes at {keeping.cents} cents; proven cheapest was {cents}")
        old = replace(old, keeping=keeping)
    if best is None or cents is None:
        return old
    if not same:
        return replace(old, status=JobStatus.CHANGED)
    moves = order_moves(kept.order, best.order) if kept.order is not None and best.order is not None else ()
    status = JobStatus.SAME if cents == kept.cents else JobStatus.DEARER if cents > kept.cents else JobStatus.CHEAPER
    return replace(old, status=status, moves=moves)


def order_moves(before: Order, after: Order) -> tuple[Move, ...]:
    """What moved between two orders of one bundle, the largest first: the rises add up to that of the totals."""
    parts = [{purchase.part: purchase for purchase in order.purchases} for order in (before, after)]
    moves = []
    for part in sorted(parts[0].keys() | parts[1].keys()):
        old, new = (own.get(part) or Purchase(part, 0, 0, ()) for own in parts)
        moves.append(Move(part, "", old, new))
    for charge in ("freight", "tax"):
        was, now = dict(getattr(before, charge)), dict(getattr(after, charge))
        names = sorted(was.keys() | now.keys())
        moves += [Move("", seller, was.get(seller, 0), now.get(seller, 0), charge) for seller in names]
    moved = (move for move in moves if move.cents)
    return tuple(sorted(moved, key=lambda m: (-abs(m.cents), m.part, m.seller, m.charge)))


def _cents(cost: Purchase | int) -> int:
    return cost if isinstance(cost, int) else cost.cents


def keep(job: Job, catalog: Catalog, before: OldAnswer) -> OldBundleNow:
    """What keeping the old bundle would come to: its exact parts and counts at the new prices, audited."""
    parts = before.kept.shape.parts if before.kept.shape is not None else ()
    gone = tuple((part, NO_PART) for part in parts if catalog.kind_of(part) is None)
    if gone or before.bundle is None:
        return OldBundleNow(absent=gone, unreadable=None if gone else before.unreadable)
    if before.bundle.rack is None:  # only an edit takes it out; without it neither price nor audit is of a whole bundle
        return OldBundleNow(absent=(("rack", NOT_NAMED),))
    verdict = judge(job, replace(before.bundle, order=None, quoted_cents=None, legs=None), catalog)
    absent = _absent(verdict.unpriced, job, catalog) if verdict.unpriced else ()
    failing: dict[str, Reading] = {}
    for reading in verdict.failing:
        failing.setdefault(reading.limit, verdict.audit.reading(reading.limit))
    return OldBundleNow(verdict.cents, tuple(failing.values()), absent)


def _absent(parts: tuple[str, ...], job: Job, catalog: Catalog) -> tuple[tuple[str, str], ...]:
    def why(part: str) -> str:
        sellers = set(catalog.offers.seller[catalog.offers.part == part].tolist())
        if not sellers:
            return NO_SELLER
        barred = part in job.allow.exclude or (job.allow.sellers is not None and not sellers & set(job.allow.sellers))
        return NOT_ALLOWED if barred else NO_STOCK

    return tuple((part, why(part)) for part in parts)


# nothing meets the job -------------------------------------------------------------------------------------------


def why_nothing(resolver: Resolver, found: Pick) -> Why:
    """In short why nothing meets a job: the budget alone, or a smallest set of limits that leaves nothing. Ways out are
    not looked for. Empty where something does."""
    case = resolver.base
    if found.status != SearchStatus.NONE:
        return Why()
    cheapest = (
        resolver.first(replace(case, job=without_budget(case.job))).bundle if case.job.need.budget_cents else None
    )
    if cheapest is not None:
        stands = [ConflictingLimit(BUDGET, missed_of(case, BUDGET, cheapest), True)]
    else:
        limits = irreducible_set(resolver, case, inf, frozenset(), frozenset(applicable(case))).limits
        stands = [ConflictingLimit(limit, None, False) for limit in limits]
    conflict = Conflict(
        rejections(case.catalog, case.job), (ConflictSet(tuple(stands), True, ""),), (), resolver.solves
    )
    return Why(conflict=conflict, unfinished=("ways out",), solves=resolver.solves)


def _barred(why: Why) -> tuple[tuple[str, ...], int | None]:
    """The limits that leave nothing, and the cheapest total where only the budget does."""
    stands = why.conflict.clashes[0].stands if why.conflict is not None else ()
    budget = next((each.reading for each in stands if each.limit == BUDGET and each.reading is not None), None)
    return tuple(each.limit for each in stands), None if budget is None else round(budget.value * 100)
