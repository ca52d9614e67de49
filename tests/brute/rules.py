"""The limits, one plain expression each; floats and loops only.

The names given to `Limits.keeps` are the names of the limits. One that is left out is as if it did not exist.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass

from tests.brute.limits import MONTHS, Limits, at_most, rounded_up
from tests.brute.loads import Demand
from tests.brute.parts import Battery, Converter, Panel, Rack
from tests.brute.reading import Job

# Coldest °C of each band and its factor: NEC Table 690.7(A), crystalline silicon, from memory.
COLD_FACTORS = [
    (25, 1.00),
    (20, 1.02),
    (15, 1.04),
    (10, 1.06),
    (5, 1.08),
    (0, 1.10),
    (-5, 1.12),
    (-10, 1.14),
    (-15, 1.16),
    (-20, 1.18),
    (-25, 1.20),
    (-30, 1.21),
    (-35, 1.23),
    (-40, 1.25),
]
FUSES_A = [1, 3, 6, 10, 15, 20, 25, 30, 35, 40, 45, 50, 60]  # NEC 240.6(A)
FUSES_A_AT_50_HZ = [1, 2, 4, 6, 8, 10, 12, 16, 20, 25, 32, 40, 50, 63]  # IEC 60269, from memory
# °C at which the acid of a battery freezes that is drained to so many % of its capacity: freezing points by specific
# gravity, 1.265 full and 1.12 empty (US Army TM 5-1185 and makers' tables).
FREEZES_C = [(25, -35), (50, -22), (75, -15), (80, -13)]
FREEZES_EMPTY_C = -8
AGED_COLD_RESISTANCE = 1.5  # times r_mohm, which is of a new battery at 25 °C; common practice, no source
LEAD_ACID = ("agm", "gel", "flooded")
IDLE_NIGHT_H = 16
IDLE_SUN_H = 8


# --- converter ------------------------------------------------------------------------------------


def unit_counts(job: Job, converter: Converter) -> list[int]:
    """service: every number of units that makes the supply."""
    group = converter.units.get(job.supply)
    return [] if group is None else list(range(group, converter.max_units + 1, group))


def converter_holds(job: Job, asked: Demand, converter: Converter, u: int, limits: Limits) -> bool:
    """supply-match, running-power, running-apparent, starting-surge, leg-balance; listed and allowed too."""
    if limits.on("supply-match") and converter.hz and job.hz not in converter.hz:
        return False
    if limits.on("listed") and job.listed_only and not converter.listed:
        return False
    if limits.on("allowed") and converter.part in job.exclude:
        return False
    if not limits.keeps("running-power", asked.running_w * (1 + job.running), u * converter.continuous_w):
        return False
    if not limits.keeps("running-apparent", asked.running_va * (1 + job.running), u * converter.continuous_va):
        return False
    for case in asked.cases:
        rating = converter.surge_va if at_most(case.time_s, converter.surge_s) else converter.continuous_va
        if not limits.keeps("starting-surge", case.va * (1 + job.starting), u * rating):
            return False
    if limits.on("leg-balance") and job.supply == "120/240":
        slack_va = limits.more("leg-balance")
        return any(placing_holds(job, asked, converter, u, one, slack_va=slack_va) for one in placings(asked))
    return True


Placing = tuple[tuple[int, int], ...]  # for each load its units on leg 1 and on leg 2; (0, 0) for one across both


def placings(asked: Demand) -> Iterator[Placing]:
    """Every way to put the 120 V units on two legs; units of one load are alike, so numbers are enough."""
    ways: list[list[tuple[int, int]]] = []
    for load in asked.loads:
        if not load.own_leg:
            ways.append([(0, 0)])
        elif load.leg is not None:
            ways.append([(load.count, 0) if load.leg == 1 else (0, load.count)])
        else:
            ways.append([(on_first, load.count - on_first) for on_first in range(load.count + 1)])
    return itertools.product(*ways)


def placing_holds(
    job: Job, asked: Demand, converter: Converter, u: int, placing: Placing, *, slack_va: float = 0.0
) -> bool:
    """leg-balance for one placing: running and every start case, on both legs; each leg may carry `slack_va`
    more."""

    def on_leg(leg: int, of_one_unit: list[float]) -> float:
        total = 0.0
        for load, units, figure in zip(asked.loads, placing, of_one_unit, strict=True):
            total += units[leg] * figure if load.own_leg else load.count * figure / 2
        return total

    running = [on_leg(leg, [load.running_va for load in asked.loads]) for leg in (0, 1)]
    if not all(at_most(va * (1 + job.running), u * converter.leg_va + slack_va) for va in running):
        return False
    for case in asked.cases:
        rating = converter.leg_surge_va if at_most(case.time_s, converter.surge_s) else converter.leg_va
        starts: list[list[float]] = []  # each: VA on leg 1, VA on leg 2
        if case.place is None:
            starts.append([on_leg(leg, [load.starting_va for load in asked.loads]) for leg in (0, 1)])
        else:
            load = asked.loads[case.place]
            more = load.starting_va - load.running_va
            if not load.own_leg:
                starts.append([va + more / 2 for va in running])
            else:
                starts += [
                    [va + (more if here == leg else 0.0) for here, va in enumerate(running)]
                    for leg in (0, 1)
                    if placing[case.place][leg]
                ]
        for start in starts:
            if not all(at_most(va * (1 + job.starting), u * rating + slack_va) for va in start):
                return False
    return True


# --- strings --------------------------------------------------------------------------------------


@dataclass(frozen=True, order=True)
class Layout:
    """What one tracker carries: `parallel` equal strings of `series` panels."""

    series: int
    parallel: int
    usable_w: float
    fused: bool


def cold_factor(panel: Panel, coldest_c: float) -> float | None:
    """By how much open-circuit volts rise in the cold, never below 1; None where no rule says it."""
    if panel.voc_pct_per_c is not None:
        return max(1.0, 1 + panel.voc_pct_per_c / 100 * (coldest_c - 25))
    for band_c, factor in COLD_FACTORS:
        if coldest_c >= band_c:
            return factor
    return None


def usable_power(power_w: float, cap_w: float) -> float:
    """What a tracker gives of an array of `power_w` over a half-sine clear day clipped at `cap_w`."""
    r = min(1.0, cap_w / power_w)
    return power_w * (1 - math.sqrt(1 - r * r) + r * math.acos(r))


def power_when_hot(job: Job, panel: Panel, heat_c: float) -> float:
    """What a panel gives of the array for the energy, W; `heat_c` is that of its rack."""
    return panel.pmax_w * job.array_factor * (1 + panel.pmax_pct_per_c / 100 * heat_c)


def layouts(job: Job, converter: Converter, panel: Panel, limits: Limits, heat_c: float = 0.0) -> list[Layout]:
    """Every (series, parallel) that one tracker may carry, within each limit of a string; `heat_c` is that of the
    rack."""
    if limits.on("listed") and job.listed_only and not panel.listed:
        return []
    if limits.on("allowed") and panel.part in job.exclude:
        return []
    cold = cold_factor(panel, job.coldest_c)
    if cold is None:
        if any(limits.on(name) for name in ("cold-voltage", "panel-voltage", "code-voltage")):
            return []
        cold = 1.0
    cell_c = job.hottest_c + (panel.noct_c - 20) / 800 * 1000 + heat_c
    hot = 1 + panel.vmp_pct_per_c / 100 * (cell_c - 25)
    fuses = FUSES_A_AT_50_HZ if job.hz == 50 else FUSES_A
    voc_pct = -0.40 if panel.voc_pct_per_c is None else panel.voc_pct_per_c
    isc_a = panel.isc_a * (1 + job.rear_light * panel.bifacial_pct / 100)

    found = []
    n = 0
    # tracker-range and tracker-power grow with n and m, so the first that breaks them ends the loop.
    while at_most((n + 1) * panel.vmp_v, converter.tracker_top_v):
        n += 1
        cold_v = n * panel.voc_v * cold
        hot_v = n * panel.vmp_v * hot
        if not limits.keeps("cold-voltage", cold_v, converter.tracker_max_v * (1 - job.voltage)):
            continue
        if not limits.keeps("panel-voltage", cold_v, panel.max_system_v):
            continue
        if not limits.keeps("code-voltage", cold_v, job.array_ceiling_v):
            continue
        if not limits.keeps("hot-voltage", converter.tracker_min_v, hot_v * (1 - job.hot_voltage)):
            continue
        wake_v = n * panel.voc_v * (1 + voc_pct / 100 * (cell_c - 25))
        if not limits.keeps("wake-voltage", converter.tracker_start_v, wake_v):
            continue
        m = 0
        while at_most(n * (m + 1) * panel.pmax_w, converter.tracker_max_w):
            m += 1
            if not limits.keeps("tracker-current", m * isc_a * (1 + job.current), converter.tracker_isc_a):
                continue
            if not limits.keeps("tracker-strings", m, converter.tracker_strings):
                continue
            fused = not at_most((m - 1) * 1.25 * isc_a, panel.max_fuse_a)
            if fused and limits.on("fuse-fits"):
                least = 1.25 * 1.25 * isc_a
                most = panel.max_fuse_a + limits.more("fuse-fits")  # whether it is fused does not change
                if not any(at_most(least, fuse) and at_most(fuse, most) for fuse in fuses):
                    continue
            cap_w = min(converter.tracker_usable_w, converter.tracker_usable_a * hot_v)
            power_w = n * m * power_when_hot(job, panel, heat_c)
            found.append(Layout(n, m, usable_power(power_w, cap_w), fused))
    return found


# --- bank and energy ------------------------------------------------------------------------------


def through_bank_wh(asked: Demand, converter: Converter, u: int, battery: Battery, month: int) -> float:
    """B_m: what goes through the bank in a day of the month."""
    night = sum(load.energy_wh[month] * (1 - load.daytime[month]) for load in asked.loads)
    return (night / converter.efficiency + converter.idle_w * u * IDLE_NIGHT_H) / battery.round_trip


def usable_power_needed(job: Job, asked: Demand, converter: Converter, u: int, battery: Battery) -> float:
    """daily-energy: the usable power of the array that every month asks for, W."""
    array_to_load = job.array_to_load
    if array_to_load is None:
        array_to_load = 1.30 if battery.chemistry in LEAD_ACID else 1.20
    needed = 0.0
    for month in MONTHS:
        by_day = sum(load.energy_wh[month] * load.daytime[month] for load in asked.loads)
        in_all = by_day / converter.efficiency + converter.idle_w * u * IDLE_SUN_H
        in_all += through_bank_wh(asked, converter, u, battery, month)
        needed = max(needed, array_to_load * in_all / job.sun_hours[month])
    return needed


def refills(job: Job, asked: Demand, converter: Converter, u: int, battery: Battery, k: int, usable_w: float) -> bool:
    """recovery: in every month what the array makes beyond the day's demand fills the emptied bank in time."""
    s = series_count(converter, battery)
    assert s is not None
    warmth = 1 - battery.capacity_pct_per_c / 100 * max(0.0, 25 - job.bank_coldest_c)
    depth = min(battery.usable_pct, battery.aged_pct) / 100
    emptied_wh = k * s * battery.nominal_v * battery.capacity_ah * depth * warmth
    for month in MONTHS:
        by_day = sum(load.energy_wh[month] * load.daytime[month] for load in asked.loads)
        in_all = by_day / converter.efficiency + converter.idle_w * u * IDLE_SUN_H
        in_all += through_bank_wh(asked, converter, u, battery, month)
        spare_wh = usable_w * job.sun_hours[month] - in_all
        if not at_most(emptied_wh / battery.round_trip + job.recover_days * in_all,
                       job.recover_days * (spare_wh + in_all)):  # fmt: skip
            return False
    return True


def series_count(converter: Converter, battery: Battery) -> int | None:
    """bank-voltage: batteries in series, None where the classes do not divide."""
    whole = round(converter.bank_class_v / battery.class_v)
    return whole if whole >= 1 and whole * battery.class_v == converter.bank_class_v else None


def freezing_c(usable_pct: float) -> float:
    """Where the acid of a battery drained to `usable_pct` % of its capacity freezes, °C."""
    for depth_pct, freezes_c in FREEZES_C:
        if at_most(usable_pct, depth_pct):
            return freezes_c
    return FREEZES_EMPTY_C


def bank_amps(watts: float, converter: Converter, u: int, low_v: float) -> float:
    """What `u` converters draw from the bank at its lowest volts to give `watts`; their idle draw is part of it."""
    return (watts / converter.efficiency + converter.idle_w * u) / low_v


def bank_strings(job: Job, asked: Demand, converter: Converter, u: int, battery: Battery, limits: Limits) -> list[int]:
    """Every number of bank strings within all limits of section 5 that do not ask for the array."""
    s = series_count(converter, battery)
    if s is None:
        return []
    if limits.on("listed") and job.listed_only and not battery.listed:
        return []
    if limits.on("allowed"):
        if battery.part in job.exclude:
            return []
        if job.chemistries is not None and battery.chemistry not in job.chemistries:
            return []
    if not limits.keeps("bank-series", s, battery.max_series):
        return []
    bank_v = s * battery.nominal_v
    low_v = max(s * battery.min_v, converter.bank_min_v)
    if not limits.keeps("bank-window", converter.bank_min_v, bank_v):
        return []
    if not limits.keeps("bank-window", s * battery.charge_v, converter.bank_max_v):
        return []
    for coldest_c in (battery.coldest_charge_c, battery.coldest_discharge_c):
        if not limits.keeps("bank-temperature", coldest_c, job.bank_coldest_c):
            return []
    if battery.chemistry in LEAD_ACID and not limits.keeps(
        "bank-freeze", freezing_c(battery.usable_pct), job.bank_coldest_c
    ):
        return []
    for hottest_c in (battery.hottest_charge_c, battery.hottest_discharge_c):
        if not limits.keeps("bank-heat", job.bank_hottest_c, hottest_c):
            return []
    warmth = 1 - battery.capacity_pct_per_c / 100 * max(0.0, 25 - job.bank_coldest_c)
    if at_most(warmth, 0.0):
        return []

    def string_wh(depth_pct: float) -> float:
        return bank_v * battery.capacity_ah * min(depth_pct, battery.aged_pct) / 100 * warmth

    charge_a = u * converter.charge_a
    running_a = bank_amps(asked.running_w * (1 + job.running), converter, u, low_v)
    starts_a = [bank_amps(case.w * (1 + job.starting), converter, u, low_v) for case in asked.cases]

    def currents_hold(k: int, shared: float) -> bool:
        if not limits.keeps("discharge-current", running_a, shared * battery.discharge_a):
            return False
        for case, start_a in zip(asked.cases, starts_a, strict=True):
            rating = battery.peak_a if at_most(case.time_s, battery.peak_s) else battery.discharge_a
            if not limits.keeps("starting-current", start_a, shared * rating):
                return False
            if battery.r_mohm is not None:
                sagged_v = bank_v - start_a * s * battery.r_mohm * AGED_COLD_RESISTANCE / 1000 / k
                if not limits.keeps("bank-sag", low_v, sagged_v):
                    return False
        if not converter.charge_settable and not limits.keeps("charge-limit", charge_a, shared * battery.charge_a):
            return False
        return limits.keeps("charge-floor", k * battery.charge_min_a, charge_a)

    def month_holds(k: int, shared: float, month: int) -> bool:
        through_wh = through_bank_wh(asked, converter, u, battery, month)
        sun_h = job.sun_hours[month]
        critical_wh = sum(
            load.energy_wh[month] for load in asked.loads if load.critical and not (asked.pumps_rest and load.pumps)
        )
        day_wh = critical_wh / converter.efficiency + converter.idle_w * u * (IDLE_NIGHT_H + IDLE_SUN_H)
        night_wh = through_wh * battery.round_trip
        days = max(0.0, job.autonomy_days - limits.more("autonomy"))
        return (
            limits.keeps("charger", through_wh, charge_a * bank_v * sun_h)
            and limits.keeps("charge-rate", through_wh, shared * battery.charge_a * bank_v * sun_h)
            and limits.keeps("night-energy", night_wh, k * string_wh(min(battery.daily_pct, battery.usable_pct)))
            and (not limits.on("autonomy") or at_most(days * day_wh, k * string_wh(battery.usable_pct)))
        )

    found = []
    for k in range(1, math.floor(battery.max_parallel + limits.more("bank-parallel")) + 1):
        shared = 1.0 if k == 1 else k * job.parallel_share
        if currents_hold(k, shared) and all(month_holds(k, shared, month) for month in MONTHS):
            found.append(k)
    return found


def panels_to_charge(
    job: Job,
    converter: Converter,
    battery: Battery,
    panel: Panel,
    k: int,
    panels: int,
    *,
    slack_a: float = 0.0,
    heat_c: float = 0.0,
) -> bool:
    """charge-floor of the array: `panels` panels on a rack of `heat_c` give the least charging current of `k` bank
    strings, less `slack_a`."""
    s = series_count(converter, battery)
    assert s is not None
    floor_w = (k * battery.charge_min_a - slack_a) * s * battery.nominal_v
    return at_most(floor_w, panels * power_when_hot(job, panel, heat_c))


# --- site -----------------------------------------------------------------------------------------


def rack_holds(job: Job, panel: Panel, rack: Rack, limits: Limits) -> bool:
    """mounting-fit, allowed and listed of a rack under a panel."""
    if limits.on("listed") and job.listed_only and not rack.listed:
        return False
    if limits.on("allowed") and (rack.part in job.exclude or (job.mounts is not None and rack.mount not in job.mounts)):
        return False
    return (
        limits.keeps("mounting-fit", panel.width_mm, rack.max_width_mm)
        and limits.keeps("mounting-fit", panel.length_mm, rack.max_length_mm)
        and limits.keeps("mounting-fit", panel.weight_kg, rack.max_panel_kg)
    )


def rows_of_string(job: Job, rack: Rack, series: int) -> int:
    """Rows that a string of `series` panels stands in; it shares none."""
    return math.ceil(series / min(job.row_max, rack.max_row))


def rack_units(rack: Rack, series: int, rows: int) -> int:
    """Rack units of one string."""
    return rounded_up(series * rack.per_panel + rows * rack.per_row)
