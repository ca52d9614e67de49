"""What is worth measuring: at which value of an input the pick changes, and what that saves or costs.

Every input here makes a job only easier in one direction. Towards the easier side the first value that lowers the
total is sought; towards the harder side the first at which nothing as cheap does any more.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import floor, log10

from optimizer.bundles.bundle import Bundle
from optimizer.explain.relaxations import Lever, falling, key_lever, least_step, rising, written_unit
from optimizer.explain.resolve import Resolver, Scenario, cents_of, first_where, misses
from optimizer.inputs.job import Job
from optimizer.inputs.job_checks import DAY_H
from optimizer.inputs.job_edit import KeyValue, key_of, split_key, value_of, with_key
from optimizer.inputs.job_schema import KEYS, Key
from optimizer.rules import demand as demand_rules
from optimizer.rules import load_figures
from optimizer.vocabulary.motor_tables import LOCKED_ROTOR_MULTIPLE
from optimizer.vocabulary.problems import Fault, InputError, Place, meant, perhaps
from optimizer.vocabulary.units import to_unit

# +1: more is easier, -1: less is easier. A key that is not here has no such direction, or is no input.
EASIER = {
    "coldest": +1, "hottest": -1, "sun_hours": +1, "bank_coldest": +1, "bank_hottest": -1, "array_ceiling": +1,
    "rear_light": -1, "array_factor": +1, "running": -1, "starting": -1, "rated": -1, "starting_power_factor": -1,
    "start_time": -1,
    "water_per_day": -1, "flow": +1, "hours_per_day": -1, "energy_per_day": -1, "daytime": +1, "power_factor": -1,
    "autonomy_days": -1, "array_to_load": -1, "max_panels": +1, "max_area": +1, "row_max": +1, "hot_voltage": -1,
    "voltage": -1, "current": -1, "parallel_share": +1, "cable_drop": -1, "start_volts_least": -1,
}  # fmt: skip
RATIO = "need.array_to_load"
TABLES = ("site", "load", "need", "reserve", "space")
SPAN = 0.5  # share of a figure looked at on either side
DEGREES = {"degC": 10.0, "degF": 20.0}  # of a temperature on either side
DAYS = 2.0  # of autonomy on the harder side
SECONDS = 5.0  # of a start time on the harder side
SHARE_STEP, DAY_STEP = 0.01, 0.1
FACTOR_STEP = 0.01  # of a year's figures that move together


@dataclass(frozen=True)
class Breakpoint:
    """A value at which the pick changes, as typed, and the cheapest bundle then; None where nothing meets the job."""

    text: str
    bundle: Bundle | None


@dataclass(frozen=True)
class Input:
    """One input: ``standing`` is "estimated", "taken" (as given by default) or "asked" (for by the person).

    ``easier`` and ``harder``: the first values at which the total falls and rises; None: it does not down or up to
    the end of the range, ``easiest`` and ``hardest``. From its value on, away from ``now``, each stays turned.
    """

    key: str
    standing: str
    now: str
    easiest: str
    hardest: str
    easier: Breakpoint | None
    harder: Breakpoint | None
    upward: bool  # whether more is easier


def uncertain(scenario: Scenario, picked: Bundle) -> Iterator[tuple[str, str]]:
    """(key, standing) of every input that is estimated or taken as given and that a person can find out."""
    job = scenario.job
    demand = demand_rules.demand(job)
    starting = sum(load.count for load in demand.loads if load.starts)
    for load in demand.loads:
        key = f"load.{load.name}."
        if load.start_source in ("estimate", "code letter"):
            yield f"{key}starting", "estimated"
        elif load.start_source == "not stated" and ("supply.restart" in job.stated or starting + load.count < 2):
            yield f"{key}starting", "taken"
        if load.power_factor_assumed:
            yield f"{key}power_factor", "taken"
        if load.starts:
            yield from ((key + name, "taken") for name in ("start_time", "starting_power_factor")
                        if key + name not in job.stated)  # fmt: skip
        if f"{key}daytime" not in job.stated:
            yield f"{key}daytime", "taken"
    for name in ("site.bank_coldest", "site.array_factor", "need.autonomy_days"):
        if name not in job.stated:
            yield name, "taken"
    if "site.rear_light" not in job.stated and picked.panel["bifacial_pct"] > 0:
        yield "site.rear_light", "taken"


def full_key(job: Job, name: str) -> str | None:
    """The dotted key that a person means by ``name`` ("bore pump.starting", "site.coldest"); None where it is none."""
    for key in (name, f"load.{name}"):
        try:
            table, field, _ = split_key(job, key)
        except KeyError:
            continue
        # the default ratio hangs on the chemistry, so that it has no one value to begin from
        if key == RATIO and key not in job.stated:
            return None
        if table in TABLES and (field in EASIER or table == "reserve"):
            return key
    return None


def known_inputs(job: Job) -> list[str]:
    """Every name that may be asked for."""
    names = [f"{table}.{field}" for table, fields in _fields().items() if table != "load" for field in fields]
    names = [name for name in names if name != RATIO or RATIO in job.stated]
    return names + [f"{load.name}.{field}" for load in job.loads for field in _fields()["load"]]


def _fields() -> dict[str, list[str]]:
    return {
        table: [f for f in KEYS[table] if f in EASIER and (table, f) != ("load", "voltage") or table == "reserve"]
        for table in TABLES
    }


def look_at(resolver: Resolver, picked: Bundle, key: str, standing: str) -> Input:
    """Where the pick changes as one input does, within its range."""
    scenario = resolver.base
    resolver.step(f"what {key.removeprefix('load.')} is worth")
    easier, harder, now, upward = ranges(scenario, key)
    total = cents_of(picked)
    gain = loss = None
    lever = key_lever(scenario, "", key, "input", easier, now)
    if easier and (found := least_step(resolver, lever, total - 1, resolver.proven(scenario, total - 1))):
        gain = Breakpoint(lever.text(found.step), found.bundle)
    lever_up = key_lever(scenario, "", key, "input", harder, now)
    if harder:
        loss = first_loss(resolver, lever_up, picked)
    return Input(key, standing, lever.text(0), lever.text(len(easier)), lever_up.text(len(harder)), gain, loss, upward)


def first_loss(resolver: Resolver, lever: Lever, picked: Bundle) -> Breakpoint | None:
    """The first step of a lever that makes a job harder at which nothing is as cheap as the pick."""
    total, bundle, held = cents_of(picked), picked, 0
    while True:
        held = _holds_to(lever, bundle, held)
        if held == lever.steps:
            return None
        scenario = lever.at(held + 1)
        other = resolver.cheapest(scenario, total).bundle
        if other is None:
            return Breakpoint(lever.text(held + 1), resolver.first(scenario).bundle)
        bundle, held = other, held + 1


def _holds_to(lever: Lever, bundle: Bundle, held: int) -> int:
    """The last step at which a bundle meets every limit, which it does at ``held``."""
    return first_where(held, lever.steps + 1, lambda step: bool(misses(lever.at(step), bundle))) - 1


# ranges -----------------------------------------------------------------------------------------------------------


class Scaled(list[KeyValue]):
    """Twelve figures that move together: the list to type, spoken of by its ``factor``."""

    def __init__(self, values: list[KeyValue], factor: float) -> None:
        super().__init__(values)
        self.factor = factor


def ranges(scenario: Scenario, key: str) -> tuple[list[KeyValue], list[KeyValue], KeyValue, bool]:
    """Values to type on the easier side and on the harder side, nearest first; the value now; whether more is
    easier."""
    job = scenario.job
    _, name, load = split_key(job, key)
    sign = EASIER.get(name, -1)
    if name == "power_factor" and load is not None and load.running.unit in ("W", "kW"):
        sign = +1  # what runs by W takes less VA at a better factor; by A it gives more W
    down, up, now = _values(job, key)
    down, up = ([v for v in side if _allowed(job, key, v)] for side in (down, up))
    return (up, down, now, True) if sign > 0 else (down, up, now, False)


def _allowed(job: Job, key: str, value: KeyValue) -> bool:
    try:
        changed = with_key(job, key, value)
    except ValueError:
        return False
    table, _, load = split_key(changed, key)
    if table != "load" or load is None:
        return changed.site.hottest_c >= changed.site.coldest_c
    start, _ = load_figures.start_figure(load)
    plain = load_figures.load_figures(load, changed.site.sun_hours)
    hours = plain.hours or ()
    return (start is None or start >= plain.running_va * (1 - 1e-9)) and max(hours, default=0.0) <= DAY_H


def _values(job: Job, key: str) -> tuple[list[KeyValue], list[KeyValue], KeyValue]:
    table, name, load = split_key(job, key)
    spec = key_of(job, key)
    if spec.monthly and _varies(job, key):
        return _months(job, key, spec)
    if spec.holds == "quantity":
        return _quantities(job, key, spec)
    now = _now(job, key)
    if spec.holds == "whole":
        return list(range(int(now) - 1, 0, -1)), list(range(int(now) + 1, 2 * int(now) + 1)), now
    if name == "autonomy_days":
        return falling(now, 0.0, DAY_STEP), rising(now, now + DAYS, DAY_STEP), now
    if name == "daytime":
        return falling(now, 0.0, SHARE_STEP), rising(now, 1.0, SHARE_STEP), now
    if spec.holds == "number" and table in ("load", "site", "reserve") and name != "sun_hours":
        low, high = now * (1 - SPAN), min(1.0, now * (1 + SPAN))
        return falling(now, low, SHARE_STEP), rising(now, high, SHARE_STEP), now
    step = last_digit(now)
    return falling(now, now * (1 - SPAN), step), rising(now, now * (1 + SPAN), step), now


def _now(job: Job, key: str) -> KeyValue:
    """The value of a key that is no quantity, as typed or as taken."""
    value = value_of(job, key)
    if isinstance(value, tuple):
        return value[0]
    if value is None and key.endswith(".power_factor"):
        name = key.removeprefix("load.").removesuffix(".power_factor")
        return next(load.power_factor for load in demand_rules.demand(job).loads if load.name == name)
    return value


def _varies(job: Job, key: str) -> bool:
    value = value_of(job, key)
    return isinstance(value, tuple) and len(set(value)) > 1


def _months(job: Job, key: str, spec: Key) -> tuple[list[KeyValue], list[KeyValue], KeyValue]:
    """Twelve figures that move together by a factor."""
    unit = job.unit_of(key) if spec.holds == "quantity" else ""
    now = [to_unit(value, unit) if unit else value for value in value_of(job, key)]

    def typed(factor: float) -> list[KeyValue]:
        scaled = [float(f"{value * factor:.4g}") for value in now]
        return Scaled([f"{value:g} {unit}" for value in scaled] if unit else scaled, factor)

    down = [typed(f) for f in falling(1.0, 1 - SPAN, FACTOR_STEP)]
    up = [typed(f) for f in rising(1.0, 1 + SPAN, FACTOR_STEP)]
    return down, up, typed(1.0)


def _quantities(job: Job, key: str, spec: Key) -> tuple[list[KeyValue], list[KeyValue], KeyValue]:
    name = key.rpartition(".")[2]
    if name == "starting":
        return _starts(job, key)
    unit = written_unit(job, key, _default_unit(job, key))
    value = value_of(job, key)
    base = value[0] if isinstance(value, tuple) else value
    now = to_unit(base, unit, spec.unit) if unit not in ("degC", "degF") else to_unit(base, unit)
    now = round(now, 6)
    if unit in DEGREES:
        low, high, step = now - DEGREES[unit], now + DEGREES[unit], 1.0
    elif name == "start_time":
        low, high, step = 0.0, max(SECONDS, 2 * now), DAY_STEP
    else:
        low, high, step = now * (1 - SPAN), now * (1 + SPAN), last_digit(now)
    text = [[f"{v:g} {unit}" for v in side] for side in (falling(now, low, step), rising(now, high, step))]
    return text[0], text[1], f"{now:g} {unit}"


def _default_unit(job: Job, key: str) -> str:
    return written_unit(job, "site.coldest") if key.startswith("site.") and key.endswith("coldest") else ""


def _starts(job: Job, key: str) -> tuple[list[KeyValue], list[KeyValue], KeyValue]:
    """The start of a load, stated or not, from its running up to half as much again, or to six times the running."""
    name = key.removeprefix("load.").removesuffix(".starting")
    load = next(load for load in demand_rules.demand(job).loads if load.name == name)
    by_amps = next(each for each in job.loads if each.name == name).running.unit in ("A", "mA")
    unit = written_unit(job, key) if load.start_source == "stated" else "A" if by_amps else "VA"
    scale = load.voltage_v if unit in ("A", "mA") else 1.0
    now = round(to_unit(load.start_va / scale, unit), 6)
    running = to_unit(load.running_va / scale, unit)
    high = now * (1 + SPAN) if load.start_source != "not stated" else LOCKED_ROTOR_MULTIPLE * running
    step = last_digit(now)
    sides = (falling(now, running, step), rising(now, high, step))
    down, up = ([f"{v:g} {unit}" for v in side if v > 0] for side in sides)
    return down, up, f"{now:g} {unit}"


def last_digit(value: float) -> float:
    """The step that changes a figure's third digit: as fine as a reading is taken."""
    return float(10.0 ** (floor(log10(abs(value))) - 2)) if value else 1.0


def _perhaps_field(name: str, known: Sequence[str]) -> str:
    """The same slot where what is asked of a load or a table goes by another name: "bore pump.inrush"."""
    owner, _, field = name.rpartition(".")
    near = meant(field, [key.removeprefix(f"{owner}.") for key in known if key.startswith(f"{owner}.")])
    return f"; perhaps {owner}.{near}" if owner and near else ""


def keys_of(job: Job, names: Iterable[str]) -> tuple[str, ...]:
    """The dotted keys of inputs by name ("bore pump.starting", "site.coldest"). Raises InputError."""
    problems, keys = [], []
    for name in names:
        key = full_key(job, name)
        if key is not None:
            keys.append(key)
            continue
        known = known_inputs(job)
        slots = {"known": ", ".join(known), "perhaps": perhaps(name, known) or _perhaps_field(name, known)}
        problems.append(Fault("unknown-input", slots).at(Place("--input", cell=name)))
    if problems:
        raise InputError(problems)
    return tuple(keys)
