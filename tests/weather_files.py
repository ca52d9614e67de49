"""Weather files for the tests: two published ones that a library of photovoltaic models brings with it, read where it
is installed; the same years in other forms; and one fault put into a file."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Sequence
from importlib.util import find_spec
from pathlib import Path

from optimizer.vocabulary.problems import InputError, Problem
from optimizer.weather.plane import Plane
from optimizer.weather.sun import DayArc
from optimizer.weather.weather_file import Correction, WeatherFile
from optimizer.weather.year import WeatherYears
from tests.command_line import ROOT

# TMY3 of the stations 723170 and 703165, a public archive of the United States (from memory)
STATIONS = {"723170": "723170TYA.CSV", "703165": "703165TY.csv"}
SAND_FLAT = ROOT / "examples" / "stock-water-bore" / "sand-flat.epw"
GREEN_SLOPE = ROOT / "examples" / "hillside-nursery" / "green-slope.epw"
SOUTH = Plane(55.0, 180.0, 0.2)
EPW_ABOVE = 8  # rows before the data
AIR, GHI, DNI, DHI = 6, 13, 14, 15  # cells of a row of EPW

Hour = tuple[int, int, int, int, float, float, float, float]  # year, month, day, hour that begins, ghi, dni, dhi, air


def station(number: str) -> Path:
    """The file of a station."""
    spec = find_spec("pvlib")
    assert spec is not None and spec.origin is not None
    return Path(spec.origin).parent / "data" / STATIONS[number]


def years_of(path: Path, plane: Plane = SOUTH, **correction: float | bool) -> WeatherYears:
    """A file on a plane."""
    return WeatherFile(path, Correction(**correction)).on(plane)  # type: ignore[arg-type]


def problems_of(path: Path, plane: Plane = SOUTH, **correction: float | bool) -> list[Problem]:
    """What is wrong with a file; nothing where it is taken."""
    try:
        years_of(path, plane, **correction)
    except InputError as error:
        return list(error.problems)
    return []


# the same year in other forms ------------------------------------------------------------------------------------


def hours_of(number: str) -> list[Hour]:
    """The hours of a station, read by nobody but this test: dates are those of the hour that begins."""
    rows = list(csv.reader(station(number).read_text(encoding="ascii").splitlines()[1:]))
    at = [rows[0].index(name) for name in ("GHI (W/m^2)", "DNI (W/m^2)", "DHI (W/m^2)", "Dry-bulb (C)")]
    found: list[Hour] = []
    for row in rows[1:]:
        month, day, year = map(int, row[0].split("/"))
        ghi, dni, dhi, air = (float(row[column]) for column in at)
        found.append((year, month, day, int(row[1][:2]) - 1, ghi, dni, dhi, air))
    return found


def write_epw(path: Path, hours: Sequence[Hour], latitude: float, longitude: float, zone: float,
              design: str = "DESIGN CONDITIONS,0", comment: str = "COMMENTS 2,") -> Path:  # fmt: skip
    """A year in the form EPW."""
    above = [
        f"LOCATION,Station,-,-,TMY3,0,{latitude},{longitude},{zone},273", design, "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0", "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,", comment,
        "DATA PERIODS,1,1,Data,Sunday,1/1,12/31",
    ]  # fmt: skip
    rows = [
        f"{year},{month},{day},{hour + 1},60,?,{air},,,,,,,{ghi},{dni},{dhi}{',' * 19}"
        for year, month, day, hour, ghi, dni, dhi, air in hours
    ]
    path.write_text("\n".join([*above, *rows]) + "\n", encoding="utf-8")
    return path


def in_utc(hours: Sequence[Hour], zone: int) -> list[Hour]:
    """The hours in the order of UTC, round the year's end, with stamps in UTC."""
    moved = [*hours[zone:], *hours[:zone]]
    return [(*stamp[:4], *hour[4:]) for stamp, hour in zip(hours, moved, strict=True)]


def write_pvgis(path: Path, hours: Sequence[Hour], latitude: float, longitude: float) -> Path:
    """A typical year in the form of PVGIS, CSV or JSON by the name, its figures of the half hour; ``hours`` in UTC."""
    names = ("time(UTC)", "T2m", "G(h)", "Gb(n)", "Gd(h)")
    rows = [
        (f"{year}{month:02}{day:02}:{hour:02}00", air, ghi, dni, dhi)
        for year, month, day, hour, ghi, dni, dhi, air in hours
    ]
    if path.suffix == ".json":
        location = {"latitude": latitude, "longitude": longitude, "elevation": 273.0, "irradiance_time_offset": 0.5}
        outputs = {"months_selected": [], "tmy_hourly": [dict(zip(names, row, strict=True)) for row in rows]}
        path.write_text(json.dumps({"inputs": {"location": location}, "outputs": outputs, "meta": {"inputs": {}}}))
        return path
    above = [
        f"Latitude (decimal degrees): {latitude}", f"Longitude (decimal degrees): {longitude}", "Elevation (m): 273.0",
        "Irradiance Time Offset (h): 0.5", "month,year", *(f"{month},2001" for month in range(1, 13)), ",".join(names),
    ]  # fmt: skip
    lines = [*above, *(",".join(map(str, row)) for row in rows), "", "T2m: 2-m air temperature", "G(h): words"]
    path.write_text("\r\n".join(lines), encoding="utf-8")
    return path


def write_pvgis_hourly(path: Path, years: Sequence[Sequence[tuple[str, float, float, float]]], latitude: float,
                       longitude: float, slope: str = "Slope: 0 deg.") -> Path:  # fmt: skip
    """Years of stamps, beam on the level, sky and air, in the hourly form of PVGIS."""
    above = [
        f"Latitude (decimal degrees):\t{latitude}", f"Longitude (decimal degrees):\t{longitude}", "Elevation (m):\t20",
        "Radiation database:\tnone", "", "", slope, "Azimuth: 0 deg.", "time,Gb(i),Gd(i),Gr(i),H_sun,T2m,WS10m,Int",
    ]  # fmt: skip
    rows = [f"{stamp},{beam},{sky},0.0,0.0,{air},1.0,0.0" for year in years for stamp, beam, sky, air in year]
    path.write_text("\n".join([*above, *rows, "", "Gb(i): words"]), encoding="utf-8")
    return path


def hourly(year: int, latitude: float, longitude: float, coldest: float = 0.0) -> list[tuple[str, float, float, float]]:
    """An hourly year of PVGIS under a sky that is always the same, ten past each hour, 29 February where there is."""
    cos = DayArc.over(latitude, longitude, 0.0).cos_zenith(1 / 6)
    rows, at = [], 0
    for month, days in enumerate((31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31), start=1):
        for day in range(1, days + 1 + (month == 2 and year % 4 == 0)):
            leap = day == 29 and month == 2
            for hour in range(24):
                up = float(cos[at - 24 * leap])
                rows.append((f"{year}{month:02}{day:02}:{hour:02}10", round(700 * up, 2), round(90 * up, 2), coldest))
                at += not leap
    return rows


# one fault -------------------------------------------------------------------------------------------------------


def spoilt(source: Path, target: Path, change: Callable[[list[str]], object]) -> Path:
    """A copy of a file with its lines changed."""
    lines = source.read_text(encoding="utf-8").split("\n")
    change(lines)
    target.write_text("\n".join(lines), encoding="utf-8")
    return target


def cell(row: int, column: int, text: str) -> Callable[[list[str]], None]:
    """Another text in a cell: ``row`` as the file counts, ``column`` from 0."""

    def change(lines: list[str]) -> None:
        cells = lines[row - 1].split(",")
        cells[column] = text
        lines[row - 1] = ",".join(cells)

    return change


def zeros(first_row: int, hours: int) -> Callable[[list[str]], None]:
    """No light in so many hours of an EPW."""

    def change(lines: list[str]) -> None:
        for row in range(first_row, first_row + hours):
            for column in (GHI, DNI, DHI):
                cell(row, column, "0")(lines)

    return change
