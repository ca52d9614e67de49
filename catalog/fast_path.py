"""The fast road through a tidy CSV file: whole columns at once; where anything is odd it gives up."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping, Sequence
from io import BytesIO

import numpy as np

from catalog.cells import letter, near_column, text_fault
from catalog.schema import Column, TableSpec
from catalog.sheet_data import LONGEST_LINE, CsvSheet, SheetReading
from optimizer.vocabulary.problems import LONGEST_CELL, Fault, Place, Problem

# ------------------------------------------------------------------------------------------ the fast road


def read_fast(data: bytes, spec: TableSpec, file: str) -> SheetReading | None:
    """Read a file that is in order. None as soon as anything looks odd. ``data`` is UTF-8 with LF line ends."""
    data = data if data.endswith(b"\n") else data + b"\n"
    buffer = np.frombuffer(data, dtype=np.uint8)
    ends = np.flatnonzero(buffer == ord("\n"))
    starts = np.concatenate(([0], ends[:-1] + 1))
    longest = int((ends - starts).max())
    if longest > LONGEST_LINE:
        return None
    kept = np.flatnonzero((ends > starts) & (buffer[starts] != ord("#")))
    if len(kept) < 2:
        return None

    def per_line(sign: str) -> np.ndarray:
        seen = np.searchsorted(np.flatnonzero(buffer == ord(sign)), ends)
        counts: np.ndarray = np.diff(seen, prepend=0)[kept]
        return counts

    def line(number: int) -> str:
        return data[starts[number] : ends[number]].decode()

    quoted = per_line('"') > 0
    try:
        headings = [heading.strip() for heading in next(csv.reader([line(kept[0])], strict=True))]
        for number in kept[quoted]:
            if len(next(csv.reader([line(number)], strict=True))) != len(headings):
                return None
    except csv.Error:
        return None
    known = spec.by_name
    extra = [heading for heading in headings if heading not in known]
    if (
        (per_line(",")[~quoted] != len(headings) - 1).any()
        or len(set(headings)) != len(headings)
        or any(not heading or len(heading) > LONGEST_CELL or near_column(heading, spec) for heading in extra)
        or any(column.required and column.name not in headings for column in spec.columns)
    ):
        return None

    if len(kept) == len(ends):
        body = data[ends[0] + 1 :]
    else:
        body = b"".join(data[starts[number] : ends[number] + 1] for number in kept[1:])
    numeric = [heading for heading in headings if heading in known and known[heading].numeric]
    if body.startswith(_BOM):
        return None
    if len(body) < LARGE:
        values = _columns(body.decode(), headings, [heading in numeric for heading in headings], bool(quoted.any()))
    else:
        values = _large_columns(body, headings, numeric)
    if values is None or len(values[headings[0]]) != len(kept) - 1:
        return None
    tidy = (
        buffer.max() < 0x80
        and not ((buffer < ord(" ")) & (buffer != ord("\n"))).any()
        and not any(mark in data for mark in _UNTIDY)
    )
    values = {heading: column for heading, column in values.items() if heading in known}
    if any(_odd(values[heading], known[heading], longest, tidy) for heading in values):
        return None
    sheet = sheet_of(spec, file, values, {h: letter(i) for i, h in enumerate(headings)}, kept[1:] + 1)
    if any(rule.breaks(sheet.columns, sheet.taken).any() for rule in spec.rules):
        return None
    return SheetReading(sheet, [], ignored(extra, file, int(kept[0]) + 1))


LARGE = 2_000_000  # bytes from which a file is read as a large one: speed only
_TRUTHS = (b"true", b"True", b"TRUE", b"false", b"False", b"FALSE")  # a column of these alone is read as 1 and 0
_BOM = b"\xef\xbb\xbf"  # before the first row it is taken for the file's own
_SIGNS = b"0123456789.+-eE"  # that a number is written with
_UNTIDY = (b", ", b" ,", b" \n", b"\n ", b'" ', b' "', b'"#')  # a file without these has no spaces at a cell's ends
_ODD_ENDS = re.compile(r"^#|^[^\S\n]|[^\S\n]$", re.MULTILINE)  # a comment, or spaces at either end


def _columns(body: str, headings: Sequence[str], numeric: Sequence[bool], quoted: bool) -> dict[str, np.ndarray] | None:
    """The cells of each column, numbers as float64 with NaN where a cell is empty; None where a row falls apart or a
    cell is no number. Each number is the one that Python makes of its text. ``quoted``: whether any cell is; where none
    is, every row has a comma between its cells and nowhere else."""
    body, width = body.rstrip("\n"), len(headings)
    try:
        if quoted:
            rows = list(csv.reader(body.split("\n"), strict=True))
            columns: list[Sequence[str]] = list(zip(*rows, strict=True))
        else:
            cells = body.replace("\n", ",").split(",")
            columns = [cells[place::width] for place in range(width)]
        return {
            heading: _figures(cells) if figures else np.array(cells, dtype=object)
            for heading, cells, figures in zip(headings, columns, numeric, strict=True)
        }
    except (csv.Error, ValueError):
        return None


def _large_columns(body: bytes, headings: Sequence[str], numeric: Sequence[str]) -> dict[str, np.ndarray] | None:
    """The same of a large file, by a library that takes longer to load than a small one to read."""
    import pandas as pd

    if any(word in body for word in _TRUTHS):
        return None
    try:
        frame = pd.read_csv(
            BytesIO(body), header=None, names=list(headings), index_col=False, skip_blank_lines=False,
            dtype={heading: np.float64 if heading in numeric else object for heading in headings},
            keep_default_na=False, na_values={heading: [""] for heading in numeric},
        )  # fmt: skip
    except (ValueError, OverflowError):
        return None
    return {heading: frame[heading].to_numpy() for heading in headings}


def _figures(cells: Sequence[str]) -> np.ndarray:
    """Numbers, NaN where a cell is empty. Raises ValueError where one is none; Python takes more for a number than a
    cell may hold ("1_0", "nan", other digits), so no other sign may be among them."""
    joined = "".join(cells)
    if not joined:
        return np.full(len(cells), np.nan)
    if joined.encode().translate(None, _SIGNS):
        raise ValueError("a sign that no number has")
    whole = cells if all(cells) else [cell or "nan" for cell in cells]
    return np.fromiter(map(float, whole), dtype=np.float64, count=len(cells))


def _odd(values: np.ndarray, column: Column, longest: int, tidy: bool) -> bool:
    """Whether anything in a column needs a closer look.

    No cell is longer than ``longest``, the longest line; in a ``tidy`` file none begins or ends oddly.
    """
    if column.numeric:
        stated = values[~np.isnan(values)]
        return bool(
            (column.required and len(stated) < len(values))
            or np.isinf(stated).any()
            or (column.choices and not np.isin(stated, [float(choice) for choice in column.choices]).all())
            or (not column.choices and column.outside(stated).any())
            or (column.type == "whole" and (stated != np.rint(stated)).any())
            or (column.decimals is not None and column.too_fine(stated).any())
        )
    texts = set(values)
    return bool(
        (column.required and "" in texts)
        or (not tidy and _ODD_ENDS.search("\n".join(texts)))
        or (longest > LONGEST_CELL and max(map(len, texts)) > LONGEST_CELL)
        or (column.type not in ("part", "text") and any(text_fault(text, column) for text in texts - {""}))
    )


def sheet_of(
    spec: TableSpec, file: str, values: Mapping[str, Sequence[float | str] | np.ndarray], letters: Mapping[str, str],
    row: Sequence[int] | np.ndarray,
) -> CsvSheet:  # fmt: skip
    """Arrays of every column, defaults filled in. ``values`` holds NaN or "" where a cell is empty."""
    size = len(row)
    columns: dict[str, np.ndarray] = {}
    taken: dict[str, np.ndarray] = {}
    for column in spec.columns:
        given = values.get(column.name)
        if column.numeric:
            array = np.full(size, np.nan) if given is None else np.asarray(given, dtype=np.float64)
            empty = np.isnan(array)
        else:
            array = np.full(size, "", dtype=object)
            if given is not None:
                array[:] = given
            empty = array == ""
        if column.type == "yes-no":
            array = array == "yes"
        if column.default:
            filled = np.broadcast_to(np.asarray(column.default.fill(columns), dtype=array.dtype), (size,))
            array = np.where(empty, filled, array)
            taken[column.name] = empty
        columns[column.name] = array
    return CsvSheet(spec, file, columns, taken, np.asarray(row, dtype=np.int64), letters)


def ignored(extra: Sequence[str], file: str, row: int) -> list[Problem]:
    if not extra:
        return []
    return [Fault("ignored-columns", {"columns": ", ".join(heading or "(no heading)" for heading in extra)})
            .at(Place(file, row))]  # fmt: skip
