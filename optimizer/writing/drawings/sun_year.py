"""A year of sun on a plane as a drawing: its months as bars, and every day as a stroke, the darkest week marked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimizer.vocabulary.months import MONTHS, SHORT_MONTHS
from optimizer.weather.rows import MONTH_STARTS
from optimizer.weather.year import DAYS, daily_sun
from optimizer.writing.drawings.staircase import ticks
from optimizer.writing.drawings.svg import GREY, PALE, SMALL, WIDTH, Drawing
from optimizer.writing.words import weather
from optimizer.writing.words.figures import number

if TYPE_CHECKING:
    from optimizer.answers.sun_on_plane import SunOnPlane

LEFT, TOP, TALL = 30.0, 44.0, 120.0  # where the months begin, and how tall they are
BAR = 16.0
STRIP = 70.0  # height of the days
WEEK = 7


def sun_year_svg(found: SunOnPlane) -> str:
    """The drawing as a file of its own."""
    return Drawing.alone(sun_year(found))


def sun_year(found: SunOnPlane) -> str:
    """Months above; below them the days of the year, or of the first of several, in which the darkest week lies."""
    hours, week = found.years.sun_hours, found.years.darkest(WEEK)
    darkest = min(range(12), key=lambda month: hours[month])
    plane = weather.plane(found.plane.tilt_deg, found.plane.azimuth_deg)
    least = f"{MONTHS[darkest]} has least, {number(hours[darkest], 1)}"
    dull = f"darkest {WEEK} days from {weather.start(week)}: {number(week.sun_hours, 1)}"
    draw = Drawing("sun-year", f"Sun on {plane}", f"kWh/m2 of an average day of each month; {least}; {dull}.")
    draw.text(0, 12, f"Sun on {plane}: {found.years.kind}", room=WIDTH)
    draw.text(0, TOP - 12, "kWh/m2, an average day", size=SMALL)
    draw.text(WIDTH, TOP - 12, least, anchor="end", size=SMALL)
    days = daily_sun(found.years)[week.first // DAYS]
    _months(draw, hours, darkest)
    foot = TOP + TALL + 44
    draw.text(0, foot - 6, "each day", size=SMALL)
    draw.text(WIDTH, foot - 6, dull, anchor="end", size=SMALL)
    _days(draw, days.tolist(), week.first % DAYS, foot)
    return draw.finish(foot + STRIP + 20)


def _months(draw: Drawing, hours: tuple[float, ...], darkest: int) -> None:
    """The months as bars, the darkest black."""
    marks, foot = ticks(0.0, max(*hours, 1e-9)), TOP + TALL

    def y(value: float) -> float:
        return foot - TALL * value / marks[-1]

    for mark in marks:
        draw.line((LEFT, y(mark)), (WIDTH, y(mark)), ink=PALE)
        draw.text(LEFT - 4, y(mark) + 3.5, f"{mark:g}", anchor="end", size=SMALL, room=LEFT - 4)
    for month, value in enumerate(hours):
        middle = _across(MONTH_STARTS[month] + 15)
        draw.box(middle - BAR / 2, y(value), BAR, foot - y(value), fill="#000" if month == darkest else GREY, edge=0)
        draw.text(middle, foot + 13, SHORT_MONTHS[month], anchor="middle", size=SMALL)
    draw.line((LEFT, foot), (WIDTH, foot), width=1.5)


def _days(draw: Drawing, days: list[float], first: int, top: float) -> None:
    """Every day as a stroke from the foot; the darkest week stands in a frame that is closed round the year's end."""
    foot, most = top + STRIP, max(*days, 1e-9)
    strokes = "".join(
        f"M{_across(day + 0.5):.2f} {foot:g}V{foot - STRIP * value / most:.2f}" for day, value in enumerate(days)
    )
    draw.path(strokes, width=0.7, ink="#000")
    for begin, end in ((first, min(first + WEEK, DAYS)), (0, first + WEEK - DAYS)):
        if end > begin:
            draw.box(_across(begin), top, min(_across(end), WIDTH - 1) - _across(begin), STRIP, fill="none", edge=1.5)
    draw.line((LEFT, foot), (WIDTH, foot), width=1.5)
    draw.text(LEFT - 4, top + 8, f"{most:.1f}", anchor="end", size=SMALL, room=LEFT - 4)
    draw.text(LEFT - 4, foot, "0", anchor="end", size=SMALL)
    for month in range(12):
        draw.line((_across(MONTH_STARTS[month]), foot), (_across(MONTH_STARTS[month]), foot + 4))
        draw.text(_across(MONTH_STARTS[month] + 15), foot + 14, SHORT_MONTHS[month], anchor="middle", size=SMALL)


def _across(day: float) -> float:
    """Where a day of the year stands."""
    return LEFT + (WIDTH - LEFT) * day / DAYS
