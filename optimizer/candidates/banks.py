"""The least bank of each battery behind a converter, and what it asks of the array."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from catalog.rows import BatteryColumn
from optimizer.candidates.converters import Inverter, Inverters
from optimizer.candidates.terms import Setting
from optimizer.rules import bank, energy
from optimizer.rules.comparisons import at_least, at_most, whole_up
from optimizer.vocabulary.tolerance import TOLERANCE

UNBOUNDED = 1e9  # more bank strings than any bank has: no number of them is enough


@dataclass(frozen=True)
class Banks:
    """What each battery comes to behind a converter; arrays over the batteries asked for, behind several converters
    with an axis before it over those.

    ``need_w`` is the usable array power that the day asks, ``floor_w`` the array power that a lead-acid bank asks;
    ``parallel`` the least bank strings within every limit. Only entries with ``fits`` mean anything.
    """

    fits: np.ndarray
    series: np.ndarray
    parallel: np.ndarray
    need_w: np.ndarray
    floor_w: np.ndarray


def banks(batteries: Mapping[BatteryColumn, np.ndarray], inverter: Inverter | Inverters, setting: Setting) -> Banks:
    """The least bank of each battery behind an inverter, or behind each of several; the rules of the bank and the day's
    energy."""
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
        for coldest_c in (batteries["coldest_charge_c"], batteries["coldest_discharge_c"]):
            fits &= at_least(job.site.bank_coldest_c, coldest_c - slack("bank-temperature"))
    if keeps("bank-freeze"):
        freezes_c = bank.freezing_point(batteries["usable_pct"]) - slack("bank-freeze")
        fits &= ~np.isin(batteries["chemistry"], energy.LEAD_ACID) | at_least(job.site.bank_coldest_c, freezes_c)
    if keeps("bank-heat"):
        for hottest_c in (batteries["hottest_charge_c"], batteries["hottest_discharge_c"]):
            fits &= at_most(job.site.bank_hottest_c, hottest_c + slack("bank-heat"))

    by_month = [np.asarray(each)[..., None] for each in (efficiency, inverter["idle_w"], units)]
    night = energy.night_energy(demand.night_wh, *by_month)
    day = energy.day_energy(demand.day_wh, *by_month)
    sunless_days = max(job.need.autonomy_days - slack("autonomy"), 0.0)
    sunless = energy.sunless_day(demand.carried_wh(sunless_days), *by_month)
    charge_a, idle_w = units * inverter["charge_a"], units * inverter["idle_w"]

    def charging_w(limit: str) -> np.ndarray:
        """The bank's charging W that put a night back within the sun of any month, less what is left out of it."""
        if not slack(limit):
            hardest: np.ndarray = (night / demand.sun_hours).max(axis=-1) / round_trip
            return hardest
        stored = energy.through_bank(night, round_trip[:, None]) - slack(limit)
        least: np.ndarray = (stored / demand.sun_hours).max(axis=-1)
        return least

    if keeps("charger"):
        fits &= at_most(charging_w("charger"), charge_a * bank_v)

    shared = np.zeros(fits.shape)  # the k' asked
    whole = np.ones(fits.shape)  # the k asked
    if keeps("discharge-current"):
        amps = bank.bank_current(demand.running_w, job.reserve.running, efficiency, idle_w, lowest_v)
        shared = np.maximum(shared, (amps - slack("discharge-current")) / batteries["discharge_a"])
    for case in demand.cases:
        amps = bank.bank_current(case.w, job.reserve.starting, efficiency, idle_w, lowest_v)
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
    if keeps("charge-limit"):
        asked = np.maximum(shared, (charge_a - slack("charge-limit")) / batteries["charge_a"])
        shared = np.where(inverter["charge_settable"], shared, asked)
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
        asked_wh = night.max(axis=-1) - slack("night-energy")
        whole = np.maximum(whole, whole_up(asked_wh / np.where(usable_wh > 0, daily_wh, 1.0)))
    if keeps("autonomy"):
        whole = np.maximum(whole, whole_up(sunless_days * sunless.max(axis=-1) / safe))
    whole = np.maximum(whole, 1.0)
    parallel = np.maximum(bank.strings_for(shared, share), whole) + setting.more_strings
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
        floor_w = np.zeros(fits.shape)
    if keeps("daily-energy"):
        ratio = job.need.array_to_load
        ratios = energy.default_array_to_load(batteries["chemistry"]) if ratio is None else ratio
        asked = day + energy.through_bank(night, round_trip[:, None])
        need_w = np.maximum(ratios * (asked / demand.sun_hours).max(axis=-1) - slack("daily-energy"), 0.0)
    else:
        need_w = np.zeros(fits.shape)
    if keeps("recovery") and job.need.recover_days is not None:
        within = job.need.recover_days + slack("recovery")
        asked = day + energy.through_bank(night, round_trip[:, None])
        full = (parallel * usable_wh)[..., None]
        refill_w = energy.power_to_refill(full, round_trip[:, None], within, demand.sun_hours, asked).max(axis=-1)
        need_w = np.maximum(need_w, np.where(fits, refill_w, 0.0))
    if keeps("daily-energy") or keeps("recovery"):
        fits &= at_most(need_w, units * inverter["array_usable_w"])
    return Banks(fits, series, parallel, need_w, floor_w)
