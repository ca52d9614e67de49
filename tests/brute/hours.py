"""A bundle gone through a year hour by hour, many bundles beside each other, and the cheapest of a catalogue that pass.

Written from the rules alone, one hour after the other. It knows no pump that waits for the sun.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any, NamedTuple

import numpy as np

from tests.brute.arrays import Shape, Ways, Wired
from tests.brute.force import Candidate, Node, every_candidate, market_of
from tests.brute.limits import Limits
from tests.brute.loads import Figures
from tests.brute.parts import Parts, Rack
from tests.brute.reading import Job
from tests.brute.rules import Layout, rack_units, rows_of_string, series_count

HOURS = 8760
DAYS_OF_MONTH = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
MONTH_OF_DAY = [month for month, days in enumerate(DAYS_OF_MONTH) for _ in range(days)]
SIDE_BY_SIDE = 256  # bundles gone through together


class Year(NamedTuple):
    """Hours of a year: W/m2 on the plane and on the cells, degC; of each day the time of the highest sun, h."""

    plane: np.ndarray
    cells: np.ndarray
    air: np.ndarray
    noon_h: np.ndarray


class Marked(Shape):
    """A shape that is told apart by its wiring: here not only money sees it."""

    wiring: tuple[tuple[int, int, int], ...]

    @classmethod
    def of(cls, shape: Shape, wiring: tuple[tuple[int, int, int], ...]) -> Marked:
        marked = cls(*shape)
        marked.wiring = wiring
        return marked

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Marked) and self.wiring == other.wiring and tuple(self) == tuple(other)

    def __hash__(self) -> int:
        return hash((tuple(self), self.wiring))


def every_wiring(job: Job, rack: Rack, choices: list[Layout], trackers: int, most_panels: float) -> Ways:
    """Every way to wire up to ``trackers`` trackers, none standing for another."""
    found: Ways = {}
    for counts in itertools.product(range(trackers + 1), repeat=len(choices)):
        if not 0 < sum(counts) <= trackers:
            continue
        shape, usable_w, wiring = [0] * 7, 0.0, []
        for choice, times in zip(choices, counts, strict=True):
            if times:
                n, m = choice.series, choice.parallel
                rows = rows_of_string(job, rack, n)
                fused = m if choice.fused else 0
                one = (n * m, m, m * rows, m * rack_units(rack, n, rows), fused, n * fused, rows * fused)
                shape = [have + times * add for have, add in zip(shape, one, strict=True)]
                usable_w += times * choice.usable_w
                wiring.append((n, m, times))
        if shape[0] <= most_panels:
            marked = Marked.of(Shape(*shape), tuple(wiring))
            found[sum(counts), len(wiring), marked] = Wired(usable_w, len(wiring), tuple(wiring))
    return found


def hourly_w(job: Job, load: Figures, own_hours: tuple[float, ...] | None, noon_h: np.ndarray) -> list[float]:
    """W of a load in every hour: its share in the sun over its own hours round noon, at most 8, the rest evenly over
    the 16 h that are not within 4 h of noon."""
    watts = []
    for day, month in enumerate(MONTH_OF_DAY):
        width = 8.0
        if own_hours is not None and own_hours[month] > 0:
            width = min(own_hours[month], 8.0)
        noon = float(noon_h[day])
        for hour in range(24):
            inside = covered(hour, noon - width / 2, noon + width / 2) / width
            outside = (1.0 - covered(hour, noon - 4.0, noon + 4.0)) / 16.0
            in_sun = load.daytime[month]
            watts.append(load.energy_wh[month] * (in_sun * inside + (1 - in_sun) * outside))
    return watts


def covered(hour: int, first: float, end: float) -> float:
    """How much of an hour of the clock lies in a span that may begin or end on another day."""
    return sum(max(0.0, min(end, hour + 1 + shift) - max(first, hour + shift)) for shift in (-24.0, 0.0, 24.0))


def own_hours(job: Job, place: int) -> tuple[float, ...] | None:
    """h a day of work of each unit of a load, by month; None where only its energy is known."""
    load = job.loads[place]
    if load.water_per_day_l is not None:
        assert load.flow_l_per_h is not None
        return tuple(litres / (load.count * load.flow_l_per_h) for litres in load.water_per_day_l)
    return load.hours_per_day


def hours_short(job: Job, parts: Parts, year: Year, losses: float, bundles: list[tuple[Node, Candidate]]) -> list[int]:
    """Hours in which critical loads lack over 1 % of what they ask, of each bundle."""
    found: list[int] = []
    for start in range(0, len(bundles), SIDE_BY_SIDE):
        found += _together(job, parts, year, losses, bundles[start : start + SIDE_BY_SIDE])
    return found


def _together(job: Job, parts: Parts, year: Year, losses: float, some: list[tuple[Node, Candidate]]) -> list[int]:
    of: dict[str, dict[str, Any]] = {
        kind: {row.part: row for row in rows}
        for kind, rows in (("c", parts.converters), ("b", parts.batteries), ("p", parts.panels), ("r", parts.racks))
    }
    size = len(some)
    sun, critical, shed = (np.zeros((HOURS, size)) for _ in range(3))
    full, charge, trip, efficiency, idle = (np.zeros(size) for _ in range(5))
    profiles: dict[object, tuple[np.ndarray, np.ndarray]] = {}
    for place, (node, bundle) in enumerate(some):
        c, b, p, r = of["c"][node.converter], of["b"][node.battery], of["p"][node.panel], of["r"][node.rack]
        s = series_count(c, b)
        assert s is not None
        cell = year.air + (p.noct_c - 20) / 800 * year.plane + r.heat_c
        hot = 1 + p.pmax_pct_per_c / 100 * (cell - 25)
        panel = np.maximum(p.pmax_w * year.cells / 1000 * hot * losses, 0.0)
        made = np.zeros(HOURS)
        for n, m, times in bundle.wired.layouts:
            volts = np.maximum(n * p.vmp_v * hot, 0.0)
            made += times * np.minimum(np.minimum(n * m * panel, c.tracker_usable_w), c.tracker_usable_a * volts)
        sun[:, place] = np.minimum(made, node.u * c.array_usable_w)
        efficiency[place], idle[place], trip[place] = c.efficiency, node.u * c.idle_w, b.round_trip
        shared = node.k if node.k == 1 else node.k * job.parallel_share
        bank_v = s * b.nominal_v
        charge[place] = min(node.u * c.charge_a, shared * b.charge_a) * bank_v
        warmth = 1 - b.capacity_pct_per_c / 100 * max(0.0, 25 - job.bank_coldest_c)
        full[place] = node.k * bank_v * b.capacity_ah * min(b.usable_pct, b.aged_pct) / 100 * warmth
        loads = bundle.plan.asked.loads
        key = tuple((load.energy_wh, load.daytime) for load in loads)
        if key not in profiles:
            each = [np.array(hourly_w(job, load, own_hours(job, n), year.noon_h)) for n, load in enumerate(loads)]
            asks = [sum((w for w, load in zip(each, loads, strict=True) if load.critical == kind), np.zeros(HOURS))
                    for kind in (True, False)]  # fmt: skip
            profiles[key] = asks[0], asks[1]
        critical[:, place], shed[:, place] = profiles[key]
    critical, shed = critical / efficiency + idle, shed / efficiency
    held = full
    short = np.zeros(size, dtype=int)
    for _ in range(3):
        begun, short = held, np.zeros(size, dtype=int)
        for hour in range(HOURS):
            asked = critical[hour] + shed[hour]
            over = sun[hour] - asked
            into = np.minimum(np.minimum(np.maximum(over, 0.0), charge), (full - held) / trip)
            out = np.minimum(np.maximum(-over, 0.0), held)
            lacks = np.maximum(-over, 0.0) - out
            held = held + into * trip - out
            short += np.maximum(lacks - shed[hour], 0.0) > np.maximum(0.01 * critical[hour], 1e-6)
        if np.array_equal(begun, held):
            break
    return short.tolist()


class Passing(NamedTuple):
    """The cheapest total of a converter, panel and battery with a bundle that passes, and how many were short."""

    parts: tuple[str, str, str]
    total: Decimal


def cheapest_that_pass(
    parts: Parts, job: Job, year: Year, losses: float, allowed: int, count: int, limits: Limits | None = None
) -> tuple[list[Passing], int]:
    """The cheapest ``count`` distinct (converter, panel, battery) that pass, in order, and how many cheaper bundles
    failed: every bundle there is, gone through in ascending order of its total."""
    limits = limits or Limits()
    market = market_of(parts, job, limits)
    priced = sorted(_priced(parts, job, limits, market), key=lambda one: one[0])
    found: dict[tuple[str, str, str], int] = {}
    failed = 0
    for start in range(0, len(priced), SIDE_BY_SIDE):
        if len(found) >= count and priced[start][0] > sorted(found.values())[count - 1]:
            break
        some = priced[start : start + SIDE_BY_SIDE]
        short = hours_short(job, parts, year, losses, [(node, bundle) for _, node, bundle in some])
        for (cents, node, _), hours in zip(some, short, strict=True):
            if hours <= allowed:
                found.setdefault((node.converter, node.panel, node.battery), cents)
            else:
                failed += 1
    ranked = sorted(found.items(), key=lambda one: one[1])[:count]
    return [Passing(option, Decimal(cents) / 100) for option, cents in ranked], failed


def _priced(parts: Parts, job: Job, limits: Limits, market: Any) -> Iterator[tuple[int, Node, Candidate]]:
    costs: dict[Any, Any] = {}
    for node, bundles in every_candidate(parts, job, limits, market.has_floors, {}, frozenset(), every_wiring):
        for bundle in bundles:
            if bundle.needs not in costs:
                costs[bundle.needs] = market.cost(bundle.needs)
            bought = costs[bundle.needs]
            if bought is not None and (job.budget_cents is None or bought[0] <= job.budget_cents):
                yield bought[0], node, bundle


def as_year(weather: Mapping[str, np.ndarray]) -> Year:
    """The first year of what the product read."""
    return Year(weather["plane"], weather["cells"], weather["air"], weather["noon_h"])
