"""The month chart: the energy that each month asks of the array, and what the array makes in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from optimizer.vocabulary.months import SHORT_MONTHS
from optimizer.writing.drawings.staircase import ticks
from optimizer.writing.drawings.svg import GREY, PALE, SMALL, WIDTH, Drawing, span
from optimizer.writing.words.figures import number

if TYPE_CHECKING:
    from optimizer.auditor.reading import Reading

LEFT, TOP, TALL = 34.0, 44.0, 150.0  # where the plot begins, and how tall it is
ASKED, MADE = 20.0, 13.0  # width of a month's outline, and of the solid bar in it


@dataclass(frozen=True)
class MonthEnergy:
    """A month's average day in kWh: what is asked of the array, how often over included, and what it makes."""

    month: str
    asked_kwh: float
    made_kwh: float


def month_energies(readings: Sequence[Reading]) -> list[MonthEnergy]:
    """The months of an audit that has a reading of daily-energy for each of them."""
    return [
        MonthEnergy(reading.where, *(power * float(reading.slots["sun_hours"]) / 1000
                                     for power in (reading.allowed, reading.value)))
        for reading in readings
        if reading.limit == "daily-energy"
    ]  # fmt: skip


def month_chart(months: Sequence[MonthEnergy], tightest: str, prefix: str = "") -> str:
    """The drawing; ``tightest`` names the month that is labelled."""
    worst = next(each for each in months if each.month == tightest)
    asked, made = number(worst.asked_kwh, 1), number(worst.made_kwh, 1)
    label = f"{tightest}, asks {asked}, makes {made} kWh"
    draw = Drawing(f"{prefix}months", "Month chart", f"kWh of an average day of each month. Tightest is {label}.")
    marks = ticks(0.0, max(max(each.asked_kwh, each.made_kwh) for each in months))
    foot = TOP + TALL

    def y(kwh: float) -> float:
        return foot - TALL * kwh / marks[-1]

    draw.box(0.5, 2.5, 12, 10, fill="none", edge=1.5)
    draw.text(18, 11, "asked of the array", size=SMALL)
    draw.box(160, 2, 10, 11, fill=GREY, edge=0)
    draw.text(176, 11, "made by it", size=SMALL)
    draw.text(0, TOP - 12, "kWh", size=SMALL)
    for mark in marks:
        draw.line((LEFT, y(mark)), (WIDTH, y(mark)), ink=PALE)
        draw.text(LEFT - 4, y(mark) + 3.5, f"{mark:g}", anchor="end", size=SMALL, room=LEFT - 4)
    pitch = (WIDTH - LEFT) / len(months)
    for place, each in enumerate(months):
        middle = LEFT + pitch * (place + 0.5)
        draw.box(middle - MADE / 2, y(each.made_kwh), MADE, foot - y(each.made_kwh), fill=GREY, edge=0)
        draw.box(middle - ASKED / 2, y(each.asked_kwh), ASKED, foot - y(each.asked_kwh), fill="none", edge=1.5)
        draw.text(middle, foot + 13, SHORT_MONTHS[place], anchor="middle", size=SMALL)
        if each.month == tightest:
            draw.path(f"M{middle:g} {foot + 18:g}l4.5 7h-9z", fill="#000")
            words = f"tightest: {label}"
            half = span(words, SMALL) / 2
            draw.text(min(max(middle, half), WIDTH - half), foot + 37, words, anchor="middle", size=SMALL)
    draw.line((LEFT, foot), (WIDTH, foot), width=1.5)
    return draw.finish(foot + 42)
