"""A bundle gone through the hours of the job's weather file, as it stands: its trackers' ceilings and its own bank."""

from __future__ import annotations

from dataclasses import replace

from optimizer.auditor.figures import BundleFigures
from optimizer.rules import hours
from optimizer.rules.hourly_loads import HourlyLoads, hourly_loads
from optimizer.rules.replay import ArrayHours, ReplayParts, array_hours, replay
from optimizer.rules.replayed_year import Replayed, most_hours_short, replayed
from optimizer.weather.year import WeatherYears

NEW_PCT = 100.0  # of its capacity that a new battery has


def replay_bundle(f: BundleFigures, weather: WeatherYears) -> Replayed:
    """The replay of a bundle over whole years."""
    loads = hourly_loads(f.job, f.demand, weather.noon_h, f.bundle.tanks_l + f.job.water.tank_on_hand_l)
    array = _array(f, weather)
    parts = _parts(f)
    found = replayed(replay(array, loads, parts), loads, weather, parts.bank_wh)
    return replace(found, new_bank_hours=_with_new_bank(f, array, loads, parts))


def _array(f: BundleFigures, weather: WeatherYears) -> ArrayHours:
    """What the array makes in all hours of all years."""
    panel, converter = f.panel, f.converter
    cell_c = hours.cell_temperature(weather.air.ravel(), weather.plane.ravel(), panel["noct_c"], f.rack_heat_c)
    per_c = panel["pmax_pct_per_c"]
    panel_w = hours.offered_power(
        panel["pmax_w"], weather.cells.ravel(), per_c, cell_c, f.job.replay.array_losses
    )  # fmt: skip
    volts = float(panel["vmp_v"]) * hours.heat_factor(per_c, cell_c)
    strings = [(s.series, s.parallel) for s in f.bundle.strings]
    return array_hours(
        strings, panel_w, volts, float(converter["tracker_usable_w"]), float(converter["tracker_usable_a"]),
        f.units * float(converter["array_usable_w"]),
    )  # fmt: skip


def _parts(f: BundleFigures) -> ReplayParts:
    charge_a = min(f.units * float(f.converter["charge_a"]), f.shared * float(f.battery["charge_a"]))
    bank_wh = f.bundle.bank_parallel * f.string_wh
    return ReplayParts(f.efficiency, f.idle_w, charge_a * f.bank_v, f.round_trip, bank_wh)


def _with_new_bank(f: BundleFigures, array: ArrayHours, loads: HourlyLoads, parts: ReplayParts) -> int | None:
    """Hours short with a new bank, at its coldest as the aged one, where the job asks for it."""
    if f.job.replay.bank != "new":
        return None
    new_wh = f.bundle.bank_parallel * f.string_energy(float(f.battery["usable_pct"]), NEW_PCT)
    return most_hours_short(replay(array, loads, replace(parts, bank_wh=new_wh)).short)
