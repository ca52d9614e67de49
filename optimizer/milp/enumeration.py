"""The first solution of a small subproblem at a total that is proven, by going through all that there are.

Where freight is all that sellers add, a solution is a way to wire the trackers, a cover of the tanks, and a set of
sellers; each part is then bought for itself. Where those are few, adding up what every one costs takes a hundredth of
the time of a chain of models, and gives the same solution (:func:`optimizer.milp.solver.in_order`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain, combinations_with_replacement, islice
from math import comb, prod

import numpy as np

from optimizer.costs.market import Market
from optimizer.costs.part_costs import PartCosts
from optimizer.costs.sellers_worth_asking import offers_worth_asking
from optimizer.milp.model import seller_weights
from optimizer.milp.purchase_rows import most_needed
from optimizer.milp.selection import Selection
from optimizer.milp.subproblem import Subproblem
from optimizer.milp.wiring_rows import TieWeights, most_of_tanks, scatter
from optimizer.rules.comparisons import whole_up
from optimizer.vocabulary.faults import SolverError
from optimizer.vocabulary.tolerance import just_below

# beyond these the chain of models is quicker, or memory ends: speed only
MOST_WIRINGS = 2000
MOST_COVERS = 500
MOST_SELLERS = 8
MOST_SELECTIONS = 1_000_000


def first_of(subproblem: Subproblem, cents: int, costs: PartCosts) -> Selection | None:
    """Of the solutions that cost ``cents``, which is the least, the first by the order among equal totals; None where
    they are too many to go through, or where what is bought of one part touches what another costs.

    Raises :class:`SolverError` where one costs less.
    """
    market = costs.market
    sellers = _sellers(subproblem, market)
    wirings = None if sellers is None else _wirings(subproblem)
    covers = None if wirings is None else _covers(subproblem, market)
    if sellers is None or wirings is None or covers is None:
        return None
    if len(wirings) * len(covers) << len(sellers) > MOST_SELECTIONS:
        return None
    totals = _totals(subproblem, wirings, covers, sellers, costs)
    if totals.min(initial=np.inf) < cents:
        raise SolverError(f"{cents} was said to be least, and {totals.min()} will do")
    equal = [tuple(map(int, place)) for place in np.argwhere(totals == cents)]
    if not equal:
        return None
    weights, by_seller = TieWeights.of(subproblem), seller_weights(len(sellers))

    def key(place: tuple[int, ...]) -> tuple[int, ...]:
        counts, cover = wirings[place[0]], covers[place[1]]
        power = min(_sum(weights.milliwatts, counts), subproblem.cap_milliwatts)
        return (
            -power, _sum(weights.worth, counts) + int(np.count_nonzero(counts)),
            _sum(by_seller, [place[2] >> bit & 1 for bit in range(len(sellers))]), _sum(weights.even, counts),
            _sum(weights.scatter, counts), sum(cover), _sum([scatter(tank) for tank in range(len(cover))], cover),
        )  # fmt: skip

    wiring, cover, chosen = min(equal, key=key)
    return Selection(
        subproblem,
        tuple(map(int, wirings[wiring])),
        {tank.part: count for tank, count in zip(subproblem.tanks, covers[cover], strict=True) if count},
        frozenset(name for bit, name in enumerate(sellers) if chosen >> bit & 1),
    )


def _sum(weights: Sequence[int], counts: Sequence[int] | np.ndarray) -> int:
    return sum(weight * int(count) for weight, count in zip(weights, counts, strict=True))


def _sellers(subproblem: Subproblem, market: Market) -> list[str] | None:
    """The sellers that may be bought from, by name; None where they are many or add more than freight."""
    needed = most_needed(subproblem, most_of_tanks(subproblem, (market,)))
    offers = offers_worth_asking(needed, market)
    every = {offer.seller for mine in offers.values() for offer in mine}
    asked = {offer.seller for part, mine in offers.items() if needed[part] > market.on_hand(part) for offer in mine}
    few = len(asked) <= MOST_SELLERS and all(market.seller(name).plain for name in every)
    return sorted(asked) if few else None


def _wirings(subproblem: Subproblem) -> np.ndarray | None:
    """Every way to wire the trackers that the limits allow: on how many each layout is, (ways, layouts); None where
    they are many."""
    placed, trackers = subproblem.placed, subproblem.trackers
    if not placed:
        return np.zeros((1, 0), dtype=np.int64)
    if comb(len(placed) + trackers, trackers) > MOST_WIRINGS:
        return None
    every = chain.from_iterable(combinations_with_replacement(range(len(placed)), n) for n in range(1, trackers + 1))
    counts = np.array([np.bincount(each, minlength=len(placed)) for each in every]).reshape(-1, len(placed))

    def of(figures: Iterator[float]) -> np.ndarray:
        summed: np.ndarray = counts @ np.array(list(figures))
        return summed

    layouts = [each.layout for each in placed]
    panels = of(float(layout.panels) for layout in layouts)
    fits = (panels >= max(1.0, subproblem.least_panels)) & (panels <= subproblem.most_panels)
    if subproblem.need_w > 0:
        fits &= of(layout.usable_w for layout in layouts) >= just_below(subproblem.need_w)
    if subproblem.rack_units is not None:
        fits &= of(float(each.units) for each in placed) == subproblem.rack_units
    if subproblem.equal_strings:
        lengths = {layout.series for layout in layouts}
        fits &= sum((of(float(o.series == length) for o in layouts) > 0).astype(int) for length in lengths) == 1
    if subproblem.required:
        asked = next(asked for asked in subproblem.asked if asked.part == subproblem.required)
        asking = of(float(each > 0) for each in asked.per_layout) if asked.per_layout else np.zeros(len(counts))
        asking = asking + (of(float(o.fused) for o in layouts) if asked.if_fused else 0.0)
        fits &= (asking > 0) | (asked.pieces > 0)
    return counts[fits]


def _covers(subproblem: Subproblem, market: Market) -> list[tuple[int, ...]] | None:
    """Pieces of each tank that hold what is asked and of which none can be spared: with one more nothing else comes
    before; None where they are many."""
    tanks, most = subproblem.tanks, most_of_tanks(subproblem, (market,))
    part, exact = subproblem.must_tank or ("", 0)
    if subproblem.must_tank is not None and part not in most and exact != 0:
        return []
    litres = [tank.litres_each for tank in tanks]
    least = [(1 if exact is None else exact) if tank.part == part else 0 for tank in tanks]
    most_each = [exact if tank.part == part and exact is not None else most[tank.part] for tank in tanks]
    asked_l = just_below(subproblem.tanks_l) if subproblem.tanks_l > 0 else 0.0

    def covers(chosen: tuple[int, ...], held_l: float) -> Iterator[tuple[int, ...]]:
        place = len(chosen)
        room = subproblem.most_tanks - sum(chosen) - sum(least[place:])
        if room < 0 or held_l + sum(map(prod, zip(litres[place:], most_each[place:], strict=True))) < asked_l:
            return
        if place == len(tanks):
            yield chosen
            return
        for count in range(least[place], most_each[place] + 1):
            yield from covers((*chosen, count), held_l + count * litres[place])
            if held_l + count * litres[place] >= asked_l:
                return

    found = list(islice(covers((), 0.0), MOST_COVERS + 1))
    if len(found) > MOST_COVERS:
        return None

    def spare(cover: tuple[int, ...]) -> bool:
        held_l = sum(map(prod, zip(cover, litres, strict=True)))
        return any(held_l - each >= asked_l for each, n, few in zip(litres, cover, least, strict=True) if n > few)

    return [cover for cover in found if not spare(cover)]


def _totals(
    subproblem: Subproblem, wirings: np.ndarray, covers: Sequence[tuple[int, ...]], sellers: Sequence[str],
    costs: PartCosts,
) -> np.ndarray:  # fmt: skip
    """Cents of every wiring with every cover within every set of sellers, (wirings, covers, sets)."""
    market = costs.market
    fused = (wirings @ np.array([placed.layout.fused for placed in subproblem.placed], dtype=np.int64)) > 0
    sets = np.arange(1 << len(sellers))
    settled = (
        sum((sets >> bit & 1) * float(market.seller(name).freight) for bit, name in enumerate(sellers)) + 0.0 * sets
    )
    if subproblem.most_sellers is not None:
        count = sum((sets >> bit & 1) for bit in range(len(sellers)))
        settled = np.where(count <= subproblem.most_sellers, settled, np.inf)
    by_wiring, by_cover = np.zeros((len(wirings), len(sets))), np.zeros((len(covers), len(sets)))
    place = 0
    for asked in subproblem.asked:
        on_hand = market.on_hand(asked.part)
        if asked.litres_each > 0:
            short = np.array([cover[place] for cover in covers], dtype=np.int64) + int(whole_up(asked.pieces))
            place += 1
        elif asked.per_layout or asked.if_fused:
            each = np.array(asked.per_layout or [0.0] * wirings.shape[1])
            pieces: np.ndarray = asked.pieces + wirings @ each + asked.if_fused * fused
            short = whole_up(pieces).astype(np.int64)
        else:
            short = np.array([int(whole_up(asked.pieces))])
        short = np.maximum(short - on_hand, 0)
        if not short.any():
            continue
        cents = costs.by_set(asked.part, int(short.max()), sellers)[:, short].T
        if asked.litres_each > 0:
            by_cover += cents
        elif len(cents) == 1:
            settled = settled + cents[0]
        else:
            by_wiring += cents
    return by_wiring[:, None] + by_cover[None] + settled
