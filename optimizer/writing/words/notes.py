"""What a reader should know before trusting an answer: notes of the catalogue and of the wells."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING

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


# warnings of rows and parts that are never used, or that a bundle would have to show to be worth a word
OF_UNUSED = ("stock-below-minimum", "parts-without-price", "offers-without-weight")


def _concerns(answer: Answer, problem: Problem) -> bool:
    """Whether a warning of the catalogue concerns a bundle that is shown, or the whole of the answer."""
    orders = [option.bundle.order for option in answer.options if option.bundle.order is not None]
    if problem.kind.id == "doubled-offer":
        offers, row = answer.catalog.offers, problem.place.row
        mine = {str(part) for part in offers.part[offers.row == row]}
        return any(purchase.part in mine for order in orders for purchase in order.purchases if purchase.lines)
    if problem.kind.id == "seller-not-listed":
        return any(problem.slots["seller"] in dict(order.freight) for order in orders)
    return problem.kind.id not in OF_UNUSED


def warnings(answer: Answer, brief: bool = False) -> list[str]:
    """What a reader should know before trusting the answer; ``brief`` gives one catalogue warning of each kind. What
    concerns no bundle that is shown is for the check of the catalogue to say."""
    said = ["Example parts, invented prices."] if answer.catalog.generic else []
    concerned = [problem for problem in answer.catalog.warnings if _concerns(answer, problem)]
    alike = Counter(problem.kind.id for problem in concerned)
    for problem in concerned:
        more = alike.pop(problem.kind.id, 0) - 1 if brief else 0
        if more >= 0:
            said.append(warning_text(problem) + (f" ({more} more alike: borewatt catalog check)" if more else ""))
    unstated = [str(o.bundle.converter["part"]) for o in answer.options if not o.bundle.converter["hz"]]
    said += _dry_wells(answer.job)
    said += [
        f"{part} does not state its frequency: make sure that it gives {answer.job.supply.hz} Hz."
        for part in dict.fromkeys(unstated)
    ]
    return said
