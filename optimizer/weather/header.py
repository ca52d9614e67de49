"""What a weather file says of itself: its form, its place and zone, when its figures hold, its design temperatures."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite, nan
from typing import Any

from optimizer.vocabulary.problems import Fault, InputError, Place

EPW, TMY3 = "EPW", "TMY3"
PVGIS_TMY, PVGIS_HOURLY = "PVGIS typical year", "PVGIS hourly"
HEADER_ROWS = {EPW: 8, TMY3: 2}
EXTREMES = "Extremes"  # the part of an EPW's DESIGN CONDITIONS that has the extremes
MEAN_LOW, MEAN_HIGH, LOW_20Y = 5, 6, 13  # its fields, counted from its name (EPW format, from memory)
TIME_OFFSET = re.compile(r"Irradiance Time Offset \(h\):\s*([-+0-9.]+)", re.IGNORECASE)
PVGIS_PLACE = ("Latitude", "Longitude", "Elevation", "Slope", "Irradiance Time Offset")  # lines above its rows
DEGREES_PER_HOUR = 15.0  # that the sun goes
FARTHEST_ZONE = 4.0  # h from the sun's own time; the farthest of all zones is about 3.5 (common practice, no source)
SPAN = {"latitude": 90.0, "longitude": 180.0, "zone": 14.0}  # degrees, degrees, h: what a place may be, plus or minus

Json = Any  # what a parser of JSON made of a value: anything may stand in a file until it is checked


@dataclass(frozen=True)
class Header:
    """What stands above the rows. ``latitude`` and ``longitude`` in degrees, north and east positive; ``utc_offset_h``
    the zone that the rows keep; nan where a number is not stated.

    ``instant_h``: the figures are of one instant, so many hours after the beginning of their hour; None where they are
    means of the hour. ``of_utc``: the file's source writes its rows in UTC, whatever zone stands in it; ``clock_h`` is
    that zone, nan where none does. Temperatures in degC: the means of the yearly lowest and highest, and the lowest of
    20 years. ``rows_above``: those before the data.
    """

    form: str
    latitude: float
    longitude: float
    utc_offset_h: float
    altitude_m: float = 0.0
    instant_h: float | None = None
    of_utc: bool = False
    clock_h: float = nan
    mean_lowest_c: float = nan
    mean_highest_c: float = nan
    lowest_20y_c: float = nan
    rows_above: int = 0
    headings: tuple[str, ...] = ()
    as_json: bool = False


def header_of(file: str, lines: Sequence[str], content: Json) -> Header:
    """The header of a file's text, or of its JSON ``content``.

    Raises InputError where it is none of the known forms, of a tilted plane, or without a place.
    """
    if content is not None:
        return _pvgis_json(file, content)
    first, second = ([*lines[:2], "", ""])[:2]
    if first.startswith("LOCATION,"):
        return _epw(file, lines)
    if second.startswith("Date (MM/DD/YYYY),Time (HH:MM)"):
        return _tmy3(file, first, second)
    if first.startswith("Latitude (decimal degrees)"):
        return _pvgis_csv(file, lines)
    raise InputError([Fault("weather-format", {"reason": "its first rows are of none of these"}).at(Place(file, 1))])


def _number(text: object) -> float:
    """A number, or nan where it is none."""
    try:
        return float(str(text).strip())
    except ValueError:
        return nan


def _cells(line: str, least: int = 0) -> list[str]:
    """The cells of a line, at least so many; the names of places may be in quotes."""
    try:
        cells = next(csv.reader([line]), [])
    except csv.Error:
        cells = line.split(",")
    return cells + [""] * (least - len(cells))


def _placed(file: str, row: int | None, latitude: float, longitude: float, zone: float) -> None:
    """Refuse a place that is none. Raises InputError."""
    found = {"latitude": latitude, "longitude": longitude, "zone": zone}
    wrong = [name for name, value in found.items() if not abs(value) <= SPAN[name]]
    if wrong:
        units = {name: "h" if name == "zone" else "deg" for name in found}
        expected = ", ".join(f"{name} from -{SPAN[name]:g} to {SPAN[name]:g} {units[name]}" for name in wrong)
        said = ", ".join(f"{name} {found[name]:g}" if isfinite(found[name]) else f"no {name}" for name in wrong)
        raise InputError([Fault("weather-place", {"expected": expected, "found": said, "perhaps": ""})
                          .at(Place(file, row))])  # fmt: skip


def _epw(file: str, lines: Sequence[str]) -> Header:
    cells = _cells(lines[0], 10)
    latitude, longitude, zone, altitude = map(_number, cells[6:10])
    _placed(file, 1, latitude, longitude, zone)
    above = "\n".join(lines[1 : HEADER_ROWS[EPW]])
    offset = TIME_OFFSET.search(above)
    extremes = next((row.split(",") for row in above.split("\n") if row.startswith("DESIGN CONDITIONS")), [])
    at = extremes.index(EXTREMES) if EXTREMES in extremes else len(extremes)
    low, high, low_20y = (
        _number(dict(enumerate(extremes[at:])).get(field)) for field in (MEAN_LOW, MEAN_HIGH, LOW_20Y)
    )
    return Header(
        EPW, latitude, longitude, zone, altitude if isfinite(altitude) else 0.0,
        # its stamps name the end of an hour, and the offset counts from them
        instant_h=_number(offset[1]) + 1.0 if offset else None, of_utc=offset is not None, clock_h=zone,
        mean_lowest_c=min(low, high) if isfinite(high) else low,  # some files have the two the wrong way round
        mean_highest_c=max(low, high) if isfinite(low) else high, lowest_20y_c=low_20y, rows_above=HEADER_ROWS[EPW],
    )  # fmt: skip


def _tmy3(file: str, first: str, second: str) -> Header:
    cells = _cells(first, 7)
    zone, latitude, longitude, altitude = map(_number, cells[3:7])
    _placed(file, 1, latitude, longitude, zone)
    headings = tuple(_cells(second))
    return Header(TMY3, latitude, longitude, zone, altitude if isfinite(altitude) else 0.0,
                  clock_h=zone, rows_above=HEADER_ROWS[TMY3], headings=headings)  # fmt: skip


def _pvgis_csv(file: str, lines: Sequence[str]) -> Header:
    at = next((n for n, line in enumerate(lines) if line.startswith("time")), None)
    if at is None:
        raise InputError([Fault("weather-format", {"reason": "no row of headings begins with time"}).at(Place(file))])
    said: dict[str, float] = {}
    for line in lines[:at]:
        name, _, value = line.partition(":")
        key = next((known for known in PVGIS_PLACE if name.startswith(known)), None)
        if key is not None:
            said[key] = _number(value.replace("deg.", "").replace("(optimum)", ""))
    headings = tuple(heading.strip() for heading in lines[at].split(","))
    _on_the_level(file, at + 1, headings, said.get("Slope", 0.0))
    return _pvgis(file, said, headings, rows_above=at + 1)


def _pvgis_json(file: str, content: Json) -> Header:
    outputs = content.get("outputs") if isinstance(content, dict) else None
    rows = next((outputs[key] for key in ("tmy_hourly", "hourly") if key in outputs), None) if (
        isinstance(outputs, dict)) else None  # fmt: skip
    if not isinstance(rows, list) or not rows or not all(isinstance(row, dict) for row in rows):
        reason = "its outputs have no rows tmy_hourly or hourly"
        raise InputError([Fault("weather-format", {"reason": reason}).at(Place(file))])
    inputs: Json = content.get("inputs")
    location = _deep(inputs, "location")
    names = {"Latitude": "latitude", "Longitude": "longitude", "Elevation": "elevation",
             "Irradiance Time Offset": "irradiance_time_offset"}  # fmt: skip
    said = {key: _number(location[name]) for key, name in names.items() if name in location}
    headings = tuple(rows[0])
    mounting = _deep(inputs, "mounting_system")
    slope = 0.0 if not mounting else _number(_deep(mounting, "fixed", "slope").get("value"))
    _on_the_level(file, None, headings, slope)
    return _pvgis(file, said, headings, as_json=True)


def _deep(content: Json, *keys: str) -> Mapping[str, Json]:
    """A table within tables; empty where there is none."""
    for key in keys:
        content = content.get(key) if isinstance(content, dict) else None
    return content if isinstance(content, dict) else {}


def _on_the_level(file: str, row: int | None, headings: Sequence[str], slope: float) -> None:
    """Refuse what falls on a tilted plane, and totals without their components. Raises InputError."""
    if "G(h)" in headings:
        return
    found = f"its slope is {slope:g} deg" if slope > 0 else "its plane follows the sun" if slope != 0 else ""
    if not found and not {"Gb(i)", "Gd(i)"} <= set(headings):
        found = f"it has no Gb(i) and Gd(i), only {', '.join(headings[:3])}"
    if found:
        raise InputError([Fault("weather-plane", {"found": found}).at(Place(file, row))])


def _pvgis(file: str, said: Mapping[str, float], headings: tuple[str, ...], rows_above: int = 0,
           as_json: bool = False) -> Header:  # fmt: skip
    latitude, longitude = said.get("Latitude", nan), said.get("Longitude", nan)
    _placed(file, None if as_json else 1, latitude, longitude, 0.0)
    altitude, offset = said.get("Elevation", 0.0), said.get("Irradiance Time Offset", 0.0)
    form = PVGIS_TMY if "G(h)" in headings else PVGIS_HOURLY
    return Header(
        form, latitude, longitude, 0.0, altitude if isfinite(altitude) else 0.0,
        instant_h=offset if isfinite(offset) else 0.0, of_utc=True, rows_above=rows_above, headings=headings,
        as_json=as_json,
    )  # fmt: skip


def json_of(text: str) -> Json:
    """The content of a text that is JSON; None of one that is not meant to be. Raises ValueError and RecursionError."""
    return json.loads(text) if text.lstrip().startswith("{") else None


def far_zone(zone: float, longitude: float) -> bool:
    """Whether a zone in h is farther from the sun's own time at a longitude than any zone is."""
    return abs((zone - longitude / DEGREES_PER_HOUR + 12) % 24 - 12) > FARTHEST_ZONE


def zone_words(utc_offset_h: float) -> str:
    """A zone as people write it behind UTC: ``+5:30``; nothing for UTC itself."""
    minutes = round(abs(utc_offset_h) * 60)
    if not minutes:
        return ""
    return f"{'-' if utc_offset_h < 0 else '+'}{minutes // 60}{f':{minutes % 60:02}' if minutes % 60 else ''}"
