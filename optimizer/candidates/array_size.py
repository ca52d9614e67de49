"""How many panels a job allows, and how many it needs by power alone."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from optimizer.candidates.converters import Inverter
from optimizer.candidates.terms import Setting
from optimizer.rules import strings
from optimizer.rules.tolerance import whole_down, whole_up


def most_panels(panels: Mapping[str, Any], area_m2: Any, inverter: Inverter, setting: Setting) -> Any:
    """The most panels that space and the converters' array limit leave; floats or arrays over the panels."""
    space = setting.job.space
    most = np.full(np.shape(panels["pmax_w"]), np.inf)
    if setting.keeps("array-total"):
        most_w = inverter.units * inverter["array_max_w"] + setting.slack("array-total")
        most = np.minimum(most, whole_down(most_w / panels["pmax_w"]))
    if setting.keeps("space"):
        if space.max_panels is not None:
            most = np.minimum(most, space.max_panels)
        if space.max_area_m2 is not None:
            most = np.minimum(most, whole_down(space.max_area_m2 / area_m2))
    if (exact := setting.count_of("panel")) is not None:
        most = np.minimum(most, exact)
    return most


def most_usable(panels_each: Any, pmax_w: Any, cap_w: Any, trackers: int, array_factor: float) -> Any:
    """The most usable W that ``trackers`` give with ``panels_each`` on each on average: no split gives more, since
    usable power rises ever slower with the panels on a tracker, and no string has a higher ceiling."""
    array_w = np.maximum(panels_each * pmax_w * array_factor, 1e-9)
    return trackers * strings.usable_power(array_w, np.maximum(cap_w, 1e-9))


def panels_needed(array_w: Any, pmax_w: Any, floor_w: Any, array_factor: float, best_w: Any) -> Any:
    """The least panels by power alone: usable W at ``best_w`` a panel, and the lead-acid floor."""
    with np.errstate(divide="ignore", invalid="ignore"):
        by_need = np.where(best_w > 0, whole_up(array_w / best_w), np.inf)
    return np.maximum(1.0, np.maximum(by_need, whole_up(floor_w / (pmax_w * array_factor))))
