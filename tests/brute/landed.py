"""The least landed money: freight by weight or free from a sum on, least orders, tax; each rounded once a seller.

What the sellers of a purchase ask beside its lines depends on all their lines together, so that parts cannot be bought
one by one. What can: of each seller it is laid down whether it is used and whether its freight is free (a *way*). Then,
but for rounding, each piece costs a fixed sum, and free freight and least orders ask that the goods of a seller reach a
floor. The cheapest pieces without the floors are a lower bound of the way; from there every purchase within a window
above the bound is tried, and the window grows until nothing outside it can be cheaper.

More than needed may be bought of each part that is bought at all, to reach a floor too. A part that is not needed, or
of which there is enough on hand, is not bought.

All money is in whole cents, or in whole `scale`-ths of a cent before it is rounded: no floats.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from tests.brute.parts import Offer, Terms

NEVER = 10**30  # scale-ths of a cent: more than anything costs
HALF = Fraction(1, 2)


def half_up(cents: Fraction) -> int:
    """Whole cents, half a cent rounded up."""
    return math.floor(cents + HALF)


def whole(value: Fraction) -> int:
    """A number that must be whole."""
    if value.denominator != 1:
        raise ValueError(f"{value} is not whole")
    return value.numerator


def seller_total(goods: int, kg: Fraction, freight: int, terms: Terms) -> int | None:
    """What a seller that is used is paid, in cents; None where the goods are below its least order."""
    if goods < terms.min_order:
        return None
    free = terms.free_over is not None and goods >= terms.free_over
    asked = 0 if free else half_up(freight + terms.per_kg * kg)
    return goods + asked + half_up(terms.tax * (goods + asked))


@dataclass(frozen=True)
class Way:
    """Sellers, each used with its freight paid or free; money in scale-ths of a cent."""

    sellers: tuple[str, ...]
    free: tuple[bool, ...]
    floors: tuple[int, ...]  # cents that the goods of each must reach
    fixed: int  # the fixed freight with its tax
    slack: int  # a total differs by no more than this from what its pieces and the fixed freight cost


class Bought(NamedTuple):
    """Some purchase, by seller of a way."""

    cost: int  # of the pieces, without the fixed freight, in scale-ths of a cent
    pieces: int  # of one part; 0 where several are put together
    goods: tuple[int, ...]  # cents
    load: tuple[int, ...]  # in the unit of Landed.weight


class Landed:
    """Buys from sellers with terms. `rows` are the offers by part and seller, `stock` says how many pieces at most."""

    def __init__(
        self,
        rows: Mapping[str, Mapping[str, Sequence[Offer]]],
        stock: Callable[[str, str], float],
        groups: Iterable[tuple[str, ...]],
        freight: Mapping[str, int],
        terms: Mapping[str, Terms],
        weights: Mapping[str, Fraction],
    ) -> None:
        self.rows, self.stock, self.freight = rows, stock, freight
        self.terms = {seller: terms.get(seller, Terms()) for by_seller in rows.values() for seller in by_seller}
        heavy = [weights.get(part, Fraction(0)) for part in rows]
        self.kg_unit = math.lcm(1, *(one.denominator for one in heavy))
        self.weight = {part: whole(kg * self.kg_unit) for part, kg in zip(rows, heavy, strict=True)}
        # Of a cent: what a piece's cents, its freight by weight, and the tax on both are whole multiples of.
        self.scale = math.lcm(
            2, *(
                (1 + one.tax).denominator * (one.per_kg / self.kg_unit).denominator * 2 for one in self.terms.values()
            )
        )  # fmt: skip
        self.ways = [way for group in groups for way in self._ways(group)]
        self.fixed = [way.fixed - way.slack for way in self.ways]
        self.least_costs = cache(self._least_costs)
        self.lots = cache(self._lots)

    def _ways(self, group: tuple[str, ...]) -> Iterator[Way]:
        kinds = []
        for seller in group:
            asked = self.terms[seller]
            pays = self.freight.get(seller, 0) > 0 or asked.per_kg > 0
            kinds.append([False, True] if asked.free_over is not None and pays else [False])
        for free in itertools.product(*kinds):
            floors, fixed, slack = [], Fraction(0), Fraction(0)
            for seller, none in zip(group, free, strict=True):
                asked = self.terms[seller]
                floors.append(max(asked.min_order, asked.free_over or 0) if none else asked.min_order)
                fixed += 0 if none else self.freight.get(seller, 0) * (1 + asked.tax)
                # Rounding moves the freight by half a cent at most, with its tax, and then the tax by as much.
                slack += (HALF * (1 + asked.tax) if asked.per_kg and not none else 0) + (HALF if asked.tax else 0)
            yield Way(group, free, tuple(floors), whole(fixed * self.scale), whole(slack * self.scale))

    def piece_cost(self, offer: Offer, free: bool) -> int:
        """What one piece of an offer adds: its price and its weight's freight, with tax."""
        asked = self.terms[offer.seller]
        by_weight = 0 if free else asked.per_kg * self.weight[offer.part] / self.kg_unit
        return whole((1 + asked.tax) * (offer.cents + by_weight) * self.scale)

    # --- the lower bound ---------------------------------------------------------------------------

    def _least_costs(self, part: str, short: int) -> tuple[int, ...]:
        """By way, the least cost of at least `short` pieces without any floor; NEVER where they are not for sale."""
        lots = [least_lot(row) for by_seller in self.rows.get(part, {}).values() for row in by_seller]
        if not lots:
            return (NEVER,) * len(self.ways)
        most = short + max(lots) - 1  # what is over by a whole lot could lose one
        found = []
        for way in self.ways:
            total = [0] + [NEVER] * most
            for seller, free in zip(way.sellers, way.free, strict=True):
                rows = self.rows[part].get(seller, ())
                if rows:
                    costs = [self.piece_cost(row, free) for row in rows]
                    one = exact_costs(rows, costs, most, self.stock(part, seller), NEVER)
                    total = [
                        min(total[pieces - here] + one[here] for here in range(pieces + 1))
                        for pieces in range(most + 1)
                    ]
            found.append(min(min(total[short:]), NEVER))
        return tuple(found)

    def bounds(self, items: Sequence[tuple[str, int]]) -> list[int]:
        """By way, less than which no purchase of it costs, in scale-ths of a cent; NEVER or more: not for sale."""
        return list(map(sum, zip(self.fixed, *(self.least_costs(part, short) for part, short in items), strict=True)))

    def at_least(self, items: Sequence[tuple[str, int]]) -> int:
        """Less than these cents no purchase costs."""
        return -(-min(self.bounds(items)) // self.scale)

    # --- the purchase ------------------------------------------------------------------------------

    def cost(self, items: Sequence[tuple[str, int]]) -> tuple[int, tuple[str, ...]] | None:
        """The least cents for at least so many pieces of each part, and the fewest sellers for it; None: not for
        sale."""
        best: tuple[int, int, tuple[str, ...]] | None = None
        bounds = self.bounds(items)
        for place in sorted(range(len(self.ways)), key=lambda one: bounds[one]):
            way, bound = self.ways[place], bounds[place]
            if bound >= NEVER // 2:
                break
            if best is not None and (-(-bound // self.scale), len(way.sellers), way.sellers) >= best:
                continue
            if not self.reaches_floors(items, way):
                continue
            cents = self.cost_of_way(items, way, place, None if best is None else best[0])
            if cents is not None:
                new = cents, len(way.sellers), way.sellers
                best = new if best is None else min(best, new)
        return None if best is None else (best[0], best[2])

    def reaches_floors(self, items: Sequence[tuple[str, int]], way: Way) -> bool:
        """Whether all that a seller has of these parts reaches its floor, for each seller.

        Then some purchase of the way does: what is enough of each part, and all that the sellers have.
        """
        for seller, floor in zip(way.sellers, way.floors, strict=True):
            most: float = 0
            for part, _ in items:
                if seller in self.rows[part]:
                    stock = self.stock(part, seller)
                    dear = any(row.cents for row in self.rows[part][seller])
                    if stock == math.inf:
                        most += math.inf if dear else 0
                    elif stock > 0 and most < floor:
                        most += max(goods for _, goods in self.lots(part, seller, int(stock)))
            if most < floor:
                return False
        return True

    def cost_of_way(self, items: Sequence[tuple[str, int]], way: Way, place: int, known: int | None) -> int | None:
        """The least cents of a way that reaches its floors; None where that is certainly more than `known` cents."""
        least = [self.least_costs(part, short)[place] for part, short in items]
        base = way.fixed + sum(least)
        window = 4 * way.slack
        while True:
            found = self.cost_within(items, way, least, window)
            if found is not None and found * self.scale + way.slack <= base + window:
                return found  # what lies outside costs more before it is rounded, and not less after
            if known is not None and base + window - way.slack > known * self.scale:
                return found
            wider = max(4 * window, 64 * self.scale)
            window = wider if found is None else found * self.scale + way.slack - base

    def cost_within(self, items: Sequence[tuple[str, int]], way: Way, least: Sequence[int], window: int) -> int | None:
        """The least cents of the purchases of a way whose cost is at most `window` above the bound's."""
        none = (0,) * len(way.sellers)
        states = [Bought(0, 0, none, none)]
        for (part, short), cheapest in zip(items, least, strict=True):
            more = self.purchases(part, short, way, cheapest + window)
            joined = [
                Bought(one.cost + add.cost - cheapest, 0, plus(one.goods, add.goods), plus(one.load, add.load))
                for one in states
                for add in more
                if one.cost + add.cost - cheapest <= window
            ]  # the cost above the bound
            states = undominated(joined, way, 0)
        totals = [self.total(way, one) for one in states]
        return min((cents for cents in totals if cents is not None), default=None)

    def total(self, way: Way, bought: Bought) -> int | None:
        """Exact cents, as if every seller of the way were used (fewer sellers are another way)."""
        cents = 0
        for place, seller in enumerate(way.sellers):
            kg = Fraction(bought.load[place], self.kg_unit)
            asked = seller_total(bought.goods[place], kg, self.freight.get(seller, 0), self.terms[seller])
            if asked is None:
                return None
            cents += asked
        return cents

    def purchases(self, part: str, short: int, way: Way, most_cost: int) -> list[Bought]:
        """Of one part every purchase of at least `short` pieces that costs no more than `most_cost` and may be of use.

        No seller need sell more than short + lot + floor/price pieces, with its floor, its largest lot and its least
        price: from more than that a pack, or a row's least lot, can be left away. What is left is enough, and its
        goods alone reach the floor, so that the freight stays free where it was, the least order stays met, and
        goods, freight and tax do not rise. (Pieces that cost nothing reach no floor: of those no more than
        short + lot beside the others.)
        """
        none = (0,) * len(way.sellers)
        states = [Bought(0, 0, none, none)]
        for place, seller in enumerate(way.sellers):
            rows = self.rows[part].get(seller, ())
            if not rows:
                continue
            free, floor = way.free[place], way.floors[place]
            enough = short + max(least_lot(row) for row in rows)
            prices = [row.cents for row in rows if row.cents]
            most = enough + (-(-floor // min(prices)) if prices else 0)
            cheapest = min(self.piece_cost(row, free) for row in rows)
            most = min(most, most_cost // cheapest) if len(prices) == len(rows) else most + enough
            asked = self.terms[seller]
            new = []
            for pieces, goods in self.lots(part, seller, min(most, self.stock(part, seller))):
                load = pieces * self.weight[part]
                by_weight = 0 if free else asked.per_kg * load / self.kg_unit
                cost = whole((1 + asked.tax) * (goods + by_weight) * self.scale)
                new += [
                    Bought(
                        one.cost + cost,
                        one.pieces + pieces,
                        put(one.goods, place, goods),
                        put(one.load, place, load),
                    )
                    for one in states
                    if one.cost + cost <= most_cost
                ]
            states = undominated(new, way, short)
        return [one for one in states if one.pieces >= short]

    def _lots(self, part: str, seller: str, most: float) -> list[tuple[int, int]]:
        """Every (pieces, cents) that up to `most` pieces of a part from one seller may be, its rows combined."""
        found = {(0, 0)}
        for row in self.rows[part][seller]:
            found |= {
                (pieces + more, goods + more * row.cents)
                for pieces, goods in found
                for more in range(least_lot(row), int(most) - pieces + 1, row.pack)
            }
        return sorted(found)


def undominated(states: list[Bought], way: Way, short: int) -> list[Bought]:
    """The purchases that may become the cheapest.

    One is left out where another has as many pieces (or enough), goods as high at every seller (or at the floor), and
    costs less by twice what rounding moves: in its place the other makes no total higher. Of equal ones one stays.
    """
    kept: list[tuple[Bought, tuple[int, ...]]] = []
    seen: set[Bought] = set()
    for one in sorted(states):
        if one in seen:
            continue
        seen.add(one)
        reach = (min(one.pieces, short), *map(min, one.goods, way.floors))
        if not any(
            other.cost + 2 * way.slack <= one.cost and other is not one and all(map(int.__ge__, has, reach))
            for other, has in kept
        ):
            kept.append((one, reach))
    return [one for one, _ in kept]


def plus(one: tuple[int, ...], other: tuple[int, ...]) -> tuple[int, ...]:
    return tuple(map(int.__add__, one, other))


def put(one: tuple[int, ...], place: int, value: int) -> tuple[int, ...]:
    return (*one[:place], value, *one[place + 1 :])


def least_lot(row: Offer) -> int:
    """The fewest pieces that an offer sells: min_qty, rounded up to packs."""
    return -(-row.min_qty // row.pack) * row.pack


def exact_costs(rows: Sequence[Offer], costs: Sequence[int], most: int, stock: float, never: int) -> list[int]:
    """Least cost of exactly 0, 1, ... `most` pieces from the rows of one seller, at a cost a piece for each row."""
    one = [0] + [never] * most
    for row, cost in zip(rows, costs, strict=True):
        least = least_lot(row)
        used = [never] * (most + 1)  # with at least `least` pieces of this row
        for pieces in range(least, most + 1):
            used[pieces] = one[pieces - least] + least * cost
            if pieces - row.pack >= least:
                used[pieces] = min(used[pieces], used[pieces - row.pack] + row.pack * cost)
        one = [min(pair) for pair in zip(one, used, strict=True)]
    return [cost if pieces <= stock else never for pieces, cost in enumerate(one)]
