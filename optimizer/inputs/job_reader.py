"""The reader of a job file: every problem of it at once, each with its line."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from catalog.cells import encoding_of
from catalog.offers import LOOKED_AT
from catalog.reader import Catalog
from optimizer.inputs.job import Allow, Job, Load, Need, Reserve, Site, Space, Supply, Water
from optimizer.inputs.job_checks import Stated, job_breaches
from optimizer.inputs.job_schema import KEYS, ON_HAND, TABLES, missing_key, read_value, written
from optimizer.inputs.toml_lines import key_lines, line_of
from optimizer.vocabulary.defaults import default
from optimizer.vocabulary.problems import (
    CLOSE_ENOUGH,
    LONGEST_CELL,
    Fault,
    InputError,
    Place,
    Problem,
    closest,
    in_order,
    perhaps,
)

LARGEST_JOB = 1_000_000  # bytes; a job is a page of text


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
        suspects = self.unknown_keys(top, (), [*KEYS[""], *TABLES], set(content))
        head = self.table(top, "", (), "", known_only=True)
        values = {
            name: self.table(content.get(name, {}), name, (name,), name, missing=name not in content)
            for name in TABLES
            if name not in ("load", "on_hand") and name not in suspects
        }
        loads = self.loads(content.get("load"), "load" in suspects)
        on_hand = self.on_hand(content.get("on_hand", {}))
        for breach in job_breaches(values.get("site"), values.get("supply"), loads):
            self.report(*breach)
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
            water=Water(**values["water"].fields()) if "water" in content else Water(),
            on_hand=on_hand,
            written=self.written,
            stated=frozenset(self.written),
            digest=f"sha256:{hashlib.sha256(self.text.encode()).hexdigest()}",
            lines=self.lines,
        )

    def unknown_keys(
        self, table: Mapping[str, Any], path: tuple[str | int, ...], known: list[str], there: set[str]
    ) -> set[str]:
        """Report keys that are not known. Returns those they were probably meant to be, which are not ``there``."""
        meant = set()
        for key in table:
            if key in known:
                continue
            likely = closest(key, [name for name in known if name not in there], CLOSE_ENOUGH)
            near = likely or closest(key, known, 0.0) or known[0]
            self.report(Fault("unknown-key", {"known": ", ".join(known), "closest": near}), (*path, key), table[key])
            if likely:
                meant.add(likely)
        return meant

    def table(
        self, table: object, kind: str, path: tuple[str | int, ...], dotted: str,
        missing: bool = False, known_only: bool = False,
    ) -> Stated:  # fmt: skip
        """Read the values of one table. A required table that is not there is one problem, not one for each key."""
        keys = KEYS[kind]
        values = Stated(path)
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
                values.there = set(keys)  # no rule asks again for what would stand in it
            return values
        values.there = set(table)
        if not known_only:
            values.there |= self.unknown_keys(table, path, list(keys), set(table))
        for name, key in keys.items():
            if name in table:
                value = read_value(table[name], key)
                if isinstance(value, Fault):
                    self.report(value, (*path, name), table[name])
                    continue
                values.read[name] = value
                values.written[name] = table[name]
                self.note(f"{dotted}.{name}".lstrip("."), (*path, name), table[name])
            elif key.required and name not in values.there:
                self.report(missing_key(name, key), (*path, name))
        return values

    def note(self, dotted: str, path: tuple[str | int, ...], value: object) -> None:
        """Remember a value as written, and its line."""
        self.written[dotted] = written(value)
        self.lines[dotted] = line_of(self.key_lines, path)

    def loads(self, tables: object, named_otherwise: bool) -> list[Stated]:
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
        loads: list[Stated] = []
        first: dict[str, int] = {}
        for index, table in enumerate(tables):
            stated = table.get("name") if isinstance(table, dict) else None
            name = stated.strip() if isinstance(stated, str) else str(index + 1)
            load = self.table(table, "load", ("load", index), f"load.{name}")
            if isinstance(table, dict):
                loads.append(load)
            if "name" in load.read and first.setdefault(name, index) != index:
                other = {"other": str(first[name] + 1)}
                self.report(Fault("doubled-name", other), ("load", index, "name"), stated)
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
