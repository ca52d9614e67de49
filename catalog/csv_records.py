"""A CSV text as rows with the numbers that a spreadsheet gives them; a row that falls apart hides no other."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass

from optimizer.vocabulary.problems import LONGEST_CELL, Fault


@dataclass(frozen=True)
class CsvRow:
    """One row as text: its number, its cells, and what is wrong with the row as a whole."""

    row: int
    cells: list[str]
    fault: Fault | None = None


def csv_rows(text: str) -> Iterator[CsvRow]:
    """The rows of a CSV text, comments and blank rows left out but counted; a line break in quotes is not counted.

    After a quote that is never closed, reading goes on at the next line, so that one bad row hides no other.
    """
    lines = text.split("\n")
    at, row = 0, 0
    while at < len(lines):
        row += 1
        line = lines[at]
        if line.lstrip().startswith("#"):
            at += 1
            continue
        if '"' not in line:
            at += 1
            cells, fault = line.split(","), None
        else:
            feed = _Feed(lines, at)
            reader = csv.reader(feed, strict=True)
            try:
                cells, fault = next(reader), None
                at = feed.at
            except csv.Error as error:
                # too long a cell within one line is that; everything else is a quote
                long = len(line) > LONGEST_CELL and "limit" in str(error)
                slots = {"most": str(LONGEST_CELL), "length": f"about {len(line)}"}
                fault = Fault("long-cell", slots) if long else Fault("open-quote")
                cells = line.replace('"', "").split(",") if not long else []
                at += 1
        cells = [cell.strip() for cell in cells]
        if fault or (any(cells) and not cells[0].startswith("#")):
            yield CsvRow(row, cells, fault)


class _Feed:
    """Lines for one row of the csv module, with line ends, counting how many it took."""

    def __init__(self, lines: list[str], at: int) -> None:
        self.lines, self.at = lines, at

    def __iter__(self) -> _Feed:
        return self

    def __next__(self) -> str:
        if self.at >= len(self.lines):
            raise StopIteration
        self.at += 1
        return self.lines[self.at - 1] + "\n"
