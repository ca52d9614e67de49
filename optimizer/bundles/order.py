"""An order: lines of parts from sellers, with the freight and tax that each seller adds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from catalog.offers import Seller
from optimizer.rules import landed_cost


@dataclass(frozen=True)
class Line:
    """One line of an order: pieces of a part from a seller at a price in cents a piece."""

    seller: str
    quantity: int
    unit_cents: int

    @property
    def cents(self) -> int:
        """Cost of the line."""
        return self.quantity * self.unit_cents


@dataclass(frozen=True)
class Purchase:
    """What a bundle needs of one part, what of it is on hand, and what is bought."""

    part: str
    needed: int
    on_hand: int
    lines: tuple[Line, ...]

    @property
    def cents(self) -> int:
        """Cost of the part's lines."""
        return sum(line.cents for line in self.lines)


@dataclass(frozen=True)
class Order:
    """All purchases, the freight of each seller used, and the tax of each that asks any; in cents."""

    purchases: tuple[Purchase, ...]
    freight: tuple[tuple[str, int], ...]
    tax: tuple[tuple[str, int], ...] = ()

    @classmethod
    def of(
        cls, purchases: tuple[Purchase, ...], seller: Callable[[str], Seller],
        weight_kg: Callable[[str], Fraction | None],
    ) -> Order:  # fmt: skip
        """What these purchases come to with what each seller adds; a weight that is not stated counts as none."""
        goods: dict[str, int] = {}
        kg: dict[str, Fraction] = {}
        for purchase in purchases:
            each = weight_kg(purchase.part) or Fraction(0)
            for line in purchase.lines:
                goods[line.seller] = goods.get(line.seller, 0) + line.cents
                kg[line.seller] = kg.get(line.seller, Fraction(0)) + line.quantity * each
        names = sorted(goods)
        freight = {name: landed_cost.freight(seller(name), goods[name], kg[name]) for name in names}
        taxes = {name: landed_cost.tax(seller(name), goods[name], freight[name]) for name in names}
        return cls(purchases, tuple(freight.items()), tuple((name, cents) for name, cents in taxes.items() if cents))

    def goods_of(self, seller: str) -> int:
        """Cost of one seller's lines."""
        return sum(line.cents for purchase in self.purchases for line in purchase.lines if line.seller == seller)

    @property
    def goods_cents(self) -> int:
        """Cost of all lines."""
        return sum(purchase.cents for purchase in self.purchases)

    @property
    def freight_cents(self) -> int:
        """Freight of all sellers used."""
        return sum(cents for _, cents in self.freight)

    @property
    def tax_cents(self) -> int:
        """Tax of all sellers used."""
        return sum(cents for _, cents in self.tax)

    @property
    def cents(self) -> int:
        """The delivered total."""
        return self.goods_cents + self.freight_cents + self.tax_cents
