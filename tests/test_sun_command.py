"""``borewatt sun``: what a weather file says of its place, on the terminal, as JSON and as a drawing."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from optimizer import answers
from optimizer.weather.weather_file import TILTS
from optimizer.writing.data.sun_json import sun_document
from optimizer.writing.text.sun import sun_page
from tests.command_line import run
from tests.weather_files import GREEN_SLOPE, SAND_FLAT, cell, spoilt, station


def document(*words: object) -> dict[str, object]:
    result = run("sun", *words, "--json", "-")
    assert result.exit_code == 0, result.output
    found: dict[str, object] = json.loads(result.stdout)
    return found


def test_the_page_of_a_published_year() -> None:
    """Its months on 55 deg are kept figures; the dates of its darkest days are read off its hours."""
    page = run("sun", station("723170"), "--tilt", "55 deg", "--azimuth", "180 deg").stdout
    assert "723170TYA.CSV" in page and "a typical year" in page and "36.1 N, 79.95 W" in page
    assert " 3.81  4.36  4.79  4.96  4.48  4.59  4.62  4.83  4.63  4.58  3.78  3.96" in page
    assert "5  28 December          1.02          26 %" in page
    assert "it holds one typical year; its lowest hour, -16.7 degC, is no extreme" in " ".join(page.split())
    assert max(map(len, page.splitlines())) <= 80


def test_without_a_tilt_it_is_the_one_that_serves_the_darkest_month_best() -> None:
    found = document(station("723170"))
    rows = {row["tilt_deg"]: row["darkest_sun_hours"] for row in found["tilts"]}  # type: ignore[attr-defined]
    assert list(rows) == list(TILTS)
    assert rows[55.0] == max(rows.values()) and found["best_tilt_deg"] == 55.0
    assert found["plane"] == {"tilt_deg": 55.0, "azimuth_deg": 180.0, "ground": 0.2, "tilt_chosen": True}
    assert min(found["sun_hours"]) == rows[55.0]  # type: ignore[call-overload]
    each = document(station("723170"), "--tilt", "30 deg")
    assert min(each["sun_hours"]) == rows[30.0]  # type: ignore[call-overload]


def test_south_of_the_equator_it_faces_north() -> None:
    assert document(GREEN_SLOPE)["plane"]["azimuth_deg"] == 0.0  # type: ignore[index]


def test_the_keys_of_the_document() -> None:
    found = document(SAND_FLAT, "--tilt", "40 deg", "--azimuth", "0 deg", "--ground", "0.3")
    assert len(found["sun_hours"]) == 12  # type: ignore[arg-type]
    assert [row["days"] for row in found["darkest"]] == [1, 3, 5, 7, 14]  # type: ignore[attr-defined]
    assert set(found["darkest"][0]) == {"days", "from", "sun_hours", "share"}  # type: ignore[index]
    assert found["hottest"] == {"value": 43, "basis": "its header's mean of the yearly highest"}
    assert found["coldest"] == {"value": -4.5, "basis": "its header's mean of the yearly lowest", "lowest_hour": -2.5,
                                "lowest_of_20_years": -8.5}  # fmt: skip
    assert [note["kind"] for note in found["notes"]] == ["weather-azimuth"]  # type: ignore[attr-defined]
    why = document(station("723170"))["coldest"]
    assert why["value"] is None and "one typical year" in why["basis"]  # type: ignore[index]


def test_the_command_says_what_the_function_finds(tmp_path: Path) -> None:
    found = answers.sun(SAND_FLAT, "20 deg", "200 deg")
    result = run("sun", SAND_FLAT, "--tilt", "20 deg", "--azimuth", "200 deg", "--json", tmp_path / "a.json")
    assert result.stdout == sun_page(found)
    assert (tmp_path / "a.json").read_text() == sun_document(found)


def test_what_stands_there_for_the_job_is_what_was_asked(tmp_path: Path) -> None:
    path = spoilt(SAND_FLAT, tmp_path / "a.epw", cell(1, 8, "-6.5"))
    page = run("sun", path, "--tilt", "20 deg", "--utc-offset", "-7 h", "--ground", "0.3", "--fill").stdout
    block = page[page.index("[weather]") :].splitlines()
    assert block == ["[weather]", 'file = "a.epw"', 'tilt = "20 deg"', 'azimuth = "180 deg"', "ground = 0.3",
                     'utc_offset = "-7 h"', 'gaps = "fill"']  # fmt: skip


def test_wrong_options_are_said_all_at_once() -> None:
    result = run("sun", SAND_FLAT, "--tilt", "91 deg", "--azimuth", "south", "--utc-offset", "5.5")
    assert result.exit_code == 2
    assert [name for name in ("--tilt", "--azimuth", "--utc-offset") if name not in result.stderr] == []


def test_a_wrong_file_is_refused(tmp_path: Path) -> None:
    result = run("sun", spoilt(SAND_FLAT, tmp_path / "a.epw", cell(1, 8, "-6.5")))
    assert (result.exit_code, result.stdout) == (2, "")
    assert "weather-clock" in result.stderr and 'utc_offset = "-7 h"' in result.stderr


def test_nothing_is_written_over_the_file(tmp_path: Path) -> None:
    path = tmp_path / "a.epw"
    path.write_bytes(SAND_FLAT.read_bytes())
    for option in ("--json", "--plot"):
        assert run("sun", path, option, path).exit_code == 2
    assert path.read_bytes() == SAND_FLAT.read_bytes()


@pytest.mark.parametrize("path", [SAND_FLAT, GREEN_SLOPE], ids=lambda path: path.stem)
def test_the_drawing_has_every_month_and_every_day(path: Path, tmp_path: Path) -> None:
    """Twelve bars, one of them black; a stroke for each of 365 days; and the darkest week in its frame."""
    assert run("sun", path, "--plot", tmp_path / "a.svg").exit_code == 0
    root = ElementTree.fromstring((tmp_path / "a.svg").read_text())
    space = "{http://www.w3.org/2000/svg}"
    fills = [box.get("fill") for box in root.iter(f"{space}rect")]
    assert fills.count("#000") == 1 and len(fills) - fills.count("none") == 12 and fills.count("none") >= 1
    strokes = max((str(each.get("d")) for each in root.iter(f"{space}path")), key=len)
    assert strokes.count("M") == 365
    texts = [each.text or "" for each in root.iter(f"{space}text")]
    assert any(text.startswith("darkest 7 days from ") for text in texts)
    assert root.find(f"{space}title") is not None and root.find(f"{space}desc") is not None
