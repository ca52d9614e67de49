"""Two price lists held against each other: what is new, gone, dearer, cheaper or out of stock, and which jobs it
touches."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from catalog.offers import Offers
from catalog.price_age import MaxAge, sifted
from catalog.reader import Catalog, PriceList, read_price_list
from optimizer.rules.landed_cost import least_bought
from optimizer.vocabulary.problems import Problem


class PriceChange(StrEnum):
    """What may happen to the price of a part between two lists; what may cost a job its bundle first."""

    GONE = "gone"
    OUT = "out of stock"
    DEARER = "dearer"
    CHEAPER = "cheaper"
    NEW = "new"
    BACK = "back"
    TERMS = "other terms"


# the order in which they are told: dearer and cheaper together, the largest first
ORDER = {change: place for place, change in enumerate(PriceChange)} | {PriceChange.CHEAPER: 2}
Row = tuple[str, int, int, int, int]  # seller, min_qty, pack, stock, cents


@dataclass(frozen=True)
class PriceMove:
    """What happened to the price of one part.

    ``before`` and ``after``: the lowest price of a piece in cents among the offers that can be used, whatever the
    quantity they are asked for; None where there is none. ``jobs``: those whose kept answers buy the part.
    """

    part: str
    kind: str
    what: PriceChange
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
class PriceChanges:
    """Two lists, and all moves between them, by kind and the largest first; ``same``: parts that stand in both lists
    and did not move. ``catalog`` and ``buyers`` as they were given; ``warning``: that prices of the new list are old.
    """

    before: PriceList
    after: PriceList
    moves: tuple[PriceMove, ...]
    same: int
    catalog: Catalog | None = None
    buyers: Buyers | None = None
    warning: Problem | None = None

    @property
    def touched(self) -> list[str]:
        """The jobs that any move touches."""
        return sorted({job for move in self.moves for job in move.jobs})


def price_changes(
    before: PriceList | str | Path,
    after: PriceList | str | Path,
    catalog: Catalog | None = None,
    buyers: Buyers | None = None,
    age: MaxAge | None = None,
) -> PriceChanges:
    """Compare two price lists, or the files of two, part by part.

    ``catalog`` tells the kinds of the parts, ``buyers`` the jobs that buy a part; ``age``: how old prices of the new
    list may be. The day of a price and the order of rows do not count. Raises InputError where a file is wrong, and
    ValueError where the two are in different currencies.
    """
    old, new = (each if isinstance(each, PriceList) else read_price_list(each) for each in (before, after))
    if old.currency != new.currency:
        raise ValueError(f"prices in {old.currency} and in {new.currency} cannot be compared")
    offers, warning = (new.offers, None) if age is None else sifted(new.offers, age, new.file)
    moves, same = _moves(old.offers, offers, catalog, {} if buyers is None else buyers.of_part)
    return PriceChanges(old, new, moves, same, catalog, buyers, warning)


def _moves(
    old: Offers, new: Offers, catalog: Catalog | None, buyers: Mapping[str, tuple[str, ...]]
) -> tuple[tuple[PriceMove, ...], int]:
    """All moves in order, and how many parts did not move."""
    before, after = _rows(old), _rows(new)
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
    return tuple(found), len(parts) - len(found)


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


def _what(rows: list[Row], now: list[Row], was: int | None, price: int | None) -> PriceChange:
    if not now:
        return PriceChange.GONE
    if price is None:
        return PriceChange.OUT if was is not None or not rows else PriceChange.TERMS
    if was is None:
        return PriceChange.BACK if rows else PriceChange.NEW
    return PriceChange.DEARER if price > was else PriceChange.CHEAPER if price < was else PriceChange.TERMS
