"""Errors in counting and buying: racks, extras, packs, stock, freight.

The cheapest bundle of the worked price list: 3457.5 W asked and 320 W usable a panel make 11 panels, and as a string
needs 5 to 10 of them, 5 + 6; racks ceil(2.5 + 1) + ceil(3 + 1) = 8; so
1 converter 1000 + 11 panels 1100 + 2 batteries 1600 + 8 racks 160 + freight 95 = 3955.00.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from catalog.offers import Seller
from optimizer.auditor import audit
from optimizer.bundles.bundle import Bundle
from optimizer.bundles.needs import pieces_needed
from optimizer.bundles.order import Line, Order, Purchase
from optimizer.costs.market import Market
from optimizer.inputs.job import Need, Space
from optimizer.rules import extras
from tests.mutations.change import Case, Mutation, edited, swapped
from tests.mutations.parts import PRICES, Price, best, bundle, catalog, converter, job

AUDITED_ORDERS = "optimizer.auditor.orders"
RULE_EXTRAS = "optimizer.rules.extras"
RULE_LANDED_COST = "optimizer.rules.landed_cost"
RULE_MOUNTING = "optimizer.rules.mounting"
WIRING = "optimizer.search.wiring"

MONEY, SITE = RULE_LANDED_COST, RULE_MOUNTING

TRUE_COUNT = extras.extra_count

FUSES = {"part": "fuse", "per": "string", "quantity": 1.0, "when": "fused"}
CLIPS = {"part": "clip", "per": "string", "quantity": 0.75, "when": "always"}
LINK = {"part": "link", "per": "system", "quantity": 1.0, "when": "stacked"}


def prices(*others: Price) -> tuple[Price, ...]:
    """The worked price list with the prices of some parts replaced."""
    return tuple(row for row in PRICES if row[0] not in {other[0] for other in others}) + others


def ordered(racks: int = 8, **changes: Any) -> Order:
    """An order of the cheapest bundle's parts from one seller."""
    needs = {"battery": (2, 80_000), "converter": (1, 100_000), "panel": (11, 10_000), "rack": (8, 2_000)}
    lines = {part: Line("north", racks if part == "rack" else n, cents) for part, (n, cents) in needs.items()}
    purchases = tuple(Purchase(part, needs[part][0], 0, (line,)) for part, line in lines.items())
    return replace(Order(purchases, (("north", 9_500),)), **changes)


def money_read(limit: str, order: Order, *rows: Price, budget_cents: int | None = None) -> tuple[float, float, bool]:
    """The auditor's reading of a limit of money, of the cheapest bundle bought by this order."""
    bought = bundle(strings=((5, 1), (6, 1)), order=order)
    found = audit.audit(job(need=Need(budget_cents=budget_cents)), bought, catalog(prices=prices(*rows)))
    reading = found.reading(limit)
    return float(reading.value), float(reading.allowed), reading.holds


def racks_needed(**space: Any) -> int:
    """Rack pieces the auditor counts for two strings of seven panels."""
    return pieces_needed(bundle(strings=((7, 1), (7, 1))), job(space=Space(**space)), catalog())["rack"]


def offers_changed(**changes: Any) -> Mutation:
    """Every offer read with some of its columns wrong."""
    true: Callable[..., Any] = Market.offers_of

    def apply(patch: pytest.MonkeyPatch) -> None:
        patch.setattr(Market, "offers_of", lambda self, part: tuple(replace(o, **changes) for o in true(self, part)))

    return apply


def of_class(owner: type, name: str, value: Any) -> Mutation:
    """A method or property of a class, replaced."""
    return lambda patch: patch.setattr(owner, name, value)


def count_always(per: str, when: str, basis: extras.Basis) -> int:
    """Extras counted whether or not their condition holds."""
    return TRUE_COUNT(per, "always", basis)


CASES = (
    # 3860.00 of goods and one freight of 95.00
    Case("freight for each line instead of each seller",
         lambda: money_read("budget", ordered(), budget_cents=400_000), (3955.0, 4000.0, True),
         of_class(Order, "freight_cents",
                  property(lambda self: sum(c for _, c in self.freight) * sum(len(p.lines) for p in self.purchases)))),
    Case("budget without freight",
         lambda: money_read("budget", ordered(), budget_cents=390_000), (3955.0, 3900.0, False),
         edited(AUDITED_ORDERS, "total = due.cents", "total = due.goods_cents")),
    # racks from a second seller would save 16.00 and cost 50.00 of freight
    Case("freight of a second seller forgotten",
         lambda: best(job(), catalog(prices=(*PRICES, ("rack", "south", 1_800, 1, 1, -1)),
                                     freight={"north": 9_500, "south": 5_000})),
         (395_500, 11, 8, True), of_class(Market, "seller", lambda self, name: Seller())),
    # 8 racks in packs of 10: 40.00 more
    Case("packs ignored by the search",
         lambda: best(job(), catalog(prices=prices(("rack", "north", 2_000, 1, 10, -1)))),
         (399_500, 11, 8, True), offers_changed(pack=1)),
    # 15 pieces are no whole packs of 10
    Case("packs ignored by the auditor",
         lambda: (money_read("stock", ordered(racks=15), ("rack", "north", 2_000, 1, 10, -1))[2],), (False,),
         edited(AUDITED_ORDERS, "line.quantity % offers.pack[row] == 0", "True")),
    # 10 at 15.00 are dearer than 8 would be, but cheaper than 8 at 20.00
    Case("least quantity ignored by the search",
         lambda: best(job(), catalog(prices=(*PRICES, ("rack", "north", 1_500, 10, 1, -1)))),
         (394_500, 11, 8, True), swapped(MONEY, "least_bought", lambda min_qty, pack: pack)),
    Case("least quantity ignored by the auditor",
         lambda: (money_read("stock", ordered(), ("rack", "north", 2_000, 10, 1, -1))[2],), (False,),
         edited(AUDITED_ORDERS, "line.quantity >= landed_cost.least_bought(offers.min_qty[row], offers.pack[row])",
                "True")),
    # 5 from the first seller, 3 at 30.00 from the second, and its freight of 10.00
    Case("stock ignored by the search",
         lambda: best(job(), catalog(prices=prices(("rack", "north", 2_000, 1, 1, 5),
                                                   ("rack", "south", 3_000, 1, 1, -1)),
                                     freight={"north": 9_500, "south": 1_000})),
         (399_500, 11, 8, True), offers_changed(stock=-1)),
    Case("stock ignored by the auditor",
         lambda: money_read("stock", ordered(), ("rack", "north", 2_000, 1, 1, 5)), (8.0, 5.0, False),
         edited(AUDITED_ORDERS, "if held and held[0] >= 0:", "if False:")),
    # 4 panels of the 11 are there already
    Case("parts on hand bought again",
         lambda: best(job(on_hand={"panel": 4}), catalog()), (355_500, 11, 8, True),
         of_class(Market, "on_hand", lambda self, part: 0)),
    # ceil(3.5 + 1) = 5 racks for each string of seven
    Case("racks of a string not rounded up in the auditor",
         lambda: (racks_needed(),), (10,),
         swapped(SITE, "string_rack_units", lambda n, rows, per_panel, per_row: n * per_panel + rows * per_row)),
    # strings of five at most (5 x 44 V of 237.5 V), 10 panels: 2 x ceil(2.5 + 1) = 8 racks; for both ceil(7) = 7;
    # 1000 + 1000 + 1600 + 160 + 95 = 3855.00
    Case("racks rounded for the bundle in the search",
         lambda: best(job(need=Need(array_to_load=1.1)), catalog(converters=(converter(tracker_max_v=250.0),))),
         (385_500, 10, 8, True),
         edited(WIRING, "int(units) * layout.parallel)", "(layout.series * racks[\"per_panel\"][rack] + rows * "
                "racks[\"per_row\"][rack]) * layout.parallel)")),
    # rows of four at most: two rows a string, 2.5 + 2 and 3 + 2: 10 racks
    Case("job's longest row ignored by the search",
         lambda: best(job(space=Space(row_max=4)), catalog()), (399_500, 11, 10, True),
         edited(WIRING, "row_max = min(row_max, job.space.row_max)", "pass")),
    # two rows of seven panels: ceil(3.5 + 2) = 6
    Case("job's longest row ignored by the auditor",
         lambda: (racks_needed(row_max=4),), (12,),
         of_class(Bundle, "row_max", lambda self, _: 10)),
    Case("fuses for strings that need none",
         lambda: best(job(), catalog(extras=(FUSES,), prices=(*PRICES, ("fuse", "north", 5_000, 1, 1, -1)))),
         (395_500, 11, 8, True), swapped(RULE_EXTRAS, "extra_count", count_always)),
    Case("stacking link for one converter",
         lambda: best(job(), catalog(extras=(LINK,), prices=(*PRICES, ("link", "north", 5_000, 1, 1, -1)))),
         (395_500, 11, 8, True), swapped(RULE_EXTRAS, "extra_count", count_always)),
    # 2 strings x 0.75 = 1.5: two clips of 50.00
    Case("extras rounded down",
         lambda: best(job(), catalog(extras=(CLIPS,), prices=(*PRICES, ("clip", "north", 5_000, 1, 1, -1)))),
         (405_500, 11, 8, True),
         swapped(RULE_EXTRAS, "extra_pieces",
                 lambda extra, basis: math.floor(TRUE_COUNT(extra["per"], extra["when"], basis)
                                                                        * extra["quantity"]))),
)  # fmt: skip
