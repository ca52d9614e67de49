"""What it adds to reach sums at sellers, against all ways to buy tried out one by one; and how orders stand to them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import product
from pathlib import Path
from random import Random

import numpy as np
import pulp
import pytest

from catalog.reader import read_catalog
from optimizer.costs.market import Market
from optimizer.costs.order_bounds import FreightChoice, spread
from optimizer.inputs.job_reader import read_job
from optimizer.milp import model, solver
from optimizer.milp.subproblem import Subproblem
from optimizer.search.branch_and_bound import pick
from optimizer.search.cache import SearchCache
from tests.brute.instances import write_instance
from tests.seeds import by_seeds

# Drawn instances on sellers' terms that can be met, by the brute force alone.
MET = (
    0, 3, 6, 9, 10, 11, 16, 17, 21, 26, 28, 29, 31, 35, 37, 38, 40, 42, 48, 53,
    58, 59, 61, 64, 65, 66, 70, 73, 74, 77, 78, 79, 80, 82, 87, 90, 91, 92, 95, 97,
)  # fmt: skip


def least(there: list[list[float]], spent: list[float]) -> float:
    """The bound of one column."""
    return float(spread(np.array([there]), np.array([spent]))[0])


@pytest.mark.parametrize(
    ("spent", "adds"),
    [
        (0.0, 0.0),
        (50.0, 0.0),  # what is cheapest there anyway
        (60.0, 2.0),  # a tenth of what costs 100 there and 80 elsewhere
        (150.0, 20.0),
        (160.0, 30.0),  # and ten cents on what nobody needs
    ],
)
def test_one_seller_by_hand(spent: float, adds: float) -> None:
    there, elsewhere = [100.0, 50.0, np.inf], [80.0, 60.0, 7.0]
    assert least([there, elsewhere], [spent, 0.0]) == pytest.approx(80 + 50 + 7 + adds)


def test_one_piece_counts_towards_one_sum() -> None:
    """Each sum alone is reached by the parts that are cheapest there anyway; both cost what they come to."""
    there = [[100.0, 100.0], [100.0, 100.0]]
    assert least(there, [150.0, 0.0]) == pytest.approx(200.0)
    assert least(there, [150.0, 150.0]) == pytest.approx(300.0)


def test_no_way_to_buy_costs_less() -> None:
    """Parts of two sellers in whole pieces, spare ones too: the cheapest that spends enough at each. In most cases the
    bound is as high as one can be that takes parts for divisible."""
    draw = Random("orders")
    added, highest, cases = 0, 0, 0
    for _ in range(200):
        parts = [(draw.randint(1, 3), draw.randint(5, 40), draw.randint(5, 40)) for _ in range(draw.randint(1, 2))]
        asks = (draw.randint(0, 100), draw.randint(0, 100))
        totals = []
        for pieces in product(*(product(range(n + 7), repeat=2) for n, _, _ in parts)):
            if all(sum(two) >= n for two, (n, _, _) in zip(pieces, parts, strict=True)):
                spent = [sum(two[at] * part[1 + at] for two, part in zip(pieces, parts, strict=True)) for at in (0, 1)]
                if spent[0] >= asks[0] and spent[1] >= asks[1]:
                    totals.append(sum(spent))
        if not totals:
            continue
        there = [[float(part[0] * part[1 + at]) for part in parts] for at in (0, 1)]
        floor = least(there, [float(each) for each in asks])
        assert floor <= min(totals) + 1e-9
        cases += 1
        added += floor > float(np.array(there).min(axis=0).sum()) + 1e-6
        highest += floor == pytest.approx(divisible(parts, asks))
    assert added > 100
    assert highest > 0.9 * cases


def divisible(parts: list[tuple[int, int, int]], asks: tuple[int, int]) -> float:
    """The cheapest way to buy where every part can be had in any fraction, as a linear model."""
    problem = pulp.LpProblem("divisible", pulp.LpMinimize)
    bought = [[problem.add_variable(f"x{i}_{at}", 0) for at in (0, 1)] for i in range(len(parts))]
    spent = [pulp.lpSum(x[at] * part[1 + at] for x, part in zip(bought, parts, strict=True)) for at in (0, 1)]
    problem.setObjective(spent[0] + spent[1])
    for at in (0, 1):
        problem += spent[at] >= asks[at]
    for x, (pieces, _, _) in zip(bought, parts, strict=True):
        problem += x[0] + x[1] >= pieces
    problem.solve(pulp.HiGHS(msg=False, threads=1))
    return float(pulp.value(problem.objective))


@by_seeds(MET, 20)
def test_stances_part_what_a_node_can_cost(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, seeds: range) -> None:
    """Of the nodes that a search solves: no stance costs less than its floor, and the cheapest of them costs what the
    model of all does."""
    seen: list[tuple[Subproblem, Market, list[tuple[float, FreightChoice]]]] = []
    real = SearchCache.cheapest

    def noted(
        self: SearchCache, node: Subproblem, market: Market, named: str,
        freight_choices: Iterable[tuple[float, FreightChoice]], cutoff: float, left: Callable[[], float | None],
    ) -> tuple[solver.Solution, FreightChoice] | None:  # fmt: skip
        seen.append((node, market, list(freight_choices)))
        return real(self, node, market, named, seen[-1][2], cutoff, left)

    monkeypatch.setattr(SearchCache, "cheapest", noted)
    several = 0
    for seed in seeds:
        folder, job_path = write_instance(tmp_path / str(seed), seed, landed=True)
        seen.clear()
        pick(read_catalog(folder), read_job(job_path), 1)
        for node, market, freight_choices in seen[:4]:
            every = model.build(node, market)
            expected = solver.least(every, every.cost, "highs")
            totals = []
            for floor, freight_choice in freight_choices:
                built = model.build(node, market, freight_choice)
                solution = solver.least(built, built.cost, "highs")
                if solution is not None:
                    assert floor <= solution.value + 1e-6, seed
                    totals.append(solution.value)
            assert min(totals, default=None) == (None if expected is None else expected.value), seed
            several += len(set(totals)) > 1
    assert several >= len(seeds) // 2
