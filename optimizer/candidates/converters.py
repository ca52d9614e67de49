"""The converters that every limit on them leaves, each in every number of units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from catalog.rows import ConverterColumn
from optimizer.candidates.rows import TableRows
from optimizer.candidates.terms import Setting
from optimizer.rules.comparisons import at_least, at_most
from optimizer.rules.frequency import makes_frequency
from optimizer.vocabulary.supplies import SUPPLIES


@dataclass(frozen=True)
class Converters:
    """Eligible (converter, units): position in ``rows`` and number of units, one entry each."""

    rows: TableRows[ConverterColumn]
    row: np.ndarray
    units: np.ndarray

    def __len__(self) -> int:
        return len(self.row)

    def column(self, name: ConverterColumn) -> np.ndarray:
        """A converter column, one value for each entry."""
        values: np.ndarray = self.rows[name][self.row]
        return values

    def take(self, chosen: np.ndarray) -> Converters:
        """The entries at these positions."""
        return Converters(self.rows, self.row[chosen], self.units[chosen])

    def entry(self, position: int) -> Inverter:
        """One entry as plain figures."""
        row = int(self.row[position])
        return Inverter(position, row, int(self.units[position]), self.rows.figures(row))


@dataclass(frozen=True)
class Inverter:
    """One converter in a number of units, its columns as plain figures (of one unit), yes-no among them."""

    position: int
    row: int
    units: int
    figures: Mapping[ConverterColumn, float] = field(repr=False)

    def __getitem__(self, column: ConverterColumn) -> float:
        return self.figures[column]

    @property
    def efficiency(self) -> float:
        """Efficiency as a share."""
        return float(self["efficiency_pct"]) / 100

    @property
    def trackers(self) -> int:
        """Trackers of all units."""
        return self.units * int(self["trackers"])


@dataclass(frozen=True)
class Inverters:
    """Several entries at once: each figure as an array of shape (entries, 1), to stand before an axis of parts."""

    entries: Converters

    def __getitem__(self, column: ConverterColumn) -> np.ndarray:
        values: np.ndarray = self.entries.column(column)[:, None]
        return values

    @property
    def units(self) -> np.ndarray:
        """Units of each entry."""
        units: np.ndarray = self.entries.units[:, None]
        return units

    @property
    def efficiency(self) -> np.ndarray:
        """Efficiency of each as a share."""
        share: np.ndarray = self["efficiency_pct"] / 100
        return share

    @property
    def trackers(self) -> np.ndarray:
        """Trackers of all units of each."""
        trackers: np.ndarray = self.units * self["trackers"]
        return trackers


def converter_entries(rows: TableRows[ConverterColumn], setting: Setting) -> Converters:
    """Every converter in every number of units that makes the supply and carries the loads."""
    job = setting.job
    step = rows[SUPPLIES[job.supply.kind].column]
    most = np.where(np.isnan(step), 0, rows["max_units"] // np.where(np.isnan(step), 1, step))
    if setting.keeps("supply-match"):
        most = np.where(makes_frequency(rows["hz"], job.supply.hz), most, 0)
    row = np.repeat(np.arange(len(rows)), most.astype(int))
    nth = np.arange(len(row)) - np.repeat(np.cumsum(most) - most, most.astype(int)) + 1
    every = Converters(rows, row, nth * step[row])
    return every.take(np.flatnonzero(carries(every, setting)))


def carries(entries: Converters, setting: Setting) -> np.ndarray:
    """Which of some converters in their numbers of units carry the loads, running and at every start."""
    job, demand, units, column = setting.job, setting.demand, entries.units, entries.column
    able = np.ones(len(entries), dtype=bool)
    if setting.keeps("running-power"):
        has_w = units * column("continuous_w") + setting.slack("running-power")
        able &= at_most(demand.running_w * (1 + job.reserve.running), has_w)
    if setting.keeps("running-apparent"):
        has_va = units * column("continuous_va") + setting.slack("running-apparent")
        able &= at_most(demand.running_va * (1 + job.reserve.running), has_va)
    if setting.keeps("starting-surge"):
        for case in demand.cases:
            lasts = at_least(column("surge_s"), case.seconds)
            rating = np.where(lasts, column("surge_va"), column("continuous_va"))
            has_va = units * rating + setting.slack("starting-surge")
            able &= at_most(case.va * (1 + job.reserve.starting), has_va)
    if setting.keeps("leg-balance") and demand.leg_plans:
        fits, more = np.zeros(len(entries), dtype=bool), setting.slack("leg-balance")
        for plan in demand.leg_plans:
            one = at_most(plan.running_va * (1 + job.reserve.running), units * column("leg_va") + more)
            for seconds, va in plan.start_va:
                lasts = at_least(column("surge_s"), seconds)
                rating = np.where(lasts, column("leg_surge_va"), column("leg_va"))
                one &= at_most(va * (1 + job.reserve.starting), units * rating + more)
            fits |= one
        able &= fits
    if (exact := setting.count_of("converter")) is not None:
        able &= units == exact
    return able
