"""Starters and tanks in the brute force, worked by hand. The bundle without them is that of by_hand.py, 1550.50."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.brute.by_hand import (
    BASE,
    DRIVE,
    JOB,
    OFFERS,
    PRICES,
    PUMP,
    STARTER,
    TANK,
    a_job,
    a_load,
    a_starter,
    a_tank,
    in_memory,
    least,
    price,
    write_whole,
)
from tests.brute.force import Best, cheapest, enumerate_nodes, nodes_of
from tests.brute.limits import Limits
from tests.brute.loads import Case, demand, figures
from tests.brute.parts import Offer, Parts, read_parts
from tests.brute.plans import may_serve, start_plans, useful_tanks, volts_hold
from tests.brute.reading import INFINITE, Job, job_of

ALL_LIMITS = Limits()
SUN = (4.0,) * 12
ONE_BANK_STRING = Decimal("1150.50")  # two batteries less
THREE_BANK_STRINGS = Decimal("1950.50")
MOTOR: dict[str, Any] = PUMP | {"starting": "1500 VA", "motor": "three-wire", "cable_drop": 0.2}


def best_of(parts_and_job: Any, **terms: Any) -> Best:
    found = cheapest(nodes_of(*parts_and_job, **terms))
    assert found is not None
    return found[1]


# --- what a starter does --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cells", "keys", "start_va", "start_w", "seconds"),
    [
        # half of 1500 VA, above 1.2 · 500 VA; a ramp of 3 s unless stated
        ({}, {}, 750, 750, 3),
        ({"ramp_s": "0.5"}, {"start_time": "2 s"}, 750, 750, 2),
        # never below 1.8 times the running
        ({"floor_x": "1.8"}, {}, 900, 900, 3),
        # a floor above the direct start makes it worse
        ({"floor_x": "3.5"}, {}, 1750, 1750, 3),
        # the start's power factor, but never below the running power
        ({}, {"starting_power_factor": 0.8}, 750, 600, 3),
        ({}, {"starting_power_factor": 0.6}, 750, 500, 3),
        # a start that is left no harder than the running is no case
        ({"start_factor": "0.2", "floor_x": "1"}, {}, 500, 500, 3),
        ({"start_factor": "0.2", "floor_x": "0"}, {}, 500, 500, 3),
    ],
)
def test_a_start_through_a_starter(
    cells: dict[str, str], keys: dict[str, Any], start_va: float, start_w: float, seconds: float
) -> None:
    job = a_job(MOTOR | keys, kind="230", hz=50)
    asked = demand(job, [a_starter(**cells)])
    (one,) = asked.loads
    assert (one.starting_va, one.starting_w, one.start_time_s) == (start_va, start_w, seconds)
    assert asked.cases == ([Case(start_va, start_w, seconds, 0)] if start_va > 500 else [])


def test_starts_of_several_loads_through_starters() -> None:
    """Running 2·100 + 200 = 400 VA. The first loads' start of 500 falls to 250, the second has no starter."""
    loads: list[dict[str, Any]] = [
        {"name": "a", "voltage": "230 V", "running": "100 VA", "starting": "500 VA", "count": 2},
        {"name": "b", "voltage": "230 V", "running": "200 VA", "starting": "300 VA", "start_time": "4 s"},
    ]
    starters = [a_starter(), None]
    staggered = demand(a_job(*loads, kind="230", restart="staggered"), starters)
    assert staggered.cases == [Case(550, 550, 3, 0), Case(500, 500, 4, 1)]
    together = demand(a_job(*loads, kind="230", restart="together"), starters)
    assert together.cases == [Case(800, 800, 4, None)]
    soft = [a_starter(start_factor="0", floor_x="0")] * 2
    assert demand(a_job(*loads, kind="230", restart="together"), soft).cases == []
    # A load that the starter leaves without a start does not say how long the start of all lasts.
    slow = [soft[0], None]
    assert demand(a_job(*loads, kind="230", restart="together"), slow).cases == [Case(500, 500, 4, None)]
    with pytest.raises(ValueError, match="restart is not stated"):
        demand(a_job(*loads, kind="230"), soft)


@pytest.mark.parametrize(
    ("cells", "keys", "fits"),
    [
        ({}, {}, True),
        ({}, {"motor": "psc"}, False),
        ({"motors": "two-wire; psc"}, {"motor": "psc"}, True),
        ({"motors": "two-wire;psc"}, {}, False),
        ({}, {"motor": None}, False),
        # it starts no harder than it runs, which no rule of starters asks
        ({}, {"starting": "none"}, True),
        # any but a drive serves only where the cable is known
        ({}, {"cable_drop": None}, False),
        ({"kind": "tap"}, {"cable_drop": None}, False),
        ({"kind": "resistor"}, {"cable_drop": None}, False),
        ({"kind": "drive"}, {"cable_drop": None}, True),
        # 500 VA at 230 V are 2.17391 A of one unit, however many there are
        ({"running_a": "2.174"}, {"count": 9}, True),
        ({"running_a": "2.173"}, {}, False),
        ({"volts_min": "230", "volts_max": "230"}, {}, True),
        ({"volts_min": "231"}, {}, False),
        ({"volts_max": "229"}, {}, False),
        # 500 VA at 230 V on three phases are 1.25511 A
        ({"kind": "drive", "running_a": "1.2552", "motors": "three-phase"}, {"motor": "three-phase"}, True),
        ({"kind": "drive", "running_a": "1.255", "motors": "three-phase"}, {"motor": "three-phase"}, False),
    ],
)
def test_which_load_may_have_a_starter(cells: dict[str, str], keys: dict[str, Any], fits: bool) -> None:
    load = a_load(**(MOTOR | keys))
    job = job_of(JOB)
    assert may_serve(job, load, figures(load, SUN), a_starter(**cells), ALL_LIMITS) is fits


def test_listed_and_excluded_starters() -> None:
    weak = {"surge_va": "1000"}  # 1500 · 1.25 is more, 750 · 1.25 is not
    offers = [*OFFERS, Offer("st", "north", 6_000, 1, 1, None)]

    def total(tables: Mapping[str, Any] = {}, listed: str = "", **terms: Any) -> Decimal | None:
        everything = dict.fromkeys(("panel", "battery"), {"listed": "yes"})
        parts, job = in_memory(
            {"load": [MOTOR], **tables},
            converter=weak | {"listed": "yes"},
            offers=offers,
            starters=[a_starter(listed=listed)],
            **everything,  # type: ignore[arg-type]
        )
        return least((parts, job), **terms)

    assert total() == BASE + 60
    assert total(listed="no", must={"st": None}) == BASE + 60
    no_st = {"allow": {"exclude": ["st"]}}
    assert total(no_st) is None
    assert total(no_st, without=frozenset({"allowed"})) == BASE + 60
    assert total(never=frozenset({"st"})) is None
    assert total(never=frozenset({"st"}), without=frozenset({"allowed"})) is None
    # The rack of by_hand.py is not listed: without its limit none is asked.
    assert total({"allow": {"listed_only": True}}, listed="yes", without=frozenset({"listed"})) == BASE + 60
    job = job_of(JOB | {"allow": {"listed_only": True}})
    load = a_load(**MOTOR)
    for listed, fits in (("yes", True), ("no", False), ("", False)):
        assert may_serve(job, load, figures(load, SUN), a_starter(listed=listed), ALL_LIMITS) is fits


VOLTS = {"start_volts_pct": ""}  # as the kind has them
SOFT, RESISTOR, TAP = (VOLTS | {"kind": kind} for kind in ("soft", "resistor", "tap"))


@pytest.mark.parametrize(
    ("drop", "cells", "volts_least", "holds"),
    [
        # without a starter 0.65, or what the motor's maker says
        (0.35, None, None, True),
        (0.351, None, None, False),
        (0.4, None, 0.6, True),
        (0.401, None, 0.6, False),
        (0.2, None, 0.8, True),
        (0.2, None, 0.801, False),
        # soft and by resistors: the share of the amps is that of the volts, 0.55 are enough
        (0.2, SOFT | {"start_factor": "0.6875"}, None, True),
        (0.2, SOFT | {"start_factor": "0.687"}, None, False),
        (0.2, RESISTOR | {"start_factor": "0.6875"}, None, True),
        (0.2, RESISTOR | {"start_factor": "0.687"}, None, False),
        (0.2, SOFT | {"start_factor": "0.6"}, 0.48, True),
        (0.2, SOFT | {"start_factor": "0.6"}, 0.481, False),
        # a tap: of 0.4225 of the amps the volts are 0.65
        (0.15, TAP | {"start_factor": "0.4225"}, None, True),  # 0.5525
        (0.2, TAP | {"start_factor": "0.4225"}, None, False),  # 0.52
        (0.2, TAP | {"start_factor": "0.64"}, 0.64, True),
        (0.2, TAP | {"start_factor": "0.64"}, 0.641, False),
        # as the row says
        (0.2, TAP | {"start_factor": "0.4225", "start_volts_pct": "80"}, 0.64, True),
        (0.2, SOFT | {"start_factor": "0.9", "start_volts_pct": "68"}, None, False),  # 0.544
        # none helps a motor that has too few volts at its direct start
        (0.36, SOFT | {"start_factor": "1"}, None, False),  # 0.64
        (0.36, SOFT | {"start_factor": "1"}, 0.55, True),
        (0.36, SOFT | {"start_factor": "0.9"}, 0.55, True),  # 0.576
        # a drive is not judged
        (0.5, {"kind": "drive"}, None, True),
        (0.5, {"kind": "drive"}, 0.9, True),
        # no cable: nothing to judge
        (None, None, 0.9, True),
        (None, {"kind": "drive"}, None, True),
    ],
)
def test_start_volts(drop: float | None, cells: dict[str, str] | None, volts_least: float | None, holds: bool) -> None:
    stated = {} if volts_least is None else {"start_volts_least": volts_least}
    load = a_load(**(MOTOR | {"cable_drop": drop} | stated))
    starter = None if cells is None else a_starter(**cells)
    assert volts_hold(load, starter, ALL_LIMITS) is holds
    assert volts_hold(load, starter, Limits(frozenset({"start-volts"})))
    job = a_job(MOTOR | {"cable_drop": drop} | stated, kind="230", hz=60)
    plans = list(start_plans(job, [] if starter is None else [starter], ALL_LIMITS))
    assert ((starter,) in plans) is holds


def test_shares_of_the_volts() -> None:
    """By textbook: a tap that leaves a of the volts takes a² of the amps of the line, star-delta leaves 1/√3."""
    assert a_starter(**TAP, start_factor="0.4225").start_volts == pytest.approx(0.65, rel=1e-12)
    star = a_starter(kind="star-delta", phases_in="3", start_factor="0.333", **VOLTS)
    assert star.start_volts == pytest.approx(0.577350, abs=5e-7)
    assert a_starter(**SOFT, start_factor="0.6").start_volts == 0.6


def test_start_volts_that_a_starter_does_not_mend() -> None:
    """At a drop of 0.4 a direct start has 0.6 of the volts: less behind a starter, no matter behind a drive."""
    offers = [*OFFERS, Offer("st", "north", 6_000, 1, 1, None)]
    far = {"load": [MOTOR | {"cable_drop": 0.4}]}
    assert least(in_memory(far)) is None
    assert least(in_memory(far), without=frozenset({"start-volts"})) == BASE
    assert least(in_memory(far, offers=offers, starters=[a_starter()])) is None
    easy = {"load": [MOTOR | {"cable_drop": 0.4, "start_volts_least": 0.6}]}
    assert least(in_memory(easy)) == BASE
    near = {"load": [MOTOR | {"cable_drop": 0.3}]}
    assert least(in_memory(near, offers=offers, starters=[a_starter()])) == BASE
    drive = [a_starter(**(DRIVE | {"part": "st", "efficiency_pct": "100"}))]
    assert least(in_memory(far, offers=offers, starters=drive)) == BASE + 60
    with pytest.raises(ValueError, match="cannot be loosened"):
        Limits(slack={"start-volts": 0.1})


# --- drives and phases ----------------------------------------------------------------------------


def test_a_load_behind_a_drive() -> None:
    """Of 500 W the drive takes 500/0.95 W and /0.65 VA (0.90 of three phases); its start is of its own."""
    job = a_job(MOTOR | {"power_factor": 0.8, "running": "625 VA", "count": 2}, kind="230", restart="together")
    asked = demand(job, [a_starter(**DRIVE)])
    (one,) = asked.loads
    watts, va = 500 / 0.95, 500 / 0.95 / 0.65
    assert (one.running_w, one.running_va) == pytest.approx((watts, va), rel=1e-12)
    assert (asked.running_w, asked.running_va) == pytest.approx((2 * watts, 2 * va), rel=1e-12)
    assert asked.cases == []  # it starts no harder than it runs
    # 4000 L at 1000 L/h by two units: 2 h of both
    assert one.energy_wh == pytest.approx((2 * 2 * watts,) * 12, rel=1e-12)
    assert one.running_a == pytest.approx(625 / 230, rel=1e-12)
    hard = demand(job, [a_starter(**(DRIVE | {"floor_x": "1.5", "start_factor": "0.1"}))])
    assert (hard.cases[0].va, hard.cases[0].w, hard.cases[0].time_s) == pytest.approx((3 * va, 3 * watts, 3))
    # a floor under 1 counts as 1; its own figures go before those by default
    stated = a_starter(**(DRIVE | {"floor_x": "0.4", "efficiency_pct": "90", "input_power_factor": "0.8"}))
    (own,) = demand(job, [stated]).loads
    assert (own.running_w, own.running_va) == pytest.approx((500 / 0.9, 500 / 0.9 / 0.8), rel=1e-12)
    assert (own.starting_va, own.starting_w) == (own.running_va, own.running_w)
    three = a_starter(**(DRIVE | {"phases_in": "3"}))
    assert (three.efficiency, three.input_power_factor, three.makes_phases) == (0.95, 0.90, 3)


def test_the_energy_that_is_stated_is_the_motors() -> None:
    """1.9 kWh of the motor are 2 kWh of the bank and the sun."""
    load = {key: value for key, value in MOTOR.items() if key not in ("water_per_day", "flow")}
    load |= {"energy_per_day": "1.9 kWh"}
    (one,) = demand(a_job(load, kind="230"), [a_starter(**DRIVE)]).loads
    assert one.energy_wh == pytest.approx((2000,) * 12, rel=1e-12)


def test_what_a_drive_costs_in_energy() -> None:
    """2000 Wh of the motor behind a drive of 80 % are 2500 Wh. Half at night: 1250/0.8 + 160 = 1722.5 Wh, in all
    1562.5 + 80 + 1722.5/0.8 = 3795.625 Wh: 1138.7 W, four panels, 2 + 2 on two trackers and 6 rack units.

    300.50 + 400 + 800 + 120 + 60 + 50; a sunless day of 3125 + 240 Wh still asks for two bank strings.
    """
    offers = [*OFFERS, Offer("dr", "north", 6_000, 1, 1, None)]
    load = {"load": [MOTOR | {"motor": "three-phase", "cable_drop": None}]}
    row = DRIVE | {"makes_phases": "3", "efficiency_pct": "80", "input_power_factor": "1"}
    roomy = {"trackers": "2", "charge_a": "99"}
    one = in_memory(load, converter=roomy, offers=offers, starters=[a_starter(**row)])
    assert least(one) == Decimal("1730.50")
    free = a_starter(**(row | {"efficiency_pct": "100"}))
    assert least(in_memory(load, converter=roomy, offers=offers, starters=[free])) == BASE + 60


def test_a_motor_on_three_phases_needs_a_drive_that_makes_them() -> None:
    load = {"load": [MOTOR | {"motor": "three-phase", "cable_drop": 0.1}]}
    everything = {"motors": "two-wire;three-wire;psc;three-phase"}
    no_loss = {"efficiency_pct": "100", "input_power_factor": "1"}
    offers = [*OFFERS, Offer("st", "north", 6_000, 1, 1, None), Offer("dr", "north", 7_000, 1, 1, None)]

    def total(loads: dict[str, Any] = load, **cells: str) -> Decimal | None:
        rows = [a_starter(**everything), a_starter(**(DRIVE | everything | no_loss | cells))]
        return least(in_memory(loads, offers=offers, starters=rows), must={"dr": None} if loads != load else {})

    assert least(in_memory(load)) is None
    assert least(in_memory(load), without=frozenset({"phases"})) == BASE
    assert least(in_memory(load, offers=offers, starters=[a_starter(**everything)])) is None
    assert total(makes_phases="3") == BASE + 70
    assert total() is None  # it makes as many phases as it takes
    assert total(phases_in="3") is None  # there is one
    assert total(phases_in="3", makes_phases="3") is None
    # a motor on one phase takes no drive that makes three
    single = {"load": [MOTOR | {"cable_drop": None}]}
    assert total(single) == BASE + 70
    assert total(single, makes_phases="3") is None
    # one that starts no harder than it runs needs it too
    still = {"load": [MOTOR | {"motor": "three-phase", "starting": "none", "cable_drop": None}]}
    assert least(in_memory(still)) is None
    assert total(still, makes_phases="3") == BASE + 70


# --- what starters are worth ----------------------------------------------------------------------


def test_a_starter_in_place_of_surge() -> None:
    """750 VA · 1.25 = 937.5 VA through the starter, for 3 s."""
    offers = [*OFFERS, Offer("st", "north", 6_000, 1, 1, None)]

    def total(converter: dict[str, str], **cells: str) -> Decimal | None:
        one = in_memory({"load": [MOTOR]}, converter=converter, offers=offers, starters=[a_starter(**cells)])
        return least(one)

    assert total({}) == BASE
    assert total({"surge_va": "1000"}) == BASE + 60
    assert total({"surge_va": "937.5", "continuous_w": "800"}) == BASE + 60
    assert total({"surge_va": "937", "continuous_w": "800"}) is None
    # A surge of 2 s does not last through the ramp: the lasting 900 VA count.
    short = {"surge_va": "1000", "surge_s": "2", "continuous_w": "900"}
    assert total(short) is None
    assert total(short, ramp_s="2") == BASE + 60
    assert total(short | {"continuous_w": "937.5"}) == BASE + 60
    # 2 · 500 VA · 1.25
    assert total({"surge_va": "1000"}, floor_x="2") is None


def test_a_starter_in_place_of_batteries() -> None:
    """The bank gives 117.1875 A to a direct start, 58.6 A to a soft one: with 70 A a battery two strings have 112 A.
    At 400.00 or more the two batteries are no dearer."""
    for cents, total in ((6_000, BASE + 60), (39_999, BASE + Decimal("399.99")), (40_001, THREE_BANK_STRINGS)):
        offers = [*OFFERS, Offer("st", "north", cents, 1, 1, None)]
        one = in_memory({"load": [MOTOR]}, battery={"peak_a": "70"}, offers=offers, starters=[a_starter()])
        assert least(one) == total
        assert best_of(one).starters == ((("bore pump", "st"),) if cents < 40_000 else ())
    # Of equal totals and arrays the one without a starter.
    offers = [*OFFERS, Offer("st", "north", 40_000, 1, 1, None)]
    one = in_memory({"load": [MOTOR]}, battery={"peak_a": "70"}, offers=offers, starters=[a_starter()])
    assert best_of(one).total == THREE_BANK_STRINGS
    assert best_of(one).starters == ()


def test_a_starter_keeps_the_legs_within_their_surge() -> None:
    """Across both legs a start of 1500 VA puts 750 · 1.25 = 937.5 VA on each, one of 750 VA 468.75."""
    offers = [*OFFERS, Offer("st", "north", 6_000, 1, 1, None)]
    split = {"supply": {"kind": "120/240"}, "load": [MOTOR | {"voltage": "240 V"}]}
    for leg_va, total in (("937.5", BASE), ("900", BASE + 60), ("468.75", BASE + 60), ("468", None)):
        legs = {"leg_va": "320", "leg_surge_va": leg_va}
        assert least(in_memory(split, converter=legs, offers=offers, starters=[a_starter()])) == total


def test_which_loads_have_starters() -> None:
    """300 and 200 VA run; a start of the first is 500 + 600, of the second 500 + 600 VA, · 1.25 = 1375 each.

    Through starters 500 + 150 and 500 + 200: 812.5 and 875. Two units of the first need two starters.
    """
    first = PUMP | {"name": "a", "running": "300 VA", "starting": "900 VA", "motor": "three-wire", "cable_drop": 0.2}
    second = PUMP | {"name": "b", "running": "200 VA", "starting": "800 VA", "motor": "three-wire", "cable_drop": 0.2}
    loads = [first, second]
    offers = [*OFFERS, Offer("st", "north", 6_000, 1, 1, None)]

    def found(surge_va: str, loads: list[dict[str, Any]] = loads) -> Best | None:
        tables = {"supply": {"kind": "230", "hz": 50, "restart": "staggered"}, "load": loads}
        one = in_memory(tables, converter={"surge_va": surge_va}, offers=offers, starters=[a_starter()])
        cheapest_of_all = cheapest(nodes_of(*one))
        return cheapest_of_all and cheapest_of_all[1]

    def named(surge_va: str, loads: list[dict[str, Any]] = loads) -> tuple[int, list[str]] | None:
        best = found(surge_va, loads)
        return None if best is None else (dict(best.needs).get("st", 0), [name for name, _ in best.starters])

    assert named("1375") == (0, [])
    assert named("1374") == (2, ["a", "b"])
    gentle = [loads[0], loads[1] | {"starting": "none"}]  # 500 + 300: · 1.25 = 1000
    assert named("1374", gentle) == (1, ["a"])
    other = [loads[0] | {"starting": "none"}, loads[1]]  # 500 + 200: 875
    assert named("1374", other) == (1, ["b"])
    twice = [loads[0] | {"running": "150 VA", "starting": "750 VA", "count": 2, "water_per_day": "8000 L"}, gentle[1]]
    assert named("1374", twice) == (2, ["a"])
    deaf = [loads[0] | {"motor": "two-wire"}, loads[1]]
    assert named("1374", deaf) is None


def test_models_of_starters_are_chosen_load_by_load() -> None:
    """The dear one goes only to the motor that the cheap one may not start; stock and packs are as of any part."""
    first = PUMP | {"name": "a", "running": "300 VA", "starting": "900 VA", "motor": "three-wire", "cable_drop": 0.2}
    second = PUMP | {"name": "b", "running": "200 VA", "starting": "800 VA", "motor": "psc", "cable_drop": 0.2}
    tables = {
        "supply": {"kind": "230", "hz": 50, "restart": "staggered"},
        "load": [first, second],
    }
    starters = [a_starter(), a_starter(part="sx", motors="three-wire;psc")]

    def total(*offers: Offer, **more: Any) -> Decimal | None:
        weak = {"surge_va": "1000"}
        return least(in_memory(tables | more, converter=weak, offers=[*OFFERS, *offers], starters=starters))

    cheap, dear = Offer("st", "north", 6_000, 1, 1, None), Offer("sx", "north", 9_000, 1, 1, None)
    assert total(cheap, dear) == BASE + 150
    assert total(dear) == BASE + 180
    assert total(cheap) is None
    assert total(cheap, Offer("sx", "north", 7_000, 1, 2, None)) == BASE + 140
    assert total(cheap, Offer("sx", "east", 4_000, 1, 1, 1)) == BASE + 60 + 40 + 5
    assert total(cheap, Offer("sx", "east", 4_000, 1, 1, 2)) == BASE + 40 + 40 + 5
    assert total(cheap, dear, on_hand={"st": 1}) == BASE + 90
    assert total(dear, on_hand={"sx": 1}) == BASE + 90


def test_a_starter_that_must_be_there() -> None:
    offers = [*OFFERS, Offer("st", "north", 6_000, 1, 1, None)]
    one = in_memory({"load": [MOTOR]}, offers=offers, starters=[a_starter()])
    assert least(one) == BASE
    assert least(one, must={"st": None}) == least(one, must={"st": 1}) == BASE + 60
    assert least(one, must={"st": 2}) is None
    two_units = [MOTOR | {"running": "250 VA", "starting": "750 VA", "count": 2, "water_per_day": "8000 L"}]
    tables = {"supply": {"kind": "230", "hz": 50, "restart": "staggered"}, "load": two_units}
    pair = in_memory(tables, offers=offers, starters=[a_starter()])
    assert least(pair, must={"st": 1}) is None
    assert least(pair, must={"st": None}) == least(pair, must={"st": 2}) == BASE + 120
    assert least(pair, must={"st": 2, "bt": 6}) == THREE_BANK_STRINGS + 120
    mute = in_memory({"load": [PUMP]}, offers=offers, starters=[a_starter()])
    assert least(mute, must={"st": None}) is None


# --- water ----------------------------------------------------------------------------------------

SMALL, BIG = a_tank(), a_tank(part="tb", volume_l="3000")
TANKS = [SMALL, BIG]
WITH_TANKS = [*OFFERS, Offer("ta", "north", 9_000, 1, 1, None), Offer("tb", "north", 19_000, 1, 1, None)]


def tanked(water: Mapping[str, Any] = {}, offers: Sequence[Offer] = WITH_TANKS, **tables: Any) -> tuple[Parts, Job]:
    """The pump of 4000 L a day, with tanks of 1000 L at 90.00 and of 3000 L at 190.00."""
    allowed = {"max_tanks": 99} | dict(water)
    return in_memory({"load": [PUMP], "water": allowed, **tables}, offers=offers, tanks=TANKS)


def test_a_tank_in_place_of_batteries() -> None:
    """With a day of water the bank carries 240 Wh of idle draw through a sunless day and not 2740, and at night
    0.1 · 2500 + 160 Wh: one string is enough. 4000 L are a big and a small tank, 280.00, for two batteries, 400."""
    assert least(tanked()) == ONE_BANK_STRING + 280
    best = best_of(tanked())
    assert (best.tanks, best.water_days, best.starters) == ((("ta", 1), ("tb", 1)), 1.0, ())
    assert (dict(best.needs)["ta"], dict(best.needs)["tb"], dict(best.needs)["bt"]) == (1, 1, 2)
    # 150 and 250: 400. Equal totals and arrays: the one without tanks.
    even = [*OFFERS, Offer("ta", "north", 15_000, 1, 1, None), Offer("tb", "north", 25_000, 1, 1, None)]
    assert least(tanked(offers=even)) == BASE
    assert best_of(tanked(offers=even)).tanks == ()
    # Four small ones at 69.99 each
    small = [*OFFERS, Offer("ta", "north", 6_999, 1, 1, None), Offer("tb", "north", 21_002, 1, 1, None)]
    assert best_of(tanked(offers=small)).tanks == (("ta", 4),)
    assert least(tanked(offers=small)) == ONE_BANK_STRING + Decimal("279.96")


def test_water_stored_already_and_tanks_that_lie_about() -> None:
    """1000 L are there: 3000 L more are one big tank, 190.00, or three small, 270.00."""
    assert least(tanked({"tank_on_hand": "999 L"})) == ONE_BANK_STRING + 280
    assert least(tanked({"tank_on_hand": "1 m^3"})) == ONE_BANK_STRING + 190
    assert best_of(tanked({"tank_on_hand": "1000 L"})).tanks == (("tb", 1),)
    assert least(tanked({"tank_on_hand": "4000 L"})) == ONE_BANK_STRING
    assert best_of(tanked({"tank_on_hand": "4000 L"})).water_days == 1.0
    # Three small ones lie about: a fourth, 90.00. They count only where they are chosen.
    assert least(tanked(on_hand={"ta": 3})) == ONE_BANK_STRING + 90
    assert best_of(tanked(on_hand={"ta": 3})).tanks == (("ta", 4),)
    assert least(tanked(on_hand={"ta": 1})) == ONE_BANK_STRING + 190
    assert best_of(tanked(on_hand={"ta": 9}, need={"autonomy_days": 0.7})).tanks == ()  # free, but of no use
    assert least(tanked(offers=OFFERS, on_hand={"ta": 4})) == ONE_BANK_STRING
    assert least(tanked(offers=OFFERS, on_hand={"ta": 3})) == BASE


def test_space_for_tanks() -> None:
    assert least(tanked({"max_tanks": 2})) == ONE_BANK_STRING + 280
    assert least(tanked({"max_tanks": 1})) == BASE
    assert least(tanked({"max_tanks": 1}), without=frozenset({"space"})) == ONE_BANK_STRING + 280
    assert least(tanked({"max_tanks": 0})) == BASE
    # none unasked, not even one that lies about
    unasked = in_memory({"load": [PUMP], "on_hand": {"ta": 9}}, offers=WITH_TANKS, tanks=TANKS)
    assert least(unasked) == BASE
    assert least(unasked, without=frozenset({"space"})) == ONE_BANK_STRING
    # Those on hand stand in it too: of 3 small and the need of 4 pieces only big and small remain.
    assert least(tanked({"max_tanks": 3}, on_hand={"ta": 3})) == ONE_BANK_STRING + 190


def test_tanks_that_may_not_or_must_be_there() -> None:
    four_small, two_big = ONE_BANK_STRING + 360, ONE_BANK_STRING + 380
    no_big: dict[str, Any] = {"allow": {"exclude": ["tb"]}}
    assert least(tanked(**no_big)) == four_small
    assert least(tanked(**no_big), without=frozenset({"allowed"})) == ONE_BANK_STRING + 280
    assert least(tanked(), never=frozenset({"tb"})) == four_small
    assert least(tanked(), never=frozenset({"ta"})) == two_big
    assert least(tanked(), never=frozenset({"ta", "tb"})) == BASE
    assert least(tanked(on_hand={"tb": 9}), never=frozenset({"tb"})) == four_small
    # The least of every number of small ones: with 2 one big (370), 3 of them are more than enough with it (460).
    by_number = {0: 380, 1: 280, 2: 370, 3: 460, 4: 360, 5: 450}
    for count, cost in by_number.items():
        if count:
            assert least(tanked(), must={"ta": count}) == min(ONE_BANK_STRING + cost, BASE + 90 * count)
    assert least(tanked(), must={"ta": None}) == ONE_BANK_STRING + 280
    assert least(tanked(), must={"tb": 3}) == ONE_BANK_STRING + 570
    assert least(tanked(), must={"tb": 3, "ta": None}) == ONE_BANK_STRING + 660
    assert least(tanked({"max_tanks": 2}), must={"tb": 3}) is None
    assert least(tanked(**no_big), must={"tb": None}) is None
    assert least(tanked(), must={"tb": 1}, never=frozenset({"tb"})) is None
    # Nothing pumps: a tank is there because it must be, and changes nothing.
    dry = in_memory({"water": {"max_tanks": 1}}, offers=WITH_TANKS, tanks=TANKS)
    assert least(dry) == BASE
    assert least(dry, must={"ta": None}) == BASE + 90
    assert best_of(dry, must={"ta": None}).water_days == INFINITE


def test_names_are_checked() -> None:
    one = tanked()
    with pytest.raises(ValueError, match="no converter, panel, battery, rack, starter or tank"):
        nodes_of(*one, must={"st": None})
    with pytest.raises(ValueError, match="no part of the catalogue"):
        nodes_of(*one, never=frozenset({"st"}))
    with pytest.raises(ValueError, match="1 or more"):
        nodes_of(*one, must={"ta": 0})


def test_the_sun_pumps_more_where_a_day_is_stored() -> None:
    """Of 2500 Wh half is pumped by day: 1.25 · 3092.5 Wh / 4 h = 966.4 W, four panels, which one tracker does not
    carry. With a day of water 0.9 of it: 2250 + 80 + (250 + 160)/0.8 = 2842.5 Wh: 888.3 W, three panels of 320 W.
    """
    need = {"array_to_load": 1.25, "autonomy_days": 0}
    assert least(tanked(need=need)) == ONE_BANK_STRING + 280
    assert least(tanked({"tank_on_hand": "4000 L"}, need=need)) == ONE_BANK_STRING
    assert least(tanked({"tank_on_hand": "3999 L"}, need=need)) == ONE_BANK_STRING + 90
    assert least(tanked(need=need, offers=OFFERS)) is None
    # 0.57 of it: 1425 + 80 + (1075 + 160)/0.8 = 3048.75 Wh: 952.7 W; 0.54: 3067.5 Wh, 958.6; 0.53: 960.5 W
    assert least(tanked({"daytime_with_tank": 0.54}, need=need)) == ONE_BANK_STRING + 280
    assert least(tanked({"daytime_with_tank": 0.53}, need=need)) is None
    # The share does not fall where the load's own is the larger.
    keen = [PUMP | {"daytime": 0.9}]
    assert least(tanked({"daytime_with_tank": 0.1}, need=need, load=keen)) == ONE_BANK_STRING
    # The lamps' share does not rise.
    both = [PUMP | {"running": "250 VA"}, JOB["load"][0] | {"running": "250 W"}]
    loads = demand(job_of(JOB | {"load": both}), with_tank=0.9).loads
    assert [one.daytime for one in loads] == [(0.9,) * 12, (0.5,) * 12]
    # Eight hours of pumping have but four of sun, eighteen 4/18.
    for litres, share in (("8000 L", 0.5), ("18000 L", 4 / 18), ("4400 L", 0.9), ("5000 L", 0.8)):
        (one,) = demand(job_of(JOB | {"load": [PUMP | {"water_per_day": litres}]}), with_tank=0.9).loads
        assert one.daytime == pytest.approx((share,) * 12)


def test_a_day_of_water_is_not_autonomy_days_of_it() -> None:
    """Two days ask 5480 Wh, three strings of 2048; with two days of water, 8000 L, 480 Wh. With one day of water
    only the share rises, which saves nothing here. 0.8 of a day asks 2192 Wh, two strings: with 3200 L one."""
    two_days = {"autonomy_days": 2}
    assert least(tanked(need=two_days)) == ONE_BANK_STRING + 2 * 190 + 2 * 90
    assert least(tanked({"tank_on_hand": "5000 L"}, need=two_days)) == ONE_BANK_STRING + 190
    assert least(tanked({"max_tanks": 3}, need=two_days)) == ONE_BANK_STRING + 3 * 190
    assert least(tanked({"max_tanks": 2}, need=two_days)) == THREE_BANK_STRINGS
    part = {"autonomy_days": 0.8}
    assert least(tanked(need=part)) == ONE_BANK_STRING + 280
    assert least(tanked({"tank_on_hand": "3200 L"}, need=part)) == ONE_BANK_STRING
    assert least(tanked({"tank_on_hand": "3199 L"}, need=part)) == ONE_BANK_STRING + 90
    assert least(tanked({"tank_on_hand": "3199 L"}, need=part, offers=OFFERS)) == BASE
    # Loosened by days: of 0.8 a day 0.06 less asks 0.74 · 2740 = 2027.6 Wh; less than 0.0525 more than a string.
    slack = {"autonomy": 0.05}
    assert least(tanked({"tank_on_hand": "2999 L"}, need=part, offers=OFFERS), slack=slack) == BASE
    assert least(tanked({"tank_on_hand": "3000 L"}, need=part, offers=OFFERS), slack=slack) == ONE_BANK_STRING
    assert least(tanked(need=part, offers=OFFERS), slack={"autonomy": 0.06}) == ONE_BANK_STRING


def test_the_water_of_all_loads_in_the_month_that_asks_most() -> None:
    """Two pumps; the first needs up to 2500 L, the second 1500 L, in one month both: 4000 L."""
    of_first = ["2500 L"] * 3 + ["2000 L"] * 9
    of_second = ["1000 L"] * 2 + ["1500 L"] * 2 + ["900 L"] * 8
    pumps = [
        PUMP | {"name": "a", "running": "250 VA", "water_per_day": of_first},
        PUMP | {"name": "b", "running": "250 VA", "water_per_day": of_second},
    ]
    for litres, days in (("4000 L", 1.0), ("6000 L", 1.5)):
        assert best_of(tanked({"tank_on_hand": litres}, load=pumps)).water_days == days
    assert [one.rest for one in useful_tanks(job_of(tables(pumps, "3999 L")), [], ALL_LIMITS, {})] == [False]
    assert [one.rest for one in useful_tanks(job_of(tables(pumps, "4000 L")), [], ALL_LIMITS, {})] == [True]
    yields = {"166 L/h": None, "167 L/h": BASE}  # 4000 L in 24 h
    for well_yield, total in yields.items():
        one = in_memory({"load": [PUMP], "water": {"well_yield": well_yield}})
        assert least(one) == total
        assert least(one, without=frozenset({"well-yield"})) == BASE
    with pytest.raises(ValueError, match="cannot be loosened"):
        Limits(slack={"well-yield": 1})


def tables(loads: list[dict[str, Any]], litres: str) -> dict[str, Any]:
    return JOB | {"load": loads, "water": {"tank_on_hand": litres}}


def test_a_load_that_is_not_critical_is_not_carried_twice() -> None:
    """Lamps of 200 Wh and the pump of 2000: without the pump 250 + 240 Wh a day; the pump not critical alike."""
    lamps = JOB["load"][0] | {"running": "50 W"}
    few = tanked({"tank_on_hand": "4000 L"}, OFFERS, load=[PUMP, lamps], need={"autonomy_days": 2048 / 490})
    assert least(few) is None  # 4.18 days of water are 16718 L
    water = {"tank_on_hand": "17 m^3"}
    for days, strings in ((2048 / 490, 1), (2048 / 489, 2)):
        for load in (PUMP, PUMP | {"critical": False}):
            one = tanked(water, load=[load, lamps], need={"autonomy_days": days})
            assert best_of(one).needs[1] == ("bt", 2 * strings)


def test_reserve() -> None:
    """A quarter of a day is 1000 L: a small tank. Half a day of autonomy asks 1370 Wh of one bank string anyway."""
    half = {"autonomy_days": 0.5}

    def total(days: float, **terms: Any) -> Decimal | None:
        return least(tanked({"reserve_days": days}, need=half), **terms)

    assert least(tanked(need=half)) == ONE_BANK_STRING
    assert total(0.25) == ONE_BANK_STRING + 90
    assert total(0.2501) == ONE_BANK_STRING + 180
    assert total(1.25) == ONE_BANK_STRING + 370  # 5000 L: a big and two small
    assert total(3) == ONE_BANK_STRING + 760  # 12000 L: four big
    assert total(1.25, never=frozenset({"ta"})) == ONE_BANK_STRING + 380
    assert total(1.25, without=frozenset({"water-reserve"})) == ONE_BANK_STRING
    assert total(0.25, slack={"water-reserve": 0.2499}) == ONE_BANK_STRING + 90
    assert total(0.25, slack={"water-reserve": 0.25}) == ONE_BANK_STRING
    assert total(1.25, slack={"water-reserve": 0.25}) == ONE_BANK_STRING + 280
    assert total(1.25, slack={"water-reserve": 9}) == ONE_BANK_STRING
    short = tanked({"reserve_days": 1.25, "max_tanks": 1}, need=half)
    assert least(short) is None
    assert least(short, without=frozenset({"space"})) == ONE_BANK_STRING + 370
    assert least(tanked({"reserve_days": 1}, offers=OFFERS)) is None
    # Nothing pumps: nothing is to be stored.
    assert least(in_memory({"water": {"reserve_days": 2}})) == BASE


def test_tanks_that_reach_no_more_are_left_out() -> None:
    """Of all multisets those of which no piece is needless: nothing, 3200 L for 0.8 days, 4000 L for one."""
    job = job_of(JOB | {"load": [PUMP], "need": {"autonomy_days": 0.8}, "water": {"max_tanks": 9}})
    tanks = [a_tank(volume_l="1600"), a_tank(part="tb", volume_l="4000")]
    found = useful_tanks(job, tanks, ALL_LIMITS, {})
    assert [(dict(one.pieces), one.raised, one.rest) for one in found] == [
        ({}, False, False),
        ({"tb": 1}, True, True),
        ({"ta": 2}, False, True),
        ({"ta": 3}, True, True),
    ]
    kept = useful_tanks(job, tanks, ALL_LIMITS, {"ta": 1})
    assert [dict(one.pieces) for one in kept] == [{"ta": 1}, {"ta": 1, "tb": 1}]


def test_starters_and_tanks_in_files(tmp_path: Path) -> None:
    """Surge for a soft start only, batteries at their price: a starter, and five tanks of 950 L at 40.00."""
    job = JOB | {"load": [MOTOR], "water": {"max_tanks": 5}}
    tank = {key: text for key, text in TANK.items() if key != "usable_pct"}
    prices = [*PRICES, price("st", "60"), price("ta", "40")]
    catalog = write_whole(tmp_path, job, prices, starter=STARTER | {"floor_x": "1"}, tank=tank)
    parts = read_parts(catalog)
    assert (parts.tanks[0].usable_l, parts.starters[0].ramp_s) == (950, 3)
    assert (parts.starters[0].volts_min, parts.starters[0].volts_max) == (0, INFINITE)

    def total(**terms: Any) -> Decimal:
        found = cheapest(enumerate_nodes(catalog, tmp_path / "job.toml", **terms))
        assert found is not None
        return found[1].total

    assert total() == ONE_BANK_STRING + 200 + 60  # one string gives 100 A, the direct start takes 117
    assert total(never=frozenset({"st"})) == BASE
    assert total(must={"ta": 6}, without=frozenset({"space"})) == ONE_BANK_STRING + 240 + 60
    assert total(most_sellers=1) == total()
    (catalog / "tanks.csv").unlink()
    (catalog / "starters.csv").unlink()
    assert total() == BASE
