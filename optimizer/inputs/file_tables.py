"""A TOML or JSON file as tables and single values, everything that is wrong with it collected with its place."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterable, Mapping
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any, ClassVar

from catalog.cells import encoding_of, first_bad_line
from optimizer.inputs.job_values import written
from optimizer.inputs.toml_lines import Steps, key_lines, line_of
from optimizer.vocabulary.bounded_files import file_fault, read_bounded
from optimizer.vocabulary.control_signs import one_line
from optimizer.vocabulary.problems import Fault, Place, Problem, meant, perhaps

MOST = 1_000_000  # of anything in a bundle
HUGE_CENTS = 10**15

_TOML_PLACE = re.compile(r" \(at line (\d+), column \d+\)| \(at end of document\)")
_JSON_PLACE = re.compile(r": line (\d+) column \d+.*")

FileValue = Any  # what a parser of TOML or JSON made of a value: anything may stand in a file until it is checked
FileTable = Mapping[str, FileValue]


class FileTables:
    """One file: its source, its content, and the problems found on the way; the base of each sort of file's reader."""

    largest: ClassVar[int]  # bytes
    holds: ClassVar[str]  # what is expected where the file is empty
    may_be_json: ClassVar[bool] = False

    def __init__(self, file: str) -> None:
        self.file = file
        self.source = ""
        self.lines: Mapping[Steps, int] = {}
        self.problems: list[Problem] = []
        self.names: dict[Steps, str] = {}  # of the tables in lists that have one
        self.misspelt: set[Steps] = set()  # keys that stand there under a name that is like theirs

    # problems -----------------------------------------------------------------------------------------------

    def report(self, kind: str, path: Steps, cell: object = None, **slots: str) -> None:
        """Keep a problem at a key."""
        self.keep(Fault(kind, slots), path, cell)

    def keep(self, fault: Fault, path: Steps, cell: object = None) -> None:
        """Keep a fault at a key; tables in a list are called by their name, else by their number, counted from 1. Of a
        list only the item that is wrong is shown, where the fault says which."""
        words: list[str] = []
        for place, step in enumerate(path):
            if isinstance(step, int):
                name = self.names.get(path[: place + 1], "")
                words[-1] += f".{name}" if name else f" {step + 1}"
            else:
                words.append(step)
        text = fault.slots.get("item", None if cell is None else written(cell))
        self.problems.append(fault.at(Place(self.file, line_of(self.lines, path), None, ".".join(words) or None, text)))

    def missing(self, path: Steps, meaning: str, example: str) -> None:
        """Report a key that is not there, nor misspelt."""
        if any(path[:end] in self.misspelt for end in range(1, len(path) + 1)):
            return
        name = ".".join(str(step) for step in path if isinstance(step, str))
        self.report("missing-key", path, key=name, meaning=meaning, example=example)

    # the file -----------------------------------------------------------------------------------------------

    def content(self) -> dict[str, FileValue]:
        """The file's content; an empty table where it cannot be read."""
        try:
            data = read_bounded(self.file, self.largest)
        except OSError as error:
            self.keep(file_fault(error), ())
            return {}
        if encoding := encoding_of(data):
            self.problems.append(Fault("not-utf8", {"encoding": encoding}).at(Place(self.file, first_bad_line(data))))
            return {}
        self.source = data.decode("utf-8-sig").replace("\r\n", "\n")
        if not self.source.strip():
            self.report("empty-file", (), content=self.holds)
            return {}
        as_json = self.may_be_json and (Path(self.file).suffix == ".json" or self.source.lstrip().startswith("{"))
        found = self._json() if as_json else self._toml()
        if isinstance(found, dict):
            return found
        if not self.problems:
            self.report("wrong-type", (), expected="one object in braces", example='{"models": {...}, ...}')
        return {}

    def _json(self) -> FileValue:
        try:
            return json.loads(self.source, object_pairs_hook=_no_doubles, parse_constant=_no_constant)
        except (ValueError, RecursionError) as error:
            self._syntax("json-syntax", error, _JSON_PLACE)

    def _toml(self) -> FileValue:
        try:
            content = tomllib.loads(self.source)
        except (ValueError, RecursionError) as error:
            self._syntax("toml-syntax", error, _TOML_PLACE)
        else:
            self.lines = key_lines(self.source)
            return content

    def _syntax(self, kind: str, error: Exception, place: re.Pattern[str]) -> None:
        """Report that the file cannot be parsed; the parser's reason ends with the place."""
        reason = str(error) if isinstance(error, ValueError) else "it is nested too deeply"
        found = place.search(reason)
        row = int(found[1]) if found and found[1] else None
        self.syntax(Fault(kind, {"reason": reason[: found.start()] if found else reason}), row, found is not None)

    def syntax(self, fault: Fault, row: int | None, placed: bool) -> None:
        """Keep what the parser says. ``row`` None although it is ``placed``: at the end of the file."""
        self.problems.append(fault.at(Place(self.file, row)))

    # single values ------------------------------------------------------------------------------------------

    def unknown_keys(self, table: FileTable, path: Steps, known: Iterable[str]) -> set[str]:
        """Report keys that mean nothing here, with the closest that do. Returns the absent ones that were meant."""
        known = list(known)
        absent = [name for name in known if name not in table]
        suspects = set()
        for key in table:
            if key not in known:
                near = perhaps(key, absent)
                if near and (likely := meant(key, absent)):
                    suspects.add(likely)
                self.report("unknown-key", (*path, key), table[key], known=", ".join(known), perhaps=near)
        self.misspelt |= {(*path, name) for name in suspects}
        return suspects

    def as_table(self, value: object, path: Steps, heading: str, example: str = "") -> dict[str, FileValue] | None:
        """A value that must be a table; None where it is none."""
        if isinstance(value, dict):
            return value
        self.report("wrong-type", path, value, expected=f"a table {heading}", example=example or heading)
        return None

    def table(self, content: FileTable, path: Steps, known: Iterable[str]) -> FileTable:
        """A table of the content, its keys checked; empty where it is not there."""
        name = str(path[-1])
        table = self.as_table(content.get(name, {}), path, f"[{name}]") or {}
        self.unknown_keys(table, path, known)
        return table

    def tables(self, content: FileTable, path: Steps, known: Iterable[str]) -> list[tuple[int, FileTable]] | None:
        """The tables of a list with their positions, their keys checked; None where there is no list."""
        name = str(path[-1])
        entries = content.get(name)
        if entries is None:
            return None
        if not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
            self.report("wrong-type", path, entries, expected=f"tables [[{name}]]", example=f"[[{name}]]")
            return []
        for position, entry in enumerate(entries):
            self.unknown_keys(entry, (*path, position), known)
        return list(enumerate(entries))

    def whole(
        self, table: FileTable, path: Steps, meaning: str, *, required: bool = False, least: int = 1
    ) -> int | None:
        """A whole number of something, or None."""
        name = str(path[-1])
        value = table.get(name)
        if value is None:
            if required:
                self.missing(path, meaning, f"{name} = 1, with the right number.")
        elif isinstance(value, bool) or not isinstance(value, int | float):
            self.report("wrong-type", path, value, expected=f"a whole number: {meaning}", example=f"{name} = 1")
        elif not least <= value <= MOST:  # what is not a number at all is not between them either
            self.report("out-of-range", path, value, range=f"{least} to {MOST:,}", meaning=meaning,
                        perhaps="")  # fmt: skip
        elif value != int(value):
            self.report("not-whole", path, value, meaning=meaning)
        else:
            return int(value)
        return None

    def text(self, table: FileTable, path: Steps, meaning: str) -> str:
        """A text that must be there."""
        value, name = table.get(str(path[-1])), str(path[-1])
        if value is None:
            self.missing(path, meaning, f'{name} = "..."')
        elif not isinstance(value, str):
            self.report("wrong-type", path, value, expected=f"a text in quotes: {meaning}", example=f'{name} = "..."')
        else:
            return one_line(value)
        return ""

    def cents(self, table: FileTable, path: Steps, meaning: str, required: bool = False) -> int | None:
        """Money as a number or a text with at most two decimals, in cents."""
        value, name = table.get(str(path[-1])), str(path[-1])
        if value is None:
            if required:
                self.missing(path, meaning, f"{name} = 7200.00, with the right amount.")
            return None
        plain = isinstance(value, int | float) and not isinstance(value, bool)
        if not plain and not (isinstance(value, str) and re.fullmatch(r"[0-9]{1,15}(\.[0-9]*)?", value)):
            self.report("wrong-type", path, value, expected=f"an amount: {meaning}", example=f"{name} = 7200.00")
            return None
        try:
            exact = Decimal(str(value)) * 100
            whole = int(exact)
        except (InvalidOperation, ValueError, OverflowError):
            self.report("not-finite", path, value, meaning=meaning)
            return None
        if whole != exact:
            self.report("not-cents", path, value)
        elif not 0 <= whole <= HUGE_CENTS:
            self.report("out-of-range", path, value, range=f"0 to {HUGE_CENTS // 100:,}", meaning=meaning,
                        perhaps="")  # fmt: skip
        else:
            return whole
        return None


def _no_doubles(pairs: list[tuple[str, FileValue]]) -> dict[str, FileValue]:
    """A JSON object; the same key twice is refused, since only one of them could count. What is null is not stated."""
    table = dict(pairs)
    if len(table) < len(pairs):
        names = [name for name, _ in pairs]
        raise ValueError(f"the key {next(n for n in names if names.count(n) > 1)!r} stands twice in one object")
    return {name: value for name, value in table.items() if value is not None}


def _no_constant(name: str) -> FileValue:
    raise ValueError(f"{name} is not a number")
