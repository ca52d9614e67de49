"""Starters, tanks and stored water against the independent brute force: totals, bounds, terms and staircases.

The instances are drawn with motors on long cables, starters, tanks and wishes for water; see tests/brute/draw_plans.py.
"""

from __future__ import annotations

import random
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from catalog.reader import read_catalog
from optimizer.answers.budget_staircase import climb
from optimizer.answers.stair_quantity import StairQuantity
from optimizer.auditor.audit import audit
from optimizer.candidates.terms import SearchTerms
from optimizer.explain.resolve import Resolver, Scenario, cents_of
from optimizer.inputs.job_reader import read_job
from optimizer.search.branch_and_bound import pick
from tests.brute.force import best_distinct, cheapest, enumerate_nodes, nodes_of
from tests.brute.instances import write_instance
from tests.brute.parts import read_parts
from tests.brute.reading import read_job as read_brute_job
from tests.seeds import by_seeds
from tests.test_afford import STEP, at, over_a_day
from tests.test_against_brute import slack

BY_SEEDS = by_seeds(range(400), 50)
FEW = by_seeds(range(100), 50)
HARD = by_seeds(range(400, 450), 25)
MOST = 3  # stairs of each quantity
LEFT_OUT = ("start-volts", "well-yield", "water-reserve", "space", "autonomy", "starting-surge", "starting-current")


@BY_SEEDS
def test_first_three_totals_equal_brute_force(tmp_path: Path, seeds: range) -> None:
    """Totals of the first three distinct bundles, their parts, and the audit of each."""
    for seed in seeds:
        folder, job_path = write_instance(tmp_path / str(seed), seed, starters=True)
        expected = best_distinct(enumerate_nodes(folder, job_path), 3)
        catalog, job = read_catalog(folder), read_job(job_path)
        found = pick(catalog, job, 3)
        totals = [Decimal(cents_of(bundle)).scaleb(-2) for bundle in found.bundles]
        assert totals == [option.total for option in expected], seed
        assert found.status == ("proven" if expected else "none"), seed
        for bundle in found.bundles:
            judged = audit(job, bundle, catalog)
            assert judged.passes and not judged.not_judged, seed


@pytest.mark.thorough
def test_the_instances_need_and_use_them(tmp_path: Path) -> None:
    """A starter or a tank is chosen often enough for the comparison to mean something."""
    used = {"starters": 0, "tanks": 0, "both": 0}
    for seed in range(150):
        folder, job_path = write_instance(tmp_path / str(seed), seed, starters=True)
        for bundle in pick(read_catalog(folder), read_job(job_path), 1).bundles:
            used["starters"] += bool(bundle.starters)
            used["tanks"] += bool(bundle.tanks)
            used["both"] += bool(bundle.starters and bundle.tanks)
    assert used["starters"] >= 10 and used["tanks"] >= 20 and used["both"] >= 1


@FEW
def test_every_bound_is_at_or_below_the_exact_total(tmp_path: Path, seeds: range) -> None:
    for seed in seeds:
        for level, above in slack(*write_instance(tmp_path / str(seed), seed, starters=True)):
            assert above >= -1e-6, (seed, level)


@FEW
def test_terms_equal_brute_force(tmp_path: Path, seeds: range) -> None:
    """With limits left out or loosened, parts barred or asked for, and few sellers."""
    for seed in seeds:
        folder, job_path = write_instance(tmp_path / str(seed), seed, starters=True)
        catalog, job = read_catalog(folder), read_job(job_path)
        for terms, brute in drawn_terms(random.Random(seed), catalog):
            best = cheapest(enumerate_nodes(folder, job_path, **brute))
            found = pick(catalog, job, 1, terms=terms).bundles
            expected = [] if best is None else [best[1].total * 100]
            assert [cents_of(bundle) for bundle in found] == expected, (seed, brute)


def drawn_terms(draw: random.Random, catalog: Any) -> list[tuple[SearchTerms, dict[str, Any]]]:
    """Terms of the product and the same of the brute force."""
    starters, tanks = (list(map(str, catalog.tables[kind].part)) for kind in ("starter", "tank"))
    found: list[tuple[SearchTerms, dict[str, Any]]] = []
    limit = draw.choice(LEFT_OUT)
    found.append((SearchTerms(without=frozenset({limit})), {"without": frozenset({limit})}))
    days = round(draw.uniform(0.1, 1.5), 2)
    found += [(SearchTerms(slack={name: days}), {"slack": {name: days}}) for name in ("water-reserve", "autonomy")]
    if starters + tanks:
        barred = frozenset(draw.sample(starters + tanks, draw.randint(1, len(starters + tanks))))
        found.append((SearchTerms(never=barred), {"never": barred}))
    for kind, parts in (("starter", starters), ("tank", tanks)):
        if parts:
            part, pieces = draw.choice(parts), draw.choice([None, 1, 2])
            found.append((SearchTerms(must={kind: (part, pieces)}), {"must": {part: pieces}}))
    found.append((SearchTerms(most_sellers=1), {"most_sellers": 1}))
    return found


@HARD
def test_every_stair_and_the_step_above_it(tmp_path: Path, seeds: range) -> None:
    """Of days, water and spare power, as far as three stairs go."""
    for seed in seeds:
        folder, job_path = write_instance(tmp_path / str(seed), seed, starters=True)
        catalog, job, parts = read_catalog(folder), read_job(job_path), read_parts(folder)
        brute = replace(read_brute_job(job_path), budget_cents=None)
        base = replace(job, need=replace(job.need, budget_cents=None))
        for quantity in STEP:
            if quantity == StairQuantity.WATER and not any(load.water_per_day_l for load in job.loads):
                continue
            resolver = Resolver(Scenario(base, catalog))
            stairs = []
            for stair, _ in climb(resolver, resolver.base, quantity):
                stairs.append(stair)
                if len(stairs) == MOST:
                    break
            for place, stair in enumerate(stairs):
                above = at(brute, quantity, stair.level + 1)
                best = None if over_a_day(above) else cheapest(nodes_of(parts, above))
                if place + 1 < len(stairs):
                    assert best is not None and best[1].total * 100 == stairs[place + 1].cents, (seed, quantity)
                elif len(stairs) < MOST:
                    assert best is None, (seed, quantity)
