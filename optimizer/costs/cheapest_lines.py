"""The cheapest way to buy one part from given sellers, and of equal ways always the same one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from optimizer.bundles.order import Line
from optimizer.costs.market import Offer

LinesWay = tuple[int, int, tuple[tuple[int, int], ...]]  # cents, lines, (place among the offers, pieces); least first


def cheapest_lines(offers: Sequence[Offer], pieces: int) -> tuple[Line, ...]:
    """Lines that bring at least ``pieces`` at the least cost from ``offers``, those of one seller standing together.

    Exact, by the number of pieces reached seller after seller. Equal costs: fewer lines, then the sellers that stand
    first. Raises ValueError where the offers cannot bring so many.
    """
    places = {offer: place for place, offer in enumerate(offers)}
    best: dict[int, LinesWay] = {0: (0, 0, ())}
    for _, rows in groupby(offers, key=lambda offer: offer.seller):
        mine = list(rows)
        reached = dict(best)
        for bought, way in _from_seller(mine, pieces, places):
            for before, known in best.items():
                sum_way = (known[0] + way[0], known[1] + way[1], known[2] + way[2])
                pieces_now = min(pieces, before + bought)
                if pieces_now not in reached or sum_way < reached[pieces_now]:
                    reached[pieces_now] = sum_way
        best = reached
    if pieces not in best:
        raise ValueError(f"{pieces} pieces cannot be bought")
    return tuple(Line(offers[place].seller, count, offers[place].cents) for place, count in best[pieces][2])


def _from_seller(rows: Sequence[Offer], pieces: int, places: dict[Offer, int]) -> Iterator[tuple[int, LinesWay]]:
    """Every sensible purchase from one seller: (pieces, way). The rows share the seller's stock."""
    stock = rows[0].stock
    ways: dict[int, LinesWay] = {0: (0, 0, ())}
    for row in rows:
        more = dict(ways)
        last = max(row.least, -(-pieces // row.pack) * row.pack)
        for bought in range(row.least, last + 1, row.pack):
            for before, known in ways.items():
                total = before + bought
                if before >= pieces or (0 <= stock < total):
                    continue
                way = (known[0] + bought * row.cents, known[1] + 1, (*known[2], (places[row], bought)))
                if total not in more or way < more[total]:
                    more[total] = way
        ways = more
    del ways[0]
    yield from ways.items()
