"""How many pieces a bundle needs of everything, and what a seller adds to them; money in whole cents."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from catalog.offers import Seller

Pieces = TypeVar("Pieces", int, NDArray[np.int64])  # of one offer, or of many


def least_bought(min_qty: Pieces, pack: Pieces) -> Pieces:
    """The least pieces that an offer sells: its least quantity rounded up to whole packs."""
    return -(-min_qty // pack) * pack


HALF = Fraction(1, 2)


def half_up(cents: Fraction) -> int:
    """An exact amount rounded to the cent, half a cent up."""
    return floor(cents + HALF)


def tax_share(seller: Seller) -> Fraction:
    """A seller's tax as a share of goods and freight."""
    return seller.tax_pct / 100


def with_charges(seller: Seller, cents: int, kg: Fraction) -> Fraction:
    """What a piece of so many cents and kg adds to an order that pays its freight, before rounding: its price and the
    freight of its weight, both with tax."""
    return (1 + tax_share(seller)) * (cents + seller.freight_per_kg * kg)


def freight(seller: Seller, goods: int, kg: Fraction) -> int:
    """Freight in cents of an order of ``goods`` cents that weighs ``kg``: none from ``free_over`` up, else the
    freight of an order and that of its weight, rounded once. An order without a line has no freight."""
    if seller.free_over is not None and goods >= seller.free_over:
        return 0
    return half_up(seller.freight + seller.freight_per_kg * kg)


def tax(seller: Seller, goods: int, freight: int) -> int:
    """Tax in cents on goods and freight in cents, rounded once a seller."""
    return half_up(tax_share(seller) * (goods + freight))


def money(cents: int) -> Decimal:
    """Cents as money with two decimals."""
    return Decimal(cents).scaleb(-2)
