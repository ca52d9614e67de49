"""Two roads to the first of equal totals: all solutions of a small subproblem gone through, and a chain of models.

Prices and freights are rounded coarsely, and what the nodes of drawn instances ask is varied, so that many solutions
cost the same.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from catalog.reader import Catalog, read_catalog
from optimizer.candidates.terms import Setting
from optimizer.costs.market import Market
from optimizer.costs.part_costs import PartCosts
from optimizer.inputs.job_reader import read_job
from optimizer.milp import enumeration, model
from optimizer.milp.selection import Selection
from optimizer.milp.solver import in_order, least
from optimizer.milp.subproblem import Subproblem
from optimizer.search.branch_and_bound import Search
from optimizer.search.cache import SearchCache
from optimizer.search.objectives import LeastCost
from optimizer.search.space import SearchSpace
from tests.brute.instances import write_instance
from tests.seeds import by_seeds

COARSE = 20_000  # cents that prices are rounded to
SEEDS = range(120)


def coarse(catalog: Catalog) -> Catalog:
    """The catalogue with prices and freights rounded up to few figures."""
    offers = replace(catalog.offers, cents=-(-catalog.offers.cents // COARSE) * COARSE)
    sellers = {name: replace(each, freight=each.freight // COARSE * COARSE) for name, each in catalog.sellers.items()}
    return replace(catalog, offers=offers, sellers=sellers)


def nodes_of(folder: Path, seed: int) -> Iterator[tuple[Subproblem, Market]]:
    """The nodes that a search solves in a drawn instance, and each with less and with more asked."""
    catalog_dir, job_path = write_instance(folder, seed, starters=seed % 2 == 0)
    catalog, setting, cache = coarse(read_catalog(catalog_dir)), Setting.of(read_job(job_path)), SearchCache()
    Search(LeastCost(SearchSpace((catalog,), setting, cache)), 2).run()
    markets = {id(market): market for market in cache.markets.values()}
    for node, _, number in list(cache.solved)[:3]:
        yield node, markets[number]
        yield replace(node, need_w=node.need_w / 3, least_panels=0.0, trackers=2), markets[number]
        yield replace(node, need_w=0.0, trackers=2, most_sellers=2), markets[number]
        odd = 2.0 * max((placed.layout.series for placed in node.placed), default=0) - 3  # of two lengths in two ways
        yield replace(node, need_w=0.0, least_panels=odd, trackers=2, usable_cap_w=1.0), markets[number]
        yield replace(node, tanks_l=node.tanks_l / 3, equal_strings=True, trackers=3), markets[number]
        yield replace(node, tanks_l=1.5 * node.tanks_l, most_tanks=5.0, usable_cap_w=1.1 * node.need_w), markets[number]


def by_chain(node: Subproblem, market: Market, cents: int, solver: str = "highs") -> Selection:
    """The first at a total by the chain of models."""
    built = model.build(node, market)
    return built.selection(in_order(built, cents, built.ties, solver).values)


def least_cents(node: Subproblem, market: Market) -> int | None:
    built = model.build(node, market)
    found = least(built, built.cost, "highs")
    return None if found is None else found.value


@by_seeds(SEEDS, 20)
def test_both_roads_lead_to_the_same_solution(tmp_path: Path, seeds: range) -> None:
    compared = 0
    for seed in seeds:
        for number, (node, market) in enumerate(nodes_of(tmp_path / str(seed), seed)):
            cents = least_cents(node, market)
            if cents is None:
                continue
            found, expected = enumeration.first_of(node, cents, PartCosts(market)), by_chain(node, market, cents)
            assert found == expected, (seed, number)
            assert found is not None and found.order(market) == expected.order(market), (seed, number)
            assert found.order(market).cents == cents, (seed, number)
            compared += 1
    assert compared > len(seeds)
