"""The brute force against cases worked by hand, and the random instances against what an instance must be."""

from __future__ import annotations

import itertools
import math
import random
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.brute.arrays import Shape, extra_needs
from tests.brute.by_hand import (
    BATTERY,
    CONVERTER,
    JOB,
    PRICES,
    a_converter,
    a_job,
    a_load,
    a_panel,
    a_rack,
    price,
    write_table,
    write_whole,
)
from tests.brute.force import Node, best_distinct, enumerate_nodes
from tests.brute.limits import DROPPABLE, LIMITS, Limits
from tests.brute.loads import Case, demand, figures
from tests.brute.money import Market
from tests.brute.parts import Extra, Offer, Row, battery
from tests.brute.reading import Job, amount, job_of, quantity
from tests.brute.rules import (
    bank_strings,
    cold_factor,
    converter_holds,
    layouts,
    panels_to_charge,
    placing_holds,
    placings,
    rack_units,
    rows_of_string,
    unit_counts,
    usable_power,
    usable_power_needed,
)

ALL_LIMITS = Limits()


# --- reading --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("14 degF", "temperature", -10.0),  # (14 - 32)·5/9
        ("-9degC", "temperature", -9.0),
        ("8.6 kVA", "apparent", 8600.0),
        ("90 min", "time", 5400.0),
        ("900 gal", "volume", 900 * 3.785411784),  # 231 in³
        ("12 gpm", "flow", 12 * 60 * 3.785411784),
        ("100 ft^2", "area", 9.290304),
        ("2 m^3/h", "flow", 2000.0),
    ],
)
def test_quantities_convert(text: str, kind: str, value: float) -> None:
    assert amount(text, kind) == pytest.approx(value, rel=1e-14)


@pytest.mark.parametrize("text", ["8,1 A", "8.1", "14 F", "A", "8.1 a", "1e3 A"])
def test_what_is_no_current_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="not a quantity"):
        quantity(text, "current")


def test_defaults_of_empty_cells() -> None:
    one = a_converter(continuous_va="")
    assert (one.continuous_va, one.leg_va, one.leg_surge_va) == (1000, 500, 1000)
    assert (one.array_max_w, one.array_usable_w, one.tracker_start_v) == (1200, 1200, 30)
    lead = battery(Row(BATTERY | {"chemistry": "gel"}))
    assert (lead.daily_pct, lead.capacity_pct_per_c, lead.charge_min_a, lead.coldest_discharge_c) == (
        25,
        1.2,
        5,
        -40,
    )
    other = battery(Row(BATTERY | {"chemistry": "other"}))
    assert (other.capacity_pct_per_c, other.coldest_discharge_c) == (1.0, -20)
    # the hottest that each may be charged and discharged at
    assert [(one.hottest_charge_c, one.hottest_discharge_c) for one in (lead, battery(Row(BATTERY)), other)] == [
        (50, 50),
        (50, 55),
        (50, 50),
    ]
    # a panel's Vmp falls by 0.05 % more than its Pmax where it does not say
    assert a_panel().vmp_pct_per_c == pytest.approx(-0.45, rel=1e-12)
    assert a_panel(vmp_pct_per_c="-0.33").vmp_pct_per_c == -0.33
    mounts = ("roof", "ground-ballast", "ground-post", "pole")
    assert [a_rack(mount=mount).heat_c for mount in mounts] == [15, 0, 0, 0]
    assert (a_rack(mount="roof", heat_c="0").heat_c, a_rack(heat_c="8.5").heat_c) == (0, 8.5)
    lfp = battery(Row(BATTERY))
    assert (lfp.daily_pct, lfp.capacity_pct_per_c, lfp.charge_min_a, lfp.coldest_discharge_c) == (
        80,
        0.5,
        0,
        -20,
    )


# --- loads ----------------------------------------------------------------------------------------

SUN = (4.0,) * 12


@pytest.mark.parametrize(
    ("keys", "running_w", "running_va", "starting_va", "starting_w"),
    [
        # amps and volts; power factor 1 unless stated
        ({"running": "4 A"}, 920, 920, 920, 920),
        ({"running": "4 A", "power_factor": 0.75}, 690, 920, 920, 690),
        # watts: 0.9 for a psc motor, 0.8 on three phases, 0.7 for any other (it starts, or says what only a motor
        # has), 1.0 for no motor; "none" alone makes none
        ({"running": "420 W", "starting": "10 A"}, 420, 600, 2300, 2300),
        ({"running": "450 W", "motor": "psc", "starting": "10 A"}, 450, 500, 2300, 2300),
        ({"running": "420 W", "motor": "two-wire", "starting": "none"}, 420, 600, 600, 420),
        ({"running": "420 W", "motor": "three-wire", "starting": "none"}, 420, 600, 600, 420),
        ({"running": "400 W", "motor": "three-phase", "starting": "none"}, 400, 500, 500, 400),
        ({"running": "420 W", "rated": "0.5 hp", "starting": "none"}, 420, 600, 600, 420),
        ({"running": "420 W", "flow": "5 L/min", "starting": "none"}, 420, 600, 600, 420),
        ({"running": "400 W", "starting": "none"}, 400, 400, 400, 400),
        ({"running": "400 W"}, 400, 400, 400, 400),
        ({"running": "420 W", "power_factor": 0.84, "motor": "psc", "starting": "none"}, 420, 500, 500, 420),
        # 420/0.7 = 600 VA would be above the stated start of 450 VA: the running is no more than the start
        ({"running": "420 W", "starting": "450 VA"}, 420, 450, 450, 420),
        ({"running": "420 W", "starting": "420 VA"}, 420, 420, 420, 420),
        # letter G ends at 6.29 kVA/hp (NEC 430.7(B), from memory): 6290 · 0.5
        ({"running": "420 W", "locked_rotor_code": "G", "rated": "0.5 hp"}, 420, 600, 3145, 3145),
        # 1.5 hp at 230 V: 10 A full load, six times that locked (NEC 430.248 and 430.251(A)): 60 A · 230 V
        ({"running": "1050 W", "rated": "1.5 hp"}, 1050, 1500, 13800, 13800),
        # between ½ and ¾ hp the larger row: 6.9 A · 6 · 230 V
        ({"running": "420 W", "rated": "0.6 hp"}, 420, 600, 9522, 9522),
        # under ½ hp its row: 4.9 A · 6 · 230 V
        ({"running": "210 W", "rated": "0.25 hp"}, 210, 300, 6762, 6762),
        # 115 V column: 9.8 A · 6 · 120 V
        ({"voltage": "120 V", "running": "420 W", "rated": "0.5 hp"}, 420, 600, 7056, 7056),
        # the start that is stated goes before the rated power
        ({"running": "4 A", "rated": "0.5 hp", "starting": "10 A"}, 920, 920, 2300, 2300),
        # the start at its power factor, but never below the running power
        ({"running": "4 A", "starting": "10 A", "starting_power_factor": 0.5}, 920, 920, 2300, 1150),
        ({"running": "4 A", "starting": "5 A", "starting_power_factor": 0.5}, 920, 920, 1150, 920),
    ],
)
def test_figures_of_one_load(
    keys: dict[str, Any], running_w: float, running_va: float, starting_va: float, starting_w: float
) -> None:
    one = figures(a_load(**keys), SUN)
    found = (one.running_w, one.running_va, one.starting_va, one.starting_w)
    assert found == pytest.approx((running_w, running_va, starting_va, starting_w), rel=1e-12)


THREE_PHASE = {"motor": "three-phase"}


@pytest.mark.parametrize(
    ("keys", "running_va", "starting_va"),
    [
        # 6.8 A and 50 A at 230 V between phases: √3 · 230 V · 6.8 A = 2709 VA
        ({"running": "6.8 A", "starting": "50 A"}, 2708.9, 19_918.6),
        ({"running": "2000 VA", "starting": "9 kVA"}, 2000, 9000),
        ({"running": "2000 VA", "starting": "none"}, 2000, 2000),
        # kVA by hp, NEC Table 430.251(B): under ½ hp its row, between rows the larger
        ({"running": "300 VA", "rated": "0.25 hp"}, 300, 7970),
        ({"running": "2000 VA", "rated": "2 hp"}, 2000, 19_920),
        ({"running": "2000 VA", "rated": "2.1 hp"}, 2000, 25_500),
        ({"running": "9000 VA", "rated": "10 hp"}, 9000, 64_540),
        # letter G ends at 6.29 kVA/hp
        ({"running": "2000 VA", "rated": "2 hp", "locked_rotor_code": "G"}, 2000, 12_580),
    ],
)
def test_figures_of_a_motor_on_three_phases(keys: dict[str, Any], running_va: float, starting_va: float) -> None:
    one = figures(a_load(**(THREE_PHASE | keys)), SUN)
    assert (one.running_va, one.starting_va) == pytest.approx((running_va, starting_va), abs=0.05)
    assert one.running_w == one.running_va
    assert one.running_a == pytest.approx(running_va / 398.3717, rel=1e-4)  # √3 · 230 V


@pytest.mark.parametrize(
    "keys",
    [
        {"running": "4 A", "starting": "3 A"},
        {"running": "4 A", "starting": "4 A"},  # not above the running
        {"running": "920 VA", "starting": "920 VA"},
        {"running": "400 W", "power_factor": 0.8, "starting": "500 VA"},
        {"running": "400 W", "starting": "399 VA"},
        {"running": "7 kVA", "rated": "0.5 hp"},  # 6762 VA
        {"running": "4 kVA", "rated": "0.5 hp", "locked_rotor_code": "G"},  # 3145 VA
    ],
)
def test_a_start_not_above_the_running_is_refused(keys: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="starts with no more"):
        figures(a_load(**keys), SUN)


@pytest.mark.parametrize(
    ("keys", "match"),
    [
        ({"motor": "psc"}, "without a start figure"),
        ({"flow": "5 L/min"}, "without a start figure"),
        ({"water_per_day": "600 L", "flow": "5 L/min", "energy_per_day": None}, "without a start figure"),
        ({"locked_rotor_code": "G"}, "without the rated power"),
        ({"locked_rotor_code": "G", "rated": "1 hp", "starting": "none"}, "code besides"),
        ({"rated": "10.1 hp"}, "over 10 hp"),
        ({"rated": "10.1 hp"} | THREE_PHASE, "over 10 hp"),
        ({"hours_per_day": "24.1 h"}, "more than 24 h"),
        ({"energy_per_day": "12.1 kWh"}, "more than 24 h"),  # 500 W
    ],
)
def test_loads_that_are_refused(keys: dict[str, Any], match: str) -> None:
    with pytest.raises(ValueError, match=match):
        figures(a_load(**keys), SUN)


def test_all_day_is_not_refused() -> None:
    assert figures(a_load(energy_per_day="24 kWh", count=2), SUN).energy_wh == (24_000,) * 12


def test_energy_and_daytime_share() -> None:
    """1200 L a day over 2 units of 5 L/min are 2 h each: 500 W · 2 h · 2; 8 h of use have but 4 h of sun."""
    load = a_load(energy_per_day=None, water_per_day="1200 L", flow="5 L/min", count=2, daytime=0.9, starting="none")
    one = figures(load, SUN)
    assert one.energy_wh == pytest.approx((2000,) * 12)
    assert one.daytime == (0.9,) * 12
    eight = a_load(energy_per_day=None, hours_per_day="8 h", daytime=0.9)
    assert figures(eight, SUN).daytime == (0.5,) * 12
    assert figures(a_load(energy_per_day="1.1 kWh", count=3), SUN).energy_wh == (1100,) * 12


def test_start_cases() -> None:
    """Running 2·100 + 200 + 50 = 450 VA; staggered 400 or 100 more, together 2·500 + 300 + 50."""
    loads: list[dict[str, Any]] = [
        {
            "name": "a",
            "voltage": "230 V",
            "running": "100 VA",
            "starting": "500 VA",
            "count": 2,
            "start_time": "3 s",
        },
        {"name": "b", "voltage": "230 V", "running": "200 VA", "starting": "300 VA", "start_time": "1 s"},
        {"name": "c", "voltage": "230 V", "running": "50 VA", "start_time": "9 s"},
    ]
    staggered = demand(a_job(*loads, kind="230", restart="staggered"))
    assert staggered.cases == [Case(850, 850, 3, 0), Case(550, 550, 1, 1)]
    together = demand(a_job(*loads, kind="230", restart="together"))
    assert together.cases == [Case(1350, 1350, 3, None)]


# --- legs -----------------------------------------------------------------------------------------


def legs(job: Job, leg_va: float, leg_surge_va: float) -> bool:
    asked = demand(job)
    one = replace(a_converter(), leg_va=leg_va, leg_surge_va=leg_surge_va)
    return any(placing_holds(job, asked, one, 1, placing) for placing in placings(asked))


def test_legs_need_one_placing_for_running_and_start() -> None:
    """A 240 V load of 1000 VA puts 500 on each leg; two lamps of 500, a motor of 500 that starts with 1500.

    Best: the lamps on one leg (1500 VA), the motor on the other (1000 VA running, 2000 as it starts). With a
    quarter more that is 1875 VA running and 2500 VA starting. With a lamp beside the motor the start is 2500
    VA, with a quarter more 3125.
    """
    across = {"name": "a", "voltage": "240 V", "running": "1000 VA"}
    lamps: dict[str, Any] = {"name": "l", "voltage": "120 V", "running": "500 VA", "count": 2}
    motor: dict[str, Any] = {"name": "m", "voltage": "120 V", "running": "500 VA", "starting": "1500 VA"}
    job = a_job(across, lamps, motor)
    assert legs(job, 1875, 2500)
    assert not legs(job, 1874, 5000)
    assert not legs(job, 5000, 2499)
    # All on one leg: running 2000 · 1.25, start 3000 · 1.25.
    pinned = a_job(across, lamps | {"leg": 1}, motor | {"leg": 1})
    assert legs(pinned, 2500, 3750)
    assert not legs(pinned, 2499, 3750)
    assert not legs(pinned, 2500, 3749)
    # One lamp on each leg is possible only unpinned, and pinned lamps leave the motor the other leg.
    assert legs(a_job(across, lamps | {"leg": 2}, motor), 1875, 2500)


def test_legs_when_all_start_together() -> None:
    """Half of 3000 VA across and 800 or 600 on each leg's own: 2300 · 1.25 = 2875 VA."""
    job = a_job(
        {"name": "a", "voltage": "240 V", "running": "1000 VA", "starting": "3000 VA"},
        {"name": "b", "voltage": "120 V", "running": "100 VA", "starting": "800 VA"},
        {"name": "c", "voltage": "120 V", "running": "100 VA", "starting": "600 VA"},
        restart="together",
    )
    assert legs(job, 800, 2875)
    assert not legs(job, 800, 2874)
    slow = replace(job, loads=[replace(job.loads[0], start_time_s=6.0), *job.loads[1:]])
    assert not legs(slow, 2874, 5000)  # the surge is rated for 5 s: the leg's lasting VA count
    assert legs(slow, 2875, 5000)


def test_a_start_is_judged_on_both_legs() -> None:
    """A 240 V pump adds half of its 2000 VA more to the leg of the lamp too: 500 + 1000 + 1000 VA, · 1.25."""
    job = a_job(
        {"name": "p", "voltage": "240 V", "running": "1000 VA", "starting": "3000 VA"},
        {"name": "l", "voltage": "120 V", "running": "1000 VA", "leg": 2},
    )
    assert legs(job, 1875, 3125)
    assert not legs(job, 1875, 3124)
    # the motor on its own leg adds nothing to the lamp's, which is fuller as it runs
    own = a_job(
        {"name": "m", "voltage": "120 V", "running": "100 VA", "starting": "500 VA", "leg": 1},
        {"name": "l", "voltage": "120 V", "running": "1000 VA", "leg": 2},
    )
    assert legs(own, 1250, 1250)
    assert not legs(own, 1250, 1249)


# --- strings --------------------------------------------------------------------------------------


def longest(without: set[str], **cells: str) -> int:
    """The longest single string at -15 °C: 50 V · (1 + 0.003·40) = 56 V a panel."""
    job = replace(job_of(JOB), coldest_c=-15.0, array_ceiling_v=600.0)
    wide = a_converter(tracker_top_v="480", tracker_max_w="9000", tracker_max_v=cells.pop("tracker_max_v", "500"))
    found = layouts(job, wide, a_panel(**({"max_system_v": "550"} | cells)), Limits(frozenset(without)))
    return max(layout.series for layout in found)


def test_strings_in_the_cold() -> None:
    # 500 V less 5 % is 475 V: 8 · 56 = 448 V stay below, 9 · 56 = 504 V do not.
    assert longest(set()) == 8
    # then the panel's 550 V: 9 · 56 = 504, 10 · 56 = 560
    assert longest({"cold-voltage"}) == 9
    # then the site's 600 V: 10 · 56 = 560, 11 · 56 = 616
    assert longest({"cold-voltage", "panel-voltage"}) == 10
    # then 480 V at work: 12 · 40
    assert longest({"cold-voltage", "panel-voltage", "code-voltage"}) == 12
    # met exactly: 560 V less 5 % is 532 V, and 9.5 · 56 would be; 448 / 0.95 = 471.578947368...
    assert longest(set(), tracker_max_v=repr(448 / 0.95)) == 8
    assert longest(set(), tracker_max_v="471.5") == 7


def test_cold_factors() -> None:
    """NEC Table 690.7(A), from memory; between bands the colder one."""
    bare = a_panel(voc_pct_per_c="")
    expected = {
        30: 1.0,
        25: 1.0,
        24.5: 1.02,
        1.3: 1.10,
        -10: 1.14,
        -10.5: 1.16,
        -20.5: 1.20,
        -22.9: 1.20,
        -40: 1.25,
    }
    assert {coldest: cold_factor(bare, coldest) for coldest in expected} == expected
    assert cold_factor(bare, -40.1) is None
    assert cold_factor(a_panel(), 35) == 1.0  # never below 1
    # 49.5 V, -0.27 %/°C, -10 °C: 54.18 V (coefficient method, common practice, no source)
    assert 49.5 * (cold_factor(a_panel(voc_pct_per_c="-0.27"), -10) or 0) == pytest.approx(54.18, abs=0.005)
    job = replace(job_of(JOB), coldest_c=-41.0)
    assert layouts(job, a_converter(), bare, ALL_LIMITS) == []


def test_hot_and_wake_voltage() -> None:
    """25 °C air and a 45 °C NOCT make a cell of 56.25 °C, 31.25 above: vmp 40·(1 - 0.0045·31.25) = 34.375 V, voc
    50·(1 - 0.09375) = 45.3125 V. With 3 % kept, one panel works at 33.34375 V.

    By a coefficient of its own of -0.4 %/°C at 40·(1 - 0.125)·0.97 = 33.95 V. On a rack that heats it by 10 °C more,
    41.25 above, at 40·(1 - 0.185625)·0.97 = 31.59775 V, and it wakes at 50·(1 - 0.12375) = 43.8125 V."""
    job = job_of(JOB)

    def shortest(own: str = "", heat_c: float = 0.0, **cells: str) -> int:
        found = layouts(job, a_converter(**cells), a_panel(vmp_pct_per_c=own), ALL_LIMITS, heat_c)
        return min(layout.series for layout in found)

    wakes: Any = {"tracker_start_v": "1"}
    assert shortest(tracker_min_v="33.343", **wakes) == 1
    assert shortest(tracker_min_v="33.344", **wakes) == 2
    assert shortest("-0.4", tracker_min_v="33.95", **wakes) == 1
    assert shortest("-0.4", tracker_min_v="33.96", **wakes) == 2
    assert shortest("", 10, tracker_min_v="31.597", **wakes) == 1
    assert shortest("", 10, tracker_min_v="31.598", **wakes) == 2
    assert shortest(tracker_start_v="45.3125") == 1
    assert shortest(tracker_start_v="45.32") == 2
    assert shortest("", 10, tracker_start_v="43.8125") == 1
    assert shortest("", 10, tracker_start_v="43.82") == 2


def test_a_clipped_tracker_gives_the_mean_of_a_clipped_half_sine() -> None:
    """The formula against an integral of min(sin, r) in 20,000 steps, and r = ½: 1 - √¾ + π/6."""
    for r in (0.05, 0.3, 0.5, 0.9, 1.0):
        steps = 20_000
        middles = [math.sin(math.pi * (step + 0.5) / steps) for step in range(steps)]
        mean = sum(min(one, r) for one in middles) / sum(middles)
        assert usable_power(1000.0, r * 1000.0) == pytest.approx(1000 * mean, rel=1e-6)
    assert usable_power(800.0, 400.0) == pytest.approx(800 * (1 - math.sqrt(0.75) + math.pi / 6), rel=1e-12)
    assert usable_power(800.0, 2000.0) == 800.0


def test_usable_power_is_capped_by_watts_and_by_amps_at_hot_volts() -> None:
    """Three panels give 3·400·0.8 = 960 W; the tracker takes 1200 W or 8 A · 103.125 V = 825 W.

    On a rack that heats them by 15 °C they give 960 · (1 - 0.004·15) = 902.4 W."""
    (three,) = [one for one in layouts(job_of(JOB), a_converter(), a_panel(), ALL_LIMITS) if one.series == 3]
    assert three.usable_w == 960.0
    (held,) = [
        one for one in layouts(job_of(JOB), a_converter(tracker_usable_a="8"), a_panel(), ALL_LIMITS) if one.series == 3
    ]
    r = 825 / 960
    assert held.usable_w == pytest.approx(960 * (1 - math.sqrt(1 - r * r) + r * math.acos(r)), rel=1e-12)
    (hot,) = [one for one in layouts(job_of(JOB), a_converter(), a_panel(), ALL_LIMITS, 15.0) if one.series == 3]
    assert hot.usable_w == pytest.approx(902.4, rel=1e-12)


def test_tracker_current_counts_rear_light() -> None:
    """10.6 A · (1 + 0.135·0.7) · 1.25 = 14.502 A a string."""
    job = job_of(JOB)
    two_sided = a_panel(bifacial_pct="70")

    def most(isc_a: str) -> int:
        found = layouts(job, a_converter(tracker_isc_a=isc_a), two_sided, ALL_LIMITS)
        return max((one.parallel for one in found), default=0)

    assert most("14.51") == 1
    assert most("14.50") == 0
    assert most("29.01") == 2


@pytest.mark.parametrize(
    ("isc_a", "max_fuse_a", "fused"),
    [
        # (m - 1)·1.25·isc above the panel's fuse; NEC 690.9: 3 strings of 5 A at 15 A need none, 4 do
        ("5", "15", {1: False, 2: False, 3: False, 4: True}),
        # 2·12.5 = 25 above 20: fused, and 1.5625·10 = 15.625 A has the standard 20 A
        ("10", "20", {1: False, 2: False, 3: True, 4: True}),
        # 15.625 A and no more than 15 A, or 19 A: no standard rating between, so no third string
        ("10", "15", {1: False, 2: False}),
        ("10", "19", {1: False, 2: False}),
    ],
)
def test_fused_strings(isc_a: str, max_fuse_a: str, fused: dict[int, bool]) -> None:
    wide = a_converter(tracker_isc_a="200", tracker_max_w="1600", tracker_top_v="40")
    one = a_panel(isc_a=isc_a, max_fuse_a=max_fuse_a)
    found = {layout.parallel: layout.fused for layout in layouts(job_of(JOB), wide, one, ALL_LIMITS)}
    assert found == fused
    loose = layouts(job_of(JOB), wide, one, Limits(frozenset({"fuse-fits"})))
    assert {layout.parallel for layout in loose} == {1, 2, 3, 4}


@pytest.mark.parametrize(
    ("isc_a", "max_fuse_a", "at_60_hz", "at_50_hz"),
    [
        # 15.625 A: at 60 Hz the next rating is 20 A, at 50 Hz 16 A (IEC 60269, from memory)
        ("10", "20", 4, 4),
        ("10", "19", 2, 4),
        ("10", "15.9", 2, 2),
        # 20.3125 A: 25 A in both; 28.125 A: 30 A or 32 A
        ("13", "25", 4, 4),
        ("18", "30", 4, 2),
        ("18", "32", 4, 4),
    ],
)
def test_fuses_of_two_standards(isc_a: str, max_fuse_a: str, at_60_hz: int, at_50_hz: int) -> None:
    """The most strings in parallel; whatever the kind of the supply."""
    wide = a_converter(tracker_isc_a="200", tracker_max_w="1600", tracker_top_v="40")
    one = a_panel(isc_a=isc_a, max_fuse_a=max_fuse_a)
    for hz, most in ((60, at_60_hz), (50, at_50_hz)):
        for kind in ("230", "120"):
            job = job_of(JOB | {"supply": {"kind": kind, "hz": hz}})
            assert max(layout.parallel for layout in layouts(job, wide, one, ALL_LIMITS)) == most


# --- mounting, extras -----------------------------------------------------------------------------


def test_rack_units() -> None:
    """7 panels in rows of 3 stand in 3 rows: 7·1.1 + 3·0.5 = 9.2, so 10 units; 10·1.1 is 11 and not 12."""
    job = replace(job_of(JOB), row_max=3)
    one = a_rack(per_panel="1.1", per_row="0.5", max_row="5")
    assert rows_of_string(job, one, 7) == 3
    assert rack_units(one, 7, 3) == 10
    assert rack_units(a_rack(per_panel="1.1", per_row="0"), 10, 2) == 11
    assert rows_of_string(job_of(JOB), one, 7) == 2


def test_extras_by_their_count_and_condition() -> None:
    """Strings: 3 fused of 2 panels in 1 row each, and 1 of 5 panels in 3 rows that is not fused."""
    shape = Shape(11, 4, 6, 20, fused_strings=3, fused_panels=6, fused_rows=3)
    rows = [
        ("string", 1.0, "fused", 3),
        ("panel", 0.5, "fused", 3),
        ("row", 1.0, "fused", 3),
        ("converter", 1.0, "fused", 2),
        ("string", 0.3, "always", 2),  # 1.2
        ("row", 1.1, "always", 7),  # 6.6
        ("panel", 1.0, "stacked", 11),
        ("bank-string", 2.0, "paralleled-bank", 0),
        ("battery", 0.25, "always", 1),
        ("system", 3.0, "always", 3),
    ]
    extras = [Extra(str(place), per, quantity_, when) for place, (per, quantity_, when, _) in enumerate(rows)]
    found = extra_needs(extras, 2, 4, 1, shape)
    assert [pieces for _, pieces in found] == [pieces for *_, pieces in rows]
    none_fused = shape._replace(fused_strings=0, fused_panels=0, fused_rows=0)
    assert [pieces for _, pieces in extra_needs(extras, 2, 4, 1, none_fused)][:4] == [0, 0, 0, 0]


# --- bank -----------------------------------------------------------------------------------------


def test_bank_strings_by_hand() -> None:
    """500 W for 4 h, half by day: 1000 Wh at night / 0.8 + 10 W · 16 h = 1410 Wh, a day 2500 + 240 = 2740 Wh.
    A string gives 25.6 V · 100 Ah · 0.8 = 2048 Wh. (625 W / 0.8 + 10 W) / 20 V = 39.5625 A."""
    job = job_of(JOB)
    asked = demand(job)

    def counts(without: set[str] = frozenset(), job: Job = job, **cells: str) -> list[int]:  # type: ignore[assignment]
        one = battery(Row(BATTERY | cells))
        return bank_strings(job, asked, a_converter(), 1, one, Limits(frozenset(without)))

    assert counts() == [2, 3]
    assert counts({"autonomy"}) == [1, 2, 3]
    assert counts({"autonomy"}, usable_pct="55") == [2, 3]  # 1408 Wh
    assert counts({"autonomy", "night-energy"}, usable_pct="55") == [1, 2, 3]
    # two strings count as 1.6: 39.5625 / 1.6 = 24.727 A each
    assert counts(discharge_a="24.73") == [2, 3]
    assert counts(discharge_a="24.72") == [3]
    # two converters draw 20 W for themselves: (781.25 + 20) / 20 = 40.0625 A, / 1.6 = 25.04 A
    both = battery(Row(BATTERY | {"discharge_a": "25.04"}))
    assert bank_strings(job, asked, a_converter(), 2, both, ALL_LIMITS) == [2, 3]
    assert bank_strings(job, asked, a_converter(), 2, replace(both, discharge_a=25.03), ALL_LIMITS) == [3]
    assert counts(max_parallel="1") == []
    assert counts(max_series="1") == []
    assert counts(charge_v="16.1") == []  # 32.2 V above 32 V
    assert counts(coldest_charge_c="26") == []
    # 25 °C at the hottest
    assert counts(hottest_charge_c="24.9") == counts(hottest_discharge_c="24.9") == []
    assert counts(hottest_charge_c="25", hottest_discharge_c="25") == [2, 3]
    assert counts({"bank-heat"}, hottest_charge_c="24.9") == [2, 3]
    warm = replace(job, bank_hottest_c=50.1)
    assert counts(job=warm) == counts(job=warm, hottest_charge_c="51", hottest_discharge_c="50") == []
    assert counts(job=warm, hottest_charge_c="51") == [2, 3]
    # at 5 °C a fifth of 0.5 % a degree, 10 %, is gone: 1843.2 Wh a string, 3686.4 Wh two
    assert counts(job=replace(job, bank_coldest_c=5.0, autonomy_days=3686.4 / 2740)) == [2, 3]
    assert counts(job=replace(job, bank_coldest_c=5.0, autonomy_days=3686.5 / 2740)) == [3]


@pytest.mark.parametrize(
    ("usable_pct", "freezes_c"),
    [("20", -35), ("25", -35), ("25.1", -22), ("50", -22), ("51", -15), ("75", -15), ("80", -13), ("80.1", -8)],
)
@pytest.mark.parametrize("chemistry", ["agm", "gel", "flooded", "lfp", "other"])
def test_a_lead_acid_bank_must_not_freeze(usable_pct: str, freezes_c: float, chemistry: str) -> None:
    """By what its acid freezes at as it is drained; the pump of 20 W asks little of a big bank."""
    lamps = JOB["load"][0] | {"running": "5 W"}
    job = job_of(JOB | {"load": [lamps]})
    asked = demand(job)
    cells = {"chemistry": chemistry, "usable_pct": usable_pct, "coldest_charge_c": "-60", "charge_min_a": "0"}
    one = battery(Row(BATTERY | cells | {"coldest_discharge_c": "-60", "capacity_ah": "900"}))

    def fits(coldest_c: float, without: frozenset[str] = frozenset()) -> bool:
        there = replace(job, bank_coldest_c=coldest_c)
        return bank_strings(there, asked, a_converter(), 1, one, Limits(without)) != []

    assert fits(freezes_c)
    assert fits(freezes_c - 0.1) is (chemistry in ("lfp", "other"))
    assert fits(freezes_c - 0.1, frozenset({"bank-freeze"}))


def test_lead_acid_in_the_cold() -> None:
    """At -5 °C 30 · 1.2 % of the capacity is gone: 64 % of 2048 Wh are 1310.72 Wh."""
    job = replace(job_of(JOB), bank_coldest_c=-5.0)
    asked = demand(job)
    lead = battery(Row(BATTERY | {"chemistry": "agm", "coldest_charge_c": "-20", "daily_pct": "80"}))
    for days, strings in ((3 * 1310.72 / 2740, [3]), (3 * 1310.73 / 2740, [])):
        assert bank_strings(replace(job, autonomy_days=days), asked, a_converter(), 1, lead, ALL_LIMITS) == strings
    # 1/1.2 = 83.3 °C below 25 °C there is nothing left
    empty = replace(job, bank_coldest_c=-58.4)
    numb = replace(lead, coldest_charge_c=-99.0, coldest_discharge_c=-99.0)
    nothing = Limits(frozenset({"bank-freeze", "night-energy", "autonomy"}))
    assert bank_strings(empty, asked, a_converter(), 1, numb, nothing) == []
    assert bank_strings(replace(job, bank_coldest_c=-58.0), asked, a_converter(), 1, numb, nothing) == [1, 2, 3]


def test_charging_by_hand() -> None:
    """1762.5 Wh a day through a bank of 25.6 V in 4 h are 17.212 A; two strings count as 1.6, 3 as 2.4."""
    job = job_of(JOB)
    asked = demand(job)

    def counts(charger: dict[str, str], **cells: str) -> list[int]:
        return bank_strings(job, asked, a_converter(**charger), 1, battery(Row(BATTERY | cells)), ALL_LIMITS)

    assert counts({"charge_a": "17.22"}) == [2, 3]
    assert counts({"charge_a": "17.21"}) == []
    assert counts({}, charge_a="10.76") == [2, 3]  # 17.212 / 1.6 = 10.757
    assert counts({}, charge_a="10.75") == [3]
    fixed = {"charge_settable": "no"}  # then all of its 60 A: 37.5 A · 1.6
    assert counts(fixed, charge_a="37.5") == [2, 3]
    assert counts(fixed, charge_a="37.4") == [3]
    assert counts({}, charge_min_a="30") == [2]
    # 2 · 20 A · 25.6 V = 1024 W: three panels give 960 W, four 1280 W
    lead = battery(Row(BATTERY | {"charge_min_a": "20"}))
    enough = [panels_to_charge(job, a_converter(), lead, a_panel(), 2, panels) for panels in (3, 4)]
    assert enough == [False, True]
    # heated by 50 °C a panel gives 320 · 0.8 = 256 W: four are 1024 W, heated by 51 °C less
    hot = [panels_to_charge(job, a_converter(), lead, a_panel(), 2, 4, heat_c=heat_c) for heat_c in (50, 51)]
    assert hot == [True, False]


def test_converter_limits_by_hand() -> None:
    """800 VA at 0.75 are 600 W: 1000 VA and 750 W with a quarter more; 1600 VA ask 2000 VA for 1 s."""
    pump = {"name": "p", "voltage": "230 V", "running": "800 VA", "power_factor": 0.75, "starting": "1600 VA"}
    job = a_job(pump, kind="230", hz=50)

    def holds(u: int = 1, left_out: str = "", **cells: str) -> bool:
        limits = Limits(frozenset({left_out} - {""}))
        return converter_holds(job, demand(job), a_converter(**cells), u, limits)

    assert holds(continuous_w="750", continuous_va="1000", surge_va="2000")
    assert not holds(continuous_w="749", continuous_va="1000")
    assert holds(left_out="running-power", continuous_w="749", continuous_va="1000")
    assert not holds(continuous_w="750", continuous_va="999")
    assert holds(left_out="running-apparent", continuous_w="750", continuous_va="999")
    assert not holds(surge_va="1999")
    assert not holds(surge_s="0.9")  # shorter than the start: its lasting 1000 VA count
    assert holds(surge_s="0.9", continuous_va="2000")
    assert holds(2, continuous_w="375", continuous_va="500", surge_va="1000")
    assert not holds(hz="60")
    assert holds(hz="50;60")
    assert holds(left_out="supply-match", hz="60")
    assert unit_counts(job, a_converter(units_230="2", max_units="5")) == [2, 4]
    assert unit_counts(job, a_converter(units_230="")) == []


def test_start_current_and_sag() -> None:
    """A start takes (1600 W · 1.25 / 0.8 + 10 W) / 20 V = 125.5 A from the bank."""
    job = a_job({"name": "p", "voltage": "230 V", "running": "200 VA", "starting": "1600 VA"}, kind="230")
    asked = demand(job)

    def counts(**cells: str) -> list[int]:
        return bank_strings(job, asked, a_converter(), 1, battery(Row(BATTERY | cells)), ALL_LIMITS)

    assert counts(peak_a="125.5") == [1, 2, 3]
    assert counts(peak_a="125.4") == [2, 3]
    assert counts(peak_a="78.4375") == [2, 3]
    assert counts(peak_a="78.43") == [3]
    # A peak shorter than the start does not count, but 50 A: three strings have 2.4 · 50 = 120 A, four 160 A.
    assert counts(peak_a="200", peak_s="0.9", max_parallel="4") == [4]
    # Two batteries of 30 mΩ, by age and cold 45 mΩ, sag 125.5 · 2 · 0.045 = 11.295 V, two strings 5.6475 V, of
    # 29.7 mΩ 5.591 V: from 25.6 V no lower than 20 V.
    assert counts(peak_a="200", r_mohm="29.7") == [2, 3]
    assert counts(peak_a="200", r_mohm="30") == [3]


def test_usable_power_needed_by_hand() -> None:
    """Through the bank (1250 + 160)/0.8 = 1762.5 Wh, in all 1250 + 80 + 1762.5 = 3092.5 Wh: · 1.2 / 4 h."""
    job = job_of(JOB)
    lfp = battery(Row(BATTERY))
    assert usable_power_needed(job, demand(job), a_converter(), 1, lfp) == pytest.approx(927.75, rel=1e-12)
    gel = replace(lfp, chemistry="gel")
    assert usable_power_needed(job, demand(job), a_converter(), 1, gel) == pytest.approx(1005.0625, rel=1e-12)


# --- money ----------------------------------------------------------------------------------------


def cheapest(offers: list[Offer], needed: int, freight: dict[str, int] | None = None, **more: Any) -> Any:
    return Market(offers, freight or {}, more.pop("on_hand", {}), **more).cost((("p", needed),))


def test_packs_are_mixed_with_single_pieces() -> None:
    """Five pieces: packs of 4 at 10.00 from a, singles at 12.00 from b."""
    offers = [Offer("p", "a", 1000, 1, 4, None), Offer("p", "b", 1200, 1, 1, None)]
    assert cheapest(offers, 5) == (5200, ("a", "b"))
    assert cheapest(offers, 5, {"a": 900, "b": 700}) == (6700, ("b",))  # 60 + 7; both: 52 + 16; a: 80 + 9
    assert cheapest(offers, 7, {"b": 100}) == (7700, ("a", "b"))  # 40 + 36 + 1; a alone 80
    assert cheapest(offers, 8, {"b": 100}) == (8000, ("a",))


def test_more_than_needed_may_be_cheaper() -> None:
    """From 10 pieces up 6.00 and not 10.00: 7 pieces are bought as 10, for 6 it is all one."""
    offers = [Offer("p", "a", 1000, 1, 1, None), Offer("p", "a", 600, 10, 1, None)]
    assert [cheapest(offers, needed)[0] for needed in (5, 6, 7, 11)] == [5000, 6000, 6000, 6600]


def test_least_quantity_is_rounded_up_to_packs() -> None:
    """At least 3 in packs of 2 are 4, then 6."""
    offers = [Offer("p", "a", 100, 3, 2, None)]
    assert [cheapest(offers, needed)[0] for needed in (1, 4, 5)] == [400, 400, 600]


def test_rows_of_a_seller_share_one_stock() -> None:
    offers = [Offer("p", "a", 1000, 1, 1, 9), Offer("p", "a", 600, 10, 1, None)]
    assert cheapest(offers, 9) == (9000, ("a",))
    assert cheapest(offers, 10) is None
    assert cheapest(offers, 10, stocked=False) == (6000, ("a",))
    both = [*offers, Offer("p", "b", 2000, 1, 1, 2)]
    assert cheapest(both, 11) == (9 * 1000 + 2 * 2000, ("a", "b"))
    assert cheapest(both, 12) is None


def test_what_is_on_hand_comes_first_and_costs_nothing() -> None:
    offers = [Offer("p", "a", 1000, 1, 1, None)]
    assert cheapest(offers, 5, {"a": 300}, on_hand={"p": 5}) == (0, ())
    assert cheapest(offers, 5, {"a": 300}, on_hand={"p": 3}) == (2300, ("a",))
    assert cheapest([], 1) is None
    assert cheapest(offers, 1, sellers=["b"]) is None


def plain_cost(offers: list[Offer], freight: dict[str, int], needs: dict[str, int]) -> int | None:
    """Every number of packs of every row, up to one lot more than needed."""
    choices = []
    for offer in offers:
        least = -(-offer.min_qty // offer.pack) * offer.pack
        choices.append([0, *range(least, max(needs.values()) + least + offer.pack, offer.pack)])
    best = None
    for bought in itertools.product(*choices):
        pieces: dict[str, int] = dict.fromkeys(needs, 0)
        from_seller: dict[tuple[str, str], int] = {}
        for offer, quantity_ in zip(offers, bought, strict=True):
            pieces[offer.part] += quantity_
            key = (offer.part, offer.seller)
            from_seller[key] = from_seller.get(key, 0) + quantity_
        if any(pieces[part] < needed for part, needed in needs.items()):
            continue
        if any(offer.stock is not None and from_seller[offer.part, offer.seller] > offer.stock for offer in offers):
            continue
        cents = sum(offer.cents * quantity_ for offer, quantity_ in zip(offers, bought, strict=True))
        cents += sum(freight[seller] for seller in {seller for (_, seller), count in from_seller.items() if count})
        best = cents if best is None else min(best, cents)
    return best


def test_money_against_every_purchase_there_is() -> None:
    draw = random.Random(7)
    bought = 0
    for _ in range(120):
        offers = []
        for part, seller in itertools.product("pq", "ab"):
            stock = draw.choice([None, None, draw.randint(1, 6)])
            offers += [
                Offer(part, seller, draw.randint(5, 30), draw.randint(1, 4), draw.randint(1, 3), stock)
                for _ in range(draw.randint(0, 2 if part == "p" else 1))
            ]
        freight = {"a": draw.randint(0, 40), "b": draw.randint(0, 40)}
        needs = {"p": draw.randint(0, 5), "q": draw.randint(0, 4)}
        found = Market(offers, freight, {}).cost(tuple(needs.items()))
        assert (found and found[0]) == plain_cost(offers, freight, needs)
        bought += found is not None
    assert bought > 40


# --- the whole, by hand ---------------------------------------------------------------------------


def test_the_whole_by_hand(tmp_path: Path) -> None:
    """927.75 W asked, 320 W a panel: three panels. One string of three stands in two rows: 3 + 2 rack units
    (three strings of one would take 6). Two bank strings of two. 300.50 + 3·100 + 4·200 + 5·20 + 50 freight:
    1550.50; with three bank strings 400 more."""
    catalog = write_whole(tmp_path, JOB, PRICES)
    nodes = enumerate_nodes(catalog, tmp_path / "job.toml")
    two, three = Node("cv", 1, "bt", 2, "pn", "rk"), Node("cv", 1, "bt", 3, "pn", "rk")
    assert {node: best.total for node, best in nodes.items()} == {
        two: Decimal("1550.50"),
        three: Decimal("1950.50"),
    }
    best = nodes[two]
    assert best.layouts == ((3, 1, 1),)
    assert (best.panels, best.strings, best.kinds, best.rack_units, best.sellers) == (3, 1, 1, 5, ("north",))
    assert best.usable_w == pytest.approx(960)
    (only,) = best_distinct(nodes)
    assert (only.converter, only.panel, only.battery, only.total, only.node) == (
        "cv",
        "pn",
        "bt",
        best.total,
        two,
    )

    def least(**more: Any) -> Decimal:
        return best_distinct(enumerate_nodes(catalog, tmp_path / "job.toml", **more))[0].total

    # Without autonomy one bank string is enough; without daily-energy one panel on 1 + 1 rack units, for an array of
    # no panels is none.
    assert least(without=frozenset({"autonomy"})) == Decimal("1150.50")
    assert least(without=frozenset({"daily-energy"})) == Decimal("1290.50")
    # Another price list: panels in packs of 4 at 70.00 from east (280 + 5) go before three at 100.00.
    other = tmp_path / "other"
    other.mkdir()
    write_table(other, "prices", [*PRICES, price("pn", "70", seller="east", pack="4")])
    assert least(prices=other / "prices.csv") == Decimal("1535.50")


def test_wishes_of_the_job(tmp_path: Path) -> None:
    catalog = tmp_path / "catalog"

    def least(prices: list[dict[str, str]] = PRICES, **tables: Any) -> Decimal | None:
        write_whole(tmp_path, JOB | tables, prices)
        found = best_distinct(enumerate_nodes(catalog, tmp_path / "job.toml"))
        return found[0].total if found else None

    assert least(need={"budget": 1550.50}) == Decimal("1550.50")
    assert least(need={"budget": 1550.49}) is None
    assert least(space={"max_panels": 3}) == Decimal("1550.50")
    assert least(space={"max_panels": 2}) is None
    assert least(space={"max_area": "5.763 m^2"}) == Decimal("1550.50")  # 3 · 1.7 · 1.13
    assert least(space={"max_area": "5.762 m^2"}) is None
    assert least(space={"row_max": 1}) == Decimal("1570.50")  # three rows: one rack unit more
    assert least(space={"mounts": ["pole"]}) is None
    assert least(allow={"chemistries": ["gel"]}) is None
    assert least(allow={"exclude": ["rk"]}) is None
    assert least(allow={"sellers": ["east"]}) is None
    assert least(allow={"listed_only": True}) is None
    assert least(on_hand={"pn": 2, "bt": 9, "rk": 5}) == Decimal("450.50")  # 300.50 + 100 + 50
    everything = {"pn": 3, "bt": 4, "rk": 5, "cv": 1}
    assert least(on_hand=everything) == 0
    assert least(PRICES[1:]) is None
    assert least([*PRICES[1:], price("pn", "100", stock="2")]) is None


def test_equal_totals_go_by_power_then_panels(tmp_path: Path) -> None:
    """With panels in packs of 4 and racks enough on hand, 3 panels and 4 cost the same: 4 give more power. On
    two trackers 2 + 2, one kind of string, goes before 3 + 1."""
    catalog = write_whole(tmp_path, JOB | {"on_hand": {"rk": 99}}, [price("pn", "70", pack="4"), *PRICES[1:]])
    write_table(catalog, "converters", [CONVERTER | {"trackers": "2"}])
    nodes = enumerate_nodes(catalog, tmp_path / "job.toml")
    best = best_distinct(nodes)[0].best
    assert (best.panels, best.layouts) == (4, ((2, 1, 2),))
    assert best.usable_w == pytest.approx(1280)


def test_fuses_are_bought_for_fused_strings_only(tmp_path: Path) -> None:
    """Under a 60 V ceiling each string is one panel (1 + 1 rack units). Three on one tracker are fused, each
    needs the extra, 1.00; on two trackers 2 + 1 go without."""
    fuse = {"part": "ex", "per": "string", "quantity": "1", "when": "fused"}
    job = JOB | {"site": JOB["site"] | {"array_ceiling": "60 V"}}
    catalog = write_whole(tmp_path, job, [*PRICES, price("ex", "1")], extra=fuse)
    nodes = enumerate_nodes(catalog, tmp_path / "job.toml")
    # One tracker: 3 strings of 1, each 1 + 1 rack units: 300.50 + 300 + 800 + 120 + 50 + 3.
    assert best_distinct(nodes)[0].total == Decimal("1573.50")
    write_table(catalog, "converters", [CONVERTER | {"trackers": "2"}])
    best = best_distinct(enumerate_nodes(catalog, tmp_path / "job.toml"))[0].best
    assert best.total == Decimal("1570.50")
    assert best.layouts == ((1, 1, 1), (1, 2, 1))


def test_a_limit_that_cannot_be_left_out_is_refused() -> None:
    assert set(DROPPABLE) < set(LIMITS)
    for name in ("tracker-range", "priced", "no-such-limit"):
        with pytest.raises(ValueError, match="cannot be left out"):
            Limits(frozenset({name}))
