"""The first solution of a small subproblem at a total that is proven, by going through all that there are.

Where freight is all that sellers add, a solution is a way to wire the trackers, a cover of the tanks, and a set of
sellers; each part is then bought for itself. Where those are few, adding up what every one costs takes a hundredth of
the time of a chain of models, and gives the same solution (:func:`optimizer.milp.solver.in_order`).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from math import floor, inf, isfinite

import numpy as np

from optimizer.costs.market import Market
from optimizer.costs.part_costs import PartCosts
from optimizer.costs.sellers_worth_asking import offers_worth_asking
from optimizer.milp.model import seller_weights
from optimizer.milp.purchase_rows import most_needed
from optimizer.milp.selection import Selection
from optimizer.milp.subproblem import PartNeed, Subproblem
from optimizer.milp.whole_vectors import BoundedSum, linear, vectors
from optimizer.milp.wiring_rows import TieWeights, most_of_tanks, scatter
from optimizer.rules.comparisons import whole_up
from optimizer.vocabulary.faults import SolverError
from optimizer.vocabulary.tolerance import just_below

HAIR = 1e-12  # of a price a litre: what rounding may move it by
MOST_LOOKED_AT = 40_000  # wirings or covers: beyond these the chain of models is quicker
MOST_SELLERS = 8  # and sets of more are many: speed only, both
MOST_SELECTIONS = 2_000_000  # wirings with covers within sets of sellers: beyond these memory is wasted


def first_of(subproblem: Subproblem, cents: int, costs: PartCosts) -> Selection | None:
    """Of the solutions that cost ``cents``, which is the least, the first by the order among equal totals; None where
    they are too many to go through, where what is bought of one part touches what another costs, or where some wirings
    are known to fail.

    Raises :class:`SolverError` where one costs less.
    """
    if subproblem.failing:
        return None
    sellers = _sellers(subproblem, costs.market)
    node = None if sellers is None else _Node(subproblem, cents, sellers, costs)
    covers = None if node is None else node.covers()
    if node is None or covers is None:
        return None
    by_cover = node.by_cover(covers)
    wirings = node.wirings(by_cover.min(axis=0, initial=np.inf))
    if wirings is None or len(wirings) * by_cover.size > MOST_SELECTIONS:
        return None
    totals = node.by_wiring(wirings)[:, None] + by_cover + node.settled
    if totals.min(initial=np.inf) < cents:
        raise SolverError(f"{cents} was said to be least, and {totals.min():.0f} will do")
    equal = [tuple(map(int, place)) for place in np.argwhere(totals == cents)]
    weights, by_seller = TieWeights.of(subproblem), seller_weights(len(node.sellers))

    def key(place: tuple[int, ...]) -> tuple[int, ...]:
        counts, cover, chosen = wirings[place[0]].tolist(), covers[place[1]].tolist(), node.has[place[2]].tolist()
        power = min(_sum(weights.milliwatts, counts), subproblem.cap_milliwatts)
        kinds = sum(count > 0 for count in counts)
        return (
            -power, _sum(weights.worth, counts) + kinds, _sum(by_seller, chosen), _sum(weights.even, counts),
            _sum(weights.scatter, counts), sum(cover), _sum([scatter(tank) for tank in range(len(cover))], cover),
        )  # fmt: skip

    if not equal:
        return None
    wiring, cover, chosen = min(equal, key=key)
    return Selection(
        subproblem,
        tuple(wirings[wiring].tolist()),
        {tank.part: count for tank, count in zip(subproblem.tanks, covers[cover].tolist(), strict=True) if count},
        frozenset(name for name, has in zip(node.sellers, node.has[chosen], strict=True) if has),
    )


def _sum(weights: Sequence[int], counts: Sequence[int]) -> int:
    return sum(weight * count for weight, count in zip(weights, counts, strict=True) if count)


def _sellers(subproblem: Subproblem, market: Market) -> tuple[str, ...] | None:
    """The sellers that may be bought from, by name; None where they are many or add more than freight."""
    needed = most_needed(subproblem, most_of_tanks(subproblem, (market,)))
    offers = offers_worth_asking(needed, market)
    every = {offer.seller for mine in offers.values() for offer in mine}
    asked = {offer.seller for part, mine in offers.items() if needed[part] > market.on_hand(part) for offer in mine}
    few = len(asked) <= MOST_SELLERS and all(market.seller(name).plain for name in every)
    return tuple(sorted(asked)) if few else None


class _Node:
    """A subproblem, and what its parts cost within each set of its sellers. ``has``: whether a set has each seller,
    (sets, sellers); ``settled``: cents of freight and of what every solution needs, (sets,)."""

    def __init__(self, subproblem: Subproblem, cents: int, sellers: tuple[str, ...], costs: PartCosts) -> None:
        self.subproblem, self.cents, self.sellers, self.costs, self.market = (
            subproblem, cents, sellers, costs, costs.market
        )  # fmt: skip
        self.has = np.arange(1 << len(sellers))[:, None] >> np.arange(len(sellers)) & 1
        self.settled = self.has @ np.array([float(self.market.seller(name).freight) for name in sellers])
        if subproblem.most_sellers is not None:
            self.settled[self.has.sum(axis=1) > subproblem.most_sellers] = np.inf
        every = [asked for asked in subproblem.asked if not asked.litres_each]
        self.wired = [asked for asked in every if asked.if_fused or any(asked.per_layout)]  # needs go by the wiring
        settled = [asked for asked in every if not (asked.if_fused or any(asked.per_layout))]
        pieces = whole_up(np.array([asked.pieces for asked in settled])).astype(int).tolist()
        for asked, needed in zip(settled, pieces, strict=True):
            if needed > self.market.on_hand(asked.part):
                self.settled += costs.cents(asked.part, needed - self.market.on_hand(asked.part), self.sellers)
        self.panels = np.array([placed.layout.panels for placed in subproblem.placed], dtype=float)

    def _cents(self, asked: PartNeed, pieces: np.ndarray) -> np.ndarray:
        """Cents of numbers of pieces within each set of sellers, (pieces, sets)."""
        short = np.maximum(whole_up(pieces).astype(np.int64) - self.market.on_hand(asked.part), 0)
        return self.costs.cents(asked.part, short, self.sellers)

    def covers(self) -> np.ndarray | None:
        """Pieces of each tank that together hold what is asked and cost no more than is left, and of which none can be
        spared: one more never makes a solution come before another. (covers, tanks); None where they are many."""
        node, tanks = self.subproblem, self.subproblem.tanks
        ceilings = most_of_tanks(node, (self.market,))
        part, exact = node.must_tank or ("", 0)
        if node.must_tank is not None and part not in ceilings and exact != 0:
            return np.zeros((0, len(tanks)), dtype=np.int64)
        must = [tank.part == part for tank in tanks]
        least = [(1 if exact is None else exact) if this else 0 for this in must]
        most = [
            exact if this and exact is not None else ceilings[tank.part] for tank, this in zip(tanks, must, strict=True)
        ]
        litres = np.array([tank.litres_each for tank in tanks])
        asked_l = just_below(node.tanks_l) if node.tanks_l > 0 else 0.0
        most_l = asked_l + litres.max(initial=0.0) + float(np.dot(least, litres)) if len(tanks) else np.inf
        sums = [linear(list(litres), most, asked_l, most_l), self._dear_litres(asked_l, most)]
        found = vectors(least, most, node.most_tanks, sums, MOST_LOOKED_AT)
        if found is None:
            return None
        spare = ((found @ litres)[:, None] - litres >= asked_l) & (found > np.array(least, dtype=np.int64))
        kept: np.ndarray = found[~spare.any(axis=1)]
        return kept

    def _dear_litres(self, asked_l: float, most: Sequence[int]) -> BoundedSum:
        """What tanks cost beyond so much a litre as the cheapest does: no more than what is left for tanks beyond that
        for all the litres that are asked."""
        litres = [tank.litres_each * np.arange(few + 1) for tank, few in zip(self.subproblem.tanks, most, strict=True)]
        goods = [
            self._cents(tank, np.arange(few + 1.0)).min(axis=1)
            for tank, few in zip(self.subproblem.tanks, most, strict=True)
        ]
        a_litre = min((float((c[1:] / each[1:]).min()) for c, each in zip(goods, litres, strict=True)), default=0.0)
        a_litre = max(a_litre * (1 - HAIR), 0.0) if isfinite(a_litre) else 0.0
        beyond = [cents - a_litre * each for cents, each in zip(goods, litres, strict=True)]
        left = self.cents - self._least.min(initial=np.inf)
        return BoundedSum(beyond, 0.0, left - a_litre * asked_l)

    def by_cover(self, covers: np.ndarray) -> np.ndarray:
        """Cents of covers within each set of sellers, (covers, sets)."""
        every = (self._cents(tank, covers[:, place]) for place, tank in enumerate(self.subproblem.tanks))
        return sum(every, np.zeros((len(covers), len(self.has))))

    def wirings(self, more: np.ndarray) -> np.ndarray | None:
        """On how many trackers each layout may be by the limits and by what it costs, ``more``, (sets,), for tanks
        among it; (wirings, layouts); None where they are many."""
        node, placed = self.subproblem, self.subproblem.placed
        if not placed:
            return np.zeros((1, 0), dtype=np.int64)
        panels = self._numbers[(self._least + more).min(axis=1) <= self.cents]
        if not len(panels):
            return np.zeros((0, len(placed)), dtype=np.int64)
        layouts, most = [each.layout for each in placed], [node.trackers] * len(placed)
        sums = [linear(list(self.panels), most, float(panels[0]), float(panels[-1]))]
        if node.need_w > 0:
            sums.append(linear([layout.usable_w for layout in layouts], most, just_below(node.need_w)))
        if node.rack_units is not None:
            sums.append(linear([each.units for each in placed], most, node.rack_units, node.rack_units))
        found = vectors([0] * len(placed), most, node.trackers, sums, MOST_LOOKED_AT)
        if found is None:
            return None
        fits = np.ones(len(found), dtype=bool)
        if node.equal_strings:
            series = np.array([layout.series for layout in layouts])
            fits &= sum(found[:, series == length].any(axis=1).astype(int) for length in np.unique(series)) == 1
        if node.required:
            fits &= self._asks_required(found)
        return found[fits]

    @cached_property
    def _numbers(self) -> np.ndarray:
        """The numbers of panels that the limits allow and that may give the power, ascending; 0 where none go."""
        node = self.subproblem
        if not node.placed:
            return np.zeros(1)
        most_panels = min(node.most_panels, node.trackers * self.panels.max())
        a_panel_w = max(placed.layout.usable_w / placed.layout.panels for placed in node.placed)
        by_power = whole_up(node.need_w / a_panel_w) if a_panel_w else inf
        numbers: np.ndarray = np.arange(1, floor(most_panels) + 1)
        return numbers[numbers >= max(node.least_panels, by_power if node.need_w > 0 else 0.0)]

    @cached_property
    def _least(self) -> np.ndarray:
        """Cents at the least of all but tanks with each number of panels within each set of sellers, (numbers, sets):
        of what goes by the wiring as much as the thriftiest layout asks a panel."""
        least: np.ndarray = self.settled + np.zeros((len(self._numbers), 1))
        for asked in self.wired:
            if asked.per_layout:
                each = float((np.array(asked.per_layout) / self.panels).min())
                least += self._cents(asked, asked.pieces + each * self._numbers)
        return least

    def _asks_required(self, wirings: np.ndarray) -> np.ndarray:
        """Which wirings ask for the required extra."""
        node = self.subproblem
        asked = next(asked for asked in node.asked if asked.part == node.required)
        asking = wirings @ (np.array(asked.per_layout) > 0) if asked.per_layout else np.zeros(len(wirings))
        if asked.if_fused:
            asking = asking + self._fused(wirings)
        fits: np.ndarray = (asking > 0) | (asked.pieces > 0)
        return fits

    def _fused(self, wirings: np.ndarray) -> np.ndarray:
        """Whether any string has fuses."""
        fused: np.ndarray = wirings @ np.array([each.layout.fused for each in self.subproblem.placed], dtype=int) > 0
        return fused

    def by_wiring(self, wirings: np.ndarray) -> np.ndarray:
        """Cents of what wirings need within each set of sellers, (wirings, sets)."""
        cents, fused = np.zeros((len(wirings), len(self.has))), self._fused(wirings)
        for asked in self.wired:
            each = np.array(asked.per_layout or [0.0] * wirings.shape[1])
            cents += self._cents(asked, asked.pieces + wirings @ each + asked.if_fused * fused)
        return cents
