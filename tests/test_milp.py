"""A second road to the same optimum: scipy's ``milp`` on a matrix of its own, written from the data of each node.

Nothing of ``optimizer.milp.model`` but its data is used: layouts, needs, offers, stock, packs and freight are put into
rows here, in pieces and with other bounds, and the least cost is compared with the product's to the cent. The random
nodes also have twenty pieces more asked of them, one part at a time, so that packs, least quantities and stocks bite.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp  # type: ignore[import-untyped]  # it brings no types

from catalog.reader import read_catalog, shipped_catalog
from optimizer.candidates.terms import Setting
from optimizer.costs.market import Market
from optimizer.inputs.job_reader import read_job
from optimizer.milp import model, solver
from optimizer.milp.subproblem import Subproblem
from optimizer.search.branch_and_bound import Search
from optimizer.search.cache import SearchCache
from optimizer.search.objectives import LeastCost
from optimizer.search.space import SearchSpace
from tests.brute.instances import write_instance
from tests.seeds import by_seeds

ROOT = Path(__file__).parent.parent
SEEDS = range(60)
WHOLE = 1e-5  # how far a solution may be from whole numbers
ALLOWED = 1e-9  # the relative allowance of every comparison
SCALE = 1e4  # of the power row: the solver's own allowance of 1e-6 is then 1e-10 of the need
OPTIMAL, INFEASIBLE = 0, 2  # what scipy's status means
MORE = 20  # pieces


@dataclass
class Rows:
    """An integer program put together variable by variable and row by row."""

    cost: list[float] = field(default_factory=list)
    most: list[float] = field(default_factory=list)
    rows: list[tuple[Mapping[int, float], float, float]] = field(default_factory=list)

    def variable(self, cost: float, most: float) -> int:
        """A whole number from 0 to ``most``."""
        self.cost.append(cost)
        self.most.append(most)
        return len(self.cost) - 1

    def row(self, terms: Mapping[int, float], least: float = -np.inf, most: float = np.inf) -> None:
        self.rows.append((terms, least, most))

    def least(self) -> int | None:
        """The least cost; None where nothing meets the rows."""
        matrix = np.zeros((len(self.rows), len(self.cost)))
        for number, (terms, _, _) in enumerate(self.rows):
            for variable, value in terms.items():
                matrix[number, variable] = value
        found = milp(
            self.cost,
            constraints=LinearConstraint(matrix, [low for _, low, _ in self.rows], [high for _, _, high in self.rows]),
            integrality=np.ones(len(self.cost)),
            bounds=Bounds(0, self.most),
            options={"mip_rel_gap": 0.0},
        )
        if found.status == INFEASIBLE:
            return None
        assert found.status == OPTIMAL, found.message
        assert np.abs(found.x - np.rint(found.x)).max() < WHOLE
        return round(float(np.dot(self.cost, np.rint(found.x))))


def least_cost(node: Subproblem, market: Market) -> int | None:
    """The least cents of a node, by a program of its own."""
    program = Rows()
    wired = [program.variable(0, node.trackers) for _ in node.placed]
    program.row(dict.fromkeys(wired, 1.0), most=node.trackers)
    panels = {
        variable: placed.layout.series * placed.layout.parallel
        for variable, placed in zip(wired, node.placed, strict=True)
    }
    program.row(panels, max(1.0, node.least_panels), node.most_panels)
    power = {
        variable: placed.layout.usable_w / node.need_w * SCALE if node.need_w else 0.0
        for variable, placed in zip(wired, node.placed, strict=True)
    }
    if node.need_w:
        program.row(power, least=SCALE * (1 - ALLOWED))
    any_fused = program.variable(0, 1)
    for variable, placed in zip(wired, node.placed, strict=True):
        if placed.layout.fused:
            program.row({any_fused: node.trackers, variable: -1}, least=0)

    tanks: dict[str, int] = {}
    for asked in node.tanks:
        tanks[asked.part] = program.variable(0, math.ceil(node.tanks_l / asked.litres_each) + 1)
    if node.tanks_l:
        litres = {tanks[asked.part]: asked.litres_each / node.tanks_l * SCALE for asked in node.tanks}
        program.row(litres, least=SCALE * (1 - ALLOWED))
    if tanks:
        program.row(dict.fromkeys(tanks.values(), 1.0), most=node.most_tanks)

    seller_used: dict[str, int] = {}
    for asked in node.asked:
        at_most = asked.pieces + asked.if_fused + node.trackers * sum(asked.per_layout)
        at_most += program.most[tanks[asked.part]] if asked.part in tanks else 0
        whole_need = program.variable(0, math.ceil(at_most))  # pieces needed, as a variable of its own
        terms = {whole_need: 1.0, any_fused: -asked.if_fused}
        for variable, each in zip(wired, asked.per_layout, strict=False):
            terms[variable] = -each
        if asked.part in tanks:
            terms[tanks[asked.part]] = -1
        program.row(terms, least=asked.pieces - ALLOWED * abs(asked.pieces))
        cover = {whole_need: -1.0}
        by_seller: dict[str, dict[int, float]] = {}
        for offer in market.offers_of(asked.part):
            most_packs = math.ceil((at_most + offer.min_qty) / offer.pack) + 1
            packs = program.variable(offer.cents * offer.pack, most_packs)
            taken = program.variable(0, 1)
            if offer.seller not in seller_used:
                seller_used[offer.seller] = program.variable(market.seller(offer.seller).freight, 1)
            program.row({packs: 1, taken: -most_packs}, most=0)
            program.row({packs: offer.pack, taken: -offer.min_qty}, least=0)
            program.row({seller_used[offer.seller]: 1, taken: -1}, least=0)
            cover[packs] = offer.pack
            if offer.stock >= 0:
                by_seller.setdefault(f"{offer.seller} {offer.stock}", {})[packs] = offer.pack
        for shelf, bought in by_seller.items():
            program.row(bought, most=int(shelf.rpartition(" ")[2]))
        program.row(cover, least=-market.on_hand(asked.part))
    return program.least()


def nodes_of(folder: Path, job: Path, options: int = 3) -> tuple[list[Subproblem], Market]:
    """The nodes that a search solves, and the market they buy on."""
    catalog, setting, cache = read_catalog(folder), Setting.of(read_job(job)), SearchCache()
    Search(LeastCost(SearchSpace((catalog,), setting, cache)), options).run()
    return list(dict.fromkeys(node for node, _, _ in cache.solved)), cache.market(catalog, setting)


def product_cost(node: Subproblem, market: Market) -> int | None:
    built = model.build(node, market)
    solution = solver.least(built, built.cost, "highs")
    return None if solution is None else solution.value


def larger(node: Subproblem) -> list[Subproblem]:
    """The node with more pieces asked of one part, for each part in turn."""
    return [
        replace(node, asked=(*node.asked[:i], replace(asked, pieces=asked.pieces + MORE), *node.asked[i + 1 :]))
        for i, asked in enumerate(node.asked)
    ]


@by_seeds(SEEDS, 15)
def test_nodes_of_random_instances(tmp_path: Path, seeds: range) -> None:
    compared = 0
    for seed in seeds:
        nodes, market = nodes_of(*write_instance(tmp_path / str(seed), seed))
        for number, node in enumerate(nodes):
            assert product_cost(node, market) == least_cost(node, market), (seed, number)
            compared += 1
        for part, node in enumerate(larger(nodes[0]) if nodes else ()):
            assert product_cost(node, market) == least_cost(node, market), (seed, part)
    assert compared >= len(seeds)


@pytest.mark.parametrize("example", ["hillside-nursery", "mountain-camp", "stock-water-bore"])
def test_nodes_of_the_examples(example: str) -> None:
    nodes, market = nodes_of(shipped_catalog(), ROOT / "examples" / example / "job.toml", 2)
    assert nodes
    for number, node in enumerate(nodes):
        assert product_cost(node, market) == least_cost(node, market), number


def test_the_nodes_have_what_is_hard(tmp_path: Path) -> None:
    """Packs, least quantities, stocks, several sellers, parts on hand, fused strings and several trackers."""
    hard = {"pack", "least quantity", "stock", "sellers", "fused", "on hand", "fused extra", "several layouts"}
    seen: set[str] = set()
    for seed in SEEDS:
        if seen == hard:
            break
        nodes, market = nodes_of(*write_instance(tmp_path / str(seed), seed))
        for node in nodes:
            offers = [offer for asked in node.asked for offer in market.offers_of(asked.part)]
            seen |= {"pack" for offer in offers if offer.pack > 1}
            seen |= {"least quantity" for offer in offers if offer.min_qty > 1}
            seen |= {"stock" for offer in offers if offer.stock >= 0}
            seen |= {"sellers" for offer in offers if offer.seller != offers[0].seller}
            seen |= {"fused" for placed in node.placed if placed.layout.fused}
            seen |= {"on hand" for asked in node.asked if market.on_hand(asked.part)}
            seen |= {"fused extra" for asked in node.asked if asked.if_fused}
            seen |= {"several layouts"} if len(node.placed) > 1 and node.trackers > 1 else set()
    assert seen == hard
