"""Properties of the engineering rules, and of the search's use of them against the auditor's.

Where a rule is a "least" or a "none better", the test counts it out by brute force in its own words.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator
from typing import Any, Literal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.auditor import audit
from optimizer.bundles.bundle import Bundle
from optimizer.inputs.job import Job, Load, Need, Supply
from optimizer.rules import bank, comparisons, energy, landed_cost, load_figures, mounting, strings
from optimizer.rules.legs import leg_plans, leg_totals
from optimizer.rules.load_figures import LoadFigures
from optimizer.rules.starts import start_cases
from tests.mutations.parts import (
    BATTERY,
    CONVERTER,
    amps,
    bank_found,
    battery,
    bundle,
    converter,
    job,
    layouts_left,
    months,
    panel,
    pump,
    units_left,
    watts,
)  # fmt: skip

NEAR = 1e-9  # rounding of a few steps of arithmetic
STANDARD_FUSES = (1, 3, 6, 10, 15, 20, 25, 30, 35, 40, 45, 50, 60)  # NEC 240.6(A), to 60 A

power = st.floats(1.0, 1e5)
share = st.floats(0.5, 1.0)
unhurried = settings(deadline=None)  # a busy machine is no fault of a rule
few = settings(unhurried, max_examples=60)


def figures(low: float, high: float) -> st.SearchStrategy[float]:
    """Figures as data sheets print them: three digits or so."""
    return st.floats(low, high).map(lambda value: round(value, 2 - math.floor(math.log10(value))))


# comparing ------------------------------------------------------------------------------------------------------


@unhurried
@given(st.integers(1, 10**6), st.integers(1, 10**4), st.integers(1, 10**3))
def test_whole_numbers_survive_division(count: int, top: int, bottom: int) -> None:
    """count x figure/figure is count, however the binary digits fall; a millionth beside it is not."""
    figure = top / bottom
    assert comparisons.whole_down(count * figure / figure) == comparisons.whole_up(count * figure / figure) == count
    assert comparisons.whole_down(count * (1 - 1e-6)) < count < comparisons.whole_up(count * (1 + 1e-6))


@unhurried
@given(st.floats(-1e6, 1e6).filter(lambda value: abs(value) > 1e-6))
def test_met_exactly_is_met_and_a_millionth_is_not(value: float) -> None:
    beyond = 1e-6 * abs(value)
    assert comparisons.at_most(value, value) and comparisons.at_least(value, value)
    assert not comparisons.at_most(value + beyond, value) and not comparisons.at_least(value - beyond, value)


# strings --------------------------------------------------------------------------------------------------------


@unhurried
@given(power, power, power)
def test_usable_power_rises_with_both(array_w: float, cap_w: float, more: float) -> None:
    here = strings.usable_power(array_w, cap_w)
    assert strings.usable_power(array_w + more, cap_w) >= here * (1 - NEAR)
    assert strings.usable_power(array_w, cap_w + more) >= here * (1 - NEAR)


@unhurried
@given(power, power)
def test_usable_power_is_never_above_array_nor_the_days_ceiling(array_w: float, cap_w: float) -> None:
    """Not above what is offered; and a ceiling held all day long passes pi/2 of a half-sine's mean."""
    here = float(strings.usable_power(array_w, cap_w))
    assert 0 < here <= min(array_w, cap_w * math.pi / 2) * (1 + NEAR)
    assert here >= min(array_w, cap_w) * (1 - NEAR)
    if cap_w >= array_w:
        assert here == array_w


@unhurried
@given(power, st.floats(0.01, 1.5))
def test_usable_power_is_the_clipped_half_sine(array_w: float, ratio: float) -> None:
    """The day's sun as a half sine whose whole energy counts as ``array_w``, cut at the ceiling, added up in steps."""
    steps = (np.arange(4000) + 0.5) / 4000 * math.pi
    clipped = np.minimum(np.sin(steps), ratio).sum() / np.sin(steps).sum()
    assert float(strings.usable_power(array_w, ratio * array_w)) == pytest.approx(array_w * clipped, rel=1e-4)


@unhurried
@given(st.floats(-0.6, -0.01) | st.just(float("nan")), st.floats(-40.0, 60.0), st.floats(0.0, 30.0))
def test_cold_factor_is_never_below_one_and_rises_with_the_cold(pct: float, coldest_c: float, colder: float) -> None:
    here, there = (float(strings.cold_factor(pct, t)) for t in (coldest_c, max(-40.0, coldest_c - colder)))
    assert 1.0 <= here <= there


@unhurried
@given(st.floats(-80.0, -40.0, exclude_max=True))
def test_below_the_table_there_is_no_factor(coldest_c: float) -> None:
    assert math.isnan(float(strings.cold_factor(float("nan"), coldest_c)))


@unhurried
@given(st.floats(0.1, 60 / 1.5625))
def test_fuse_is_standard_sufficient_and_the_least(isc_a: float) -> None:
    rating = float(strings.fuse_rating(isc_a, 60))
    sufficient = [fuse for fuse in STANDARD_FUSES if fuse >= 1.5625 * isc_a * (1 - NEAR)]
    assert rating == sufficient[0]


@unhurried
@given(st.floats(60 / 1.5625 * (1 + 1e-6), 200.0))
def test_no_fuse_over_the_largest(isc_a: float) -> None:
    assert float(strings.fuse_rating(isc_a, 60)) == math.inf


@unhurried
@given(figures(0.5, 30.0), st.integers(1, 60))
def test_strings_without_fuses_are_as_many_as_can_be(isc_a: float, fuse_a: int) -> None:
    most = int(strings.most_parallel_unfused(isc_a, fuse_a))
    assert not strings.is_fused(most, isc_a, fuse_a)
    assert strings.is_fused(most + 1, isc_a, fuse_a)


# the bank -------------------------------------------------------------------------------------------------------


@unhurried
@given(st.floats(0.0, 60.0), share)
def test_bank_strings_are_the_least(asked: float, parallel_share: float) -> None:
    """One string counts whole, more of them by their share."""
    counts = (k for k in itertools.count(1) if (k if k == 1 else k * parallel_share) >= asked * (1 - NEAR))
    assert int(bank.strings_for(asked, parallel_share)) == next(counts)


@unhurried
@given(figures(20.0, 500.0), st.floats(5.0, 100.0), st.floats(5.0, 100.0), st.floats(0.0, 2.0), st.floats(-20.0, 40.0))
def test_usable_energy_is_within_depth_age_and_cold(ah: float, depth: float, aged: float, pct: float, c: float) -> None:
    wh = float(bank.usable_energy(48.0, ah, depth, aged, pct, c))
    assert wh <= 48.0 * ah * min(depth, aged) / 100 * (1 + NEAR)
    assert float(bank.usable_energy(48.0, ah, depth, aged, pct, c - 1.0)) <= wh
    if c >= 25.0:
        assert wh == pytest.approx(48.0 * ah * min(depth, aged) / 100, rel=NEAR)


@unhurried
@given(st.floats(0.0, 1e5), st.floats(0.5, 1.0), st.floats(0.0, 200.0), st.integers(1, 6))
def test_a_day_holds_its_idle_draw(load_wh: float, efficiency: float, idle_w: float, units: int) -> None:
    """Night, day and sunless day each carry their hours of idle draw: 16, 8 and all 24."""
    parts = [rule(load_wh, efficiency, idle_w, units)
             for rule in (energy.night_energy, energy.day_energy, energy.sunless_day)]  # fmt: skip
    asked = [load_wh / efficiency + idle_w * units * hours for hours in (16, 8, 24)]
    assert parts == pytest.approx(asked, rel=NEAR)


# counting -------------------------------------------------------------------------------------------------------


@unhurried
@given(st.integers(1, 500), st.integers(1, 60))
def test_least_bought_is_whole_packs_and_the_least(min_qty: int, pack: int) -> None:
    least = int(landed_cost.least_bought(min_qty, pack))
    assert least % pack == 0 and min_qty <= least < min_qty + pack


@unhurried
@given(st.integers(1, 60), st.integers(1, 20), st.floats(0.0, 4.0), st.floats(0.0, 4.0))
def test_rows_hold_the_string_and_racks_cover_it(series: int, row_max: int, per_panel: float, per_row: float) -> None:
    rows = int(mounting.string_rows(series, row_max))
    assert (rows - 1) * row_max < series <= rows * row_max
    units = int(mounting.string_rack_units(series, rows, per_panel, per_row))
    asked = series * per_panel + rows * per_row
    assert units - 1 < asked + NEAR and asked <= units + NEAR * max(1.0, asked)


# loads ----------------------------------------------------------------------------------------------------------


@st.composite
def stated_loads(draw: st.DrawFn) -> Load:
    """A load as a job may state it."""
    in_watts = draw(st.booleans())
    running = watts(draw(figures(50.0, 3000.0))) if in_watts else amps(draw(figures(0.5, 20.0)))
    va = running.value if in_watts else running.value * 230.0
    times = draw(st.floats(1.3, 8.0))
    none: Literal["none"] = "none"
    start = draw(st.sampled_from((None, none, amps(times * va / 230.0))))
    return Load(
        "load", 230.0, running, count=draw(st.integers(1, 4)),
        power_factor=draw(st.none() | st.floats(0.8, 1.0)), starting=start,
        starting_power_factor=draw(st.floats(0.1, 1.0)), hours_per_day=months(draw(st.floats(0.1, 24.0))),
        daytime=draw(st.floats(0.0, 1.0)),
    )  # fmt: skip


@unhurried
@given(stated_loads(), st.floats(0.5, 8.0))
def test_figures_of_a_load(load: Load, sun: float) -> None:
    found = load_figures.load_figures(load, months(sun))
    assert load.hours_per_day is not None
    assert found.running_w <= found.running_va * (1 + NEAR) <= found.start_va * (1 + 2 * NEAR)
    assert found.running_w <= found.start_w <= found.start_va * (1 + NEAR)
    assert found.energy_wh[0] == pytest.approx(found.running_w * load.hours_per_day[0] * load.count, rel=NEAR)
    assert found.daytime[0] * load.hours_per_day[0] <= sun * (1 + NEAR)
    if load.starting in (None, "none"):
        assert not found.starts


def placed(
    name: str, volts: float, count: int, run: float, more: float, seconds: float, leg: int | None
) -> LoadFigures:  # fmt: skip
    """A load by its figures: ``more`` VA at the start than running; W as VA."""
    return LoadFigures(name, count, volts, run, run, run + more, run + more, seconds, "stated", 1.0, False, None,
                       months(1.0), months(0.35), True, leg)  # fmt: skip


@st.composite
def houses(draw: st.DrawFn) -> tuple[LoadFigures, ...]:
    """One to four loads on two legs, some across, some pinned, with whole VA so that sums are exact."""
    found = []
    for i in range(draw(st.integers(1, 4))):
        volts = draw(st.sampled_from((120.0, 240.0)))
        leg = draw(st.sampled_from((None, None, 1, 2))) if volts == 120.0 else None
        more = draw(st.just(0) | st.integers(2, 40))
        found.append(placed(f"load {i}", volts, draw(st.integers(1, 3)), 100.0 * draw(st.integers(1, 12)),
                            100.0 * more, draw(st.sampled_from((1.0, 3.0))), leg))  # fmt: skip
    return tuple(found)


def heavier_leg(house: tuple[LoadFigures, ...], on_1: dict[str, int], restart: str) -> dict[float, float]:
    """VA of the heavier leg: running (key 0) and for each start time, unit by unit."""
    legs: list[list[tuple[float, float, float]]] = [[], []]  # (running, more at the start, seconds) of each unit
    for load in house:
        more = load.start_va - load.running_va
        for unit in range(load.count):
            if load.voltage_v > 125.0:
                for leg in legs:
                    leg.append((load.running_va / 2, more / 2, load.start_s))
            else:
                legs[0 if unit < on_1[load.name] else 1].append((load.running_va, more, load.start_s))
    running = [sum(run for run, _, _ in leg) for leg in legs]
    worst = {0.0: max(running)}
    times = {seconds for leg in legs for _, more, seconds in leg if more > 0}
    if restart == "together" and times:
        worst[max(times)] = max(sum(run + more for run, more, _ in leg) for leg in legs)
    elif times:
        for time in times:
            starts = [running[i] + more for i, leg in enumerate(legs) for _, more, s in leg if more > 0 and s == time]
            worst[time] = max(starts + running)  # the other leg runs on
    return worst


def placings(house: tuple[LoadFigures, ...]) -> Iterator[dict[str, int]]:
    """Every way to place the 120 V units: how many of each load on leg 1."""
    movable = [load for load in house if load.voltage_v <= 125.0]
    spans = [range(load.count + 1) if load.leg is None else [load.count if load.leg == 1 else 0] for load in movable]
    for counts in itertools.product(*spans):
        yield dict(zip((load.name for load in movable), counts, strict=True))


@few
@given(houses(), st.sampled_from(("staggered", "together")))
def test_leg_plans_are_the_placings_that_no_other_beats(house: tuple[LoadFigures, ...], restart: str) -> None:
    everything = [heavier_leg(house, on_1, restart) for on_1 in placings(house)]
    kept = []
    names = [load.name for load in house if load.voltage_v <= 125.0]
    for plan in leg_plans(house, restart):
        worked = heavier_leg(house, dict(zip(names, plan.on_leg_1, strict=True)), restart)
        assert {0.0: plan.running_va, **dict(plan.start_va)} == pytest.approx(worked, rel=NEAR)
        kept.append(worked)

    def at_most_all(one: dict[float, float], other: dict[float, float]) -> bool:
        return all(one[key] <= other[key] for key in other)

    for other in everything:
        assert any(at_most_all(mine, other) for mine in kept)  # nothing is lost
    for mine in kept:
        better = [other for other in everything if at_most_all(other, mine) and other != mine]
        assert not better
    assert len({tuple(sorted(mine.items())) for mine in kept}) == len(kept)


@unhurried
@given(houses())
def test_legs_add_up_to_the_whole(house: tuple[LoadFigures, ...]) -> None:
    for on_1 in placings(house):
        running, cases = leg_totals(house, tuple(on_1.values()), "together")
        assert sum(running) == pytest.approx(sum(load.count * load.running_va for load in house))
        for _, legs in cases:
            assert sum(legs) == pytest.approx(sum(load.count * load.start_va for load in house))


@unhurried
@given(houses())
def test_start_cases(house: tuple[LoadFigures, ...]) -> None:
    """One case for each load that starts, above running; all at once is at least as much; none without a start."""
    running = sum(load.count * load.running_va for load in house)
    starting = [load for load in house if load.start_va > load.running_va]
    staggered, together = (start_cases(house, restart) for restart in ("staggered", "together"))
    assert [case.load for case in staggered] == [load.name for load in starting]
    assert len(together) == min(1, len(starting))
    for case, load in zip(staggered, starting, strict=True):
        assert case.va - running == pytest.approx(load.start_va - load.running_va)
        assert running < case.va <= together[0].va and case.w <= together[0].w
        assert case.seconds <= together[0].seconds
    if len(starting) == 1 and starting[0].count == 1:
        assert (together[0].va, together[0].seconds) == pytest.approx((staggered[0].va, staggered[0].seconds))


# the search leaves exactly what the auditor passes ------------------------------------------------------------------

STRING_LIMITS = {"cold-voltage", "panel-voltage", "code-voltage", "hot-voltage", "wake-voltage", "tracker-range",
                 "tracker-current", "tracker-strings", "tracker-power", "fuse-fits"}  # fmt: skip
BANK_LIMITS = {"bank-window", "bank-temperature", "discharge-current", "starting-current", "bank-sag", "charge-limit",
               "charge-rate", "charger", "night-energy", "autonomy"}  # fmt: skip
CONVERTER_LIMITS = {"service", "running-power", "running-apparent", "starting-surge", "leg-balance"}


def failing(job: Job, bundle: Bundle, limits: set[str]) -> set[str]:
    """Which of these limits the auditor finds broken."""
    return {reading.limit for reading in audit.audit(job, bundle).readings if not reading.holds} & limits


@pytest.mark.thorough
@few
@given(
    voc_v=figures(20.0, 60.0), vmp_share=st.floats(0.75, 0.88), isc_a=figures(5.0, 18.0),
    voc_pct=st.floats(-0.4, -0.2) | st.just(float("nan")), bifacial_pct=st.sampled_from((0.0, 70.0)),
    max_fuse_a=st.sampled_from((10.0, 15.0, 20.0, 25.0, 30.0)), tracker_max_v=figures(100.0, 300.0),
    tracker_isc_a=figures(8.0, 40.0), most=st.sampled_from((1.0, 2.0, math.inf)), coldest_c=st.integers(-45, 10),
)  # fmt: skip
def test_strings_left_are_those_the_auditor_passes(
    voc_v: float, vmp_share: float, isc_a: float, voc_pct: float, bifacial_pct: float, max_fuse_a: float,
    tracker_max_v: float, tracker_isc_a: float, most: float, coldest_c: int,
) -> None:  # fmt: skip
    part = panel(voc_v=voc_v, vmp_v=voc_v * vmp_share, isc_a=isc_a, voc_pct_per_c=voc_pct, bifacial_pct=bifacial_pct,
                 max_fuse_a=max_fuse_a, pmax_w=voc_v * vmp_share * isc_a * 0.94)  # fmt: skip
    behind = converter(tracker_max_v=tracker_max_v, tracker_min_v=tracker_max_v * 0.25, tracker_isc_a=tracker_isc_a,
                       tracker_top_v=tracker_max_v * 0.85, tracker_start_v=tracker_max_v * 0.3,
                       tracker_strings=most)  # fmt: skip
    asked = job(site={"coldest_c": float(coldest_c)})
    left = {(layout.series, layout.parallel) for layout in layouts_left(asked, part, behind)}
    isc_rear_a = isc_a * (1 + 0.135 * bifacial_pct / 100)

    def passes(n: int, m: int) -> bool:
        fused = (m - 1) * 1.25 * isc_rear_a > max_fuse_a * (1 + NEAR)
        wired = bundle(panel=part, converter=behind, strings=((n, m),), fused=fused)
        return not failing(asked, wired, STRING_LIMITS)

    # 300 V are 15 panels of 20 V, 40 A are 6 strings of 6.25 A
    passed = {(n, m) for n, m in itertools.product(range(1, 17), range(1, 8)) if passes(n, m)}
    assert left == passed


@pytest.mark.thorough
@few
@given(
    capacity_ah=figures(40.0, 400.0), min_v=figures(40.0, 49.0), discharge_a=figures(20.0, 200.0),
    peak_x=st.floats(1.0, 4.0), peak_s=st.sampled_from((0.02, 1.0, 5.0)), charge_a=figures(10.0, 150.0),
    r_mohm=figures(1.0, 60.0) | st.just(float("nan")), bank_coldest_c=st.integers(-25, 30), settable=st.booleans(),
    autonomy_days=st.floats(0.0, 4.0), start_time_s=st.sampled_from((0.5, 1.0, 4.0)), parallel_share=share,
)  # fmt: skip
def test_bank_found_is_the_least_the_auditor_passes(
    capacity_ah: float, min_v: float, discharge_a: float, peak_x: float, peak_s: float, charge_a: float,
    r_mohm: float, bank_coldest_c: int, settable: bool, autonomy_days: float, start_time_s: float,
    parallel_share: float,
) -> None:  # fmt: skip
    part = battery(capacity_ah=capacity_ah, min_v=min_v, discharge_a=discharge_a, peak_a=discharge_a * peak_x,
                   peak_s=peak_s, charge_a=charge_a, r_mohm=r_mohm, max_parallel=99.0)  # fmt: skip
    behind = converter(charge_settable=settable)
    asked = job(pump(start_time_s=start_time_s), site={"bank_coldest_c": float(bank_coldest_c)},
                need=Need(autonomy_days=autonomy_days))  # fmt: skip
    asked = Job(**{**vars(asked), "reserve": type(asked.reserve)(parallel_share=parallel_share)})
    found = bank_found(asked, part, behind)

    def passes(parallel: int) -> bool:
        return not failing(asked, bundle(battery=part, converter=behind, parallel=parallel), BANK_LIMITS)

    if found.fits[0]:
        least = int(found.parallel[0])
        assert passes(least)
        assert least == 1 or not passes(least - 1)
    else:
        assert not any(passes(parallel) for parallel in range(1, 100))


@few
@given(
    continuous_w=figures(500.0, 8000.0), surge_x=st.floats(1.0, 3.0), surge_s=st.sampled_from((0.02, 1.0, 3.0)),
    leg_share=st.floats(0.3, 0.7), max_units=st.integers(1, 4), step=st.integers(1, 3),
    house=st.lists(stated_loads(), min_size=1, max_size=3), restart=st.sampled_from(("staggered", "together")),
    volts=st.lists(st.sampled_from((115.0, 240.0)), min_size=3, max_size=3),
)  # fmt: skip
def test_units_left_are_those_the_auditor_passes(
    continuous_w: float, surge_x: float, surge_s: float, leg_share: float, max_units: int, step: int,
    house: list[Load], restart: str, volts: list[float],
) -> None:  # fmt: skip
    part = converter(continuous_w=continuous_w, continuous_va=continuous_w, surge_va=continuous_w * surge_x,
                     surge_s=surge_s, leg_va=continuous_w * leg_share, leg_surge_va=continuous_w * leg_share * surge_x,
                     max_units=float(max_units), units_120_240=float(step))  # fmt: skip
    named = [Load(**{**vars(load), "name": f"load {i}", "voltage_v": volts[i]}) for i, load in enumerate(house)]
    asked = job(*named, supply=Supply("120/240", 60, restart))
    passed = tuple(
        units for units in range(1, max_units + 3)
        if not failing(asked, bundle(converter=part, units=units), CONVERTER_LIMITS)
    )  # fmt: skip
    assert units_left(asked, part) == passed


# floats and arrays alike ------------------------------------------------------------------------------------------


@unhurried
@given(st.lists(st.tuples(figures(1.0, 100.0), figures(1.0, 100.0)), min_size=1, max_size=5))
def test_rules_take_arrays_as_they_take_figures(pairs: list[tuple[float, float]]) -> None:
    one, other = (np.array(column) for column in zip(*pairs, strict=True))
    rules: tuple[Callable[[Any, Any], Any], ...] = (
        lambda a, b: strings.usable_power(a, b),
        lambda a, b: strings.cold_factor(-a / 200, -10.0),
        lambda a, b: strings.short_circuit_current(a, b, 0.135),
        lambda a, b: strings.fuse_rating(a / 4, 60),
        lambda a, b: bank.strings_for(a, 0.8),
        lambda a, b: bank.lowest_voltage(4, a, b),
        lambda a, b: bank.usable_energy(48.0, a, b, 80.0, 0.5, 5.0),
        lambda a, b: mounting.string_rack_units(a, 2, b, 1.0),
    )
    for rule in rules:
        single = [float(rule(np.float64(a), np.float64(b))) for a, b in pairs]
        assert np.broadcast_to(rule(one, other), len(pairs)).tolist() == single


def test_worked_parts_are_left_by_the_search() -> None:
    """What the properties above start from is sound: the worked parts pass."""
    assert units_left(job(), CONVERTER) == (1, 2)
    assert bool(bank_found(job(), BATTERY).fits[0])
