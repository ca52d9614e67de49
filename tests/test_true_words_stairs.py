"""A staircase ends where the catalogue or the pump does, and says so; cut short, it says that too."""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog.reader import read_catalog
from optimizer.answers import afford
from optimizer.answers.budget_staircase import FARTHEST
from optimizer.answers.stair_quantity import StairQuantity
from optimizer.inputs.job_reader import read_job
from optimizer.writing.text.afford import afford_page
from tests.small_files import write_catalog

# a pump that runs for minutes a day: it could pump two hundred times the water in a day
JOB = """\
[site]
coldest = "-9 degC"
hottest = "37 degC"
sun_hours = 5
bank_coldest = "5 degC"

[supply]
kind = "120/240"

[[load]]
name = "bore pump"
voltage = "240 V"
running = "5 A"
starting = "15 A"
water_per_day = "{water}"
flow = "40 L/min"
"""


def page_of(folder: Path, water: str, to: float | None = None) -> str:
    path = folder / "job.toml"
    path.write_text(JOB.format(water=water), encoding="utf-8")
    found = afford(read_job(path), read_catalog(write_catalog(folder / "catalog")), most="water", to=to)
    return " ".join(afford_page(found).split("OPTION")[0].split())


def test_water_goes_on_beyond_ten_times_the_stated(tmp_path: Path) -> None:
    said = page_of(tmp_path, "600 L", to=100_000)  # 0.25 h a day: at most 96 times as much
    most = max(float(word.replace(",", "")) for word, sign in zip(said.split(), said.split()[1:], strict=False)
               if sign == "%" and word.replace(",", "").replace(".", "").isdigit())  # fmt: skip
    assert most > 1000
    assert "No bundle carries more than the last: a pump would have to run" in said or "No bundle of this" in said


def test_ten_stairs_say_that_they_were_cut(tmp_path: Path) -> None:
    said = page_of(tmp_path, "600 L", to=150)
    assert "It goes on" in said and "No bundle" not in said


def test_the_farthest_step_is_no_end_of_the_catalogue(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(FARTHEST, StairQuantity.WATER, 1_100)
    said = page_of(tmp_path, "600 L", to=100_000)
    assert "It is cut there" in said and "No bundle" not in said
