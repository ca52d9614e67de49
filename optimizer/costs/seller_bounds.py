"""What a seller adds to its prices at the least, as prices, fees and an allowance that bounds are made of.

All money in cents, as floats of whole numbers, or of whole ``GRAIN``-ths where freight by weight or tax is in them
(sums of either are exact far beyond any price list).

What a seller adds is in the bounds as a price for each piece, a fee for the seller, and an allowance for rounding. Of a
seller with tax share q from whom G cents of goods and W kg are bought:

- freight is rounded from freight + freight_per_kg · W, so that it is at least that less half a cent, where it is never
  free; where it may be, it is at least 0;
- tax is at least q · (G + freight) less half a cent.

So the total is at least (1 + q) · (G + freight_per_kg · W) + (1 + q) · freight, less (1 + q)/2 where freight goes by
weight and 1/2 where there is tax; or (1 + q) · G less 1/2 where freight may be free. G and W add up piece by piece: the
price of a piece in the bounds is (1 + q) · (price + freight_per_kg · weight). The allowance of all sellers is taken off
once (``rounding``), whoever is used, so that a fee is never below zero and leaving a seller out stays a bound.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from math import floor

import numpy as np

from catalog.offers import Seller
from catalog.reader import Catalog
from optimizer.rules import landed_cost

GRAIN = 1024  # parts of a cent that prices in bounds are rounded down to
HAIR = 1e-12  # more than a float's product is off: a price rounded down is at or below the exact one


def rounded_down(cents: Fraction) -> float:
    """An exact amount as a float of whole ``GRAIN``-ths at or below it."""
    return floor(cents * GRAIN) / GRAIN


def least_fee(seller: Seller) -> float:
    """Cents at the least that a seller asks once, but for rounding: its freight with tax where it is never free."""
    return 0.0 if seller.free_over is not None else rounded_down((1 + landed_cost.tax_share(seller)) * seller.freight)


def allowance(seller: Seller, pays_weight: bool = False) -> float:
    """Cents that rounding can take off what the bounds count of a seller: freight that may be free is not in them, but
    for an order that ``pays_weight``."""
    counted = seller if pays_weight or seller.free_over is None else replace(seller, freight_per_kg=Fraction(0))
    return -rounded_down(-rounded_off(counted))


def rounded_off(seller: Seller) -> Fraction:
    """Cents at the most between a seller's charges and what they were before rounding: half a cent of freight by weight
    and the tax on that, half a cent of tax."""
    return ((1 + landed_cost.tax_share(seller)) * bool(seller.freight_per_kg) + bool(seller.tax_pct)) / Fraction(2)


def least_each(catalog: Catalog, sellers: Sequence[Seller], of: np.ndarray, place: np.ndarray) -> np.ndarray:
    """What a piece costs at the least by each offer: its price, freight by weight where that is never free, and tax.

    ``of``: the place of each offer's seller among ``sellers``; ``place``: that of its part among the parts of all
    tables. Infinite where the seller charges by weight and the part's is not stated: it is not bought there.
    """
    each: np.ndarray = catalog.offers.cents.astype(float)
    if all(seller.plain for seller in sellers):
        return each
    tables = catalog.tables.values()
    weights = [table.columns.get("weight_kg", np.full(len(table), np.nan)) for table in tables]
    weight = np.concatenate(weights)[place]
    for number, seller in enumerate(sellers):
        rows = np.flatnonzero(of == number)
        if seller.plain or not len(rows):
            continue
        by_weight = float(seller.freight_per_kg) if seller.free_over is None else 0.0
        if by_weight or seller.tax_pct:
            cents = each[rows] + by_weight * np.nan_to_num(weight[rows])
            each[rows] = np.floor(cents * float(1 + landed_cost.tax_share(seller)) * (1 - HAIR) * GRAIN) / GRAIN
        if seller.freight_per_kg:
            each[rows] = np.where(np.isnan(weight[rows]), np.inf, each[rows])
    return each
