"""What a staircase costs, measured side by side: ``python -m tests.benchmarks.afford``.

For each example that can be met and each quantity: ten stairs ÷ the pick of five. CPU seconds of one process, one after
the other; the ratios mean something, the seconds do not.
"""

from __future__ import annotations

from time import process_time

from catalog.reader import read_catalog, shipped_catalog
from optimizer.answers.answer import audited
from optimizer.answers.budget_staircase import STAIRS, has_water, staircase_of
from optimizer.answers.stair_quantity import StairQuantity
from optimizer.explain.resolve import Resolver, Scenario
from optimizer.inputs.job_reader import read_job
from optimizer.search.branch_and_bound import pick
from tests.benchmarks.run import EXAMPLES


def main() -> None:
    """Print the table."""
    for example in EXAMPLES:
        job = read_job(example)
        for quantity in StairQuantity:
            if quantity == StairQuantity.WATER and not has_water(job):
                continue
            start = process_time()
            catalog = read_catalog(shipped_catalog())
            audited(catalog, job, pick(catalog, job, 5))
            picked = process_time()
            resolver = Resolver(Scenario(job, read_catalog(shipped_catalog())))
            # no budget and no end: as many stairs as are shown then
            found = staircase_of(resolver, quantity)
            climbed = process_time()
            if found.stairs:
                ratio = (climbed - picked) / (picked - start)
                print(f"{example.parent.name:18} {quantity:9} {len(found.stairs):>2} of {STAIRS} stairs ÷ pick "
                      f"{ratio:5.1f}  ({resolver.solves} solves)", flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
