"""The shopping list as CSV."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from optimizer.writing.words.json_figures import amount

if TYPE_CHECKING:
    from optimizer.answers.answer import Answer, Option


COLUMNS = ("seller", "part", "quantity", "unit_price", "cost", "currency")
FREIGHT, TAX = "freight", "tax"  # stand as the part of such a line


def shopping_list(answer: Answer, option: Option) -> str:
    """What to buy of each seller as CSV text, freight and tax as lines of their own, freight that is free too."""
    order, currency = option.bundle.order, answer.catalog.currency
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    purchases, charged = (order.purchases, order.freight) if order else ((), ())
    tax = dict(order.tax) if order else {}
    for seller, freight in sorted(charged):
        for purchase in purchases:
            writer.writerows(
                (seller, purchase.part, line.quantity, amount(line.unit_cents), amount(line.cents), currency)
                for line in purchase.lines
                if line.seller == seller
            )
        for name, cents in ((FREIGHT, freight), (TAX, tax.get(seller, 0))):
            if cents or (name == FREIGHT and answer.catalog.seller(seller).ever_free):
                writer.writerow((seller, name, 1, amount(cents), amount(cents), currency))
    return text.getvalue()
