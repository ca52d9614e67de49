"""One CSV file: read by two roads that agree.

The fast road reads columns and looks whether anything at all is odd. If so the careful road reads the file again as
text and says cell by cell what is wrong. A file that the careful road finds clean gives the same sheet on both.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

import numpy as np

from catalog.cells import encoding_of, first_bad_line, letter, long_cell, near_column, plain_number, read_cell
from catalog.csv_records import CsvRow, csv_rows
from catalog.fast_path import ignored, read_fast, sheet_of
from catalog.schema import Column, RowRule, TableSpec
from catalog.sheet_data import LONGEST_LINE, CsvSheet, SheetReading
from catalog.slips import HELD_AGAINST, likely_slip, of_one_row
from catalog.usual import makes_sense, usual_alone
from optimizer.vocabulary.problems import LONGEST_CELL, Fault, Place, Problem


def read_sheet(data: bytes, spec: TableSpec, file: str) -> SheetReading:
    """Read the bytes of one file, line ends already LF, as a table of ``spec``; ``file`` is its name in problems."""
    fault = _encoding_fault(data)
    if fault is None:
        data = data.removeprefix(b"\xef\xbb\xbf")
        return read_fast(data, spec, file) or read_carefully(data.decode(), spec, file)
    return SheetReading(_no_rows(spec, file), [fault.at(Place(file, first_bad_line(data)))])


def _no_rows(spec: TableSpec, file: str, whole_file: bool = False) -> CsvSheet:
    sheet = sheet_of(spec, file, {column.name: [] for column in spec.columns}, {}, [])
    sheet.whole_file = whole_file
    return sheet


def empty_sheet(spec: TableSpec, file: str) -> CsvSheet:
    """The sheet of an optional file that is not there."""
    return _no_rows(spec, file, whole_file=True)


def _encoding_fault(data: bytes) -> Fault | None:
    encoding = encoding_of(data)
    return Fault("not-utf8", {"encoding": encoding}) if encoding else None


# ------------------------------------------------------------------------------------------ the careful road


def read_carefully(text: str, spec: TableSpec, file: str) -> SheetReading:
    """Read a file cell by cell and say everything that is wrong with it."""
    rows = csv_rows(text)
    heading = next(rows, None)
    if heading is None:
        content = f"a heading row with {', '.join(column.name for column in spec.columns if column.required)}"
        return SheetReading(_no_rows(spec, file), [Fault("empty-file", {"content": content}).at(Place(file))])
    if fault := _separator_fault(heading, text, spec):
        return SheetReading(_no_rows(spec, file), [fault.at(Place(file, heading.row))])
    if heading.fault:
        return SheetReading(_no_rows(spec, file), [heading.fault.at(Place(file, heading.row))])
    problems, warnings, where = _read_headings(heading, spec, file)
    letters = {name: letter(position) for name, position in where.items()}
    return _read_rows(rows, spec, file, heading, where, letters, problems, warnings)


def _separator_fault(heading: CsvRow, text: str, spec: TableSpec) -> Fault | None:
    """A heading row that makes sense with another separator than the comma."""
    joined = ",".join(heading.cells)
    if len(joined) > LONGEST_LINE:
        return None
    for sign, name in ((";", "semicolons"), ("\t", "tabs")):
        found = {cell.strip().strip('"') for cell in joined.split(sign)} & set(spec.by_name)
        if len(found) > 1 and len(found) > len(set(heading.cells) & set(spec.by_name)):
            comma = " and decimal commas" if re.search(r"[0-9],[0-9]", text[: 50 * LONGEST_CELL]) else ""
            return Fault("not-commas", {"separator": name, "comma": comma})
    return None


def _read_headings(heading: CsvRow, spec: TableSpec, file: str) -> tuple[list[Problem], list[Problem], dict[str, int]]:
    """What is wrong with the heading row, what is ignored, and at which position each known column stands."""
    problems: list[Problem] = []
    extra: list[str] = []
    where: dict[str, int] = {}
    spoken_for: set[str] = set()  # columns that stand under a faulty heading: not missing besides
    seen: dict[str, list[int]] = {}
    for position, name in enumerate(heading.cells):
        if name:
            seen.setdefault(name, []).append(position)
        place = Place(file, heading.row, letter(position), name[:80] or None, name)
        if len(name) > LONGEST_CELL:
            problems.append(long_cell(name).at(place))
        elif name in spec.by_name:
            where.setdefault(name, position)
        elif near := near_column(name, spec):
            problems.append(Fault("unknown-column", {"closest": near}).at(place))
            spoken_for.add(near)
        elif name or position < len(heading.cells) - 1:
            extra.append(name)
    for name, positions in seen.items():
        if name in where and len(positions) > 1:
            both = ", ".join(letter(position) for position in positions)
            place = Place(file, heading.row, letter(positions[1]), name, name)
            problems.append(Fault("doubled-column", {"column": name, "columns": both}).at(place))
            del where[name]
            spoken_for.add(name)
    for column in spec.columns:
        if column.required and column.name not in where and column.name not in spoken_for:
            slots = {"column": column.name, "meaning": column.meaning}
            problems.append(Fault("missing-column", slots).at(Place(file, heading.row, None, column.name)))
    return problems, ignored(extra, file, heading.row), where


def _read_rows(
    rows: Iterator[CsvRow], spec: TableSpec, file: str, heading: CsvRow, where: dict[str, int],
    letters: dict[str, str], problems: list[Problem], warnings: list[Problem],
) -> SheetReading:  # fmt: skip
    """The rows under the headings: every cell, then the row rules where all cells of a rule could be read."""
    values: dict[str, list[float | str]] = {name: [] for name in where}
    numbers: list[int] = []
    texts: list[list[str]] = []
    faulty: dict[str, set[int]] = {}
    loose: list[tuple[str, int]] = []
    key = where.get(spec.key)
    width = len(heading.cells)
    read = set(where.values())
    nameless = 0
    for record in rows:
        cells = record.cells
        fault = record.fault
        if fault is None and len(cells) != width:
            fault = Fault("ragged-row", {"expected": str(width), "found": str(len(cells))})
        if fault:
            problems.append(fault.at(Place(file, record.row)))
            if key is not None and key < len(cells) and cells[key]:
                loose.append((cells[key], record.row))
            else:
                nameless += 1
            continue
        position = len(numbers)
        numbers.append(record.row)
        texts.append(cells)
        for name, at in where.items():
            column = spec.by_name[name]
            value = _cell_or_fault(cells[at], column)
            if isinstance(value, Fault):
                if value.kind == "out-of-range":
                    value = _with_slip(value, spec, column, where, cells)
                problems.append(value.at(Place(file, record.row, letters[name], name, cells[at])))
                faulty.setdefault(name, set()).add(position)
                value = np.nan if column.numeric else ""
                nameless += name == spec.key
            values[name].append(value)
        for at, cell in enumerate(cells):
            if at not in read and len(cell) > LONGEST_CELL:
                problems.append(long_cell(cell).at(Place(file, record.row, letter(at), None, cell)))
    sheet = sheet_of(spec, file, values, letters, numbers)
    _unfill(sheet, faulty)
    problems += _broken_rules(sheet, where, texts, faulty)
    sheet.loose_parts, sheet.nameless, sheet.whole_file = loose, nameless, key is not None
    if not numbers and not loose and not problems and spec.needed:
        problems.append(Fault("empty-file", {"content": "at least one row below the headings"}).at(Place(file)))
        sheet.whole_file = False
    return SheetReading(sheet, problems, warnings)


def _cell_or_fault(text: str, column: Column) -> float | str | Fault:
    if text:
        return read_cell(text, column)
    if column.required:
        return Fault("missing-value", {"meaning": column.meaning})
    return np.nan if column.numeric else ""


def _with_slip(fault: Fault, spec: TableSpec, column: Column, where: Mapping[str, int], cells: list[str]) -> Fault:
    """The fault of a number out of range, with the likely slip of its unit."""
    row = {name: plain_number(cells[where[name]]) for name in (column.name, *HELD_AGAINST) if name in where}
    alone = usual_alone(spec.kind, column.name)

    def would_do(name: str, meant: float) -> bool:
        return alone is None or not alone.outside({name: np.array([meant])}).any()

    return Fault(fault.kind, {**fault.slots, "perhaps": likely_slip([column], row, would_do)})


def _unfill(sheet: CsvSheet, faulty: Mapping[str, set[int]]) -> None:
    """Take back the defaults of faulty cells, and those worked out from one, so that no rule judges them."""
    spoilt: dict[str, set[int]] = {name: set(positions) for name, positions in faulty.items()}
    for column in sheet.spec.columns:
        hit = spoilt.setdefault(column.name, set())
        if column.default:
            empty = sheet.taken[column.name]
            hit |= {p for need in column.default.needs for p in spoilt.get(need, ()) if empty[p]}
        for position in hit:
            if column.numeric:
                sheet.columns[column.name][position] = np.nan
            if column.name in sheet.taken:
                sheet.taken[column.name][position] = False


def _broken_rules(
    sheet: CsvSheet, where: Mapping[str, int], texts: list[list[str]], faulty: Mapping[str, set[int]]
) -> list[Problem]:
    """Row rules that do not hold. Cells that are faulty or of a broken rule are not judged: one fault, one problem."""
    problems = []
    blamed = {(position, name) for name, positions in faulty.items() for position in positions}
    by_name = sheet.spec.by_name

    def sources(name: str, position: int) -> set[tuple[int, str]]:
        """The cells that a value comes from: its own, or those of its default."""
        default = by_name[name].default
        if default and sheet.taken[name][position]:
            return {cell for need in default.needs for cell in sources(need, position)}
        return {(position, name)}

    for rule in sheet.spec.rules:
        for position in np.flatnonzero(rule.breaks(sheet.columns, sheet.taken)):
            cells = set().union(*(sources(name, int(position)) for name in rule.columns))
            if cells & blamed:
                continue
            blamed |= cells
            figures = ", ".join(f"{name} {_shown(sheet.columns[name][position])}" for name in rule.columns)
            first = next(name for name in (*rule.columns, *where) if name in where)
            place = sheet.place(int(position), first, texts[position][where[first]])
            slots = {"rule": rule.meaning, "name": rule.name, "values": figures,
                     "perhaps": _slip_of_rule(sheet, rule, int(position))}  # fmt: skip
            problems.append(Fault("columns-disagree", slots).at(place))
    return problems


def _shown(value: float | str) -> str:
    return value if isinstance(value, str) else "empty" if np.isnan(value) else f"{value:g}"


def _slip_of_rule(sheet: CsvSheet, rule: RowRule, position: int) -> str:
    """The likely slip of the unit of a stated cell that would mend a broken rule."""
    one = {name: array[position : position + 1] for name, array in sheet.columns.items()}
    taken = {name: mask[position : position + 1] for name, mask in sheet.taken.items()}

    defaults = {name for name, mask in taken.items() if mask[0]}

    def would_do(name: str, meant: float) -> bool:
        changed = {**one, name: np.array([meant])}
        return not rule.breaks(changed, taken).any() and makes_sense(sheet.spec.kind, changed, defaults, name)

    columns = [sheet.spec.by_name[name] for name in rule.columns]
    stated = [column for column in columns if column.numeric and column.name not in defaults]
    return likely_slip(stated, of_one_row(one, 0), would_do)


def read_row(spec: TableSpec, file: str, cells: Mapping[str, str]) -> tuple[CsvSheet, list[Problem]]:
    """One row given as texts by column name, as the careful road reads it; its problems name the column."""
    heading = CsvRow(1, list(cells))
    where = {name: position for position, name in enumerate(cells)}
    missing = [
        Fault("missing-value", {"meaning": column.meaning}).at(Place(file, None, None, column.name))
        for column in spec.columns
        if column.required and column.name not in cells
    ]
    rows = iter([CsvRow(2, list(cells.values()))])
    reading = _read_rows(rows, spec, file, heading, where, dict.fromkeys(cells, ""), missing, [])
    return reading.sheet, reading.problems
