"""How many panels a job allows, and how many it needs by power alone."""

from __future__ import annotations

import numpy as np

from optimizer.candidates.converters import Inverter, Inverters
from optimizer.candidates.strings import Strings
from optimizer.candidates.terms import Setting
from optimizer.rules import strings
from optimizer.rules.comparisons import at_least, whole_down, whole_up
from optimizer.rules.figure_types import Array, Figure, where

CLIPPED_STEPS = 12  # panels added one by one while the trackers' ceilings leave too little: speed only


def most_panels(pmax_w: Figure, area_m2: Figure, inverter: Inverter | Inverters, setting: Setting) -> Array:
    """The most panels that space and the converters' array limit leave; of the shape of ``pmax_w``, the rated W of
    one panel or of each, for several inverters with an axis before it over those."""
    space = setting.job.space
    most = np.full(np.shape(pmax_w), np.inf)
    if setting.keeps("array-total"):
        most_w = np.asarray(inverter.units * inverter["array_max_w"] + setting.slack("array-total"))
        most = np.minimum(most, whole_down(most_w / pmax_w))
    if setting.keeps("space"):
        if space.max_panels is not None:
            most = np.minimum(most, space.max_panels)
        if space.max_area_m2 is not None:
            most = np.minimum(most, whole_down(space.max_area_m2 / area_m2))
    if (exact := setting.count_of("panel")) is not None:
        most = np.minimum(most, exact)
    return most


def most_usable(
    panels_each: Figure, offered_w: Figure | float, cap_w: Figure | float, trackers: Figure | int
) -> Figure:
    """The most usable W that ``trackers`` give with ``panels_each`` of ``offered_w`` on each on average: no split gives
    more, since usable power rises ever slower with the panels on a tracker, and no string has a higher ceiling."""
    array_w: Figure = np.maximum(panels_each * offered_w, 1e-9)
    ceiling_w: Figure = np.maximum(cap_w, 1e-9)
    return trackers * strings.usable_power(array_w, ceiling_w)


def panels_needed(array_w: Figure | float, offered_w: Figure, floor_w: Figure | float, best_w: Figure) -> Figure:
    """The least panels by power alone: usable W at ``best_w`` a panel, and the lead-acid floor of what they offer."""
    with np.errstate(divide="ignore", invalid="ignore"):
        by_need: Figure = where(best_w > 0, whole_up(array_w / best_w), np.inf)
        by_floor: Figure = whole_up(floor_w / offered_w)
    needed: Figure = np.maximum(1.0, np.maximum(by_need, by_floor))
    return needed


def most_given(
    inverter: Inverter | Inverters, ranges: Strings, pmax_w: Array, offered_w: Array, most: Array
) -> Array:  # fmt: skip
    """Usable W that ``most`` of each panel, or as many as trackers hold, do not surpass; -inf where no string fits."""
    trackers, largest = inverter.trackers, _on_tracker(inverter, ranges, pmax_w)
    held = np.minimum(most, np.floor(largest) * trackers)
    given = most_usable(np.minimum(held / trackers, largest), offered_w, ranges.cap_w, trackers)
    strings_fit = (ranges.shortest <= ranges.longest) & (held >= ranges.shortest)
    power: Array = np.where(strings_fit, given, -np.inf)
    return power


def unclipped(
    inverter: Inverter, need_w: float, count: Array, most: Array, pmax_w: Array, offered_w: Array, ranges: Strings
) -> Array:  # fmt: skip
    """Panels at the least, ``count`` or more, once the trackers' ceilings are counted; infinite where no number up to
    ``most`` is enough."""
    trackers, largest = inverter.trackers, _on_tracker(inverter, ranges, pmax_w)

    def short(panels: Array) -> np.ndarray:
        each = np.minimum(np.where(np.isfinite(panels), panels, 1e9) / trackers, largest)
        given = most_usable(each, offered_w, ranges.cap_w, trackers)
        enough: np.ndarray = at_least(given, need_w)
        return ~enough

    most = np.minimum(most, np.floor(largest) * trackers)
    count = np.where((count > most) | short(most), np.inf, count)
    for _ in range(CLIPPED_STEPS):
        more = short(count) & np.isfinite(count)
        if not more.any():
            break
        count = np.where(more, count + 1, count)
    return np.where(count > most, np.inf, count)


def _on_tracker(inverter: Inverter | Inverters, ranges: Strings, pmax_w: Array) -> Array:
    """Panels on one tracker at the most."""
    largest: Array = np.minimum(ranges.longest * ranges.parallel, inverter["tracker_max_w"] / pmax_w * (1 + 1e-9))
    return largest
