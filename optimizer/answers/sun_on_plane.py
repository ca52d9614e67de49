"""What a weather file has to say of its place, without a job: months on a plane, darkest days, and a table of tilts."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from optimizer.inputs.job_schema import KEYS
from optimizer.inputs.readings import place_of, read_option
from optimizer.vocabulary.defaults import default
from optimizer.vocabulary.problems import Fault, InputError, Problem
from optimizer.vocabulary.units import Quantity
from optimizer.weather.plane import Plane
from optimizer.weather.weather_file import TILTS, Correction, WeatherFile
from optimizer.weather.year import RUNS, DarkRun, WeatherYears


@dataclass(frozen=True)
class TiltSun:
    """A tilt in degrees, and kWh/m2 a day of each month on it."""

    tilt_deg: float
    sun_hours: tuple[float, ...]

    @property
    def darkest(self) -> float:
        """The sun of its darkest month."""
        return min(self.sun_hours)

    @property
    def darkest_month(self) -> int:
        """Which month that is, 0 for January."""
        return self.sun_hours.index(self.darkest)


@dataclass(frozen=True)
class SunOnPlane:
    """A weather file on one plane. ``chosen``: the tilt was not stated, and is that of the table which serves the
    darkest month best. ``tilts``: the table, all looking the same way."""

    file: str
    correction: Correction
    plane: Plane
    chosen: bool
    years: WeatherYears
    darkest: tuple[DarkRun, ...]
    tilts: tuple[TiltSun, ...]

    @property
    def best(self) -> TiltSun:
        """The tilt that serves the darkest month best."""
        return best_tilt(self.tilts)


def best_tilt(tilts: tuple[TiltSun, ...]) -> TiltSun:
    """The tilt whose darkest month has the most sun; of equal ones the flattest."""
    return max(tilts, key=lambda each: each.darkest)


def sun(
    file: str | Path, tilt: str | None = None, azimuth: str | None = None, ground: str | None = None,
    utc_offset: str | None = None, fill: bool = False,
) -> SunOnPlane:  # fmt: skip
    """A weather file on a plane, as it would be typed: ``sun("sand-flat.epw", tilt="55 deg", azimuth="180 deg")``.

    Without a tilt the one that serves the darkest month best; without an azimuth the side of the noon sun. ``ground``:
    the share of light that the ground throws back; ``utc_offset`` puts the file's zone right; ``fill``: holes of few
    days are filled. Raises InputError with all problems of the options, or of the file.
    """
    read = _options(tilt=tilt, azimuth=azimuth, ground=ground, utc_offset=utc_offset)
    source = WeatherFile(file, Correction(read.get("utc_offset"), fill))
    facing = read.get("azimuth", source.noon_azimuth_deg)
    reflected = read.get("ground", default("weather.ground"))
    months = source.month_hours(facing, reflected).tolist()
    tilts = tuple(TiltSun(float(degrees), tuple(row)) for degrees, row in zip(TILTS, months, strict=True))
    plane = Plane(read.get("tilt", best_tilt(tilts).tilt_deg), facing, reflected)
    years = source.on(plane)
    return SunOnPlane(
        str(file), source.correction, plane, "tilt" not in read, years, tuple(map(years.darkest, RUNS)), tilts
    )


def _options(**texts: str | None) -> dict[str, float]:
    """The options that were given, in base units. Raises InputError with all their problems."""
    found: dict[str, float] = {}
    problems: list[Problem] = []
    for name, text in texts.items():
        if text is None:
            continue
        value = read_option(text, KEYS["weather"][name])
        if isinstance(value, Fault):
            problems.append(value.at(place_of(name, text)))
        else:
            found[name] = value.value if isinstance(value, Quantity) else float(str(value))
    if problems:
        raise InputError(problems)
    return found
