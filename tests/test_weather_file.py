"""Weather files: each form gives the same year; each fault is refused alone, with its place and a mend that cures it;
what open files are known to have wrong."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from random import Random

import numpy as np
import pytest

from optimizer.vocabulary.problem_kinds import KINDS
from optimizer.vocabulary.problems import InputError, Problem
from optimizer.vocabulary.weather_problems import WEATHER_PROBLEMS
from optimizer.weather.plane import Plane
from optimizer.weather.weather_file import Correction, WeatherFile
from optimizer.writing.words.problems import expected_text, mend_text
from tests.seeds import by_seeds
from tests.weather_files import (
    AIR,
    DHI,
    DNI,
    EPW_ABOVE,
    GHI,
    GREEN_SLOPE,
    SAND_FLAT,
    SOUTH,
    Hour,
    cell,
    hourly,
    hours_of,
    in_utc,
    problems_of,
    spoilt,
    station,
    write_epw,
    write_pvgis,
    write_pvgis_hourly,
    years_of,
    zeros,
)

LATITUDE, LONGITUDE = 36.1, -79.95  # of the station 723170
JUNE_NOON = EPW_ABOVE + (151 + 9) * 24 + 13  # the row of 10 June, the hour that ends at 13:00
pytestmark = pytest.mark.usefixtures("no_cache")


@pytest.fixture
def no_cache(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every reading is a first one."""
    monkeypatch.setenv("BOREWATT_CACHE", "")


@pytest.fixture(scope="module")
def hours() -> list[Hour]:
    return hours_of("723170")


def words(problem: Problem) -> str:
    """What is said of a problem."""
    return f"{expected_text(problem)} {mend_text(problem)}"


def kinds(problems: list[Problem]) -> list[str]:
    return [problem.kind.id for problem in problems]


# forms -------------------------------------------------------------------------------------------------------------


def test_epw_is_the_same_year_as_tmy3(tmp_path: Path, hours: list[Hour]) -> None:
    """The hour 1 of EPW and 01:00 of TMY3 are both the hour from 00:00."""
    by_epw = years_of(write_epw(tmp_path / "a.epw", hours, LATITUDE, LONGITUDE, -5.0))
    by_tmy3 = years_of(station("723170"))
    assert np.array_equal(by_epw.plane, by_tmy3.plane) and np.array_equal(by_epw.air, by_tmy3.air)
    assert (by_epw.kind, by_epw.utc_offset_h, by_epw.notes) == ("a typical year", -5.0, ())


@pytest.mark.parametrize("name", ["year.csv", "year.json"])
def test_pvgis_is_the_same_year_by_the_clock_of_its_longitude(tmp_path: Path, hours: list[Hour], name: str) -> None:
    """Its rows are in UTC, of one instant. Of half past each hour these are; only sunrise and sunset differ."""
    years = years_of(write_pvgis(tmp_path / name, in_utc(hours, -5), LATITUDE, LONGITUDE))
    assert years.utc_offset_h == -5.0
    assert years.sun_hours == pytest.approx(years_of(station("723170")).sun_hours, rel=0.01)
    assert np.array_equal(years.air, years_of(station("723170")).air)
    assert kinds(list(years.notes)) == ["weather-zone"]
    assert "UTC-5" in words(years.notes[0])


def test_pvgis_gives_the_same_figures_as_csv_and_as_json(tmp_path: Path, hours: list[Hour]) -> None:
    moved = in_utc(hours, -5)
    by_csv = years_of(write_pvgis(tmp_path / "year.csv", moved, LATITUDE, LONGITUDE))
    by_json = years_of(write_pvgis(tmp_path / "year.json", moved, LATITUDE, LONGITUDE))
    assert np.array_equal(by_csv.plane, by_json.plane) and np.array_equal(by_csv.cells, by_json.cells)


def test_whole_years_of_pvgis(tmp_path: Path) -> None:
    """The beam on the level is turned to the sun; 29 February is left out, and that is said."""
    years = years_of(write_pvgis_hourly(tmp_path / "a.csv", [hourly(y, 45.0, 8.0) for y in (2019, 2020)], 45.0, 8.0))
    assert (years.count, years.years, years.kind) == (2, (2019, 2020), "the years 2019 to 2020")
    assert {note.kind.id: dict(note.slots) for note in years.notes}["weather-leap-day"] == {"count": "24"}
    level = years_of(tmp_path / "a.csv", Plane(0.0, 180.0, 0.2))
    assert level.plane.max() == pytest.approx(790 * np.cos(np.radians(45 - 23.45)), rel=0.01)


def test_ten_years_state_a_coldest_and_nine_do_not(tmp_path: Path) -> None:
    """The mean of the yearly lowest: of -1 to -10 it is -5.5."""
    ten = [hourly(2004 + n, 45.0, 8.0, -float(n)) for n in range(1, 11)]
    found = years_of(write_pvgis_hourly(tmp_path / "ten.csv", ten, 45.0, 8.0)).coldest
    assert found.stated and found.mean_lowest_c == pytest.approx(-5.5)
    nine = years_of(write_pvgis_hourly(tmp_path / "nine.csv", ten[:9], 45.0, 8.0)).coldest
    assert not nine.stated and nine.basis == "9 years"


def test_a_typical_year_states_no_coldest_unless_its_header_does(tmp_path: Path, hours: list[Hour]) -> None:
    assert not years_of(station("723170")).coldest.stated
    assert years_of(station("723170")).coldest.lowest_c == -16.7
    extremes = "Extremes,9,8,7,24.5,{low},{high},3.8,1.8,-14,38,-16,39,-18.5,40,-20,41"
    for low, high in ((-12.5, 36.9), (36.9, -12.5)):  # in some files the two stand the wrong way round
        design = f"DESIGN CONDITIONS,1,Climate,,{extremes.format(low=low, high=high)}"
        path = write_epw(tmp_path / "a.epw", hours, LATITUDE, LONGITUDE, -5.0, design)
        years = years_of(path)
        assert (years.coldest.mean_lowest_c, years.coldest.lowest_20y_c) == (-12.5, -18.5)
        assert years.hottest_c == 36.9  # above its highest hour, 35.6
    assert years_of(station("723170")).hottest_c == 35.6


def test_the_darkest_days_go_round_the_years_end() -> None:
    """Read off the station's hours: the five days from 28 December come to 1.02 kWh/m2 a day, 26 % of December's."""
    years = years_of(station("723170"))
    run = years.darkest(5)
    assert run.date == (28, 11)
    assert (run.sun_hours, run.share) == pytest.approx((1.02, 0.26), abs=0.005)
    daily = years.plane.reshape(365, 24).sum(axis=1) / 1000
    for days in (1, 3, 7, 14):
        sums = [sum(daily[(first + n) % 365] for n in range(days)) for first in range(365)]
        assert years.darkest(days).first == int(np.argmin(sums))
        assert years.darkest(days).sun_hours == pytest.approx(min(sums) / days)
    week = years.darkest(7)
    assert week.first + 7 > 365, "the case goes round the end"


# refusals ----------------------------------------------------------------------------------------------------------

# kind, what is changed of the invented year of sand-flat.epw, what its place and its words hold
REFUSALS: dict[str, tuple[str, Callable[[list[str]], object], str]] = {
    "no header": ("weather-format", lambda lines: lines.pop(0), "known by what stands in it"),
    "a row lost": ("weather-hours", lambda lines: lines.pop(4999), "the row of 27 July 23:00"),
    "a row twice": ("weather-hours", lambda lines: lines.insert(4999, lines[4999]), "found 2002,7,27,24,60"),
    "rows exchanged": ("weather-hours", lambda lines: lines.insert(100, lines.pop(101)), "the row of 4 January 20:00"),
    "the end lost": ("weather-hours", lambda lines: lines.__delitem__(slice(8000, None)), "the end of the file"),
    "no such hour": ("weather-hours", cell(5000, 3, "25"), "27 July 23:00"),
    "no ghi": ("weather-missing", cell(JUNE_NOON, GHI, "9999"), "light on the level"),
    "empty dni": ("weather-missing", cell(JUNE_NOON, DNI, ""), "beam square to it"),
    "dhi not a number": ("weather-missing", cell(JUNE_NOON, DHI, "NaN"), "light of the sky"),
    "air not known": ("weather-missing", cell(JUNE_NOON, AIR, "99.9"), "temperature of the air"),
    "words for air": ("weather-missing", cell(JUNE_NOON, AIR, "warm"), "temperature of the air"),
    "too bright": ("weather-range", cell(JUNE_NOON, GHI, "1501"), "from -5 to 1500"),
    "below a sensor's offset": ("weather-range", cell(EPW_ABOVE + 1, DHI, "-6"), "from -5 to 1500"),
    "too hot": ("weather-range", cell(JUNE_NOON, AIR, "71"), "from -60 to 70"),
    "latitude's sign lost": ("weather-place", cell(1, 6, "-34.0"), "tried with latitude 34"),
    "longitude's sign lost": ("weather-place", cell(1, 7, "106.5"), "tried with longitude -106.5"),
    "zone's sign lost": ("weather-place", cell(1, 8, "7.0"), "or a zone of -7 h"),
    "no latitude": ("weather-place", cell(1, 6, ""), "found: no latitude" ),
    "latitude 91": ("weather-place", cell(1, 6, "91"), "latitude from -90 to 90 deg"),
    "zone 15": ("weather-place", cell(1, 8, "15"), "zone from -14 to 14 h"),
    "zone half an hour off": ("weather-clock", cell(1, 8, "-6.5"), 'utc_offset = "-7 h"'),
    "zone an hour off": ("weather-clock", cell(1, 8, "-8"), "1 h off its clock"),
    "a day of zeros": ("weather-gap", zeros(JUNE_NOON - 12, 24), "10 June"),
    "three hours of zeros": ("weather-gap", zeros(JUNE_NOON, 3), "3 hours in a row from 10 June 12:00"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSALS)
def test_a_file_spoilt_in_one_way_is_refused_for_that_alone(name: str, tmp_path: Path) -> None:
    kind, change, said = REFUSALS[name]
    found = problems_of(spoilt(SAND_FLAT, tmp_path / "a.epw", change))
    assert kinds(found) == [kind]
    assert said in words(found[0])
    assert "{" not in words(found[0])


def test_the_invented_years_are_whole() -> None:
    assert problems_of(SAND_FLAT) == problems_of(GREEN_SLOPE, Plane(40.0, 0.0, 0.2)) == []


def test_every_kind_of_refusal_has_a_case() -> None:
    elsewhere = {"weather-half-hourly", "weather-plane", "weather-latin1"}
    refused = {fields[0] for fields in WEATHER_PROBLEMS if fields[0].startswith("weather-")}
    said = {"weather-leap-day", "weather-night-offset", "weather-filled", "weather-zone", "weather-azimuth",
            "weather-sun-hours", "weather-no-sun"}  # fmt: skip
    assert refused - said - elsewhere == {kind for kind, _, _ in REFUSALS.values()}
    assert refused <= set(KINDS)


def test_the_place_of_a_figure_is_its_row_column_and_cell(tmp_path: Path) -> None:
    """Column N is the fourteenth."""
    (found,) = problems_of(spoilt(SAND_FLAT, tmp_path / "a.epw", cell(JUNE_NOON, GHI, "9999")))
    place = found.place
    assert (place.file, place.row, place.column, place.cell) == (str(tmp_path / "a.epw"), JUNE_NOON, "N", "9999")


def test_all_faults_are_said_at_once(tmp_path: Path) -> None:
    def all_of_them(lines: list[str]) -> None:
        for change in (cell(JUNE_NOON, GHI, ""), cell(3000, AIR, "80"), cell(1, 8, "-6"), zeros(JUNE_NOON + 48, 5)):
            change(lines)

    found = problems_of(spoilt(SAND_FLAT, tmp_path / "a.epw", all_of_them))
    assert sorted(kinds(found)) == ["weather-clock", "weather-gap", "weather-missing", "weather-range"]


def test_light_in_kilowatts_is_called_by_its_unit(tmp_path: Path, hours: list[Hour]) -> None:
    small: list[Hour] = [(*at, ghi / 1000, dni / 1000, dhi / 1000, air) for *at, ghi, dni, dhi, air in hours]  # type: ignore[misc]
    (found,) = problems_of(write_epw(tmp_path / "a.epw", small, LATITUDE, LONGITUDE, -5.0))
    assert found.kind.id == "weather-range" and "it may be in kW/m2" in words(found)


def test_half_hours_are_refused(tmp_path: Path) -> None:
    def twice(lines: list[str]) -> None:
        rows = [line for line in lines[EPW_ABOVE:] if line]
        lines[EPW_ABOVE:] = [
            ",".join([*row.split(",")[:4], minute, *row.split(",")[5:]]) for row in rows for minute in ("30", "60")
        ]

    (found,) = problems_of(spoilt(SAND_FLAT, tmp_path / "a.epw", twice))
    assert found.kind.id == "weather-half-hourly" and "30 min apart. Download the hourly one" in words(found)


@pytest.mark.parametrize("slope", ["Slope: 30 deg. ", "Slope: 35 deg. (optimum)"])
def test_a_tilted_plane_is_refused(tmp_path: Path, slope: str) -> None:
    (found,) = problems_of(write_pvgis_hourly(tmp_path / "a.csv", [hourly(2019, 45.0, 8.0)], 45.0, 8.0, slope))
    assert found.kind.id == "weather-plane" and "with slope 0" in words(found)


def as_json(path: Path, mounting: Mapping[str, object]) -> Path:
    """An hourly CSV of PVGIS as its JSON."""
    lines = path.read_text().splitlines()
    at = next(n for n, line in enumerate(lines) if line.startswith("time,"))
    names = lines[at].split(",")
    cells = [line.split(",") for line in lines[at + 1 : lines.index("", at)]]
    rows = [{"time": row[0]} | dict(zip(names[1:], map(float, row[1:]), strict=True)) for row in cells]
    location = {"latitude": 45.0, "longitude": 8.0, "elevation": 20.0}
    inputs = {"location": location, "mounting_system": mounting}
    target = path.with_suffix(".json")
    target.write_text(json.dumps({"inputs": inputs, "outputs": {"hourly": rows}, "meta": {"inputs": {}}}))
    return target


def test_hourly_years_as_json(tmp_path: Path) -> None:
    """The same as the CSV; a slope, or a plane that follows the sun, is refused."""
    path = write_pvgis_hourly(tmp_path / "a.csv", [hourly(2019, 45.0, 8.0), hourly(2020, 45.0, 8.0)], 45.0, 8.0)
    same = years_of(as_json(path, {"fixed": {"slope": {"value": 0, "optimal": False}}}))
    assert np.array_equal(same.plane, years_of(path).plane) and same.years == (2019, 2020)
    for mounting in ({"fixed": {"slope": {"value": 30}}}, {"two_axis": {"slope": {"value": "-"}}}):
        (found,) = problems_of(as_json(path, mounting))
        assert found.kind.id == "weather-plane"


def test_a_leap_year_of_epw(tmp_path: Path, hours: list[Hour]) -> None:
    """8,784 rows: those of 29 February are left out, and the others are as they were."""
    leap = [(1988, 2, 29, hour, 500.0, 500.0, 500.0, 9.0) for hour in range(24)]
    years = years_of(
        write_epw(tmp_path / "a.epw", [*hours[: 59 * 24], *leap, *hours[59 * 24 :]], LATITUDE, LONGITUDE, -5.0)
    )
    assert np.array_equal(years.plane, years_of(station("723170")).plane)
    assert kinds(list(years.notes)) == ["weather-leap-day"]


def test_a_total_without_its_components_is_refused(tmp_path: Path) -> None:
    path = write_pvgis_hourly(tmp_path / "a.csv", [hourly(2019, 45.0, 8.0)], 45.0, 8.0)
    path.write_text(path.read_text().replace("Gb(i),Gd(i),Gr(i)", "G(i),P,Gr(i)"))
    (found,) = problems_of(path)
    assert found.kind.id == "weather-plane" and "with the components" in words(found)


@pytest.mark.parametrize(("content", "kind"), [
    ("", "empty-file"), ("{", "json-syntax"), ("{}", "weather-format"),
    ('{"outputs": {"hourly": 3}}', "weather-format"),
    ("a,b\n1,2\n", "weather-format"), ("Latitude (decimal degrees): 1\n", "weather-format"),
    ("LOCATION,x,-,-,-,0,34,-106,-7,0\n", "weather-hours"),
])  # fmt: skip
def test_what_is_no_weather_file_is_refused(tmp_path: Path, content: str, kind: str) -> None:
    path = tmp_path / "a.txt"
    path.write_text(content)
    assert kinds(problems_of(path)) == [kind]


def test_what_cannot_be_opened_is_refused(tmp_path: Path) -> None:
    assert kinds(problems_of(tmp_path / "none.epw")) == ["unreadable-file"]
    assert kinds(problems_of(tmp_path)) == ["unreadable-file"]


PIECES = (
    "",
    ",",
    "\n",
    "\0",
    "nan",
    "-",
    "1e999",
    '"',
    "{",
    "9999",
    "9" * 5000,
    "null",
    "\r",
    "\N{LINE SEPARATOR}",
    "0",
)


@by_seeds(range(100), 25)
def test_whatever_is_written_into_a_file_it_is_refused_or_read_whole(seeds: Sequence[int], tmp_path: Path) -> None:
    """Never another fault, never a warning of a library, never a figure that is none."""
    sources = [SAND_FLAT.read_text(), station("703165").read_text()]
    sources += [write_pvgis(tmp_path / name, hours_of("723170"), LATITUDE, LONGITUDE).read_text() for name in
                ("a.csv", "a.json")]  # fmt: skip
    for seed in seeds:
        random = Random(seed)
        for source in sources:
            at = random.randrange(random.choice((2500, len(source))))
            text = source[:at] + random.choice(PIECES) + source[at + random.choice((0, 1, 3, 10, 200)) :]
            path = tmp_path / "drawn.txt"
            path.write_text(text, encoding="utf-8", newline="")
            try:
                years = years_of(path)
            except InputError as error:
                assert error.problems and all(words(problem) for problem in error.problems)
            else:
                assert (
                    np.isfinite(years.plane).all() and np.isfinite(years.cells).all() and np.isfinite(years.air).all()
                )


# true faults of open files -----------------------------------------------------------------------------------------


def test_zone_five_for_five_and_a_half(tmp_path: Path) -> None:
    """Two open files for places of that zone state 5: the sun is half an hour off, and the mend cures it.

    The invented year's sun is 6 min before its clock, UTC-7 at 106.5 W; moved round the earth that is UTC+5.5 at 81 E.
    """

    def moved(zone: str) -> Callable[[list[str]], None]:
        def change(lines: list[str]) -> None:
            cell(1, 7, "81.0")(lines)
            cell(1, 8, zone)(lines)

        return change

    assert problems_of(spoilt(SAND_FLAT, tmp_path / "right.epw", moved("5.5"))) == []
    path = spoilt(SAND_FLAT, tmp_path / "a.epw", moved("5"))
    (found,) = problems_of(path)
    assert found.kind.id == "weather-clock"
    assert "is 0.5 h off its clock" in words(found) and 'utc_offset = "5.5 h"' in words(found)
    assert problems_of(path, utc_offset_h=5.5) == []
    assert years_of(path, utc_offset_h=5.5).utc_offset_h == 5.5


def test_thirty_six_hours_of_zeros_under_a_high_sun(tmp_path: Path) -> None:
    """Refused; with gaps = "fill" each hour is the mean of the same hours of the nearest whole days, and it is said."""
    path = spoilt(SAND_FLAT, tmp_path / "a.epw", zeros(JUNE_NOON - 12, 36))
    (found,) = problems_of(path)
    assert found.kind.id == "weather-gap" and 'gaps = "fill"' in words(found) and "so on 2 days" in words(found)
    filled = WeatherFile(path, Correction(fill_gaps=True)).checked
    whole = WeatherFile(SAND_FLAT).checked
    day = (JUNE_NOON - EPW_ABOVE) // 24
    before, after = (whole.figures["ghi"].reshape(365, 24)[each] for each in (day - 1, day + 2))
    assert filled.figures["ghi"].reshape(365, 24)[day] == pytest.approx((before + after) / 2)
    others = np.delete(filled.figures["ghi"].reshape(365, 24), [day, day + 1], axis=0)
    assert np.array_equal(others, np.delete(whole.figures["ghi"].reshape(365, 24), [day, day + 1], axis=0))
    (note,) = filled.notes
    assert note.kind.id == "weather-filled" and "on 2 days from 10 June" in words(note)


@pytest.mark.parametrize(("days", "apart"), [(8, 1), (21, 2)])
def test_too_many_holes_are_refused_even_where_they_may_be_filled(tmp_path: Path, days: int, apart: int) -> None:
    """At most 7 days in a row, and 20 in a year."""

    def holes(most: int) -> Callable[[list[str]], None]:
        def change(lines: list[str]) -> None:
            for n in range(most):
                zeros(JUNE_NOON - 12 + 24 * apart * n, 24)(lines)

        return change

    assert problems_of(spoilt(SAND_FLAT, tmp_path / "few.epw", holes(days - 1)), fill_gaps=True) == []
    (found,) = problems_of(spoilt(SAND_FLAT, tmp_path / "many.epw", holes(days)), fill_gaps=True)
    assert found.kind.id == "weather-gap" and "no more than 7 days in a row and 20 in a year" in words(found)
    assert "fill" not in mend_text(found)


def test_two_dark_hours_are_weather(tmp_path: Path) -> None:
    assert problems_of(spoilt(SAND_FLAT, tmp_path / "a.epw", zeros(JUNE_NOON, 2))) == []


@pytest.mark.parametrize(("number", "zone", "latitude", "longitude"), [
    ("723170", -5, 36.1, -79.95), ("703165", -9, 55.317, -160.517),
])  # fmt: skip
def test_rows_in_utc_under_a_zone_header(
    tmp_path: Path, number: str, zone: int, latitude: float, longitude: float
) -> None:
    """The sun is more than three hours off, and the mend names UTC: with it the file is taken."""
    path = write_epw(tmp_path / "a.epw", in_utc(hours_of(number), zone), latitude, longitude, zone)
    (found,) = problems_of(path)
    assert found.kind.id == "weather-clock" and found.place.row == 1
    assert 'utc_offset = "0 h"' in words(found) and f"is {-zone} h off its clock" in words(found)
    years = years_of(path, utc_offset_h=0.0)
    assert years.sun_hours == pytest.approx(years_of(station(number)).sun_hours, rel=0.01)


def test_an_epw_of_pvgis_has_rows_in_utc_at_the_offset_of_its_comment(tmp_path: Path, hours: list[Hour]) -> None:
    """Its hour 1 with the offset -0.5 is the instant 00:30."""
    comment = "COMMENTS 2,Irradiance Time Offset (h):-0.5"
    path = write_epw(tmp_path / "a.epw", in_utc(hours, -5), LATITUDE, LONGITUDE, -5.0, comment=comment)
    assert kinds(problems_of(path)) == ["weather-clock"]
    same = years_of(write_pvgis(tmp_path / "a.csv", in_utc(hours, -5), LATITUDE, LONGITUDE))
    assert np.array_equal(years_of(path, utc_offset_h=0.0).plane, same.plane)


def test_latin1_is_read_and_said(tmp_path: Path) -> None:
    path = tmp_path / "a.epw"
    path.write_bytes(SAND_FLAT.read_bytes().replace(b"LOCATION,Invented", "LOCATION,Düne".encode("latin-1")))
    years = years_of(path)
    assert kinds(list(years.notes)) == ["weather-latin1"]
    assert np.array_equal(years.plane, years_of(SAND_FLAT).plane)


def test_a_sensors_night_offset_is_none_and_said(tmp_path: Path) -> None:
    years = years_of(spoilt(SAND_FLAT, tmp_path / "a.epw", cell(EPW_ABOVE + 1, DHI, "-4.9")))
    assert kinds(list(years.notes)) == ["weather-night-offset"]
    assert np.array_equal(years.plane, years_of(SAND_FLAT).plane)


def test_a_byte_order_mark_and_other_line_ends_change_nothing(tmp_path: Path) -> None:
    path = tmp_path / "a.epw"
    path.write_bytes(b"\xef\xbb\xbf" + SAND_FLAT.read_bytes().replace(b"\n", b"\r\n"))
    assert np.array_equal(years_of(path).plane, years_of(SAND_FLAT).plane)


# which way it looks ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("path", "azimuth", "facing"), [(SAND_FLAT, 0.0, "180"), (GREEN_SLOPE, 180.0, "0")])
def test_a_plane_that_looks_away_from_the_noon_sun_is_called_out(path: Path, azimuth: float, facing: str) -> None:
    (note,) = years_of(path, Plane(40.0, azimuth, 0.2)).notes
    assert note.kind.id == "weather-azimuth"
    assert f"the array faces {facing}." in words(note)


@pytest.mark.parametrize("plane", [Plane(10.0, 0.0, 0.2), Plane(40.0, 90.0, 0.2), Plane(40.0, 270.0, 0.2), SOUTH])
def test_a_plane_that_is_nearly_level_or_looks_sideways_is_not(plane: Plane) -> None:
    assert years_of(SAND_FLAT, plane).notes == ()
