"""What a meter should read on the day a bundle is put to work: volts of each string, start amps, bank amps, water."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor

from optimizer.auditor.reading import Audit
from optimizer.inputs.job import Job
from optimizer.rules import bank, strings
from optimizer.rules import demand as demand_rules

WARMEST_C = 40.0  # of a panel's cells while it is read: the end of the card
STEPS = {"degC": 10.0, "degF": 20.0}  # between two temperatures of the card, in the person's own unit
NEAR = 1.0  # degrees within which two temperatures are one line


@dataclass(frozen=True)
class StringVolts:
    """Open-circuit V of strings of ``series`` panels, one for each temperature; ``trackers`` carry such strings."""

    series: int
    trackers: tuple[int, ...]
    volts: tuple[float, ...]


@dataclass(frozen=True)
class ExpectedStart:
    """A of one unit of a load, running and starting through its ``starter`` ("" for none); ``source`` says where the
    start comes from, as the rules do."""

    load: str
    count: int
    voltage_v: float
    running_a: float
    start_a: float
    source: str
    starter: str


@dataclass(frozen=True)
class BankStart:
    """A out of the bank at a start with everything running, at its nominal V and at its lowest."""

    load: str
    nominal_a: float
    lowest_a: float


@dataclass(frozen=True)
class Flow:
    """L/h that one unit of a load should pump."""

    load: str
    count: int
    litres_per_h: float


@dataclass(frozen=True)
class Card:
    """All expected readings of a bundle. ``taken_pct_per_c``: the coefficient of open-circuit volts that stands in
    where the panel states none, else None. ``nominal_v`` and ``lowest_v``: of the bank."""

    temperatures_c: tuple[float, ...]
    taken_pct_per_c: float | None
    strings: tuple[StringVolts, ...]
    starts: tuple[ExpectedStart, ...]
    nominal_v: float
    lowest_v: float
    bank: tuple[BankStart, ...]
    flows: tuple[Flow, ...]


def card(job: Job, judged: Audit, unit: str) -> Card:
    """The card of an audited bundle, its temperatures in round figures of ``unit`` ("degC" or "degF")."""
    bundle = judged.bundle
    demand = demand_rules.demand(job, bundle.starters, bundle.tanks_l)
    panel, battery, converter = bundle.panel, bundle.battery, bundle.converter
    cells = temperatures(job.site.coldest_c, unit)
    pct = float(panel["voc_pct_per_c"])
    volts = {
        series: tuple(float(series * panel["voc_v"] * strings.wake_factor(pct, cell_c)) for cell_c in cells)
        for series in sorted({s.series for s in bundle.strings}, reverse=True)
    }
    efficiency = float(converter["efficiency_pct"]) / 100
    nominal_v = bundle.bank_series * float(battery["nominal_v"])
    lowest_v = float(bank.lowest_voltage(bundle.bank_series, battery["min_v"], converter["bank_min_v"]))

    def amps(watts: float, bank_v: float) -> float:
        return float(bank.bank_current(watts, 0.0, efficiency, bundle.units * converter["idle_w"], bank_v))

    return Card(
        cells,
        strings.UNSTATED_VOC_PCT_PER_C if pct != pct else None,
        tuple(
            StringVolts(series, tuple(s.tracker for s in bundle.strings if s.series == series), each)
            for series, each in volts.items()
        ),
        tuple(
            ExpectedStart(load.name, load.count, load.voltage_v, *load.supply_a, load.start_source, load.starter)
            for load in demand.loads if load.starts
        ),
        nominal_v,
        lowest_v,
        tuple(BankStart(case.load, amps(case.w, nominal_v), amps(case.w, lowest_v)) for case in demand.cases),
        tuple(
            Flow(load.name, load.count, load.flow_l_per_h)
            for load in job.loads if load.flow_l_per_h is not None
        ),
    )  # fmt: skip


def temperatures(coldest_c: float, unit: str) -> tuple[float, ...]:
    """From the coldest up to 40 degC in round figures of a unit, in degC; only the coldest where it is warmer."""
    step = STEPS[unit]
    scale, zero = (1.8, 32.0) if unit == "degF" else (1.0, 0.0)
    coldest, warmest = coldest_c * scale + zero, WARMEST_C * scale + zero
    found = [coldest]
    mark = (floor(coldest / step) + 1) * step
    while mark < warmest - NEAR:
        if mark > coldest + NEAR:
            found.append(mark)
        mark += step
    if warmest > coldest + NEAR:
        found.append(warmest)
    return tuple((each - zero) / scale for each in found)
