"""Where the sun stands in each hour of a year, at the moment for which the file's figures hold."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from optimizer.weather.header import DEGREES_PER_HOUR, Header
from optimizer.weather.rows import COMMON_YEAR, HOURS

HORIZON_DEG = -0.8333  # the sun's centre as its upper edge comes up: half its width, and the air's refraction
SOLAR_CONSTANT = 1361.0  # W/m2


@dataclass(frozen=True)
class Sun:
    """The sun of the hours of a year, in degrees: from the zenith as it is seen, and from north by east.

    ``beyond_air``: W/m2 square to it outside the air. ``noon_h``: the clock's time at which it is highest, for each of
    365 days.
    """

    zenith: np.ndarray
    azimuth: np.ndarray
    beyond_air: np.ndarray
    noon_h: np.ndarray


@dataclass(frozen=True)
class DayArc:
    """The sun's way over a place, hour by hour: sine and cosine of declination with those of the latitude, and the hour
    angle in degrees at the beginning of each hour of the clock."""

    up: np.ndarray
    across: np.ndarray
    start: np.ndarray
    last: np.ndarray  # the hour angle at which it sets; it rises at as many degrees before noon

    @classmethod
    def over(cls, latitude: float, longitude: float, utc_offset_h: float) -> DayArc:
        """The way over a place, by the clock of a zone (Spencer 1971, as the library has it)."""
        from pvlib.solarposition import declination_spencer71, equation_of_time_spencer71

        hour = np.arange(HOURS)
        day = 1 + (hour + 0.5 - utc_offset_h) / 24
        declination: np.ndarray = declination_spencer71(day)
        up = np.sin(np.radians(latitude)) * np.sin(declination)
        across = np.maximum(np.cos(np.radians(latitude)) * np.cos(declination), 1e-9)
        sun_time = hour % 24 - utc_offset_h + longitude / DEGREES_PER_HOUR + equation_of_time_spencer71(day) / 60
        start = (sun_time % 24 - 12) * DEGREES_PER_HOUR
        last = np.degrees(np.arccos(np.clip((np.sin(np.radians(HORIZON_DEG)) - up) / across, -1, 1)))
        return cls(up, across, start, last)

    def moments(self, instant_h: float | None, shift_h: float = 0.0) -> np.ndarray:
        """The moment of each hour for which its figures hold, in h from its beginning: an instant, or of a mean the
        middle of what is sunlit of it. ``shift_h``: how much later the clock's sun is taken to be."""
        if instant_h is not None:
            return np.full(HOURS, instant_h)
        begin = _round_noon(self.start + shift_h * DEGREES_PER_HOUR)
        first, end = np.maximum(begin, -self.last), np.minimum(begin + DEGREES_PER_HOUR, self.last)
        return np.where(end > first, (first + end) / 2 - begin, DEGREES_PER_HOUR / 2) / DEGREES_PER_HOUR

    def cos_zenith(self, instant_h: float | None, shift_h: float = 0.0) -> np.ndarray:
        """Cosine of the sun's angle from the zenith at those moments, never below 0."""
        angle = self.start + (self.moments(instant_h, shift_h) + shift_h) * DEGREES_PER_HOUR
        cos: np.ndarray = np.maximum(self.up + self.across * np.cos(np.radians(angle)), 0.0)
        return cos


def _round_noon(angle: np.ndarray) -> np.ndarray:
    """The beginning of an hour as an hour angle whose middle lies from -180 to 180."""
    half = DEGREES_PER_HOUR / 2
    return (angle + half + 180) % 360 - 180 - half


def sun_of(header: Header, utc_offset_h: float) -> Sun:
    """The sun at the moments of a file's figures, by the clock of a zone (pvlib, NREL SPA; the year 2001 for all)."""
    import pandas as pd
    from pvlib.irradiance import get_extra_radiation
    from pvlib.solarposition import equation_of_time_spencer71, get_solarposition

    arc = DayArc.over(header.latitude, header.longitude, utc_offset_h)
    hours = np.arange(HOURS) + arc.moments(header.instant_h) - utc_offset_h
    times = pd.Timestamp(f"{COMMON_YEAR}-01-01", tz="UTC") + pd.to_timedelta(np.round(hours * 3600), unit="s")
    position = get_solarposition(times, header.latitude, header.longitude, altitude=header.altitude_m)
    beyond = get_extra_radiation(times, solar_constant=SOLAR_CONSTANT, method="nrel")
    equation_h = equation_of_time_spencer71(np.arange(1, 366)) / 60
    return Sun(
        position["apparent_zenith"].to_numpy(), position["azimuth"].to_numpy(), np.asarray(beyond, dtype=float),
        12 - (header.longitude / DEGREES_PER_HOUR - utc_offset_h) - equation_h,
    )  # fmt: skip
