"""The search with objectives of its own: a third that the product has not, and whether any bundle exists over lists.

What bundles of the small job cost at the two lists is worked out by hand in ``test_price_lists``.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from catalog.reader import Catalog, read_catalog
from optimizer.answers import minimax_regret
from optimizer.candidates.terms import PLAIN as PLAIN_TERMS
from optimizer.candidates.terms import SearchTerms, Setting
from optimizer.inputs.job_reader import read_job
from optimizer.milp.model import Model
from optimizer.milp.purchase_rows import buy
from optimizer.milp.regret_model import RegretModel
from optimizer.milp.subproblem import Subproblem
from optimizer.milp.wiring_rows import LinearObjective, total, wiring_rows
from optimizer.search import branch_and_bound
from optimizer.search.branch_and_bound import Search, Status
from optimizer.search.objectives import LeastCost, LeastRegret
from optimizer.search.space import SearchSpace
from optimizer.search.wiring import Wiring
from tests.brute.by_hand import BATTERY, PRICES, price, write_table, write_whole
from tests.brute.by_hand import JOB as BRUTE_JOB
from tests.refresh_helpers import prices, write_jobs
from tests.test_price_lists import AUTUMN, SPRING
from tests.test_price_lists_against_brute import NO_LISTS_CHEAPEST, NOT_AT_ALL_LISTS, PLAIN, STARTERS, Of, sides


class LeastSum(LeastRegret):
    """What a bundle costs at all lists together: another bound, and another model."""

    def bound(self, totals: Sequence[np.ndarray]) -> np.ndarray:
        summed: np.ndarray = np.stack(totals).sum(axis=0)
        return summed

    def model(self, subproblem: Subproblem, wiring: Wiring) -> RegretModel:
        markets = [field.market for field in wiring.fields]
        shape = wiring_rows(subproblem, markets)
        costs = [buy(shape, market, f"list{n}_").cost for n, market in enumerate(markets)]
        summed = LinearObjective("sum", total(term for cost in costs for term in cost.items()))
        return RegretModel(Model(shape, summed, {}, {}), tuple(LinearObjective("list", cost) for cost in costs))


@pytest.fixture
def lists(tmp_path: Path) -> tuple[list[Catalog], Path]:
    """The catalogue at the prices of spring and of autumn, and the job."""
    jobs = write_jobs(tmp_path, ("camp",))
    (tmp_path / "lists").mkdir()
    paths = [prices(tmp_path / "lists", "spring.csv", SPRING), prices(tmp_path / "lists", "autumn.csv", AUTUMN)]
    return [read_catalog(tmp_path / "parts", path) for path in paths], jobs / "camp/job.toml"


def test_another_objective_is_another_small_object(lists: tuple[list[Catalog], Path]) -> None:
    """Both lists together: 7,523 + 8,243 with pn-550, 8,186 + 7,586 with pn-410, twice 7,981 with pn-300, which has
    the least regret."""
    catalogs, job = lists
    space = SearchSpace(catalogs, Setting.of(read_job(job)))
    search = Search(LeastSum(space, (0, 0)), 3)
    found = search.answer(search.run())
    assert found.status == Status.PROVEN
    assert [bundle.models["panel"] for bundle in found.bundles] == ["pn-550", "pn-410", "pn-300"]
    values = sorted(leaves[0][0].cents for leaves in search.queue.incumbents.values())
    assert values == [1_576_600, 1_577_200, 1_596_200]


class Unaware(Search):
    """A search that is not told of any bundle, so that it asks whether there is any."""

    def __init__(self, objective: LeastRegret, options: int, **more: object) -> None:
        super().__init__(objective, options)


@pytest.mark.parametrize("of", [PLAIN, STARTERS], ids=["plain", "starters"])
def test_whether_any_bundle_can_be_bought_at_every_list(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, of: Of
) -> None:
    """Asked at once, it leaves out what has no bundle at some list, and nothing of the least regret."""
    asked: list[bool | None] = []
    real = Search.exists

    def noted(self: Search) -> bool | None:
        found = real(self)
        if isinstance(self.objective, LeastRegret):
            asked.append(found)
        return found

    monkeypatch.setattr(branch_and_bound, "PATIENCE", 1)
    monkeypatch.setattr(minimax_regret, "Search", Unaware)
    monkeypatch.setattr(Search, "exists", noted)
    for seed in NO_LISTS_CHEAPEST[of][:4] + NOT_AT_ALL_LISTS[of]:
        asked.clear()
        found, expected, _, _ = sides(tmp_path / str(seed), of, seed)
        if expected is None:
            assert found.bought == () and asked in ([], [False]), seed
        else:
            assert (found.worst, sum(found.extras)) == (max(expected), sum(expected)), seed
            assert asked == [True], seed


# The battery of tests/brute/by_hand.py stands in two strings; this one is as large as both, in one, and wastes more.
LARGER = BATTERY | {"part": "bl", "capacity_ah": "200", "round_trip_pct": "79", "max_parallel": "1"}


def found_with(
    folder: Path, offers: list[dict[str, str]], terms: SearchTerms = PLAIN_TERMS, **extra: dict[str, str]
) -> list[bool]:
    """Whether a search finds any bundle with the battery, with the larger one, and with both for sale."""
    told = []
    for batteries in ([BATTERY], [LARGER], [BATTERY, LARGER]):
        there = {row["part"] for row in batteries}
        for_sale = [each for each in offers if each["part"] in there or each["part"] not in ("bt", "bl")]
        catalog = write_whole(folder, BRUTE_JOB, for_sale, **extra)
        write_table(catalog, "batteries", batteries)
        space = SearchSpace((read_catalog(catalog),), Setting.of(read_job(folder / "job.toml"), terms))
        told.append(Search(LeastCost(space, "highs")).exists() is True)
    return told


def test_a_bank_stands_for_another_only_with_what_is_bought_beside_it(tmp_path: Path) -> None:
    """It asks less of the array, but of the cables that two strings need there is one."""
    cable = {"part": "ex", "per": "bank-string", "quantity": "1", "when": "paralleled-bank"}
    offers = [*PRICES, price("bl", "500"), price("ex", "9") | {"stock": "1"}]
    assert found_with(tmp_path, offers, extra=cable) == [False, True, True]


def test_a_bank_stands_for_another_only_from_any_seller(tmp_path: Path) -> None:
    """It asks less of the array, but is sold by another seller than all else."""
    offers = [each if each["part"] != "bt" else price("bt", "200", seller="east") for each in PRICES]
    one = SearchTerms(most_sellers=1)
    assert found_with(tmp_path, [*offers, price("bl", "500")], one) == [False, True, True]
