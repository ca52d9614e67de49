"""What must hold between the keys of a job: loads against the supply, the start against the running, the energy.

A rule is judged only where every value it needs could be read, so that one fault is one problem.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import prod
from typing import Any

from catalog.names import folded, unseen
from optimizer.inputs.job_schema import KEYS
from optimizer.inputs.job_values import Value, missing_key, written
from optimizer.inputs.toml_lines import Steps
from optimizer.vocabulary.defaults import MOST_PLACINGS
from optimizer.vocabulary.months import MONTHS
from optimizer.vocabulary.motor_tables import (
    LOCKED_ROTOR_KVA_PER_HP,
    TABLE_END_HP,
    apparent_power,
    estimated_start_va,
    locked_rotor_va,
    motor_phases,
)
from optimizer.vocabulary.problems import Fault
from optimizer.vocabulary.supplies import HOUSE_BAND, SUPPLIES
from optimizer.vocabulary.tolerance import just_above
from optimizer.vocabulary.units import UNITS, Quantity, convert, to_unit

DAY_H = 24.0
MOST_START = 50.0  # times the running amps; no motor starts as hard (common practice, no source)
ENERGY_WAYS = ("water_per_day", "hours_per_day", "energy_per_day")
OF_REPLAY = ("at", "drawn")  # keys of a load that count in a replay alone
START_WAYS = ("starting", "locked_rotor_code", "rated")
OF_MOTORS = ("motor", "flow", "water_per_day")  # beside a start: what only a motor has

# what a key's value is called in the classes above, where that differs from the key
FIELDS = {
    "coldest": "coldest_c", "hottest": "hottest_c", "bank_coldest": "bank_coldest_c",
    "bank_hottest": "bank_hottest_c",
    "array_ceiling": "array_ceiling_v", "voltage": "voltage_v", "rated": "rated_hp", "start_time": "start_time_s",
    "water_per_day": "water_per_day_l", "flow": "flow_l_per_h", "energy_per_day": "energy_per_day_wh",
    "max_area": "max_area_m2", "tank_on_hand": "tank_on_hand_l", "well_yield": "well_yield_l_per_h",
    "tilt": "tilt_deg", "azimuth": "azimuth_deg", "utc_offset": "utc_offset_h",
}  # fmt: skip

Breach = tuple[Fault, Steps, object]  # what is wrong, at which key, and the value as written


@dataclass
class Stated:
    """The values of one table that could be read, and the keys that stand there, readable or not."""

    path: Steps
    read: dict[str, Value] = field(default_factory=dict)
    there: set[str] = field(default_factory=set)
    written: dict[str, object] = field(default_factory=dict)

    def get(self, key: str) -> Any:  # the key's schema says which type it has
        """The value of a key, or None where it is not there or could not be read."""
        return self.read.get(key)

    def fields(self, *left_out: str) -> dict[str, Any]:
        """The values by the names of the class's fields, quantities as plain base units."""
        renamed = FIELDS if self.path[0] != "reserve" else {}  # a reserve's "voltage" is a share
        plain = {renamed.get(key, key): value for key, value in self.read.items() if key not in left_out}
        return {
            name: value.value if isinstance(value, Quantity) and name not in ("running", "starting") else value
            for name, value in plain.items()
        }


def job_breaches(site: Stated | None, supply: Stated | None, loads: list[Stated]) -> Iterator[Breach]:
    """Everything that does not hold; a table that could not be read is None."""
    if site:
        yield from _site_breaches(site)
    if supply:
        yield from _supply_breaches(supply, loads)
        for load in loads:
            yield from _fit_breaches(load, supply.get("kind"))
    yield from _name_breaches(loads)
    for load in loads:
        yield from _energy_breaches(load)
        yield from _start_breaches(load)


def replay_breaches(replay: Stated | None, loads: list[Stated], weather: bool) -> Iterator[Breach]:
    """What only a replay reads, where there is no weather file to go through; and draws of a load that pumps none."""
    asked = [] if replay is None else [(replay, key) for key in replay.written]
    asked += [(load, key) for load in loads for key in OF_REPLAY if key in load.written]
    for table, key in asked:
        if not weather:
            yield Fault("needs-weather", {"key": key}), (*table.path, key), table.written[key]
        elif key == "drawn" and "water_per_day" not in table.there:
            yield Fault("drawn-without-water"), (*table.path, key), table.written[key]


def _site_breaches(site: Stated) -> Iterator[Breach]:
    """Hottest not below coldest, outdoors and where the bank stands."""
    coldest, hottest = site.get("coldest"), site.get("hottest")
    if coldest and hottest and hottest.value < coldest.value:
        above = f"{to_unit(coldest.value, hottest.unit):g} {hottest.unit}"
        yield Fault("hot-below-cold", {"coldest": above}), (*site.path, "hottest"), hottest.text
        return
    bank_key = next((key for key in ("bank_hottest", "bank_coldest") if key in site.read), None)
    cold, hot = site.get("bank_coldest") or coldest, site.get("bank_hottest") or hottest
    if bank_key and cold and hot and hot.value < cold.value:
        slots = {"coldest": cold.text, "hottest": hot.text}
        yield Fault("bank-hot-below-cold", slots), (*site.path, bank_key), site.get(bank_key).text


def _name_breaches(loads: list[Stated]) -> Iterator[Breach]:
    """Names of loads that nobody can tell apart, or see whole; two that are equal are doubled and said elsewhere."""
    first: dict[str, str] = {}
    for load in loads:
        name = load.get("name")
        if name is None:
            continue
        if mark := unseen(name):
            yield Fault("unseen-mark", {"mark": mark}), (*load.path, "name"), name
        elif first.setdefault(folded(name), name) != name:
            yield Fault("alike-loads", {"other": first[folded(name)]}), (*load.path, "name"), name


def _supply_breaches(supply: Stated, loads: list[Stated]) -> Iterator[Breach]:
    """A frequency where it has no default, and restart where two or more units start harder than they run."""
    if supply.get("kind") == "230" and "hz" not in supply.there:
        yield missing_key("hz", KEYS["supply"]["hz"]), (*supply.path, "hz"), None
    starters = sum(int(load.get("count") or 1) for load in loads if _starts(load))
    if starters > 1 and "restart" not in supply.there:
        yield Fault("restart-missing", {"count": str(starters)}), (*supply.path, "restart"), None
    ways = prod(int(load.get("count") or 1) + 1 for load in loads if _free_to_place(load))
    if _split_phase(supply.get("kind")) and ways > MOST_PLACINGS:
        yield Fault("too-many-placings", {"ways": f"{ways:,}", "most": f"{MOST_PLACINGS:,}"}), supply.path, None


def _split_phase(kind: object) -> bool:
    return isinstance(kind, str) and SUPPLIES[kind].split_phase


def _free_to_place(load: Stated) -> bool:
    """Whether a load's units may stand on either leg."""
    volts = load.get("voltage")
    return volts is not None and HOUSE_BAND[0] <= volts.value <= HOUSE_BAND[1] and "leg" not in load.read


def _fit_breaches(load: Stated, kind: str | None) -> Iterator[Breach]:
    """A load whose voltage the supply does not give, or that is pinned to a leg where it has none."""
    volts = load.get("voltage")
    if kind is None or volts is None:
        return
    bands = SUPPLIES[kind].bands
    if not any(low <= volts.value <= high for low, high in bands):
        wanted = " or ".join(f"{low:g} to {high:g} V" for low, high in bands)
        yield Fault("supply-voltage", {"volts": wanted, "supply": kind}), (*load.path, "voltage"), volts.text
    elif "leg" in load.read and (not SUPPLIES[kind].split_phase or not HOUSE_BAND[0] <= volts.value <= HOUSE_BAND[1]):
        yield Fault("leg-misplaced"), (*load.path, "leg"), load.get("leg")


def _energy_breaches(load: Stated) -> Iterator[Breach]:
    """Energy stated in exactly one way, and no more pumping than a day is long."""
    ways: list[str] = [way for way in ENERGY_WAYS if way in load.there]
    stray_flow = "flow" in load.there and "water_per_day" not in ways
    if len(ways) != 1 or stray_flow:
        stated = [*ways, *(["flow without water_per_day"] if stray_flow else [])]
        at = ["flow"] if stray_flow else ways[-1:]
        yield Fault("energy-ways", {"stated": ", ".join(stated) or "none"}), (*load.path, *at), None
    elif ways == ["water_per_day"] and "flow" not in load.there:
        yield missing_key("flow", KEYS["load"]["flow"]), (*load.path, "flow"), None
    water, flow = load.get("water_per_day"), load.get("flow")
    if water and flow and ("count" in load.read or "count" not in load.there):
        hours = max(water) / (flow.value * (load.get("count") or 1))
        if hours > just_above(DAY_H):
            slots = {"hours": f"{hours:.1f}"}
            cell = load.written.get("water_per_day")
            if isinstance(cell, list) and len(cell) == len(water):
                most = max(range(len(water)), key=lambda month: float(water[month]))
                slots["item"] = f"{written(cell[most])}, {MONTHS[most]}"
            yield Fault("hours-over-day", slots), (*load.path, "water_per_day"), cell
    energy, watts = load.get("energy_per_day"), _running(load)[0]
    if energy and watts and ("count" in load.read or "count" not in load.there):
        hours = max(energy) / (watts * (load.get("count") or 1))
        if hours > just_above(DAY_H):
            slots = {"hours": f"{hours:.1f}", "watts": f"{watts:g}"}
            cell = load.written.get("energy_per_day")
            if isinstance(cell, list) and len(cell) == len(energy):
                worst = max(range(len(energy)), key=lambda month: float(energy[month]))
                slots["item"] = f"{written(cell[worst])}, {MONTHS[worst]}"
            yield Fault("energy-over-day", slots), (*load.path, "energy_per_day"), cell


def _start_breaches(load: Stated) -> Iterator[Breach]:
    """A start of every motor, above its running; a code letter that says something, an estimate within the table."""
    code, rated, starting = load.get("locked_rotor_code"), load.get("rated"), load.get("starting")
    of_motor = [key for key in OF_MOTORS if key in load.there]
    if of_motor and not load.there & set(START_WAYS):
        yield Fault("motor-without-start", {"key": of_motor[0]}), (*load.path, "starting"), None
    if starting == "none" and "locked_rotor_code" in load.there:
        yield Fault("none-with-code"), (*load.path, "locked_rotor_code"), code
    if code is not None and code not in LOCKED_ROTOR_KVA_PER_HP:
        yield Fault("code-letter"), (*load.path, "locked_rotor_code"), code
    elif code is not None and not load.there & {"rated", "starting"}:
        yield Fault("code-without-rated"), (*load.path, "locked_rotor_code"), code
    alone = not load.there & {"starting", "locked_rotor_code"}
    if rated and alone and rated.value > just_above(TABLE_END_HP):
        most = f"{TABLE_END_HP:g} hp" if rated.unit == "hp" else (
            f"{convert(TABLE_END_HP, 'hp', rated.unit):.4g} {rated.unit}, which is {TABLE_END_HP:g} hp,")  # fmt: skip
        yield Fault("over-ten-hp", {"most": most, "rated": rated.text}), (*load.path, "rated"), rated.text
    key, running_va, starting_va = next((key for key in START_WAYS if key in load.there), ""), *_figures(load)
    if running_va and starting_va and starting_va <= just_above(running_va):
        running = load.get("running")
        amps = all(getattr(each, "unit", "") in UNITS["running"] and UNITS["running"][each.unit] == "A"
                   for each in (running, starting))  # fmt: skip
        slots = {"running": running.text, "starting": starting.text} if amps else (
            {"running": f"{running_va:g} VA", "starting": f"{starting_va:g} VA"})  # fmt: skip
        cell = load.get(key)
        yield Fault("start-below-running", slots), (*load.path, key), getattr(cell, "text", cell)
    elif running_va and starting_va and starting_va >= MOST_START * running_va:
        slots = {"times": f"{starting_va / running_va:.3g}", "most": f"{MOST_START:g}"}
        cell = load.get(key)
        yield Fault("start-far-above", slots), (*load.path, key), getattr(cell, "text", cell)


def _starts(load: Stated) -> bool:
    """Whether a load starts harder than it runs, as far as the job says: a start that does not is wrong input."""
    return bool(load.there & set(START_WAYS)) and load.get("starting") != "none"


def _figures(load: Stated) -> tuple[float | None, float | None]:
    """The VA that a load runs at and, by the first figure that is given, starts at. None where something they need
    could not be read, or nothing is stated."""
    starting, code, rated, volts = (load.get(key) for key in ("starting", "locked_rotor_code", "rated", "voltage"))
    start = None
    if "starting" in load.there:
        start = _in_va(starting, load)
    elif code in LOCKED_ROTOR_KVA_PER_HP and rated:
        start = locked_rotor_va(code, rated.value)
    elif rated and volts and "locked_rotor_code" not in load.there and rated.value <= just_above(TABLE_END_HP):
        start = estimated_start_va(rated.value, volts.value, _three_phase(load))
    return _running(load)[1], start


def _three_phase(load: Stated) -> bool:
    return motor_phases(load.get("motor")) == 3


def _in_va(quantity: Quantity | str | None, load: Stated) -> float | None:
    """VA of a figure in A or VA; W of one in W. None where something it needs could not be read."""
    if not isinstance(quantity, Quantity):
        return None
    if UNITS["running"][quantity.unit] != "A":
        return quantity.value
    volts = load.get("voltage")
    return apparent_power(volts.value, quantity.value, _three_phase(load)) if volts else None


def _running(load: Stated) -> tuple[float | None, float | None]:
    """W and VA of one unit while it runs. Of W without a power factor as many VA: no default makes a start too small.
    None where something they need could not be read."""
    running, factor = load.get("running"), load.get("power_factor") or 1.0
    va = _in_va(running, load)
    if va is None or ("power_factor" in load.there and "power_factor" not in load.read):
        return None, None
    return (va, va / factor) if UNITS["running"][running.unit] == "W" else (va * factor, va)
