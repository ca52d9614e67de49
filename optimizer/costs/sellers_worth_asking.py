"""Sellers that a cheapest order never needs: another sells what they sell, for no more.

What is left out here is left out of one subproblem, for the parts that it asks for. Only sellers that add a freight and
tax and nothing else are compared, and only one that has enough of a part for the whole need stands for another:
whatever is bought of the one can then be bought of the other instead, alone or beside what is bought there already.
Tax is rounded once for each seller, so that that of two orders in one may be a cent more than that of both apart: one
with tax is left out only where its freight, which is saved then, is a cent or more.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf

from catalog.offers import Seller
from optimizer.costs.market import Market, Offer

Sold = Mapping[str, list[Offer]]  # of one seller, by part


def offers_worth_asking(needed: Mapping[str, int], market: Market) -> dict[str, tuple[Offer, ...]]:
    """The offers of each part, those left out whose seller another stands for. ``needed``: pieces at the most.

    Of equal totals an answer takes the fewest sellers, then those that stand first by name: one whose terms are the
    same in every figure stands for another only where it stands before it.
    """
    every = {part: market.offers_of(part) for part in needed}
    sold: dict[str, dict[str, list[Offer]]] = {}
    for part, offers in every.items():
        for offer in offers:
            if _compared(market.seller(offer.seller)):
                sold.setdefault(offer.seller, {}).setdefault(part, []).append(offer)
    terms = {name: market.seller(name) for name in sold}
    cents = {name: sum(offer.cents for offers in parts.values() for offer in offers) for name, parts in sold.items()}
    plenty: dict[str, list[str]] = {part: [] for part in needed}  # by part those that stay and have enough for all
    left_out = set()
    # one that stands for another most likely comes before it
    for name in sorted(
        sold, key=lambda name: (terms[name].tax_pct, terms[name].freight, -len(sold[name]), cents[name], name)
    ):
        rarest = min(sold[name], key=lambda part: len(plenty[part]))
        if any(_stands_for(sold[o], sold[name], needed, terms[o], terms[name], o < name) for o in plenty[rarest]):
            left_out.add(name)
            continue
        for part, mine in sold[name].items():
            if _enough(mine, needed[part]):
                plenty[part].append(name)
    return {part: tuple(o for o in offers if o.seller not in left_out) for part, offers in every.items()}


def _compared(seller: Seller) -> bool:
    """Whether a seller adds a freight and tax and nothing else."""
    return not (seller.freight_per_kg or seller.min_order or seller.ever_free)


def _enough(offers: Sequence[Offer], needed: int) -> bool:
    """Whether a seller has enough of a part for all that can be needed, by each of its ``offers`` at once."""
    stock = offers[0].stock
    return stock < 0 or sum(offer.packs_for(needed) * offer.pack for offer in offers) <= stock


def _stands_for(
    other: Sold, mine: Sold, needed: Mapping[str, int], its: Seller, own: Seller, first: bool
) -> bool:  # fmt: skip
    """Whether what is bought of one seller is bought of the other for no more, in the same pieces or as many as are
    needed. ``first``: whether the other stands before it by name."""
    if its.freight > own.freight or its.tax_pct > own.tax_pct or (own.tax_pct and not own.freight):
        return False
    every_price = True  # is lower
    for part, offers in mine.items():
        if part not in other or not _enough(other[part], needed[part]):
            return False
        for offer in offers:
            fitting = (each for each in other[part] if each.least <= offer.least and offer.pack % each.pack == 0)
            least = min((each.cents for each in fitting), default=inf)
            if least > offer.cents:
                return False
            every_price = every_price and least < offer.cents
    return its.freight < own.freight or every_price or first
