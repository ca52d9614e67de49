"""Which bundles of a plan pass the hours of the weather file, and what that asks of the array at the least.

No hour lacks more where any hour's sun, the bank or its charging is more: what a bank holds after an hour rises with
what it held before, with the hour's step and with its size. So what a bank lacks with some array, it lacks with any
that makes no more in any hour, and the hours short of a bank give a least rated W of the array:

- with an *ideal* array, each W of which makes in every hour what the best panel makes, and that no tracker limits;
- with panels of one model, of which none but the converters' common ceiling limits what they make.

Pumps that wait for the sun take no less of it in any hour where the tank is larger (what it lacks to be full is then no
less), so with the smallest tanks of the plan most is left for the bank. A whole bundle is gone through as it stands.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from catalog.reader import Catalog
from catalog.rows import BatteryColumn, BatteryRow, ConverterColumn, ConverterRow
from optimizer.bundles.bundle import Bundle
from optimizer.candidates.terms import Setting
from optimizer.rules import bank, bounded_sum, hours
from optimizer.rules.figure_types import Array
from optimizer.rules.hourly_loads import HourlyLoads, hourly_loads
from optimizer.rules.replay import ArrayHours, ReplayParts, array_hours, pumped, replay
from optimizer.weather.rows import HOURS
from optimizer.weather.year import WeatherYears

ENDLESS_W = 1e9  # more than any array makes: only the bank counts
STEPS = (1.0, 1.02, 1.05, 1.1, 1.2, 1.4, 2.0, 4.0)  # times a bound: rated W that are tried together: speed only
CLOSE, FINER = 1.06, 8  # how near a least rated W is sought, and how many are tried between two: speed only
COUNTS = (1, 2, 3, 4, 6, 9, 14, 40)  # panels more that are tried together: speed only
SIZES = 1.25  # between sizes of a bank for which the first bounds are worked out: speed only
MOST_W = 1e6  # rated, up to which they are sought
HALVINGS = 10  # of a first bound: speed only
HAIR = 1 - 1e-9  # of a rated W: what rounding may move it by


@dataclass(frozen=True)
class Panel:
    """What the hours ask to know of a panel on racks of ``heat_c``; ``per_c`` in %/degC."""

    pmax_w: float
    per_c: float
    noct_c: float
    heat_c: float


@dataclass
class Replays:
    """The hours of one plan. ``allowed``: hours short of the worst year at the most."""

    weather: WeatherYears
    setting: Setting
    catalog: Catalog
    allowed: float
    known: dict[Hashable, float] = field(default_factory=dict)
    sizes: dict[int, float] = field(default_factory=dict)
    # the largest rated W that is known to fail, and the least that is known to pass
    between: dict[tuple[ReplayParts, float], tuple[float, float]] = field(default_factory=dict)

    @classmethod
    def of(cls, setting: Setting, catalog: Catalog) -> Replays | None:
        """None where the hours are not judged."""
        job = setting.job
        if job.weather is None or not setting.judges_hours:
            return None
        return cls(job.weather.years, setting, catalog, (job.replay.hours_short or 0) + setting.slack("hours-short"))

    def parts(
        self, converter: ConverterRow | Mapping[ConverterColumn, float], units: int,
        battery: BatteryRow | Mapping[BatteryColumn, float], series: int, parallel: int,
    ) -> ReplayParts:  # fmt: skip
        """What the hours ask to know of a converter in a number of units and of a bank behind it."""
        job = self.setting.job
        bank_v = series * float(battery["nominal_v"])
        shared = float(bank.shared_strings(parallel, job.reserve.parallel_share))
        charge_a = min(units * float(converter["charge_a"]), shared * float(battery["charge_a"]))
        string_wh = bank.usable_energy(
            bank_v, battery["capacity_ah"], battery["usable_pct"], battery["aged_pct"], battery["capacity_pct_per_c"],
            job.site.bank_coldest_c,
        )  # fmt: skip
        return ReplayParts(
            float(converter["efficiency_pct"]) / 100, units * float(converter["idle_w"]), charge_a * bank_v,
            float(battery["round_trip_pct"]) / 100, parallel * float(string_wh),
        )  # fmt: skip

    @cached_property
    def loads(self) -> HourlyLoads:
        """The loads by the hour, with the smallest tanks that the plan may have."""
        return self._loads(self.least_tanks_l)

    @property
    def least_tanks_l(self) -> float:
        """L that the tanks of any bundle of the plan hold at the least."""
        return self.setting.plan.tanks_l * HAIR

    def _loads(self, tanks_l: float) -> HourlyLoads:
        job = self.setting.job
        return hourly_loads(job, self.setting.demand, self.weather.noon_h, tanks_l + job.water.tank_on_hand_l)

    @cached_property
    def _asked(self) -> tuple[Array, Array]:
        """W of the critical loads and of the others, every hour of all years."""
        years = self.weather.count
        return np.tile(self.loads.critical_w, years), np.tile(self.loads.shed_w, years)

    @cached_property
    def _ideal(self) -> Array:
        """W that each rated W of the best panel of each hour makes, on racks that add no heat."""
        table = self.catalog.panels
        kinds = {(float(c), float(n)) for c, n in zip(table["pmax_pct_per_c"], table["noct_c"], strict=True)}
        best: Array = np.zeros(self.weather.air.size)
        for per_c, noct_c in sorted(kinds):
            best = np.maximum(best, self._panel_w(Panel(1.0, per_c, noct_c, 0.0)))
        return best

    def _cell_c(self, panel: Panel) -> Array:
        return hours.cell_temperature(self.weather.air.ravel(), self.weather.plane.ravel(), panel.noct_c, panel.heat_c)

    def _panel_w(self, panel: Panel) -> Array:
        losses = self.setting.job.replay.array_losses
        light, cell_c = self.weather.cells.ravel(), self._cell_c(panel)
        return hours.offered_power(panel.pmax_w, light, panel.per_c, cell_c, losses)

    # least rated W ------------------------------------------------------------------------------------------

    def passes(self, sun_w: Array, parts: ReplayParts, full_wh: Array | float) -> np.ndarray:
        """Whether arrays that make ``sun_w`` (…, hours) with banks of ``full_wh`` are short for no more hours than
        allowed in any year, with the smallest tanks."""
        critical, shed = self._asked
        shed = shed / parts.efficiency
        asked = hours.asked_power(critical, parts.efficiency, parts.idle_w, 1) + shed
        if self.loads.waiting:
            left_w = np.maximum(sun_w - asked, 0.0) * parts.efficiency
            for pump_w in pumped(self.loads, left_w, self.weather.count)[0].values():
                asked = asked + pump_w / parts.efficiency
        before, level = bounded_sum.levels(hours.bank_step(sun_w, asked, parts.charge_w, parts.round_trip), full_wh)
        unserved = asked - np.minimum(sun_w, asked) - np.maximum(before - level, 0.0)
        short = hours.is_short(hours.critical_unserved(unserved, shed), asked - shed)
        by_year = short.reshape(*short.shape[:-1], -1, HOURS).sum(axis=-1)
        found: np.ndarray = by_year.max(axis=-1) <= self.allowed
        return found

    @cached_property
    def best(self) -> ReplayParts:
        """The best of every figure that the hours ask of converters and batteries."""
        converters, batteries = self.catalog.converters, self.catalog.batteries
        return ReplayParts(
            float(converters["efficiency_pct"].max()) / 100, float(converters["idle_w"].min()), np.inf,
            float(batteries["round_trip_pct"].max()) / 100, 0.0,
        )  # fmt: skip

    def first_bounds(self, full_wh: np.ndarray) -> np.ndarray:
        """Rated W at the least with banks of ``full_wh``, behind the most favourable converter and battery: that of the
        next larger of a few sizes; infinite where no array will do, 0 of a bank that is infinite."""
        bounds = np.zeros(full_wh.shape)
        finite = np.isfinite(full_wh)
        if finite.any():
            steps = np.ceil(np.log(np.maximum(full_wh[finite], 1.0)) / np.log(SIZES)).astype(int)
            each, places = np.unique(steps, return_inverse=True)
            known = self._by_size(each.tolist())
            bounds[finite] = np.array([known[int(step)] for step in each])[places]
        return bounds

    def _by_size(self, steps: list[int]) -> dict[int, float]:
        """The bounds at powers of ``SIZES``, Wh."""
        known, best = self.sizes, self.best
        new = [step for step in steps if step not in known]
        if new:
            full_wh = SIZES ** np.array(new, dtype=float) / HAIR
            endless = np.broadcast_to(ENDLESS_W * self._ideal, (len(new), self._ideal.size))
            never = ~self.passes(endless, best, full_wh)
            low, high = np.full(len(new), 1.0), np.full(len(new), MOST_W)
            for _ in range(HALVINGS):
                middle = np.sqrt(low * high)
                held = self.passes(middle[:, None] * self._ideal, best, full_wh)
                low, high = np.where(held, low, middle), np.where(held, middle, high)
            found = np.where(never, np.inf, np.where(low > 1.0, low, 0.0))
            known.update(zip(new, found.tolist(), strict=True))
        return known

    def fails_at(self, parts: ReplayParts, most_w: float, rated_w: float) -> bool:
        """Whether an ideal array of ``rated_w`` fails behind a converter whose common ceiling is ``most_w``, with a
        bank."""
        fails, passes = self.between.get((parts, most_w), (0.0, np.inf))
        if fails < rated_w < passes:
            if self.passes(np.minimum(min(rated_w, ENDLESS_W) * self._ideal, most_w), parts, parts.bank_wh):
                passes = rated_w
            else:
                fails = rated_w
            self.between[parts, most_w] = fails, passes
        return rated_w <= fails

    def least_rated_w(self, parts: ReplayParts, most_w: float, known_w: float) -> float:
        """Rated W at the least of any array behind a converter whose common ceiling is ``most_w``, with a bank;
        ``known_w``: a bound that is known. Infinite where no array will do."""
        fails, passes = self.between.get((parts, most_w), (0.0, np.inf))
        fails = max(fails, known_w)
        tried = max(fails, 1.0) * np.array((*STEPS, np.inf))
        while np.isfinite(fails) and passes > max(CLOSE * fails, 1.0):
            if np.isfinite(passes):
                tried = np.geomspace(max(fails, 1.0), passes, FINER)
            rated_w = np.minimum(tried, ENDLESS_W)
            held = self.passes(np.minimum(rated_w[:, None] * self._ideal, most_w), parts, parts.bank_wh)
            failing = np.flatnonzero(~held)
            last = int(failing[-1]) if len(failing) else -1
            fails = float(tried[last]) if last >= 0 else fails
            passes = float(tried[last + 1]) if last + 1 < len(tried) else np.inf
            if last < 0:
                break
            tried = fails * np.array((*STEPS, np.inf))
        self.between[parts, most_w] = fails, passes
        return fails

    def least_panels(self, panel: Panel, parts: ReplayParts, most_w: float, fewest: int, most: float) -> float:
        """Panels of one model at the least, from ``fewest`` to ``most``; infinite where so many will not do."""
        key = (panel, parts, most_w, fewest, most)
        if key not in self.known:
            self.known[key] = self._least_panels(self._panel_w(panel), parts, most_w, fewest, most)
        return self.known[key]

    def _least_panels(self, panel_w: Array, parts: ReplayParts, most_w: float, fewest: int, most: float) -> float:
        low, high = fewest - 1, most if np.isfinite(most) else ENDLESS_W  # no more panels than ``low`` will do
        while low < high:
            tried = np.unique(np.minimum(low + np.array(COUNTS), high))
            held = self.passes(np.minimum(tried[:, None] * panel_w, most_w), parts, parts.bank_wh)
            if not held[-1]:
                if tried[-1] >= high:
                    return float("inf")
                low = int(tried[-1])
                continue
            first = int(np.argmax(held))
            if first == 0 or tried[first] == tried[first - 1] + 1:
                return int(tried[first])
            low, high = int(tried[first - 1]), int(tried[first])
        return float("inf")

    # whole bundles ------------------------------------------------------------------------------------------

    def holds(self, bundle: Bundle, tanks_l: float) -> bool:
        """Whether a bundle of the plan passes as it stands, its trackers' ceilings and its own bank, with tanks that
        hold ``tanks_l``."""
        parts = self.parts(
            bundle.converter, bundle.units, bundle.battery, bundle.bank_series, bundle.bank_parallel
        )  # fmt: skip
        heat_c = float(bundle.rack["heat_c"]) if bundle.rack is not None else 0.0
        row = bundle.panel
        panel = Panel(float(row["pmax_w"]), float(row["pmax_pct_per_c"]), float(row["noct_c"]), heat_c)
        volts = float(row["vmp_v"]) * hours.heat_factor(panel.per_c, self._cell_c(panel))
        converter = bundle.converter
        made: ArrayHours = array_hours(
            [(s.series, s.parallel) for s in bundle.strings], self._panel_w(panel), volts,
            float(converter["tracker_usable_w"]), float(converter["tracker_usable_a"]),
            bundle.units * float(converter["array_usable_w"]),
        )  # fmt: skip
        loads = self._loads(tanks_l) if self.loads.waiting else self.loads
        short = replay(made, loads, parts).short
        return int(short.reshape(-1, HOURS).sum(axis=1).max()) <= self.allowed
