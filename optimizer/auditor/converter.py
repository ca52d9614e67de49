"""The converter judged: supply, power, starts, volts at the end of the cable, legs."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from catalog.rows import StarterRow
from optimizer.auditor.figures import BundleFigures
from optimizer.auditor.reading import Reading, yes
from optimizer.rules import soft_start
from optimizer.rules.comparisons import at_least
from optimizer.rules.frequency import makes_frequency
from optimizer.rules.legs import leg_totals, placed_loads
from optimizer.rules.load_figures import needs_volts
from optimizer.vocabulary.motor_tables import motor_phases
from optimizer.vocabulary.supplies import SUPPLIES


def converter_readings(f: BundleFigures) -> Iterator[Reading]:
    """Every limit of the converters."""
    c, u, job, demand = f.converter, f.units, f.job, f.demand
    stated = str(c["hz"])
    yield yes("supply-match", bool(makes_frequency(np.array([stated], dtype=object), job.supply.hz)[0]),
               hz=job.supply.hz, stated=stated.replace(";", ", ") or "no frequency")  # fmt: skip
    step = float(c[SUPPLIES[job.supply.kind].column])
    makes = not np.isnan(step) and u % step == 0
    if makes:
        yield Reading("service", u, c["max_units"], u, c["max_units"], "", {"units": u, "step": int(step)})
    else:
        yield yes("service", False, units=u, step=0 if np.isnan(step) else int(step))
    used, has = len(f.bundle.strings), u * int(c["trackers"])
    yield Reading("tracker-count", used, has, used, has, "",
                  {"used": used, "units": u, "trackers": int(c["trackers"])})  # fmt: skip
    more = 1 + job.reserve.running
    r, has_w = demand.running_w, u * float(c["continuous_w"])
    yield Reading("running-power", r * more, has_w, r, has_w, "", {"running_w": r, "reserve": more})
    r, has_va = demand.running_va, u * float(c["continuous_va"])
    yield Reading("running-apparent", r * more, has_va, r, has_va, "", {"running_va": r, "reserve": more})
    more = 1 + job.reserve.starting
    cases = []
    for case in demand.cases:
        has_va = u * float(c["surge_va"] if at_least(c["surge_s"], case.seconds) else c["continuous_va"])
        cases.append(
            Reading("starting-surge", case.va * more, has_va, case.va, has_va, case.load,
                    {"start_va": case.va, "reserve": more, "seconds": case.seconds, "surge_s": c["surge_s"]})
        )  # fmt: skip
    yield from cases
    yield from phases(f)
    yield from start_volts(f)
    yield from leg_readings(f)
    taken, most = f.bundle.panels * float(f.panel["pmax_w"]), u * float(c["array_max_w"])
    yield Reading("array-total", taken, most, taken, most, "",
                  {"panels": f.bundle.panels, "pmax_w": f.panel["pmax_w"]})  # fmt: skip


def phases(f: BundleFigures) -> list[Reading]:
    """phases of every three-phase motor: what stands before it makes three."""
    found = []
    for load in f.job.loads:
        if motor_phases(load.motor) == 3:
            starter = f.bundle.starters.get(load.name)
            through = "no drive" if starter is None else str(starter["part"])
            found.append(yes("phases", soft_start.fits_phases(starter, load.motor), load.name, through=through))
    return found


def start_volts(f: BundleFigures) -> list[Reading]:
    """start-volts of every load that states its cable, and that each starter may serve its load."""
    found = []
    for load, figures in zip(f.job.loads, f.demand.loads, strict=True):
        starter, drop = f.bundle.starters.get(load.name), load.cable_drop
        if starter is not None and not soft_start.serves(starter, load.motor, figures.motor_a, figures.voltage_v, drop):
            found.append(_misfit(load.name, starter))
        if drop is None or not needs_volts(load, figures) or soft_start.is_drive(starter):
            continue
        for one in (None,) if starter is None else (None, starter):  # a starter only lowers the volts
            share = soft_start.start_volts_share(one)
            left = 100 * float(soft_start.volts_left(drop, share))
            least = 100 * soft_start.least_volts(one is not None, load.start_volts_least)
            slots = {"start_pct": 100 * share, "cable_drop": drop}
            where = load.name if one is starter else f"{load.name} without its starter"
            found.append(Reading("start-volts", left, least, left, least, where, slots))
    return found


def _misfit(load: str, starter: StarterRow) -> Reading:
    return yes("start-volts", False, f"{load}: {starter['part']} may not start it", start_pct=0.0, cable_drop=0.0)


def leg_cases(f: BundleFigures, on_leg_1: tuple[int, ...]) -> list[Reading]:
    """The readings of one placing: the heavier leg running, and in each start case."""
    c, u, reserve = f.converter, f.units, f.job.reserve
    running, cases = leg_totals(f.demand.loads, on_leg_1, f.job.supply.restart)
    found = [(max(running), reserve.running, float(c["leg_va"]), "running")]
    for seconds, legs in cases:
        lasts = at_least(c["surge_s"], seconds)
        found.append((max(legs), reserve.starting, float(c["leg_surge_va"] if lasts else c["leg_va"]), "starting"))
    return [
        Reading("leg-balance", va * (1 + more), u * rating, va, u * rating, where,
                {"leg_va": va, "reserve": 1 + more})
        for va, more, rating, where in found
    ]  # fmt: skip


def placing(f: BundleFigures) -> tuple[int, ...]:
    """The placing of the 120 V units: the bundle's own, else the one with the most room on this converter."""
    if f.bundle.legs is not None:
        return tuple(f.bundle.legs[load.name][0] for load in placed_loads(f.demand.loads))
    plans = f.demand.leg_plans
    return max(plans, key=lambda p: (min(r.room for r in leg_cases(f, p.on_leg_1)), p.on_leg_1)).on_leg_1


def leg_readings(f: BundleFigures) -> list[Reading]:
    """leg-balance, where the supply has legs."""
    return leg_cases(f, placing(f)) if f.demand.leg_plans else []


def legs(f: BundleFigures) -> dict[str, tuple[int, int]]:
    """Units of each 120 V load on leg 1 and leg 2."""
    if not f.demand.leg_plans:
        return {}
    placed = placed_loads(f.demand.loads)
    return {load.name: (on_1, load.count - on_1) for load, on_1 in zip(placed, placing(f), strict=True)}
