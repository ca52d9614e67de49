"""The strings that each panel may form on a tracker, and the layouts of one panel."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from catalog.rows import PanelColumn
from optimizer.candidates.converters import Inverter, Inverters
from optimizer.candidates.terms import Setting
from optimizer.rules import mounting, strings
from optimizer.rules.comparisons import at_most, whole_down, whole_up


@dataclass(frozen=True)
class PanelFigures:
    """What the site makes of each panel; arrays over the panels."""

    cold_v: np.ndarray
    hot_v: np.ndarray
    wake_v: np.ndarray
    isc_a: np.ndarray
    area_m2: np.ndarray
    offered_w: np.ndarray


def panel_figures(panels: Mapping[PanelColumn, np.ndarray], setting: Setting, heat_c: float) -> PanelFigures:
    """Volts of one panel at dawn in the cold and in full heat, its short-circuit A with rear light, its m², the W that
    it offers its tracker; on a rack that is ``heat_c`` hotter than in the open. More heat leaves less of everything, so
    the figures at the least heat of several racks bound those of each."""
    place = setting.job.site
    cell_c = strings.cell_temperature(place.hottest_c, panels["noct_c"], heat_c)
    return PanelFigures(
        cold_v=panels["voc_v"] * strings.cold_factor(panels["voc_pct_per_c"], place.coldest_c),
        hot_v=panels["vmp_v"] * strings.hot_factor(panels["vmp_pct_per_c"], cell_c),
        wake_v=panels["voc_v"] * strings.wake_factor(panels["voc_pct_per_c"], cell_c),
        isc_a=strings.short_circuit_current(panels["isc_a"], panels["bifacial_pct"], place.rear_light),
        area_m2=mounting.panel_area(panels["length_mm"], panels["width_mm"]),
        offered_w=strings.offered_power(panels["pmax_w"], place.array_factor, panels["pmax_pct_per_c"], heat_c),
    )


@dataclass(frozen=True)
class Strings:
    """The strings that each panel may form on a tracker of a converter; arrays over the panels, for several converters
    with an axis before it over those.

    ``shortest`` and ``longest`` in series, at most ``parallel`` of them; ``best_w`` is the most usable W that one
    panel can give (in the shortest string, alone), ``cap_w`` the usable W a tracker's ceiling leaves the longest.
    No string: ``shortest`` > ``longest``.
    """

    shortest: np.ndarray
    longest: np.ndarray
    parallel: np.ndarray
    best_w: np.ndarray
    cap_w: np.ndarray


def string_ranges(
    panels: Mapping[PanelColumn, np.ndarray], figures: PanelFigures, inverter: Inverter | Inverters, setting: Setting
) -> Strings:
    """Which strings every limit of a tracker leaves."""
    job, keeps = setting.job, setting.keeps
    longest = whole_down(inverter["tracker_top_v"] / panels["vmp_v"])
    longest = np.minimum(longest, whole_down(inverter["tracker_max_w"] / panels["pmax_w"]))
    ceilings = (
        ("cold-voltage", inverter["tracker_max_v"] * (1 - job.reserve.voltage)),
        ("panel-voltage", panels["max_system_v"]),
        ("code-voltage", job.site.array_ceiling_v),
    )
    for limit, ceiling_v in ceilings:
        if keeps(limit):
            longest = np.minimum(longest, whole_down((ceiling_v + setting.slack(limit)) / figures.cold_v))
    longest = np.where(np.isnan(longest), 0.0, longest)
    shortest = np.ones(longest.shape)
    floors = (
        ("hot-voltage", figures.hot_v * (1 - job.reserve.hot_voltage), inverter["tracker_min_v"]),
        ("wake-voltage", figures.wake_v, inverter["tracker_start_v"]),
    )
    for limit, volts, least_v in floors:
        if keeps(limit):
            with np.errstate(divide="ignore", invalid="ignore"):
                asked = whole_up((least_v - setting.slack(limit)) / volts)
                shortest = np.maximum(shortest, np.where(volts > 0, asked, np.inf))
    parallel = whole_down(inverter["tracker_max_w"] / (panels["pmax_w"] * shortest))
    if keeps("tracker-strings"):
        parallel = np.minimum(parallel, inverter["tracker_strings"] + setting.slack("tracker-strings"))
    if keeps("tracker-current"):
        most_a = inverter["tracker_isc_a"] + setting.slack("tracker-current")
        parallel = np.minimum(parallel, whole_down(most_a / (figures.isc_a * (1 + job.reserve.current))))
    if keeps("fuse-fits"):
        no_fuse = ~at_most(
            strings.fuse_rating(figures.isc_a, job.supply.hz), panels["max_fuse_a"] + setting.slack("fuse-fits")
        )
        bare = strings.most_parallel_unfused(figures.isc_a, panels["max_fuse_a"])
        parallel = np.where(no_fuse, np.minimum(parallel, bare), parallel)
    longest = np.where(parallel >= 1, longest, 0.0)
    array_w = shortest * figures.offered_w
    cap_w = strings.tracker_ceiling(
        inverter["tracker_usable_w"], inverter["tracker_usable_a"], shortest * figures.hot_v
    )
    fits = shortest <= longest
    best_w = np.zeros(longest.shape)
    best_w[fits] = (strings.usable_power(array_w, cap_w) / np.maximum(shortest, 1.0))[fits]
    cap_w = strings.tracker_ceiling(inverter["tracker_usable_w"], inverter["tracker_usable_a"], longest * figures.hot_v)
    return Strings(shortest, longest, parallel, best_w, cap_w)


@dataclass(frozen=True)
class Layout:
    """What one tracker may carry: ``parallel`` strings of ``series`` panels, and the usable W it then gives."""

    series: int
    parallel: int
    usable_w: float
    fused: bool

    @property
    def panels(self) -> int:
        """Panels of the layout."""
        return self.series * self.parallel


def layouts(
    panel: Mapping[PanelColumn, float], figures: PanelFigures, row: int, inverter: Inverter, ranges: Strings,
    position: int, setting: Setting,
) -> tuple[Layout, ...]:  # fmt: skip
    """Every layout of one panel on a tracker, longest strings first; ``row`` into figures, ``position`` into
    ranges."""
    least, most = int(ranges.shortest[position]), int(ranges.longest[position])
    if least > most:
        return ()
    series: np.ndarray = np.arange(most, least - 1, -1).repeat(int(ranges.parallel[position]))
    parallel: np.ndarray = np.tile(np.arange(1, int(ranges.parallel[position]) + 1), most - least + 1)
    fits = at_most(series * parallel * panel["pmax_w"], inverter["tracker_max_w"])
    series, parallel = series[fits], parallel[fits]
    array_w = series * parallel * figures.offered_w[row]
    cap_w = strings.tracker_ceiling(
        inverter["tracker_usable_w"], inverter["tracker_usable_a"], series * figures.hot_v[row]
    )
    usable_w = strings.usable_power(array_w, cap_w)
    fused = strings.is_fused(parallel, figures.isc_a[row], panel["max_fuse_a"])
    return tuple(map(Layout, series.tolist(), parallel.tolist(), usable_w.tolist(), fused.tolist()))
