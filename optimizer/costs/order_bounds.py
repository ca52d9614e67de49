"""What one list of parts costs at the least, whatever the sellers: the bound of :mod:`optimizer.costs.market` with
every seller apart, and with the two ways in which an order can stand to a seller whose freight is free from a sum up.

Either the order pays the freight, by weight too; or it is free, and then the goods reach the sum. So do the goods of a
seller with a least order. A piece counts towards one seller's sum only: where the parts that are cheapest at a seller
do not come to its sum, others are bought there that are dearer than elsewhere, or spare ones. What that adds at the
least is the Lagrangian bound of the rows "what is spent at the seller is at least its sum": for any share from 0 to 1
of each seller, all that is spent there costs (1 - share) of itself, every part comes from where it is cheapest so, and
that share of each sum is added. (Freight and tax in a price make the cents spent no fewer than the goods with tax.)
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from heapq import heappop, heappush
from itertools import accumulate, pairwise
from math import prod

import numpy as np

from catalog.offers import Seller
from optimizer.costs.market import Market
from optimizer.costs.seller_bounds import GRAIN, HAIR, allowance, least_fee, rounded_down
from optimizer.costs.tank_bounds import TankBound
from optimizer.rules import landed_cost

MOST_SELLERS_APART = 9  # sellers beyond these share one freight: speed only
MOST_TOLD = 4  # sellers of whom an order may be worth making up that are told apart: speed only
CHUNK = 64  # columns looked at together: speed only


@dataclass(frozen=True)
class FreightOption:
    """One way in which an order stands to a seller: cents asked once at the least, what is spent on its goods with
    their tax at the least, and whether its freight is free; None where it never is, or where that is not told."""

    fee: float
    spent: float = 0.0
    free: bool | None = None


FreightChoice = tuple[
    tuple[str, FreightOption | None], ...
]  # how an order stands to some sellers; None: nothing is bought there


def ways(seller: Seller, apart: bool) -> tuple[FreightOption, ...]:
    """The ways in which an order can stand to a seller; ``apart``: with paid and free freight told apart."""
    taxed = 1 + landed_cost.tax_share(seller)

    def spent(goods: int) -> float:
        return rounded_down(taxed * goods * (1 - Fraction(1, GRAIN)))  # as much as prices are rounded down

    if not (apart and seller.ever_free and seller.free_over is not None):
        return (FreightOption(least_fee(seller), spent(seller.min_order)),)
    paid = FreightOption(rounded_down(taxed * seller.freight), spent(seller.min_order), False)
    return paid, FreightOption(0.0, spent(max(seller.free_over, seller.min_order)), True)


def purchase_floor(
    needs: Sequence[tuple[str, float]], market: Market, tanks: TankBound | None = None, beside: float = 0.0
) -> float:
    """Cents at the least of buying ``needs`` (part, pieces) and the tanks, and of ``beside``: cents at the least of
    other parts, whose sellers are not told.

    Each part from the cheapest seller of a set, the fees of the set, what its sellers' sums ask, the least over all
    sets, less the allowance for rounding.
    """
    return next((floor for floor, _ in OrderBound.of(needs, market, tanks, beside).freight_choices()), np.inf)


@dataclass
class SellerSets:
    """The groups of sellers that parts may come from, and every set of them with its ways: a column each.

    A column's number has a digit for each group, those ``told`` apart in a freight choice first: 0 where the group is
    left out, else its way and one; ``digits``: (columns, groups). ``fees``: what a column's sellers ask once at the
    least, with the allowance for rounding, (columns,); ``spent``: what its sellers' sums ask, (columns, groups).
    """

    market: Market
    groups: list[list[str]]
    ways: list[tuple[FreightOption, ...]]
    told: int
    digits: np.ndarray = field(init=False)
    fees: np.ndarray = field(init=False)
    spent: np.ndarray = field(init=False)
    known: dict[tuple[str, float], np.ndarray] = field(default_factory=dict)

    @classmethod
    def of(cls, market: Market, asked_of: frozenset[str], tanks: frozenset[str]) -> SellerSets:
        """Those of a market for parts that some sellers have, and for tanks that some have."""
        key = (asked_of, tanks)
        if key not in market.sides:
            told = sorted(asked_of & market.thresholds, key=lambda s: (*_rank(market.seller(s)), s))[:MOST_TOLD]
            rest = sorted((asked_of | tanks).difference(told), key=lambda s: (-least_fee(market.seller(s)), s))
            apart = max(MOST_SELLERS_APART - len(told), 0)
            groups = [[seller] for seller in (*told, *rest[:apart])] + ([rest[apart:]] if rest[apart:] else [])
            every = [_ways_of(group, market, group[0] in told) for group in groups]
            market.sides[key] = cls(market, groups, every, len(told))
        sides: SellerSets = market.sides[key]
        return sides

    def __post_init__(self) -> None:
        columns = np.arange(prod(self.sizes))
        self.digits = np.zeros((len(columns), len(self.sizes)), dtype=int)
        for group, size in enumerate(self.sizes):
            columns, self.digits[:, group] = np.divmod(columns, size)
        self.fees = self._of_ways(lambda way: way.fee).sum(axis=1) - self._rounding()
        most = self.market.setting.terms.most_sellers
        if most is not None:
            self.fees[(self.digits > 0).sum(axis=1) > most] = np.inf
        self.spent = self._of_ways(lambda way: way.spent)

    def _of_ways(self, figure: Callable[[FreightOption], float]) -> np.ndarray:
        """A figure of each column's ways, (columns, groups)."""
        figures = np.zeros(self.digits.shape)
        for group, its_ways in enumerate(self.ways):
            figures[:, group] = np.array([0.0, *map(figure, its_ways)])[self.digits[:, group]]
        return figures

    def _rounding(self) -> float:
        """The allowance for rounding: the market's, and that of freight by weight which it does not count."""
        rounding = self.market.rounding
        for group, its_ways in zip(self.groups, self.ways, strict=True):
            if any(way.free is False for way in its_ways):
                seller = self.market.seller(group[0])
                rounding += allowance(seller, pays_weight=True) - allowance(seller)
        return rounding

    @cached_property
    def sizes(self) -> list[int]:
        """How many digits each group has."""
        return [1 + len(its_ways) for its_ways in self.ways]

    @cached_property
    def apart(self) -> int:
        """How many freight choices there are: columns of one stand so far apart."""
        return prod(self.sizes[: self.told])

    @cached_property
    def starts(self) -> list[int]:
        """Where each group begins among the prices of a part, and where the last ends."""
        return [0, *accumulate(self.sizes)]

    def prices(self, part: str, pieces: float) -> np.ndarray:
        """Cents at the least of so many pieces from each group, left out and in each of its ways, (2, all ways):
        whoever else brings of them, and where all come from one seller of it."""
        key = (part, pieces)
        if key not in self.known:
            rows = []
            paid = {way.free is False for its_ways in self.ways for way in its_ways}
            for whole in (False, True):
                alone = {pays: self.market.alone(part, pieces, pays, whole) for pays in paid}
                row: list[float] = []
                for group, its_ways in zip(self.groups, self.ways, strict=True):
                    costs = (alone[way.free is False] for way in its_ways)
                    row += [np.inf, *(min(cost.get(seller, np.inf) for seller in group) for cost in costs)]
                rows.append(row)
            self.known[key] = np.array(rows)
        return self.known[key]

    def freight_choice(self, column: int) -> FreightChoice:
        """How a column stands to the sellers told apart."""
        digits = self.digits[column]
        return tuple(
            (self.groups[group][0], self.ways[group][digits[group] - 1] if digits[group] else None)
            for group in range(self.told)
        )


@dataclass
class OrderBound:
    """What one list of parts comes to at the least in every column of its sides.

    ``prices``: (parts, 2, all ways); ``sole``: whether one seller alone of a column has a part, (parts, columns);
    ``table``: each part from the cheapest of a column's sellers, (parts, columns); ``totals``: with fees and rounding,
    (columns,).
    """

    sides: SellerSets
    prices: np.ndarray
    sole: np.ndarray
    table: np.ndarray
    totals: np.ndarray
    tanks: TankBound | None
    beside: float

    @classmethod
    def of(
        cls, needs: Sequence[tuple[str, float]], market: Market, tanks: TankBound | None = None, beside: float = 0.0
    ) -> OrderBound:  # fmt: skip
        """What ``needs`` (part, pieces), the tanks and ``beside`` cost, whose sellers are not told."""
        short = [(part, pieces - market.on_hand(part)) for part, pieces in needs if pieces > market.on_hand(part)]
        asked_of = frozenset[str]().union(*(market.sellers_of(part) for part, _ in short))
        sides = SellerSets.of(market, asked_of, frozenset(tanks.cents) if tanks is not None else frozenset())
        prices = np.array([sides.prices(part, left) for part, left in short]).reshape(len(short), 2, sides.starts[-1])
        mixed = packs = np.full((len(short), 1), np.inf)
        sellers = np.zeros((len(short), 1))
        for start, stop in pairwise(sides.starts):
            mine = prices[:, 0, start:stop, None]
            sellers = (sellers[:, None] + np.isfinite(mine)).reshape(len(short), -1)
            mixed = np.minimum(mixed[:, None], mine).reshape(len(short), -1)
            packs = np.minimum(packs[:, None], prices[:, 1, start:stop, None]).reshape(len(short), -1)
        sole = sellers == 1
        table = np.where(sole, packs, mixed)
        return cls(sides, prices, sole, table, table.sum(axis=0) + sides.fees, tanks, beside)

    def freight_choices(self) -> Iterator[tuple[float, FreightChoice]]:
        """Every way in which an order can stand to the sellers that are told apart, and what it comes to at the least,
        ascending."""
        least = self.totals + self._more(np.ones(len(self.sides.groups)))
        order = np.argsort(least, kind="stable")
        order = order[np.isfinite(least[order])]
        heap: list[tuple[float, int]] = []
        told: set[int] = set()
        for start in range(0, len(order), CHUNK):
            chunk = order[start : start + CHUNK]
            for floor, column in zip(self._floors(chunk).tolist(), chunk.tolist(), strict=True):
                if floor < np.inf:
                    heappush(heap, (floor, column))
            beyond = least[order[start + CHUNK]] if start + CHUNK < len(order) else np.inf
            while heap and heap[0][0] <= beyond:
                floor, column = heappop(heap)
                if column % self.sides.apart not in told:
                    told.add(column % self.sides.apart)
                    yield floor, self.sides.freight_choice(column)

    def _more(self, digits: np.ndarray) -> float:
        """What comes to the parts in a column: the tanks from its sellers, and what is beside."""
        if self.tanks is None:
            return self.beside
        sellers = (seller for group in np.flatnonzero(digits) for seller in self.sides.groups[group])
        return self.beside + self.tanks(sellers)

    def _floors(self, columns: np.ndarray) -> np.ndarray:
        """What some columns come to, with the tanks and what the sellers' sums ask."""
        digits, spent = self.sides.digits[columns], self.sides.spent[columns]
        more = np.array([self._more(row) for row in digits])
        floors: np.ndarray = self.totals[columns] + more
        if spent.any():
            # (parts, 2, columns, groups)
            there = self.prices[:, :, digits + self.sides.starts[:-1]]
            there = np.where(self.sole[:, columns, None], there[:, 1], there[:, 0]).transpose(1, 2, 0)
            # what comes to the parts may be of any seller
            every = np.concatenate([there, np.broadcast_to(more[:, None, None], (*digits.shape, 1))], axis=2)
            adds = spread(every, spent) - self.table[:, columns].sum(axis=0)
            floors = self.totals[columns] + np.maximum(adds, more)
        return floors


def _rank(seller: Seller) -> tuple[bool, int]:
    """Those first whose freight may be free, the dearest before others."""
    return (not seller.ever_free, -seller.freight)


def _ways_of(group: Sequence[str], market: Market, told: bool) -> tuple[FreightOption, ...]:
    """Those of one seller, or the one of several taken as one."""
    if len(group) == 1:
        return ways(market.seller(group[0]), told)
    return (FreightOption(min(least_fee(market.seller(seller)) for seller in group)),)


def spread(there: np.ndarray, spent: np.ndarray) -> np.ndarray:
    """Cents at the least of all parts together, where no less than ``spent`` goes to each seller, (columns,).

    ``there``: what each part costs at each seller alone, (columns, sellers, parts), infinite where it is not sold;
    ``spent``: (columns, sellers). The shares are made good one seller after the other, and once all are tried as high
    as can be: any are a bound, and another round was seen to add nothing.
    """
    asks = spent > 0
    shares, reduced = np.zeros_like(spent), there
    for seller in np.flatnonzero(asks.any(axis=0)):
        others = np.delete(reduced, seller, axis=1).min(axis=1, initial=np.inf)
        best = _best_share(there[:, seller], others, spent[:, seller])
        shares[:, seller] = np.where(asks[:, seller], best, 0.0)
        reduced = _reduced(there, shares)
    tried = (shares, asks.astype(float))
    bounds = [(spent * each).sum(axis=1) + _reduced(there, each).min(axis=1).sum(axis=1) for each in tried]
    highest: np.ndarray = np.maximum(*bounds) * (1 - HAIR)
    return highest


def _reduced(there: np.ndarray, shares: np.ndarray) -> np.ndarray:
    """The prices with the sellers' shares taken off."""
    reduced: np.ndarray = there * np.where(np.isfinite(there), 1 - shares[:, :, None], 1.0)
    return reduced


def _best_share(there: np.ndarray, others: np.ndarray, spent: np.ndarray) -> np.ndarray:
    """The share of one seller with which the bound is highest, those of the others given: where the parts that are
    cheapest at this one come to its sum. (columns,) of (columns, parts) each and (columns,)."""
    sold = np.isfinite(there) & (there > 0)
    price = np.where(sold, there, 1.0)
    moves = np.where(sold, np.maximum(1 - others / price, 0.0), np.inf)  # from this share on each part is bought here
    order = np.argsort(moves, axis=1, kind="stable")
    enough = np.cumsum(np.take_along_axis(np.where(sold, there, 0.0), order, axis=1), axis=1) >= spent[:, None]
    first = np.take_along_axis(moves, np.take_along_axis(order, enough.argmax(axis=1)[:, None], axis=1), axis=1)[:, 0]
    return np.where(enough.any(axis=1), np.minimum(first, 1.0), 1.0)
