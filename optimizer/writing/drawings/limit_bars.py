"""The limit bars: what each limit asks, drawn against what there is."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, isfinite
from typing import TYPE_CHECKING

from optimizer.writing.content.option import room
from optimizer.writing.drawings.svg import SMALL, WIDTH, Drawing
from optimizer.writing.words.phrases import measure

if TYPE_CHECKING:
    from optimizer.auditor.reading import Reading
    from optimizer.inputs.job import Job

MOST = 18  # limits of one drawing: as many as stand on a page of paper
ROW = 34.0  # from one limit to the next
THICK = 10.0  # a bar
LONG = WIDTH - 60.0  # the longest bar; what is left of it says the room
FINE, COARSE = 3.0, 7.0  # hatching of what is asked, and of the reserve on it
LEGEND = 40.0  # height of the legend


def limit_bars(job: Job, readings: Sequence[Reading], prefix: str = "") -> list[str]:
    """The drawings, of about as many limits each, in the order given; limits without a figure have no bar."""
    drawn = [reading for reading in readings if has_bar(reading)]
    each = ceil(len(drawn) / ceil(len(drawn) / MOST)) if drawn else 1
    groups = [drawn[start : start + each] for start in range(0, len(drawn), each)]
    return [_bars(job, group, f"{prefix}bars-{place + 1}") for place, group in enumerate(groups)]


def has_bar(reading: Reading) -> bool:
    """Whether both sides of a limit are lengths: a temperature or a plain yes is none."""
    figures = (reading.value, reading.allowed, reading.raw_value, reading.raw_allowed)
    return not reading.settled and reading.unit != "degC" and all(isfinite(each) and each >= 0 for each in figures)


def _bars(job: Job, readings: Sequence[Reading], name: str) -> str:
    failing = sum(not reading.holds for reading in readings)
    nearest = f"{len(readings)} limits, {failing} not met" if failing else f"{len(readings)} limits, all met"
    draw = Drawing(name, "Limit bars", f"{nearest}: {', '.join(reading.limit for reading in readings)}.")
    _legend(draw)
    for place, reading in enumerate(readings):
        _bar(draw, job, reading, LEGEND + place * ROW)
    return draw.finish(LEGEND + len(readings) * ROW)


def _legend(draw: Drawing) -> None:
    draw.box(0.5, 2, 24, THICK)
    draw.hatch(0.5, 2, 24, THICK, FINE)
    draw.text(30, 11, "asked", size=SMALL)
    draw.box(96.5, 2, 24, THICK)
    draw.hatch(96.5, 2, 24, THICK, COARSE)
    draw.text(126, 11, "reserve asked on top", size=SMALL)
    draw.line((6, 16), (6, 30), width=2.5)
    draw.text(30, 27, "allowed", size=SMALL)
    draw.line((108, 16), (108, 30), width=1.2, dash="2 2")
    draw.text(126, 27, "raw rating, reserve left off", size=SMALL)


def _bar(draw: Drawing, job: Job, reading: Reading, y: float) -> None:
    """One limit: its name and its two sides over the bar, the room left behind it."""
    (asked, has), (raw_asked, raw_has) = (
        (first, second) if reading.sense == "at most" else (second, first)
        for first, second in ((reading.value, reading.allowed), (reading.raw_value, reading.raw_allowed))
    )
    scale = LONG / max(asked, has, raw_asked, raw_has, 1e-12)
    figures = f"asks {measure(job, reading, asked)}, has {measure(job, reading, has)}"
    draw.text(0, y + 10, reading.limit, size=SMALL, bold=True, room=112)
    draw.text(WIDTH, y + 10, figures, size=SMALL, anchor="end", room=WIDTH - 118)
    top = y + 16
    firm = min(raw_asked, asked)
    draw.line((0, top + THICK), (LONG, top + THICK), ink="#d0d0d0")
    draw.box(0.5, top, firm * scale, THICK)
    draw.hatch(0.5, top, firm * scale, THICK, FINE)
    if asked > firm:
        draw.box(0.5 + firm * scale, top, (asked - firm) * scale, THICK)
        draw.hatch(0.5 + firm * scale, top, (asked - firm) * scale, THICK, COARSE)
    draw.line((0.5 + has * scale, top - 1.5), (0.5 + has * scale, top + THICK + 2), width=2.5)
    if raw_has != has:
        draw.line((0.5 + raw_has * scale, top - 1.5), (0.5 + raw_has * scale, top + THICK + 2), width=1.2, dash="2 2")
    draw.text(WIDTH, top + 9, room(reading) if reading.holds else "FAIL", size=SMALL, anchor="end", room=54,
              bold=not reading.holds)  # fmt: skip
