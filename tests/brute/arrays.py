"""The arrays of a bundle: every way to wire the trackers, as far as money, limits and tie rules tell them apart."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

from tests.brute.limits import Limits, rounded_up
from tests.brute.parts import Extra, Panel, Rack
from tests.brute.reading import INFINITE, Job
from tests.brute.rules import Layout, rack_units, rows_of_string


class Shape(NamedTuple):
    """All of an array that money sees."""

    panels: int
    strings: int
    rows: int
    rack_units: int
    fused_strings: int
    fused_panels: int
    fused_rows: int


class Wired(NamedTuple):
    usable_w: float
    kinds: int
    layouts: tuple[tuple[int, int, int], ...]


Ways = dict[tuple[int, int, Shape], Wired]


def wirings(job: Job, rack: Rack, choices: list[Layout], trackers: int, most_panels: float) -> Ways:
    """Every way to wire up to `trackers` trackers, by (trackers used, different layouts, shape).

    The trackers are alike, so how many carry each layout is enough. Ways that agree in all that money, limits
    and tie rules see, but for the power, are one: the one with the most power.
    """
    empty = Shape(0, 0, 0, 0, 0, 0, 0)
    found: Ways = {(0, 0, empty): Wired(0.0, 0, ())}
    for choice in choices:
        rows = rows_of_string(job, rack, choice.series)
        units = rack_units(rack, choice.series, rows)
        m, n = choice.parallel, choice.series
        fused = m if choice.fused else 0
        one = Shape(n * m, m, m * rows, m * units, fused, n * fused, rows * fused)
        for (used, kinds, shape), wired in list(found.items()):
            for times in range(1, trackers - used + 1):
                more = Shape(*(have + times * add for have, add in zip(shape, one, strict=True)))
                if more.panels > most_panels:
                    break
                usable_w = wired.usable_w + times * choice.usable_w
                key = (used + times, kinds + 1, more)
                if key not in found or usable_w > found[key].usable_w:
                    found[key] = Wired(usable_w, kinds + 1, (*wired.layouts, (n, m, times)))
    return found


def wirings_of_equal_strings(job: Job, rack: Rack, choices: list[Layout], trackers: int, most_panels: float) -> Ways:
    """Those wirings whose strings all have the same number of panels in series."""
    found = wirings(job, rack, [], trackers, most_panels)
    for series in {choice.series for choice in choices}:
        alike = [choice for choice in choices if choice.series == series]
        # Panels by strings are the series count, so that no shape comes twice but that of no panels.
        found |= wirings(job, rack, alike, trackers, most_panels)
    return found


def most_panels(job: Job, panel: Panel, array_max_w: float, limits: Limits) -> float:
    """space and array-total: the most panels of a bundle."""
    most = INFINITE
    array_max_w += limits.more("array-total")
    if limits.on("array-total") and array_max_w < INFINITE:
        most = math.floor(array_max_w / panel.pmax_w * (1 + 1e-9))
    if limits.on("space"):
        area_m2 = panel.length_mm * panel.width_mm / 1e6
        if job.max_area_m2 < INFINITE:
            most = min(most, math.floor(job.max_area_m2 / area_m2 * (1 + 1e-9)))
        most = min(most, job.max_panels)
    return most


def extra_needs(extras: Iterable[Extra], u: int, batteries: int, k: int, shape: Shape) -> list[tuple[str, int]]:
    """How many pieces of each extra a bundle needs."""
    needs = []
    for extra in extras:
        counts = {
            "system": 1,
            "converter": u,
            "battery": batteries,
            "bank-string": k,
            "string": shape.strings,
            "panel": shape.panels,
            "row": shape.rows,
        }
        if extra.when == "fused" and shape.fused_strings:
            counts |= {"string": shape.fused_strings, "panel": shape.fused_panels, "row": shape.fused_rows}
        holds = {
            "always": True,
            "fused": shape.fused_strings > 0,
            "stacked": u >= 2,
            "paralleled-bank": k >= 2,
        }[extra.when]
        needs.append((extra.part, rounded_up(counts[extra.per] * extra.quantity) if holds else 0))
    return needs
