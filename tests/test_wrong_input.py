"""Forty faults over all files of one catalogue and a job are forty problems, and each one's mend cures that one.

The mend is applied where the problem says it is: the cell or line at its place gets the right value, or the row goes.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import pytest

from catalog.cells import letter
from catalog.reader import catalog_files, check_catalog
from optimizer.inputs.job_reader import check_job
from optimizer.vocabulary.problems import Problem
from optimizer.writing.words.problems import expected_text, mend_text, problems_text
from tests.small_files import CATALOG, JOB, cells_of, csv_text, write_catalog


@dataclass(frozen=True)
class CellFault:
    """A wrong cell: the row with this number (1 = headings)."""

    kind: str
    file: str
    row: int
    column: str
    cell: str


@dataclass(frozen=True)
class RowFault:
    """A wrong row at the end of a file."""

    kind: str
    file: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class LineFault:
    """A wrong line of the job in the place of a right one; empty where the line is left out."""

    kind: str
    right: str
    wrong: str


PANEL_COPY = tuple(cells_of(CATALOG["panels.csv"])[3])

FAULTS: tuple[CellFault | RowFault | LineFault, ...] = (
    CellFault("decimal-comma", "panels.csv", 2, "voc_v", "37,4"),
    CellFault("missing-value", "panels.csv", 2, "isc_a", ""),
    CellFault("unknown-value", "panels.csv", 2, "listed", "maybe"),
    CellFault("long-cell", "panels.csv", 2, "note", "long" * 2000),
    CellFault("columns-disagree", "panels.csv", 3, "pmax_w", "900"),
    CellFault("columns-disagree", "panels.csv", 4, "vmp_v", "41"),
    CellFault("not-finite", "panels.csv", 4, "weight_kg", "inf"),
    RowFault("doubled-part", "panels.csv", PANEL_COPY),
    CellFault("columns-disagree", "converters.csv", 2, "surge_va", "5000"),
    CellFault("not-whole", "converters.csv", 2, "trackers", "2.5"),
    CellFault("unknown-value", "converters.csv", 2, "hz", "60;55"),
    CellFault("columns-disagree", "converters.csv", 3, "tracker_top_v", "600"),
    CellFault("columns-disagree", "converters.csv", 3, "leg_va", "9000"),
    CellFault("unknown-value", "converters.csv", 4, "bank_class_v", "36"),
    CellFault("unknown-value", "batteries.csv", 2, "chemistry", "lpf"),
    CellFault("columns-disagree", "batteries.csv", 3, "min_v", "60"),
    CellFault("out-of-range", "batteries.csv", 4, "usable_pct", "0.5"),
    CellFault("unknown-value", "racks.csv", 2, "mount", "ground_ballast"),
    RowFault("ragged-row", "racks.csv", ("rk-c", "roof", "1200")),
    CellFault("out-of-range", "extras.csv", 2, "quantity", "-2"),
    CellFault("unknown-value", "starters.csv", 2, "motors", "three wire;psc"),
    CellFault("unknown-column", "tanks.csv", 1, "footprint_mm", "footprint_mn"),
    CellFault("not-cents", "prices.csv", 2, "price", "139.005"),
    CellFault("not-a-date", "prices.csv", 2, "as_of", "1.10.2026"),
    CellFault("stock-differs", "prices.csv", 4, "stock", "30"),
    CellFault("two-currencies", "prices.csv", 6, "currency", "EUR"),
    RowFault("unknown-part", "prices.csv", ("nobody", "north", "5", "USD", "", "", "", "2026-10-01")),
    RowFault("doubled-seller", "sellers.csv", ("east", "200")),
    LineFault("unknown-unit", 'coldest = "14 degF"', 'coldest = "14 F"'),
    LineFault("missing-unit", 'hottest = "37 degC"', "hottest = 37"),
    LineFault("twelve-values", "sun_hours = [3.1, 3.9, 4.8, 5.4, 5.9, 6.3, 6.4, 6.1, 5.3, 4.3, 3.3, 2.8]",
              "sun_hours = [3.1, 3.9, 4.8, 5.4, 5.9, 6.3, 6.4, 6.1, 5.3, 4.3, 3.3]"),
    LineFault("restart-missing", 'restart = "staggered"', ""),
    LineFault("decimal-comma", 'running = "8.1 A"', 'running = "8,1 A"'),
    LineFault("to-do", 'flow = "38 L/min"', 'flow = "?"'),
    LineFault("supply-voltage", 'voltage = "240 V"', 'voltage = "400 V"'),
    LineFault("doubled-name", 'name = "lights"', 'name = "booster"'),
    LineFault("energy-ways", 'energy_per_day = "1.1 kWh"', ""),
    LineFault("unknown-key", "autonomy_days = 1.0", "autonmy_days = 1.0"),
    LineFault("out-of-range", "current = 0.25", "current = 0.1"),
    LineFault("not-whole", '"pn-410" = 4', '"pn-410" = 4.5'),
)  # fmt: skip


class Files:
    """The files of a catalogue and a job, open to change."""

    def __init__(self) -> None:
        self.tables = {name: cells_of(text) for name, text in CATALOG.items()}
        self.job = JOB.split("\n")

    def seed(self, fault: CellFault | RowFault | LineFault) -> None:
        """Put one fault in."""
        match fault:
            case CellFault():
                column = cells_of(CATALOG[fault.file])[0].index(fault.column)
                self.tables[fault.file][fault.row - 1][column] = fault.cell
            case RowFault():
                self.tables[fault.file].append(list(fault.cells))
            case LineFault():
                assert JOB.split("\n").count(fault.right) == 1
                self.job[JOB.split("\n").index(fault.right)] = fault.wrong

    def mend(self, fault: CellFault | RowFault | LineFault, problem: Problem) -> None:
        """Do what the problem says, at the place it says."""
        place = problem.place
        assert place.row is not None
        match fault:
            case CellFault():
                right = cells_of(CATALOG[place.file])
                column = next(i for i in range(len(right[0])) if letter(i) == place.column)
                assert self.tables[place.file][place.row - 1][column] == place.cell
                self.tables[place.file][place.row - 1][column] = right[place.row - 1][column]
            case RowFault():
                assert self.tables[place.file][place.row - 1] == list(fault.cells)
                del self.tables[place.file][place.row - 1]
            case LineFault():
                # a line that is left out goes back where it was; the problem names its table's heading
                line = JOB.split("\n").index(fault.right) + 1
                assert place.row == line if fault.wrong else place.row < line
                self.job[line - 1] = fault.right

    def check(self, folder: Path) -> list[Problem]:
        """All problems of the files."""
        write_catalog(folder, {name: csv_text(rows) for name, rows in self.tables.items()})
        job = folder / "job.toml"
        job.write_text("\n".join(self.job))
        return [*check_catalog(folder)[0], *check_job(job)[1]]


def identity(problem: Problem) -> tuple[str, str, int | None, str | None, str | None]:
    """What tells two problems apart. A load is called by its name, which mending the name changes: its line tells."""
    place = problem.place
    name = None if place.name and place.name.startswith("load") else place.name
    return (problem.kind.id, place.file, place.row, place.column, name)


def test_the_files_are_right_before_anything_is_seeded(tmp_path: Path) -> None:
    assert Files().check(tmp_path) == []


def test_forty_faults_are_forty_problems_in_one_run(tmp_path: Path) -> None:
    files = Files()
    for fault in FAULTS:
        files.seed(fault)
    found = files.check(tmp_path)
    assert len(FAULTS) == 40
    assert len({fault.file for fault in FAULTS if not isinstance(fault, LineFault)}) == len(CATALOG)
    assert Counter(p.kind.id for p in found) == Counter(fault.kind for fault in FAULTS)
    text = problems_text(found, len(catalog_files(tmp_path)) + 1)
    assert text.splitlines()[-1] == "40 problems in 10 of 10 files; nothing was solved."
    assert max(map(len, text.splitlines())) <= max(80, len(str(tmp_path)) + 80)
    for problem in found:
        assert "{" not in expected_text(problem) + mend_text(problem)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.kind)
def test_a_fault_alone_is_one_problem_and_mended_none(fault: CellFault | RowFault | LineFault, tmp_path: Path) -> None:
    files = Files()
    files.seed(fault)
    found = files.check(tmp_path)
    assert [p.kind.id for p in found] == [fault.kind]
    files.mend(fault, found[0])
    assert files.check(tmp_path) == []


def test_each_mend_among_forty_cures_its_fault_and_brings_no_other(tmp_path: Path) -> None:
    def all_seeded() -> Files:
        files = Files()
        for fault in FAULTS:
            files.seed(fault)
        return files

    forty = all_seeded().check(tmp_path)
    before = {identity(problem) for problem in forty}
    assert len(before) == 40
    for fault in FAULTS:
        alone = Files()
        alone.seed(fault)
        (problem,) = alone.check(tmp_path)
        files = all_seeded()
        files.mend(fault, problem)
        after = {identity(left) for left in files.check(tmp_path)}
        assert before - after == {identity(problem)}
        assert after < before
