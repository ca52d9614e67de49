"""What the loads ask: running, starting and daily energy (V, A, W, VA, Wh, s)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import prod
from typing import Any

import numpy as np

from optimizer.inputs.job import Job, Load
from optimizer.rules import water
from optimizer.rules.code_tables import FULL_LOAD_AMPS, LOCKED_ROTOR_KVA_PER_HP, LOCKED_ROTOR_MULTIPLE
from optimizer.rules.soft_start import softened_va
from optimizer.rules.tolerance import TOLERANCE
from optimizer.vocabulary.defaults import MOST_PLACINGS, MOTOR_POWER_FACTOR

PLACING_TOLERANCE = 1e-12  # two placings this near are the same: only the order of adding differs
HOUSE_VOLTAGE_MAX = 125.0  # a load of 110 to 125 V sits on one leg of a 120/240 V supply


@dataclass(frozen=True)
class LoadFigures:
    """The figures of one unit of a load, and of all its units in a day of each month.

    ``start_source`` says where the start comes from: "stated", "code letter", "estimate" (six times the table's
    full-load amps), "none" (stated to have none) or "not stated" (none counted). ``direct_va``: what it starts at
    without the ``starter`` (part id, "" for none) that it has.
    """

    name: str
    count: int
    voltage_v: float
    running_w: float
    running_va: float
    start_va: float
    start_w: float
    start_s: float
    start_source: str
    power_factor: float
    power_factor_assumed: bool
    hours: tuple[float, ...] | None
    energy_wh: tuple[float, ...]
    daytime: tuple[float, ...]
    critical: bool
    leg: int | None
    direct_va: float = 0.0
    starter: str = ""
    pumps: bool = False

    @property
    def starts(self) -> bool:
        """Whether it starts harder than it runs."""
        return self.start_va > self.running_va * (1 + TOLERANCE)

    @property
    def across(self) -> bool:
        """Whether it stands across both legs of a 120/240 V supply."""
        return self.voltage_v > HOUSE_VOLTAGE_MAX


@dataclass(frozen=True)
class StartCase:
    """What one start asks of the converter (``va``) and the bank (``w``) for ``seconds``; ``load`` names it."""

    load: str
    va: float
    w: float
    seconds: float


@dataclass(frozen=True)
class LegPlan:
    """One placing of the 120 V units: ``on_leg_1[i]`` units of placed load i stand on leg 1, the rest on leg 2.

    ``running_va`` is the heavier leg's running VA, ``start_va`` the heaviest leg's VA for each start time in s.
    """

    on_leg_1: tuple[int, ...]
    running_va: float
    start_va: tuple[tuple[float, float], ...]


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
    leg_plans: tuple[LegPlan, ...]
    unpumped_wh: np.ndarray
    water_l: np.ndarray
    water_days: float

    def carried_wh(self, sunless_days: float) -> np.ndarray:
        """What the bank carries through so many sunless days: no pumps where the water stored lasts as long."""
        return self.unpumped_wh if water.carries(self.water_days, sunless_days) else self.critical_wh


def full_load_amps(hp: float, volts: float) -> float:
    """Full-load A of a single-phase motor of ``hp`` (NEC 430.248): between rows the larger row counts.

    Raises ValueError over 10 hp, where the table ends.
    """
    for row_hp, amps_115, amps_230 in FULL_LOAD_AMPS:
        if hp <= row_hp * (1 + TOLERANCE):
            return amps_115 if volts <= HOUSE_VOLTAGE_MAX else amps_230
    raise ValueError(f"no full-load amps for {hp} hp: the table ends at 10 hp")


def locked_rotor_va(letter: str, hp: float) -> float:
    """Starting VA of a motor from its code letter, at the upper end of the letter's range (NEC 430.7(B))."""
    return LOCKED_ROTOR_KVA_PER_HP[letter] * 1000 * hp


def estimated_start_va(hp: float, volts: float) -> float:
    """Starting VA where only hp is known: six times full-load amps (NEC 430.248, 430.251(A)) × V; an estimate."""
    return LOCKED_ROTOR_MULTIPLE * full_load_amps(hp, volts) * volts


def is_motor(load: Load) -> bool:
    """A load with a start figure, ``rated`` or ``motor`` (common practice, no source); "none" is no start figure."""
    stated_start = load.starting is not None and load.starting != "none"
    return stated_start or load.rated_hp is not None or load.motor is not None


def load_figures(
    load: Load, sun_hours: tuple[float, ...], starter: Mapping[str, Any] | None = None, daytime: float = 0.0
) -> LoadFigures:
    """The figures of one load; ``sun_hours`` are the site's twelve values in h a day. ``starter``: the catalogue row
    of the one it starts through; ``daytime``: the share of its energy used in the sun at the least."""
    running, unit = load.running.value, load.running.unit
    assumed = load.power_factor is None
    in_watts = unit in ("W", "kW")
    factor = load.power_factor
    if factor is None:
        factor = MOTOR_POWER_FACTOR if in_watts and is_motor(load) else 1.0
    if in_watts:
        watts, va = running, running / factor
    else:
        va = running * load.voltage_v if unit in ("A", "mA") else running
        watts = va * factor

    start, source = start_figure(load)
    if start is not None and in_watts and assumed:
        va = max(watts, min(va, start))  # only the assumed power factor would put running above the start
    direct_va = start_va = va if start is None else max(start, va)
    seconds = load.start_time_s
    if starter is not None:
        start_va = float(softened_va(starter["start_factor"], direct_va, starter["floor_x"], va))
        seconds = max(seconds, float(starter["ramp_s"]))
    starts = start_va > va * (1 + TOLERANCE)
    start_w = max(start_va * load.starting_power_factor, watts) if starts else watts

    hours: tuple[float, ...] | None = load.hours_per_day
    if load.water_per_day_l is not None and load.flow_l_per_h is not None:
        hours = tuple(litres / (load.count * load.flow_l_per_h) for litres in load.water_per_day_l)
    energy: tuple[float, ...] | None = load.energy_per_day_wh
    if energy is None:
        energy = tuple(watts * h * load.count for h in hours or (0.0,) * 12)
    share = max(load.daytime, daytime)
    in_sun: tuple[float, ...] = (share,) * 12
    if hours is not None:
        in_sun = tuple(min(share, sun / h) if h > 0 else share for sun, h in zip(sun_hours, hours, strict=True))
    return LoadFigures(
        load.name, load.count, load.voltage_v, watts, va, start_va, start_w, seconds, source, factor,
        assumed, hours, energy, in_sun, load.critical, load.leg, direct_va,
        "" if starter is None else str(starter["part"]), load.water_per_day_l is not None,
    )  # fmt: skip


def start_figure(load: Load) -> tuple[float | None, str]:
    """The starting VA of one unit, from the first figure that is given, and where it came from."""
    if load.starting == "none":
        return None, "none"
    if load.starting is not None:
        amps = load.starting.unit in ("A", "mA")
        return load.starting.value * (load.voltage_v if amps else 1.0), "stated"
    if load.locked_rotor_code is not None and load.rated_hp is not None:
        return locked_rotor_va(load.locked_rotor_code, load.rated_hp), "code letter"
    if load.rated_hp is not None:
        return estimated_start_va(load.rated_hp, load.voltage_v), "estimate"
    return None, "not stated"


def start_cases(loads: tuple[LoadFigures, ...], restart: str) -> tuple[StartCase, ...]:
    """What may have to start while everything runs: one load at a time when staggered, else all together."""
    starting = [load for load in loads if load.starts]
    if not starting:
        return ()
    if restart == "together":
        va = sum(load.count * load.start_va for load in loads)
        watts = sum(load.count * load.start_w for load in loads)
        return (StartCase("all together", va, watts, max(load.start_s for load in starting)),)
    running_va = sum(load.count * load.running_va for load in loads)
    running_w = sum(load.count * load.running_w for load in loads)
    return tuple(
        StartCase(
            load.name,
            running_va + load.start_va - load.running_va,
            running_w + load.start_w - load.running_w,
            load.start_s,
        )
        for load in starting
    )


def placed_loads(loads: tuple[LoadFigures, ...]) -> list[LoadFigures]:
    """The loads whose units sit on one leg."""
    return [load for load in loads if not load.across]


def leg_totals(
    loads: tuple[LoadFigures, ...], on_leg_1: tuple[int, ...], restart: str
) -> tuple[tuple[float, float], tuple[tuple[float, tuple[float, float]], ...]]:
    """VA on leg 1 and leg 2 for one placing: running, and for each start case (its time in s, the two legs)."""
    placed = placed_loads(loads)
    across = [load for load in loads if load.across]
    units = [(on_1, load.count - on_1) for load, on_1 in zip(placed, on_leg_1, strict=True)]
    running = [
        sum(load.count * load.running_va for load in across) / 2
        + sum(load.running_va * on[leg] for load, on in zip(placed, units, strict=True))
        for leg in (0, 1)
    ]
    starting = [load for load in loads if load.starts]
    cases: list[tuple[float, tuple[float, float]]] = []
    if restart == "together" and starting:
        start = [
            sum(load.count * load.start_va for load in across) / 2
            + sum(load.start_va * on[leg] for load, on in zip(placed, units, strict=True))
            for leg in (0, 1)
        ]
        cases.append((max(load.start_s for load in starting), (start[0], start[1])))
    elif starting:
        for load in across:
            if load.starts:
                more = (load.start_va - load.running_va) / 2
                cases.append((load.start_s, (running[0] + more, running[1] + more)))
        for load, on in zip(placed, units, strict=True):
            more = load.start_va - load.running_va
            for leg in (0, 1):
                if load.starts and on[leg]:
                    legs = (running[0] + more * (leg == 0), running[1] + more * (leg == 1))
                    cases.append((load.start_s, legs))
    return (running[0], running[1]), tuple(cases)


def placings(loads: tuple[LoadFigures, ...]) -> int:
    """How many ways there are to place the 120 V units on two legs."""
    return prod(load.count + 1 for load in placed_loads(loads) if load.leg is None)


@lru_cache(maxsize=256)
def leg_plans(loads: tuple[LoadFigures, ...], restart: str) -> tuple[LegPlan, ...]:
    """Every placing of the 120 V units that no other placing beats on every leg figure.

    A converter takes the loads when one of these fits it, so the placings are enumerated once, not once a
    converter; placings that give the same figures are listed once. Raises ValueError over ``MOST_PLACINGS``.
    """
    if placings(loads) > MOST_PLACINGS:
        raise ValueError(f"{placings(loads)} ways to place the 120 V units; at most {MOST_PLACINGS} are tried")
    placed = placed_loads(loads)
    spans = [
        np.arange(load.count + 1) if load.leg is None else np.array([load.count if load.leg == 1 else 0])
        for load in placed
    ]
    grid = np.array(np.meshgrid(*spans, indexing="ij")).reshape(len(placed), -1) if placed else np.zeros((0, 1))
    times, figures = _leg_figures(loads, placed, grid, restart)
    # the heavier leg's figures; of equal ones the first placing
    _, first = np.unique(np.round(figures, 9), axis=0, return_index=True)
    kept: list[int] = []
    for column in sorted(first, key=lambda i: tuple(figures[i])):
        if not any((figures[k] <= figures[column] * (1 + PLACING_TOLERANCE)).all() for k in kept):
            kept.append(int(column))
    return tuple(
        LegPlan(
            tuple(int(n) for n in grid[:, column]),
            float(figures[column, 0]),
            tuple((seconds, float(va)) for seconds, va in zip(times, figures[column, 1:], strict=True)),
        )
        for column in kept
    )


def _leg_figures(
    loads: tuple[LoadFigures, ...], placed: list[LoadFigures], grid: np.ndarray, restart: str
) -> tuple[list[float], np.ndarray]:
    """The start times, and for each placing (a column of ``grid``) the heavier leg's running VA and, for each start
    time, the heaviest leg's VA: :func:`leg_totals` over all placings at once."""
    count = np.array([load.count for load in placed])
    units = np.stack([grid, count[:, None] - grid])  # (leg, load, placing)
    va = np.array([load.running_va for load in placed])
    across = [load for load in loads if load.across]
    running = sum(load.count * load.running_va for load in across) / 2 + np.einsum("j,ljp->lp", va, units)
    starting = [load for load in loads if load.starts]
    if restart == "together":
        if not starting:
            return [], running.max(axis=0)[:, None]
        start_va = np.array([load.start_va for load in placed])
        start = sum(load.count * load.start_va for load in across) / 2 + np.einsum("j,ljp->lp", start_va, units)
        seconds = max(load.start_s for load in starting)
        return [seconds], np.stack([running.max(axis=0), start.max(axis=0)], axis=1)
    times = sorted({load.start_s for load in starting})
    columns = [running.max(axis=0)]
    for seconds in times:
        worst = running.max(axis=0)
        for load in starting:
            if load.start_s == seconds:
                more = load.start_va - load.running_va
                if load.across:
                    worst = np.maximum(worst, running.max(axis=0) + more / 2)
                else:
                    on = units[:, [p is load for p in placed].index(True)] > 0
                    worst = np.maximum(worst, np.where(on, running + more, 0.0).max(axis=0))
        columns.append(worst)
    return times, np.stack(columns, axis=1)


def demand(job: Job, starters: Mapping[str, Mapping[str, Any]] | None = None, tanks_l: float = 0.0) -> Demand:
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
    energy = np.array([load.energy_wh for load in loads])
    day_share = np.array([load.daytime for load in loads])
    critical = np.array([load.critical for load in loads])
    pumps = np.array([load.pumps for load in loads])
    split_phase = job.supply.kind == "120/240"
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
