"""A folder of small jobs and price lists for the tests of refresh, and the command run in it.

The job is the small one without its booster, its budget and its parts on hand. By hand, at the prices of
``small_files``: cv-8k 2,050 + bt-280 2,200 + freight of east 210; 12 pn-550 at 189 = 2,268 + 14 rk-a at 62 = 868 +
4 cb-1 at 48 = 192 + freight of north 95: 7,883.00. The next is 15 pn-410 at 139 = 2,085 with 17 rk-a = 1,054: 7,886.00.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tests.command_line import run
from tests.small_files import CATALOG, JOB, cells_of, csv_text, write_catalog

_BOOSTER = JOB[JOB.index('[[load]]\nname = "booster"') : JOB.index('[[load]]\nname = "lights"')]
SMALL_JOB = JOB.replace(_BOOSTER, "").replace("budget = 9500\n", "").replace('[on_hand]\n"pn-410" = 4\n', "")
TOTAL = "7883.00"


def write_jobs(folder: Path, names: tuple[str, ...], text: str = SMALL_JOB) -> Path:
    """A catalogue ``parts`` and jobs ``NAME/job.toml`` below ``jobs``; the folder of the jobs."""
    write_catalog(folder / "parts")
    for name in names:
        (folder / "jobs" / name).mkdir(parents=True)
        (folder / "jobs" / name / "job.toml").write_text(text.replace("Nursery borehole", name), encoding="utf-8")
    return folder / "jobs"


def prices(folder: Path, name: str, moves: Mapping[tuple[str, str], str | None], column: str = "price") -> Path:
    """A price list with cells changed, by part and the cell it has now; None takes the row out."""
    rows = cells_of(CATALOG["prices.csv"])
    place = rows[0].index(column)
    for (part, now), cell in moves.items():
        row = next(row for row in rows if row[0] == part and row[place] == now)
        if cell is None:
            rows.remove(row)
        else:
            row[place] = cell
    path = folder / name
    path.write_text(csv_text(rows), encoding="utf-8")
    return path


def answers(folder: Path) -> dict[str, bytes]:
    """Every file below a folder that is no job, by its path there."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.suffix != ".toml"
    }


def told(folder: Path, *words: str | Path) -> dict[str, Any]:
    """What a refresh tells as JSON, with its jobs by the name of their folder."""
    report: dict[str, Any] = json.loads(run("refresh", folder, "--json", "-", *words).stdout)
    report["jobs"] = {job["job"].split("/")[0]: job for job in report["jobs"]}
    return report
