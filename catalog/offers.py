"""Prices and sellers: offers as arrays, what sellers add, and the checks across rows of prices.csv and sellers.csv."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from math import isfinite, isnan

import numpy as np

from catalog.names import folded, unknown_spelling
from catalog.sheet_data import CsvSheet
from optimizer.vocabulary.problems import CLOSE_ENOUGH, Fault, Place, Problem, distance, likeness, perhaps

ENOUGH = -1  # stock of an offer that states none
APART = 5.0  # times the lowest price of a part from which its highest is called out (common practice, no source)
YEAR_D = 366  # days by which the newest date may be later than all others
MOST_APART = 10  # warnings of one kind that each stand apart; more are summed up
MOST_UNKNOWN = 50  # parts of a price list that nobody knows and that each stand apart; more are of another catalogue
NAMED = 3  # of what is summed up
LOOKED_AT = 2000  # known ids at most that an unknown one is compared with


@dataclass(frozen=True)
class Offers:
    """What sellers ask, sorted by (part, seller, min_qty, cents); all arrays of one length.

    ``cents`` a piece; ``min_qty`` as stated; ``stock`` is shared by all rows of one part and seller, -1 = enough.
    """

    part: np.ndarray
    seller: np.ndarray
    cents: np.ndarray
    min_qty: np.ndarray
    pack: np.ndarray
    stock: np.ndarray
    as_of: np.ndarray
    row: np.ndarray

    def __len__(self) -> int:
        return len(self.part)


@dataclass(frozen=True)
class Seller:
    """What a seller adds to an order beside its prices; fields are named after the columns of sellers.csv.

    Money in whole cents, ``freight_per_kg`` in cents a kg, exact. ``free_over`` None: freight is never free.
    """

    freight: int = 0
    freight_per_kg: Fraction = Fraction(0)
    free_over: int | None = None
    min_order: int = 0
    tax_pct: Fraction = Fraction(0)

    @property
    def ever_free(self) -> bool:
        """Whether there is freight that a large order does not pay."""
        return self.free_over is not None and bool(self.freight or self.freight_per_kg)

    @property
    def plain(self) -> bool:
        """Whether freight is all it adds, the same for every order: then each part can be bought for itself."""
        return not (self.freight_per_kg or self.min_order or self.tax_pct or self.ever_free)


def read_offers(sheet: CsvSheet) -> Offers:
    """The offers of a sheet that has no fault."""
    columns = sheet.columns
    min_qty = columns["min_qty"].astype(np.int64)
    cents = np.rint(columns["price"] * 100).astype(np.int64)
    part_rank, seller_rank = rank(columns["part"]), rank(columns["seller"])
    order = np.lexsort((cents, min_qty, seller_rank, part_rank))
    stock = shared_stock(part_rank, seller_rank, columns["stock"])
    return Offers(
        part=columns["part"][order],
        seller=columns["seller"][order],
        cents=cents[order],
        min_qty=min_qty[order],
        pack=columns["pack"].astype(np.int64)[order],
        stock=stock[order],
        as_of=columns["as_of"][order],
        row=sheet.row[order],
    )


def rank(texts: np.ndarray) -> np.ndarray:
    """For each text its place among the distinct texts in order: far cheaper to sort by than the texts."""
    place = {text: number for number, text in enumerate(sorted(set(texts)))}
    return np.fromiter(map(place.__getitem__, texts.tolist()), dtype=np.int64, count=len(texts))


def codes_of(texts: np.ndarray) -> tuple[np.ndarray, list[str]]:
    """For each text the number of its kind, and the kinds in the order in which they come."""
    kinds: dict[str, int] = {}
    codes = np.array([kinds.setdefault(text, len(kinds)) for text in texts.tolist()], dtype=np.int64)
    return codes, list(kinds)


def _groups(part_rank: np.ndarray, seller_rank: np.ndarray) -> np.ndarray:
    """One number for each pair of part and seller, without gaps."""
    pair = part_rank * (seller_rank.max(initial=0) + 1) + seller_rank
    return np.unique(pair, return_inverse=True)[1].reshape(-1)


def shared_stock(part_rank: np.ndarray, seller_rank: np.ndarray, stock: np.ndarray) -> np.ndarray:
    """The stock of each row: the figure that any row of its part and seller states, else -1."""
    group = _groups(part_rank, seller_rank)
    most = np.full(group.max(initial=-1) + 1, float(ENOUGH))
    np.maximum.at(most, group, np.where(np.isnan(stock), ENOUGH, stock))
    shared: np.ndarray = most[group].astype(np.int64)
    return shared


def price_problems(sheet: CsvSheet, known: Collection[str], nameless: int, complete: bool) -> list[Problem]:
    """What is wrong across rows: parts that nobody knows, two currencies, two stocks of one part and seller.

    ``known`` are all part ids; ``nameless`` counts part rows whose id could not be read; ``complete`` is False where
    a whole file could not, and then no part can be called unknown.
    """
    problems = _unknown_parts(sheet, known, nameless) if complete else []
    return problems + _two_currencies(sheet) + _two_stocks(sheet)


def _unknown_parts(sheet: CsvSheet, known: Collection[str], nameless: int) -> list[Problem]:
    unknown = set(sheet.columns["part"]) - set(known) - {""}
    if not unknown:
        return []
    rows = _rows_of(sheet.columns["part"], unknown)
    unpriced = _alike(set(known) - set(sheet.columns["part"]))
    spelt = {folded(part): part for part in known}
    alike = {part: spelt[fold] for part in sorted(rows) if (fold := folded(part)) in spelt}
    problems = [
        unknown_spelling(part, other, sheet.place(rows[part][0], "part", part), _also(sheet, rows[part]))
        for part, other in alike.items()
    ]
    suspects = sorted(set(rows) - set(alike))
    if len(suspects) > MOST_UNKNOWN:
        if nameless >= len(suspects):
            return problems  # they may all be of those rows
        named = [f"{part} (row {int(sheet.row[rows[part][0]])})" for part in suspects[:NAMED]]
        place = sheet.place(rows[suspects[0]][0], "part", suspects[0])
        return [*problems, _summed("unknown-parts", named, len(suspects)).at(place)]
    if nameless:
        # Rows without a readable id leave prices behind that name them: not a second fault. The likeliest are spared:
        # ids alike to the catalogue's own, and not a slip of a part that lacks a price.
        ids = _alike(known)
        orphans = {
            part: max((likeness(part, other) for other in ids), default=0.0)
            for part in suspects
            if not any(distance(part, other) <= 2 for other in unpriced)
        }
        spared = sorted((p for p in orphans if orphans[p] >= CLOSE_ENOUGH), key=lambda p: -orphans[p])[:nameless]
        suspects = [part for part in suspects if part not in spared]
    ids = _alike(known)
    for part in suspects:
        slots = {"perhaps": perhaps(part, unpriced) or perhaps(part, ids), "rows": _also(sheet, rows[part])}
        problems.append(Fault("unknown-part", slots).at(sheet.place(rows[part][0], "part", part)))
    return problems


def _summed(kind: str, named: Sequence[str], count: int) -> Fault:
    """What is wrong so many times, the first few of them named."""
    more = f" and {count - NAMED:,} more" if count > NAMED else ""
    return Fault(kind, {"count": f"{count:,}", "named": ", ".join(named[:NAMED]) + more})


def _few(warnings: list[Problem], all_of_them: str) -> list[Problem]:
    """Warnings one by one, or summed up as ``all_of_them`` where they are many."""
    if len(warnings) <= MOST_APART:
        return warnings
    rows = sorted(warning.place.row or 0 for warning in warnings)
    place = replace(warnings[0].place, row=None, cell=None)
    return [_summed(all_of_them, [f"row {row}" for row in rows[:NAMED]], len(warnings)).at(place)]


def _rows_of(column: np.ndarray, wanted: Collection[str]) -> dict[str, list[int]]:
    """The positions of each wanted text in a column."""
    rows: dict[str, list[int]] = {}
    for position, text in enumerate(column):
        if text in wanted:
            rows.setdefault(text, []).append(position)
    return rows


def _alike(ids: Collection[str]) -> list[str]:
    """A few ids to compare with, in order."""
    return sorted(ids)[:LOOKED_AT]


def _also(sheet: CsvSheet, positions: list[int]) -> str:
    """Which further rows share a fault, as the tail of a sentence."""
    if len(positions) < 2:
        return ""
    more = ", ".join(str(int(sheet.row[position])) for position in positions[1:6])
    return f" (also row{'s' if len(positions) > 2 else ''} {more}{' ...' if len(positions) > 6 else ''})"


def _two_currencies(sheet: CsvSheet) -> list[Problem]:
    """One problem for each currency other than the commonest."""
    currencies = set(sheet.columns["currency"]) - {""}
    if len(currencies) < 2:
        return []
    rows = _rows_of(sheet.columns["currency"], currencies)
    usual = max(rows, key=lambda currency: len(rows[currency]))
    return [
        Fault("two-currencies", {"currency": usual, "rows": _also(sheet, rows[currency])})
        .at(sheet.place(rows[currency][0], "currency", currency))
        for currency in rows
        if currency != usual
    ]  # fmt: skip


def _two_stocks(sheet: CsvSheet) -> list[Problem]:
    """One problem for each part and seller with two different stocks."""
    stated = np.flatnonzero(~sheet.taken["stock"] & ~np.isnan(sheet.columns["stock"]))
    parts, sellers = sheet.columns["part"][stated], sheet.columns["seller"][stated]
    stock = sheet.columns["stock"][stated]
    group = _groups(rank(parts), rank(sellers))
    low = np.full(group.max(initial=-1) + 1, np.inf)
    high = -low
    np.minimum.at(low, group, stock)
    np.maximum.at(high, group, stock)
    problems = []
    for number in np.flatnonzero(low < high):
        inside = np.flatnonzero(group == number)
        first = inside[0]
        if not parts[first] or not sellers[first]:
            continue
        other = next(i for i in inside if stock[i] != stock[first])
        slots = {
            "stock": f"{stock[first]:g}", "row": str(int(sheet.row[stated[first]])),
            "part": parts[first], "seller": sellers[first],
        }  # fmt: skip
        place = sheet.place(int(stated[other]), "stock", f"{stock[other]:g}")
        problems.append(Fault("stock-differs", slots).at(place))
    return problems


def read_sellers(sheet: CsvSheet) -> tuple[dict[str, Seller], list[Problem]]:
    """What each seller adds, by name, and the sellers that stand twice."""
    sellers: dict[str, Seller] = {}
    first: dict[str, int] = {}
    problems = []
    for position, seller in enumerate(sheet.columns["seller"]):
        if seller in first:
            slots = {"seller": seller, "row": str(int(sheet.row[first[seller]]))}
            problems.append(Fault("doubled-seller", slots).at(sheet.place(position, "seller", seller)))
        elif seller:
            first[seller] = position
            stated = {name: float(sheet.columns[name][position]) for name in Seller.__dataclass_fields__}
            if not any(map(isnan, stated.values())):
                sellers[seller] = Seller(
                    freight=round(stated["freight"] * 100),
                    freight_per_kg=exact(stated["freight_per_kg"]) * 100,
                    free_over=round(stated["free_over"] * 100) if isfinite(stated["free_over"]) else None,
                    min_order=round(stated["min_order"] * 100),
                    tax_pct=exact(stated["tax_pct"]),
                )
    return sellers, problems


def exact(figure: float) -> Fraction:
    """A figure as it was written: the shortest decimal that reads as this float."""
    return Fraction(repr(float(figure)))


def _same_as_before(texts: np.ndarray) -> np.ndarray:
    """Where a text is that of the offer before."""
    same = np.zeros(len(texts), dtype=bool)
    same[1:] = (texts[1:] == texts[:-1]).astype(bool)
    return same


def _price(offers: Offers, position: int) -> str:
    return f"{offers.cents[position] / 100:.2f}"


def _of_offer(
    kind: str, slots: Mapping[str, str], offers: Offers, sheet: CsvSheet, position: int, column: str = "price"
) -> Problem:
    """A warning at the cell of one offer, with the part that it is about."""
    stated = {"price": _price(offers, position), "min_qty": str(offers.min_qty[position]),
              "as_of": str(offers.as_of[position])}  # fmt: skip
    place = Place(sheet.file, int(offers.row[position]), sheet.letters.get(column), column, stated[column])
    return Fault(kind, {**slots, "part": str(offers.part[position])}).at(place)


def _never_used(offers: Offers, sheet: CsvSheet) -> Iterator[Problem]:
    """Offers whose least quantity, in whole packs, is more than there is."""
    least = -(-offers.min_qty // offers.pack) * offers.pack
    for position in np.flatnonzero((offers.stock >= 0) & (least > offers.stock)).tolist():
        slots = {"min_qty": str(least[position]), "stock": str(offers.stock[position])}
        yield _of_offer("stock-below-minimum", slots, offers, sheet, position, "min_qty")


def _prices_apart(offers: Offers, same_part: np.ndarray, sheet: CsvSheet) -> Iterator[Problem]:
    """Of each part whose highest price is far above its lowest: the lowest, which would be taken."""
    if not len(offers):
        return
    first = np.flatnonzero(~same_part)
    low, high = np.minimum.reduceat(offers.cents, first), np.maximum.reduceat(offers.cents, first)
    ends = np.append(first[1:], len(offers))
    for group in np.flatnonzero(high > APART * low).tolist():
        inside = offers.cents[first[group] : ends[group]]
        lowest, highest = (int(first[group] + place) for place in (inside.argmin(), inside.argmax()))
        slots = {"price": _price(offers, lowest), "other": _price(offers, highest), "row": str(offers.row[highest])}
        yield _of_offer("price-apart", slots, offers, sheet, lowest)


def _date_apart(offers: Offers, sheet: CsvSheet) -> Iterator[Problem]:
    """The newest date, where it is more than a year after all others: by it prices are judged to be old."""
    days = sorted(set(offers.as_of))
    if len(days) > 1 and (date.fromisoformat(days[-1]) - date.fromisoformat(days[-2])).days > YEAR_D:
        for position in np.flatnonzero(offers.as_of == days[-1]).tolist():
            yield _of_offer("date-apart", {"newest": days[-2]}, offers, sheet, position, "as_of")


def future_dates(offers: Offers, today: date, file: str) -> Iterator[Problem]:
    """Prices of a day after ``today``."""
    for position in np.flatnonzero(offers.as_of > today.isoformat()).tolist():
        place = Place(file, int(offers.row[position]), None, "as_of", str(offers.as_of[position]))
        yield Fault("future-date", {"today": today.isoformat(), "part": str(offers.part[position])}).at(place)


def offer_warnings(
    offers: Offers, sheet: CsvSheet, sellers: Mapping[str, Seller], sellers_listed: bool
) -> list[Problem]:
    """Offers that can never be used or stand twice, and sellers whose freight nobody states."""
    same_part = _same_as_before(offers.part)
    same_pair = same_part & _same_as_before(offers.seller)
    same_least, same_pack = _same_as_before(offers.min_qty), _same_as_before(offers.pack)
    rises = np.append(False, np.diff(offers.cents) > 0)[: len(offers)]
    warnings = _few(list(_never_used(offers, sheet)), "stocks-below-minimum")
    warnings += _few(list(_prices_apart(offers, same_part, sheet)), "prices-apart")
    warnings += _few(list(_date_apart(offers, sheet)), "dates-apart")
    doubled = []
    for position in np.flatnonzero(same_pair & same_least & same_pack).tolist():
        slots = {"row": str(offers.row[position - 1]), "price": _price(offers, position - 1)}
        doubled.append(_of_offer("doubled-offer", slots, offers, sheet, position))
    warnings += _few(doubled, "doubled-offers")
    dearer = []
    for position in np.flatnonzero(same_pair & ~same_least & rises).tolist():
        slots = {
            "min_qty": str(offers.min_qty[position]), "price": _price(offers, position),
            "row": str(offers.row[position - 1]), "other": _price(offers, position - 1),
            "least": str(offers.min_qty[position - 1]),
        }  # fmt: skip
        dearer.append(_of_offer("dearer-in-bulk", slots, offers, sheet, position))
    warnings += _few(dearer, "many-dearer-in-bulk")
    unlisted = sorted(set(offers.seller) - set(sellers)) if sellers_listed else []
    if len(unlisted) > MOST_APART:
        warnings.append(_summed("sellers-not-listed", unlisted, len(unlisted)).at(Place("sellers.csv")))
    else:
        warnings += [Fault("seller-not-listed", {"seller": seller}).at(Place("sellers.csv")) for seller in unlisted]
    return warnings
