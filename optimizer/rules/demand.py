"""What the loads ask: running, starting and daily energy (V, A, W, VA, Wh, s)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from catalog.rows import StarterRow
from optimizer.inputs.job import Job
from optimizer.rules import water
from optimizer.rules.legs import LegPlacing, leg_plans
from optimizer.rules.load_figures import LoadFigures, load_figures
from optimizer.rules.starts import StartCase, start_cases


@dataclass(frozen=True)
class Demand:
    """All loads together. Energies are Wh a day for each month, shape (12,), as are ``water_l`` (L a day).

    ``stored_l`` L of water last ``water_days``; ``unpumped_wh`` is of the critical loads that pump no water.
    """

    loads: tuple[LoadFigures, ...]
    running_w: float
    running_va: float
    cases: tuple[StartCase, ...]
    day_wh: np.ndarray
    night_wh: np.ndarray
    critical_wh: np.ndarray
    sun_hours: np.ndarray
    leg_plans: tuple[LegPlacing, ...]
    unpumped_wh: np.ndarray
    water_l: np.ndarray
    water_days: float

    def carried_wh(self, sunless_days: float) -> np.ndarray:
        """What the bank carries through so many sunless days: no pumps where the water stored lasts as long."""
        return self.unpumped_wh if water.carries(self.water_days, sunless_days) else self.critical_wh


def demand(job: Job, starters: Mapping[str, StarterRow] | None = None, tanks_l: float = 0.0) -> Demand:
    """Everything the loads of ``job`` ask, ready for the limits. ``starters``: the catalogue row of each load's
    starter, by load name; ``tanks_l``: L that can be drawn from the bundle's tanks, beside what is there already."""
    wishes, starters = job.water, starters or {}
    water_l = np.array([load.water_per_day_l or (0.0,) * 12 for load in job.loads]).sum(axis=0)
    days = water.stored_days(tanks_l + wishes.tank_on_hand_l, water_l)
    sunny = wishes.daytime_with_tank if water.waits_for_sun(days) else 0.0
    loads = tuple(
        load_figures(
            load, job.site.sun_hours, starters.get(load.name), sunny if load.water_per_day_l is not None else 0.0
        )
        for load in job.loads
    )
    return demand_of(job, loads, water_l, days)


def demand_of(job: Job, loads: tuple[LoadFigures, ...], water_l: np.ndarray, days: float) -> Demand:
    """The demand of loads whose figures are there; ``water_l`` L a day by month, stored for ``days``."""
    energy = np.array([load.energy_wh for load in loads])
    day_share = np.array([load.daytime for load in loads])
    critical = np.array([load.critical for load in loads])
    pumps = np.array([load.pumps for load in loads])
    split_phase = job.supply.split_phase
    return Demand(
        loads=loads,
        running_w=sum(load.count * load.running_w for load in loads),
        running_va=sum(load.count * load.running_va for load in loads),
        cases=start_cases(loads, job.supply.restart),
        day_wh=(energy * day_share).sum(axis=0),
        night_wh=(energy * (1 - day_share)).sum(axis=0),
        critical_wh=energy[critical].sum(axis=0),
        sun_hours=np.array(job.site.sun_hours),
        leg_plans=leg_plans(loads, job.supply.restart) if split_phase else (),
        unpumped_wh=energy[critical & ~pumps].sum(axis=0),
        water_l=water_l,
        water_days=days,
    )
