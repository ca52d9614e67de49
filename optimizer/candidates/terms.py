"""Eligible choices as arrays: which converters, banks and strings the limits leave.

Everything here calls the rule functions that the auditor calls, on arrays of parts instead of one part. ``without``
names limits that are left out in thought; the choice itself never leaves one out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from catalog.reader import Table
from optimizer.bundles.bundle import KINDS
from optimizer.candidates.plan import DIRECT, Plan
from optimizer.inputs.job import Job
from optimizer.rules import bank, energy, mounting, strings
from optimizer.rules import demand as loads
from optimizer.rules.limits import LIMITS, LOOSENED, NEVER_LEFT_OUT
from optimizer.rules.tolerance import TOLERANCE, at_least, at_most, whole_down, whole_up

UNBOUNDED = 1e9  # more bank strings than any bank has: no number of them is enough
ONE_MODEL = frozenset(KINDS)  # of these a bundle has one model, so asking for one bars the others
SUPPLY_COLUMN = {"120": "units_120", "120/240": "units_120_240", "230": "units_230"}


@dataclass(frozen=True)
class Rows:
    """Some rows of one catalogue table: the columns as arrays, and where the rows stand in the table."""

    table: Table
    index: np.ndarray
    columns: Mapping[str, np.ndarray]

    def __len__(self) -> int:
        return len(self.index)

    def __getitem__(self, column: str) -> np.ndarray:
        return self.columns[column]

    def take(self, rows: np.ndarray) -> Rows:
        """The rows at these positions, or under this mask."""
        return Rows(self.table, self.index[rows], {name: values[rows] for name, values in self.columns.items()})

    @classmethod
    def of(cls, table: Table) -> Rows:
        """All rows of a table."""
        return cls(table, np.arange(len(table)), table.columns)


@dataclass(frozen=True)
class Terms:
    """What a search is asked beyond the job.

    ``without`` and ``slack`` are in thought only: limits left out, and limits loosened by so much of their own unit.
    ``must`` names one part a kind that the bundle has, with the exact number of pieces or None for any; ``never``
    parts that it has not. ``equal_strings``: all strings as long as each other; ``most_sellers`` to buy from.
    """

    without: frozenset[str] = frozenset()
    slack: Mapping[str, float] = field(default_factory=dict)
    must: Mapping[str, tuple[str, int | None]] = field(default_factory=dict)
    never: frozenset[str] = frozenset()
    equal_strings: bool = False
    most_sellers: int | None = None


PLAIN = Terms()


@dataclass(frozen=True)
class Setting:
    """A job, its demand under a plan, and the terms of a search: what every eligibility function needs to know."""

    job: Job
    demand: loads.Demand
    terms: Terms = PLAIN
    plan: Plan = DIRECT

    @classmethod
    def of(cls, job: Job, terms: Terms = PLAIN) -> Setting:
        """Work out the demand without starters and tanks. Raises ValueError where a limit cannot be left out or
        loosened."""
        wrong = terms.without - set(LIMITS) | terms.without & NEVER_LEFT_OUT
        if wrong:
            raise ValueError(f"cannot be left out: {', '.join(sorted(wrong))}")
        if stiff := set(terms.slack) - LOOSENED:
            raise ValueError(f"cannot be loosened by a figure: {', '.join(sorted(stiff))}")
        return cls(job, loads.demand(job), terms)

    def keeps(self, limit: str) -> bool:
        """Whether the limit is in force."""
        return limit not in self.terms.without

    def slack(self, limit: str) -> float:
        """How much more than allowed, in the limit's unit, may be in thought."""
        return self.terms.slack.get(limit, 0.0)

    def count_of(self, kind: str) -> int | None:
        """The exact pieces of a kind that are asked for, if they are."""
        return self.terms.must.get(kind, ("", None))[1]

    @property
    def array_to_load(self) -> float | None:
        """The ratio the job states, if it does."""
        return self.job.need.array_to_load


@dataclass(frozen=True)
class Converters:
    """Eligible (converter, units): position in ``rows`` and number of units, one entry each."""

    rows: Rows
    row: np.ndarray
    units: np.ndarray

    def __len__(self) -> int:
        return len(self.row)

    def column(self, name: str) -> np.ndarray:
        """A converter column, one value for each entry."""
        values: np.ndarray = self.rows[name][self.row]
        return values

    def take(self, chosen: np.ndarray) -> Converters:
        """The entries at these positions."""
        return Converters(self.rows, self.row[chosen], self.units[chosen])

    def entry(self, position: int) -> Inverter:
        """One entry as plain figures."""
        row = int(self.row[position])
        figures = {name: values[row] for name, values in self.rows.columns.items()}
        return Inverter(position, row, int(self.units[position]), figures)


@dataclass(frozen=True)
class Inverter:
    """One converter in a number of units, its columns as plain figures (of one unit)."""

    position: int
    row: int
    units: int
    figures: Mapping[str, Any] = field(repr=False)

    def __getitem__(self, column: str) -> Any:
        return self.figures[column]

    @property
    def efficiency(self) -> float:
        """Efficiency as a share."""
        return float(self["efficiency_pct"]) / 100

    @property
    def trackers(self) -> int:
        """Trackers of all units."""
        return self.units * int(self["trackers"])


def allowed_rows(table: Table, setting: Setting) -> Rows:
    """The rows that the job allows: chemistry, mount, exclusions, and listed parts where only those may be."""
    allow, space = setting.job.allow, setting.job.space
    keep = np.ones(len(table), dtype=bool)
    if setting.keeps("allowed"):
        keep &= ~np.isin(table.part, list(allow.exclude))
        if table.kind == "battery" and allow.chemistries is not None:
            keep &= np.isin(table["chemistry"], list(allow.chemistries))
        if table.kind == "rack" and space.mounts is not None:
            keep &= np.isin(table["mount"], list(space.mounts))
    if setting.keeps("listed") and allow.listed_only and "listed" in table.columns:
        keep &= table["listed"]
    keep &= ~np.isin(table.part, list(setting.terms.never))
    if table.kind in ONE_MODEL and table.kind in setting.terms.must:
        keep &= table.part == setting.terms.must[table.kind][0]
    return Rows.of(table).take(np.flatnonzero(keep))


def makes_frequency(hz: np.ndarray, wanted: int) -> np.ndarray:
    """Whether each converter states the supply's frequency, or states none."""
    return np.array([not text or str(wanted) in str(text).split(";") for text in hz], dtype=bool)


def converter_entries(rows: Rows, setting: Setting) -> Converters:
    """Every converter in every number of units that makes the supply and carries the loads."""
    job, demand = setting.job, setting.demand
    step = rows[SUPPLY_COLUMN[job.supply.kind]]
    most = np.where(np.isnan(step), 0, rows["max_units"] // np.where(np.isnan(step), 1, step))
    if setting.keeps("supply-match"):
        most = np.where(makes_frequency(rows["hz"], job.supply.hz), most, 0)
    row = np.repeat(np.arange(len(rows)), most.astype(int))
    nth = np.arange(len(row)) - np.repeat(np.cumsum(most) - most, most.astype(int)) + 1
    units = nth * step[row]
    carries = np.ones(len(row), dtype=bool)

    def column(name: str) -> np.ndarray:
        return rows[name][row]

    if setting.keeps("running-power"):
        has_w = units * column("continuous_w") + setting.slack("running-power")
        carries &= at_most(demand.running_w * (1 + job.reserve.running), has_w)
    if setting.keeps("running-apparent"):
        has_va = units * column("continuous_va") + setting.slack("running-apparent")
        carries &= at_most(demand.running_va * (1 + job.reserve.running), has_va)
    if setting.keeps("starting-surge"):
        for case in demand.cases:
            lasts = at_least(column("surge_s"), case.seconds)
            rating = np.where(lasts, column("surge_va"), column("continuous_va"))
            has_va = units * rating + setting.slack("starting-surge")
            carries &= at_most(case.va * (1 + job.reserve.starting), has_va)
    if setting.keeps("leg-balance") and demand.leg_plans:
        fits, more = np.zeros(len(row), dtype=bool), setting.slack("leg-balance")
        for plan in demand.leg_plans:
            one = at_most(plan.running_va * (1 + job.reserve.running), units * column("leg_va") + more)
            for seconds, va in plan.start_va:
                lasts = at_least(column("surge_s"), seconds)
                rating = np.where(lasts, column("leg_surge_va"), column("leg_va"))
                one &= at_most(va * (1 + job.reserve.starting), units * rating + more)
            fits |= one
        carries &= fits
    if (exact := setting.count_of("converter")) is not None:
        carries &= units == exact
    return Converters(rows, row[carries], units[carries])


@dataclass(frozen=True)
class Banks:
    """What each battery comes to behind one converter; arrays over the batteries asked for.

    ``need_w`` is the usable array power that the day asks, ``floor_w`` the array power that a lead-acid bank asks;
    ``parallel`` the least bank strings within every limit. Only entries with ``fits`` mean anything.
    """

    fits: np.ndarray
    series: np.ndarray
    parallel: np.ndarray
    need_w: np.ndarray
    floor_w: np.ndarray


def banks(batteries: Mapping[str, np.ndarray], inverter: Inverter, setting: Setting) -> Banks:
    """The least bank of each battery behind ``inverter``; the rules of the bank and the day's energy."""
    job, demand, keeps, slack = setting.job, setting.demand, setting.keeps, setting.slack
    share = job.reserve.parallel_share
    units, efficiency = inverter.units, inverter.efficiency
    class_v = batteries["class_v"]
    series = np.rint(inverter["bank_class_v"] / class_v)
    fits = (series >= 1) & (series * class_v == inverter["bank_class_v"])
    series = np.where(fits, series, 1.0)  # rows that do not fit stay out of every division
    bank_v = series * batteries["nominal_v"]
    lowest_v = bank.lowest_voltage(series, batteries["min_v"], inverter["bank_min_v"])
    round_trip = batteries["round_trip_pct"] / 100
    if keeps("bank-series"):
        fits &= series <= batteries["max_series"] + slack("bank-series")
    if keeps("bank-window"):
        fits &= at_least(bank_v, inverter["bank_min_v"] - slack("bank-window"))
        fits &= at_most(series * batteries["charge_v"], inverter["bank_max_v"] + slack("bank-window"))
    if keeps("bank-temperature"):
        for column in ("coldest_charge_c", "coldest_discharge_c"):
            fits &= at_least(job.site.bank_coldest_c, batteries[column] - slack("bank-temperature"))

    night = energy.night_energy(demand.night_wh, efficiency, inverter["idle_w"], units)
    day = energy.day_energy(demand.day_wh, efficiency, inverter["idle_w"], units)
    sunless_days = max(job.need.autonomy_days - slack("autonomy"), 0.0)
    sunless = energy.sunless_day(demand.carried_wh(sunless_days), efficiency, inverter["idle_w"], units)
    charge_a = units * inverter["charge_a"]

    def charging_w(limit: str) -> np.ndarray:
        """The bank's charging W that put a night back within the sun of any month, less what is let go in thought."""
        if not slack(limit):
            hardest: np.ndarray = (night / demand.sun_hours).max() / round_trip
            return hardest
        stored = energy.through_bank(night, round_trip[:, None]) - slack(limit)
        least: np.ndarray = (stored / demand.sun_hours).max(axis=1)
        return least

    if keeps("charger"):
        fits &= at_most(charging_w("charger"), charge_a * bank_v)

    shared = np.zeros(len(class_v))  # the k' asked
    whole = np.ones(len(class_v))  # the k asked
    if keeps("discharge-current"):
        amps = bank.bank_current(demand.running_w, job.reserve.running, efficiency, lowest_v)
        shared = np.maximum(shared, (amps - slack("discharge-current")) / batteries["discharge_a"])
    for case in demand.cases:
        amps = bank.bank_current(case.w, job.reserve.starting, efficiency, lowest_v)
        if keeps("starting-current"):
            lasts = at_least(batteries["peak_s"], case.seconds)
            rating = np.where(lasts, batteries["peak_a"], batteries["discharge_a"])
            shared = np.maximum(shared, (amps - slack("starting-current")) / rating)
        if keeps("bank-sag"):
            r_mohm = np.where(np.isnan(batteries["r_mohm"]), 0.0, batteries["r_mohm"])
            drop = bank_v - bank.sagged_voltage(bank_v, amps, series, r_mohm, 1.0)
            spare = bank_v - lowest_v + TOLERANCE * lowest_v + slack("bank-sag")
            some = (drop > 0) & (spare > 0)
            asked = np.where(some, whole_up(drop / np.where(some, spare, 1.0)), np.where(drop > 0, UNBOUNDED, 1.0))
            whole = np.maximum(whole, asked)
    if keeps("charge-limit") and not inverter["charge_settable"]:
        shared = np.maximum(shared, (charge_a - slack("charge-limit")) / batteries["charge_a"])
    if keeps("charge-rate"):
        shared = np.maximum(shared, charging_w("charge-rate") / (batteries["charge_a"] * bank_v))

    def string_energy(depth_pct: np.ndarray) -> np.ndarray:
        wh: np.ndarray = bank.usable_energy(
            bank_v, batteries["capacity_ah"], depth_pct, batteries["aged_pct"], batteries["capacity_pct_per_c"],
            job.site.bank_coldest_c,
        )  # fmt: skip
        return wh

    usable_wh = string_energy(batteries["usable_pct"])
    daily_wh = string_energy(np.minimum(batteries["daily_pct"], batteries["usable_pct"]))
    fits &= usable_wh > 0
    safe = np.where(usable_wh > 0, usable_wh, 1.0)  # rows without energy do not fit anyhow
    if keeps("night-energy"):
        asked_wh = night.max() - slack("night-energy")
        whole = np.maximum(whole, whole_up(asked_wh / np.where(usable_wh > 0, daily_wh, 1.0)))
    if keeps("autonomy"):
        whole = np.maximum(whole, whole_up(sunless_days * sunless.max() / safe))
    whole = np.maximum(whole, 1.0)
    parallel = np.maximum(bank.strings_for(shared, share), whole)
    if (exact := setting.count_of("battery")) is not None:
        fits &= (exact % series == 0) & (exact // series >= parallel)
        parallel = np.where(fits, exact // series, parallel)
    fits &= parallel < UNBOUNDED
    if keeps("bank-parallel"):
        fits &= parallel <= batteries["max_parallel"] + slack("bank-parallel")

    floor_a = np.maximum(parallel * batteries["charge_min_a"] - slack("charge-floor"), 0.0)
    floor_w = floor_a * bank_v
    if keeps("charge-floor"):
        fits &= at_least(charge_a, floor_a)
    else:
        floor_w = np.zeros(len(class_v))
    if keeps("daily-energy"):
        ratio = job.need.array_to_load
        ratios = energy.default_array_to_load(batteries["chemistry"]) if ratio is None else ratio
        asked = day + energy.through_bank(night, round_trip[:, None])
        need_w = np.maximum(ratios * (asked / demand.sun_hours).max(axis=1) - slack("daily-energy"), 0.0)
    else:
        need_w = np.zeros(len(class_v))
    if keeps("recovery") and job.need.recover_days is not None:
        within = job.need.recover_days + slack("recovery")
        asked = day + energy.through_bank(night, round_trip[:, None])
        full = (parallel * usable_wh)[:, None]
        refill_w = energy.power_to_refill(full, round_trip[:, None], within, demand.sun_hours, asked).max(axis=1)
        need_w = np.maximum(need_w, np.where(fits, refill_w, 0.0))
    if keeps("daily-energy") or keeps("recovery"):
        fits &= at_most(need_w, units * inverter["array_usable_w"])
    return Banks(fits, series, parallel, need_w, floor_w)


@dataclass(frozen=True)
class PanelFigures:
    """What the site makes of each panel; arrays over the panels."""

    cold_v: np.ndarray
    hot_v: np.ndarray
    wake_v: np.ndarray
    isc_a: np.ndarray
    area_m2: np.ndarray


def panel_figures(panels: Mapping[str, np.ndarray], setting: Setting) -> PanelFigures:
    """Volts of one panel at dawn in the cold and in full heat, its short-circuit A with rear light, its m²."""
    place = setting.job.site
    cell_c = strings.cell_temperature(place.hottest_c, panels["noct_c"])
    return PanelFigures(
        cold_v=panels["voc_v"] * strings.cold_factor(panels["voc_pct_per_c"], place.coldest_c),
        hot_v=panels["vmp_v"] * strings.hot_factor(panels["pmax_pct_per_c"], cell_c),
        wake_v=panels["voc_v"] * strings.wake_factor(panels["voc_pct_per_c"], cell_c),
        isc_a=strings.short_circuit_current(panels["isc_a"], panels["bifacial_pct"], place.rear_light),
        area_m2=mounting.panel_area(panels["length_mm"], panels["width_mm"]),
    )


@dataclass(frozen=True)
class Strings:
    """The strings that each panel may form on a tracker of one converter; arrays over the panels.

    ``shortest`` and ``longest`` in series, at most ``parallel`` of them; ``best_w`` is the most usable W that one
    panel can give (in the shortest string, alone), ``cap_w`` the usable W a tracker's ceiling leaves the longest.
    No string: ``shortest`` > ``longest``.
    """

    shortest: np.ndarray
    longest: np.ndarray
    parallel: np.ndarray
    best_w: np.ndarray
    cap_w: np.ndarray


def string_ranges(
    panels: Mapping[str, np.ndarray], figures: PanelFigures, inverter: Inverter, setting: Setting
) -> Strings:
    """Which strings every limit of a tracker leaves."""
    job, keeps = setting.job, setting.keeps
    longest = whole_down(inverter["tracker_top_v"] / panels["vmp_v"])
    longest = np.minimum(longest, whole_down(inverter["tracker_max_w"] / panels["pmax_w"]))
    ceilings = (
        ("cold-voltage", inverter["tracker_max_v"] * (1 - job.reserve.voltage)),
        ("panel-voltage", panels["max_system_v"]),
        ("code-voltage", job.site.array_ceiling_v),
    )
    for limit, ceiling_v in ceilings:
        if keeps(limit):
            longest = np.minimum(longest, whole_down((ceiling_v + setting.slack(limit)) / figures.cold_v))
    longest = np.where(np.isnan(longest), 0.0, longest)
    shortest = np.ones(len(longest))
    floors = (
        ("hot-voltage", figures.hot_v * (1 - job.reserve.hot_voltage), inverter["tracker_min_v"]),
        ("wake-voltage", figures.wake_v, inverter["tracker_start_v"]),
    )
    for limit, volts, least_v in floors:
        if keeps(limit):
            with np.errstate(divide="ignore", invalid="ignore"):
                asked = whole_up((least_v - setting.slack(limit)) / volts)
                shortest = np.maximum(shortest, np.where(volts > 0, asked, np.inf))
    parallel = whole_down(inverter["tracker_max_w"] / (panels["pmax_w"] * shortest))
    if keeps("tracker-strings"):
        parallel = np.minimum(parallel, inverter["tracker_strings"] + setting.slack("tracker-strings"))
    if keeps("tracker-current"):
        most_a = inverter["tracker_isc_a"] + setting.slack("tracker-current")
        parallel = np.minimum(parallel, whole_down(most_a / (figures.isc_a * (1 + job.reserve.current))))
    if keeps("fuse-fits"):
        no_fuse = ~at_most(strings.fuse_rating(figures.isc_a), panels["max_fuse_a"] + setting.slack("fuse-fits"))
        bare = strings.most_parallel_unfused(figures.isc_a, panels["max_fuse_a"])
        parallel = np.where(no_fuse, np.minimum(parallel, bare), parallel)
    longest = np.where(parallel >= 1, longest, 0.0)
    array_w = shortest * panels["pmax_w"] * job.site.array_factor
    cap_w = np.minimum(inverter["tracker_usable_w"], inverter["tracker_usable_a"] * shortest * figures.hot_v)
    fits = shortest <= longest
    best_w = np.zeros(len(longest))
    best_w[fits] = (strings.usable_power(array_w, cap_w) / np.maximum(shortest, 1.0))[fits]
    cap_w = np.minimum(inverter["tracker_usable_w"], inverter["tracker_usable_a"] * longest * figures.hot_v)
    return Strings(shortest, longest, parallel, best_w, cap_w)


@dataclass(frozen=True)
class Layout:
    """What one tracker may carry: ``parallel`` strings of ``series`` panels, and the usable W it then gives."""

    series: int
    parallel: int
    usable_w: float
    fused: bool

    @property
    def panels(self) -> int:
        """Panels of the layout."""
        return self.series * self.parallel


def layouts(
    panel: Mapping[str, Any], figures: PanelFigures, row: int, inverter: Inverter, ranges: Strings, position: int,
    setting: Setting,
) -> tuple[Layout, ...]:  # fmt: skip
    """Every layout of one panel on a tracker, longest strings first; ``row`` into figures, ``position`` into
    ranges."""
    least, most = int(ranges.shortest[position]), int(ranges.longest[position])
    if least > most:
        return ()
    series = np.arange(most, least - 1, -1).repeat(int(ranges.parallel[position]))
    parallel = np.tile(np.arange(1, int(ranges.parallel[position]) + 1), most - least + 1)
    fits = at_most(series * parallel * panel["pmax_w"], inverter["tracker_max_w"])
    series, parallel = series[fits], parallel[fits]
    array_w = series * parallel * panel["pmax_w"] * setting.job.site.array_factor
    cap_w = np.minimum(inverter["tracker_usable_w"], inverter["tracker_usable_a"] * series * figures.hot_v[row])
    usable_w = strings.usable_power(array_w, cap_w)
    fused = strings.is_fused(parallel, figures.isc_a[row], panel["max_fuse_a"])
    return tuple(map(Layout, series.tolist(), parallel.tolist(), usable_w.tolist(), fused.tolist()))


def most_panels(
    panels: Mapping[str, Any], area_m2: Any, inverter: Inverter, setting: Setting
) -> Any:
    """The most panels that space and the converters' array limit leave; floats or arrays over the panels."""
    space = setting.job.space
    most = np.full(np.shape(panels["pmax_w"]), np.inf)
    if setting.keeps("array-total"):
        most_w = inverter.units * inverter["array_max_w"] + setting.slack("array-total")
        most = np.minimum(most, whole_down(most_w / panels["pmax_w"]))
    if setting.keeps("space"):
        if space.max_panels is not None:
            most = np.minimum(most, space.max_panels)
        if space.max_area_m2 is not None:
            most = np.minimum(most, whole_down(space.max_area_m2 / area_m2))
    if (exact := setting.count_of("panel")) is not None:
        most = np.minimum(most, exact)
    return most


def most_usable(panels_each: Any, pmax_w: Any, cap_w: Any, trackers: int, array_factor: float) -> Any:
    """The most usable W that ``trackers`` give with ``panels_each`` on each on average: no split gives more, since
    usable power rises ever slower with the panels on a tracker, and no string has a higher ceiling."""
    array_w = np.maximum(panels_each * pmax_w * array_factor, 1e-9)
    return trackers * strings.usable_power(array_w, np.maximum(cap_w, 1e-9))


def panels_needed(array_w: Any, pmax_w: Any, floor_w: Any, array_factor: float, best_w: Any) -> Any:
    """The least panels by power alone: usable W at ``best_w`` a panel, and the lead-acid floor."""
    with np.errstate(divide="ignore", invalid="ignore"):
        by_need = np.where(best_w > 0, whole_up(array_w / best_w), np.inf)
    return np.maximum(1.0, np.maximum(by_need, whole_up(floor_w / (pmax_w * array_factor))))
