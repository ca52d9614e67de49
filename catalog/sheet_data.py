"""One CSV file as read: its columns as arrays, what was taken by default, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from catalog.schema import TableSpec
from optimizer.vocabulary.problems import LONGEST_CELL, Place, Problem

LONGEST_LINE = 5 * LONGEST_CELL  # bytes; a longer line goes the careful road


@dataclass
class CsvSheet:
    """The rows of one file, in file order. A cell that could not be read is NaN or "".

    ``loose_parts`` are the ids of rows that could not be read as a whole; ``nameless`` counts rows whose id could not
    be read; ``whole_file`` is False where no id of the file can be relied on.
    """

    spec: TableSpec
    file: str
    columns: dict[str, np.ndarray]
    taken: dict[str, np.ndarray]
    row: np.ndarray
    letters: Mapping[str, str] = field(default_factory=dict)
    loose_parts: list[tuple[str, int]] = field(default_factory=list)
    nameless: int = 0
    whole_file: bool = True

    def place(self, position: int, column: str, cell: str) -> Place:
        """The place of a cell by its row's position in the sheet."""
        return Place(self.file, int(self.row[position]), self.letters.get(column), column, cell)


@dataclass
class SheetReading:
    """What came of reading one file."""

    sheet: CsvSheet
    problems: list[Problem] = field(default_factory=list)
    warnings: list[Problem] = field(default_factory=list)
