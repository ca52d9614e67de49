"""What a test may change in the brute force (slack, must, never, equal_strings, most_sellers, prices), by hand and
on the random instances.

The figures by hand start from the bundle of by_hand.py, 1550.50: 300.50 the converter, 3 panels at 100, 4 batteries
at 200, 5 rack units at 20, 50 freight.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.brute.by_hand import (
    BASE,
    CONVERTER,
    JOB,
    OFFERS,
    PRICES,
    PUMP,
    a_panel,
    in_memory,
    least,
    price,
    write_table,
    write_whole,
)
from tests.brute.force import Best, Node, cheapest, enumerate_nodes, full_order, nodes_of
from tests.brute.instances import write_instance
from tests.brute.limits import DROPPABLE, SLACK_UNITS, Limits
from tests.brute.parts import Extra, Offer, Parts, read_parts, with_prices
from tests.brute.reading import Job, read_job

THREE_BANK_STRINGS = Decimal("1950.50")  # two batteries more
ONE_BANK_STRING = Decimal("1150.50")  # two batteries less
SINGLE_PANELS = Decimal("1570.50")  # three strings of one panel: 6 rack units and not 5

# Four hours of a motor that takes what the lamps take and starts with 1500 VA (and W): 1875 VA with a quarter more,
# (1500 · 1.25 / 0.8 + 10) W / 20 V = 117.6875 A from the bank.
MOTOR = JOB["load"][0] | {"name": "pump", "running": "500 VA", "starting": "1500 VA"}
SPLIT = {"supply": {"kind": "120/240"}, "load": [MOTOR | {"voltage": "240 V"}]}
LEAD_ACID = {
    "chemistry": "agm",
    "coldest_charge_c": "-30",
    "daily_pct": "80",
    "capacity_pct_per_c": "0",
    "charge_min_a": "0",
}
SHORT_STRINGS = {"site": JOB["site"] | {"array_ceiling": "60 V"}}  # one panel of 50 V


def test_the_parts_in_memory_are_those_on_paper(tmp_path: Path) -> None:
    catalog = write_whole(tmp_path, JOB, PRICES)
    read = enumerate_nodes(catalog, tmp_path / "job.toml")
    assert nodes_of(*in_memory()) == read
    assert least(in_memory()) == least(in_memory({"load": [MOTOR]})) == BASE


# --- slack ----------------------------------------------------------------------------------------

# limit, what is changed, by how much the limit is missed, the least total with less slack and with so much.
SLACK_CASES: list[tuple[str, dict[str, Any], float, Decimal | None, Decimal]] = [
    # 500 W · 1.25 = 625 W
    ("running-power", {"converter": {"continuous_w": "600", "continuous_va": "1000"}}, 25, None, BASE),
    ("running-apparent", {"converter": {"continuous_va": "610"}}, 15, None, BASE),
    # 1875 VA; where the surge is shorter than the start of 1 s, the lasting 1000 VA count
    ("starting-surge", {"tables": {"load": [MOTOR]}, "converter": {"surge_va": "1800"}}, 75, None, BASE),
    ("starting-surge", {"tables": {"load": [MOTOR]}, "converter": {"surge_s": "0.9"}}, 875, None, BASE),
    # across both legs: 250 VA · 1.25 = 312.5 VA on each; as it starts 750 · 1.25 = 937.5 VA
    ("leg-balance", {"tables": SPLIT, "converter": {"leg_va": "300"}}, 12.5, None, BASE),
    ("leg-balance", {"tables": SPLIT, "converter": {"leg_surge_va": "900"}}, 37.5, None, BASE),
    # 1762.5 Wh a day through the bank; 17 A · 25.6 V · 4 h = 1740.8 Wh, and 1697.28 Wh in a month of 3.9 h
    ("charger", {"converter": {"charge_a": "17"}}, 21.7, None, BASE),
    (
        "charger",
        {"tables": {"site": JOB["site"] | {"sun_hours": [4] * 5 + [3.9] + [4] * 6}}, "converter": {"charge_a": "17"}},
        65.22,
        None,
        BASE,
    ),
    # three panels of 400 W
    ("array-total", {"converter": {"array_max_w": "1000"}}, 200, None, BASE),
    # three panels of 50 V; strings of one or two do without
    ("cold-voltage", {"converter": {"tracker_max_v": "150"}}, 7.5, SINGLE_PANELS, BASE),  # 150 less 5 %
    ("panel-voltage", {"panel": {"max_system_v": "140"}}, 10, SINGLE_PANELS, BASE),
    ("code-voltage", {"tables": {"site": JOB["site"] | {"array_ceiling": "145 V"}}}, 5, SINGLE_PANELS, BASE),
    # cells of 56.25 °C: 3 · 34.375 V · 0.97 = 100.03125 V; 3 · 45.3125 V = 135.9375 V
    ("hot-voltage", {"converter": {"tracker_min_v": "105"}}, 4.96875, None, BASE),
    ("wake-voltage", {"converter": {"tracker_start_v": "140"}}, 4.0625, None, BASE),
    # 10.6 A · 1.25 = 13.25 A
    ("tracker-current", {"converter": {"tracker_isc_a": "13"}}, 0.25, None, BASE),
    ("tracker-strings", {"tables": SHORT_STRINGS, "converter": {"tracker_strings": "2"}}, 1, None, SINGLE_PANELS),
    # 1.5625 · 10.6 = 16.5625 A: a fuse of 20 A
    ("fuse-fits", {"tables": SHORT_STRINGS, "panel": {"max_fuse_a": "17"}}, 3, None, SINGLE_PANELS),
    ("bank-series", {"battery": {"max_series": "1"}}, 1, None, BASE),
    ("bank-parallel", {"battery": {"max_parallel": "1"}}, 1, None, BASE),
    ("bank-window", {"battery": {"charge_v": "16.1"}}, 0.2, None, BASE),  # 32.2 V at 32 V
    ("bank-window", {"converter": {"bank_min_v": "26"}}, 0.4, None, BASE),  # 25.6 V
    ("bank-temperature", {"battery": {"coldest_charge_c": "26"}}, 1, None, BASE),
    ("bank-temperature", {"battery": {"coldest_discharge_c": "28"}}, 3, None, BASE),
    # drained to 80 %, lead-acid freezes at -13 °C
    (
        "bank-freeze",
        {
            "tables": {"site": JOB["site"] | {"bank_coldest": "-14 degC"}, "need": {"array_to_load": 1.2}},
            "battery": LEAD_ACID,
        },
        1,
        None,
        BASE,
    ),
    ("bank-heat", {"battery": {"hottest_charge_c": "24"}}, 1, None, BASE),
    ("bank-heat", {"battery": {"hottest_discharge_c": "22"}}, 3, None, BASE),
    # (625 W / 0.8 + 10 W) / 20 V = 39.5625 A; two strings count as 1.6 and have 38.4 A, three have 57.6 A
    ("discharge-current", {"battery": {"discharge_a": "24"}}, 1.1625, THREE_BANK_STRINGS, BASE),
    # 117.6875 A; 1.6 · 70 A = 112 A, three strings 168 A
    (
        "starting-current",
        {"tables": {"load": [MOTOR]}, "battery": {"peak_a": "70"}},
        5.6875,
        THREE_BANK_STRINGS,
        BASE,
    ),
    # 117.6875 A · 2 · 1.5 · 0.04 Ω / 2 = 7.06125 V: 25.6 V sag to 18.53875 V, with three strings to 20.8925 V
    ("bank-sag", {"tables": {"load": [MOTOR]}, "battery": {"r_mohm": "40"}}, 1.46125, THREE_BANK_STRINGS, BASE),
    # all 60 A; 1.6 · 37 A = 59.2 A
    (
        "charge-limit",
        {"converter": {"charge_settable": "no"}, "battery": {"charge_a": "37"}},
        0.8,
        THREE_BANK_STRINGS,
        BASE,
    ),
    # 1.6 · 10.5 A · 25.6 V · 4 h = 1720.32 Wh of 1762.5 Wh
    ("charge-rate", {"battery": {"charge_a": "10.5"}}, 42.18, THREE_BANK_STRINGS, BASE),
    # two strings want 22 A of a charger of 20 A
    ("charge-floor", {"converter": {"charge_a": "20"}, "battery": {"charge_min_a": "11"}}, 2, None, BASE),
    # two strings want 40 A · 25.6 V = 1024 W, three panels give 960 W: 37.5 A
    ("charge-floor", {"battery": {"charge_min_a": "20"}}, 2.5, None, BASE),
    # 1410 Wh a night; two strings 2 · 2560 Wh · 0.27 = 1382.4 Wh
    ("night-energy", {"battery": {"daily_pct": "27"}}, 27.6, THREE_BANK_STRINGS, BASE),
    # one string, 2048 Wh, lasts 2048 / 2740 of a day
    ("autonomy", {}, 1 - 2048 / 2740, BASE, ONE_BANK_STRING),
    ("stock", {"offers": [Offer("pn", "north", 10_000, 1, 1, 2), *OFFERS[1:]]}, 1, None, BASE),
    # 3900 L of 4000 L a day
    (
        "water-reserve",
        {"tables": {"load": [PUMP], "water": {"tank_on_hand": "3900 L", "reserve_days": 1}}},
        0.025,
        None,
        BASE,
    ),
]


@pytest.mark.parametrize(("limit", "changes", "short", "before", "after"), SLACK_CASES)
def test_slack_is_absolute(
    limit: str, changes: dict[str, Any], short: float, before: Decimal | None, after: Decimal
) -> None:
    one = in_memory(**changes)
    assert least(one) == before
    assert least(one, slack={limit: 0.999 * short}) == before
    assert least(one, slack={limit: short}) == after


def test_every_limit_that_may_be_loosened_has_a_case() -> None:
    assert {limit for limit, *_ in SLACK_CASES} == set(SLACK_UNITS)


def test_slack_is_not_multiplied_by_units() -> None:
    """Two units of 300 W for 625 W are 25 W short, not 12.5.

    Their idle draw is 20 W: at night 1250 + 320 = 1570 Wh, in all 1250 + 160 + 1570/0.8 = 3372.5 Wh: 1011.75 W, four
    panels, 2 + 2 on two trackers: 601 + 400 + 800 + 6 · 20 + 50.
    """
    one = in_memory(
        converter={"continuous_w": "300", "continuous_va": "1000", "units_230": "2", "max_units": "2"},
    )
    assert least(one) is None
    assert least(one, slack={"running-power": 24.9}) is None
    assert least(one, slack={"running-power": 25}) == Decimal("1971")


def test_slack_adds_up_over_limits() -> None:
    """One bank string, 1150.50, asks for the day and for the discharge of 39.5625 A at 39.5 A."""
    one = in_memory(battery={"discharge_a": "39.5"})
    day, amps = {"autonomy": 0.3}, {"discharge-current": 0.1}
    assert least(one) == least(one, slack=day) == least(one, slack=amps) == BASE
    assert least(one, slack=day | amps) == ONE_BANK_STRING
    assert least(one, slack=amps, without=frozenset({"autonomy"})) == ONE_BANK_STRING


def test_nothing_to_carry_through_a_sunless_day_is_always_met() -> None:
    """Without idle draw and critical loads autonomy asks nothing, not even of endless slack (∞ · 0)."""
    one = in_memory({"load": [JOB["load"][0] | {"critical": False}]}, converter={"idle_w": "0"})
    assert least(one) == least(one, slack={"autonomy": float("inf")}) == ONE_BANK_STRING


def test_slack_does_not_take_fuses_away() -> None:
    """Three strings push 2 · 1.25 · 10.6 = 26.5 A back into one: above the panel's 17 A, though not above 17 + 10."""
    fuse = [Extra("ex", "string", 1, "fused")]
    offers = [*OFFERS, Offer("ex", "north", 100, 1, 1, None)]
    one = in_memory(SHORT_STRINGS, panel={"max_fuse_a": "17"}, extras=fuse, offers=offers)
    assert least(one, slack={"fuse-fits": 10}) == SINGLE_PANELS + 3


def test_a_least_quantity_over_the_loosened_stock_is_not_for_sale() -> None:
    """Panels: 2 in stock, at 100, or at 50 from 4 up."""
    panels = [Offer("pn", "north", 10_000, 1, 1, 2), Offer("pn", "north", 5_000, 4, 1, None)]
    one = in_memory(offers=[*panels, *OFFERS[1:]])
    assert least(one) is None
    assert least(one, slack={"stock": 1}) == BASE
    assert least(one, slack={"stock": 2}) == BASE - 100  # 4 · 50 for 3 · 100


def test_slack_that_cannot_be_meant_is_refused() -> None:
    for name in ("daily-energy", "space", "budget", "mounting-fit", "no-such-limit"):
        with pytest.raises(ValueError, match="cannot be loosened"):
            Limits(slack={name: 1})
    for wrong in (-1.0, float("nan")):
        with pytest.raises(ValueError, match="0 or more"):
            Limits(slack={"charger": wrong})
    with pytest.raises(ValueError, match="without end"):
        Limits(slack={"bank-parallel": float("inf")})


# --- must and never -------------------------------------------------------------------------------

OTHER_PANEL = a_panel(part="po")
TWO_PANELS = [*OFFERS, Offer("po", "north", 11_000, 1, 1, None)]  # as pn, 10 dearer each


@pytest.mark.parametrize(
    ("must", "total"),
    [
        # batteries: two in series, so 2, 4 or 6 of them, and 2 do not carry the day
        ({"bt": None}, BASE),
        ({"bt": 4}, BASE),
        ({"bt": 6}, THREE_BANK_STRINGS),
        ({"bt": 2}, None),
        ({"bt": 5}, None),
        ({"bt": 8}, None),
        # panels, on one tracker of 1200 W: three at most, and two are not enough
        ({"pn": 3}, BASE),
        ({"pn": 2}, None),
        ({"pn": 4}, None),
        # rack units: 3 + 2 of one string of three, or three times 1 + 1
        ({"rk": None}, BASE),
        ({"rk": 5}, BASE),
        ({"rk": 6}, SINGLE_PANELS),
        ({"rk": 7}, None),
        ({"cv": 1}, BASE),
        ({"cv": 2}, None),
        ({"rk": 6, "bt": 6}, SINGLE_PANELS + 400),
    ],
)
def test_must(must: dict[str, int | None], total: Decimal | None) -> None:
    assert least(in_memory(), must=must) == total


def test_must_have_more_of_a_kind_than_the_least() -> None:
    """Two units: four panels, 2 + 2, and 1971.00 (test_slack_is_not_multiplied_by_units). One unit of two trackers
    with four panels: 2 · (2 + 1) rack units, 100 + 20 more."""
    wide = in_memory(converter={"max_units": "2"})
    assert least(wide) == BASE
    assert least(wide, must={"cv": 2}) == Decimal("1971")
    assert least(wide, must={"cv": 3}) is None
    assert least(in_memory(converter={"trackers": "2"}), must={"pn": 4}) == BASE + 120
    # A fourth bank string is more than bank-parallel allows.
    assert least(in_memory(), must={"bt": 8}, slack={"bank-parallel": 1}) == THREE_BANK_STRINGS + 400


def test_the_batteries_that_must_be_there_meet_every_limit() -> None:
    """Three bank strings want 39 A · 25.6 V = 998.4 W of an array of 960 W, two 665.6 W."""
    one = in_memory(battery={"charge_min_a": "13"})
    assert least(one, must={"bt": 4}) == BASE
    assert least(one, must={"bt": 6}) is None


def test_must_have_a_dearer_part() -> None:
    one = in_memory(more_panels=[OTHER_PANEL], offers=TWO_PANELS)
    assert least(one) == least(one, must={"pn": None}) == BASE
    assert least(one, must={"po": None}) == least(one, must={"po": 3}) == BASE + 30
    assert least(one, must={"pn": None, "po": None}) is None  # all panels of a bundle are one model
    assert least(one, must={"po": None}, never=frozenset({"po"})) is None


def test_must_have_a_piece_of_it() -> None:
    """Without daily-energy one panel is enough, for there must be one; it stands on 1 + 1 rack units."""
    sunless = frozenset({"daily-energy"})
    assert least(in_memory(), without=sunless) == BASE - 400 + 140
    assert least(in_memory(), without=sunless, must={"pn": None}) == BASE - 400 + 140
    assert least(in_memory(), without=sunless, must={"rk": None}) == BASE - 400 + 140


def test_never() -> None:
    no_pn, allowed = frozenset({"pn"}), frozenset({"allowed"})
    two = in_memory(more_panels=[OTHER_PANEL], offers=TWO_PANELS)
    assert least(two) == BASE
    assert least(two, never=no_pn) == least(two, never=no_pn, without=allowed) == BASE + 30
    shelf = in_memory({"on_hand": {"pn": 9}}, more_panels=[OTHER_PANEL], offers=TWO_PANELS)
    assert least(shelf) == BASE - 300
    assert least(shelf, never=no_pn) == BASE + 30
    for part in ("cv", "pn", "bt", "rk"):
        assert least(in_memory(), never=frozenset({part})) is None
    assert least(in_memory(), without=frozenset({"daily-energy"}), never=no_pn) is None


def test_never_an_extra() -> None:
    """Three fused strings of one panel need the extra, at 1.00 or on hand; on two trackers 2 + 1 do without."""
    fuse = [Extra("ex", "string", 1, "fused")]
    offers = [*OFFERS, Offer("ex", "north", 100, 1, 1, None)]
    no_fuse = frozenset({"ex"})
    bought = in_memory(SHORT_STRINGS, extras=fuse, offers=offers)
    assert least(bought) == SINGLE_PANELS + 3
    assert least(bought, never=no_fuse) is None
    assert least(bought, never=no_fuse, without=frozenset({"allowed"})) is None
    on_hand = in_memory(SHORT_STRINGS | {"on_hand": {"ex": 3}}, extras=fuse, offers=offers)
    assert least(on_hand) == SINGLE_PANELS
    assert least(on_hand, never=no_fuse) is None
    wide = in_memory(SHORT_STRINGS, converter={"trackers": "2"}, extras=fuse, offers=offers)
    assert least(wide, never=no_fuse) == SINGLE_PANELS


def test_names_and_numbers_that_cannot_be_meant_are_refused() -> None:
    one = in_memory(extras=[Extra("ex", "string", 1, "fused")])
    for part in ("ex", "no-such-part"):
        with pytest.raises(ValueError, match="no converter, panel, battery, rack, starter or tank"):
            nodes_of(*one, must={part: None})
    with pytest.raises(ValueError, match="no part of the catalogue"):
        nodes_of(*one, never=frozenset({"no-such-part"}))
    with pytest.raises(ValueError, match="1 or more"):
        nodes_of(*one, must={"pn": 0})


# --- strings, sellers, prices ---------------------------------------------------------------------


def test_equal_strings() -> None:
    """Twice the day's energy, 1546.25 W, asks for five panels of 320 W on two trackers.

    3 + 2 stand on 5 + 3 rack units: 300.50 + 500 + 800 + 160 + 50. Equal strings are five of one panel (three on one
    tracker and two on the other), 10 rack units; one string on a tracker: six panels, 3 + 3, 10 rack units.
    """
    twice = {"need": {"array_to_load": 2.0}}
    one = in_memory(twice, converter={"trackers": "2"})
    assert least(one) == Decimal("1810.50")
    found = cheapest(nodes_of(*one, equal_strings=True))
    assert found is not None
    assert (found[1].total, found[1].layouts) == (Decimal("1850.50"), ((1, 2, 1), (1, 3, 1)))
    single = in_memory(twice, converter={"trackers": "2", "tracker_strings": "1"})
    assert least(single) == Decimal("1810.50")
    assert least(single, equal_strings=True) == Decimal("1950.50")


def test_most_sellers() -> None:
    """Four panels at 70 from east (280 + 5 freight) go before three from north; on hand needs no seller."""
    east = Offer("pn", "east", 7_000, 1, 4, None)
    one = in_memory(offers=[*OFFERS, east])
    assert least(one) == least(one, most_sellers=2) == least(one, most_sellers=9) == BASE - 15
    assert least(one, most_sellers=1) == BASE
    assert least(one, most_sellers=0) is None
    two_needed = in_memory(offers=[east, *OFFERS[1:]])
    assert least(two_needed) == BASE - 15
    assert least(two_needed, most_sellers=1) is None
    shelf = in_memory({"on_hand": {"pn": 3, "bt": 4, "rk": 5, "cv": 1}})
    assert least(shelf, most_sellers=0) == 0


def test_a_changed_price() -> None:
    """A cent more on each of three panels; where another seller sells them too, that one's price goes by its own."""
    parts, job = in_memory(offers=[*OFFERS, Offer("pn", "east", 9_000, 1, 1, None)])

    def north_panels(part: str, seller: str, cents: int) -> int:
        return cents + 1 if (part, seller) == ("pn", "north") else cents

    def all_panels(part: str, seller: str, cents: int) -> int:
        return cents + 1 if part == "pn" else cents

    # From east: 3 · 90 + 5; from north 300.
    assert least((parts, job)) == BASE - 25
    assert least((with_prices(parts, north_panels), job)) == BASE - 25
    assert least((with_prices(parts, north_panels), job), most_sellers=1) == BASE + Decimal("0.03")
    assert least((with_prices(parts, all_panels), job)) == BASE - 25 + Decimal("0.03")
    assert [one.cents for one in parts.offers] == [10_000, 30_050, 20_000, 2_000, 9_000]  # as they were
    with pytest.raises(ValueError, match="expected 0 or more"):
        with_prices(parts, lambda part, seller, cents: cents - 2_001)


def test_files_take_the_same_changes(tmp_path: Path) -> None:
    """Two trackers, an extra for each string, five panels as in test_equal_strings, packs of four from east."""
    extra = {"part": "ex", "per": "string", "quantity": "1"}
    prices = [*PRICES, price("ex", "1"), price("pn", "70", seller="east", pack="4")]
    catalog = write_whole(tmp_path, JOB | {"need": {"array_to_load": 2.0}}, prices, extra=extra)
    write_table(catalog, "converters", [CONVERTER | {"trackers": "2"}])
    job_path = tmp_path / "job.toml"
    changes: list[dict[str, Any]] = [
        {"slack": {"bank-parallel": 1}},
        {"must": {"pn": 6}},
        {"never": frozenset({"ex"})},
        {"most_sellers": 1},
        {"equal_strings": True},
    ]
    plain = enumerate_nodes(catalog, job_path)
    assert plain
    for change in changes:
        read = enumerate_nodes(catalog, job_path, **change)
        assert read == nodes_of(read_parts(catalog), read_job(job_path), **change)
        assert read != plain, change


def test_cheapest_goes_by_the_whole_order() -> None:
    """Two panels alike but for their names, and a third that is a cent cheaper."""
    alike = [a_panel(part="pa"), a_panel(part="pc")]
    offers = [*OFFERS, Offer("pa", "north", 10_000, 1, 1, None), Offer("pc", "north", 9_999, 1, 1, 2)]
    parts, job = in_memory(more_panels=alike, offers=offers)
    found = cheapest(nodes_of(parts, job))
    assert found is not None
    assert found[0] == Node("cv", 1, "bt", 2, "pa", "rk")  # of the cheaper ones there are but two
    found = cheapest(nodes_of(parts, job, slack={"stock": 1}))
    assert found is not None
    assert (found[0].panel, found[1].total) == ("pc", BASE - Decimal("0.03"))
    assert cheapest({}) is None


# --- the random instances -------------------------------------------------------------------------

SEEDS = range(30)
SMALL = {  # of each unit an amount that now and then is enough
    "W": 30.0,
    "VA": 30.0,
    "Wh": 60.0,
    "V": 1.0,
    "A": 2.0,
    "strings": 1.0,
    "batteries": 1.0,
    "degC": 2.0,
    "d": 0.1,
    "pieces": 1.0,
}
ENOUGH = 1e7  # of any unit


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Parts, Job, dict[Node, Best]]]:
    """Random instances with all that they allow."""
    folder = tmp_path_factory.mktemp("instances")
    found = []
    for seed in SEEDS:
        catalog, job_path = write_instance(folder / str(seed), seed)
        parts, job = read_parts(catalog), read_job(job_path)
        found.append((parts, job, nodes_of(parts, job)))
    return found


def orders(nodes: Mapping[Node, Best]) -> dict[Node, tuple[object, ...]]:
    return {node: best.order for node, best in nodes.items()}


@pytest.mark.thorough
def test_more_slack_is_never_dearer(drawn: list[tuple[Parts, Job, dict[Node, Best]]]) -> None:
    """Every node stays and none is dearer; with enough slack it is as without the limit."""
    helped: set[str] = set()
    for parts, job, nodes in drawn:
        for name, unit in SLACK_UNITS.items():
            last = nodes
            for times in (1, 10):
                loose = nodes_of(parts, job, slack={name: times * SMALL[unit] if name != "bank-parallel" else times})
                assert all(node in loose and loose[node].total <= best.total for node, best in last.items()), name
                if orders(loose) != orders(last):
                    helped.add(name)
                last = loose
            if name in DROPPABLE:
                enough = nodes_of(parts, job, slack={name: ENOUGH})
                assert orders(enough) == orders(nodes_of(parts, job, frozenset({name}))), name
    assert len(helped) > 15


@pytest.mark.thorough
def test_must_and_never_choose_among_all_nodes(drawn: list[tuple[Parts, Job, dict[Node, Best]]]) -> None:
    """With a part that must be there, the nodes with it are as before; so are those without one that may not be."""
    compared = 0
    for parts, job, nodes in drawn:
        for node, best in nodes.items():
            pieces = dict(best.needs)
            for part in (node.converter, node.panel, node.battery, node.rack):
                have = {one: of for one, of in orders(nodes).items() if part in one}
                assert orders(nodes_of(parts, job, must={part: None})) == have
                lack = {one: of for one, of in orders(nodes).items() if part not in one}
                assert orders(nodes_of(parts, job, never=frozenset({part}))) == lack
                exact = nodes_of(parts, job, must={part: pieces[part]})
                assert exact[node].order == best.order
                assert all(dict(one.needs)[part] == pieces[part] for one in exact.values())
                compared += 0 < len(have) < len(nodes)
    assert compared > 50


def test_numbers_that_must_be_there_are_all_there_are(drawn: list[tuple[Parts, Job, dict[Node, Best]]]) -> None:
    """The cheapest over every number of panels, or of rack units, or of batteries, is the cheapest of all."""
    compared = 0
    for parts, job, nodes in drawn:
        first = cheapest(nodes)
        if first is None:
            continue
        for part in (first[0].panel, first[0].rack, first[0].battery):
            most = dict(first[1].needs)[part] + 6
            by_number = [cheapest(nodes_of(parts, job, must={part: count})) for count in range(1, most + 1)]
            there = [one for one in by_number if one is not None]
            assert min(there, key=full_order) == first
            compared += len(there) > 1
    assert compared > 20


def test_fewer_sellers_and_equal_strings_are_never_cheaper(drawn: list[tuple[Parts, Job, dict[Node, Best]]]) -> None:
    """And what is within the wish anyway stays as it is."""
    dearer = 0
    for parts, job, nodes in drawn:
        for most in (1, 2):
            few = nodes_of(parts, job, most_sellers=most)
            assert all(len(best.sellers) <= most and best.order >= nodes[node].order for node, best in few.items())
            within = {node: best for node, best in nodes.items() if len(best.sellers) <= most}
            assert all(few[node].order == best.order for node, best in within.items())
            dearer += sum(best.total > nodes[node].total for node, best in few.items())
        equal = nodes_of(parts, job, equal_strings=True)
        for node, best in equal.items():
            assert len({series for series, *_ in best.layouts}) == 1
            assert best.order >= nodes[node].order
        within = {node: best for node, best in nodes.items() if len({series for series, *_ in best.layouts}) == 1}
        assert all(equal[node].order == best.order for node, best in within.items())
        dearer += sum(best.total > nodes[node].total for node, best in equal.items())
    assert dearer > 5


def test_a_dearer_part_costs_so_much_for_each_piece(drawn: list[tuple[Parts, Job, dict[Node, Best]]]) -> None:
    """A cent more on a part: a bundle with so many of it costs a cent more for each that is bought at least, one
    without it what it did, and none costs less."""
    compared = 0
    for parts, drawn_job, _ in drawn:
        job = replace(drawn_job, budget_cents=None)
        nodes = nodes_of(parts, job)
        for part in sorted({node.panel for node in nodes} | {node.battery for node in nodes}):
            raised = with_prices(parts, lambda one, _, cents, part=part: cents + (one == part))  # type: ignore[misc]
            after = nodes_of(raised, job)
            assert after.keys() == nodes.keys()
            for node, best in nodes.items():
                if part not in node:
                    assert after[node].order == best.order
                    continue
                assert after[node].total >= best.total
                count = dict(best.needs)[part]
                bought = max(0, count - job.on_hand.get(part, 0))
                exact = nodes_of(raised, job, must={part: count})[node].total
                assert exact - best.total >= Decimal(bought) / 100
                compared += bought > 0
    assert compared > 100
