"""What one list of parts costs at the least, whatever the sellers: the bound of :mod:`optimizer.market` with every
seller apart, and with the two ways in which an order can stand to a seller whose freight is free from a sum up.

Either the order pays the freight, by weight too; or it is free, and then the goods reach the sum. So do the goods of a
seller with a least order. A piece counts towards one seller's sum only: where the parts that are cheapest at a seller
do not come to its sum, others are bought there that are dearer than elsewhere, or spare ones. What that adds at the
least is the Lagrangian bound of the rows "what is spent at the seller is at least its sum": for any share from 0 to 1
of each seller, all that is spent there costs (1 - share) of itself, every part comes from where it is cheapest so, and
that share of each sum is added. (Freight and tax in a price make the cents spent no fewer than the goods with tax.)
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from heapq import heappop, heappush

import numpy as np

from catalog.prices import Seller
from optimizer.market import GRAIN, HAIR, Market, least_fee, rounded_down
from optimizer.planning import TankFloor
from optimizer.rules import money

MOST_SELLERS_APART = 9  # sellers beyond these share one freight: speed only
MOST_TOLD = 4  # sellers of whom an order may be worth making up that are told apart: speed only
CHUNK = 64  # columns looked at together: speed only


@dataclass(frozen=True)
class Way:
    """One way in which an order stands to a seller: cents asked once at the least, what is spent on its goods with
    their tax at the least, and whether its freight is free; None where it never is, or where that is not told."""

    fee: float
    spent: float = 0.0
    free: bool | None = None


Stance = tuple[tuple[str, Way | None], ...]  # how an order stands to some sellers; None: nothing is bought there


def ways(seller: Seller, apart: bool) -> tuple[Way, ...]:
    """The ways in which an order can stand to a seller; ``apart``: with paid and free freight told apart."""
    taxed = 1 + money.tax_share(seller)
    least = rounded_down(taxed * seller.min_order * (1 - Fraction(1, GRAIN)))  # as much as prices are rounded down
    if not (apart and seller.ever_free and seller.free_over is not None):
        return (Way(least_fee(seller), least),)
    free = rounded_down(taxed * max(seller.free_over, seller.min_order) * (1 - Fraction(1, GRAIN)))
    return Way(rounded_down(taxed * seller.freight), least, False), Way(0.0, free, True)


def purchase_floor(
    needs: Sequence[tuple[str, float]], market: Market, tanks: TankFloor | None = None, beside: float = 0.0
) -> float:
    """Cents at the least of buying ``needs`` (part, pieces) and the tanks, and of ``beside``: cents at the least of
    other parts, whose sellers are not told.

    Each part from the cheapest seller of a set, the fees of the set, what its sellers' sums ask, the least over all
    sets, less the allowance for rounding.
    """
    return next((floor for floor, _ in OrderFloor.of(needs, market, tanks, beside).stances()), np.inf)


@dataclass
class OrderFloor:
    """The floors of one list of parts for every set of sellers and their ways: a column each.

    A column's number has a digit for each group of sellers, those told apart in a stance first: 0 where the group is
    left out. ``mixed``: by group, cents of each part from it in each of its ways, infinite where it is left out,
    (1 + ways, parts), whoever else brings of it; ``sole``: the same where nobody else does; ``table``: each part from
    the cheapest of a column's sellers, (parts, columns); ``totals``: with fees and rounding, (columns,).
    """

    groups: list[list[str]]
    ways: list[tuple[Way, ...]]
    told: int
    mixed: list[np.ndarray]
    sole: list[np.ndarray]
    table: np.ndarray
    totals: np.ndarray
    tanks: TankFloor | None
    beside: float

    @classmethod
    def of(
        cls, needs: Sequence[tuple[str, float]], market: Market, tanks: TankFloor | None = None, beside: float = 0.0
    ) -> OrderFloor:  # fmt: skip
        """What ``needs`` (part, pieces), the tanks and ``beside`` cost, whose sellers are not told."""
        short = [(part, pieces - market.on_hand(part)) for part, pieces in needs if pieces > market.on_hand(part)]
        asked_of = {seller for part, left in short for seller in market.alone(part, left)}
        sold = asked_of.union(tanks.cents if tanks is not None else ())
        told = sorted(asked_of & market.thresholds, key=lambda s: (*_rank(market.seller(s)), s))[:MOST_TOLD]
        rest = sorted(sold.difference(told), key=lambda s: (-least_fee(market.seller(s)), s))
        apart = max(MOST_SELLERS_APART - len(told), 0)
        groups = [[seller] for seller in (*told, *rest[:apart])] + ([rest[apart:]] if rest[apart:] else [])
        every = [_ways_of(group, market, group[0] in told) for group in groups]
        mixed, sole = (
            [_prices(group, its_ways, market, short, whole) for group, its_ways in zip(groups, every, strict=True)]
            for whole in (False, True)
        )
        nothing = np.full((len(short), 1), np.inf)
        table, packs, sellers, fees, used = nothing, nothing, np.zeros((len(short), 1)), np.zeros(1), np.zeros(1)
        for its_ways, price, whole in zip(every, mixed, sole, strict=True):
            table = np.concatenate([np.minimum(table, each[:, None]) for each in price], axis=1)
            packs = np.concatenate([np.minimum(packs, each[:, None]) for each in whole], axis=1)
            sellers = np.concatenate([sellers + np.isfinite(each)[:, None] for each in price], axis=1)
            fees = np.concatenate([fees, *(fees + way.fee for way in its_ways)])
            used = np.concatenate([used, *(used + 1 for _ in its_ways)])
        if (most := market.setting.terms.most_sellers) is not None:
            fees[used > most] = np.inf
        fees -= _rounding(every, groups, market)
        table = np.where(sellers == 1, packs, table)
        return cls(groups, every, len(told), mixed, sole, table, table.sum(axis=0) + fees, tanks, beside)

    def stances(self) -> Iterator[tuple[float, Stance]]:
        """Every way in which an order can stand to the sellers that are told apart, and what it comes to at the least,
        ascending."""
        apart = int(np.prod([1 + len(each) for each in self.ways[: self.told]], dtype=int))
        least = self.totals + self._more(range(len(self.groups)))
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
                if column % apart not in told:
                    told.add(column % apart)
                    yield floor, self._stance(column)

    def _stance(self, column: int) -> Stance:
        digits = self._digits(np.array([column]))[0]
        return tuple(
            (self.groups[group][0], self.ways[group][digits[group] - 1] if digits[group] else None)
            for group in range(self.told)
        )

    def _digits(self, columns: np.ndarray) -> np.ndarray:
        """(columns, groups): 0 where a group is left out, else its way and one."""
        digits = np.zeros((len(columns), len(self.groups)), dtype=int)
        for group, its_ways in enumerate(self.ways):
            columns, digits[:, group] = np.divmod(columns, 1 + len(its_ways))
        return digits

    def _more(self, groups: Iterable[int]) -> float:
        """What comes to the parts: the tanks from some groups of sellers, and what is beside."""
        sellers = (seller for group in groups for seller in self.groups[group])
        return self.beside + (self.tanks(sellers) if self.tanks is not None else 0.0)

    def _floors(self, columns: np.ndarray) -> np.ndarray:
        """What some columns come to, with the tanks and what the sellers' sums ask."""
        digits = self._digits(columns)
        more = np.array([self._more(np.flatnonzero(row)) for row in digits])
        floors: np.ndarray = self.totals[columns] + more
        if any(way.spent for its_ways in self.ways for way in its_ways):
            sums = [np.array([0.0, *(way.spent for way in its_ways)]) for its_ways in self.ways]
            spent = np.stack([each[row] for each, row in zip(sums, digits.T, strict=True)], axis=1)
            there, packs = (
                np.stack([each[row] for each, row in zip(prices, digits.T, strict=True)], axis=1)
                for prices in (self.mixed, self.sole)
            )
            there = np.where((np.isfinite(there).sum(axis=1) == 1)[:, None], packs, there)
            # what comes to the parts may be of any seller
            every = np.concatenate([there, np.broadcast_to(more[:, None, None], (*digits.shape, 1))], axis=2)
            adds = spread(every, spent) - self.table[:, columns].sum(axis=0)
            floors = self.totals[columns] + np.maximum(adds, more)
        return floors


def _rank(seller: Seller) -> tuple[bool, int]:
    """Those first whose freight may be free, the dearest before others."""
    return (not seller.ever_free, -seller.freight)


def _ways_of(group: Sequence[str], market: Market, told: bool) -> tuple[Way, ...]:
    """Those of one seller, or the one of several taken as one."""
    if len(group) == 1:
        return ways(market.seller(group[0]), told)
    return (Way(min(least_fee(market.seller(seller)) for seller in group)),)


def _prices(
    group: Sequence[str], its_ways: Sequence[Way], market: Market, short: Sequence[tuple[str, float]], whole: bool
) -> np.ndarray:  # fmt: skip
    """Cents at the least of each part from a group of sellers, left out and in each of its ways; ``whole``: where all
    of a part comes from one of them."""
    prices = [[np.inf] * len(short)]
    for way in its_ways:
        alone = (market.alone(part, left, way.free is False, whole) for part, left in short)
        prices.append([min(cost.get(seller, np.inf) for seller in group) for cost in alone])
    return np.array(prices)


def _rounding(every: Sequence[tuple[Way, ...]], groups: Sequence[Sequence[str]], market: Market) -> float:
    """The allowance for rounding: the market's, and that of freight by weight which it does not count."""
    rounding = market.rounding
    for group, its_ways in zip(groups, every, strict=True):
        seller = market.seller(group[0])
        if any(way.free is False for way in its_ways) and seller.freight_per_kg:
            rounding -= rounded_down(-(1 + money.tax_share(seller)) / 2)
    return rounding


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
