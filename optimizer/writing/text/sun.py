"""The page of ``borewatt sun``: months on a plane, darkest days, tilts, temperatures, and what was said of the file."""

from __future__ import annotations

import json
from pathlib import PurePath
from typing import TYPE_CHECKING

from optimizer.vocabulary.defaults import default
from optimizer.vocabulary.months import MONTHS, SHORT_MONTHS
from optimizer.writing.words import weather
from optimizer.writing.words.figures import number, share
from optimizer.writing.words.problems import SLOT, clean
from optimizer.writing.words.tables import bullet, ends, paragraph, table

if TYPE_CHECKING:
    from optimizer.answers.sun_on_plane import SunOnPlane

EVERY_DEG = 10  # degrees between the tilts that are shown, beside the best


def sun_page(found: SunOnPlane) -> str:
    """The page."""
    years = found.years
    name = clean(PurePath(found.file).name, SLOT)
    blocks = [
        f"{ends(name, years.kind)}\n{paragraph(weather.place(years), indent=0)}",
        _months(found),
        _darkest(found),
        _tilts(found),
        _temperatures(found),
        "\n".join(["SAID OF THE FILE", *(bullet(weather.note(note)) for note in years.notes)]) if years.notes else "",
        _job(found, name),
    ]
    return "\n\n".join(block for block in blocks if block) + "\n"


def _months(found: SunOnPlane) -> str:
    hours = found.years.sun_hours
    heading = f"SUN ON {weather.plane(found.plane.tilt_deg, found.plane.azimuth_deg)}"
    rows = [[number(value, 2) for value in hours]]
    lines = [ends(heading, "kWh/m2, an average day"), table(rows, SHORT_MONTHS, "r" * 12)]
    if found.chosen:
        lines.append(bullet("No --tilt was stated: of the tilts below it serves the darkest month best."))
    return "\n".join(lines)


def _darkest(found: SunOnPlane) -> str:
    rows = [[str(run.days), weather.start(run), number(run.sun_hours, 2), share(run.share)] for run in found.darkest]
    heads = ["days in a row", "from", "kWh/m2 a day", "of its month"]
    return "\n".join(["DARKEST DAYS", table(rows, heads, "rlrr")])


def _tilts(found: SunOnPlane) -> str:
    best = found.best
    shown = [each for each in found.tilts if each.tilt_deg % EVERY_DEG == 0 or each is best]
    rows = [
        [
            f"{each.tilt_deg:g} deg", number(each.darkest, 2), MONTHS[each.darkest_month],
            number(sum(each.sun_hours) / len(MONTHS), 2), "best for the darkest month" if each is best else "",
        ]
        for each in shown
    ]  # fmt: skip
    heads = ["tilt", "darkest month", "", "all months", ""]
    return "\n".join([f"TILTS, FACING {found.plane.azimuth_deg:g}", table(rows, heads, "rrlrl")])


def _temperatures(found: SunOnPlane) -> str:
    years = found.years
    hottest = f"hottest {years.hottest_c:.1f} degC, {weather.hottest_basis(years)}."
    return "\n".join(["TEMPERATURES", bullet(hottest), bullet(f"coldest {weather.coldest(years.coldest)}.")])


def _job(found: SunOnPlane, name: str) -> str:
    plane, correction = found.plane, found.correction
    keys = {
        "file": json.dumps(name, ensure_ascii=False),
        "tilt": f'"{plane.tilt_deg:g} deg"',
        "azimuth": f'"{plane.azimuth_deg:g} deg"',
        "ground": "" if plane.ground == default("weather.ground") else f"{plane.ground:g}",
        "utc_offset": "" if correction.utc_offset_h is None else f'"{correction.utc_offset_h:g} h"',
        "gaps": '"fill"' if correction.fill_gaps else "",
    }
    lines = [f"{key} = {value}" for key, value in keys.items() if value]
    return "\n".join(["FOR THE JOB, the file beside it", "[weather]", *lines])
