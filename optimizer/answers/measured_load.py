"""From what people have at hand to the figures of a load: start, running, flow, head, and whether they agree."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from catalog.tables import MOTORS
from optimizer.inputs.job import Load
from optimizer.inputs.job_checks import MOST_START, Stated, job_breaches
from optimizer.inputs.job_schema import KEYS, TO_DO
from optimizer.inputs.job_values import Value, missing_key
from optimizer.inputs.readings import OPTIONS, Readings, option_of, place_of, read_option
from optimizer.rules.hydraulics import (
    container_flow,
    electric_power,
    hydraulic_power,
    pipe_friction,
    pressure_head,
    total_dynamic_head,
    work_per_m3,
)  # fmt: skip
from optimizer.rules.load_figures import load_figures
from optimizer.vocabulary.motor_tables import (
    LOCKED_ROTOR_KVA_PER_HP,
    TABLE_END_HP,
    USUAL_START,
    apparent_power,
    estimated_start_va,
    locked_rotor_va,
    motor_phases,
)
from optimizer.vocabulary.problems import Fault, InputError, Problem
from optimizer.vocabulary.supplies import SUPPLIES
from optimizer.vocabulary.tolerance import just_above, just_below
from optimizer.vocabulary.units import UNITS, Quantity, convert, to_unit

APART = 0.25  # start figures further apart than this share of the lowest are called out
WIRE_TO_WATER = (0.15, 0.65)  # outside it a figure is likely wrong (common practice, no source)
READ_DIGITS = 3  # significant digits of what is worked out: nothing here is known better
DRUM_FLOW = {"L": "L/min", "gal": "gpm", "m^3": "m^3/h"}  # the flow that goes with a container's unit


@dataclass(frozen=True)
class StartFigure:
    """One start figure. ``source``: inrush, locked_rotor, code_letter or rated (the table's estimate).

    ``apart`` is how far it lies from the most trusted one, as a share of that; ``below_running`` that it contradicts
    the running VA; ``times_running`` how many times that it is.
    """

    source: str
    va: float
    amps: float | None
    apart: float = 0.0
    below_running: bool = False
    times_running: float | None = None

    @property
    def unusual(self) -> bool:
        """Whether it is as many times the running amps as few motors draw."""
        return self.times_running is not None and not USUAL_START[0] <= self.times_running <= USUAL_START[1]


@dataclass(frozen=True)
class Running:
    """What runs: W and VA as a job counts them (VA None where the voltage is not known). ``estimated``: from head and
    flow. ``assumed``: the power factor was not stated.
    """

    stated: Quantity
    watts: float
    va: float | None
    power_factor: float
    assumed: bool
    estimated: bool


@dataclass(frozen=True)
class Head:
    """Total dynamic head and its terms in m; a term is None where it is not known and counted as nothing."""

    level_m: float
    rise_m: float | None
    pressure_m: float | None
    friction_m: float | None
    total_m: float


@dataclass(frozen=True)
class Check:
    """Flow times head against running W: W in the water, its share of the running W, kWh for each m3."""

    hydraulic_w: float
    efficiency: float
    within: bool
    kwh_per_m3: float


@dataclass(frozen=True)
class Measured:
    """Everything worked out. ``starts`` stand most trusted first; ``apart`` is the highest over the lowest, less 1.

    ``flow`` is rounded to three digits where it was timed, and ``flow_apart`` is how far a flow that was stated
    beside it lies from it. ``load`` holds the values of the job's keys, "?" for what is to be found; ``missing`` the
    options still worth finding.
    """

    readings: Readings
    starts: tuple[StartFigure, ...]
    apart: float
    running: Running | None
    flow: Quantity | None
    timed: bool
    flow_apart: float
    head: Head | None
    check: Check | None
    load: Mapping[str, Value]
    missing: tuple[str, ...]

    @property
    def doubtful(self) -> bool:
        """Whether start figures contradict each other: an estimate above figures that agree does not."""
        read = [start.va for start in self.starts if start.source != "rated"]
        low_estimate = self.apart > APART and max(read, default=0.0) == max(start.va for start in self.starts)
        return low_estimate or (bool(read) and max(read) / min(read) - 1 > APART)


# reading ---------------------------------------------------------------------------------------------------------


def read_readings(given: Mapping[str, str | None]) -> Readings:
    """The readings of texts by option name (a key of ``OPTIONS``). Raises InputError with all problems."""
    texts = {name: text for name, text in given.items() if text is not None}
    values: dict[str, Any] = {}  # of each field its own type
    problems: list[Problem] = []
    for name, text in texts.items():
        value = read_option(text, OPTIONS[name])
        if isinstance(value, Fault):
            problems.append(value.at(place_of(name, text)))
        else:
            values[name] = value
    readings = Readings(**values)
    faults = dict(_contradictions(readings, set(texts), whole=not problems))
    problems += [fault.at(place_of(name, texts.get(name))) for name, fault in faults.items()]
    if problems:
        raise InputError(problems)
    return readings


def _contradictions(readings: Readings, there: set[str], whole: bool) -> Iterator[tuple[str, Fault]]:
    """What does not hold between readings, by the option to mend; ``whole``: all that was given could be read."""
    figures = (readings.running, readings.inrush, readings.locked_rotor)
    if "voltage" not in there and any(map(_in_amps, figures)):
        key = option_of("voltage")
        slots = missing_key("voltage", OPTIONS["voltage"]).slots
        yield "voltage", Fault("missing-key", {**slots, "key": key, "example": f"{key} {OPTIONS['voltage'].example}."})
    bands = sorted({band for supply in SUPPLIES.values() for band in supply.bands})
    if readings.voltage and not any(low <= readings.voltage.value <= high for low, high in bands):
        volts = f"{bands[0][0]:g} to {bands[0][1]:g} V or {bands[1][0]:g} to {bands[-1][1]:g} V"
        yield "voltage", Fault("supply-voltage", {"volts": volts, "supply": '", "'.join(SUPPLIES)})
    found = worked_out(readings)
    if found.timed and found.flow and (fault := OPTIONS["flow"].fault_of(found.flow.value)):
        yield "seconds", fault
    if found.running and found.running.estimated and (fault := OPTIONS["running"].fault_of(found.running.watts)):
        yield "level", fault
    running = found.running if whole or readings.running else None  # no estimate from half of what was given
    for name in ("inrush", "locked_rotor"):
        values = {
            "voltage": readings.voltage, "power_factor": readings.power_factor, "flow": found.flow,
            "running": running and running.stated, "starting": getattr(readings, name),
            "locked_rotor_code": readings.code_letter, "motor": readings.motor, "name": readings.name,
        }  # fmt: skip
        read: dict[str, Value] = {key: value for key, value in values.items() if value is not None}
        if readings.water_per_day:
            read["water_per_day"] = (readings.water_per_day.value,)
        stated = Stated(("load",), read, {*read, *(there & {*KEYS["load"]}), "starting", "water_per_day", "flow"})
        for fault, path, _ in job_breaches(None, None, [stated]):
            key = str(path[-1])
            yield {"starting": name, "locked_rotor_code": "code_letter"}.get(key, key), fault


def _in_amps(quantity: Quantity | None) -> bool:
    return quantity is not None and quantity.unit == "A"


# working out -----------------------------------------------------------------------------------------------------


def measure(**readings: str | None) -> Measured:
    """The load of a job from what was read, each as it would be typed: ``measure(voltage="240 V", running="8.1 A")``.

    The names are those of :data:`optimizer.inputs.readings.OPTIONS`; what is not known is None or left out. Raises
    InputError with all problems, and TypeError for a name that is none of them.
    """
    if unknown := readings.keys() - OPTIONS.keys():
        raise TypeError(f"measure() has no reading {', '.join(sorted(unknown))}")
    return worked_out(read_readings(readings))


def worked_out(readings: Readings) -> Measured:
    """Everything that the readings allow."""
    flow, flow_apart = _flow(readings)
    head = _head(readings, flow)
    starts = tuple(_starts(readings))
    running = _running(readings, flow, head, starts)
    if starts:
        best, va = starts[0].va, (running.va if running else None) or 0.0
        starts = tuple(
            replace(start, apart=start.va / best - 1, below_running=start.va <= just_above(va),
                    times_running=start.va / va if va else None)
            for start in starts
        )  # fmt: skip
    figures = [start.va for start in starts]
    return Measured(
        readings=readings,
        starts=starts,
        apart=max(figures) / min(figures) - 1 if figures else 0.0,
        running=running,
        flow=flow,
        timed=readings.container is not None and readings.seconds is not None,
        flow_apart=flow_apart,
        head=head,
        check=_check(running, flow, head),
        load=_load(readings, starts, running, flow),
        missing=tuple(_missing(readings, starts, running, flow)),
    )


def rounded(value: float, unit: str) -> Quantity:
    """A quantity that was worked out, to three significant digits; ``value`` is in ``unit``, which must be a base
    unit or one of flow.
    """
    short = Decimal(f"{value:.{READ_DIGITS}g}")
    return Quantity(convert(float(short), unit, UNITS["flow"].get(unit, unit)), unit, f"{short:f} {unit}")


def _flow(readings: Readings) -> tuple[Quantity | None, float]:
    """The flow, timed before stated, and how far the stated one lies from the timed one."""
    if readings.container is None or readings.seconds is None:
        return readings.flow, 0.0
    unit = DRUM_FLOW[readings.container.unit]
    timed = rounded(to_unit(container_flow(readings.container.value, readings.seconds.value), unit, "flow"), unit)
    return timed, readings.flow.value / timed.value - 1 if readings.flow else 0.0


def _head(readings: Readings, flow: Quantity | None) -> Head | None:
    """The head from the pumping level; None where that is not known."""
    if readings.level is None:
        return None
    friction = None
    if readings.pipe_length and readings.pipe_inside and flow:
        length, inside = readings.pipe_length.value, readings.pipe_inside.value
        friction = pipe_friction(length, inside, flow.value, readings.number("pipe_roughness"))
    rise = readings.rise.value if readings.rise else None
    pressure = pressure_head(readings.pressure.value) if readings.pressure else None
    total = total_dynamic_head(readings.level.value, rise or 0.0, pressure or 0.0, friction or 0.0)
    return Head(readings.level.value, rise, pressure, friction, total)


def _starts(readings: Readings) -> Iterator[StartFigure]:
    """Every start figure that was given, most trusted first."""
    volts = readings.voltage.value if readings.voltage else None
    hp = readings.rated.value if readings.rated else None
    three_phase = motor_phases(readings.motor) == 3
    per_a = apparent_power(volts, 1.0, three_phase) if volts else None
    for source in ("inrush", "locked_rotor"):
        quantity: Quantity | None = getattr(readings, source)
        if quantity and not _in_amps(quantity):
            yield StartFigure(source, quantity.value, quantity.value / per_a if per_a else None)
        elif quantity and per_a:
            yield StartFigure(source, quantity.value * per_a, quantity.value)
    if readings.code_letter in LOCKED_ROTOR_KVA_PER_HP and hp:
        va = locked_rotor_va(readings.code_letter, hp)
        yield StartFigure("code_letter", va, va / per_a if per_a else None)
    if hp and volts and hp <= just_above(TABLE_END_HP):
        va = estimated_start_va(hp, volts, three_phase)
        yield StartFigure("rated", va, va / apparent_power(volts, 1.0, three_phase))


def _running(
    readings: Readings, flow: Quantity | None, head: Head | None, starts: tuple[StartFigure, ...]
) -> Running | None:  # fmt: skip
    """What runs as a job counts it, else estimated from head and flow."""
    stated = readings.running
    if stated is None and flow and head and head.total_m > 0:
        efficiencies = readings.number("pump_efficiency"), readings.number("motor_efficiency")
        stated = rounded(electric_power(flow.value, head.total_m, *efficiencies), "W")
    volts = readings.voltage.value if readings.voltage else None
    if stated is None or (volts is None and _in_amps(stated)):
        return None
    load = Load(
        readings.name, volts or 0.0, stated, power_factor=readings.power_factor,
        starting=Quantity(starts[0].va, "VA", "") if starts else None,
        motor=readings.motor or MOTORS[0],  # of whatever kind: what pumps is a motor
    )  # fmt: skip
    figures = load_figures(load, (1.0,) * 12)
    return Running(
        stated, figures.running_w, figures.running_va if volts else None, figures.power_factor,
        readings.power_factor is None, readings.running is None,
    )  # fmt: skip


def _check(running: Running | None, flow: Quantity | None, head: Head | None) -> Check | None:
    """The cross-check; none where one of the three is missing, or the running figure came from the other two."""
    if running is None or running.estimated or flow is None or head is None or head.total_m <= 0:
        return None
    hydraulic = hydraulic_power(flow.value, head.total_m)
    efficiency = hydraulic / running.watts
    low, high = WIRE_TO_WATER
    within = just_below(low) <= efficiency <= just_above(high)
    return Check(hydraulic, efficiency, within, work_per_m3(head.total_m, efficiency))


def _load(
    readings: Readings, starts: tuple[StartFigure, ...], running: Running | None, flow: Quantity | None
) -> dict[str, Value]:  # fmt: skip
    """The values of the load's keys, in the order of a job."""
    values: dict[str, Value | None] = {
        "name": readings.name,
        "voltage": readings.voltage or TO_DO,
        "running": running.stated if running else readings.running or TO_DO,
        "power_factor": readings.power_factor,
        **_start_keys(readings, starts),
        "motor": readings.motor,
        "water_per_day": readings.water_per_day or TO_DO,
        "flow": flow or TO_DO,
    }
    return {key: value for key, value in values.items() if value is not None}


def _start_keys(readings: Readings, starts: tuple[StartFigure, ...]) -> dict[str, Value | None]:
    """The keys that state the most trusted start figure, or what is to be found."""
    source = starts[0].source if starts else None
    if source in ("inrush", "locked_rotor"):
        return {"starting": getattr(readings, source)}
    if starts and (starts[0].below_running or (starts[0].times_running or 0.0) >= MOST_START):
        return {"starting": TO_DO}  # one of the two is wrong: no job takes it
    if readings.code_letter:
        return {"locked_rotor_code": readings.code_letter, "rated": readings.rated or TO_DO}
    if readings.rated and readings.rated.value <= just_above(TABLE_END_HP):
        return {"rated": readings.rated}
    return {"starting": TO_DO}


def _missing(
    readings: Readings, starts: tuple[StartFigure, ...], running: Running | None, flow: Quantity | None
) -> Iterator[str]:  # fmt: skip
    """What is still worth finding, by option name: what the block leaves open first in each matter."""
    if readings.voltage is None:
        yield "voltage"
    if readings.running is None:
        yield "running"
    elif running and running.assumed:
        yield "power_factor"
    source = starts[0].source if starts else None
    if source not in ("inrush", "locked_rotor"):
        yield from ("locked_rotor", "inrush")
        if readings.code_letter is None:
            yield "code_letter"
        if readings.rated is None:
            yield "rated"
    if readings.motor is None:
        yield "motor"
    if flow is None:
        yield "seconds" if readings.container else "container" if readings.seconds else "flow"
    if readings.water_per_day is None:
        yield "water_per_day"
    pipe = ("rise", "pressure", "pipe_length", "pipe_inside") if readings.level else ()
    yield from (name for name in ("level", *pipe) if getattr(readings, name) is None)
