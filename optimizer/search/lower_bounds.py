"""Lower bounds on a bundle's total, choice by choice; each is at or below every bundle that its choice leads to.

All money in cents. A table "by set" has one column for each set of seller groups (:mod:`optimizer.costs.market`): the
least cost when only those sellers are used. Costs of different parts are added column by column, the freight of
the set is added, and the least column is the bound: whatever sellers a bundle uses, its own column is among them.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from dataclasses import fields as fields_of
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from catalog.reader import Catalog
from catalog.rows import BatteryColumn, ConverterColumn, PanelColumn, RackColumn
from optimizer.candidates import array_size
from optimizer.candidates.banks import Banks
from optimizer.candidates.banks import banks as banks_of
from optimizer.candidates.converters import Converters, Inverter, Inverters
from optimizer.candidates.rows import TableRows, least_heat
from optimizer.candidates.strings import PanelFigures, Strings
from optimizer.candidates.terms import Setting
from optimizer.costs.market import Market
from optimizer.rules import energy, mounting
from optimizer.rules.comparisons import whole_up
from optimizer.rules.limits import named
from optimizer.search.eligible import BankTable, Eligible, StringTable, few
from optimizer.search.side_bounds import Shared, SideBounds

if TYPE_CHECKING:
    from optimizer.search.replay_bounds import ReplayBounds
    from optimizer.search.replays import Replays

COARSE = 6  # grid points joined for the first look at all converters: speed only
KEPT_RACKS = 200  # racks up to which their tables are kept for the next time: speed only
GRID = 1.03  # step between grid points of the power needed: speed only


@dataclass
class Field:
    """Everything that may be combined for one job, and the bounds over it."""

    setting: Setting
    market: Market
    converters: Converters
    panels: TableRows[PanelColumn]
    batteries: TableRows[BatteryColumn]
    racks: TableRows[RackColumn]
    shared: Shared = field(default_factory=Shared)
    kept: Eligible = field(default_factory=Eligible, repr=False)
    replays: Replays | None = None
    _bank: dict[float, SideBounds] = field(default_factory=dict)

    @classmethod
    def of(
        cls, catalog: Catalog, setting: Setting, market: Market | None = None, kept: Eligible | None = None
    ) -> Field:  # fmt: skip
        """Filter each table by the limits that concern it alone. ``market``, ``kept``: where they are there already."""
        market, kept = market or Market.of(catalog, setting), kept or Eligible()
        racks = kept.rows(catalog.racks, setting, market)
        return cls(
            setting, market, kept.converters(kept.rows(catalog.converters, setting, market), setting, market),
            kept.panels(catalog, racks, setting, market), kept.rows(catalog.batteries, setting, market), racks,
            kept=kept, replays=kept.replays(setting, catalog),
        )  # fmt: skip

    @cached_property
    def by_hours(self) -> ReplayBounds | None:
        """What the hours of the weather file ask; None where they are not judged."""
        if self.replays is None:
            return None
        from optimizer.search.replay_bounds import ReplayBounds

        least = float((self.figures.offered_w / self.panels["pmax_w"]).min(initial=1.0))
        return ReplayBounds(self.replays, self.setting, self.batteries, least)

    def with_more_strings(self, more: int) -> Field:
        """The field of banks with so many strings more than the least, each behind the same converters."""
        return replace(self, setting=replace(self.setting, more_strings=more), _bank={}) if more else self

    @cached_property
    def banks(self) -> BankTable:
        """The banks behind the converters."""
        return self.kept.banks(self.converters, self.batteries, self.setting)

    @cached_property
    def strings(self) -> StringTable:
        """The strings behind the converters."""
        return self.kept.strings(self.converters.rows, self.panels, self.setting)

    @cached_property
    def heat_c(self) -> float:
        """The least heat_c of the racks: there the panels' figures are at their best."""
        return least_heat(self.racks)

    @property
    def figures(self) -> PanelFigures:
        """What the site makes of each panel at the least heat of the racks."""
        return self.strings.figures(self.heat_c)

    # extras -------------------------------------------------------------------------------------------------

    @cached_property
    def planned(self) -> np.ndarray:
        """Cents by set of the plan's starters and tanks."""
        return self.kept.plan_bound(self.setting, self.market)

    def whens(self, units: int, parallel: int) -> list[str]:
        """The conditions of extras that surely hold."""
        return ["always", *(["stacked"] if units >= 2 else []), *(["paralleled-bank"] if parallel >= 2 else [])]

    def fixed_extras(self, units: int, batteries: int, parallel: int) -> np.ndarray:
        """Cents by set of the extras counted from converters and bank."""
        key = (units, batteries, parallel)
        if key not in self.shared.fixed:
            counts = {"system": 1, "converter": units, "battery": batteries, "bank-string": parallel}
            self.shared.fixed[key] = self._extras(counts, units, parallel)
        return self.shared.fixed[key]

    def array_extras(self, panels: int, strings: int, rows: int, units: int, parallel: int) -> np.ndarray:
        """Cents by set of the extras counted from panels, strings and rows, each at the least."""
        key = (panels, strings, rows, min(units, 2), min(parallel, 2))
        if key not in self.shared.array_extras:
            counts = {"panel": panels, "string": strings, "row": rows}
            self.shared.array_extras[key] = self._extras(counts, units, parallel)
        return self.shared.array_extras[key]

    def _extras(self, counts: dict[str, int], units: int, parallel: int) -> np.ndarray:
        total = np.zeros(1 << self.market.groups)
        for when in self.whens(units, parallel):
            for per, count in counts.items():
                total = total + self.market.extras_by_set(per, when, int(count))
        return total

    # racking ------------------------------------------------------------------------------------------------

    def pieces_per_panel(self) -> np.ndarray:
        """Rack units a panel at the least: per_panel and its share of the longest row, before rounding up."""
        most = self.racks["max_row"].astype(float)
        row_max = self.setting.job.space.row_max
        if row_max is not None:
            most = np.minimum(most, row_max)
        pieces: np.ndarray = self.racks["per_panel"] + self.racks["per_row"] / most
        return pieces

    def racking_bound(self, panels: int, bare: bool = False) -> np.ndarray:
        """Cents by set of racking and (unless ``bare``) array extras for so many panels, over all racks: units ≥
        ⌈N·ρ⌉, since each string rounds its own share up."""
        if panels not in self.shared.rack:
            units = whole_up(panels * self.pieces_per_panel())
            self.shared.rack[panels] = self.market.least_by_set("rack", self.racks.index, units)[1]
        return self.shared.rack[panels] if bare else self.shared.rack[panels] + self.array_extras(panels, 1, 1, 1, 1)

    def racking_bounds(self, panels: np.ndarray) -> np.ndarray:
        """:meth:`racking_bound` for each of several numbers of panels; infinite stays infinite."""
        table = np.full((len(panels), 1 << self.market.groups), np.inf)
        for count in np.unique(panels[np.isfinite(panels)]):
            table[panels == count] = self.racking_bound(int(count))
        return table

    # the array side alone -----------------------------------------------------------------------------------

    def grid(self, need_w: np.ndarray | float) -> np.ndarray:
        """The grid point at or below each power."""
        points: np.ndarray = np.floor(np.log(np.maximum(need_w, 1.0)) / np.log(GRID)).astype(int)
        return points

    def array_sides(self, points: np.ndarray) -> np.ndarray:
        """Cents by set of the array side at each of several grid points, (points, sets)."""
        each, places = np.unique(points, return_inverse=True)
        table: np.ndarray = np.array([self.array_side(int(point)).by_set for point in each])[places]
        return table

    def array_side(self, point: int) -> SideBounds:
        """The array side at a grid point: no converter clips it, every rack fits. Rises with the power, so the
        point below bounds the power itself."""
        if point not in self.shared.array:
            offered_w = self.figures.offered_w
            count = array_size.panels_needed(GRID**point if point > 0 else 0.0, offered_w, 0.0, offered_w)
            alone = self.market.ladders["panel"].by_group(self.panels.index, count)
            racking = self.racking_bounds(count)[:, -1]
            alone = alone + racking[:, None]
            key = alone.min(axis=1, initial=np.inf)
            order = np.argsort(key, kind="stable")
            order = order[np.isfinite(key[order])]
            by_set = np.array([np.inf])
            for cents in alone.min(axis=0, initial=np.inf)[: self.market.groups]:
                by_set = np.concatenate([by_set, np.minimum(by_set, cents)])
            # with panels or racks on hand no seller at all may be needed
            free = key.min(initial=np.inf) if self.setting.job.on_hand else np.inf
            self.shared.array[point] = SideBounds(order, key[order], np.minimum(by_set, free))
        return self.shared.array[point]

    # a converter in a number of units ---------------------------------------------------------------------

    def converter_bounds(self, chosen: np.ndarray | None = None, coarse: int = 1) -> tuple[np.ndarray, np.ndarray]:
        """For each (converter, units), or those at ``chosen``: the bound, and the part of it without the bank.

        ``coarse`` joins so many grid points of the power needed into one, the lowest: weaker, and far fewer array
        sides to work out.
        """
        table, bank = self.converter_tables(chosen, coarse)
        table = table + self.planned
        return (table + bank).min(axis=1, initial=np.inf), table.min(axis=1, initial=np.inf)

    def converter_tables(self, chosen: np.ndarray | None = None, coarse: int = 1) -> tuple[np.ndarray, np.ndarray]:
        """What :meth:`converter_bounds` are made of, but for the plan's own parts: cents by set of each (converter,
        units), the array side, extras and freight, and those of the bank side, both (entries, sets)."""
        entries = self.converters if chosen is None else self.converters.take(chosen)
        if not len(entries):
            return np.zeros((0, 1 << self.market.groups)), np.zeros((0, 1 << self.market.groups))
        index = entries.rows.index[entries.row]
        table = self.market.by_set("converter", index, entries.units) + self.market.freight
        table = table + self.array_sides(self.grid(self._least_need(entries)) // coarse * coarse)
        each, places = np.unique(entries.units, return_inverse=True)
        table = table + np.array([self.fixed_extras(int(units), 1, 1) for units in each])[places]
        classes, places = np.unique(entries.column("bank_class_v"), return_inverse=True)
        return table, np.array([self.bank_side(float(class_v)).by_set for class_v in classes])[places]

    @cached_property
    def least_array_to_load(self) -> float:
        """The least ratio that any battery's chemistry asks where the job does not say."""
        return float(energy.default_array_to_load(self.batteries["chemistry"]).min())

    def _least_need(self, entries: Converters) -> np.ndarray:
        """Usable W that each entry needs with the best battery there is."""
        if not self.setting.keeps("daily-energy") or not len(self.batteries):
            return np.zeros(len(entries))
        demand, ratio = self.setting.demand, self.setting.array_to_load
        efficiency = entries.column("efficiency_pct")[:, None] / 100
        idle, units = entries.column("idle_w")[:, None], entries.units[:, None]
        night = energy.night_energy(demand.night_wh, efficiency, idle, units)
        day = energy.day_energy(demand.day_wh, efficiency, idle, units)
        best = self.batteries["round_trip_pct"].max() / 100
        if ratio is None:
            ratio = self.least_array_to_load
        need: np.ndarray = ratio * ((day + energy.through_bank(night, best)) / demand.sun_hours).max(axis=1)
        return np.maximum(need * (1 - 1e-12) - self.setting.slack("daily-energy"), 0.0)

    def bank_side(self, class_v: float) -> SideBounds:
        """The bank side alone behind the most favourable converter of a class: batteries in order of ``key``."""
        if class_v not in self._bank:
            mine = self.converters.column("bank_class_v") == class_v
            ideal: dict[ConverterColumn, float] = {
                "bank_class_v": class_v,
                "efficiency_pct": self.converters.column("efficiency_pct")[mine].max(),
                "idle_w": (self.converters.column("idle_w") * self.converters.units)[mine].min(),
                "bank_min_v": self.converters.column("bank_min_v")[mine].max(),
                "bank_max_v": np.inf,
                "charge_a": np.inf,
                "charge_settable": True,
                "array_usable_w": np.inf,
            }
            # the highest stop voltage asks the least current, but would sag soonest and may miss the window
            relaxed = named(lambda limit: limit.narrows == "bank" and not limit.behind_ideal)
            terms = replace(self.setting.terms, without=self.setting.terms.without | relaxed)
            easier = replace(self.setting, terms=terms)
            places, batteries = self.kept.of_class(self.batteries, class_v)
            found = banks_of(batteries.columns, Inverter(-1, -1, 1, ideal), easier)
            fit = np.flatnonzero(found.fits)
            pieces = (found.series * found.parallel)[fit]
            key, least = self.market.least_by_set("battery", batteries.index[fit], pieces)
            order = np.argsort(key, kind="stable")
            order = order[np.isfinite(key[order])]
            self._bank[class_v] = SideBounds(places[fit][order], key[order], least)
        return self._bank[class_v]

    # with a battery ---------------------------------------------------------------------------------------

    def pair_tables(self, inverter: Inverter, chosen: np.ndarray) -> tuple[Banks, np.ndarray, np.ndarray]:
        """For batteries at ``chosen``: their banks, cents by set of converter, bank, their extras and freight, and
        cents by set of the array side at the power they need."""
        found = self.banks.behind(inverter, chosen)
        return found, *self._pair_tables(found, np.full(len(chosen), inverter.row), inverter.units, chosen)

    def pairs(self, positions: np.ndarray, batteries: np.ndarray) -> tuple[Banks, np.ndarray, np.ndarray]:
        """The same for pairs of a converter at ``positions`` and a battery, of a table of banks that is there whole."""
        every, entries = self.banks.all, self.converters.take(positions)
        assert every is not None
        found = Banks(*(getattr(every, each.name)[positions, batteries] for each in fields_of(Banks)))
        return found, *self._pair_tables(found, entries.row, entries.units, batteries)

    def _pair_tables(
        self, found: Banks, rows: np.ndarray, units: np.ndarray | int, batteries: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        pieces = np.where(found.fits, found.series * found.parallel, np.inf)
        table = self.market.by_set("battery", self.batteries.index[batteries], pieces)
        table = table + self.market.by_set("converter", self.converters.rows.index[rows], units)
        table = table + (self.market.freight + self.planned)
        array = np.zeros_like(table)
        fits = np.flatnonzero(found.fits)
        if len(fits):
            counts = np.stack([np.broadcast_to(units, pieces.shape), pieces, found.parallel], axis=1)[fits].astype(int)
            kinds, kind = np.unique(counts, axis=0, return_inverse=True)
            extras = [self.fixed_extras(*(int(count) for count in each)) for each in kinds]
            table[fits] += np.array(extras)[kind.reshape(-1)]
            offered_w = self.offered(found.need_w, self.rated_w(found, batteries))
            array[fits] = self.array_sides(self.grid(offered_w[fits]))
        return table, array

    def offered(self, need_w: np.ndarray | float, rated_w: np.ndarray | float) -> np.ndarray:
        """W that the panels of an array offer together at the least, that gives ``need_w`` and is rated ``rated_w``; an
        infinite one, which no array has, is left out."""
        least = 0.0 if self.by_hours is None else self.by_hours.least_offered
        offered: np.ndarray = np.maximum(need_w, np.where(np.isfinite(rated_w), rated_w, 0.0) * least)
        return offered

    def rated_w(self, found: Banks, batteries: np.ndarray) -> np.ndarray:
        """Rated W of the array at the least that banks of the batteries at ``batteries`` ask by the hours of the
        weather file; infinite where no array will do."""
        return np.zeros(found.fits.shape) if self.by_hours is None else self.by_hours.rated_w(found, batteries)

    # with a panel -----------------------------------------------------------------------------------------

    def panel_bounds(
        self, inverter: Inverter, need_w: float, floor_w: float, pair: np.ndarray, chosen: np.ndarray,
        rated_w: float = 0.0,
    ) -> np.ndarray:  # fmt: skip
        """For panels at ``chosen``: the bound with the fewest panels that power alone asks, and ``rated_w`` of them;
        ``pair`` by set."""
        count = self.panel_counts(inverter, need_w, floor_w, chosen, rated_w)
        bound = np.full(len(chosen), np.inf)
        left = np.flatnonzero(np.isfinite(count))
        if len(left):
            table = self.market.by_set("panel", self.panels.index[chosen[left]], count[left])
            bound[left] = (table + self.racking_bounds(count[left]) + pair).min(axis=1)
        return bound

    def panel_counts(
        self, inverter: Inverter, need_w: float, floor_w: float, chosen: np.ndarray, rated_w: float = 0.0
    ) -> np.ndarray:  # fmt: skip
        """For panels at ``chosen``: the fewest that power alone asks, infinite where none will do or can be had."""
        ranges = self.strings.behind(inverter, chosen, self.heat_c)
        pmax_w, offered_w, area_m2 = (
            each[chosen] for each in (self.panels["pmax_w"], self.figures.offered_w, self.figures.area_m2)
        )
        count = array_size.panels_needed(need_w, offered_w, floor_w, ranges.best_w)
        if rated_w > 0:
            count = np.maximum(count, whole_up(rated_w / pmax_w))
        count = np.where(ranges.shortest <= ranges.longest, np.maximum(count, ranges.shortest), np.inf)
        most = array_size.most_panels(pmax_w, area_m2, inverter, self.setting)
        count = np.where(count > most, np.inf, count)
        count = array_size.unclipped(inverter, need_w, count, most, pmax_w, offered_w, ranges)
        return np.where(count > self.market.ladders["panel"].most[self.panels.index[chosen]], np.inf, count)

    @cached_property
    def most_power(self) -> np.ndarray | None:
        """Usable W that no number of panels of any one model gives behind each converter, (converters,); None where the
        tables are too large. A greater need leaves nothing in :meth:`panel_bounds`."""
        ranges, entries = self.strings.all(self.heat_c), self.converters
        if ranges is None or not few(entries, self.panels):
            return None
        ranges = Strings(*(getattr(ranges, each.name)[entries.row] for each in fields_of(Strings)))
        inverters = Inverters(entries)
        most = array_size.most_panels(self.panels["pmax_w"], self.figures.area_m2, inverters, self.setting)
        given = array_size.most_given(inverters, ranges, self.panels["pmax_w"], self.figures.offered_w, most)
        power: np.ndarray = given.max(axis=1, initial=-np.inf)
        return power

    # with a rack ------------------------------------------------------------------------------------------

    def rack_bounds(
        self, panel_row: int, panels: int, longest: int, units: int, parallel: int, pair: np.ndarray
    ) -> np.ndarray:
        """For every rack: the bound with the fewest panels that the trackers can be wired with."""
        key = (panel_row, panels, longest, min(units, 2), min(parallel, 2), self.setting.keeps("mounting-fit"))
        table = self.shared.racked.get(key)
        if table is None:
            table = self._racked(panel_row, panels, longest, units, parallel)
            if len(self.racks) <= KEPT_RACKS:
                self.shared.racked[key] = table
        bound: np.ndarray = (table + pair).min(axis=1)
        return bound

    def _racked(self, panel_row: int, panels: int, longest: int, units: int, parallel: int) -> np.ndarray:
        """Cents by rack and set of panels, racking and what is counted from them."""
        racks = self.racks
        row_max = racks["max_row"]
        if self.setting.job.space.row_max is not None:
            row_max = np.minimum(row_max, self.setting.job.space.row_max)
        pieces = whole_up(panels * self.pieces_per_panel())
        if self.setting.keeps("mounting-fit"):
            fits = mounting.fits_rack(self.panel(panel_row), racks.columns)
            pieces = np.where(fits, pieces, np.inf)
        strings = -(-panels // longest)
        table = self.market.by_set("rack", racks.index, pieces)
        index = self.panels.index[panel_row : panel_row + 1]
        table = table + self.market.by_set("panel", index, panels)
        for most in np.unique(row_max):
            rows = max(strings, int(-(-panels // min(longest, most))))
            table[row_max == most] += self.array_extras(panels, strings, rows, units, parallel)
        racked: np.ndarray = table
        return racked

    def panel(self, row: int) -> dict[PanelColumn, float]:
        """One panel's columns as plain figures."""
        return self.panels.figures(row)
