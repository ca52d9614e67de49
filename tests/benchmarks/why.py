"""What explaining costs, measured side by side: ``python -m tests.benchmarks.why``.

For each example on the shipped catalogue: the near misses that a pick shows ÷ the pick of five itself, the whole
explanation ÷ the pick with its near misses, and how many solves each took; for the job that nothing meets, its conflict
and ways out. CPU seconds of one process, one after the other; the ratios mean something, the seconds do not.
"""

from __future__ import annotations

from time import process_time

from catalog.reader import read_catalog, shipped_catalog
from optimizer.answers.answer import audited
from optimizer.explain.explanation import beside_pick
from optimizer.explain.resolve import Resolver, Scenario
from optimizer.explain.whole_explanation import explain
from optimizer.inputs.job_reader import read_job
from optimizer.search.branch_and_bound import Status, pick
from tests.benchmarks.run import EXAMPLES


def main() -> None:
    """Print the table."""
    for example in EXAMPLES:
        start = process_time()
        catalog, job = read_catalog(shipped_catalog()), read_job(example)
        resolver = Resolver(Scenario(job, catalog))
        found = pick(catalog, job, 5, cache=resolver.cache)
        audited(catalog, job, found)
        picked = process_time()
        beside_pick(resolver, found)
        beside, solves = process_time(), resolver.solves
        name = example.parent.name
        if found.status == Status.NONE:
            print(f"{name:20} conflict and ways out {beside - picked:.1f} s, {solves} solves")
            continue
        whole = Resolver(Scenario(job, catalog))
        explain(whole, found.bundles[0])
        explained = process_time()
        print(f"{name:20} near misses ÷ pick {(beside - picked) / (picked - start):.2f} ({solves} solves)  "
              f"why ÷ both {(explained - beside) / (beside - start):.1f} ({whole.solves} solves)")  # fmt: skip


if __name__ == "__main__":
    main()
