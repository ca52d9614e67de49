"""Two roads to the first of equal totals: all solutions of a small subproblem gone through, and a chain of models.

Prices and freights are rounded coarsely, and what the nodes of drawn instances ask is varied, so that many solutions
cost the same.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from dataclasses import replace
from math import inf, prod
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from catalog.reader import Catalog, read_catalog
from optimizer.candidates.terms import Setting
from optimizer.costs.cheapest_lines import cheapest_lines
from optimizer.costs.market import Market, Offer
from optimizer.costs.part_costs import PartCosts
from optimizer.inputs.job_reader import read_job
from optimizer.milp import enumeration, model
from optimizer.milp.selection import Selection
from optimizer.milp.solver import in_order, least
from optimizer.milp.subproblem import PlacedLayout, Subproblem
from optimizer.milp.whole_vectors import BoundedSum, linear, vectors
from optimizer.search.branch_and_bound import Search, pick
from optimizer.search.cache import SearchCache
from optimizer.search.objectives import LeastCost
from optimizer.search.space import SearchSpace
from optimizer.vocabulary.faults import SolverError
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
        for asked in (node, *varied(node)):
            yield asked, markets[number]


def varied(node: Subproblem) -> Iterator[Subproblem]:
    """A node with less and with more asked, and with every wish."""
    yield replace(node, need_w=node.need_w / 3, least_panels=0.0, trackers=2)
    easy = replace(node, need_w=0.0, trackers=2)
    yield replace(easy, most_sellers=2)
    odd = 2.0 * max((placed.layout.series for placed in node.placed), default=0) - 3  # of two lengths in two ways
    yield replace(easy, least_panels=odd, usable_cap_w=1.0)
    yield replace(node, tanks_l=node.tanks_l / 3, equal_strings=True, trackers=3)
    yield replace(easy, least_panels=odd, equal_strings=True)
    yield replace(node, tanks_l=1.5 * node.tanks_l, most_tanks=5.0, usable_cap_w=1.1 * node.need_w)
    if node.placed:
        yield replace(easy, rack_units=sum(placed.units for placed in node.placed[-2:]))
    for asked in node.asked:
        if not asked.pieces and (any(asked.per_layout) or asked.if_fused):
            yield replace(easy, required=asked.part)
    for tank in node.tanks[-1:]:
        yield replace(easy, must_tank=(tank.part, None))
        yield replace(easy, must_tank=(tank.part, 2), tanks_l=tank.litres_each)


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


@pytest.mark.parametrize("solver", ["highs", "cbc"])
def test_an_answer_is_the_same_where_nodes_are_too_large(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, solver: str
) -> None:
    for seed in range(4):
        folder, job_path = write_instance(tmp_path / str(seed), seed, starters=True)
        catalog, job = coarse(read_catalog(folder)), read_job(job_path)
        few = pick(catalog, job, 3, solver=solver)
        with monkeypatch.context() as patch:
            patch.setattr(enumeration, "MOST_LOOKED_AT", 0)
            assert pick(catalog, job, 3, solver=solver).bundles == few.bundles, seed


@pytest.fixture(name="one")
def _one(tmp_path: Path) -> tuple[Subproblem, Market]:
    """A node of a drawn instance with several layouts and tanks."""
    return next(
        (node, market)
        for seed in range(0, 200, 2)
        for node, market in nodes_of(tmp_path / str(seed), seed)
        if len(node.placed) > 1 and len(node.tanks) > 1 and node.tanks_l and least_cents(node, market)
    )


def test_a_total_that_is_not_the_least_is_called_out(one: tuple[Subproblem, Market]) -> None:
    node, market = one
    cents = least_cents(node, market)
    assert cents is not None and enumeration.first_of(node, cents, PartCosts(market)) is not None
    assert enumeration.first_of(node, cents - 1, PartCosts(market)) is None
    with pytest.raises(SolverError, match=f"{cents + 1} was said to be least, and {cents} will do"):
        enumeration.first_of(node, cents + 1, PartCosts(market))


def test_sellers_that_add_more_than_freight_are_left_to_the_models(one: tuple[Subproblem, Market]) -> None:
    node, market = one
    cents = least_cents(node, market)
    assert cents is not None
    sellers = {name: replace(market.seller(name), min_order=1) for name in market.group}
    taxed = replace(market, catalog=replace(market.catalog, sellers=sellers))
    assert enumeration.first_of(node, cents, PartCosts(taxed)) is None


def test_strings_of_like_length_come_before_others(one: tuple[Subproblem, Market]) -> None:
    """Nine panels in two strings and nothing else to tell them apart by: 4 and 5 before 3 and 6, 2 and 7."""
    node, market = one
    layouts = [
        PlacedLayout(replace(node.placed[0].layout, series=n, parallel=1, fused=False), 1, 1) for n in range(2, 8)
    ]
    panel = next(asked for asked in node.asked if asked.per_layout)
    asked = replace(panel, per_layout=tuple(float(each.layout.series) for each in layouts))
    nine = Subproblem((asked,), tuple(layouts), 2, least_panels=9.0, most_panels=9.0)
    cents = least_cents(nine, market)
    assert cents is not None
    for found in (enumeration.first_of(nine, cents, PartCosts(market)), by_chain(nine, market, cents)):
        assert found is not None
        assert [(placed.layout.series, count) for placed, count in found.layouts] == [(4, 1), (5, 1)]


def test_tanks_that_are_there_anyway_are_not_taken_beyond_need(one: tuple[Subproblem, Market]) -> None:
    """Of covers that cost nothing the one of fewest tanks, whichever road finds it."""
    node, market = one
    parts = {tank.part: 5 for tank in node.tanks}
    job = replace(market.setting.job, on_hand=parts)
    owned = replace(market, setting=replace(market.setting, job=job), offer_cache={})
    litres = max(tank.litres_each for tank in node.tanks)
    dry = Subproblem(node.tanks, tanks_l=2 * litres)
    found, expected = enumeration.first_of(dry, 0, PartCosts(owned)), by_chain(dry, owned, 0)
    assert found == expected
    assert sum(expected.tanks.values()) == 2
    every = [replace(tank, litres_each=litres) for tank in node.tanks]
    for pieces in range(1, 6):  # of tanks of one size, whichever stands in the same place
        alike = Subproblem(tuple(every), tanks_l=pieces * litres)
        assert enumeration.first_of(alike, 0, PartCosts(owned)) == by_chain(alike, owned, 0), pieces


@by_seeds(range(200), 200)
def test_cents_of_pieces_are_those_of_the_cheapest_lines(seeds: range) -> None:
    """In every set of sellers, with packs, least quantities and stocks."""
    for seed in seeds:
        draw, sellers = random.Random(seed), ("a", "b", "c")
        offers = []
        for seller in sellers:
            stock = draw.choice([-1, -1, draw.randint(1, 12)])
            for row in range(draw.randint(0, 2)):
                pack = draw.choice([1, 1, 2, 3])
                offers.append(Offer("p", seller, draw.randint(1, 9), draw.choice([1, 1, 4]), pack, stock, row))
        offers = [offer for offer in offers if offer.stock < 0 or offer.least <= offer.stock]
        costs = PartCosts(cast(Market, SimpleNamespace(offers_of=lambda _, every=tuple(offers): every)))
        for most in (draw.randint(1, 4), draw.randint(5, 14)):
            table = costs.cents("p", np.arange(most + 1), sellers)
            for pieces, chosen in itertools.product(range(most + 1), range(8)):
                mine = [offer for offer in offers if chosen >> sellers.index(offer.seller) & 1]
                try:
                    expected: float = sum(line.cents for line in cheapest_lines(mine, pieces))
                except ValueError:
                    expected = inf
                assert table[pieces, chosen] == expected, (seed, pieces, chosen)
                assert costs.cents("p", pieces, sellers)[chosen] == expected


def test_vectors_within_bounds_are_all_there_are() -> None:
    for seed in range(60):
        draw = random.Random(seed)
        least = [draw.choice([0, 0, 1]) for _ in range(3)]
        most = [few + draw.randint(0, 3) for few in least]
        weights = [draw.randint(0, 5) for _ in least]
        steps = [np.cumsum([0.0, *(draw.choice([0, 1, 2, 3, 4, inf]) for _ in range(many))]) for many in most]
        low, high, together = draw.randint(0, 12), draw.randint(5, 25), draw.choice([inf, draw.randint(2, 7)])
        sums = [linear(weights, most, low, high), BoundedSum(steps, 0.0, draw.randint(3, 15))]
        found = vectors(least, most, together, sums, 10_000)
        expected = [
            each
            for each in itertools.product(*(range(few, many + 1) for few, many in zip(least, most, strict=True)))
            if sum(each) <= together
            and low <= sum(map(prod, zip(weights, each, strict=True))) <= high
            and sum(step[n] for step, n in zip(steps, each, strict=True)) <= sums[1].high
        ]
        assert found is not None and list(map(tuple, found.tolist())) == expected, seed
        assert vectors([0] * 3, [3] * 3, inf, [], 15) is None
