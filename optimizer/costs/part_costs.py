"""What any number of pieces of a part costs within any set of some sellers, exactly, where freight is all they add."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import groupby

import numpy as np

from optimizer.costs.market import Market, Offer


@dataclass
class PartCosts:
    """Tables of one market's parts, worked out when they are first asked for."""

    market: Market
    known: dict[tuple[str, tuple[str, ...]], tuple[np.ndarray, np.ndarray]] = field(default_factory=dict)

    def cents(self, part: str, pieces: np.ndarray | int, sellers: tuple[str, ...]) -> np.ndarray:
        """Cents of at least so many pieces of a part bought within each set of ``sellers``, freight left out, infinite
        where they cannot be had: (2**sellers,), or (pieces, 2**sellers) of several numbers. A set has seller i where
        its number has bit i."""
        most = int(np.max(pieces, initial=0))
        table, place = self.known.get((part, sellers), (np.zeros((1, 0)), np.zeros(0, dtype=np.int64)))
        if table.shape[1] <= most:
            offers = [offer for offer in self.market.offers_of(part) if offer.seller in sellers]
            mine = [sellers.index(seller) for seller, _ in groupby(offers, key=lambda offer: offer.seller)]
            every = np.arange(1 << len(sellers))
            place = sum(((every >> at & 1) << bit for bit, at in enumerate(mine)), 0 * every)
            table = _by_set(offers, most)
            self.known[part, sellers] = table, place
        found: np.ndarray = table[place, pieces] if isinstance(pieces, int) else table[place, pieces[:, None]]
        return found


def _by_set(offers: Sequence[Offer], most: int) -> np.ndarray:
    """Of offers that stand by seller: cents of at least 0 to ``most`` pieces within each set of their sellers."""
    nothing = np.full(most + 1, np.inf)
    nothing[0] = 0.0
    sets = nothing[None]
    for _, rows in groupby(offers, key=lambda offer: offer.seller):
        sets = np.concatenate([sets, _together(sets, _from_seller(list(rows), most))])
    return sets


def _together(sets: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Cents of at least so many pieces from each of some sets and one seller beside: the best way to share them out."""
    least = sets.copy()
    for bought in range(1, len(other)):
        np.minimum(least[:, bought:], sets[:, :-bought] + other[bought], out=least[:, bought:])
    return least


def _from_seller(rows: Sequence[Offer], most: int) -> np.ndarray:
    """Cents of at least 0 to ``most`` pieces from one seller, whose rows share its stock."""
    stock = rows[0].stock
    length = most + max(max(row.least, row.pack) for row in rows)
    length = 1 + (min(length, stock) if stock >= 0 else length)
    exact = np.full(length, np.inf)  # of so many pieces, no more and no fewer
    exact[0] = 0.0
    for row in rows:
        before = exact.copy()
        for bought in range(row.least, min(max(row.least, -(-most // row.pack) * row.pack), length - 1) + 1, row.pack):
            np.minimum(exact[bought:], before[: length - bought] + bought * row.cents, out=exact[bought:])
    at_least = np.full(most + 1, np.inf)
    reached = np.minimum.accumulate(exact[::-1])[::-1][: most + 1]
    at_least[: len(reached)] = reached
    return at_least
