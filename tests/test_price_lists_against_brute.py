"""The bundle whose worst extra cost over several price lists is least, against the independent brute force.

The brute force goes through every compliant bundle at every list (tests/brute/price_lists.py). The seeds: all up to an
end, and some that the brute force alone chose: those where the bundle is no list's cheapest, those where none can be
bought at all lists, and of sellers' terms those with such a bundle that it ends within a second.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from catalog.reader import Catalog, read_catalog
from optimizer.answers.minimax_regret import Settled, settle
from optimizer.auditor.audit import audit
from optimizer.inputs.job import Job
from optimizer.inputs.job_reader import read_job
from tests.brute.instances import write_instance
from tests.brute.parts import read_parts
from tests.brute.price_lists import least_worst, write_lists
from tests.brute.reading import read_job as read_brute_job
from tests.seeds import seed_groups

PLAIN, STARTERS, LANDED = (False, False), (True, False), (False, True)  # starters and tanks; sellers' terms
NO_LISTS_CHEAPEST = {
    PLAIN: (
        92, 127, 139, 162, 178, 279, 469, 507, 566, 623, 840, 924, 977, 1024, 1264, 1286, 1317, 1432, 1589, 1590,
        1602,
    ),
    STARTERS: (
        127, 203, 266, 290, 340, 390, 445, 535, 581, 604, 632, 646, 660, 708, 711, 762, 832, 872, 1086, 1108, 1131,
        1170, 1175, 1221, 1238, 1250, 1269, 1279, 1286, 1292, 1294, 1297, 1323, 1342, 1450, 1486, 1551, 1638,
    ),
    (True, True): (65, 127, 266),
}  # fmt: skip
NOT_AT_ALL_LISTS = {PLAIN: (497, 1254), STARTERS: (488, 497, 1526, 1707)}
QUICK = (
    0, 3, 6, 9, 10, 11, 16, 17, 21, 26, 28, 29, 31, 35, 37, 38, 40, 42, 48, 53, 58, 59, 61, 64, 65, 66, 70, 73, 74,
    77,
)  # fmt: skip
QUICK_WITH_STARTERS = (6, 10, 16, 19, 26, 30, 35, 36, 37, 40)
MANY = 40  # seeds of a group at the most
MOST = 6  # instances of the tests that settle each several times
Of = tuple[bool, bool]


def groups(of: Of, seeds: Sequence[int], size: int = MANY) -> list[pytest.ParameterSet]:
    return seed_groups(seeds, size, of, label=f"{' starters' * of[0]}{' landed' * of[1]}")


GROUPS = [
    *groups(PLAIN, range(120), 30), *groups(STARTERS, range(40), 20), *groups(LANDED, QUICK, 15),
    *groups((True, True), QUICK_WITH_STARTERS),
]  # fmt: skip
CHOSEN = [group for of, seeds in NO_LISTS_CHEAPEST.items() for group in groups(of, seeds)]
NOT_TO_BE_HAD = [group for of, seeds in NOT_AT_ALL_LISTS.items() for group in groups(of, seeds)]


def instance(folder: Path, of: Of, seed: int) -> tuple[Path, Path, list[Path]]:
    """Catalogue, job and price lists of a seed."""
    catalog, job = write_instance(folder, seed, starters=of[0], landed=of[1])
    return catalog, job, write_lists(catalog, folder / "lists", seed)


def sides(folder: Path, of: Of, seed: int) -> tuple[Settled, tuple[int, ...] | None, Job, list[Catalog]]:
    """What was found, and the extras of the brute force; the cheapest of each list are held to be equal."""
    catalog, job_path, paths = instance(folder, of, seed)
    expected = least_worst([read_parts(catalog, path) for path in paths], read_brute_job(job_path))
    job, catalogs = read_job(job_path), [read_catalog(catalog, path) for path in paths]
    found = settle(catalogs, job)
    assert tuple(None if each is None else each.cents for each in found.lists) == expected.cheapest, seed
    return found, expected.extras, job, catalogs


@pytest.mark.parametrize(("of", "seeds"), GROUPS)
def test_the_least_worst_extra_equals_brute_force(tmp_path: Path, of: Of, seeds: Sequence[int]) -> None:
    """The worst extra and the sum of the extras; and the bundle at every list by an audit of its own order there."""
    met = 0
    for seed in seeds:
        found, expected, job, catalogs = sides(tmp_path / str(seed), of, seed)
        if expected is None:
            assert found.bought == (), seed
            continue
        assert (found.worst, sum(found.extras)) == (max(expected), sum(expected)), seed
        for there, each, catalog in zip(found.bought, found.lists, catalogs, strict=True):
            judged = audit(job, there.bundle, catalog)
            assert judged.passes, seed
            assert not judged.not_judged, seed
            assert each is not None
            assert there.cents is not None
            assert there.bundle.order is not None
            assert there.bundle.order.cents == there.cents >= each.cents, seed
        met += 1
    assert met >= len(seeds) // 4


@pytest.mark.parametrize(("of", "seeds"), CHOSEN)
def test_a_bundle_that_is_no_lists_cheapest_is_found(tmp_path: Path, of: Of, seeds: Sequence[int]) -> None:
    for seed in seeds:
        found, expected, _, _ = sides(tmp_path / str(seed), of, seed)
        assert expected is not None
        assert min(expected) > 0
        assert (found.worst, sum(found.extras)) == (max(expected), sum(expected)), seed


@pytest.mark.parametrize(("of", "seeds"), NOT_TO_BE_HAD)
def test_where_no_bundle_can_be_bought_at_all_lists(tmp_path: Path, of: Of, seeds: Sequence[int]) -> None:
    for seed in seeds:
        found, expected, _, _ = sides(tmp_path / str(seed), of, seed)
        assert expected is None
        assert found.bought == (), seed
        assert all(each is not None for each in found.lists), seed


@pytest.mark.parametrize("of", [PLAIN, STARTERS], ids=["plain", "starters"])
@pytest.mark.thorough
def test_another_list_never_lowers_the_worst_extra(tmp_path: Path, of: Of) -> None:
    """Nor does the order of the lists change anything."""
    rose = 0
    for seed in NO_LISTS_CHEAPEST[of][:MOST]:
        catalog, job_path, paths = instance(tmp_path / str(seed), of, seed)
        job, catalogs = read_job(job_path), [read_catalog(catalog, path) for path in paths]
        worst = [settle(catalogs[: count + 1], job).worst for count in range(len(catalogs))]
        assert worst[0] == 0, seed  # of one list the cheapest
        assert worst == sorted(worst), seed
        turned = catalogs[::-1]
        random.Random(seed).shuffle(turned)
        assert settle(turned, job).worst == worst[-1], seed
        rose += worst[-1] > 0
    assert rose == MOST


@pytest.mark.thorough
def test_a_budget_bars_what_breaks_it_at_any_list(tmp_path: Path) -> None:
    """A budget a cent below the dearest total of what was found: another bundle, or none."""
    seeds, others = NO_LISTS_CHEAPEST[STARTERS][:MOST], 0
    for seed in seeds:
        catalog, job_path, paths = instance(tmp_path / str(seed), STARTERS, seed)
        job, catalogs = read_job(job_path), [read_catalog(catalog, path) for path in paths]
        free = settle(catalogs, job)
        budget = max(there.cents or 0 for there in free.bought) - 1
        asked = replace(read_brute_job(job_path), budget_cents=budget)
        expected = least_worst([read_parts(catalog, path) for path in paths], asked)
        found = settle(catalogs, replace(job, need=replace(job.need, budget_cents=budget)))
        assert bool(found.bought) == (expected.extras is not None), seed
        if expected.extras is not None:
            assert (found.worst, sum(found.extras)) == (max(expected.extras), sum(expected.extras)), seed
            assert max(there.cents or 0 for there in found.bought) <= budget, seed
            others += 1
    assert others >= len(seeds) // 4


@pytest.mark.thorough
def test_two_runs_settle_on_the_same(tmp_path: Path) -> None:
    for seed in NO_LISTS_CHEAPEST[STARTERS][:4]:
        catalog, job_path, paths = instance(tmp_path / str(seed), STARTERS, seed)
        job = read_job(job_path)
        first, second = (settle([read_catalog(catalog, path) for path in paths], job) for _ in range(2))
        assert repr(first.bought) == repr(second.bought), seed
