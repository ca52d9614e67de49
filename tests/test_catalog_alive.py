"""The shipped catalogue is alive: many of its parts, and every seller, appear among the first five of some job.

The jobs are the examples and 200 random ones (tests/benchmarks/jobs.py). Every bundle passes the auditor.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from pathlib import Path

import pytest

from catalog.reader import Catalog
from optimizer.auditor.audit import audit
from optimizer.inputs.job_reader import read_job
from optimizer.search.branch_and_bound import pick
from tests.benchmarks.jobs import write_job

EXAMPLES = Path(__file__).parent.parent / "examples"
JOBS = 200
OPTIONS = 5
LEAST_ALIVE = {"panel": 15, "converter": 12, "battery": 12, "rack": 8, "starter": 5, "tank": 3}
LEAST_ANSWERED = 0.7  # a catalogue that meets fewer of the jobs would say little about its parts


def tally_text(tally: Mapping[str, Counter[str]], every: Mapping[str, list[str]], answered: int, jobs: int) -> str:
    """How often each part and seller stands among the first five, and which never do."""
    lines = [f"{answered} of {jobs} jobs answered"]
    for kind, names in every.items():
        never = [name for name in names if not tally[kind][name]]
        lines.append(f"{kind}: {len(names) - len(never)} of {len(names)} appear")
        lines.append("  " + ", ".join(f"{name} {count}" for name, count in tally[kind].most_common()))
        lines.append("  never: " + (", ".join(never) or "none"))
    return "\n".join(lines)


@pytest.mark.thorough
def test_many_parts_and_every_seller_appear_among_the_first_five(tmp_path: Path, shipped: Catalog) -> None:
    every = {kind: [str(part) for part in shipped.tables[kind].part] for kind in LEAST_ALIVE}
    every["seller"] = sorted(shipped.sellers)
    tally: dict[str, Counter[str]] = {kind: Counter() for kind in every}
    paths = sorted(EXAMPLES.glob("*/job.toml"))
    assert paths
    paths += [write_job(tmp_path, seed) for seed in range(JOBS)]
    answered = 0
    for path in paths:
        job = read_job(path)
        found = pick(shipped, job, OPTIONS)
        assert found.status in ("proven", "none"), path.name
        answered += bool(found.bundles)
        for bundle in found.bundles:
            assert bundle.order is not None
            judged = audit(job, bundle, shipped)
            failing = [reading.limit for reading in judged.readings if not reading.holds]
            assert judged.passes and not judged.not_judged, (path.name, bundle.models, failing, judged.not_judged)
            for kind, part in bundle.models.items():
                tally[kind][part] += 1
            tally["starter"].update(str(row["part"]) for row in bundle.starters.values())
            tally["tank"].update(bundle.tanks.keys())
            tally["seller"].update({line.seller for bought in bundle.order.purchases for line in bought.lines})

    text = tally_text(tally, every, answered, len(paths))
    assert answered >= LEAST_ANSWERED * len(paths), text
    for kind, least in LEAST_ALIVE.items():
        assert len(tally[kind]) >= least, text
    assert len(tally["seller"]) == len(every["seller"]), text
