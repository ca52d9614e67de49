"""The least money for a list of needs: packs, least quantities, stock, offers mixed, freight once a seller.

All money is in whole cents. Every set of sellers is tried; for one part and one set, a small table by pieces. Where a
seller has terms beside its freight, landed.py buys.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import cache

from tests.brute.landed import Landed, exact_costs, least_lot
from tests.brute.parts import Offer, Terms

NEVER = 10**15  # cents: more than anything costs; what cannot be bought costs this or more
Needs = tuple[tuple[str, int], ...]


class Market:
    """Buys parts.

    `sellers` None: all may be used; `stocked` False: every seller has enough of everything; `stock_slack`: so
    many pieces more than a stated stock may be bought; `most_sellers`: at most so many sellers are used; `terms`
    of sellers that state some; `weights`: kg a piece of the parts that state one.
    """

    def __init__(
        self,
        offers: Iterable[Offer],
        freight: dict[str, int],
        on_hand: dict[str, int],
        sellers: list[str] | None = None,
        stocked: bool = True,
        stock_slack: float = 0.0,
        most_sellers: int | None = None,
        terms: Mapping[str, Terms] = {},
        weights: Mapping[str, Fraction] = {},
    ) -> None:
        self.rows: dict[str, dict[str, list[Offer]]] = {}
        for offer in offers:
            weighed = offer.part in weights or terms.get(offer.seller, Terms()).per_kg == 0
            if weighed and (sellers is None or offer.seller in sellers):
                self.rows.setdefault(offer.part, {}).setdefault(offer.seller, []).append(offer)
        self.on_hand = on_hand
        self.stocked = stocked
        self.stock_slack = stock_slack
        names = sorted({seller for by_seller in self.rows.values() for seller in by_seller})
        # Smallest sets first, so that the first least total is the one with the fewest sellers.
        largest = len(names) if most_sellers is None else min(most_sellers, len(names))
        self.groups = [group for size in range(largest + 1) for group in itertools.combinations(names, size)]
        self.freight = [sum(freight.get(seller, 0) for seller in group) for group in self.groups]
        self.table = cache(self._table)
        self.by_group = cache(self._by_group)
        self.cost = cache(self._cost)
        # With these to reach, more may cost less: of two purchases the larger need not be the dearer.
        stated = [terms[name] for name in names if name in terms]
        self.has_floors = any(one.free_over is not None or one.min_order for one in stated)
        self.landed: Landed | None = None
        if stated:
            self.landed = Landed(self.rows, cache(self.stock), self.groups, freight, terms, weights)

    def stock(self, part: str, seller: str) -> float:
        """How many pieces of a part may be bought from a seller."""
        stocks = {row.stock for row in self.rows[part][seller] if row.stock is not None}
        if len(stocks) > 1:
            raise ValueError(f"{part} of {seller}: two different stocks")
        return stocks.pop() + self.stock_slack if stocks and self.stocked else math.inf

    def _table(self, part: str, group: tuple[str, ...], most: int) -> list[int]:
        """Least cents for exactly 0, 1, ... `most` pieces of `part` bought from the sellers of `group`."""
        total = [0] + [NEVER] * most
        for seller in group:
            rows = self.rows.get(part, {}).get(seller, [])
            if not rows:
                continue
            costs = [row.cents for row in rows]
            one = exact_costs(rows, costs, most, self.stock(part, seller), NEVER)  # this seller alone
            total = [min(total[pieces - here] + one[here] for here in range(pieces + 1)) for pieces in range(most + 1)]
        return total

    def _by_group(self, part: str, needed: int) -> tuple[int, ...]:
        """Least cents for at least `needed` pieces of `part`, for each set of sellers."""
        short = needed - self.on_hand.get(part, 0)
        if short <= 0:
            return (0,) * len(self.groups)
        rows = [row for by_seller in self.rows.get(part, {}).values() for row in by_seller]
        if not rows:
            return (NEVER,) * len(self.groups)
        # Nobody need buy a whole least lot too many: from a purchase that is over by that much, one pack
        # (or an offer at its least lot) can be left away, and it still is enough and no dearer.
        lot = max(map(least_lot, rows))
        size = 16
        while size < short:
            size *= 2
        return tuple(min(self.table(part, group, size + lot)[short : short + lot]) for group in self.groups)

    def bought(self, needs: Needs) -> tuple[tuple[str, int], ...]:
        """The parts that are not all on hand, and how many pieces are short of each."""
        short = ((part, needed - self.on_hand.get(part, 0)) for part, needed in needs if needed)
        return tuple((part, pieces) for part, pieces in short if pieces > 0)

    def at_least(self, needs: Needs) -> int:
        """Cents that `needs` cost at the least, where to know this is much less work than to know what they cost."""
        return 0 if self.landed is None else self.landed.at_least(self.bought(needs))

    def _cost(self, needs: Needs) -> tuple[int, tuple[str, ...]] | None:
        """Least cents for all of `needs` with freight, and the fewest sellers for it; None: not for sale."""
        if self.landed is not None:
            return self.landed.cost(self.bought(needs))
        best: tuple[int, tuple[str, ...]] | None = None
        columns = [self.by_group(part, needed) for part, needed in needs if needed]
        for place, group in enumerate(self.groups):
            cents = self.freight[place] + sum(column[place] for column in columns)
            if cents < NEVER and (best is None or cents < best[0]):
                best = cents, group
        return best
