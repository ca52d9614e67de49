"""The reader of a job file: every problem of it at once, each with its line."""

from __future__ import annotations

import hashlib
from pathlib import Path

from catalog.offers import LOOKED_AT
from catalog.reader import Catalog
from optimizer.inputs.file_tables import FileTables, FileValue
from optimizer.inputs.job import Allow, Job, Load, Need, Replay, Reserve, Site, Space, Supply, Water, Weather
from optimizer.inputs.job_checks import Stated, job_breaches, replay_breaches
from optimizer.inputs.job_schema import BY_FILE, FROM_FILE, KEYS, ON_HAND, TABLES
from optimizer.inputs.job_values import missing_key, own_units, read_value, written
from optimizer.inputs.toml_lines import Steps, line_of
from optimizer.vocabulary.defaults import default
from optimizer.vocabulary.problems import LONGEST_CELL, Fault, InputError, Place, Problem, in_order, perhaps
from optimizer.vocabulary.units import Quantity

LARGEST_JOB = 1_000_000  # bytes; a job is a page of text
WITH_FILE = ("weather", "replay")  # tables of a job with a weather file
LONGEST_REASON = 200  # characters of what the parser says


def read_job(path: str | Path) -> Job:
    """Read a job file. Raises InputError with all its problems, every "?" among them."""
    job, problems = check_job(path)
    if job is None:
        raise InputError(problems)
    return job


def check_job(path: str | Path) -> tuple[Job | None, tuple[Problem, ...]]:
    """The job, or None and all problems of its file; never raises for wrong input."""
    reader = _Reader(str(Path(path)))
    content = reader.content()
    job = None if reader.problems else reader.job(content)
    return (None if reader.problems else job), in_order(reader.problems)


class _Reader(FileTables):
    """Reads one job."""

    largest = LARGEST_JOB
    holds = "a job with [site], [supply] and [[load]]"

    def __init__(self, file: str) -> None:
        super().__init__(file)
        self.written: dict[str, str] = {}
        self.written_at: dict[str, int | None] = {}
        self.own: dict[str, str] = {}  # by field kind the unit that hints follow
        self.by_file: tuple[str, ...] = ()  # keys of the site that a weather file may state

    def syntax(self, fault: Fault, row: int | None, placed: bool) -> None:
        """The same with the line itself, in a few words: it is what a person has just typed."""
        if placed and row is None:
            row = self.source.rstrip("\n").count("\n") + 1
        cell = self.source.split("\n")[row - 1].strip()[:LONGEST_CELL] if row else None
        short = Fault(fault.kind, {"reason": fault.slots["reason"][:LONGEST_REASON]})
        self.problems.append(short.at(Place(self.file, row, cell=cell)))

    def job(self, content: dict[str, FileValue]) -> Job | None:
        """The whole job; None where a problem was found."""
        self.own = own_units(content)
        self.by_file = BY_FILE if "weather" in content else ()
        self._name_loads(content.get("load"))
        suspects = self.unknown_keys(content, (), [*KEYS[""], *TABLES])
        head = self.values({key: content[key] for key in KEYS[""] if key in content}, "", (), "")
        values = {
            name: self.values(content.get(name, {}), name, (name,), name, missing=name not in content)
            for name in TABLES
            if name not in ("load", "on_hand") and name not in suspects and (name not in WITH_FILE or name in content)
        }
        loads = self.loads(content.get("load"), "load" in suspects)
        on_hand = self.on_hand(content.get("on_hand", {}))
        weather = self.weather(values.get("weather"), values.get("site"))
        breaches = [*job_breaches(values.get("site"), values.get("supply"), loads)]
        breaches += replay_breaches(values.get("replay"), loads, "weather" in content)
        for fault, path, cell in breaches:
            self.keep(fault, path, cell)
        if self.problems:
            return None
        site, supply = values["site"], values["supply"]
        need = values["need"].fields("budget")
        if "budget" in values["need"].read:
            need["budget_cents"] = round(values["need"].get("budget") * 100)
        replay = Replay(**values["replay"].fields()) if "replay" in values else Replay()
        if replay.hours_short is not None:  # every hour is judged, so that averages count only where they are stated
            need = {"autonomy_days": 0.0, "array_to_load": 1.0, **need}
        return Job(
            path=Path(self.file),
            title=head.get("title") or Path(self.file).stem,
            catalog=head.get("catalog"),
            site=Site(
                **{
                    "bank_coldest_c": site.get("coldest").value,
                    "bank_hottest_c": site.get("hottest").value,
                    **site.fields(),
                }
            ),
            supply=Supply(**{"hz": int(default("supply.hz")), **supply.fields()}),
            loads=tuple(Load(index=index, **load.fields()) for index, load in enumerate(loads)),
            need=Need(**need),
            reserve=Reserve(**values["reserve"].fields()),
            space=Space(**values["space"].fields()),
            allow=Allow(**values["allow"].fields()),
            water=Water(**values["water"].fields()) if "water" in content else Water(),
            weather=weather,
            replay=replay,
            on_hand=on_hand,
            written=self.written,
            stated=frozenset(self.written),
            digest=f"sha256:{hashlib.sha256(self.source.encode()).hexdigest()}",
            lines=self.written_at,
        )

    def values(self, value: object, kind: str, path: Steps, dotted: str, missing: bool = False) -> Stated:
        """Read the values of one table. A required table that is not there is one problem, not one for each key."""
        keys = KEYS[kind]
        values = Stated(path)
        required = [name for name, key in keys.items() if key.required]
        table = self.as_table(value, path, f"[[{kind}]]" if kind == "load" else f"[{kind}]")
        if table is None:
            values.there = set(keys)
            return values
        if missing:
            if required:
                lines = ", ".join(f"{name} = {keys[name].example}" for name in required)
                self.report("missing-key", path, key=f"a table [{kind}]", meaning=f"with {', '.join(required)}",
                            example=f"[{kind}] with {lines}")  # fmt: skip
                values.there = set(keys)  # no rule asks again for what would stand in it
            return values
        values.there = set(table) | self.unknown_keys(table, path, keys)
        for name, key in keys.items():
            if name in table:
                read = read_value(table[name], key, self.own.get(key.unit, ""))
                if isinstance(read, Fault):
                    self.keep(read, (*path, name), table[name])
                    continue
                values.read[name] = read
                values.written[name] = table[name]
                self.note(f"{dotted}.{name}".lstrip("."), (*path, name), table[name])
            elif key.required and name not in values.there and (kind != "site" or name not in self.by_file):
                self.keep(missing_key(name, key, self.own.get(key.unit, "")), (*path, name))
        return values

    def weather(self, weather: Stated | None, site: Stated | None) -> Weather | None:
        """The weather file as it was read, what the site takes from it put into ``site``."""
        if site is None or (weather is None and site.get("coldest") != FROM_FILE):
            return None
        from optimizer.inputs.job_weather import read_weather

        found, problems = read_weather(self.file, weather, site)
        for problem in problems:
            if isinstance(problem, Problem):
                self.problems.append(problem)
            else:
                self.keep(*problem)
        if isinstance(cold := site.get("coldest"), Quantity) and self.written.get("site.coldest") == FROM_FILE:
            self.written["site.coldest"] = cold.text
        return found

    def _name_loads(self, tables: object) -> None:
        """Call each load in problems by its name, where it has one of its own."""
        loads = tables if isinstance(tables, list) else []
        found = [table.get("name") if isinstance(table, dict) else None for table in loads]
        names = [name.strip() if isinstance(name, str) else "" for name in found]
        self.names |= {("load", place): name for place, name in enumerate(names) if name and names.count(name) == 1}

    def note(self, dotted: str, path: Steps, value: object) -> None:
        """Remember a value as written, and its line."""
        self.written[dotted] = written(value)
        self.written_at[dotted] = line_of(self.lines, path)

    def loads(self, tables: object, named_otherwise: bool) -> list[Stated]:
        """All loads."""
        example = "[[load]] with name, voltage, running and energy_per_day"
        if named_otherwise:
            return []
        if tables is None or tables == []:
            self.report("missing-key", ("load",), key="at least one [[load]]", meaning="what is to be run",
                        example=example)  # fmt: skip
            return []
        if not isinstance(tables, list):
            self.report("wrong-type", ("load",), expected="[[load]] in double brackets", example=example)
            return []
        loads: list[Stated] = []
        first: dict[str, int] = {}
        for index, table in enumerate(tables):
            stated = table.get("name") if isinstance(table, dict) else None
            name = stated.strip() if isinstance(stated, str) else str(index + 1)
            load = self.values(table, "load", ("load", index), f"load.{name}")
            if isinstance(table, dict):
                loads.append(load)
            if "name" in load.read and first.setdefault(name, index) != index:
                other = line_of(self.lines, ("load", first[name], "name"))
                self.report("doubled-name", ("load", index, "name"), stated, other=str(other))
        return loads

    def on_hand(self, value: object) -> dict[str, int]:
        """Parts already owned."""
        pieces: dict[str, int] = {}
        for part, stated in (
            self.as_table(value, ("on_hand",), "[on_hand]", '[on_hand] with "part-id" = 4') or {}
        ).items():
            read = read_value(stated, ON_HAND)
            if isinstance(read, Fault):
                self.keep(read, ("on_hand", part), stated)
            else:
                pieces[part] = int(str(read))
                self.note(f"on_hand.{part}", ("on_hand", part), stated)
        return pieces


def check_names(job: Job, catalog: Catalog) -> tuple[Problem, ...]:
    """Parts on hand, excluded parts and allowed sellers that the catalogue does not have."""
    parts = {part for table in catalog.tables.values() for part in table.part}
    sellers = set(catalog.offers.seller) | set(catalog.sellers)
    named = [
        *((f"on_hand.{part}", part, "a part", parts) for part in job.on_hand),
        *(("allow.exclude", part, "a part", parts) for part in job.allow.exclude),
        *(("allow.sellers", seller, "a seller", sellers) for seller in job.allow.sellers or ()),
    ]
    return in_order(
        Fault("unknown-name", {"what": what, "perhaps": perhaps(name, sorted(known)[:LOOKED_AT])})
        .at(Place(str(job.path), job.lines.get(key), None, key, name))
        for key, name, what, known in named
        if name not in known
    )  # fmt: skip
