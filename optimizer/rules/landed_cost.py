"""How many pieces a bundle needs of everything, and what a seller adds to them; money in whole cents."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import Any

from catalog.offers import Seller
from optimizer.rules.tolerance import whole_up


@dataclass(frozen=True)
class Basis:
    """What the extras are counted from. ``fused_…`` count only what belongs to fused strings."""

    converters: int
    batteries: int
    bank_strings: int
    strings: int
    panels: int
    rows: int
    fused_strings: int
    fused_panels: int
    fused_rows: int


def extra_count(per: str, when: str, basis: Basis) -> int:
    """How many times an extra's quantity is needed: by its ``per``, and only ``when`` its condition holds."""
    counts = {
        "system": 1,
        "converter": basis.converters,
        "battery": basis.batteries,
        "bank-string": basis.bank_strings,
        "string": basis.strings,
        "panel": basis.panels,
        "row": basis.rows,
    }
    if when == "stacked" and basis.converters < 2:
        return 0
    if when == "paralleled-bank" and basis.bank_strings < 2:
        return 0
    if when == "fused":
        fused = {"string": basis.fused_strings, "panel": basis.fused_panels, "row": basis.fused_rows}
        return fused.get(per, counts[per] if basis.fused_strings else 0)
    return counts[per]


def extra_pieces(extra: Mapping[str, Any], basis: Basis) -> int:
    """Pieces of an extra that a bundle needs: its count times its quantity, rounded up."""
    return int(whole_up(extra_count(extra["per"], extra["when"], basis) * extra["quantity"]))


def least_bought(min_qty: Any, pack: Any) -> Any:
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
