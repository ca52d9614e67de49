"""A folder of generated jobs refreshed by one worker and by two, and a loop of picks over a sample of the same jobs.

``python -m tests.benchmarks.refresh [JOBS]``. The shipped catalogue. All are measured in one run, side by side: only
ratios mean anything. The loop starts a process for every job, as a shell would; ``--options 1`` asks of it what a
refresh asks.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path

from tests.benchmarks.jobs import write_job
from tests.benchmarks.run import PICK, timed

JOBS = 200
EVERY = 10  # of so many jobs one is in the sample of the loop


def main() -> None:
    """Print the figures."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else JOBS
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for seed in range(count):
            write_job(folder / "1" / f"{seed:03d}", seed)
        shutil.copytree(folder / "1", folder / "2")
        shutil.copytree(folder / "1", folder / "sample")
        for place, job in enumerate(sorted((folder / "sample").iterdir())):
            if place % EVERY:
                shutil.rmtree(job)
        sampled = sorted((folder / "sample").rglob("*.toml"))
        jobs_a_minute = {}
        for workers in ("1", "2"):
            seconds, peak = timed(PICK, "refresh", str(folder / workers), "--workers", workers)
            jobs_a_minute[workers] = count / seconds * 60
            print(f"{workers} workers: {jobs_a_minute[workers]:.1f} jobs a minute, largest process "
                  f"{peak / 1024:.0f} MiB", flush=True)  # fmt: skip
        print(f"2 workers ÷ 1: {jobs_a_minute['2'] / jobs_a_minute['1']:.2f}")
        resolver, _ = timed(PICK, "refresh", str(folder / "1"))
        print(f"all up to date: {resolver:.1f} s, {count / resolver * 60:.0f} jobs a minute", flush=True)
        mine = {}
        for workers in ("1", "2"):
            shutil.copytree(folder / "sample", folder / f"sample-{workers}")
            mine[workers] = timed(PICK, "refresh", str(folder / f"sample-{workers}"), "--workers", workers)[0]
        for asked in ((), ("--options", "1")):
            loop = sum(timed(PICK, "pick", str(job), *asked)[0] for job in sampled)
            print(f"a loop of pick {' '.join(asked)} over {len(sampled)} of them ÷ refresh of those: "
                  f"{loop / mine['1']:.2f} (1 worker), {loop / mine['2']:.2f} (2 workers)", flush=True)  # fmt: skip
        unequal = [path for path in sorted((folder / "1").rglob("*.json"))
                   if path.read_bytes() != (folder / "2" / path.relative_to(folder / "1")).read_bytes()]  # fmt: skip
        print(f"answers that differ between 1 and 2 workers: {len(unequal)}")


if __name__ == "__main__":
    main()
