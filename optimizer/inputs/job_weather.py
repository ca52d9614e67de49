"""The weather file of a job: read on the plane of the array, and what the site takes from it."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite
from pathlib import Path

from optimizer.inputs.job import Weather
from optimizer.inputs.job_checks import Breach, Stated
from optimizer.inputs.job_schema import FROM_FILE
from optimizer.vocabulary.defaults import default
from optimizer.vocabulary.months import MONTHS
from optimizer.vocabulary.problems import Fault, InputError, Problem
from optimizer.vocabulary.units import Quantity, to_unit
from optimizer.weather.plane import Plane
from optimizer.weather.weather_file import Correction, WeatherFile
from optimizer.weather.year import WeatherYears

LEVEL_DEG = 5.0  # of tilt, below which it hardly matters where a plane looks
SUN_APART = 0.15  # between the job's sun hours and the file's


def read_weather(job_file: str, weather: Stated | None, site: Stated) -> tuple[Weather | None, list[Problem | Breach]]:
    """The weather of a job, and all that is wrong with it or with what the site wants of it. A coldest, hottest and sun
    hours that the site leaves to the file are put into ``site``."""
    found: Weather | None = None
    problems: list[Problem | Breach] = []
    if weather is not None and {"file", "tilt"} <= weather.read.keys():
        try:
            found = _read(job_file, weather, site.get("coldest") == FROM_FILE)
        except InputError as error:
            problems += error.problems
        if found is None and not problems and "azimuth" not in weather.there:
            problems.append((Fault("azimuth-missing"), (*weather.path, "azimuth"), None))
    if found is not None:
        _give(found.years, site)
        hours = found.years.sun_hours
        if "sun_hours" not in site.there and min(hours) <= 0:
            slots = {"month": MONTHS[hours.index(min(hours))]}
            problems.append((Fault("weather-no-sun", slots), ("weather", "tilt"), None))
        problems += _cold_breaches(found, site)
    elif site.get("coldest") == FROM_FILE:
        if weather is None:
            slots = {"found": "Expected a temperature: there is no [weather] whose file could state it"}
            problems.append((Fault("coldest-of-file", slots), (*site.path, "coldest"), FROM_FILE))
        del site.read["coldest"]
    return found, problems


def _read(job_file: str, stated: Stated, coldest_by_file: bool) -> Weather | None:
    """The file on the plane; None where it is not said which way the plane looks. Raises InputError."""
    fields = stated.fields()
    correction = Correction(fields.get("utc_offset_h"), fields.get("gaps") == "fill")
    if "azimuth_deg" not in fields and ("azimuth" in stated.there or fields["tilt_deg"] >= LEVEL_DEG):
        return None
    file = WeatherFile(Path(job_file).parent / fields["file"], correction)
    azimuth = fields.setdefault("azimuth_deg", None)
    if azimuth is None:
        fields["azimuth_deg"] = file.noon_azimuth_deg
    plane = Plane(fields["tilt_deg"], fields["azimuth_deg"], fields.get("ground", default("weather.ground")))
    return Weather(**fields, years=file.on(plane), coldest_by_file=coldest_by_file)


def _give(years: WeatherYears, site: Stated) -> None:
    """What the site does not state itself."""
    if "hottest" not in site.there:
        site.read["hottest"] = _celsius(years.hottest_c)
    if "sun_hours" not in site.there:
        site.read["sun_hours"] = years.sun_hours
    if site.get("coldest") == FROM_FILE and years.coldest.stated:
        site.read["coldest"] = _celsius(years.coldest.mean_lowest_c)


def _celsius(value: float) -> Quantity:
    return Quantity(value, "degC", f"{value:g} degC")


def _cold_breaches(weather: Weather, site: Stated) -> Iterator[Breach]:
    """A coldest that the file does not hold, or that its own air goes below."""
    coldest, lowest = site.get("coldest"), weather.years.coldest
    path = (*site.path, "coldest")
    if coldest == FROM_FILE:
        why = f"this file holds {lowest.basis}; its lowest, {lowest.lowest_c:g} degC, is no extreme"
        yield Fault("coldest-of-file", {"found": f"Expected a temperature: {why}"}), path, FROM_FILE
        del site.read["coldest"]
    elif isinstance(coldest, Quantity) and coldest.value > lowest.lowest_c and "coldest" in site.written and (
        site.written["coldest"] != FROM_FILE):  # fmt: skip
        said = f"{to_unit(lowest.lowest_c, coldest.unit, 'temperature'):g} {coldest.unit}"
        yield Fault("warmer-than-file", {"lowest": said, "file": weather.file}), path, coldest.text


def sun_hours_apart(stated: tuple[float, ...], weather: Weather) -> Fault | None:
    """That the sun hours of a job differ from the file's by more than 15 %, in the month in which they do most."""
    by_file = weather.years.sun_hours
    apart = [abs(own / file - 1) if file > 0 else float("inf") for own, file in zip(stated, by_file, strict=True)]
    month = max(range(12), key=lambda place: apart[place])
    if not apart[month] > SUN_APART:
        return None
    found = f"{by_file[month]:.2f}" if isfinite(by_file[month]) else "none"
    return Fault("weather-sun-hours", {"month": MONTHS[month], "stated": f"{stated[month]:.2f}", "found": found})
