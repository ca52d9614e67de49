"""What the hours of a replay come to, year by year: hours short, when, the bank's lowest, what was not used."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from optimizer.rules import load_hours
from optimizer.rules.figure_types import Array
from optimizer.rules.hourly_loads import HourlyLoads
from optimizer.rules.replay import ReplayHours
from optimizer.weather.rows import HOURS, MONTH_DAYS, MONTH_STARTS
from optimizer.weather.year import DAYS, WeatherYears

WEEK = 7  # days
FULL_WH = 1e-6  # below which a bank still counts as full
KWH = 1000.0


@dataclass(frozen=True)
class WorstWeek:
    """Seven days in a row in which most is unserved, of equals the darkest: the day of the year on which they begin,
    from 0, Wh unserved, and kWh/m2 a day on the plane."""

    first: int
    unserved_wh: float
    sun_hours: float


@dataclass(frozen=True)
class MonthReplayed:
    """One month: kWh/m2 a day, kWh that the panels offer and that nothing takes, hours short, the bank's lowest in
    percent of its window."""

    sun_hours: float
    array_kwh: float
    curtailed_kwh: float
    short_h: int
    lowest_charge_pct: float


@dataclass(frozen=True)
class WaterReplayed:
    """L of a year: delivered, short of what is drawn, days with any short, and the lowest in the tanks (None without
    a tank that pumps wait for)."""

    delivered_l: float
    short_l: float
    days_dry: int
    lowest_l: float | None


@dataclass(frozen=True)
class ReplayedYear:
    """One year gone through. Days and hours count from the 1st of January, from 0; shares are of what the panels offer
    (``clipped``, ``curtailed``) or of what is asked (``unserved``, ``direct``: served without the bank).
    ``first_short``: the first hour short and W that critical loads lack in it. ``lowest_day``: of the bank's lowest.
    ``starts``: hours in which each motor begins to run. ``days_short`` and ``lowest_by_day`` by day, for drawing.
    """

    year: int | None
    hours_short: int
    days_short: int
    outages: int
    longest_outage_h: int
    unserved_wh: float
    unserved_share: float
    worst_week: WorstWeek
    lowest_charge_pct: float
    lowest_day: int
    full_days: int
    bank_cycles: float
    array_kwh: float
    clipped_share: float
    curtailed_share: float
    direct_share: float
    starts: Mapping[str, int]
    months: tuple[MonthReplayed, ...]
    water: WaterReplayed | None
    first_short: tuple[int, float] | None
    short_by_day: tuple[int, ...]
    lowest_by_day: tuple[float, ...]

    @property
    def generator_free_days(self) -> int:
        """Days without an hour short."""
        return DAYS - self.days_short


@dataclass(frozen=True)
class WeekHours:
    """The worst week of the worst year hour by hour: W handed on by the array, asked, and lacking; the bank's charge in
    percent of its window."""

    first: int
    sun_w: tuple[float, ...]
    asked_w: tuple[float, ...]
    lacking_w: tuple[float, ...]
    charge_pct: tuple[float, ...]


@dataclass(frozen=True)
class Replayed:
    """Each year of a weather file; ``week``: the worst one by the hour; ``new_bank_hours``: hours short of the worst
    year with a new bank, where that was asked."""

    years: tuple[ReplayedYear, ...]
    week: WeekHours
    new_bank_hours: int | None = None

    @property
    def worst(self) -> ReplayedYear:
        """The year with most hours short, of equals with most unserved."""
        return self.years[_worst(self.years)]


def _worst(years: tuple[ReplayedYear, ...]) -> int:
    return max(range(len(years)), key=lambda place: (years[place].hours_short, years[place].unserved_wh, -place))


def replayed(found: ReplayHours, loads: HourlyLoads, weather: WeatherYears, bank_wh: float) -> Replayed:
    """The figures of all years. ``bank_wh``: what the bank holds in its window."""
    count = weather.count
    charge = found.flows.level / bank_wh * 100 if bank_wh > 0 else np.zeros_like(found.flows.level)
    outages = _outages(found.short, count)
    years = tuple(
        _year(found, loads, weather, charge, bank_wh, place, outages[place]) for place in range(count)
    )  # fmt: skip
    worst = _worst(years)
    return Replayed(years, _week(found, charge, years[worst].worst_week.first, worst))


def most_hours_short(short: np.ndarray) -> int:
    """Hours short of the worst year, of all hours in order."""
    return int(short.reshape(-1, HOURS).sum(axis=1).max())


def _outages(short: np.ndarray, count: int) -> list[list[int]]:
    """Of each year the lengths of the runs of short hours that begin in it, h."""
    begun: list[list[int]] = [[] for _ in range(count)]
    for first, length in load_hours.runs(short):
        begun[first // HOURS].append(length)
    return begun


def _year(
    found: ReplayHours, loads: HourlyLoads, weather: WeatherYears, charge: Array, bank_wh: float, place: int,
    outages: list[int],
) -> ReplayedYear:  # fmt: skip
    own = slice(place * HOURS, (place + 1) * HOURS)
    flows, offered = found.flows, found.array.offered[own]
    short, asked, unserved = found.short[own], found.asked[own], flows.unserved[own]
    clipped = float((offered - found.array.handed_on[own]).sum())
    lowest_by_day = charge[own].reshape(DAYS, -1).min(axis=1)
    short_by_day = short.reshape(DAYS, -1).sum(axis=1)
    lowest = int(np.argmin(lowest_by_day))
    full = (flows.level[own].reshape(DAYS, -1).max(axis=1) >= bank_wh - FULL_WH) & (bank_wh > 0)
    first = int(np.argmax(short)) if short.any() else None
    return ReplayedYear(
        year=weather.years[place] if weather.years else None,
        hours_short=int(short.sum()),
        days_short=int((short_by_day > 0).sum()),
        outages=len(outages),
        longest_outage_h=max(outages, default=0),
        unserved_wh=float(unserved.sum()),
        unserved_share=_share(float(unserved.sum()), float(asked.sum())),
        worst_week=_worst_week(unserved, weather.plane[place]),
        lowest_charge_pct=float(lowest_by_day[lowest]),
        lowest_day=lowest,
        full_days=int(full.sum()),
        bank_cycles=_share(float(flows.drawn[own].sum()), bank_wh),
        array_kwh=float(offered.sum()) / KWH,
        clipped_share=_share(clipped, float(offered.sum())),
        curtailed_share=_share(float(flows.curtailed[own].sum()), float(offered.sum())),
        direct_share=_share(float(flows.direct[own].sum()), float(asked.sum())),
        starts=_starts(found, loads, own),
        months=_months(found, charge, weather.plane[place], own),
        water=_water(found, own),
        first_short=None if first is None else (first, float(found.lacking[own][first])),
        short_by_day=tuple(short_by_day.tolist()),
        lowest_by_day=tuple(lowest_by_day.tolist()),
    )


def _share(part: float, whole: float) -> float:
    return part / whole if whole > 0 else 0.0


def _worst_week(unserved: Array, plane: Array) -> WorstWeek:
    lacks, sun = (_weeks(of_hours.reshape(DAYS, -1).sum(axis=1)) for of_hours in (unserved, plane / KWH))
    first = int(np.lexsort((sun, -lacks))[0])
    return WorstWeek(first, float(lacks[first]), float(sun[first]) / WEEK)


def _weeks(by_day: Array) -> Array:
    """Sums of seven days from each day on, round the year's end."""
    sums: Array = sum(np.roll(by_day, -day) for day in range(WEEK))  # type: ignore[assignment]  # begins with an int
    return sums


def _starts(found: ReplayHours, loads: HourlyLoads, own: slice) -> dict[str, int]:
    """Hours in which a motor runs that did not run in the hour before, the last hour of the year before the first."""
    counted = {}
    for place, (name, motor) in enumerate(zip(loads.names, loads.motors, strict=True)):
        if motor:
            runs = found.pumps_w[name][own] > 0 if name in found.pumps_w else loads.each_w[place] > 0
            counted[name] = int((runs & ~np.roll(runs, 1)).sum())
    return counted


def _months(found: ReplayHours, charge: Array, plane: Array, own: slice) -> tuple[MonthReplayed, ...]:
    months = []
    for first, days in zip(MONTH_STARTS, MONTH_DAYS, strict=True):
        of = slice(first * 24, (first + days) * 24)
        months.append(
            MonthReplayed(
                float(plane[of].sum()) / KWH / days,
                float(found.array.offered[own][of].sum()) / KWH,
                float(found.flows.curtailed[own][of].sum()) / KWH,
                int(found.short[own][of].sum()),
                float(charge[own][of].min()),
            )
        )
    return tuple(months)


def _water(found: ReplayHours, own: slice) -> WaterReplayed | None:
    water = found.water
    if water is None:
        return None
    lacking = water.lacking[own]
    dry = lacking.reshape(DAYS, -1).sum(axis=1) > FULL_WH
    lowest = None if water.level is None else float(water.level[own].min())
    return WaterReplayed(float(water.delivered[own].sum()), float(lacking.sum()), int(dry.sum()), lowest)


def _week(found: ReplayHours, charge: Array, first: int, place: int) -> WeekHours:
    hours = (np.arange(WEEK * 24) + first * 24) % HOURS + place * HOURS

    def of(values: Array) -> tuple[float, ...]:
        return tuple(values[hours].tolist())

    return WeekHours(first, of(found.array.handed_on), of(found.asked), of(found.lacking), of(charge))
