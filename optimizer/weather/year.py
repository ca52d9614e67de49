"""What years on a plane come to: the sun hours of each month, the darkest days in a row, hottest and coldest."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import isfinite, nan

import numpy as np

from optimizer.vocabulary.problems import Problem
from optimizer.weather.rows import HOURS, MONTH_DAYS, MONTH_STARTS

RUNS = (1, 3, 5, 7, 14)  # days in a row
LONG_RECORD = 10  # years from which the mean of the yearly lowest says something about the next
DAYS = HOURS // 24


@dataclass(frozen=True)
class DarkRun:
    """The darkest ``days`` in a row: the day they begin on, counted from the first of all years, kWh/m2 a day, and that
    as a share of the mean of the month in whose middle they lie."""

    days: int
    first: int
    sun_hours: float
    share: float
    year: int | None = None  # that it begins in, where each year of the file is one that was

    @property
    def date(self) -> tuple[int, int]:
        """The day of the month and the month, 0 for January."""
        day = self.first % DAYS
        month = max(place for place in range(12) if MONTH_STARTS[place] <= day)
        return day - MONTH_STARTS[month] + 1, month


@dataclass(frozen=True)
class Coldest:
    """The lowest temperature that a file can state, with what it rests on: ``mean_lowest_c`` is nan where it can state
    none, and ``basis`` says why. ``lowest_c`` is that of its own hours, ``lowest_20y_c`` of 20 years where known."""

    mean_lowest_c: float
    basis: str
    lowest_c: float
    lowest_20y_c: float = nan

    @property
    def stated(self) -> bool:
        """Whether it may decide about damage."""
        return isfinite(self.mean_lowest_c)


@dataclass(frozen=True)
class WeatherYears:
    """Whole years of weather on one plane, hour by hour, by the clock of one zone, without summer time.

    ``plane`` (on the plane), ``cells`` (through the glass to the cells), both in W/m2, and ``air`` in degC have an axis
    of years and one of 8,760 hours. ``noon_h``: the clock's time of the highest sun, by day. ``years``: which they are;
    empty of a typical year, whose months are of different years.
    """

    digest: str
    latitude: float
    longitude: float
    utc_offset_h: float
    years: tuple[int, ...]
    mean_lowest_c: float
    mean_highest_c: float
    lowest_20y_c: float
    plane: np.ndarray = field(repr=False)
    cells: np.ndarray = field(repr=False)
    air: np.ndarray = field(repr=False)
    noon_h: np.ndarray = field(repr=False)
    notes: tuple[Problem, ...] = ()

    @property
    def count(self) -> int:
        """How many years there are."""
        return len(self.plane)

    @property
    def kind(self) -> str:
        """What they are, in words: a typical year, the year 2019, or the years 2005 to 2023."""
        if not self.years:
            return "a typical year" if self.count == 1 else f"{self.count} years"
        if len(self.years) == 1:
            return f"the year {self.years[0]}"
        return f"the years {self.years[0]} to {self.years[-1]}"

    @property
    def sun_hours(self) -> tuple[float, ...]:
        """kWh/m2 a day of each month, the mean of all years."""
        return tuple(float(hours) for hours in month_means(self.plane))

    @property
    def hottest_c(self) -> float:
        """The larger of the highest air and the header's mean of the yearly highest."""
        highest = float(self.air.max())
        return max(highest, self.mean_highest_c) if isfinite(self.mean_highest_c) else highest

    @property
    def coldest(self) -> Coldest:
        """What the file may say of the coldest dawn: never the lowest hour of a typical year."""
        lowest = float(self.air.min())
        if isfinite(self.mean_lowest_c):
            return Coldest(self.mean_lowest_c, "its header's mean of the yearly lowest", lowest, self.lowest_20y_c)
        if len(self.years) >= LONG_RECORD:
            mean = float(self.air.min(axis=1).mean())
            return Coldest(mean, f"the mean of the lowest of its {len(self.years)} years", lowest, self.lowest_20y_c)
        held = "one typical year" if not self.years else "one year" if len(self.years) == 1 else f"{self.count} years"
        return Coldest(nan, held, lowest, self.lowest_20y_c)

    def darkest(self, days: int) -> DarkRun:
        """The darkest days in a row, round the end of the last year."""
        daily = daily_sun(self).ravel()
        ring = np.concatenate((daily, daily[: days - 1]))
        sums = np.convolve(ring, np.ones(days), mode="valid")
        first = int(np.argmin(sums))
        middle = (first + days // 2) % DAYS
        month = max(place for place in range(12) if MONTH_STARTS[place] <= middle)
        mean = float(ring[first : first + days].sum()) / days
        month_mean = self.sun_hours[month]
        year = self.years[first // DAYS] if self.years else None
        return DarkRun(days, first, mean, mean / month_mean if month_mean > 0 else 1.0, year)


def month_means(plane: np.ndarray) -> np.ndarray:
    """kWh/m2 a day of each month: of W/m2 with an axis of years and one of 8,760 hours."""
    by_day = plane.reshape(-1, DAYS, 24).sum(axis=2).mean(axis=0) / 1000
    sums: np.ndarray = np.add.reduceat(by_day, MONTH_STARTS)
    means: np.ndarray = sums / np.array(MONTH_DAYS)
    return means


def daily_sun(years: WeatherYears) -> np.ndarray:
    """kWh/m2 of each day: an axis of years and one of 365 days."""
    daily: np.ndarray = years.plane.reshape(-1, DAYS, 24).sum(axis=2) / 1000
    return daily
