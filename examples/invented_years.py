"""Make the invented years of weather beside two of the examples: ``python examples/invented_years.py``.

Nothing here was measured anywhere. The light of a clear sky is multiplied by a clearness that lasts from day to day,
and the air is a year's and a day's wave with spells of warm and cold; each year comes from a seed, so that it is always
the same file. The form is EPW, with empty cells for what nobody reads.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, asin, cos, degrees, exp, pi, radians, sin
from pathlib import Path
from random import Random

HERE = Path(__file__).parent
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
YEARS = (2001, 2002, 2003)  # common ones; months of several make a typical year
EMPTY = "," * 19  # the cells behind the light


@dataclass(frozen=True)
class InventedPlace:
    """A place that is nowhere: degrees, h, and degC; ``clearness`` is that of an ordinary day, 0 to 1."""

    file: str
    seed: int
    latitude: float
    longitude: float
    zone: float
    clearness: float
    mean_c: float
    summer_c: float  # the year's wave to each side
    day_c: float  # the day's
    lowest_c: float
    highest_c: float


PLACES = (
    InventedPlace("stock-water-bore/sand-flat.epw", 17, 34.0, -106.5, -7.0, 0.92, 18.0, 10.5, 7.5, -4.5, 43.0),
    InventedPlace("hillside-nursery/green-slope.epw", 23, -32.0, 27.0, 2.0, 0.76, 14.0, 8.0, 6.0, -8.0, 37.0),
)


def year(place: InventedPlace) -> str:
    """The file's text."""
    random = Random(place.seed)
    low, high = place.lowest_c, place.highest_c
    extremes = (
        f"Extremes,,,,,{low:.1f},{high:.1f},,,{low - 2:.1f},{high + 1:.1f},{low - 3:.1f},{high + 2:.1f},"
        f"{low - 4:.1f},{high + 2:.1f},{low - 5:.1f},{high + 3:.1f}"
    )
    lines = [
        f"LOCATION,Invented,-,-,INVENTED,0,{place.latitude},{place.longitude},{place.zone},0",
        f"DESIGN CONDITIONS,1,Invented,,{extremes}",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,INVENTED: nothing of it was measured; clear sky times a clearness that lasts from day to day",
        f"COMMENTS 2,made by examples/invented_years.py with the seed {place.seed}",
        "DATA PERIODS,1,1,Data,Monday,1/1,12/31",
    ]  # fmt: skip
    spell, warmth, day = 0.0, 0.0, 0
    for month, days in enumerate(MONTH_DAYS, start=1):
        for date in range(1, days + 1):
            spell = 0.72 * spell + random.gauss(0, 0.7)
            warmth = 0.8 * warmth + random.gauss(0, 1.3)
            clear = min(1.0, max(0.08, place.clearness + spell * (0.30 if spell < 0 else 0.12)))
            for hour in range(24):
                now = min(1.0, max(0.05, clear + random.gauss(0, 0.06) * (1.1 - clear)))
                ghi, dni, dhi = light(place, day, hour, now)
                air = max(place.lowest_c, air_of(place, day, hour, warmth, clear))
                lines.append(
                    f"{YEARS[month % 3]},{month},{date},{hour + 1},60,,{air:.1f},,,,,,,{ghi},{dni},{dhi}{EMPTY}"
                )
            day += 1
    return "\n".join(lines) + "\n"


def light(place: InventedPlace, day: int, hour: int, clear: float) -> tuple[int, int, int]:
    """Light on the level, of the beam square to the sun, and of the sky, in W/m2: means of the hour that begins."""
    wave = 2 * pi * (day + (hour + 0.5 - place.zone) / 24) / 365
    tilt = (0.006918 - 0.399912 * cos(wave) + 0.070257 * sin(wave) - 0.006758 * cos(2 * wave)
            + 0.000907 * sin(2 * wave) - 0.002697 * cos(3 * wave) + 0.00148 * sin(3 * wave))  # fmt: skip
    equation_h = 229.18 / 60 * (0.000075 + 0.001868 * cos(wave) - 0.032077 * sin(wave) - 0.014615 * cos(2 * wave)
                                - 0.040849 * sin(2 * wave))  # fmt: skip
    start = 15 * (hour - place.zone + place.longitude / 15 + equation_h - 12)
    up, across = sin(radians(place.latitude)) * sin(tilt), cos(radians(place.latitude)) * cos(tilt)
    last = degrees(acos(min(1.0, max(-1.0, (sin(radians(-0.8333)) - up) / across))))
    first, end = max(start, -last), min(start + 15, last)
    if end <= first:
        return 0, 0, 0
    sine = max(up + across * cos(radians((first + end) / 2)), 0.01)
    lit = (end - first) / 15  # the share of the hour in which the sun is up
    total = 1098 * sine * exp(-0.057 / sine) * clear * lit  # of a clear sky: Haurwitz 1945
    air_mass = 1 / (sine + 0.50572 * (degrees(asin(sine)) + 6.07995) ** -1.6364)  # Kasten and Young 1989
    beam = 1361 * 0.7 ** (air_mass**0.678) * max(0.0, (clear - 0.25) / 0.75) * lit  # clear sky: Meinel 1976
    dni = round(min(beam, 0.88 * total / sine))
    dhi = round(total - dni * sine)
    return round(dhi + dni * sine), dni, dhi


def air_of(place: InventedPlace, day: int, hour: int, warmth: float, clear: float) -> float:
    """Temperature of the air in degC: coldest three weeks after the shortest day, and before dawn."""
    side = 1 if place.latitude > 0 else -1
    season = -side * place.summer_c * cos(2 * pi * (day - 16) / 365)
    wave = -place.day_c * (0.4 + 0.6 * clear) * cos(2 * pi * (hour - 4.5) / 24)
    return min(place.highest_c, place.mean_c + season + wave + warmth)


if __name__ == "__main__":
    for each in PLACES:
        (HERE / each.file).write_text(year(each), encoding="utf-8")
