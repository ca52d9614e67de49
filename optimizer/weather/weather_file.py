"""One weather file: read, checked and put on a plane, by way of what is kept from earlier runs."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from importlib.metadata import version
from math import isfinite, nan
from pathlib import Path

import numpy as np

from optimizer.vocabulary.bounded_files import file_fault, read_bounded
from optimizer.vocabulary.months import MONTHS
from optimizer.vocabulary.problem_kinds import KINDS
from optimizer.vocabulary.problems import Fault, InputError, Place, Problem
from optimizer.weather import cache, checks, clock, plane, year
from optimizer.weather.header import DEGREES_PER_HOUR, Header, far_zone, header_of, json_of, zone_words
from optimizer.weather.plane import Plane, beam_to_normal, light_on
from optimizer.weather.rows import HOURS, Rows, figures_of, rows_of
from optimizer.weather.sun import Sun, sun_of

LARGEST_FILE = 200_000_000  # bytes; some tens of years
AWAY_TILT_DEG, AWAY_DEG = 10.0, 90.0  # steeper, and farther from the noon sun's side, is called out
TILTS = tuple(range(0, 91, 5))  # degrees of a table of tilts


@dataclass(frozen=True)
class Correction:
    """What a person puts right of a file: its zone in h, None to keep its own; whether holes are to be filled."""

    utc_offset_h: float | None = None
    fill_gaps: bool = False


@dataclass(frozen=True)
class CheckedHours:
    """A file's figures after all checks, each of so many years of 8,760 hours by the clock of ``utc_offset_h``, with
    the sun of each hour."""

    header: Header
    utc_offset_h: float
    years: tuple[int, ...]
    figures: Mapping[str, np.ndarray]
    sun: Sun
    notes: tuple[Problem, ...]


class WeatherFile:
    """A file as it was when it was opened. Its hours are read only where a result is not kept from an earlier run.

    Raises InputError where it cannot be opened.
    """

    def __init__(self, path: str | Path, correction: Correction = Correction()) -> None:  # noqa: B008 (it is frozen)
        self.path = str(path)
        self.correction = correction
        try:
            self._data = read_bounded(path, LARGEST_FILE)
        except OSError as error:
            raise InputError([file_fault(error).at(Place(self.path))]) from error
        self.digest = f"sha256:{hashlib.sha256(self._data).hexdigest()}"

    def on(self, wanted: Plane) -> year.WeatherYears:
        """Its years on a plane; the same to the last bit whether kept or computed. Raises InputError with all that is
        wrong with the file."""
        key = self._key("plane", wanted)
        kept = cache.recall(key)
        if kept is None:
            kept = self._entry(wanted)
            cache.keep(key, kept)
        return self._years(kept)

    def month_hours(self, azimuth_deg: float, ground: float) -> np.ndarray:
        """kWh/m2 a day of each month on planes of all ``TILTS``, a row for each. Raises InputError likewise."""
        key = self._key("tilts", azimuth_deg, ground)
        kept = cache.recall(key)
        if kept is None:
            planes = [Plane(float(tilt), azimuth_deg, ground) for tilt in TILTS]
            found = plane.month_hours(planes, self.checked.figures, self.checked.sun)
            kept = cache.Entry({}, {"month_hours": found})
            cache.keep(key, kept)
        return kept.arrays["month_hours"]

    @property
    def noon_azimuth_deg(self) -> float:
        """The way in which the noon sun stands: 180 north of the equator, 0 south of it. Raises InputError likewise."""
        return noon_azimuth(self._header().latitude)

    # reading ----------------------------------------------------------------------------------------------------

    def _key(self, what: str, *rest: object) -> str:
        return cache.key_of(what, self.digest, self.correction, version("pvlib"), np.__version__, *rest)

    @cached_property
    def _text(self) -> tuple[str, bool]:
        """The file's text, and whether it is UTF-8."""
        try:
            return self._data.decode("utf-8-sig"), True
        except UnicodeDecodeError:
            return self._data.decode("latin-1"), False

    @cached_property
    def _parsed(self) -> tuple[list[str], object]:
        """Its lines; its content where it is JSON."""
        text = self._text[0]
        if not text.strip():
            raise InputError([Fault("empty-file", {"content": "a year of hours"}).at(Place(self.path))])
        try:
            content = json_of(text)
        except (ValueError, RecursionError) as error:
            fault = Fault("json-syntax", {"reason": str(error)[:200]})
            raise InputError([fault.at(Place(self.path, getattr(error, "lineno", None)))]) from error
        return ([] if content is not None else text.replace("\r\n", "\n").split("\n")), content

    def _header(self) -> Header:
        return header_of(self.path, *self._parsed)

    @cached_property
    def checked(self) -> CheckedHours:
        """Its hours after all checks. Raises InputError with all that is wrong."""
        header = self._header()
        if self.correction.utc_offset_h is not None:
            header = replace(header, utc_offset_h=self.correction.utc_offset_h)
        rows = rows_of(self.path, *self._parsed, header)
        figures = {name: values.copy() for name, values in figures_of(rows).items()}
        problems = [*checks.missing(rows, figures), *checks.out_of_range(rows, figures)]
        notes = list(self._said(rows)) + list(checks.without_offset(rows, figures))
        sun = sun_of(rows.header, rows.header.utc_offset_h)
        if "beam" in figures:
            figures["dni"] = beam_to_normal(figures["beam"], sun)
            figures["ghi"] = figures.pop("beam") + figures["dhi"]
        fault, zone = clock.judge(rows.header, figures)
        if fault is not None:
            problems.append(fault.at(Place(self.path, None if rows.header.as_json else 1)))
        found: list[checks.Gap] = []
        if zone is not None:  # where the sun stands nobody knows else
            found = checks.gaps(figures["ghi"], sun_of(rows.header, zone).zenith if fault else sun.zenith)
        problems += checks.gap_problems(rows, found, self.correction.fill_gaps)
        if problems:
            raise InputError(problems)
        notes += checks.fill_gaps(rows, figures, found)
        return _by_local_clock(rows, figures, sun, tuple(notes))

    def _said(self, rows: Rows) -> Iterator[Problem]:
        """What is said of the file although it is taken."""
        if not self._text[1]:
            yield Fault("weather-latin1").at(Place(self.path))
        if rows.leap_rows:
            yield Fault("weather-leap-day", {"count": str(rows.leap_rows)}).at(Place(self.path))
        if later := _hours_later(rows.header):
            zones = {"zone": zone_words(rows.header.utc_offset_h + later), "rows": zone_words(rows.header.utc_offset_h)}
            yield Fault("weather-zone", zones).at(Place(self.path))

    # results ----------------------------------------------------------------------------------------------------

    def _entry(self, wanted: Plane) -> cache.Entry:
        checked = self.checked
        light = light_on(wanted, checked.figures, checked.sun)
        header = checked.header
        notes = [*checked.notes, *_looks_away(self.path, wanted, checked)]
        lows = (header.mean_lowest_c, header.mean_highest_c, header.lowest_20y_c)
        said = {
            "latitude": header.latitude, "longitude": header.longitude, "utc_offset_h": checked.utc_offset_h,
            "years": list(checked.years), "design_c": [each if isfinite(each) else None for each in lows],
            "notes": [[note.kind.id, note.place.row, dict(note.slots)] for note in notes],
        }  # fmt: skip
        arrays = {"plane": light.plane, "cells": light.cells, "air": checked.figures["air"].reshape(-1, HOURS),
                  "noon_h": checked.sun.noon_h}  # fmt: skip
        return cache.Entry(said, arrays)

    def _years(self, kept: cache.Entry) -> year.WeatherYears:
        said = kept.said
        low, high, low_20y = (nan if each is None else float(each) for each in said["design_c"])
        notes = tuple(Problem(KINDS[kind], Place(self.path, row), slots) for kind, row, slots in said["notes"])
        return year.WeatherYears(
            self.digest, said["latitude"], said["longitude"], said["utc_offset_h"], tuple(said["years"]), low, high,
            low_20y, **kept.arrays, notes=notes,
        )  # fmt: skip


def noon_azimuth(latitude: float) -> float:
    """The way in which the noon sun stands, in degrees from north."""
    return 180.0 if latitude >= 0 else 0.0


def _hours_later(header: Header) -> int:
    """By how many whole hours rows in UTC, or in a zone far from their place, are moved: to the zone that stands above
    them, or where none does that can be, to that of the longitude."""
    if not (header.of_utc or far_zone(header.utc_offset_h, header.longitude)):
        return 0
    stated = isfinite(header.clock_h) and not far_zone(header.clock_h, header.longitude)
    zone = header.clock_h if stated else round(header.longitude / DEGREES_PER_HOUR)
    return int(zone - header.utc_offset_h)


def _by_local_clock(
    rows: Rows, figures: Mapping[str, np.ndarray], sun: Sun, notes: tuple[Problem, ...]
) -> CheckedHours:
    """The hours by the clock of the place, so that a day is one of the place; moved round the end of each year, so that
    each keeps its own."""
    header, later = rows.header, _hours_later(rows.header)
    labels = [set(part.tolist()) for part in rows.years.reshape(-1, HOURS)]
    years = tuple(part.pop() for part in labels) if all(len(part) == 1 for part in labels) else ()
    if later:
        figures = {name: np.roll(values.reshape(-1, HOURS), later, axis=1).ravel() for name, values in figures.items()}
        zenith, azimuth, beyond = (np.roll(values, later) for values in (sun.zenith, sun.azimuth, sun.beyond_air))
        sun = Sun(zenith, azimuth, beyond, sun.noon_h + later)
    return CheckedHours(header, header.utc_offset_h + later, years, figures, sun, notes)


def _looks_away(path: str, wanted: Plane, checked: CheckedHours) -> Iterator[Problem]:
    """The caution that a plane looks away from the noon sun, with what it would give the other way."""
    facing = noon_azimuth(checked.header.latitude)
    apart = abs((wanted.azimuth_deg - facing + 180) % 360 - 180)
    if wanted.tilt_deg <= AWAY_TILT_DEG or apart <= AWAY_DEG:
        return
    both: Sequence[Plane] = (wanted, replace(wanted, azimuth_deg=facing))
    hours = plane.month_hours(both, checked.figures, checked.sun)
    month = int(np.argmin(hours[0]))
    slots = {"found": f"{hours[0, month]:.1f}", "better": f"{hours[1, month]:.1f}", "month": MONTHS[month],
             "facing": f"{facing:g}", "side": "South" if facing == 0 else "North"}  # fmt: skip
    yield Fault("weather-azimuth", slots).at(Place(path))
