"""What the limits leave of parts and their combinations, kept by what it hangs on.

A search is run again and again with one limit moved, and for every plan of starters and tanks. Each table hangs on less
than that: rows on what is allowed and can be bought, strings on the site and the limits of strings, banks on what the
loads ask and the limits of banks. What a table hangs on is its key, so it is worked out once. Tables hold every
converter at once, as a numpy call costs as much for one as for fifty; where they would be too large, each converter is
worked out by itself when it is opened.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence, Sized
from dataclasses import dataclass, field, replace
from dataclasses import fields as fields_of
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from catalog.reader import Catalog, Name, Row, Table
from catalog.rows import BatteryColumn, ConverterColumn, PanelColumn, RackColumn
from optimizer.candidates.banks import Banks, banks
from optimizer.candidates.converters import Converters, Inverter, Inverters, converter_entries
from optimizer.candidates.plan import Plan
from optimizer.candidates.rows import TableRows, allowed_rows
from optimizer.candidates.strings import Layout, PanelFigures, Strings, layouts, panel_figures, string_ranges
from optimizer.candidates.terms import Setting
from optimizer.costs.market import Market, rows_with_price
from optimizer.costs.tank_bounds import plan_bound
from optimizer.rules import mounting
from optimizer.rules.comparisons import at_most
from optimizer.rules.limits import narrowing
from optimizer.search.plans import planned, plans, running, start_options, worth_opening
from optimizer.search.tracker_program import most_power

if TYPE_CHECKING:
    from optimizer.search.replays import Replays

LARGEST = 30_000  # pairs of a converter with a part up to which all are worked out together: speed only
KEPT = 96  # tables of a kind that are kept, the latest: speed only
# what the strings on a tracker hang on, but for its W
TRACKER_FIGURES: tuple[ConverterColumn, ...] = (
    "tracker_max_v", "tracker_min_v", "tracker_start_v", "tracker_top_v", "tracker_isc_a", "tracker_strings",
)  # fmt: skip

Kept = TypeVar("Kept")


class BankTable:
    """The banks of every battery behind every converter of a plan."""

    def __init__(self, converters: Converters, batteries: TableRows[BatteryColumn], setting: Setting) -> None:
        self.converters, self.batteries, self.setting = converters, batteries, setting

    @cached_property
    def all(self) -> Banks | None:
        """Of shape (converters, batteries); None where that is too large."""
        if not few(self.converters, self.batteries):
            return None
        return banks(self.batteries.columns, Inverters(self.converters), self.setting)

    def behind(self, inverter: Inverter, chosen: np.ndarray | None = None) -> Banks:
        """The banks of batteries at ``chosen``, or of all, behind one of the converters."""
        every = self.all
        if every is None:
            columns = self.batteries.columns
            some = columns if chosen is None else {name: values[chosen] for name, values in columns.items()}
            return banks(some, inverter, self.setting)
        where = (inverter.position,) if chosen is None else (inverter.position, chosen)
        return Banks(*(getattr(every, each.name)[where] for each in fields_of(Banks)))


class StringTable:
    """The strings of every panel behind every converter, in whatever number of units and whatever the plan."""

    def __init__(
        self, converters: TableRows[ConverterColumn], panels: TableRows[PanelColumn], setting: Setting
    ) -> None:
        self.converters, self.panels, self.setting = converters, panels, setting
        self._figures: dict[float, PanelFigures] = {}
        self._all: dict[float, Strings | None] = {}
        self._least_w: dict[tuple[bytes, float], float] = {}
        self._layouts: dict[tuple[int, int, float], tuple[Layout, ...]] = {}
        self._power: dict[tuple[int, int, float, int, float], np.ndarray] = {}
        self._compared: dict[int, tuple[StringTable, np.ndarray]] = {}

    def figures(self, heat_c: float) -> PanelFigures:
        """What the site makes of each panel on racks of ``heat_c``."""
        if heat_c not in self._figures:
            self._figures[heat_c] = panel_figures(self.panels.columns, self.setting, heat_c)
        return self._figures[heat_c]

    def all(self, heat_c: float) -> Strings | None:
        """Of shape (rows of converters, panels) on racks of ``heat_c``; None where that is too large."""
        if heat_c not in self._all:
            rows = np.arange(len(self.converters))
            every = None
            if few(self.converters, self.panels):
                each = Inverters(Converters(self.converters, rows, np.ones(len(rows))))
                every = string_ranges(self.panels.columns, self.figures(heat_c), each, self.setting)
            self._all[heat_c] = every
        return self._all[heat_c]

    def behind(self, inverter: Inverter, chosen: np.ndarray, heat_c: float) -> Strings:
        """The strings of panels at ``chosen`` behind one of the converters."""
        every = self.all(heat_c)
        if every is None:
            columns = {name: values[chosen] for name, values in self.panels.columns.items()}
            figures = self.figures(heat_c)
            some = PanelFigures(*(getattr(figures, each.name)[chosen] for each in fields_of(PanelFigures)))
            return string_ranges(columns, some, inverter, self.setting)
        return Strings(*(getattr(every, each.name)[inverter.row, chosen] for each in fields_of(Strings)))

    def carry_any(self, rows: np.ndarray, heat_c: float) -> np.ndarray:
        """Which of some converters' trackers may carry a string of any panel at all, on racks of ``heat_c``.

        Whether they may hangs on few figures that many converters share, and on the tracker's W: no string is of fewer
        W than the shortest of some panel that the other limits leave.
        """
        shared = np.stack([self.converters[name][rows] for name in TRACKER_FIGURES], axis=1)
        found = np.zeros(len(rows), dtype=bool)
        for place, key in enumerate(map(bytes, shared)):
            if (key, heat_c) not in self._least_w:
                figures = {**self.converters.figures(int(rows[place])), "tracker_max_w": np.inf}
                every = string_ranges(
                    self.panels.columns, self.figures(heat_c), Inverter(-1, -1, 1, figures), self.setting
                )
                string_w = (every.shortest * self.panels["pmax_w"])[every.shortest <= every.longest]
                self._least_w[key, heat_c] = float(string_w.min(initial=np.inf))
            found[place] = at_most(self._least_w[key, heat_c], self.converters["tracker_max_w"][rows[place]])
        return found

    def layouts(self, inverter: Inverter, panel: int, heat_c: float) -> tuple[Layout, ...]:
        """Every layout of a panel on a tracker of a converter, on racks of ``heat_c``."""
        key = (inverter.row, panel, heat_c)
        if key not in self._layouts:
            ranges = self.behind(inverter, np.array([panel]), heat_c)
            self._layouts[key] = layouts(
                self.panels.figures(panel), self.figures(heat_c), panel, inverter, ranges, 0, self.setting
            )
        return self._layouts[key]

    def power(self, inverter: Inverter, panel: int, heat_c: float, most: float) -> np.ndarray:
        """The most usable W of exactly N panels on all trackers, for N from 0 up to at most ``most``."""
        key = (inverter.row, panel, heat_c, inverter.trackers, most)
        if key not in self._power:
            self._power[key] = most_power(self.layouts(inverter, panel, heat_c), inverter.trackers, most)
        return self._power[key]

    def alike(self, other: StringTable, heats: Sequence[float]) -> np.ndarray | None:
        """Where each converter may carry just the same of each panel as in another table of the same parts, on racks of
        all ``heats``: of shape (rows of converters, panels); None where that is too large, or the parts differ."""
        if self.converters is not other.converters or self.panels is not other.panels:
            return None
        rows = np.arange(len(self.converters))
        if not few(self.converters, self.panels):
            return None
        if id(other) not in self._compared:
            same = np.ones((len(rows), len(self.panels)), dtype=bool)
            if other is not self:
                each = Inverters(Converters(self.converters, rows, np.ones(len(rows))))
                for heat_c in heats:
                    same &= wired_alike(self.panels.columns, each, heat_c, other.setting, self.setting)
            self._compared[id(other)] = other, same
        return self._compared[id(other)][1]


def wired_alike(
    panels: Mapping[PanelColumn, np.ndarray], inverter: Inverter | Inverters, heat_c: float, before: Setting,
    after: Setting,
) -> np.ndarray:  # fmt: skip
    """Where a tracker may carry just the same of a panel in two settings, or nothing in both; racks of ``heat_c``."""
    figures = [panel_figures(panels, setting, heat_c) for setting in (before, after)]
    old, new = (
        string_ranges(panels, each, inverter, setting) for each, setting in zip(figures, (before, after), strict=True)
    )
    same: np.ndarray = (old.shortest == new.shortest) & (old.longest == new.longest) & (old.parallel == new.parallel)
    for name in ("hot_v", "isc_a", "offered_w"):  # what layouts take beside the ranges
        same = same & (getattr(figures[0], name) == getattr(figures[1], name))
    return same | ((old.shortest > old.longest) & (new.shortest > new.longest))


@dataclass
class Eligible:
    """Every such table of some searches, by what it hangs on."""

    tables: dict[str, dict[Hashable, tuple[Any, tuple[object, ...]]]] = field(default_factory=dict)  # a type each

    def replays(self, setting: Setting, catalog: Catalog) -> Replays | None:
        """The hours of a plan; None where they are not judged."""
        if not setting.judges_hours:
            return None
        from optimizer.search.replays import Replays

        key = (running(catalog, setting.plan), setting.slack("hours-short"))  # what starts does not move the hours
        return self._kept("replays", (catalog, setting.job), key, lambda: Replays.of(setting, catalog))

    def _kept(self, kind: str, of: tuple[object, ...], key: Hashable, make: Callable[[], Kept]) -> Kept:
        """What was made of the very objects ``of`` at ``key``. They are kept with it: their identities stay theirs."""
        tables, place = self.tables.setdefault(kind, {}), (*map(id, of), key)
        if place not in tables:
            if len(tables) >= KEPT:
                del tables[next(iter(tables))]
            tables[place] = make(), of
        found: Kept = tables[place][0]
        return found

    def planned(self, base: Setting, catalog: Catalog, plan: Plan) -> Setting:
        """The setting of a plan."""
        demand = self._kept("demand", (catalog, base.job), plan, lambda: planned(base, catalog, plan).demand)
        return replace(base, demand=demand, plan=plan)

    def plans(
        self, base: Setting, catalog: Catalog, markets: tuple[Market, ...]
    ) -> tuple[tuple[Plan, ...], tuple[Plan, ...]]:
        """Every plan that may be part of a bundle, and those that may be part of a cheapest."""

        def make() -> tuple[tuple[Plan, ...], tuple[Plan, ...]]:
            options = start_options(base, catalog, *markets)
            every = plans(base, options, *markets)
            return every, worth_opening(base, options, every)

        terms = base.terms
        key = (terms_key(base, plan_limits()), terms.never, tuple(sorted(terms.must.items())), terms.most_sellers)
        return self._kept("plans", (catalog, base.job, *markets), key, make)

    def plan_bound(self, setting: Setting, market: Market) -> np.ndarray:
        """Cents by set of sellers of a plan's parts at the least, (sets,)."""
        key = (setting.plan, terms_key(setting, plan_limits()), setting.terms.must.get("tank"))
        return self._kept("plan bounds", (market, setting.job), key, lambda: plan_bound(setting, market))

    def rows(self, table: Table[Row, Name], setting: Setting, market: Market) -> TableRows[Name]:
        """The rows of a table that the job allows and of which a piece can be had."""
        key = (*map(setting.keeps, ("allowed", "listed")), setting.terms.never, setting.terms.must.get(table.kind))
        of = (table, market, setting.job)
        return self._kept("rows", of, key, lambda: rows_with_price(allowed_rows(table, setting), market))

    def panels(
        self, catalog: Catalog, racks: TableRows[RackColumn], setting: Setting, market: Market
    ) -> TableRows[PanelColumn]:
        """The panels, of which some rack takes each where mounting-fit is kept."""
        panels = self.rows(catalog.panels, setting, market)
        if not setting.keeps("mounting-fit"):
            return panels
        return self._kept(
            "fitting", (panels, racks), "", lambda: panels.take(np.flatnonzero(fits_some_rack(panels, racks)))
        )

    def of_class(
        self, batteries: TableRows[BatteryColumn], class_v: float
    ) -> tuple[np.ndarray, TableRows[BatteryColumn]]:
        """The batteries that make a bank of a class in some number in series, and their places among all."""

        def make() -> tuple[np.ndarray, TableRows[BatteryColumn]]:
            places = np.flatnonzero(class_v % batteries["class_v"] == 0)
            return places, batteries.take(places)

        return self._kept("of class", (batteries,), class_v, make)

    def converters(self, rows: TableRows[ConverterColumn], setting: Setting, market: Market) -> Converters:
        """The converters in every number of units that the limits leave and that can be had."""

        def make() -> Converters:
            found = converter_entries(rows, setting)
            enough = market.ladders["converter"].most[rows.index[found.row]] >= found.units
            return found.take(np.flatnonzero(enough))

        key = (terms_key(setting, entry_limits()), setting.count_of("converter"))
        return self._kept("converters", (rows, setting.job, setting.demand, market), key, make)

    def banks(self, converters: Converters, batteries: TableRows[BatteryColumn], setting: Setting) -> BankTable:
        """The banks behind converters."""
        key = (terms_key(setting, bank_limits()), setting.count_of("battery"), setting.more_strings)
        of = (converters, batteries, setting.job, setting.demand)
        return self._kept("banks", of, key, lambda: BankTable(converters, batteries, setting))

    def strings(
        self, converters: TableRows[ConverterColumn], panels: TableRows[PanelColumn], setting: Setting
    ) -> StringTable:
        """The strings behind converters."""
        key = terms_key(setting, string_limits())
        of = (converters, panels, setting.job)
        return self._kept("strings", of, key, lambda: StringTable(converters, panels, setting))


def entry_limits() -> frozenset[str]:
    """What the converters of a plan hang on."""
    return narrowing("converter")


def bank_limits() -> frozenset[str]:
    """What banks hang on."""
    return narrowing("bank")


def string_limits() -> frozenset[str]:
    """What strings hang on."""
    return narrowing("string")


def plan_limits() -> frozenset[str]:
    """What plans and the cost of their parts hang on."""
    return narrowing("", "part", "array") | {"autonomy"}


def few(converters: Sized, parts: Sized) -> bool:
    """Whether all pairs of a converter with a part are worked out together."""
    return len(converters) * len(parts) <= LARGEST


def terms_key(setting: Setting, limits: frozenset[str]) -> Hashable:
    """How some limits are left out and loosened."""
    terms = setting.terms
    return terms.without & limits, tuple(sorted(item for item in terms.slack.items() if item[0] in limits))


def fits_some_rack(panels: TableRows[PanelColumn], racks: TableRows[RackColumn]) -> np.ndarray:
    """Whether any rack takes each panel; only racks that no other rack surpasses in all three sizes are tried."""
    sizes = np.stack([racks["max_width_mm"], racks["max_length_mm"], racks["max_panel_kg"]], axis=1)
    fits = np.zeros(len(panels), dtype=bool)
    for size in np.unique(sizes, axis=0)[::-1]:
        if fits.all():
            break
        rack: dict[RackColumn, float] = {"max_width_mm": size[0], "max_length_mm": size[1], "max_panel_kg": size[2]}
        fits |= mounting.fits_rack(panels.columns, rack)
    return fits
