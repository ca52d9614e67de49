"""What a reader should know before trusting an answer: notes of the catalogue and of the wells."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING

from catalog.notes import concerning
from optimizer.bundles.needs import pieces_needed
from optimizer.inputs.job_sense import unusual_in_job
from optimizer.writing.words.problems import warning_text

if TYPE_CHECKING:
    from optimizer.answers.answer import Answer
    from optimizer.inputs.job import Job
    from optimizer.vocabulary.problems import Problem


def _dry_wells(job: Job) -> Iterator[str]:
    """Pumps that take more than the well gives."""
    gives = job.water.well_yield_l_per_h
    for load in job.loads:
        if gives is not None and load.flow_l_per_h is not None and load.count * load.flow_l_per_h > gives:
            written = job.written.get("water.well_yield", "")
            yield (f"{load.name} pumps more than the well gives ({written}): it needs protection against running dry, "
                   "and its hours are longer than its flow says.")  # fmt: skip


def _concerning(answer: Answer) -> tuple[Problem, ...]:
    """The catalogue's warnings as far as the shown bundles rest on them."""
    bundles = [option.bundle for option in answer.options]
    parts = {part for bundle in bundles for part in pieces_needed(bundle, answer.job, answer.catalog)}
    orders = [bundle.order for bundle in bundles if bundle.order is not None]
    bought = {purchase.part for order in orders for purchase in order.purchases if purchase.lines}
    sellers = {seller for order in orders for seller, _ in order.freight}
    return concerning(answer.catalog, parts, bought, sellers)


def warnings(answer: Answer, brief: bool = False) -> list[str]:
    """What a reader should know before trusting the answer; ``brief`` gives one catalogue warning of each kind. What
    concerns no bundle that is shown is for the check of the catalogue to say."""
    said = ["Example parts, invented prices."] if answer.catalog.generic else []
    concerned = _concerning(answer)
    alike = Counter(problem.kind.id for problem in concerned)
    for problem in concerned:
        more = alike.pop(problem.kind.id, 0) - 1 if brief else 0
        if more >= 0:
            said.append(warning_text(problem) + (f" ({more} more alike: borewatt catalog check)" if more else ""))
    said += [warning_text(problem) for problem in unusual_in_job(answer.job)]
    unstated = [str(o.bundle.converter["part"]) for o in answer.options if not o.bundle.converter["hz"]]
    said += _dry_wells(answer.job)
    said += [
        f"{part} does not state its frequency: make sure that it gives {answer.job.supply.hz} Hz."
        for part in dict.fromkeys(unstated)
    ]
    return said
