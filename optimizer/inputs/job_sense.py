"""Figures of a job outside their usual span: each may be right, and is called out with the span. No error.

All spans are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from catalog.usual import span_text
from optimizer.inputs.job import Job, Load
from optimizer.vocabulary.motor_tables import apparent_power, motor_phases
from optimizer.vocabulary.problems import Fault, Place, Problem
from optimizer.vocabulary.units import UNITS, convert, to_unit

INF = float("inf")
WATER_W = 9.80665 / 3600  # W that lift 1 L/h by 1 m: 1 kg a litre
HEADS_M = (1.0, 800.0)  # m that a pump lifts with half of its running power
CHECK = "Check it and its unit"


@dataclass(frozen=True)
class _Usual:
    """The usual span of a key: in base units, of a share or of a plain number."""

    key: str
    low: float
    high: float
    unit: str = ""
    mend: str = CHECK


_RECORD_LOW = "Take the record low of the nearest weather station, not an average; 60 degF is 16 degC"
_RECORD_HIGH = "Take the record high of the nearest weather station"
OF_JOB = (
    _Usual("site.coldest", -60, 10, "temperature", _RECORD_LOW),
    _Usual("site.hottest", 20, 55, "temperature", _RECORD_HIGH),
    _Usual("site.bank_coldest", -50, 30, "temperature", "Hang a thermometer there that keeps its lowest"),
    _Usual("site.array_ceiling", 100, 1500, "voltage"),
    _Usual("site.rear_light", 0, 0.35),
    _Usual("site.array_factor", 0.6, 0.95),
    _Usual("need.autonomy_days", 0, 10, mend="Check that it is days, not hours"),
    _Usual("need.array_to_load", 1, 3),
    _Usual("need.recover_days", 1, 60),
    _Usual("need.budget", 100, INF, mend="Check that it is in the catalogue's currency, and no thousands were meant"),
    _Usual("reserve.running", 0, 1),
    _Usual("reserve.starting", 0, 1),
    _Usual("reserve.voltage", 0, 0.2),
    _Usual("reserve.hot_voltage", 0, 0.2),
    _Usual("reserve.current", 0.25, 0.6),
    _Usual("space.max_area", 1, INF, "area"),
    _Usual("water.reserve_days", 0, 60),
    _Usual("water.tank_on_hand", 0, 500000, "volume"),
    _Usual("water.daytime_with_tank", 0.5, 1),
    _Usual("water.max_tanks", 0, 50),
    _Usual("water.well_yield", 30, INF, "flow"),
)
OF_LOAD = (
    _Usual("count", 1, 100),
    _Usual("power_factor", 0.4, 1),
    _Usual("starting_power_factor", 0.2, 1),
    _Usual("start_time", 0.1, 20, "time", "A second is usual; piston compressors, saws and fans take 2 to 6 s"),
    _Usual("rated", 0.05, 30, "motor"),
    _Usual("flow", 30, 2e5, "flow"),
    _Usual("cable_drop", 0, 0.35),
)
SUN = (0.2, 9.0)  # kWh/m2 a day
RUNNING_W = (1.0, 30e3)  # of one unit
RUNNING_OF_RATED = (0.7, 4.0)  # W or VA taken for each W of shaft power
# h a day of work in the busiest month
SHORTEST_H = {"water_per_day": 0.1, "hours_per_day": 0.05, "energy_per_day": 0.05}


def unusual_in_job(job: Job) -> Iterator[Problem]:
    """Everything in a job that lies outside its usual span or is odd together with another key."""
    values = {"site": job.site, "need": job.need, "reserve": job.reserve, "space": job.space, "water": job.water}
    for usual in OF_JOB:
        table, _, name = usual.key.partition(".")
        yield from _plain(job, usual, usual.key, getattr(values[table], _field(name), None))
    yield from _of_site(job)
    yield from _of_weather(job)
    for load in job.loads:
        for usual in OF_LOAD:
            yield from _plain(job, usual, f"load.{load.name}.{usual.key}", getattr(load, _field(usual.key), None))
        yield from _of_load(job, load)
    for part in job.allow.exclude:
        if part in job.on_hand:
            yield Fault("owned-and-excluded").at(_place(job, f"on_hand.{part}"))
    for part, pieces in job.on_hand.items():
        if pieces > 1000:
            yield _fault(f"on_hand of {part}", 0, 1000, "", f"{pieces}").at(_place(job, f"on_hand.{part}"))


_FIELDS = {
    "coldest": "coldest_c", "hottest": "hottest_c", "bank_coldest": "bank_coldest_c", "rated": "rated_hp",
    "array_ceiling": "array_ceiling_v", "start_time": "start_time_s", "max_area": "max_area_m2",
    "tank_on_hand": "tank_on_hand_l", "flow": "flow_l_per_h", "budget": "budget_cents",
    "well_yield": "well_yield_l_per_h",
}  # fmt: skip


def _field(key: str) -> str:
    return _FIELDS.get(key, key)


def _place(job: Job, key: str) -> Place:
    return Place(job.path.name, job.lines.get(key), None, key, job.written.get(key))


def _fault(what: str, low: float, high: float, unit: str, value: str, mend: str = CHECK) -> Fault:
    slots = {"what": what, "span": span_text(low, high, unit), "value": value, "mend": mend, "perhaps": ""}
    return Fault("unusual-figure", slots)


def _plain(job: Job, usual: _Usual, key: str, value: float | None) -> Iterator[Problem]:
    """A stated value outside the span of its key, in the unit in which it was written."""
    if value is None or key not in job.stated:
        return
    if usual.key == "need.budget":
        value /= 100
    if usual.low <= value <= usual.high:
        return
    unit, low, high = "", usual.low, usual.high
    if usual.unit:
        unit = job.unit_of(key)
        low, high = (float(f"{to_unit(end, unit, usual.unit):.3g}") if abs(end) < INF else end for end in (low, high))
    name = key.rpartition(".")[2]
    yield _fault(name, low, high, unit, job.written[key], usual.mend).at(_place(job, key))


def _of_site(job: Job) -> Iterator[Problem]:
    """The year's sun, and a year that is hardly warmer than cold."""
    sun = job.site.sun_hours
    if not all(SUN[0] <= hours <= SUN[1] for hours in sun):
        worst = next(hours for hours in sun if not SUN[0] <= hours <= SUN[1])
        mend = "Check that it is kWh/m2 a day: a MJ/m2 is 0.278 of one"
        yield _fault("sun_hours", *SUN, "kWh/m2", f"{worst:g} kWh/m2", mend).at(_place(job, "site.sun_hours"))
    if job.site.hottest_c - job.site.coldest_c < 10:
        spread = f"{job.site.hottest_c - job.site.coldest_c:g} degC"
        mend = "Take records, not averages: the lowest decides about damage"
        yield _fault("hottest above coldest", 10, INF, "degC", spread, mend).at(_place(job, "site.hottest"))


def _of_weather(job: Job) -> Iterator[Problem]:
    """What is said of the weather file, and sun hours that it does not bear out."""
    if job.weather is None:
        return
    from optimizer.inputs.job_weather import sun_hours_apart

    yield from job.weather.years.notes
    if "site.sun_hours" in job.stated and (fault := sun_hours_apart(job.site.sun_hours, job.weather)):
        yield fault.at(_place(job, "site.sun_hours"))


def _of_load(job: Job, load: Load) -> Iterator[Problem]:
    """What a load takes, against its rated power, its water and its hours."""
    key = f"load.{load.name}."
    running = load.running
    amps = UNITS["running"][running.unit] == "A"
    watts = apparent_power(load.voltage_v, running.value, motor_phases(load.motor) == 3) if amps else running.value
    if not RUNNING_W[0] <= watts <= RUNNING_W[1]:
        found = _fault(f"running of {load.name}", *RUNNING_W, "W", f"{watts:g} W")
        yield found.at(_place(job, f"{key}running"))
    if load.rated_hp is not None:
        share = watts / convert(load.rated_hp, "hp", "W")
        if not RUNNING_OF_RATED[0] <= share <= RUNNING_OF_RATED[1]:
            mend = "Check both and their units; 1 hp is 0.746 kW of shaft power"
            found = _fault(f"running by rated of {load.name}", *RUNNING_OF_RATED, "", f"{share:.3g}", mend)
            yield found.at(_place(job, f"{key}rated"))
    if load.flow_l_per_h is not None:
        head = watts / 2 / (WATER_W * load.flow_l_per_h)
        if not HEADS_M[0] <= head <= HEADS_M[1]:
            mend = "Check flow and its unit, and running: a minute is not a second"
            found = _fault(f"lift of {load.name} by half of its running power", *HEADS_M, "m", f"{head:.3g} m", mend)
            yield found.at(_place(job, f"{key}flow"))
    yield from _of_hours(job, load, watts, key)


def _of_hours(job: Job, load: Load, watts: float, key: str) -> Iterator[Problem]:
    """A load that is hardly ever at work, or never."""
    ways = {
        "water_per_day": (load.water_per_day_l, (load.flow_l_per_h or INF) * load.count),
        "hours_per_day": (load.hours_per_day, 1.0),
        "energy_per_day": (load.energy_per_day_wh, watts * load.count),
    }
    for name, (months, of) in ways.items():
        least = SHORTEST_H[name]
        if months is not None and max(months) / of < least:
            mend = "Check it, what it is divided by, and their units: kWh are not Wh, and minutes not seconds"
            found = _fault(f"work of {load.name} in its busiest month", least, 24, "h a day",
                           f"{max(months) / of:.2g} h a day", mend)  # fmt: skip
            yield found.at(_place(job, f"{key}{name}"))
