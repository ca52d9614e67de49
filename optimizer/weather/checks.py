"""What is wrong with the figures of a weather file: what is missing, out of range, or a hole written as zero."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from optimizer.vocabulary.problems import Fault, Place, Problem
from optimizer.weather.rows import HOURS, Rows, hour_words

FILLERS = {  # what the forms write where a figure is not known (EPW and TMY3 formats, from memory)
    "ghi": (9999.0, -9900.0), "dni": (9999.0, -9900.0), "dhi": (9999.0, -9900.0), "beam": (9999.0, -9900.0),
    "air": (99.9, -9900.0, 9999.0),
}  # fmt: skip
MEANINGS = {
    "ghi": "light on the level, in W/m2", "dni": "light of the sun's beam square to it, in W/m2",
    "dhi": "light of the sky on the level, in W/m2", "beam": "light of the sun's beam on the level, in W/m2",
    "air": "temperature of the air, in degC",
}  # fmt: skip
NIGHT_OFFSET = -5.0  # W/m2 that a sensor may read below zero (common practice, no source)
BRIGHTEST = 1500.0  # W/m2; no hour is brighter (common practice, no source)
AIR_C = (-60.0, 70.0)
DULLEST_PEAK = 50.0  # W/m2: a year whose brightest hour is below it is in kW
HIGH_SUN_DEG, GAP_HOURS = 10.0, 3  # so many hours in a row without light under so high a sun are a hole
FILL_RUN, FILL_YEAR = 7, 20  # days in a row, and in a year, that may be filled


def missing(rows: Rows, figures: Mapping[str, np.ndarray]) -> Iterator[Problem]:
    """Figures that are not there, or a form's sign for it; they are nan afterwards."""
    for name, values in figures.items():
        holes = ~np.isfinite(values) | np.isin(values, FILLERS[name])
        yield from _each(rows, name, np.flatnonzero(holes), "weather-missing", {"meaning": MEANINGS[name]})
        values[holes] = np.nan


def out_of_range(rows: Rows, figures: Mapping[str, np.ndarray]) -> Iterator[Problem]:
    """Figures that no hour of any place has; they are nan afterwards."""
    for name, values in figures.items():
        low, high = AIR_C if name == "air" else (NIGHT_OFFSET, BRIGHTEST)
        with np.errstate(invalid="ignore"):
            wrong = (values < low) | (values > high)
        unit = "degC" if name == "air" else "W/m2"
        slots = {"range": f"from {low:g} to {high:g}", "meaning": MEANINGS[name], "unit": unit, "perhaps": ""}
        yield from _each(rows, name, np.flatnonzero(wrong), "weather-range", slots)
        values[wrong] = np.nan
    light = "ghi" if "ghi" in figures else "beam"
    if np.isfinite(figures[light]).any() and (peak := float(np.nanmax(figures[light]))) < DULLEST_PEAK:
        slots = {"range": f"a brightest hour over {DULLEST_PEAK:g}", "meaning": MEANINGS[light], "unit": "W/m2",
                 "perhaps": "; it may be in kW/m2"}  # fmt: skip
        place = rows.place(int(np.nanargmax(figures[light])), light)
        yield Fault("weather-range", slots | {"range": f"{slots['range']}, not {peak:g}"}).at(place)


def _each(rows: Rows, name: str, hours: np.ndarray, kind: str, slots: Mapping[str, str]) -> Iterator[Problem]:
    for hour in hours.tolist():
        yield Fault(kind, slots).at(rows.place(hour, name))


def without_offset(rows: Rows, figures: Mapping[str, np.ndarray]) -> Iterator[Problem]:
    """Light a little below zero is taken as none, and that is said."""
    count = 0
    for name, values in figures.items():
        if name != "air":
            below = values < 0
            count += int(np.count_nonzero(below))
            values[below | (values == 0)] = 0.0  # no negative zero either
    if count:
        yield Fault("weather-night-offset", {"count": f"{count:,}"}).at(Place(rows.file))


# holes that are written as zero --------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Gap:
    """Hours in a row without light under a high sun. ``start``: the first, counted from the first row; ``hours``: how
    many."""

    start: int
    hours: int

    @property
    def day(self) -> int:
        """The day it lies in, counted from the first row."""
        return self.start // 24


def gaps(ghi: np.ndarray, zenith_deg: np.ndarray) -> list[Gap]:
    """All of them; ``zenith_deg``: the sun of the hours of one year."""
    high = np.tile(zenith_deg < 90 - HIGH_SUN_DEG, len(ghi) // HOURS)
    dark = np.concatenate(([False], high & (ghi == 0), [False]))
    edges = np.flatnonzero(dark[1:] != dark[:-1]).reshape(-1, 2)
    return [Gap(int(first), int(end - first)) for first, end in edges if end - first >= GAP_HOURS]


def gap_problems(rows: Rows, found: list[Gap], fill: bool) -> Iterator[Problem]:
    """The refusal of holes: unless they are to be filled, or where there are too many of them."""
    if not found:
        return
    too_many = _too_many(found)
    if fill and not too_many:
        return
    mend = "Download the file again, or take another year or source."
    if not fill and not too_many:
        mend = f'{mend[:-1]}; or write gaps = "fill" (--fill of borewatt sun) to take the nearest whole days\' mean.'
    first, more = found[0], ""
    if len(found) > 1:
        more = f", and so on {len({gap.day for gap in found})} days"
    if too_many:
        more += f"; no more than {FILL_RUN} days in a row and {FILL_YEAR} in a year may be filled"
    slots = {"hours": str(first.hours), "start": hour_words(first.start), "more": more, "mend": mend}
    yield Fault("weather-gap", slots).at(rows.place(first.start, "ghi" if "ghi" in rows.columns else "beam"))


def _too_many(found: list[Gap]) -> bool:
    days = sorted({gap.day for gap in found})
    per_year = np.bincount(np.array(days) // 365)
    longest = run = 1
    for day, next_day in zip(days, days[1:], strict=False):
        run = run + 1 if next_day == day + 1 else 1
        longest = max(longest, run)
    return longest > FILL_RUN or int(per_year.max()) > FILL_YEAR


def fill_gaps(rows: Rows, figures: Mapping[str, np.ndarray], found: list[Gap]) -> Iterator[Problem]:
    """Put the mean of the same hours of the nearest whole days before and after into the hours of holes, round the
    year's end, and say so."""
    if not found:
        return
    days = figures["ghi"].size // 24
    broken = {gap.day for gap in found}
    filled = 0
    for gap in found:
        before, after = (
            next((gap.day + step * n) % days for n in range(1, days) if (gap.day + step * n) % days not in broken)
            for step in (-1, 1)
        )
        hours = _dark_stretch(figures["ghi"], gap)
        filled += len(hours)
        for name in ("ghi", "dni", "dhi"):
            values = figures[name]
            values[hours] = (values[before * 24 + hours % 24] + values[after * 24 + hours % 24]) / 2
    slots = {"count": str(filled), "days": str(len(broken)), "start": hour_words(found[0].start)}
    yield Fault("weather-filled", slots).at(Place(rows.file, rows.place(found[0].start).row))


def _dark_stretch(ghi: np.ndarray, gap: Gap) -> np.ndarray:
    """The hours of the gap, and those of its day without light that touch it: the sun was up in some of them too."""
    first, end = gap.start, gap.start + gap.hours
    while first > gap.day * 24 and ghi[first - 1] == 0:
        first -= 1
    while end < (gap.day + 1) * 24 and ghi[end] == 0:
        end += 1
    return np.arange(first, end)
