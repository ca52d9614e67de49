"""The job: what is wanted, read from one TOML file into base units, every problem of it at once."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from catalog.cells import encoding_of
from catalog.reader import Catalog
from optimizer.defaults import default
from optimizer.job_keys import KEYS, ON_HAND, TABLES, Key, Value, key_lines, line_of, read_value, written
from optimizer.problems import CLOSE_ENOUGH, LONGEST_CELL, Fault, InputError, Place, Problem, closest, in_order
from optimizer.units import UNITS, Quantity

Months = tuple[float, ...]  # twelve values, January first

LARGEST_JOB = 1_000_000  # bytes; a job is a page of text
SPLIT_PHASE = "120/240"
SUPPLY_VOLTS = {"120": ((110.0, 125.0),), "230": ((220.0, 240.0),), "120/240": ((110.0, 125.0), (220.0, 250.0))}
LEG_VOLTS = (110.0, 125.0)  # a load of 110 to 125 V sits on one leg
CODE_LETTERS = frozenset("ABCDEFGHJKLMNPRSTU")  # NEC 430.7(B); V has no upper end
TABLE_END_HP = 10.0  # NEC 430.248 ends at 10 hp
DAY_H = 24.0
ENERGY_WAYS = ("water_per_day", "hours_per_day", "energy_per_day")
HAIR = 1e-9  # relative; a limit met exactly is met


@dataclass(frozen=True)
class Site:
    """Where it stands: temperatures in degC, sun in kWh/m2 a day, array ceiling in V, the rest shares."""

    coldest_c: float
    hottest_c: float
    sun_hours: Months
    bank_coldest_c: float
    array_ceiling_v: float = default("site.array_ceiling")
    rear_light: float = default("site.rear_light")
    array_factor: float = default("site.array_factor")


@dataclass(frozen=True)
class Supply:
    """The supply: kind "120", "120/240" or "230"; restart "staggered" or "together"."""

    kind: str
    hz: int
    restart: str = "staggered"


@dataclass(frozen=True)
class Load:
    """One kind of load. ``running`` and ``starting`` are of one unit, in A, W or VA as their unit says.

    ``water_per_day_l`` and ``energy_per_day_wh`` are of all units; ``hours_per_day`` and ``flow_l_per_h`` of each.
    ``index`` is its place among the loads, from 0.
    """

    name: str
    voltage_v: float
    running: Quantity
    count: int = int(default("load.count"))
    power_factor: float | None = None
    starting: Quantity | Literal["none"] | None = None
    locked_rotor_code: str | None = None
    rated_hp: float | None = None
    starting_power_factor: float = default("load.starting_power_factor")
    start_time_s: float = default("load.start_time")
    motor: str | None = None
    water_per_day_l: Months | None = None
    flow_l_per_h: float | None = None
    hours_per_day: Months | None = None
    energy_per_day_wh: Months | None = None
    daytime: float = default("load.daytime")
    critical: bool = True
    leg: int | None = None
    cable_drop: float | None = None
    index: int = 0


@dataclass(frozen=True)
class Need:
    """What the person wishes. ``array_to_load`` None takes the rule's default by chemistry."""

    autonomy_days: float = default("need.autonomy_days")
    array_to_load: float | None = None
    budget_cents: int | None = None
    recover_days: float | None = None


@dataclass(frozen=True)
class Reserve:
    """Reserves, as shares."""

    running: float = default("reserve.running")
    starting: float = default("reserve.starting")
    voltage: float = default("reserve.voltage")
    hot_voltage: float = default("reserve.hot_voltage")
    current: float = default("reserve.current")
    parallel_share: float = default("reserve.parallel_share")


@dataclass(frozen=True)
class Space:
    """Room for panels; None is no limit."""

    max_panels: int | None = None
    max_area_m2: float | None = None
    row_max: int | None = None
    mounts: tuple[str, ...] | None = None


@dataclass(frozen=True)
class Allow:
    """What may be used; None is everything."""

    chemistries: tuple[str, ...] | None = None
    sellers: tuple[str, ...] | None = None
    exclude: tuple[str, ...] = ()
    listed_only: bool = False


@dataclass(frozen=True)
class Water:
    """Water storage: read and checked, not used yet. Volumes in L, ``well_yield_l_per_h`` in L/h."""

    reserve_days: float = default("water.reserve_days")
    tank_on_hand_l: float = default("water.tank_on_hand")
    daytime_with_tank: float = default("water.daytime_with_tank")
    max_tanks: int | None = None
    well_yield_l_per_h: float | None = None


@dataclass(frozen=True)
class Job:
    """A job in base units. ``written`` holds each stated value as text, by dotted key ("load.bore pump.running");
    ``stated`` the dotted keys; ``lines`` their lines in the file.
    """

    path: Path
    title: str
    catalog: str | None
    site: Site
    supply: Supply
    loads: tuple[Load, ...]
    need: Need = Need()
    reserve: Reserve = Reserve()
    space: Space = Space()
    allow: Allow = Allow()
    water: Water | None = None
    on_hand: Mapping[str, int] = field(default_factory=dict)
    written: Mapping[str, str] = field(default_factory=dict)
    stated: frozenset[str] = frozenset()
    digest: str = ""
    lines: Mapping[str, int | None] = field(default_factory=dict, repr=False)


# what a key's value is called in the classes above, where that differs from the key
FIELDS = {
    "coldest": "coldest_c", "hottest": "hottest_c", "bank_coldest": "bank_coldest_c",
    "array_ceiling": "array_ceiling_v", "voltage": "voltage_v", "rated": "rated_hp", "start_time": "start_time_s",
    "water_per_day": "water_per_day_l", "flow": "flow_l_per_h", "energy_per_day": "energy_per_day_wh",
    "max_area": "max_area_m2", "tank_on_hand": "tank_on_hand_l", "well_yield": "well_yield_l_per_h",
}  # fmt: skip


def read_job(path: str | Path) -> Job:
    """Read a job file. Raises InputError with all its problems, every "?" among them."""
    job, problems = check_job(path)
    if job is None:
        raise InputError(problems)
    return job


def check_job(path: str | Path) -> tuple[Job | None, tuple[Problem, ...]]:
    """The job, or None and all problems of its file; never raises for wrong input."""
    path = Path(path)
    text, problem = _text_of(path)
    if problem:
        return None, (problem,)
    try:
        content = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        return None, (_syntax_problem(path, text, error),)
    reader = _Reader(path, text)
    job = reader.job(content)
    return (None if reader.problems else job), in_order(reader.problems)


def _text_of(path: Path) -> tuple[str, Problem | None]:
    place = Place(str(path))
    try:
        size = path.stat().st_size
        if size > LARGEST_JOB:
            return "", Fault("too-large", {"most": str(LARGEST_JOB), "size": str(size)}).at(place)
        data = path.read_bytes()
    except OSError as error:
        return "", Fault("unreadable-file", {"reason": error.strerror or "no reason"}).at(place)
    if encoding := encoding_of(data):
        return "", Fault("not-utf8", {"encoding": encoding}).at(place)
    text = data.decode("utf-8-sig").replace("\r\n", "\n")
    if not text.strip():
        return "", Fault("empty-file", {"content": "a job with [site], [supply] and [[load]]"}).at(place)
    return text, None


def _syntax_problem(path: Path, text: str, error: Exception) -> Problem:
    reason = str(error) if isinstance(error, ValueError) else "it is nested too deeply"
    found = re.search(r" \(at line (\d+), column \d+\)| \(at end of document\)", reason)
    row = None
    if found:
        row = int(found[1]) if found[1] else text.rstrip("\n").count("\n") + 1
        reason = reason[: found.start()]
    cell = text.split("\n")[row - 1].strip()[:LONGEST_CELL] if row else None
    return Fault("toml-syntax", {"reason": reason[:200]}).at(Place(str(path), row, cell=cell))


@dataclass
class _Values:
    """The values of one table that could be read, and the keys that stand there, readable or not."""

    path: tuple[str | int, ...]
    read: dict[str, Value] = field(default_factory=dict)
    there: set[str] = field(default_factory=set)

    def get(self, key: str) -> Any:
        return self.read.get(key)

    def fields(self, *left_out: str) -> dict[str, Any]:
        """The values by the names of the class's fields, quantities as plain base units."""
        plain = {FIELDS.get(key, key): value for key, value in self.read.items() if key not in left_out}
        return {
            name: value.value if isinstance(value, Quantity) and name not in ("running", "starting") else value
            for name, value in plain.items()
        }


class _Reader:
    """Reads one job and collects its problems."""

    def __init__(self, path: Path, text: str) -> None:
        self.path = path
        self.text = text
        self.key_lines = key_lines(text)
        self.problems: list[Problem] = []
        self.written: dict[str, str] = {}
        self.lines: dict[str, int | None] = {}

    def report(self, fault: Fault, path: tuple[str | int, ...], cell: object = None) -> None:
        """Keep a fault with its line; a load is called by its number, counted from 1."""
        row = line_of(self.key_lines, path)
        name = ".".join(str(part) for part in path).strip(".")
        if path[0] == "load" and len(path) > 1 and isinstance(path[1], int):
            name = ".".join([f"load {path[1] + 1}", *(str(part) for part in path[2:])])
        text = None if cell is None else written(cell)
        self.problems.append(fault.at(Place(str(self.path), row, None, name, text)))

    def job(self, content: dict[str, Any]) -> Job | None:
        """The whole job; None where a problem was found."""
        top = {key: value for key, value in content.items() if key not in TABLES}
        suspects = self.unknown_keys(top, (), [*KEYS[""], *TABLES])
        head = self.table(top, "", (), "", known_only=True)
        values = {
            name: self.table(content.get(name, {}), name, (name,), name, missing=name not in content)
            for name in TABLES
            if name not in ("load", "on_hand") and name not in suspects
        }
        loads = self.loads(content.get("load"), "load" in suspects)
        on_hand = self.on_hand(content.get("on_hand", {}))
        if "site" in values:
            self.check_site(values["site"])
        if "supply" in values:
            self.check_supply(values["supply"], loads)
        self.check_loads(loads)
        if self.problems:
            return None
        site, supply = values["site"], values["supply"]
        need = values["need"].fields("budget")
        if "budget" in values["need"].read:
            need["budget_cents"] = round(values["need"].get("budget") * 100)
        return Job(
            path=self.path,
            title=head.get("title") or self.path.stem,
            catalog=head.get("catalog"),
            site=Site(**{"bank_coldest_c": site.get("coldest").value, **site.fields()}),
            supply=Supply(**{"hz": int(default("supply.hz")), **supply.fields()}),
            loads=tuple(Load(index=index, **load.fields()) for index, load in enumerate(loads)),
            need=Need(**need),
            reserve=Reserve(**values["reserve"].fields()),
            space=Space(**values["space"].fields()),
            allow=Allow(**values["allow"].fields()),
            water=Water(**values["water"].fields()) if "water" in content else None,
            on_hand=on_hand,
            written=self.written,
            stated=frozenset(self.written),
            digest=f"sha256:{hashlib.sha256(self.text.encode()).hexdigest()}",
            lines=self.lines,
        )

    def unknown_keys(self, table: Mapping[str, Any], path: tuple[str | int, ...], known: list[str]) -> set[str]:
        """Report keys that are not known. Returns the keys they were probably meant to be: not missing besides."""
        meant = set()
        for key in table:
            if key in known:
                continue
            likely = closest(key, [name for name in known if name not in table], CLOSE_ENOUGH)
            near = likely or closest(key, known, 0.0) or known[0]
            self.report(Fault("unknown-key", {"known": ", ".join(known), "closest": near}), (*path, key), table[key])
            if likely:
                meant.add(likely)
        return meant

    def table(
        self, table: object, kind: str, path: tuple[str | int, ...], dotted: str,
        missing: bool = False, known_only: bool = False,
    ) -> _Values:  # fmt: skip
        """Read the values of one table. A required table that is not there is one problem, not one for each key."""
        keys = KEYS[kind]
        values = _Values(path)
        required = [name for name, key in keys.items() if key.required]
        if not isinstance(table, dict):
            double = kind == "load"
            heading = f"[[{kind}]]" if double else f"[{kind}]"
            self.report(Fault("wrong-type", {"expected": f"a table {heading}", "example": heading}), path, table)
            values.there = set(keys)
            return values
        if missing:
            if required:
                lines = ", ".join(f"{name} = {keys[name].example}" for name in required)
                slots = {"key": f"a table [{kind}]", "meaning": f"with {', '.join(required)}",
                         "example": f"[{kind}] with {lines}"}  # fmt: skip
                self.report(Fault("missing-key", slots), path)
            values.there = set(required)
            return values
        values.there = set(table)
        if not known_only:
            values.there |= self.unknown_keys(table, path, list(keys))
        for name, key in keys.items():
            if name in table:
                value = read_value(table[name], key)
                if isinstance(value, Fault):
                    self.report(value, (*path, name), table[name])
                    continue
                values.read[name] = value
                self.note(f"{dotted}.{name}".lstrip("."), (*path, name), table[name])
            elif key.required and name not in values.there:
                self.missing(path, name, key)
        return values

    def note(self, dotted: str, path: tuple[str | int, ...], value: object) -> None:
        """Remember a value as written, and its line."""
        self.written[dotted] = written(value)
        self.lines[dotted] = line_of(self.key_lines, path)

    def missing(self, path: tuple[str | int, ...], name: str, key: Key) -> None:
        """Report a key that is not there, with what to write."""
        slots = {"key": name, "meaning": key.meaning, "example": f"{name} = {key.example}, with the right value."}
        self.report(Fault("missing-key", slots), (*path, name))

    def loads(self, tables: object, named_otherwise: bool) -> list[_Values]:
        """All loads."""
        example = "[[load]] with name, voltage, running and energy_per_day"
        if named_otherwise:
            return []
        if tables is None or tables == []:
            slots = {"key": "at least one [[load]]", "meaning": "what is to be run", "example": example}
            self.report(Fault("missing-key", slots), ("load",))
            return []
        if not isinstance(tables, list):
            self.report(Fault("wrong-type", {"expected": "[[load]] in double brackets", "example": example}), ("load",))
            return []
        names = [table.get("name") if isinstance(table, dict) else None for table in tables]
        loads = []
        for index, table in enumerate(tables):
            name = names[index] if isinstance(names[index], str) else str(index + 1)
            loads.append(self.table(table, "load", ("load", index), f"load.{name}"))
            if isinstance(names[index], str) and names[index] in names[:index] and "name" in loads[-1].read:
                other = str(names.index(names[index]) + 1)
                self.report(Fault("doubled-name", {"other": other}), ("load", index, "name"), names[index])
        return loads

    def on_hand(self, table: object) -> dict[str, int]:
        """Parts already owned."""
        pieces: dict[str, int] = {}
        if not isinstance(table, dict):
            slots = {"expected": "a table [on_hand]", "example": '[on_hand] with "part-id" = 4'}
            self.report(Fault("wrong-type", slots), ("on_hand",), table)
            return pieces
        for part, value in table.items():
            read = read_value(value, ON_HAND)
            if isinstance(read, Fault):
                self.report(read, ("on_hand", part), value)
            else:
                pieces[part] = int(str(read))
                self.note(f"on_hand.{part}", ("on_hand", part), value)
        return pieces

    def check_site(self, site: _Values) -> None:
        """Hottest above coldest."""
        coldest, hottest = site.get("coldest"), site.get("hottest")
        if coldest and hottest and hottest.value < coldest.value:
            slots = {"coldest": f"{coldest.value:g}"}
            self.report(Fault("hot-below-cold", slots), ("site", "hottest"), hottest.text)

    def check_supply(self, supply: _Values, loads: list[_Values]) -> None:
        """Frequency where it has no default, restart where several motors start, and loads that fit the supply."""
        kind = supply.get("kind")
        if kind == "230" and "hz" not in supply.there:
            self.missing(("supply",), "hz", KEYS["supply"]["hz"])
        starters = sum(int(load.get("count") or 1) for load in loads if _starts(load))
        if starters > 1 and "restart" not in supply.there:
            self.report(Fault("restart-missing", {"count": str(starters)}), ("supply", "restart"))
        for load in loads:
            volts = load.get("voltage")
            if not kind or not volts:
                continue
            bands = SUPPLY_VOLTS[kind]
            if not any(low <= volts.value <= high for low, high in bands):
                wanted = " or ".join(f"{low:g} to {high:g} V" for low, high in bands)
                fault = Fault("supply-voltage", {"volts": wanted, "supply": kind})
                self.report(fault, (*load.path, "voltage"), volts.text)
            elif "leg" in load.read and (kind != SPLIT_PHASE or not LEG_VOLTS[0] <= volts.value <= LEG_VOLTS[1]):
                self.report(Fault("leg-misplaced"), (*load.path, "leg"), load.get("leg"))

    def check_loads(self, loads: list[_Values]) -> None:
        """What must hold between the keys of one load."""
        for load in loads:
            self.check_energy(load)
            self.check_start(load)

    def check_energy(self, load: _Values) -> None:
        """Energy stated in exactly one way, and no more than a day of pumping."""
        ways: list[str] = [way for way in ENERGY_WAYS if way in load.there]
        if "flow" in load.there and "water_per_day" not in ways:
            ways.append("flow without water_per_day")
        if len(ways) != 1 or ways[0].startswith("flow"):
            stated = ", ".join(ways) or "none"
            named = [way for way in ways[-1:] if way in KEYS["load"]] or ["flow"][: len(ways)]
            self.report(Fault("energy-ways", {"stated": stated}), (*load.path, *named))
        elif ways == ["water_per_day"] and "flow" not in load.there:
            self.missing(load.path, "flow", KEYS["load"]["flow"])
        water, flow = load.get("water_per_day"), load.get("flow")
        if water and flow and ("count" in load.read or "count" not in load.there):
            hours = max(water) / (flow.value * (load.get("count") or 1))
            if hours > DAY_H * (1 + HAIR):
                fault = Fault("hours-over-day", {"hours": f"{hours:.1f}"})
                self.report(fault, (*load.path, "water_per_day"), self.written_of(load, "water_per_day"))

    def written_of(self, load: _Values, key: str) -> str:
        """A load's value as written."""
        return self.written.get(f"load.{load.get('name') or int(load.path[1]) + 1}.{key}", "")

    def check_start(self, load: _Values) -> None:
        """A start not below running, a code letter that says something, an estimate within the table."""
        letter, rated, starting = load.get("locked_rotor_code"), load.get("rated"), load.get("starting")
        if letter is not None and letter not in CODE_LETTERS:
            self.report(Fault("code-letter"), (*load.path, "locked_rotor_code"), letter)
        elif letter is not None and "rated" not in load.there and "starting" not in load.there:
            self.report(Fault("code-without-rated"), (*load.path, "locked_rotor_code"), letter)
        alone = not load.there & {"starting", "locked_rotor_code"}
        if rated and alone and rated.value > TABLE_END_HP * (1 + HAIR):
            self.report(Fault("over-ten-hp", {"hp": f"{rated.value:g}"}), (*load.path, "rated"), rated.text)
        running_va, starting_va = _running_va(load), _in_va(starting, load)
        if running_va and starting_va and starting_va < running_va * (1 - HAIR):
            slots = {"running": f"{running_va:g}", "starting": f"{starting_va:g}"}
            self.report(Fault("start-below-running", slots), (*load.path, "starting"), starting.text)


def _starts(load: _Values) -> bool:
    """Whether a load starts harder than it runs, as far as the job says."""
    starting = load.get("starting")
    if starting is not None:
        return bool(starting != "none")
    return "starting" not in load.there and bool(load.get("locked_rotor_code") or load.get("rated"))


def _in_va(quantity: Quantity | str | None, load: _Values) -> float | None:
    """VA of a figure in A or VA; W of one in W. None where something it needs could not be read."""
    if not isinstance(quantity, Quantity):
        return None
    if UNITS["running"][quantity.unit] != "A":
        return quantity.value
    volts = load.get("voltage")
    return quantity.value * volts.value if volts else None


def _running_va(load: _Values) -> float | None:
    """The running VA that a stated start is held against; from W only a stated power factor raises it."""
    running = load.get("running")
    va = _in_va(running, load)
    if va is None or UNITS["running"][running.unit] != "W":
        return va
    if "power_factor" in load.there and "power_factor" not in load.read:
        return None
    return va / (load.get("power_factor") or 1.0)


def check_names(job: Job, catalog: Catalog) -> tuple[Problem, ...]:
    """Parts on hand, excluded parts and allowed sellers that the catalogue does not have."""
    parts = {part for table in catalog.tables.values() for part in table.part}
    sellers = set(catalog.offers.seller) | set(catalog.freight)
    named = [
        *((f"on_hand.{part}", part, "a part", parts) for part in job.on_hand),
        *(("allow.exclude", part, "a part", parts) for part in job.allow.exclude),
        *(("allow.sellers", seller, "a seller", sellers) for seller in job.allow.sellers or ()),
    ]
    return in_order(
        Fault("unknown-name", {"what": what, "closest": closest(name, sorted(known)[:2000]) or f"{what} of it"})
        .at(Place(str(job.path), job.lines.get(key), None, key, name))
        for key, name, what, known in named
        if name not in known
    )  # fmt: skip
