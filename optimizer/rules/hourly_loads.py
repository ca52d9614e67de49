"""What the loads of a job ask in each hour of a year (W before the converter), and what waits for the sun (W, L)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from optimizer.inputs.job import Job, Load
from optimizer.rules import load_hours, water
from optimizer.rules.demand import Demand
from optimizer.rules.energy import IDLE_DAY_HOURS
from optimizer.rules.figure_types import Array
from optimizer.rules.load_figures import LoadFigures
from optimizer.weather.rows import MONTH_DAYS

DAY_H = load_hours.DAY_H
MONTH_OF_DAY = np.repeat(np.arange(12), MONTH_DAYS)


@dataclass(frozen=True)
class WaitingPump:
    """A pump that runs only on what the sun leaves over, since a tank holds a day's water and more.

    ``most_w``: W of all its units, 0 in hours in which it does not run; ``l_per_wh``: L that each Wh of it lifts. Both
    have the hours of a year.
    """

    name: str
    most_w: Array
    l_per_wh: Array


@dataclass(frozen=True)
class HourlyLoads:
    """The loads hour by hour, (loads, 8760) in the job's order: ``each_w`` of all units together, 0 of what waits for
    the sun; ``water_l`` the L that each pumps with them. ``critical``, ``motors``: of each load. ``drawn_l``: L drawn
    from the tanks, which hold ``stored_l``; 0 where no pump waits."""

    names: tuple[str, ...]
    each_w: Array
    water_l: Array
    critical: np.ndarray
    motors: np.ndarray
    waiting: tuple[WaitingPump, ...]
    drawn_l: Array
    stored_l: float

    @property
    def critical_w(self) -> Array:
        """W of the critical loads."""
        asked: Array = self.each_w[self.critical].sum(axis=0)
        return asked

    @property
    def shed_w(self) -> Array:
        """W of the loads that go without first."""
        asked: Array = self.each_w[~self.critical].sum(axis=0)
        return asked


def hourly_loads(job: Job, demand: Demand, noon_h: np.ndarray, stored_l: float) -> HourlyLoads:
    """The loads of a job by the clock. ``noon_h``: the time of the highest sun, of 365 days; ``stored_l``: L that the
    tanks hold, those of the bundle and those that are there."""
    waits = water.waits_for_sun(demand.water_days)
    pairs = list(zip(job.loads, demand.loads, strict=True))
    each = np.zeros((len(pairs), len(MONTH_OF_DAY) * DAY_H))
    water_l, drawn = np.zeros_like(each), np.zeros(each.shape[1])
    waiting = []
    for place, (load, figures) in enumerate(pairs):
        litres = np.array(load.water_per_day_l or (0.0,) * 12)[MONTH_OF_DAY]
        if figures.pumps and waits:
            waiting.append(_waiting(load, figures))
            drawn += by_hour(litres, np.array(load.drawn or (1 / DAY_H,) * DAY_H))
            continue
        shares = _shares(load, figures, noon_h)
        each[place] = by_hour(np.array(figures.energy_wh)[MONTH_OF_DAY], shares)
        water_l[place] = by_hour(litres, shares)
    return HourlyLoads(
        tuple(load.name for load in job.loads), each, water_l,
        np.array([figures.critical for _, figures in pairs]), np.array([figures.starts_hard for _, figures in pairs]),
        tuple(waiting), drawn, stored_l if waiting else 0.0,
    )  # fmt: skip


def by_hour(of_day: Array, shares: Array) -> Array:
    """What each hour of a year has of a figure of each day, by shares of the day."""
    return (of_day[:, None] * shares).ravel()


def _shares(load: Load, figures: LoadFigures, noon_h: np.ndarray) -> Array:
    """Shares of a load's day by the hour, (24) or (365, 24)."""
    if load.at is not None:
        return load_hours.stated_shares(load.at)
    hours = np.array(figures.hours if figures.hours is not None else (IDLE_DAY_HOURS,) * 12)[MONTH_OF_DAY]
    hours = np.where(hours > 0, hours, IDLE_DAY_HOURS)  # of a month without work no hour has any
    return load_hours.day_shares(noon_h, hours, np.array(figures.daytime)[MONTH_OF_DAY])


def _waiting(load: Load, figures: LoadFigures) -> WaitingPump:
    """A pump that waits for the sun; a stated ``at`` keeps it to those hours."""
    hours = np.ones(DAY_H) if load.at is None else load_hours.stated_hours(load.at)
    most_w = np.tile(figures.count * figures.running_w * hours, len(MONTH_OF_DAY))
    energy, litres = np.array(figures.energy_wh), np.array(load.water_per_day_l)
    lifted = np.divide(litres, energy, out=np.zeros(12), where=energy > 0)
    return WaitingPump(load.name, most_w, np.repeat(lifted[MONTH_OF_DAY], DAY_H))
