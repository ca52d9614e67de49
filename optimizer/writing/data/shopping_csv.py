"""The shopping list as CSV."""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimizer.writing.words.json_figures import amount
from optimizer.writing.words.spreadsheet import csv_text

if TYPE_CHECKING:
    from optimizer.answers.answer import Answer, Option


COLUMNS = ("seller", "part", "quantity", "unit_price", "cost", "currency")
FREIGHT, TAX = "freight", "tax"  # stand as the part of such a line


def shopping_list(answer: Answer, option: Option) -> str:
    """What to buy of each seller as CSV text, freight and tax as lines of their own, freight that is free too."""
    order, currency = option.bundle.order, answer.catalog.currency
    rows: list[tuple[object, ...]] = [COLUMNS]
    purchases, charged = (order.purchases, order.freight) if order else ((), ())
    tax = dict(order.tax) if order else {}
    for seller, freight in sorted(charged):
        for purchase in purchases:
            rows.extend(
                (seller, purchase.part, line.quantity, amount(line.unit_cents), amount(line.cents), currency)
                for line in purchase.lines
                if line.seller == seller
            )
        for name, cents in ((FREIGHT, freight), (TAX, tax.get(seller, 0))):
            if cents or (name == FREIGHT and answer.catalog.seller(seller).ever_free):
                rows.append((seller, name, 1, amount(cents), amount(cents), currency))
    return csv_text(rows)
