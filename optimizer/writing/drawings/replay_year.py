"""The replay of a bundle as a drawing: the year day by day, and its worst week hour by hour.

Nothing is said by colour: charge is grey upward, hours short are black downward; sun is a pale field, load a line, bank
a dashed line, and what lacks is black.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimizer.vocabulary.months import SHORT_MONTHS
from optimizer.weather.rows import MONTH_STARTS
from optimizer.weather.year import DAYS
from optimizer.writing.drawings.staircase import ticks
from optimizer.writing.drawings.svg import GREY, PALE, SMALL, WIDTH, Drawing
from optimizer.writing.words.figures import number
from optimizer.writing.words.replay import date, short_hours

if TYPE_CHECKING:
    from optimizer.rules.replayed_year import Replayed, ReplayedYear, WeekHours

LEFT, RIGHT = 34.0, WIDTH - 30.0  # of what has an axis on either side
STRIP = 70.0  # height of the bank's charge
SHORT = 30.0  # height of a day short for all its hours
WEEK = 110.0  # height of the week
HOURS = 24


def replay_year(found: Replayed, prefix: str = "") -> str:
    """The year above, the worst week below."""
    worst = found.worst
    said = short_hours(worst)
    of = "a typical year" if worst.year is None else f"{worst.year}"
    draw = Drawing(
        f"{prefix}replay-year", f"Replay of {of}: {said}",
        "The bank's lowest charge of each day, and the hours short; then the week from "
        f"{date(found.week.first)} by the hour.",
    )  # fmt: skip
    draw.text(0, 12, f"Replay of {of}: {worst.hours_short} h short, {worst.days_short} days", room=WIDTH)
    draw.text(0, 32, "bank's lowest charge of each day, % of its window", size=SMALL)
    foot = _year(draw, worst, 38.0)
    top = foot + 34.0
    lacks = f"{number(worst.worst_week.unserved_wh / 1000, 1)} kWh lack"
    draw.text(0, top - 18, f"worst week, from {date(found.week.first)}: {lacks}", room=WIDTH)
    draw.text(0, top - 5, "kW", size=SMALL)
    draw.text(WIDTH, top - 5, "bank %", anchor="end", size=SMALL)
    return draw.finish(_legend(draw, _week(draw, found.week, top + 4)))


def _year(draw: Drawing, year: ReplayedYear, top: float) -> float:
    """Charge upward and hours short downward from one line; where the whole ends."""
    foot = top + STRIP
    for pct in (0, 50, 100):
        y = foot - STRIP * pct / 100
        draw.line((LEFT, y), (RIGHT, y), ink=PALE)
        draw.text(LEFT - 4, y + 3.5, str(pct), anchor="end", size=SMALL)
    draw.path(
        "".join(f"M{_across(day):.2f} {foot:g}V{foot - STRIP * pct / 100:.2f}"
                for day, pct in enumerate(year.lowest_by_day) if pct > 0),
        width=0.8, ink=GREY,
    )  # fmt: skip
    hours = [(day, count) for day, count in enumerate(year.short_by_day) if count]
    if hours:
        strokes = (f"M{_across(day):.2f} {foot:g}V{foot + SHORT * count / HOURS:.2f}" for day, count in hours)
        draw.path("".join(strokes), width=0.9)
    draw.line((LEFT, foot), (RIGHT, foot), width=1.5)
    draw.text(LEFT - 4, foot + SHORT, f"{HOURS} h", anchor="end", size=SMALL)
    draw.text(WIDTH, foot + 12, "short", anchor="end", size=SMALL)
    for month in range(12):
        draw.line((_across(MONTH_STARTS[month]), foot + SHORT), (_across(MONTH_STARTS[month]), foot + SHORT + 4))
        draw.text(_across(MONTH_STARTS[month] + 15), foot + SHORT + 14, SHORT_MONTHS[month], anchor="middle",
                  size=SMALL)  # fmt: skip
    return foot + SHORT + 18


def _across(day: float) -> float:
    return LEFT + (RIGHT - LEFT) * (day + 0.5) / DAYS


def _week(draw: Drawing, week: WeekHours, top: float) -> float:
    """Sun, load, bank and what lacks, hour by hour; where the whole ends."""
    foot, hours = top + WEEK, len(week.sun_w)
    marks = ticks(0.0, max(*week.sun_w, *week.asked_w, 1.0))

    def x(hour: float) -> float:
        return LEFT + (RIGHT - LEFT) * hour / hours

    def y(watts: float) -> float:
        return foot - WEEK * watts / marks[-1]

    def stairs(values: tuple[float, ...]) -> str:
        return "".join(f"L{x(hour):.2f} {y(watts):.2f}H{x(hour + 1):.2f}" for hour, watts in enumerate(values))

    draw.path(f"M{x(0):.2f} {foot:g}{stairs(week.sun_w)}V{foot:g}Z", ink=GREY, fill=PALE, width=0.5)
    for mark in marks:
        draw.text(LEFT - 4, y(mark) + 3.5, f"{mark / 1000:g}", anchor="end", size=SMALL, room=LEFT - 4)
    draw.path("M" + stairs(week.asked_w)[1:], width=1.0)
    black = "".join(
        f"M{x(hour):.2f} {y(asked):.2f}H{x(hour + 1):.2f}V{y(asked - lacks):.2f}H{x(hour):.2f}Z"
        for hour, (asked, lacks) in enumerate(zip(week.asked_w, week.lacking_w, strict=True))
        if lacks > 0
    )
    if black:
        draw.path(black, width=0.3, fill="#000")
    bank = "".join(
        f"{'L' if hour else 'M'}{x(hour + 1):.2f} {foot - WEEK * pct / 100:.2f}"
        for hour, pct in enumerate(week.charge_pct)
    )
    draw.path(bank, width=1.2, dash="4 3")
    for pct in (0, 50, 100):
        draw.text(WIDTH, foot - WEEK * pct / 100 + 3.5, str(pct), anchor="end", size=SMALL)
    draw.line((LEFT, foot), (RIGHT, foot), width=1.5)
    for day in range(hours // HOURS):
        draw.line((x(day * HOURS), foot), (x(day * HOURS), foot + 4))
        draw.text(x(day * HOURS + HOURS / 2), foot + 14, str(_day_of_month(week.first + day)), anchor="middle",
                  size=SMALL)  # fmt: skip
    return foot + 20


def _day_of_month(day: int) -> int:
    return int(date(day).split()[0])


def _legend(draw: Drawing, top: float) -> float:
    """What each mark means; where the whole ends."""
    y = top + 8
    draw.box(LEFT, y - 7, 14, 8, fill=PALE, edge=0.5)
    draw.text(LEFT + 18, y, "sun", size=SMALL)
    draw.line((LEFT + 56, y - 3), (LEFT + 74, y - 3))
    draw.text(LEFT + 78, y, "load", size=SMALL)
    draw.line((LEFT + 122, y - 3), (LEFT + 144, y - 3), width=1.2, dash="4 3")
    draw.text(LEFT + 148, y, "bank", size=SMALL)
    draw.box(LEFT + 190, y - 7, 14, 8, fill="#000", edge=0.5)
    draw.text(LEFT + 208, y, "lacking", size=SMALL)
    return y + 6
