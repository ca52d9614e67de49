"""Ratios measured side by side in one run: ``python -m tests.benchmarks.run [PARTS ...]``.

Each figure is the median over alternating runs of two whole processes: ``borewatt pick`` of five options, and a process
that only imports pandas and reads the same CSV files. The machine may be busy: only ratios mean anything.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from catalog.reader import read_catalog, shipped_catalog
from optimizer.inputs.job_reader import read_job
from optimizer.search.branch_and_bound import pick
from tests.benchmarks.generate import write_catalog
from tests.benchmarks.jobs import write_job

ROOT = Path(__file__).parent.parent.parent
EXAMPLES = sorted(ROOT.glob("examples/*/job.toml"))
PICK = "from optimizer.commands import main; main()"
READ = "import sys, glob, pandas\nfor f in glob.glob(sys.argv[1] + '/*.csv'): pandas.read_csv(f, comment='#')"
ROUNDS = 3


def timed(code: str, *words: str) -> tuple[float, int]:
    """Seconds and peak KiB of one process."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    start = time.perf_counter()
    process = subprocess.Popen([sys.executable, "-c", code, *words], env=environment, stdout=subprocess.DEVNULL,
                               stderr=subprocess.DEVNULL)  # fmt: skip
    _, _, usage = os.wait4(process.pid, 0)
    return time.perf_counter() - start, usage.ru_maxrss


def ratio(job: Path, folder: Path) -> tuple[float, int]:
    """Median ratio of a pick to a read of the same files, and the pick's peak KiB."""
    ratios, peak = [], 0
    for _ in range(ROUNDS):
        mine, cache = timed(PICK, "pick", str(job), "--catalog", str(folder))
        theirs, _ = timed(READ, str(folder))
        ratios.append(mine / theirs)
        peak = max(peak, cache)
    return statistics.median(ratios), peak


def main() -> None:
    """Print the table."""
    sizes = [int(word) for word in sys.argv[1:]] or [2_000, 20_000, 100_000]
    with tempfile.TemporaryDirectory() as folder:
        jobs = EXAMPLES + [write_job(Path(folder) / f"job-{seed}", seed) for seed in range(20)]
        print("bounds and small models on the shipped catalogue")
        for example in EXAMPLES:
            proof = pick(read_catalog(shipped_catalog()), read_job(example), 5).proof
            gaps = sorted(proof.bound_gaps) or [0.0]
            print(
                f"  {example.parent.name:20} {proof.combinations:>12,} combinations  {proof.opened:>6,} opened  "
                f"{proof.solved:>3} models  gap median {statistics.median(gaps):.2%}, most {gaps[-1]:.2%}"
            )
        found = [ratio(job, shipped_catalog()) for job in jobs]
        print(f"shipped: median ratio {statistics.median(r for r, _ in found):.2f} over {len(found)} jobs, "
              f"most {max(r for r, _ in found):.2f}, peak {max(m for _, m in found) / 1024:.0f} MiB")  # fmt: skip
        for parts in sizes:
            large = write_catalog(Path(folder) / str(parts), parts)
            found = [ratio(job, large) for job in EXAMPLES if "impossible" not in str(job)]
            print(f"{parts:>7,} parts: ratios {', '.join(f'{r:.2f}' for r, _ in found)}, "
                  f"peak {max(m for _, m in found) / 1024:.0f} MiB")  # fmt: skip
        helps = [timed(PICK, "--help")[0] / timed("import typer")[0] for _ in range(9)]
        print(f"--help ÷ import typer: median {statistics.median(helps):.2f}")
    print(f"this process peaked at {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB")


if __name__ == "__main__":
    main()
