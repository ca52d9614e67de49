"""What parts cost at the least: tables of lower bounds for every number of pieces and every set of sellers.

What a seller adds to its prices is in them as :mod:`optimizer.costs.seller_bounds` has it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from itertools import chain
from math import ceil, gcd
from typing import Any

import numpy as np

from catalog.offers import Seller, codes_of
from catalog.reader import AnyTable, Catalog, Name
from optimizer.candidates.rows import TableRows
from optimizer.candidates.terms import Setting
from optimizer.costs.seller_bounds import allowance, least_each, least_fee, rounded_down, rounded_off
from optimizer.rules import landed_cost
from optimizer.rules.comparisons import whole_up

MOST_SELLER_GROUPS = 5  # sellers beyond these are folded into one, so that sets of sellers stay few


@dataclass(frozen=True)
class Offer:
    """One price row that the job may use. ``stock`` -1 = enough; it is shared by the rows of part and seller. ``row``
    tells two rows of one content apart."""

    part: str
    seller: str
    cents: int
    min_qty: int
    pack: int
    stock: int
    row: int = 0

    @property
    def least(self) -> int:
        """The least pieces it sells."""
        return int(landed_cost.least_bought(self.min_qty, self.pack))

    def packs_for(self, pieces: int) -> int:
        """The fewest packs that it sells of so many pieces or more."""
        return max(-(-pieces // self.pack), self.least // self.pack)


@dataclass(frozen=True)
class Ladder:
    """Lower bounds on the cost of any number of pieces of each part of one table.

    ``cents`` and ``least`` have the shape (parts, seller groups, rows); absent rows are infinite.
    ``most`` is how many pieces can be had at all, ``on_hand`` how many are there already; both (parts,).
    """

    cents: np.ndarray
    least: np.ndarray
    most: np.ndarray
    on_hand: np.ndarray

    def by_group(self, index: np.ndarray, pieces: np.ndarray | float) -> np.ndarray:
        """Cents at the least, (len(index), groups), of ``pieces`` of each part from one seller group alone.

        Below the cost of any mix of offers: what is bought costs at least its cheapest offer's price for every
        piece, and at least that offer's least quantity. With what is on hand nothing is bought.
        """
        wanted = np.broadcast_to(np.asarray(pieces, dtype=float), (len(index),))
        bought = np.maximum(wanted - self.on_hand[index], 0.0)
        cost = np.full((len(index), self.cents.shape[1]), np.inf)
        with np.errstate(invalid="ignore"):
            for row in range(self.cents.shape[2]):
                least = np.maximum(self.least[index, :, row], bought[:, None])
                np.fmin(cost, least * self.cents[index, :, row], out=cost)  # an absent row may give no number
        cost = np.where((wanted > self.most[index])[:, None], np.inf, cost)
        return np.where((bought <= 0)[:, None], 0.0, cost)


@dataclass(frozen=True)
class Market:
    """Offers that the job may use, and their lower bounds by set of sellers.

    Sellers stand in groups: the ``MOST_SELLER_GROUPS`` with most offers alone, all others together as one seller
    with the least fee and every price among them. That is at or below what any set of sellers asks.
    A *set* is a bit mask over groups; ``freight`` is the cents that each set adds once, with ``rounding`` taken off,
    shape (2**groups,). ``each``: what a piece costs at the least by each offer of the catalogue, what the seller adds
    to it included; infinite where it cannot be bought.
    """

    catalog: Catalog
    setting: Setting
    group: dict[str, int]
    groups: int
    freight: np.ndarray
    each: np.ndarray
    rounding: float = 0.0
    ladders: dict[str, Ladder] = field(default_factory=dict)
    extra_cache: dict[tuple[str, str, int], np.ndarray] = field(default_factory=dict)
    offer_cache: dict[str, tuple[Offer, ...]] = field(default_factory=dict)
    seller_cache: dict[str, frozenset[str]] = field(default_factory=dict)
    # what :mod:`optimizer.costs.order_bounds` keeps of a market, of a type that is known only there
    sides: dict[tuple[frozenset[str], frozenset[str]], Any] = field(default_factory=dict)
    # what :mod:`optimizer.costs.tank_bounds` does
    tanks: dict[tuple[object, ...], Any] = field(default_factory=dict)

    @classmethod
    def of(cls, catalog: Catalog, setting: Setting) -> Market:
        """Group the sellers and prepare the tables of every kind."""
        offers = catalog.offers
        allowed = setting.job.allow.sellers if setting.keeps("allowed") else None
        codes, found = codes_of(offers.seller)
        names, counts = np.array(found, dtype=object), np.bincount(codes, minlength=len(found))
        usable = np.ones(len(names), dtype=bool) if allowed is None else np.isin(names, list(allowed))
        order = sorted((i for i in range(len(names)) if usable[i]), key=lambda i: (-counts[i], names[i]))
        alone, folded = order[:MOST_SELLER_GROUPS], order[MOST_SELLER_GROUPS:]
        group_of = np.full(len(names), -1)
        for position, seller in enumerate(alone):
            group_of[seller] = position
        group_of[folded] = len(alone)
        groups = len(alone) + bool(folded)
        fees = [least_fee(catalog.seller(str(names[s]))) for s in alone]
        if folded:
            fees.append(min(least_fee(catalog.seller(str(names[s]))) for s in folded))
        rounding = sum(allowance(catalog.seller(str(names[s]))) for s in order)
        freight = np.zeros(1 << groups)
        for mask in range(1, 1 << groups):
            low = (mask & -mask).bit_length() - 1
            freight[mask] = freight[mask & (mask - 1)] + fees[low]
            if setting.terms.most_sellers is not None and mask.bit_count() > setting.terms.most_sellers:
                freight[mask] = np.inf
        freight[1:] -= rounding
        group = {str(names[s]): int(group_of[s]) for s in order}
        offer_group = group_of[codes] if len(codes) else np.zeros(0, dtype=int)
        every = {part: row for row, part in enumerate(chain(*(table.part for table in catalog.tables.values())))}
        place, start = np.array([every.get(part, -1) for part in offers.part.tolist()], dtype=np.int64), 0
        each = least_each(catalog, [catalog.seller(str(name)) for name in names], codes, place)
        market = cls(catalog, setting, group, groups, freight, each, rounding)
        for kind, table in catalog.tables.items():
            market.ladders[kind] = market._ladder(table, place - start, offer_group)
            start += len(table)
        return market

    def _ladder(self, table: AnyTable, place: np.ndarray, offer_group: np.ndarray) -> Ladder:
        offers, keeps, more = self.catalog.offers, self.setting.keeps, int(self.setting.slack("stock"))
        count = len(table)
        on_hand = np.zeros(count)
        for part, pieces in self.setting.job.on_hand.items():
            row = table.index_of(part)
            if row is not None and part not in self.excluded:
                on_hand[row] = pieces
        mine = (place >= 0) & (place < count)
        usable = mine & (offer_group >= 0) & np.isfinite(self.each)
        least = landed_cost.least_bought(offers.min_qty, offers.pack)
        if keeps("stock"):
            usable &= (offers.stock < 0) | (least <= offers.stock + more)
        shut = [row for row in map(table.index_of, self.excluded) if row is not None]
        usable &= ~np.isin(place, shut)
        rows = np.flatnonzero(usable)
        order = np.lexsort((rows, offer_group[rows], place[rows]))
        rows = rows[order]
        at, group = place[rows], offer_group[rows]
        kept = rows[undominated(at * max(self.groups, 1) + group, self.each[rows], least[rows])]
        part, seller_group = place[kept], offer_group[kept]
        slot = part * max(self.groups, 1) + seller_group
        first = np.r_[True, slot[1:] != slot[:-1]][: len(slot)]
        depth = np.arange(len(slot)) - np.maximum.accumulate(np.where(first, np.arange(len(slot)), 0))
        shape = (count, max(self.groups, 1), int(depth.max(initial=0)) + 1)
        cents, pieces_least = np.full(shape, np.inf), np.zeros(shape)
        cents[part, seller_group, depth] = self.each[kept]
        pieces_least[part, seller_group, depth] = least[kept]
        most = on_hand.copy()
        if keeps("stock"):
            seller = offers.seller[rows]
            new = np.r_[True, (at[1:] != at[:-1]) | (seller[1:] != seller[:-1])][: len(at)]
            # rows of one part and seller stand together only within a group of one seller; a folded group may
            # count a stock twice, which keeps ``most`` an upper bound
            held = offers.stock[rows][new]
            np.add.at(most, at[new], np.where(held < 0, np.inf, held + more))
        else:
            most[at] = np.inf
        return Ladder(cents, pieces_least, most, on_hand)

    @property
    def excluded(self) -> frozenset[str]:
        """Parts that may not be had, extras among them."""
        barred = self.setting.job.allow.exclude if self.setting.keeps("allowed") else ()
        return self.setting.terms.never | frozenset(barred)

    def on_hand(self, part: str) -> int:
        """Pieces of a part that are there already and may be used."""
        return 0 if part in self.excluded else self.setting.job.on_hand.get(part, 0)

    def by_set(self, kind: str, index: np.ndarray, pieces: np.ndarray | float) -> np.ndarray:
        """Cents at the least, (len(index), sets), of ``pieces`` of each part bought within each set of sellers."""
        return self.spread(self.ladders[kind].by_group(index, pieces), self.ladders[kind], index, pieces)

    def upper_cost(self, kind: str, row: int, pieces: int, beside: int = 0) -> np.ndarray:
        """Cents by set of sellers, (sets,), for which so many pieces can be had from one seller: at or above the least.
        Infinite where no seller that stands alone has them.

        What the seller adds to them is in it, its fee left out, and what rounding may move while another part leaves
        the bundle for this one. ``beside``: so many pieces may be needed besides, which may take what is on hand and
        what is in stock.
        """
        part = str(self.catalog.tables[kind].part[row])
        on_hand = self.on_hand(part)
        short = pieces if 0 < beside > on_hand - pieces else pieces - on_hand
        kg = self.catalog.weight_kg(part) or Fraction(0)
        alone = np.full((1, max(self.groups, 1)), np.inf)
        for offer in self.offers_of(part):
            group = self.group[offer.seller]
            quantity = max(-(-short // offer.pack) * offer.pack, offer.least)
            apart = sum(place == group for place in self.group.values()) == 1
            if apart and (offer.stock < 0 or (quantity <= offer.stock and not beside)):
                each = landed_cost.with_charges(self.seller(offer.seller), offer.cents, kg)
                alone[0, group] = min(alone[0, group], ceil(quantity * each + self.moved))
        ladder = self.ladders[kind]
        if short > 0:
            ladder = replace(ladder, on_hand=np.zeros_like(ladder.on_hand))
        cents: np.ndarray = self.spread(alone, ladder, np.array([row]), float(pieces))[0]
        return cents

    def from_one_more(self, most: np.ndarray) -> np.ndarray:
        """Cents by set of sellers, (sets,), for which something can be had from one seller, of the set or beside it:
        ``most`` of :meth:`upper_cost`, or from another seller with the fee that it asks at the most. One that takes no
        order below a sum is not asked."""
        found = most
        for group, fee in enumerate(self._most_fees):
            found = np.minimum(found, most[1 << group] + fee)
        return found

    @cached_property
    def _most_fees(self) -> list[float]:
        """Cents at the most that each group asks once; infinite where several sellers stand in it."""
        fees = [np.inf] * self.groups
        for name, group in self.group.items():
            seller, alone = self.seller(name), sum(place == group for place in self.group.values()) == 1
            if alone and not seller.min_order:
                fees[group] = float(ceil((1 + landed_cost.tax_share(seller)) * seller.freight))
        return fees

    def least_saving(self, kind: str, row: int, pieces: int, beside: int = 0) -> np.ndarray:
        """Cents by set of sellers, (sets,), that a bundle saves at the least without so many pieces of a part, but for
        fees and rounding. ``beside``: so many pieces may be needed besides. Where a least quantity, a pack or a piece
        on hand would serve both, nothing is saved."""
        cents: np.ndarray = self.by_set(kind, np.array([row]), pieces)[0]
        part = str(self.catalog.tables[kind].part[row])
        if beside and (self.on_hand(part) or any(offer.least > 1 for offer in self.offers_of(part))):
            cents = np.where(np.isinf(cents), cents, 0.0)
        return cents

    @cached_property
    def moved(self) -> Fraction:
        """Cents at the most by which rounding can move a total when one part takes another's place."""
        return sum((rounded_off(self.seller(name)) for name in self.group), Fraction(0)) * 2

    def spread(self, alone: np.ndarray, ladder: Ladder, index: np.ndarray, pieces: np.ndarray | float) -> np.ndarray:
        """From each seller group alone to each set of groups: the least within the set."""
        wanted = np.broadcast_to(np.asarray(pieces, dtype=float), (len(index),))
        table = np.empty((1 << self.groups, len(alone)))  # a set after the other: each is one stretch of memory
        table[0] = np.where(wanted <= ladder.on_hand[index], 0.0, np.inf)
        for group, cents in enumerate(alone.T[: self.groups]):
            np.minimum(table[: 1 << group], cents, out=table[1 << group : 2 << group])
        return table.T

    def least_by_set(self, kind: str, index: np.ndarray, pieces: np.ndarray | float) -> tuple[np.ndarray, np.ndarray]:
        """The least of :meth:`by_set` of each part over all sets, (len(index),), and of each set over all parts,
        (sets,). The set of all groups has the least of a part; the least of a set over parts is that over its
        groups of the least that any part costs there, or nothing where one is on hand."""
        ladder = self.ladders[kind]
        alone = ladder.by_group(index, pieces)
        wanted = np.broadcast_to(np.asarray(pieces, dtype=float), (len(index),))
        there = np.where(wanted <= ladder.on_hand[index], 0.0, np.inf)
        of_sets = np.array([there.min(initial=np.inf)])
        for cents in alone.min(axis=0, initial=np.inf)[: self.groups]:
            of_sets = np.concatenate([of_sets, np.minimum(of_sets, cents)])
        return np.minimum(alone[:, : self.groups].min(axis=1, initial=np.inf), there), of_sets

    def extras_by_set(self, per: str, when: str, count: int) -> np.ndarray:
        """Cents at the least, (sets,), of all extras of one ``per`` and ``when`` that are counted ``count`` times."""
        key = (per, when, count)
        if key not in self.extra_cache:
            table = self.catalog.extras
            total = np.zeros(1 << self.groups)
            if len(table) and count:
                rows = np.flatnonzero((table["per"] == per) & (table["when"] == when))
                pieces = whole_up(table["quantity"][rows] * count)
                total = self.by_set("extra", rows, pieces).sum(axis=0) if len(rows) else total
            self.extra_cache[key] = total
        return self.extra_cache[key]

    def offers_of(self, part: str) -> tuple[Offer, ...]:
        """The offers of one part that the job may use, by seller, least quantity and price."""
        if part not in self.offer_cache:
            self.offer_cache[part] = tuple(self._offers(part))
        return self.offer_cache[part]

    def _offers(self, part: str) -> Iterator[Offer]:
        if part in self.excluded:
            return
        offers = self.catalog.offers
        low, high = np.searchsorted(offers.part, part, "left"), np.searchsorted(offers.part, part, "right")
        for row in range(int(low), int(high)):
            seller = str(offers.seller[row])
            if self.group.get(seller, -1) < 0 or np.isinf(self.each[row]):
                continue
            stock = int(offers.stock[row]) if self.setting.keeps("stock") else -1
            stock += int(self.setting.slack("stock")) if stock >= 0 else 0
            least, pack = int(offers.min_qty[row]), int(offers.pack[row])
            offer = Offer(part, seller, int(offers.cents[row]), least, pack, stock, row)
            if stock < 0 or offer.least <= stock:
                yield offer

    def sellers_of(self, part: str) -> frozenset[str]:
        """The sellers that a part may be bought from."""
        if part not in self.seller_cache:
            self.seller_cache[part] = frozenset(offer.seller for offer in self.offers_of(part))
        return self.seller_cache[part]

    def alone(
        self, part: str, pieces: float, pays_weight: bool = False, whole: bool = False
    ) -> dict[str, float]:  # fmt: skip
        """Cents at the least of ``pieces`` bought (after what is on hand), by seller, from that seller alone; of fewer
        pieces, beside another seller's, at the least as great a share of that.

        ``pays_weight``: where freight by weight is paid though it might be free; ``whole``: where no other seller
        brings any, so that the pieces come to whole packs.
        """
        cost: dict[str, float] = {}
        packs: dict[str, int] = {}
        for offer in self.offers_of(part) if whole else ():
            packs[offer.seller] = gcd(packs.get(offer.seller, 0), offer.pack)
        for offer in self.offers_of(part):
            each = float(self.each[offer.row])
            if pays_weight:
                kg = self.catalog.weight_kg(part) or Fraction(0)
                each = rounded_down(landed_cost.with_charges(self.seller(offer.seller), offer.cents, kg))
            pack = packs.get(offer.seller, 0)
            bought = ceil(pieces / pack) * pack if pack else pieces
            cents = each * max(offer.least, bought)
            cost[offer.seller] = min(cents, cost.get(offer.seller, np.inf))
        return cost

    @cached_property
    def thresholds(self) -> frozenset[str]:
        """The sellers of whom an order may be worth making up: for free freight, or to be taken at all."""
        sellers = ((name, self.seller(name)) for name in self.group)
        return frozenset(name for name, seller in sellers if seller.ever_free or seller.min_order)

    def makes_up(self, part: str) -> bool:
        """Whether a part that nothing else asks for could be worth its price by making up an order."""
        return bool(self.thresholds) and any(offer.seller in self.thresholds for offer in self.offers_of(part))

    def seller(self, name: str) -> Seller:
        """What a seller adds to an order."""
        return self.catalog.seller(name)


def rows_with_price(rows: TableRows[Name], market: Market) -> TableRows[Name]:
    """The rows of which at least one piece can be had."""
    ladder = market.ladders[rows.table.kind]
    return rows.take(np.flatnonzero(ladder.most[rows.index] >= 1))


def undominated(slot: np.ndarray, cents: np.ndarray, least: np.ndarray) -> np.ndarray:
    """Positions of the rows that no other row of their slot beats in price and in least quantity; slots ascending,
    the rows of each by price."""
    order = np.lexsort((least, cents, slot))
    # a step down from slot to slot, larger than any least quantity, lets one running minimum serve all slots
    level = least[order] - slot[order] * (least.max(initial=0) + 1)
    before = np.r_[np.iinfo(np.int64).max, np.minimum.accumulate(level)[:-1]][: len(level)]
    kept: np.ndarray = order[level < before]
    return kept
