"""The questions about a job and a catalogue, one function each: what a command prints, as data.

What they share: ``must`` names parts that a bundle has ("part", or "part=2" for exactly two pieces) and ``never`` parts
that it has not; ``time_limit`` is in seconds; ``solver`` is "highs" or "cbc"; ``watch`` is called with (choices opened,
small models solved) while a search runs, and ``say`` with what is being worked out. All raise

- :class:`optimizer.vocabulary.problems.InputError` where something that is named is not there or cannot be read,
- :class:`optimizer.vocabulary.faults.SolverError` where the solver breaks its word, and
- :class:`optimizer.vocabulary.faults.RefusedError` where the auditor does not bear out what was found.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING

from catalog.reader import Catalog
from optimizer.answers.answer import Answer, audited
from optimizer.answers.requests import part_named, terms_of
from optimizer.answers.stair_quantity import StairQuantity
from optimizer.bundles.bundle import Bundle
from optimizer.candidates.terms import PLAIN, SearchTerms
from optimizer.explain.explanation import beside_pick
from optimizer.explain.resolve import Resolver, Scenario
from optimizer.inputs.job import Job
from optimizer.search import branch_and_bound
from optimizer.search.branch_and_bound import Pick
from optimizer.vocabulary.bounded_files import is_file

if TYPE_CHECKING:  # what only one question asks for is loaded when it is asked
    from optimizer.answers.budget_staircase import Staircase
    from optimizer.answers.judgement import Judgement
    from optimizer.answers.minimax_regret import LeastRegretAnswer
    from optimizer.answers.refreshed_job import AnsweredAgain, OldAnswer

Watch = Callable[[int, int], None]
Say = Callable[[str], None]


def pick(
    job: Job,
    catalog: Catalog,
    options: int = 5,
    *,
    must: Sequence[str] = (),
    never: Sequence[str] = (),
    equal_strings: bool = False,
    most_sellers: int | None = None,
    fewest_sellers: bool = False,
    time_limit: float | None = None,
    solver: str = "highs",
    watch: Watch | None = None,
    say: Say | None = None,
) -> Answer:
    """The ``options`` cheapest distinct bundles, each audited, with what a pick says of itself: near misses, what
    starters, tanks and parts on hand are worth; or why nothing meets the job.

    ``equal_strings``: all strings as long as each other; ``most_sellers`` to buy from, or with ``fewest_sellers`` as
    few as will do.
    """
    resolver = _resolver(job, catalog, terms_of(catalog, must, never, equal_strings, most_sellers), solver, time_limit,
                         say)  # fmt: skip
    if fewest_sellers:
        from optimizer.explain.tidier_bundles import fewest

        resolver.base = replace(resolver.base, terms=fewest(resolver))
    found = _searched(resolver, options, watch)
    return audited(catalog, job, found, beside_pick(resolver, found), resolver.base.terms)


def why(
    job: Job,
    catalog: Catalog,
    instead: str | Path | Bundle | None = None,
    inputs: Sequence[str] = (),
    *,
    must: Sequence[str] = (),
    never: Sequence[str] = (),
    time_limit: float | None = None,
    solver: str = "highs",
    watch: Watch | None = None,
    say: Say | None = None,
) -> Answer:
    """The cheapest bundle with its whole explanation in ``answer.why``: which limits bind and what each costs, which
    prices and inputs would change it.

    ``instead``: only why not this part, or this bundle or the bundle of this file. ``inputs``: keys of the job
    ("bore pump.starting") that are looked at beside those that are estimated or taken. Where no bundle is proven
    cheapest, what :func:`pick` says.
    """
    from optimizer.explain.sensitivity import keys_of
    from optimizer.explain.whole_explanation import bundle_instead, explain, part_instead

    keys = keys_of(job, inputs)
    resolver = _resolver(job, catalog, terms_of(catalog, must, never), solver, time_limit, say)
    other = _bundle_of(instead, job, catalog)
    part = part_named(catalog, str(instead)) if instead is not None and other is None else None
    found = _searched(resolver, 1, watch)
    if found.status != branch_and_bound.Status.PROVEN:
        told = beside_pick(resolver, found)
    elif part is not None:
        told = part_instead(resolver, found.bundles[0], *part)
    elif other is not None:
        told = bundle_instead(resolver, other)
    else:
        told = explain(resolver, found.bundles[0], keys)
    return audited(catalog, job, found, told, resolver.base.terms)


def afford(
    job: Job,
    catalog: Catalog,
    budget: float | None = None,
    most: StairQuantity | str = StairQuantity.AUTONOMY,
    to: float | None = None,
    *,
    must: Sequence[str] = (),
    never: Sequence[str] = (),
    time_limit: float | None = None,
    solver: str = "highs",
    say: Say | None = None,
) -> Staircase:
    """What a budget buys: the exact staircase of cost against sunless days, water, W to spare, or hours short.

    ``budget``: money with at most two decimals, in place of the job's own. It is climbed up to the first stair that the
    budget does not buy, or that reaches ``to`` (days, % of the stated water, W, or h short); without either, ten
    stairs. Raises ValueError for another budget or quantity, for water where no load of the job states any, and for
    hours without a weather file.
    """
    from optimizer.answers.budget_staircase import YEAR_H, has_water, money_cents, staircase_of

    quantity = StairQuantity(most)
    if quantity == StairQuantity.WATER and not has_water(job):
        raise ValueError("no load of this job states water_per_day")
    if quantity == StairQuantity.HOURS and job.weather is None:
        raise ValueError("this job names no weather file")
    cents = None if budget is None else money_cents(budget)
    if budget is not None and cents is None:
        raise ValueError(f"a budget of {budget} has more than two decimals")
    resolver = _resolver(job, catalog, terms_of(catalog, must, never), solver, time_limit, say)
    end = to / 100 if to is not None and quantity == StairQuantity.WATER else to
    if to is not None and quantity == StairQuantity.HOURS:
        end = YEAR_H - to
    return staircase_of(resolver, quantity, cents, end)


def audit(
    job: Job, catalog: Catalog, bundles: Sequence[Bundle | str | Path], *, solver: str = "highs"
) -> Judgement:  # fmt: skip
    """Bundles, or the bundles of files, each judged by every limit, with what would cure a limit that fails. Those of
    one name are told apart by the order given. Raises InputError with the problems of all files."""
    from optimizer.answers.judgement import Judgement, named_bundles
    from optimizer.explain.verdict import judge

    read = named_bundles(job, catalog, bundles)
    verdicts = tuple(judge(job, bundle, catalog, solver) for bundle in read)
    return Judgement(verdicts, Answer.of_audits(job, catalog, [verdict.audit for verdict in verdicts]))


def refresh(
    job: Job,
    catalog: Catalog,
    before: OldAnswer | str | Path | None = None,
    options: int = 1,
    *,
    explained: bool = False,
    solver: str = "highs",
) -> AnsweredAgain:
    """A job answered again and held against the answer kept ``before``, or in that file: what new prices did to it.

    ``explained``: with all that a pick says of itself too. Raises OSError where the file cannot be read, and
    :class:`optimizer.vocabulary.faults.UnprovenError` where the old bundle would have been cheaper than what was proven
    cheapest.
    """
    from optimizer.answers.refreshed_job import AnsweredAgain, OldAnswer, compare, why_nothing
    from optimizer.bundles.kept_answer import read_kept_file

    if isinstance(before, str | Path):
        before = OldAnswer.of(read_kept_file(Path(before)), before, job, catalog)
    resolver = _resolver(job, catalog, PLAIN, solver)
    found = _searched(resolver, options)
    answer = audited(catalog, job, found, why_nothing(resolver, found))
    more = audited(catalog, job, found, beside_pick(resolver, found)) if explained else None
    return AnsweredAgain(answer, compare(answer, before), more)


def least_regret(
    job: Job, lists: Mapping[str, Catalog], *, solver: str = "highs", watch: Watch | None = None
) -> LeastRegretAnswer:  # fmt: skip
    """The one bundle whose worst extra cost over several price lists is least: ``lists`` has the catalogue with each of
    them by the list's name."""
    from optimizer.answers.minimax_regret import LeastRegretAnswer, settle

    return LeastRegretAnswer.of(job, lists, settle(tuple(lists.values()), job, solver=solver, watch=watch))


def _resolver(
    job: Job, catalog: Catalog, terms: SearchTerms, solver: str, time_limit: float | None = None, say: Say | None = None
) -> Resolver:  # fmt: skip
    deadline = None if time_limit is None else monotonic() + time_limit
    return Resolver(Scenario(job, catalog, terms), solver, deadline, say)


def _searched(resolver: Resolver, options: int, watch: Watch | None = None) -> Pick:
    """The cheapest bundles of ``resolver.base``, in the time that is left; what is worked out is there for the rest."""
    case = resolver.base
    left = None if resolver.deadline is None else max(0.0, resolver.deadline - monotonic())
    return branch_and_bound.pick(
        case.catalog, case.job, options, solver=resolver.solver, time_limit=left, terms=case.terms, watch=watch,
        cache=resolver.cache,
    )  # fmt: skip


def _bundle_of(named: str | Path | Bundle | None, job: Job, catalog: Catalog) -> Bundle | None:
    """The bundle that is named by itself or by its file; None where it is none."""
    if named is None or isinstance(named, Bundle):
        return named
    from optimizer.bundles.bundle_file import read_bundle, split_rank

    return read_bundle(named, job, catalog) if is_file(split_rank(str(named))[0]) else None
