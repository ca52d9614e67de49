"""What sellers add to an order, worked by hand: freight by weight, free freight, least orders, tax.

The bundle of tests/brute/by_hand.py, all from "north": a converter at 300.50, three panels at 100, four batteries at
200 and five rack units at 20 are 1500.50, and 50 of freight 1550.50. The brute force stays out of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from catalog.offers import Seller
from catalog.reader import Catalog, read_catalog
from optimizer.answers.answer import audited
from optimizer.auditor.audit import audit
from optimizer.bundles.bundle import Bundle
from optimizer.bundles.order import Order
from optimizer.inputs.job import Job
from optimizer.inputs.job_reader import read_job
from optimizer.rules import landed_cost
from optimizer.search.branch_and_bound import pick
from optimizer.writing.data.shopping_csv import shopping_list
from optimizer.writing.text.pick import page
from tests.brute.by_hand import (
    BATTERY,
    CONVERTER,
    JOB,
    PRICES,
    PUMP,
    STARTER,
    TANK,
    price,
    write_table,
    write_whole,
)

HEADER = "seller,freight,freight_per_kg,free_over,min_order,tax_pct"
EAST = "east,5,,,,"
ROOM = {"water": {"max_tanks": 1}}


class Trial:
    """The worked catalogue in a folder, with rows of sellers.csv as each case has them."""

    def __init__(
        self, folder: Path, *more: dict[str, str], job: Mapping[str, Any] = {}, **parts: dict[str, str]
    ) -> None:
        self.folder = folder
        self.catalog_folder = write_whole(folder, {**JOB, **job}, [*PRICES, *more], **parts)

    def weighed(self, **kg: str) -> None:
        """Gives converter and batteries weights: panels weigh 21 kg, rack units what their row says."""
        write_table(self.catalog_folder, "converters", [CONVERTER | {"weight_kg": kg["converter"]}])
        write_table(self.catalog_folder, "batteries", [BATTERY | {"weight_kg": kg["battery"]}])

    def read(self, *sellers: str) -> tuple[Catalog, Job]:
        text = "\n".join([HEADER, *sellers, ""])
        (self.catalog_folder / "sellers.csv").write_text(text, encoding="utf-8")
        return read_catalog(self.catalog_folder), read_job(self.folder / "job.toml")

    def best(self, *sellers: str) -> Bundle | None:
        """The cheapest bundle, proven and passed by the auditor; None where there is none."""
        catalog, job = self.read(*sellers)
        found = pick(catalog, job)
        assert found.status == ("proven" if found.bundles else "none")
        if not found.bundles:
            return None
        assert audit(job, found.bundles[0], catalog).passes
        return found.bundles[0]

    def order(self, *sellers: str) -> Order:
        bundle = self.best(*sellers)
        assert bundle is not None and bundle.order is not None
        return bundle.order

    def total(self, *sellers: str) -> int | None:
        bundle = self.best(*sellers)
        return None if bundle is None or bundle.order is None else bundle.order.cents


def bought(order: Order) -> dict[tuple[str, str], int]:
    """Pieces by part and seller."""
    return {(p.part, line.seller): line.quantity for p in order.purchases for line in p.lines}


# --- one seller's sum -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("seller", "goods", "kg", "freight", "tax"),
    [
        (Seller(5000), 150_050, "0", 5000, 0),
        # 33.3 cents a kg: 132.5 kg are 4412.25 and 132.6 kg are 4415.58 cents
        (Seller(5000, Fraction(333, 10)), 1, "132.5", 9412, 0),
        (Seller(5000, Fraction(333, 10)), 1, "132.6", 9416, 0),
        # half a cent goes up, less goes down: 1 cent a kg
        (Seller(0, Fraction(1)), 1, "2.5", 3, 0),
        (Seller(0, Fraction(1)), 1, "2.4999", 2, 0),
        # freight is free at free_over itself, by weight too, and not a cent below
        (Seller(5000, Fraction(10), 20_000), 20_000, "7", 0, 0),
        (Seller(5000, Fraction(10), 20_000), 19_999, "7", 5070, 0),
        # tax is on goods and freight, rounded once: 10 % of 5 cents is half a cent; 5 % of 250 + 60 is 15.5
        (Seller(tax_pct=Fraction(10)), 5, "0", 0, 1),
        (Seller(tax_pct=Fraction(10)), 4, "0", 0, 0),
        (Seller(60, tax_pct=Fraction(5)), 250, "0", 60, 16),
        # freight is rounded before it is taxed: 0.5 cents become 1, and 50 % of 10 + 1 is 5.5 (of 10.5: 5.25)
        (Seller(0, Fraction(1), tax_pct=Fraction(50)), 10, "0.5", 1, 6),
        # free freight is not taxed: 10 % of 20,000
        (Seller(5000, free_over=20_000, tax_pct=Fraction(10)), 20_000, "0", 0, 2000),
    ],
)  # fmt: skip
def test_freight_and_tax_of_an_order(seller: Seller, goods: int, kg: str, freight: int, tax: int) -> None:
    assert landed_cost.freight(seller, goods, Fraction(kg)) == freight
    assert landed_cost.tax(seller, goods, freight) == tax


# --- the cheapest bundle ----------------------------------------------------------------------------------------


def test_tax_is_on_goods_and_freight_and_rounded_half_up(tmp_path: Path) -> None:
    trial = Trial(tmp_path)
    assert trial.total("north,50,,,,") == 155_050
    assert trial.order("north,50,,,,10").tax == (("north", 15_505),)
    assert trial.total("north,50,,,,10") == 170_555
    assert trial.total("north,50,,,,1") == 156_601  # 1 % is 15.505, so 15.51


def test_freight_is_free_from_a_sum_on_and_spare_pieces_may_reach_it(tmp_path: Path) -> None:
    trial = Trial(tmp_path)
    assert trial.total("north,50,,1500.50,,") == 150_050
    assert trial.order("north,50,,1500.50,,").freight == (("north", 0),)
    order = trial.order("north,50,,1500.51,,")  # a sixth rack unit at 20 saves 50
    assert (order.cents, bought(order)["rk", "north"]) == (152_050, 6)
    assert next(p.needed for p in order.purchases if p.part == "rk") == 5
    assert trial.total("north,50,,1540.50,,") == 154_050
    assert trial.total("north,50,,1540.51,,") == 155_050  # three more at 60 do not pay
    # With 10 % tax on both a sixth unit is worth it as before: 1520.50 and 152.05
    assert trial.total("north,50,,1500.51,,10") == 167_255


def test_a_least_order_is_filled_up_or_left_alone(tmp_path: Path) -> None:
    trial = Trial(tmp_path)
    assert trial.total("north,50,,,1500.50,") == 155_050
    assert trial.total("north,50,,,1500.51,") == 157_050
    order = trial.order("north,50,,,1580,")  # four units at 20, short of a panel
    assert (order.cents, bought(order)["rk", "north"]) == (163_050, 9)
    order = trial.order("north,50,,,1600,")  # a panel, or five units
    assert (order.cents, order.goods_cents) == (165_050, 160_050)
    # Freight that is free does not count towards it, nor does freight that is paid: goods alone do
    assert trial.total("north,50,,1500.50,1520.50,") == 152_050


def test_a_cheaper_seller_with_a_least_order(tmp_path: Path) -> None:
    """Panels at 50 from east: five of them reach 250 and cost 255 with freight, where three of north are 300."""
    trial = Trial(tmp_path, price("pn", "50", seller="east"))
    order = trial.order("north,50,,,,", "east,5,,,250,")
    assert (order.cents, bought(order)["pn", "east"]) == (155_050 - 300_00 + 255_00, 5)
    # From 300.01 on seven would be needed, 355: more than 300
    order = trial.order("north,50,,,,", "east,5,,,300.01,")
    assert (order.cents, bought(order)["pn", "north"]) == (155_050, 3)


def test_goods_stay_with_the_seller_whose_freight_is_free_then(tmp_path: Path) -> None:
    """Rack units at 18 from east, 5 of freight: 95 where north asks 100, until that costs the free freight."""
    trial = Trial(tmp_path, price("rk", "18", seller="east"))
    assert trial.total("north,50,,,,", EAST) == 154_550
    order = trial.order("north,50,,1500.50,,", EAST)
    assert (order.cents, bought(order)["rk", "north"]) == (150_050, 5)
    assert trial.total("north,50,,1400.50,,", EAST) == 149_550


def test_tax_and_weight_decide_between_sellers(tmp_path: Path) -> None:
    """Panels of 21 kg at 90 from east, 5 of freight: 275 for three, where north asks 300."""
    trial = Trial(tmp_path, price("pn", "90", seller="east"))
    assert trial.total("north,50,,,,", EAST) == 152_550
    # 9 % of 275 are 24.75, and 9.1 % are 25.025, so 25.03: three cents more than north
    assert trial.total("north,50,,,,", "east,5,,,,9") == 155_025
    assert trial.total("north,50,,,,", "east,5,,,,9.1") == 155_050
    # 0.396 for each of 63 kg are 24.948, so 24.95; 0.397 are 25.011, so 25.01
    assert trial.total("north,50,,,,", "east,5,0.396,,,") == 155_045
    assert trial.total("north,50,,,,", "east,5,0.397,,,") == 155_050


def test_freight_by_weight(tmp_path: Path) -> None:
    """63 kg of panels, 10.5 of the converter, 49 of batteries, 10 of rack units: 132.5 kg at 0.333 are 44.1225."""
    trial = Trial(tmp_path, rack={"weight_kg": "2"})
    assert trial.total("north,50,0.333,,,") is None  # neither converter nor battery says what it weighs
    trial.weighed(converter="10.5", battery="12.25")
    assert trial.total("north,50,0.333,,,") == 150_050 + 9412
    # 7.75 % of 1594.62 are 123.58305
    assert trial.total("north,50,0.333,,,7.75") == 150_050 + 9412 + 12_358
    # Free for a sixth unit at 20: 94.12 saved
    assert trial.total("north,50,0.333,1520.50,,") == 152_050
    # Made up to 1520.50 it weighs 2 kg more: 134.5 kg are 44.7885
    assert trial.total("north,50,0.333,,1520.50,") == 152_050 + 9479


def test_what_is_on_hand_in_full_is_not_bought_to_reach_a_floor(tmp_path: Path) -> None:
    """Rack units on hand: 1400.50 of goods; for 1450 a fourth panel at 100 is the least, not three units at 20."""
    trial = Trial(tmp_path, job={"on_hand": {"rk": 10}})
    order = trial.order("north,50,,,1450,")
    assert (order.cents, bought(order)["pn", "north"]) == (155_050, 4)
    assert ("rk", "north") not in bought(order)
    # One unit short: it is bought, and two more of it
    trial = Trial(tmp_path, job={"on_hand": {"rk": 4}})
    order = trial.order("north,50,,,1450,")
    assert (order.cents, bought(order)["rk", "north"]) == (151_050, 3)
    # Five on hand are enough for one string; three strings of one panel need six, so that units may be bought again
    trial = Trial(tmp_path, job={"on_hand": {"rk": 5}})
    order = trial.order("north,50,,,1450,")
    assert (order.cents, bought(order)["rk", "north"]) == (151_050, 3)
    assert next(p.needed for p in order.purchases if p.part == "rk") == 6


def test_a_tank_that_nothing_needs_may_make_up_an_order(tmp_path: Path) -> None:
    """For 1600.00 five rack units are 100; a tank at 99.50 is 0.50 less."""
    trial = Trial(tmp_path, price("ta", "99.50"), job=ROOM, tank=TANK)
    order = trial.order("north,50,,,1600,")
    assert (order.cents, bought(order)["ta", "north"], bought(order)["rk", "north"]) == (165_000, 1, 5)
    barred = Trial(tmp_path, price("ta", "99.50"), job=ROOM | {"allow": {"exclude": ["ta"]}}, tank=TANK)
    assert barred.total("north,50,,,1600,") == 165_050
    unasked = Trial(tmp_path, price("ta", "99.50"), tank=TANK)  # no tank where the job allows none
    assert unasked.total("north,50,,,1600,") == 165_050


def test_a_starter_that_nothing_needs_may_make_up_an_order(tmp_path: Path) -> None:
    motor = PUMP | {"starting": "1500 VA", "motor": "three-wire", "cable_drop": 0.2}
    trial = Trial(tmp_path, price("st", "99.50"), job={"load": [motor]}, starter=STARTER)
    assert trial.total("north,50,,,1600,") == 165_000
    assert trial.total("north,50,,,,") == 155_050


def test_a_tank_without_weight_is_not_sold_by_weight(tmp_path: Path) -> None:
    """While a tank states no weight five rack units are bought instead, however little freight by weight is."""
    trial = Trial(tmp_path, price("ta", "99.50"), job=ROOM, rack={"weight_kg": "0"}, tank=TANK)
    trial.weighed(converter="0", battery="0")
    assert trial.total("north,50,0.0001,,1600,") == 165_051  # 63 kg of panels at 0.0001 are 0.63 of a cent
    (trial.catalog_folder / "tanks.csv").write_text("part,volume_l,weight_kg\nta,1000,37\n", encoding="utf-8")
    assert trial.total("north,50,0.0001,,1600,") == 165_001  # 100 kg are one cent


# --- in words ---------------------------------------------------------------------------------------------------


def test_freight_that_is_free_stands_in_the_list_and_the_list_adds_up(tmp_path: Path) -> None:
    """Six rack units reach 1220.50 at north; panels at 50 from east are 150, 5 of freight and 3 % of both, 4.65."""
    trial = Trial(tmp_path, price("pn", "50", seller="east"))
    catalog, job = trial.read("north,50,,1220.50,,", "east,5,,,,3")
    answer = audited(catalog, job, pick(catalog, job, 1))
    lines = shopping_list(answer, answer.options[0]).splitlines()
    assert lines[1:] == [
        "east,pn,3,50.00,150.00,USD",
        "east,freight,1,5.00,5.00,USD",
        "east,tax,1,4.65,4.65,USD",
        "north,cv,1,300.50,300.50,USD",
        "north,bt,4,200.00,800.00,USD",
        "north,rk,6,20.00,120.00,USD",
        "north,freight,1,0.00,0.00,USD",
    ]
    assert sum(Decimal(line.split(",")[4]) for line in lines[1:]) == Decimal("1380.15")
    said = {" ".join(line.split()) for line in page(answer).splitlines()}
    assert {"freight, free from 1,220.50 0.00", "subtotal 1,220.50", "subtotal 159.65", "total 1,380.15"} <= said


def test_the_budget_holds_tax_too(tmp_path: Path) -> None:
    assert Trial(tmp_path, job={"need": {"budget": 1705.55}}).total("north,50,,,,10") == 170_555
    assert Trial(tmp_path, job={"need": {"budget": 1705.54}}).total("north,50,,,,10") is None


# --- the auditor ------------------------------------------------------------------------------------------------


def missing(trial: Trial, sellers: str, change: Mapping[str, Any]) -> str:
    """What the auditor says is missing of the cheapest bundle with a changed order; empty where nothing is."""
    bundle = trial.best(sellers)
    assert bundle is not None and bundle.order is not None
    catalog, job = trial.read(sellers)
    verdict = audit(job, replace(bundle, order=replace(bundle.order, **change)), catalog)
    reading = next(reading for reading in verdict.readings if reading.limit == "priced")
    return "" if reading.holds else str(reading.slots["missing"])


def test_an_order_that_is_not_as_its_seller_has_it_fails(tmp_path: Path) -> None:
    trial = Trial(tmp_path)
    assert missing(trial, "north,50,,,,10", {}) == ""
    assert missing(trial, "north,50,,,,10", {"tax": ()}) == "tax of north 155.05, not 0.00"
    assert missing(trial, "north,50,,,,10", {"tax": (("north", 15_504),)}) == "tax of north 155.05, not 155.04"
    free = {"freight": (("north", 0),)}
    assert missing(trial, "north,50,,,,", free) == "freight of north 50.00, not 0.00"
    charged = {"freight": (("north", 5000),)}
    assert missing(trial, "north,50,,1500.50,,", charged) == "freight of north 0.00, not 50.00"


def test_an_order_below_the_least_fails(tmp_path: Path) -> None:
    trial = Trial(tmp_path)
    filled = trial.order("north,50,,,1580,")
    short = tuple(
        replace(p, lines=tuple(replace(line, quantity=8) for line in p.lines)) if p.part == "rk" else p
        for p in filled.purchases
    )
    assert missing(trial, "north,50,,,1580,", {}) == ""
    said = missing(trial, "north,50,,,1580,", {"purchases": short})
    assert said == "north sells from 1580.00 up, not 1560.50"
