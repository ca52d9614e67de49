"""How soon the array fills an empty bank: against the brute force, and worked by hand."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from catalog.reader import read_catalog
from optimizer.auditor.audit import audit
from optimizer.inputs.job_reader import read_job
from optimizer.rules.energy import power_to_refill, refill_days
from optimizer.search.branch_and_bound import pick
from tests.brute.force import best_distinct, nodes_of
from tests.brute.instances import write_instance
from tests.brute.parts import read_parts
from tests.brute.reading import read_job as read_brute_job
from tests.seeds import by_seeds

DAYS = (1.5, 4.0)  # hard and easy: both bind in some instances


@by_seeds(range(200), 25)
def test_totals_equal_brute_force(tmp_path: Path, seeds: range) -> None:
    for seed in seeds:
        folder, job_path = write_instance(tmp_path / str(seed), seed)
        catalog, job, parts = read_catalog(folder), read_job(job_path), read_parts(folder)
        for days in DAYS:
            wanted = replace(job, need=replace(job.need, recover_days=days))
            expected = best_distinct(nodes_of(parts, replace(read_brute_job(job_path), recover_days=days)), 2)
            found = pick(catalog, wanted, 2)
            totals = [Decimal(bundle.order.cents).scaleb(-2) for bundle in found.bundles if bundle.order]
            assert totals == [option.total for option in expected], (seed, days)
            for bundle in found.bundles:
                judged = audit(wanted, bundle, catalog)
                assert judged.passes, seed
                assert max(judged.refill_days) <= days * (1 + 1e-9)


@pytest.mark.thorough
def test_it_binds_and_it_bars(tmp_path: Path) -> None:
    """Some totals rise by the wish, and some jobs can no longer be met: else the test above would show nothing."""
    dearer = barred = 0
    for seed in range(60):
        folder, job_path = write_instance(tmp_path / str(seed), seed)
        catalog, job = read_catalog(folder), read_job(job_path)
        free = pick(catalog, job, 1).bundles
        if not free:
            continue
        bound = pick(catalog, replace(job, need=replace(job.need, recover_days=DAYS[0])), 1).bundles
        barred += not bound
        dearer += bool(bound and bound[0].order and free[0].order and bound[0].order.cents > free[0].order.cents)
    assert dearer >= 3
    assert barred >= 3


def test_by_hand() -> None:
    """8,000 Wh at 0.8 round trip are 10,000 Wh to put in; 3,000 W x 4 h less 7,000 Wh a day leave 5,000 Wh."""
    assert refill_days(8000.0, 0.8, 3000.0, 4.0, 7000.0) == 2.0
    assert power_to_refill(8000.0, 0.8, 2.0, 4.0, 7000.0) == 3000.0


def test_an_array_that_makes_no_more_than_the_day_asks_never_fills_it() -> None:
    assert refill_days(8000.0, 0.8, 1750.0, 4.0, 7000.0) == float("inf")
