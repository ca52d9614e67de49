"""The order judged: prices, stock, that everything is covered, and the budget."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from catalog.reader import Catalog
from optimizer.auditor.figures import BundleFigures
from optimizer.auditor.reading import Reading, yes
from optimizer.bundles.needs import pieces_needed
from optimizer.bundles.order import Order
from optimizer.rules import landed_cost


def order_readings(f: BundleFigures) -> Iterator[Reading]:
    """What is bought, against the price list and the budget."""
    job, order = f.job, f.bundle.order
    budget = job.need.budget_cents
    if order is None:
        if f.bundle.quoted_cents is not None and budget is not None:
            quoted = f.bundle.quoted_cents
            yield Reading("budget", quoted / 100, budget / 100, quoted / 100, budget / 100, "",
                          {"goods": quoted / 100, "freight": 0.0, "tax": 0.0})  # fmt: skip
        return
    if f.catalog is not None:
        yield from list(stock(f, order, f.catalog))
    needs = pieces_needed(f.bundle, job, f.catalog) if f.catalog is not None else {}
    missing = []
    covered = {purchase.part: purchase for purchase in order.purchases}
    for part, needed in needs.items():
        purchase = covered.get(part)
        on_hand = min(needed, job.on_hand.get(part, 0))
        bought = sum(line.quantity for line in purchase.lines) if purchase else 0
        if bought + on_hand < needed or (purchase and (purchase.needed != needed or purchase.on_hand != on_hand)):
            missing.append(part)
    due = order if f.catalog is None else Order.of(order.purchases, f.catalog.seller, f.catalog.weight_kg)
    if f.catalog is not None:
        missing += charges(f, order, due, f.catalog)
    yield yes("priced", not missing, missing=", ".join(missing) or "everything is covered")
    if budget is not None:
        total = due.cents
        yield Reading("budget", total / 100, budget / 100, total / 100, budget / 100, "",
                      {"goods": due.goods_cents / 100, "freight": due.freight_cents / 100,
                       "tax": due.tax_cents / 100})  # fmt: skip


def charges(f: BundleFigures, order: Order, due: Order, catalog: Catalog) -> Iterator[str]:
    """What of an order is not as its sellers have it; ``due``: the same lines with what the sellers add."""
    for what, stated, right in (("freight", order.freight, due.freight), ("tax", order.tax, due.tax)):
        asked, is_due = dict(stated), dict(right)
        for seller in sorted(asked.keys() | is_due.keys()):
            found, wanted = (landed_cost.money(cents.get(seller, 0)) for cents in (asked, is_due))
            if found != wanted:
                yield f"{what} of {seller} {wanted}, not {found}"
    for name, _ in due.freight:
        goods, least = due.goods_of(name), catalog.seller(name).min_order
        if goods < least:
            yield f"{name} sells from {landed_cost.money(least)} up, not {landed_cost.money(goods)}"
    for purchase in order.purchases:
        for line in purchase.lines:
            if catalog.seller(line.seller).freight_per_kg and catalog.weight_kg(purchase.part) is None:
                yield f"{purchase.part} from {line.seller}: no weight to charge freight for"


def stock(f: BundleFigures, order: Order, catalog: Catalog) -> Iterator[Reading]:
    """Every line against the price list: its price, packs, least quantity, and the seller's stock."""
    offers = catalog.offers
    for purchase in order.purchases:
        low, high = (int(np.searchsorted(offers.part, purchase.part, side)) for side in ("left", "right"))
        taken: dict[str, int] = {}
        for line in purchase.lines:
            taken[line.seller] = taken.get(line.seller, 0) + line.quantity
            matches = any(
                offers.seller[row] == line.seller
                and offers.cents[row] == line.unit_cents
                and line.quantity % offers.pack[row] == 0
                and line.quantity >= landed_cost.least_bought(offers.min_qty[row], offers.pack[row])
                for row in range(low, high)
            )
            if not matches:
                yield yes("stock", False, f"{purchase.part} from {line.seller}: not as the price list has it",
                           part=purchase.part, seller=line.seller)  # fmt: skip
        for seller, quantity in taken.items():
            held = [int(offers.stock[row]) for row in range(low, high) if offers.seller[row] == seller]
            if held and held[0] >= 0:
                slots = {"part": purchase.part, "seller": seller}
                yield Reading("stock", quantity, held[0], quantity, held[0],
                              f"{purchase.part} from {seller}", slots)  # fmt: skip
    yield yes("stock", True, part="nothing else", seller="limited stock")
