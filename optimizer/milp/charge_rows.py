"""What a seller adds to its lines as whole-number rows of a model: freight, where it is free, tax, a least order.

The rules themselves are in :mod:`optimizer.rules.landed_cost`. Here they become rows whose least solution is their
result to the cent, rounding included. No coefficient of a rounding or of a threshold is above ``MOST``: a solver takes
a figure within 1e-6 for whole, and a row that counts whole things is then off by far less than one of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from math import gcd, lcm
from typing import Any, Protocol, TypeVar

from catalog.offers import Seller
from optimizer.rules import landed_cost

MOST = 10_000  # times the solver's 1e-6 is a hundredth of what such a row counts

V = TypeVar("V")
Sum = list[tuple[V, int]]  # a sum of coefficients times variables


class RowSink(Protocol[V]):
    """A model to which whole-number variables and rows can be added."""

    def variable(self, most: int) -> V:
        """A new variable from 0 to ``most``."""

    def most(self, variable: V) -> int:
        """The most that a variable can be."""

    def at_least(self, terms: Sum[V], least: int) -> None:
        """The row that a sum is at least a whole number."""


def merged(terms: Sequence[tuple[V, Any]]) -> list[tuple[V, Any]]:
    """A sum with each variable once."""
    sums: dict[V, Any] = {}  # whole numbers or fractions, as they come
    for variable, coefficient in terms:
        sums[variable] = sums.get(variable, 0) + coefficient
    return [(variable, coefficient) for variable, coefficient in sums.items() if coefficient]


def floored(rows: RowSink[V], terms: Sum[V], divisor: int) -> Sum[V]:
    """⌊sum / divisor⌋ as a sum: never below it, and equal to it where it is made as small as the rows allow.

    Whole multiples of the divisor are taken out first, ⌊(d·h + l)/d⌋ = h + ⌊l/d⌋. What is left is one variable e with
    d·e ≥ l − (d − 1). A divisor above ``MOST`` goes in two steps, ⌊(b·h + l)/(a·b)⌋ = ⌊(h + ⌊l/b⌋)/a⌋.
    """
    terms = merged(terms)
    low = divisor if divisor <= MOST else gcd(divisor, MOST)
    high = divisor // low
    whole = [(variable, coefficient // low) for variable, coefficient in terms]
    rest = [(variable, coefficient % low) for variable, coefficient in terms if coefficient % low]
    most = sum(coefficient * rows.most(variable) for variable, coefficient in rest) // low
    if most:
        each = rows.variable(most)
        rows.at_least([(each, low), *((variable, -coefficient) for variable, coefficient in rest)], 1 - low)
        whole.append((each, 1))
    return floored(rows, whole, high) if high > 1 else merged(whole)


def half_up(rows: RowSink[V], terms: Sequence[tuple[V, Fraction]], used: V) -> Sum[V]:
    """An exact sum rounded half up, as :func:`floored` has it: ⌊(2·S·sum + S)/(2·S)⌋ for a common denominator S.
    ``used`` is 0 where all of the sum is, and then so is the result."""
    whole = lcm(*(share.denominator for _, share in terms))
    scaled = [(variable, int(2 * whole * share)) for variable, share in terms]
    return floored(rows, [*scaled, (used, whole)], 2 * whole)


def reaches(rows: RowSink[V], terms: Sum[V], chosen: V, least: int) -> None:
    """The row that a sum is at least ``least`` where ``chosen`` is 1.

    Where a figure in it is large it goes in two steps: with b = ``MOST`` and least = b·h + l, the sum reaches it when
    its high parts and ⌊(its low parts + b − l)/b⌋ come to h + 1.
    """
    if max(least, *(coefficient for _, coefficient in terms)) <= MOST:
        rows.at_least([*terms, (chosen, -least)], 0)
        return
    high, low = divmod(least, MOST)
    rest = [(variable, coefficient % MOST) for variable, coefficient in terms if coefficient % MOST]
    carried = rows.variable(sum(c * rows.most(v) for v, c in rest) // MOST + 1)
    rows.at_least([*rest, (chosen, MOST - low), (carried, -MOST)], 0)
    tall = [(variable, coefficient // MOST) for variable, coefficient in terms if coefficient >= MOST]
    reaches(rows, [*tall, (carried, 1)], chosen, high + 1)


def where(rows: RowSink[V], chosen: V, amount: int) -> Sum[V]:
    """``amount`` where ``chosen`` is 1 as a sum that is never more, in steps of ``MOST`` where it is large."""
    high, low = divmod(amount, MOST)
    if not high:
        return [(chosen, low)]
    steps = rows.variable(high)
    rows.at_least([*where(rows, chosen, high), (steps, -1)], 0)
    return [(steps, MOST), (chosen, low)]


def most_bought(seller: Seller, needed: Sequence[tuple[int, int, Fraction]]) -> list[int]:
    """The most packs of each offer that a cheapest order takes from one seller, spare ones included.

    ``needed``: packs that surely cover all that can be needed, cents and kg of a pack. A pack beyond those is there to
    reach a threshold, else the order without it would be cheaper: so without it the goods would fall short of
    ``free_over`` or ``min_order``, and packs · cents is at most the threshold rounded up to a pack. Where there is no
    ``min_order``, all spare packs together cost no more than the freight they save and a cent of rounding.
    """
    free_over = seller.free_over if seller.ever_free and seller.free_over is not None else 0
    threshold = max(free_over, seller.min_order)
    kg = sum((packs * weight for packs, _, weight in needed), Fraction(0))
    freight = replace(seller, free_over=None)
    saved = landed_cost.freight(freight, 0, kg) + 1 if free_over else 0
    most = []
    for packs, cents, _ in needed:
        reach = max(packs, -(-threshold // cents))
        most.append(reach if seller.min_order else min(reach, packs + saved // cents))
    return most


def charge_rows(
    rows: RowSink[V], seller: Seller, used: V, lines: Sequence[tuple[V, int, Fraction]]
) -> tuple[Sum[V], V | None]:  # fmt: skip
    """Freight and tax of one seller in cents as a sum, and the rows that make it so; and what is 1 where its freight
    is free, None where it never is.

    ``lines``: what can be bought, as (variable, cents, kg) of one step of the variable; ``used`` is 1 where any of
    it is bought.
    """
    goods = [(variable, cents) for variable, cents, _ in lines]
    if seller.min_order:
        reaches(rows, goods, used, seller.min_order)
    weight = [(variable, seller.freight_per_kg * kg) for variable, _, kg in lines if kg and seller.freight_per_kg]
    by_weight = half_up(rows, weight, used) if weight else []  # the freight of an order is whole cents besides
    freight, free = [(used, seller.freight)], None
    if seller.ever_free and seller.free_over is not None:
        free = rows.variable(1)
        reaches(rows, goods, free, seller.free_over)
        rows.at_least([(used, 1), (free, -1)], 0)
        freight.append((free, -seller.freight))
        if by_weight:
            most = sum(coefficient * rows.most(variable) for variable, coefficient in by_weight)
            paid = rows.variable(most)
            charged = [(variable, -coefficient) for variable, coefficient in by_weight]
            rows.at_least([(paid, 1), *charged, *where(rows, free, most)], 0)
            by_weight = [(paid, 1)]
    freight = merged([*freight, *by_weight])
    if not seller.tax_pct:
        return freight, free
    taxed = [(variable, landed_cost.tax_share(seller) * cents) for variable, cents in (*goods, *freight)]
    return merged([*freight, *half_up(rows, taxed, used)]), free
