"""How many panels a job allows, and how many it needs by power alone."""

from __future__ import annotations

import numpy as np

from optimizer.candidates.converters import Inverter, Inverters
from optimizer.candidates.terms import Setting
from optimizer.rules import strings
from optimizer.rules.comparisons import whole_down, whole_up
from optimizer.rules.figure_types import Array, Figure, where


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


def most_usable(panels_each: Figure, offered_w: Figure | float, cap_w: Figure | float, trackers: int) -> Figure:
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
