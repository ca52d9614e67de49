"""What one list of parts costs at the least, whatever the sellers: the bound of :mod:`optimizer.market` with every
seller apart, and with the two ways in which an order can stand to a seller whose freight is free from a sum up.

Either the order pays the freight, by weight too; or it is free, and then the goods reach the sum. So do the goods of a
seller with a least order. Where the parts that are cheapest at that seller do not come to the sum, others are bought
there that are dearer than elsewhere, or spare ones: of a part that costs m elsewhere and c there, x cents that are
spent there add at least x·(1 − m/c) to the total up to c, and all of x beyond. The least of such additions that reach
the sum is added. (Freight and tax in c make the cents spent no fewer than the goods with their tax.)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from catalog.prices import Seller
from optimizer.market import GRAIN, Market, least_fee, rounded_down
from optimizer.planning import TankFloor
from optimizer.rules import money

MOST_SELLERS_APART = 9  # sellers beyond these share one freight: speed only
MOST_TWO_WAYS = 3  # sellers whose two ways are told apart: speed only


@dataclass(frozen=True)
class Way:
    """One way in which an order stands to a seller: cents asked once at the least, whether its freight by weight is
    paid though it might be free, and what is spent on its goods with their tax at the least."""

    fee: float
    pays_weight: bool = False
    spent: float = 0.0


def ways(seller: Seller, apart: bool) -> tuple[Way, ...]:
    """The ways in which an order can stand to a seller; ``apart``: with paid and free freight told apart."""
    taxed = 1 + money.tax_share(seller)
    least = rounded_down(taxed * seller.min_order * (1 - Fraction(1, GRAIN)))  # as much as prices are rounded down
    if not (apart and seller.ever_free and seller.free_over is not None):
        return (Way(least_fee(seller), spent=least),)
    free = rounded_down(taxed * max(seller.free_over, seller.min_order) * (1 - Fraction(1, GRAIN)))
    return Way(rounded_down(taxed * seller.freight), True, least), Way(0.0, spent=free)


def purchase_floor(
    needs: Sequence[tuple[str, float]], market: Market, tanks: TankFloor | None = None, beside: float = 0.0
) -> float:
    """Cents at the least of buying ``needs`` (part, pieces) and the tanks, and of ``beside``: cents at the least of
    other parts, whose sellers are not told.

    Each part from the cheapest seller of a set, the fees of the set, what its sellers' sums ask, the least over all
    sets, less the allowance for rounding.
    """
    alone: list[dict[str, float]] = []
    short: list[tuple[str, float]] = []
    for part, pieces in needs:
        left = pieces - market.on_hand(part)
        if left <= 0:
            continue
        cost = market.alone(part, left)
        if not cost:
            return np.inf
        alone.append(cost)
        short.append((part, left))
    if tanks is None and not alone:
        return beside
    sold = {seller for cost in alone for seller in cost}.union(tanks.cents if tanks is not None else ())
    names = sorted(sold, key=lambda s: (-least_fee(market.seller(s)), s))
    groups = [[seller] for seller in names[:MOST_SELLERS_APART]]
    groups += [names[MOST_SELLERS_APART:]] if names[MOST_SELLERS_APART:] else []
    free = sorted((s for s in names if market.seller(s).ever_free), key=lambda s: (-market.seller(s).freight, s))
    of_group = [_ways_of(group, market, free[:MOST_TWO_WAYS]) for group in groups]
    table, fees, used = np.full((len(alone), 1), np.inf), np.zeros(1), np.zeros(1)
    prices: list[list[np.ndarray]] = []
    for group, its_ways in zip(groups, of_group, strict=True):
        price = [_prices(group, way, market, alone, short) for way in its_ways]
        table = np.concatenate([table, *(np.minimum(table, each[:, None]) for each in price)], axis=1)
        fees = np.concatenate([fees, *(fees + way.fee for way in its_ways)])
        used = np.concatenate([used, *(used + 1 for _ in its_ways)])
        prices.append(price)
    if (most := market.setting.terms.most_sellers) is not None:
        fees[used > most] = np.inf
    totals = table.sum(axis=0) + fees - _rounding(of_group, groups, market)
    if tanks is None and not any(way.spent for its_ways in of_group for way in its_ways):
        return float(totals.min()) + beside
    best, least = np.inf, tanks(names) if tanks is not None else 0.0
    for column in np.argsort(totals, kind="stable"):
        if totals[column] + least >= best:
            break
        chosen = _chosen(int(column), [len(its_ways) for its_ways in of_group])
        with_tanks = tanks(seller for group, _ in chosen for seller in groups[group]) if tanks is not None else 0.0
        total = float(totals[column]) + with_tanks
        if total < best:
            reached = (
                made_up(of_group[group][way].spent - with_tanks - beside, prices[group][way], table[:, column])
                for group, way in chosen
            )
            best = min(best, total + max(reached, default=0.0))
    return best + beside


def _ways_of(group: Sequence[str], market: Market, free: Sequence[str]) -> tuple[Way, ...]:
    """Those of one seller, or the one of several taken as one."""
    if len(group) == 1:
        return ways(market.seller(group[0]), group[0] in free)
    return (Way(min(least_fee(market.seller(seller)) for seller in group)),)


def _prices(
    group: Sequence[str], way: Way, market: Market, alone: Sequence[dict[str, float]],
    short: Sequence[tuple[str, float]],
) -> np.ndarray:  # fmt: skip
    """Cents at the least of each part from a group of sellers alone."""
    if way.pays_weight:
        return np.array([market.alone(part, left, pays_weight=True).get(group[0], np.inf) for part, left in short])
    return np.array([min(cost.get(seller, np.inf) for seller in group) for cost in alone])


def _rounding(of_group: Sequence[tuple[Way, ...]], groups: Sequence[Sequence[str]], market: Market) -> float:
    """The allowance for rounding: the market's, and that of freight by weight which it does not count."""
    rounding = market.rounding
    for group, its_ways in zip(groups, of_group, strict=True):
        seller = market.seller(group[0])
        if any(way.pays_weight for way in its_ways) and seller.freight_per_kg:
            rounding -= rounded_down(-(1 + money.tax_share(seller)) / 2)
    return rounding


def _chosen(column: int, sizes: Sequence[int]) -> list[tuple[int, int]]:
    """The (group, way) of a column: each group is left out, or used in one of its ways."""
    chosen = []
    for group, size in enumerate(sizes):
        column, digit = divmod(column, size + 1)
        if digit:
            chosen.append((group, digit - 1))
    return chosen


def made_up(missing: float, there: np.ndarray, least: np.ndarray) -> float:
    """Cents at the least that it adds to spend ``missing`` cents or more at one seller: ``there``: what each part
    costs there, ``least``: what it is counted at."""
    sold = np.isfinite(there) & (there > 0)
    there, least = there[sold], np.minimum(least[sold], there[sold])
    adds = 1 - least / there
    cents = 0.0
    for place in np.argsort(adds, kind="stable"):
        if missing <= 0:
            return cents
        spent = min(missing, float(there[place]))
        missing, cents = missing - spent, cents + spent * float(adds[place])
    return cents + max(missing, 0.0)
