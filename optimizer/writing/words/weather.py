"""What is said of a weather file in words: its place, its temperatures, the day on which something begins."""

from __future__ import annotations

from collections.abc import Callable
from math import isfinite
from pathlib import PurePath
from typing import TYPE_CHECKING

from optimizer.vocabulary.months import MONTHS
from optimizer.weather.header import zone_words
from optimizer.writing.words.figures import number
from optimizer.writing.words.problems import expected_text, mend_text

if TYPE_CHECKING:
    from optimizer.inputs.job import Job
    from optimizer.vocabulary.problems import Problem
    from optimizer.weather.year import Coldest, DarkRun, WeatherYears

DULL_DAYS = 5  # in a row, whose sun an answer tells


def place(years: WeatherYears) -> str:
    """Where a file is from, and by which clock its hours go."""
    north, east = ("N" if years.latitude >= 0 else "S"), ("E" if years.longitude >= 0 else "W")
    where = f"{abs(years.latitude):g} {north}, {abs(years.longitude):g} {east}"
    return f"{where}; by the clock of UTC{zone_words(years.utc_offset_h)}, without summer time"


def plane(tilt_deg: float, azimuth_deg: float) -> str:
    """A plane: ``55 deg, facing 180``."""
    return f"{tilt_deg:g} deg, facing {azimuth_deg:g}"


def start(run: DarkRun) -> str:
    """The day on which a run of days begins: ``28 December``, with its year where each is one that was."""
    day, month = run.date
    return f"{day} {MONTHS[month]}{'' if run.year is None else f' {run.year}'}"


def coldest(found: Coldest) -> str:
    """The coldest that a file can state and what it rests on, or why it can state none."""
    own = f"its lowest hour, {found.lowest_c:.1f} degC, is no extreme"
    rare = f"; in 20 years {found.lowest_20y_c:.1f} degC" if isfinite(found.lowest_20y_c) else ""
    if found.stated:
        return f"{found.mean_lowest_c:.1f} degC, {found.basis}{rare}; {own}"
    return f"not stated: it holds {found.basis}; {own}{rare}. Ask the weather service for the mean of the yearly lowest"


def hottest_basis(years: WeatherYears) -> str:
    """What the hottest of a file rests on."""
    if years.hottest_c > float(years.air.max()):
        return "its header's mean of the yearly highest"
    return "its highest hour"


def note(problem: Problem) -> str:
    """What is said of a file that is taken nevertheless, without its name."""
    row = "" if problem.place.row is None else f"Row {problem.place.row}: "
    return f"{row}{expected_text(problem)} {mend_text(problem)}"


def sun_line(job: Job) -> str:
    """The sun of a job's weather file on its plane: its months, and its darkest days; "" without a file."""
    found = job.weather
    if found is None:
        return ""
    run = found.years.darkest(DULL_DAYS)
    months = " ".join(number(hours, 1) for hours in found.years.sun_hours)
    return (
        f"on {plane(found.tilt_deg, found.azimuth_deg)}: {months} h a day ({PurePath(found.file).name}, "
        f"{found.years.kind}); darkest {run.days} days from {start(run)}: {number(run.sun_hours, 1)} h"
    )


def taken_from_file(job: Job, said_as: Callable[[str, float], str]) -> list[str]:
    """What a job leaves to its weather file. ``said_as`` says a temperature in the unit of a key of the job."""
    found = job.weather
    if found is None:
        return []
    name, said = PurePath(found.file).name, []
    if found.coldest_by_file:
        cold, rare = found.years.coldest, ""
        if isfinite(cold.lowest_20y_c):
            rare = f"; in 20 years {said_as('site.coldest', cold.lowest_20y_c)}"
        said.append(f"coldest {said_as('site.coldest', job.site.coldest_c)} ({name}, {cold.basis}{rare})")
    if "site.hottest" not in job.stated:
        said.append(f"hottest {said_as('site.hottest', job.site.hottest_c)} ({name}, {hottest_basis(found.years)})")
    if "site.sun_hours" not in job.stated:
        said.append(f"sun_hours of {name}")
    if "weather.ground" not in job.stated:
        said.append(f"ground {found.ground:g}")
    return said
