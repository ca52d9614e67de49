"""What an explanation says of prices, and the terms it asks under, against an independent brute force.

The brute force (tests/brute) reads the files itself and shares no code with the product. Prices are changed in both,
each by its own means.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from functools import partial
from math import inf
from pathlib import Path
from typing import Any

import numpy as np

from catalog.part_kinds import ONE_MODEL
from optimizer.bundles.bundle import Bundle
from optimizer.candidates.terms import SearchTerms
from optimizer.explain.price_ranging import HIGHEST, LOWEST, bought, entering, general, leaving, without
from optimizer.explain.resolve import cents_of
from optimizer.search.branch_and_bound import pick
from tests.brute.money import Market
from tests.brute.parts import Parts, with_prices
from tests.seeds import by_seeds
from tests.why_helpers import Instance, instances

BY_SEEDS = by_seeds(range(335), 25)  # 205 of them have a bundle
SOME = by_seeds(range(165), 25)  # 102
FEW = by_seeds(range(100), 25)  # 69
ENORMOUS = 10**7  # cents a piece: dearer than any whole bundle


def total(bundle: Bundle | None) -> float:
    """Cents; infinite where there is no bundle."""
    return inf if bundle is None else cents_of(bundle)


# one part ---------------------------------------------------------------------------------------------------------


@BY_SEEDS
def test_prices_of_parts(tmp_path: Path, seeds: range) -> None:
    """At which price each bought part leaves, and at which another comes in: to the cent."""
    wrong: list[Any] = []
    for one in instances(tmp_path, seeds):
        instead = {}
        for purchase in bought(one.picked):
            part = purchase.part
            instead[part] = without(one.resolver, part)
            wrong += [(one.seed, "leaving", part, *each) for each in wrong_leaving(one, part, instead[part])]
        for kind in ONE_MODEL:
            other = instead.get(one.picked.models[kind])
            if other is not None:
                wrong += [(one.seed, "entering", kind, *each) for each in wrong_entering(one, kind, other)]
    assert not wrong


def wrong_leaving(one: Instance, part: str, instead: Bundle | None) -> Iterator[tuple[Any, ...]]:
    """From `turns` on every bundle with the part is dearer than the cheapest without it, a cent before that not."""
    kinds = {row.part for table in tables_of(one.parts).values() for row in table}

    def with_it(floor: int) -> float:
        parts = one.priced(part, lambda now: max(now, floor))
        return one.least(parts=parts, must={part: None}) if part in kinds else one.least_with_extra(part, parts)

    without_it = one.least(never=frozenset({part}))
    if total(instead) != without_it:
        yield "without it", without_it, "found", total(instead)
        return
    found = leaving(one.resolver, one.picked, part, instead)
    if found.turns is None:
        # nothing does without it, or what is on hand is enough
        if without_it < inf and with_it(ENORMOUS) > without_it:
            yield "at no price, but", with_it(ENORMOUS), without_it
    elif not with_it(found.turns - 1) <= without_it < with_it(found.turns):
        yield found.turns, with_it(found.turns - 1), without_it, with_it(found.turns)


def wrong_entering(one: Instance, kind: str, instead: Bundle) -> Iterator[tuple[Any, ...]]:
    """At `turns` a bundle with the part is cheaper than the pick, a cent above it none is."""
    found = entering(one.resolver, one.picked, kind, instead.models[kind], instead)

    def with_it(ceiling: int) -> float:
        parts = one.priced(found.part, lambda now: min(now, ceiling))
        return one.least(parts=parts, must={found.part: None})

    if one.least(must={found.part: None}) != cents_of(found.bundle):
        yield found.part, "now", one.least(must={found.part: None}), "found", cents_of(found.bundle)
    asked = {line.unit_cents for bill in bought(instead) if bill.part == found.part for line in bill.lines}
    offered = {offer.cents for offer in one.parts.offers if offer.part == found.part}
    if (found.now not in asked & offered) if asked else found.now is not None:
        yield found.part, "costs now", found.now, "of", asked, offered
    if found.turns is None:
        if with_it(1) < one.optimum:
            yield found.part, "at no price, but", with_it(1), one.optimum
    elif not with_it(found.turns) < one.optimum <= with_it(found.turns + 1):
        yield found.part, found.turns, with_it(found.turns), one.optimum, with_it(found.turns + 1)


def tables_of(parts: Parts) -> dict[str, list[Any]]:
    """The rows of each kind."""
    return dict(zip(ONE_MODEL, (parts.converters, parts.panels, parts.batteries, parts.racks), strict=True))


# all prices of a seller or a kind ---------------------------------------------------------------------------------


@FEW
def test_general_moves(tmp_path: Path, seeds: range) -> None:
    """How far all prices of a seller, and of a kind, may fall or rise before something is cheaper than the pick."""
    wrong: list[Any] = []
    for one in instances(tmp_path, seeds):
        for whose, rows, moves in movable(one):
            found = general(one.resolver, one.picked, whose, rows)
            for percent, then, end in ((found.fall, found.then[0], LOWEST), (found.rise, found.then[1], HIGHEST)):
                wrong += [(one.seed, whose, *each) for each in wrong_percent(one, moves, percent, then, end)]
    assert not wrong


def movable(one: Instance) -> Iterator[tuple[str, np.ndarray, Callable[[str, str], bool]]]:
    """Whose prices move, which rows of the product's catalogue those are, and which offers of the brute force's."""
    assert one.picked.order is not None
    offers = one.catalog.offers
    for name, _ in one.picked.order.freight:
        yield name, np.flatnonzero(offers.seller == name), partial(is_sold_by, name)
    for kind, table in tables_of(one.parts).items():
        mine = frozenset(row.part for row in table)
        yield kind, np.flatnonzero(np.isin(offers.part, list(mine))), partial(is_one_of, mine)


def is_sold_by(name: str, part: str, seller: str) -> bool:
    """Whether an offer is one of a seller's."""
    return seller == name


def is_one_of(parts: frozenset[str], part: str, seller: str) -> bool:
    """Whether an offer is of one of these parts."""
    return part in parts


def wrong_percent(
    one: Instance, moves: Callable[[str, str], bool], percent: int | None, then: Bundle | None, end: int
) -> Iterator[tuple[Any, ...]]:
    """At the reported percent something is cheaper than the pick there, a percent nearer to zero nothing is."""

    def at(move: int) -> tuple[float, float]:
        """The least total, and what the pick costs."""

        def change(part: str, seller: str, now: int) -> int:
            moved = Decimal(now) * (100 + move) / 100
            return max(1, int(moved.to_integral_value(ROUND_HALF_UP))) if moves(part, seller) else now

        parts = with_prices(one.parts, change)
        return one.least(parts=parts), cost_of_pick(one, parts)

    if percent is None:
        least, pick_there = at(end)
        if least < pick_there:
            yield "at no percent, but", end, least, pick_there
        return
    sign = 1 if end > 0 else -1
    least, pick_there = at(percent)
    if not 1 <= sign * percent <= abs(end) or not least < pick_there or least != total(then):
        yield percent, least, pick_there, "reported", total(then)
    least, pick_there = at(percent - sign)
    if least < pick_there:
        yield percent, "and nearer too", least, pick_there


def cost_of_pick(one: Instance, parts: Parts) -> float:
    """What the pick's pieces cost at these prices."""
    assert one.picked.order is not None
    asked = one.asked
    market = Market(
        [offer for offer in parts.offers if offer.part not in asked.exclude], parts.freight,
        {part: pieces for part, pieces in asked.on_hand.items() if part not in asked.exclude}, asked.sellers,
        terms=parts.terms, weights=parts.weights,
    )  # fmt: skip
    found = market.cost(tuple((purchase.part, purchase.needed) for purchase in one.picked.order.purchases))
    assert found is not None
    return found[0]


# terms ------------------------------------------------------------------------------------------------------------


@SOME
def test_terms(tmp_path: Path, seeds: range) -> None:
    """Equal strings, few sellers, parts that must and must not be there: the same totals."""
    wrong: list[Any] = []
    for one in instances(tmp_path, seeds):
        for terms, the_same in drawn_terms(one):
            bundles = pick(one.catalog, one.job, 1, terms=terms).bundles
            found, expected = total(bundles[0] if bundles else None), one.least(**the_same)
            if found != expected:
                wrong.append((one.seed, the_same, expected, "found", found))
    assert not wrong


def drawn_terms(one: Instance) -> Iterator[tuple[SearchTerms, dict[str, Any]]]:
    """Terms, and the same as the brute force takes them."""
    draw = random.Random(one.seed)
    yield SearchTerms(equal_strings=True), {"equal_strings": True}
    for sellers in (1, 2):
        yield SearchTerms(most_sellers=sellers), {"most_sellers": sellers}
    picked = one.picked
    assert picked.rack_units is not None
    pieces = dict(zip(ONE_MODEL, (picked.units, picked.panels, picked.batteries, picked.rack_units), strict=True))
    tables = {kind: [row.part for row in rows] for kind, rows in tables_of(one.parts).items()}
    for kind, parts in tables.items():
        part, mine, count = draw.choice(parts), picked.models[kind], pieces[kind]
        count = draw.choice([count, count + 1, max(1, count - 1), 2 * count])
        yield SearchTerms(must={kind: (part, None)}), {"must": {part: None}}
        yield SearchTerms(must={kind: (mine, count)}), {"must": {mine: count}}
        yield SearchTerms(never=frozenset({mine})), {"never": frozenset({mine})}
    for extra in one.parts.extras:
        yield SearchTerms(never=frozenset({extra.part})), {"never": frozenset({extra.part})}
    kinds = draw.sample(ONE_MODEL, 2)
    both = {kind: (draw.choice(tables[kind]), None) for kind in kinds}
    yield (
        SearchTerms(must=both, equal_strings=True, most_sellers=2),
        {"must": dict(both.values()), "equal_strings": True, "most_sellers": 2},
    )
    yield replace(SearchTerms(), without=frozenset({"stock"})), {"without": frozenset({"stock"})}
