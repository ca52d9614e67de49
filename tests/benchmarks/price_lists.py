"""Settling on one bundle over price lists against picking at each of them: ``python -m tests.benchmarks.price_lists``.

Lists are the catalogue's prices moved by up to 30 % at random. With a number of parts: a drawn catalogue of that size
in place of the shipped one. The machine may be busy: only ratios mean anything.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from catalog.reader import read_catalog, shipped_catalog
from optimizer.answers.minimax_regret import settle
from optimizer.inputs.job_reader import read_job
from optimizer.search.branch_and_bound import pick
from tests.benchmarks.generate import write_catalog
from tests.benchmarks.run import EXAMPLES
from tests.brute.price_lists import write_lists

DRAWS = 3


def main() -> None:
    """Print a line for each draw of lists and each example."""
    with tempfile.TemporaryDirectory() as folder:
        parts = write_catalog(Path(folder) / "parts", int(sys.argv[1])) if sys.argv[1:] else shipped_catalog()
        for seed in range(DRAWS):
            catalogs = [read_catalog(parts, path) for path in write_lists(parts, Path(folder) / str(seed), seed)]
            for example in EXAMPLES:
                job = read_job(example)
                started = time.perf_counter()
                for catalog in catalogs:
                    pick(catalog, job, 1)
                picked = time.perf_counter()
                found = settle(catalogs, job)
                ratio = (time.perf_counter() - picked) / (picked - started)
                worst = f"worst extra {found.worst / 100:,.2f}" if found.bought else "none"
                print(f"{example.parent.name:20} {len(catalogs)} lists  {worst:24} {found.opened:>6,} opened  "
                      f"{found.solved:>3} models  {ratio:.1f} times the picks", flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
