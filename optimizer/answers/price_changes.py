"""Two price lists held against each other: what is new, gone, dearer, cheaper or out of stock, and which jobs it
touches."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from catalog.offers import Offers
from catalog.reader import Catalog
from optimizer.rules.landed_cost import least_bought

GONE, OUT, DEARER, CHEAPER, NEW, BACK, TERMS = (
    "gone", "out of stock", "dearer", "cheaper", "new", "back", "other terms"
)  # fmt: skip
ORDER = {GONE: 0, OUT: 1, DEARER: 2, CHEAPER: 2, NEW: 3, BACK: 4, TERMS: 5}  # what may cost a job its bundle first
Row = tuple[str, int, int, int, int]  # seller, min_qty, pack, stock, cents


@dataclass(frozen=True)
class PriceMove:
    """What happened to the price of one part.

    ``before`` and ``after``: the lowest price of a piece in cents among the offers that can be used, whatever the
    quantity they are asked for; None where there is none. ``jobs``: those whose kept answers buy the part.
    """

    part: str
    kind: str
    what: str
    before: int | None
    after: int | None
    jobs: tuple[str, ...] = ()

    @property
    def share(self) -> float | None:
        """The rise as a share of the price before; None where one of the two is not known."""
        return None if self.before is None or self.after is None else self.after / self.before - 1


@dataclass(frozen=True)
class Buyers:
    """The jobs of a folder that buy each part, by their kept answers; how many there are, and those without one."""

    of_part: Mapping[str, tuple[str, ...]]
    answered: int
    without: tuple[str, ...]


@dataclass(frozen=True)
class PriceMoves:
    """All moves, by kind and the largest first; ``same``: parts that stand in both lists and did not move."""

    moves: tuple[PriceMove, ...]
    same: int


def price_moves(
    old: Offers, new: Offers, catalog: Catalog | None = None, buyers: Mapping[str, tuple[str, ...]] | None = None
) -> PriceMoves:
    """Compare two lists part by part. ``catalog`` tells the kinds of the parts, ``buyers`` the jobs that buy a part.

    The day of a price and the order of rows do not count.
    """
    before, after, buyers = _rows(old), _rows(new), buyers or {}
    kinds = [] if catalog is None else list(catalog.tables)
    parts = sorted(before.keys() | after.keys())
    found = []
    for part in parts:
        rows, now = before.get(part, []), after.get(part, [])
        if rows != now:
            was, price = _lowest(rows), _lowest(now)
            kind = "" if catalog is None else catalog.kind_of(part) or ""
            found.append(PriceMove(part, kind, _what(rows, now, was, price), was, price, buyers.get(part, ())))
    place = {kind: number for number, kind in enumerate(kinds)}
    found.sort(key=lambda m: (place.get(m.kind, len(kinds)), ORDER[m.what], -abs(m.share or 0.0), m.part))
    return PriceMoves(tuple(found), len(parts) - len(found))


def _rows(offers: Offers) -> dict[str, list[Row]]:
    rows: dict[str, list[Row]] = {}
    columns = (offers.part, offers.seller, offers.min_qty, offers.pack, offers.stock, offers.cents)
    for part, seller, *figures in zip(*(column.tolist() for column in columns), strict=True):
        rows.setdefault(str(part), []).append((str(seller), *figures))
    return {part: sorted(mine) for part, mine in rows.items()}


def _lowest(rows: list[Row]) -> int | None:
    """The lowest price of a piece among the offers that can be used."""
    usable = [
        cents for _, min_qty, pack, stock, cents in rows if stock < 0 or int(least_bought(min_qty, pack)) <= stock
    ]
    return min(usable, default=None)


def _what(rows: list[Row], now: list[Row], was: int | None, price: int | None) -> str:
    if not now:
        return GONE
    if price is None:
        return OUT if was is not None or not rows else TERMS
    if was is None:
        return BACK if rows else NEW
    return DEARER if price > was else CHEAPER if price < was else TERMS
