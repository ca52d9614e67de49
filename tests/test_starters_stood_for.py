"""Starters that others stand in for, worked by hand: what decides is what an order costs to the cent, not the price.

Of the bundle of tests/brute/by_hand.py the panels come from east at 50 and all else from north: 1200.50 and 50 of
freight there, 150 and 5 here. Pumps start so hard that each needs a starter; all starters here leave the same start,
and 80 % of the volts while the amps peak: 72 % at the end of a cable that loses 10 %.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from optimizer.bundles.bundle import Bundle
from tests.brute.by_hand import JOB, PUMP, price
from tests.test_landed_by_hand import Trial

HARD = PUMP | {"starting": "3000 VA", "motor": "three-wire", "cable_drop": 0.1}
ONE = HARD  # 500 VA
HALF = HARD | {"running": "250 VA", "water_per_day": "4000 L"}
BARE = 140_550  # cents: 1200.50 + 50 + 150 + 5


def trial(folder: Path, loads: list[dict[str, Any]], *offers: dict[str, str], **kg: str) -> Trial:
    """The worked catalogue with starters "sa" and "sb", of so many kg each."""
    folder.mkdir(exist_ok=True)
    job = {"load": loads, "supply": JOB["supply"] | {"restart": "staggered"}}
    found = Trial(folder, price("pn", "50", seller="east"), *offers, job=job)
    found.weighed(converter="0", battery="0")
    rows = [f"{part},soft,1,3,0.25,80,1.2,three-wire,{kg.get(part, '0')}" for part in ("sa", "sb")]
    header = "part,kind,phases_in,running_a,start_factor,start_volts_pct,floor_x,motors,weight_kg"
    (found.catalog_folder / "starters.csv").write_text("\n".join([header, *rows, ""]), encoding="utf-8")
    return found


def seen(bundle: Bundle | None) -> tuple[int, list[str]]:
    """The total in cents, and the starters in use."""
    assert bundle is not None and bundle.order is not None
    return bundle.order.cents, sorted(str(starter["part"]) for starter in bundle.starters.values())


def alone(name: str, **keys: Any) -> dict[str, Any]:
    """Half of the pump, under a name of its own."""
    return HALF | {"name": name} | keys


NORTH = "north,50,,,,"
EAST = "east,5,,,,"


def test_without_other_terms_the_price_decides(tmp_path: Path) -> None:
    case = trial(tmp_path, [ONE], price("sa", "60"), price("sb", "61", seller="east"))
    assert seen(case.best(NORTH, EAST)) == (BARE + 6000, ["sa"])


def test_a_cheaper_starter_of_a_seller_that_nothing_else_comes_from_pays_where_its_fee_does(tmp_path: Path) -> None:
    case = trial(tmp_path, [ONE], price("sa", "100"), price("sb", "60", seller="west"))
    assert seen(case.best(NORTH, EAST, "west,39,,,,")) == (BARE + 9900, ["sb"])
    assert seen(case.best(NORTH, EAST, "west,41,,,,")) == (BARE + 10000, ["sa"])
    assert seen(case.best(NORTH, EAST, "west,39,,10,,")) == (BARE + 6000, ["sb"])  # its freight is free
    assert seen(case.best(NORTH, EAST, "west,39,,,,10")) == (BARE + 10000, ["sa"])  # 66 and 42.90 with its tax


def test_a_heavier_starter_is_dearer_where_freight_goes_by_weight(tmp_path: Path) -> None:
    """East charges 0.50 a kg: three panels of 21 kg make 31.50, and a starter of 5 kg 2.50."""
    case = trial(tmp_path, [ONE], price("sa", "60", seller="east"), price("sb", "61", seller="north"), sa="5")
    assert seen(case.best(NORTH, EAST)) == (BARE + 6000, ["sa"])
    assert seen(case.best(NORTH, "east,5,0.50,,,")) == (BARE + 3150 + 6100, ["sb"])
    assert seen(case.best(NORTH, "east,5,0.19,,,")) == (BARE + 1197 + 6095, ["sa"])


def test_a_pack_serves_two_loads_though_neither_would_have_it_alone(tmp_path: Path) -> None:
    """Two at 40 each come in a pack: 80, where one of the others costs 45 and two 90."""
    offers = [price("sa", "40", pack="2"), price("sb", "45")]
    two = [alone("left"), alone("right")]
    assert seen(trial(tmp_path / "two", two, *offers).best(NORTH, EAST)) == (BARE + 8000, ["sa", "sa"])
    one = [alone("left"), alone("right", starting="none")]
    assert seen(trial(tmp_path / "one", one, *offers).best(NORTH, EAST)) == (BARE + 4500, ["sb"])


def test_the_last_in_stock_serves_one_load(tmp_path: Path) -> None:
    two = [alone("left"), alone("right")]
    case = trial(tmp_path, two, price("sa", "30"), price("sb", "20", stock="1"))
    assert seen(case.best(NORTH, EAST)) == (BARE + 5000, ["sa", "sb"])


def test_the_one_on_hand_serves_one_load(tmp_path: Path) -> None:
    case = trial(tmp_path, [alone("left"), alone("right")], price("sa", "30"), price("sb", "45"))
    with (tmp_path / "job.toml").open("a", encoding="utf-8") as job:
        job.write("\n[on_hand]\nsb = 1\n")
    assert seen(case.best(NORTH, EAST)) == (BARE + 3000, ["sa", "sb"])


def test_a_dearer_starter_makes_freight_free(tmp_path: Path) -> None:
    """155 of panels and starter at east carry freight of 5; 162 do not, and the one at north costs 8."""
    case = trial(tmp_path, [ONE], price("sa", "8"), price("sb", "12", seller="east"))
    assert seen(case.best(NORTH, EAST)) == (BARE + 800, ["sa"])
    assert seen(case.best(NORTH, "east,5,,162,,")) == (BARE - 500 + 1200, ["sb"])
    assert seen(case.best(NORTH, "east,5,,162.01,,")) == (BARE + 800, ["sa"])


def test_a_cent_of_tax_decides(tmp_path: Path) -> None:
    """0.04 % of 1,250.50 is 0.50, and of 1,262.50 just 0.505, so 0.51. 0.05 % of 155 and of 167 are 0.08."""
    case = trial(tmp_path, [ONE], price("sa", "12.00"), price("sb", "12.00", seller="east"))
    assert seen(case.best("north,50,,,,0.04", "east,5,,,,0.05")) == (BARE + 50 + 8 + 1200, ["sb"])
    cheaper = trial(tmp_path / "less", [ONE], price("sa", "11.99"), price("sb", "12.00", seller="east"))
    assert seen(cheaper.best("north,50,,,,0.04", "east,5,,,,0.05")) == (BARE + 50 + 8 + 1199, ["sa"])
