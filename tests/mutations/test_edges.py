"""Every limit with a figure at its edge: met exactly it passes, missed by one part in a million it fails, in the
auditor and in what the search leaves. Limits on whole numbers are missed by one.

The exact figures are worked by hand from the bundle in parts.py.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest

from optimizer.auditor import audit
from optimizer.candidates import array_size, terms
from optimizer.inputs.job import Job, Need, Replay, Space, Water, Weather
from optimizer.rules.limits import LIMITS
from optimizer.search.replays import Replays
from optimizer.weather.year import WeatherYears
from tests.mutations.cases_bank import BLOCKS, HALF_DAY
from tests.mutations.cases_climate import ACID
from tests.mutations.cases_loads import ACROSS, HEATER, TWO_LEGS
from tests.mutations.cases_money import money_read, ordered, prices
from tests.mutations.parts import (
    BATTERY,
    PANEL,
    bank_found,
    bank_strings,
    battery,
    best,
    bundle,
    catalog,
    converter,
    inverter,
    job,
    layouts_left,
    met,
    months,
    panel,
    pump,
    rack,
    strings_left,
    units_left,
)  # fmt: skip

PART_IN_A_MILLION = 1e-6
LESS, MORE = -1, 1  # the side on which the limit is missed


PUMPING = job()


def dark_year(hours_short: int) -> Job:
    """The job in a year without light."""
    dark, air = np.zeros((1, 8760)), np.full((1, 8760), 20.0)
    nan = float("nan")
    years = WeatherYears("", 40.0, 0.0, 0.0, (), nan, nan, nan, dark, dark, air, np.full(365, 12.0))
    weather = Weather("dark.epw", 40.0, 180.0, years)
    return replace(job(), weather=weather, replay=Replay(hours_short=int(hours_short)))


def passes_hours(wanted: Job) -> bool:
    """Whether the worked bundle passes by what the search asks of the hours."""
    replays = Replays.of(terms.Setting.of(wanted), catalog())
    assert replays is not None
    return replays.holds(bundle(), 0.0)


@dataclass(frozen=True)
class Edge:
    """A limit, what is moved to its edge, and whether auditor and search pass it at a value of that figure."""

    limit: str
    figure: str
    exact: float
    missed: int
    auditor: Callable[[Any], bool]
    search: Callable[[Any], bool]
    step: float | None = None  # for whole numbers

    def beyond(self) -> float:
        """The value that just misses the limit."""
        return self.exact + self.missed * (self.step or PART_IN_A_MILLION * abs(self.exact))


def of_converter(limit: str, column: str, exact: float, missed: int = LESS, job: Job = PUMPING, **also: Any) -> Edge:
    """An edge that a column of the converter moves; the search must leave one unit."""
    return Edge(limit, column, exact, missed,
                lambda v: met(limit, job, bundle(converter=converter(**also, **{column: v}))),
                lambda v: 1 in units_left(job, converter(**also, **{column: v})))  # fmt: skip


def of_battery(
    limit: str, column: str, exact: float, missed: int = LESS, job: Job = PUMPING, parallel: int = 2,
    part: Mapping[str, Any] = BATTERY, **also: Any,
) -> Edge:  # fmt: skip
    """An edge that a column of the battery moves; the search must leave so many bank strings at most."""
    behind, series = converter(**also), int(48 / part["class_v"])
    return Edge(limit, column, exact, missed,
                lambda v: met(limit, job, bundle(battery={**part, column: v}, converter=behind, series=series,
                                                 parallel=parallel)),
                lambda v: 0 < bank_strings(job, {**part, column: v}, behind) <= parallel)  # fmt: skip


def of_tracker(
    limit: str, column: str, exact: float, series: int, parallel: int = 1, missed: int = LESS, **also: Any
) -> Edge:
    """An edge that a column of the converter's trackers moves; the search must leave such strings."""

    def left(value: float) -> bool:
        found = layouts_left(job(), PANEL, converter(**also, **{column: value}))
        return (series, parallel) in {(layout.series, layout.parallel) for layout in found}

    return Edge(limit, column, exact, missed,
                lambda v: met(limit, job(), bundle(converter=converter(**also, **{column: v}),
                                                   strings=((series, parallel),))), left)  # fmt: skip


def of_panel(
    limit: str, column: str, exact: float, series: int, parallel: int = 1, missed: int = LESS, **also: Any
) -> Edge:
    """An edge that a column of the panel moves, on trackers that take many strings; three of them are fused."""
    wide = converter(tracker_isc_a=64.0, tracker_max_w=8000.0)

    def left(value: float) -> bool:
        found = layouts_left(job(), panel(**also, **{column: value}), wide)
        return (series, parallel) in {(layout.series, layout.parallel) for layout in found}

    return Edge(limit, column, exact, missed,
                lambda v: met(limit, job(), bundle(panel=panel(**also, **{column: v}), converter=wide,
                                                   strings=((series, parallel),), fused=parallel > 2)),
                left)  # fmt: skip


def panels_left(space: Space | None = None, **columns: Any) -> float:
    """The most panels that the search leaves."""
    setting = terms.Setting.of(job(space=space))
    return float(array_size.most_panels(PANEL["pmax_w"], 2.0, inverter(converter(**columns)), setting))


def mixing_panels(charge_min_a: float) -> float:
    """The fewest panels that mix two lead-acid strings of this battery."""
    floor_w = bank_found(job(), battery(charge_min_a=charge_min_a), converter(charge_a=200.0)).floor_w
    return float(array_size.panels_needed(0.0, np.array([320.0]), floor_w, np.array([320.0]))[0])


def mounted(column: str, exact: float) -> Edge:
    """An edge that a size of the rack moves."""
    return Edge("mounting-fit", column, exact, LESS,
                lambda v: met("mounting-fit", job(), bundle(rack=rack(**{column: v}))),
                lambda v: best(job(), catalog(racks=(rack(**{column: v}),))) != ())  # fmt: skip


SHORT = converter(tracker_max_v=8 * 44 / 0.95)  # strings of eight at most
TIGHT = Space(max_panels=16)
SLOW = converter(charge_a=200.0)
FOUR_DAYS = job(need=Need(recover_days=4.0))
WATER = pump(hours_per_day=None, water_per_day_l=months(4000.0), flow_l_per_h=1000.0)

EDGES = (
    # 1800 x 1.25; 7200 x 1.25, for 1 s, after which only 5000 VA are left
    of_converter("running-power", "continuous_w", 2250.0),
    of_converter("running-apparent", "continuous_va", 2250.0),
    of_converter("starting-surge", "surge_va", 9000.0),
    of_converter("starting-surge", "surge_s", 1.0),
    # 2300 VA x 1.25 on one leg; half of 1800 and of 5400 VA: 3600 x 1.25 on each
    of_converter("leg-balance", "leg_va", 2875.0, job=job(HEATER, supply=TWO_LEGS)),
    of_converter("leg-balance", "leg_surge_va", 4500.0, job=job(ACROSS, supply=TWO_LEGS)),
    of_converter("leg-balance", "surge_s", 1.0, job=job(ACROSS, supply=TWO_LEGS), continuous_va=9000.0),
    # 6625/(50 V x 4 h)
    Edge("charger", "charge_a", 33.125, LESS,
         lambda v: met("charger", job(), bundle(converter=converter(charge_a=v))),
         lambda v: bank_strings(job(), converter=converter(charge_a=v)) > 0),
    # 16 x 400 W
    Edge("array-total", "array_max_w", 6400.0, LESS,
         lambda v: met("array-total", job(), bundle(converter=converter(array_max_w=v))),
         lambda v: panels_left(array_max_w=v) >= 16),
    # 10 x 44 V = 440 V, with the reserve of 0.95; 10 x 32 V; 5 x 26.24 x 0.97; 5 x 35.5
    of_tracker("cold-voltage", "tracker_max_v", 440 / 0.95, 10),
    of_panel("panel-voltage", "max_system_v", 440.0, 10),
    Edge("code-voltage", "array_ceiling_v", 440.0, LESS,
         lambda v: met("code-voltage", job(site={"array_ceiling_v": v}), bundle(strings=((10, 1),))),
         lambda v: strings_left(job(site={"array_ceiling_v": v}))[1] >= 10),
    of_tracker("hot-voltage", "tracker_min_v", 127.264, 5, missed=MORE),
    of_tracker("wake-voltage", "tracker_start_v", 177.5, 5, missed=MORE),
    of_tracker("tracker-range", "tracker_top_v", 320.0, 10),
    # 12.8 A x 1.25, and twice that; 10 x 400 W, and 5 x 2 x 400 W
    of_tracker("tracker-current", "tracker_isc_a", 16.0, 10),
    of_tracker("tracker-current", "tracker_isc_a", 32.0, 5, 2),
    of_tracker("tracker-power", "tracker_max_w", 4000.0, 10),
    of_tracker("tracker-power", "tracker_max_w", 4000.0, 5, 2, tracker_isc_a=40.0),
    # three strings are fused (32 A of back-feed): 1.5625 x 12.8 = 20 A, a standard rating
    of_panel("fuse-fits", "max_fuse_a", 20.0, 5, 3),
    of_panel("fuse-fits", "isc_a", 12.8, 5, 3, missed=MORE, max_fuse_a=20.0),
    # two strings push back 16 A: no fuse where the panel bears 16 A, and none that fits where it bears less
    of_panel("fuse-fits", "max_fuse_a", 16.0, 5, 2),
    # charged to 56 V; nominal 50 V
    Edge("bank-window", "bank_max_v", 56.0, LESS,
         lambda v: met("bank-window", job(), bundle(converter=converter(bank_max_v=v))),
         lambda v: bank_strings(job(), converter=converter(bank_max_v=v)) > 0),
    Edge("bank-window", "bank_min_v", 50.0, MORE,
         lambda v: met("bank-window", job(), bundle(converter=converter(bank_min_v=v))),
         lambda v: bank_strings(job(), converter=converter(bank_min_v=v)) > 0),
    of_battery("bank-temperature", "coldest_charge_c", 5.0, MORE),
    of_battery("bank-temperature", "coldest_discharge_c", 5.0, MORE),
    # drained to 80 % its acid freezes at -13 degC; 40 degC at the hottest
    Edge("bank-freeze", "bank_coldest_c", -13.0, LESS,
         lambda v: met("bank-freeze", job(site={"bank_coldest_c": v}), bundle(battery=ACID)),
         lambda v: bank_strings(job(site={"bank_coldest_c": v}, need=HALF_DAY), ACID) > 0),
    of_battery("bank-heat", "hottest_charge_c", 40.0),
    of_battery("bank-heat", "hottest_discharge_c", 40.0),
    # (2812.5 + 50)/45/1.6; (11,250 + 50)/45/1.6, for 1 s, after which only 150 x 1.6 = 240 A are left
    of_battery("discharge-current", "discharge_a", 2862.5 / 72),
    of_battery("starting-current", "peak_a", 11_300 / 72),
    of_battery("starting-current", "peak_s", 1.0),
    # 50 - 251.1 A x 1.5 x 26.5 mohm/2 = 45 V; four in series of a quarter the same
    of_battery("bank-sag", "r_mohm", 300_000 / 11_300, MORE),
    of_battery("bank-sag", "r_mohm", 75_000 / 11_300, MORE, part=battery(**BLOCKS)),
    # 100 A/1.6; 6625/(1.6 x 50 V x 4 h)
    of_battery("charge-limit", "charge_a", 62.5, charge_settable=False),
    of_battery("charge-rate", "charge_a", 20.703125),
    # 2 x 50 A of the charger's 100; 2 x 51.2 of the array's 16 x 320 W/50 V
    of_battery("charge-floor", "charge_min_a", 50.0, MORE),
    Edge("charge-floor", "charge_min_a", 51.2, MORE,
         lambda v: met("charge-floor", job(), bundle(battery=battery(charge_min_a=v), converter=SLOW)),
         lambda v: mixing_panels(v) <= 16),
    # 50 V x 0.8 x 0.9 = 36 Wh for each Ah: 5300 Wh a night from one string, 10,200 Wh from two
    of_battery("night-energy", "capacity_ah", 5300 / 36, job=job(need=HALF_DAY), parallel=1),
    of_battery("autonomy", "capacity_ah", 10200 / 72),
    # 1.2 x 11,525/4; 16 panels give 5120 W of ratio x 11,525/4
    Edge("daily-energy", "array_usable_w", 3457.5, LESS,
         lambda v: met("daily-energy", job(), bundle(converter=converter(array_usable_w=v))),
         lambda v: bank_strings(job(), converter=converter(array_usable_w=v)) > 0),
    Edge("daily-energy", "array_to_load", 20480 / 11525, MORE,
         lambda v: met("daily-energy", job(need=Need(array_to_load=v)), bundle()),
         lambda v: best(job(need=Need(array_to_load=v), space=TIGHT), catalog(converters=(SHORT,)))[1:2] == (16,)),
    # 14,400 Wh of two strings take 18,000 to fill: in four days (11,525 + 4500)/4; 16 panels leave 20,480 - 11,525
    Edge("recovery", "array_usable_w", 4006.25, LESS,
         lambda v: met("recovery", FOUR_DAYS, bundle(converter=converter(array_usable_w=v))),
         lambda v: bank_strings(FOUR_DAYS, converter=converter(array_usable_w=v)) > 0),
    Edge("recovery", "recover_days", 18_000 / 8955, LESS,
         lambda v: met("recovery", job(need=Need(recover_days=v)), bundle()),
         lambda v: best(job(need=Need(recover_days=v), space=TIGHT), catalog(converters=(SHORT,)))[1:2] == (16,)),
    # a year without any light: the bank is empty from the second round on, and every hour asks for the idle draw
    Edge("hours-short", "hours_short", 8760, LESS,
         lambda v: met("hours-short", dark_year(v), bundle()),
         lambda v: passes_hours(dark_year(v)), step=1),
    # the least that a motor starts on without a starter is 65 % of its volts
    Edge("start-volts", "cable_drop", 0.35, MORE,
         lambda v: met("start-volts", job(pump(cable_drop=v)), bundle()),
         lambda v: best(job(pump(cable_drop=v)), catalog()) != ()),
    # 4000 L a day in 24 hours, and stored for a day
    Edge("well-yield", "well_yield_l_per_h", 4000 / 24, LESS,
         lambda v: met("well-yield", job(WATER, water=Water(well_yield_l_per_h=v)), bundle()),
         lambda v: best(job(WATER, water=Water(well_yield_l_per_h=v)), catalog()) != ()),
    Edge("water-reserve", "tank_on_hand_l", 4000.0, LESS,
         lambda v: met("water-reserve", job(WATER, water=Water(reserve_days=1.0, tank_on_hand_l=v)), bundle()),
         lambda v: best(job(WATER, water=Water(reserve_days=1.0, tank_on_hand_l=v)), catalog()) != ()),
    mounted("max_width_mm", 1000.0),
    mounted("max_length_mm", 2000.0),
    mounted("max_panel_kg", 25.0),
    # 16 panels of 2 m^2
    Edge("space", "max_area_m2", 32.0, LESS,
         lambda v: met("space", job(space=Space(max_area_m2=v)), bundle()),
         lambda v: panels_left(Space(max_area_m2=v)) >= 16),
    Edge("space", "max_panels", 16, LESS,
         lambda v: met("space", job(space=Space(max_panels=v)), bundle()),
         lambda v: panels_left(Space(max_panels=v)) >= 16, step=1),
    # 3955.00: money is whole cents
    Edge("budget", "budget_cents", 395_500, LESS,
         lambda v: money_read("budget", ordered(), budget_cents=v)[2],
         lambda v: best(job(need=Need(budget_cents=v)), catalog()) != (), step=1),
    Edge("stock", "stock", 8, LESS,
         lambda v: money_read("stock", ordered(), ("rack", "north", 2_000, 1, 1, v))[2],
         lambda v: best(job(), catalog(prices=prices(("rack", "north", 2_000, 1, 1, v)))) != (), step=1),
    Edge("service", "max_units", 2, LESS,
         lambda v: met("service", job(), bundle(units=2, converter=converter(max_units=v))),
         lambda v: 2 in units_left(job(), converter(max_units=v)), step=1),
    Edge("tracker-count", "trackers", 2, LESS,
         lambda v: met("tracker-count", job(), bundle(converter=converter(trackers=v))),
         lambda v: best(job(), catalog(converters=(converter(trackers=v, max_units=1.0),))) != (), step=1),
    Edge("tracker-strings", "tracker_strings", 2, LESS,
         lambda v: met("tracker-strings", job(), bundle(converter=converter(tracker_strings=v), strings=((5, 2),))),
         lambda v: strings_left(job(), converter=converter(tracker_strings=v, tracker_isc_a=40.0))[2] >= 2, step=1),
    Edge("bank-series", "max_series", 4, LESS,
         lambda v: met("bank-series", job(), bundle(battery=battery(**{**BLOCKS, "max_series": v}), series=4)),
         lambda v: bank_strings(job(), battery(**{**BLOCKS, "max_series": v})) > 0, step=1),
    Edge("bank-parallel", "max_parallel", 2, LESS,
         lambda v: met("bank-parallel", job(), bundle(battery=battery(max_parallel=v))),
         lambda v: bank_strings(job(), battery(max_parallel=v)) > 0, step=1),
)  # fmt: skip

WITHOUT_FIGURE = {"supply-match", "phases", "bank-voltage", "allowed", "priced", "listed"}


def test_every_limit_with_a_figure_has_its_edge() -> None:
    assert {edge.limit for edge in EDGES} | WITHOUT_FIGURE == set(LIMITS)


@pytest.mark.parametrize("edge", EDGES, ids=lambda edge: f"{edge.limit}-{edge.figure}-{edge.exact:g}")
def test_met_exactly_passes_and_missed_by_a_millionth_fails(edge: Edge) -> None:
    assert edge.auditor(edge.exact)
    assert not edge.auditor(edge.beyond())
    assert edge.search(edge.exact)
    assert not edge.search(edge.beyond())


def test_worked_bundle_meets_every_limit() -> None:
    assert audit.audit(job(), bundle()).passes
