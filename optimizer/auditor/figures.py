"""The figures of one bundle for one job that several limits are read from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from catalog.reader import Catalog
from catalog.rows import BatteryRow, ConverterRow, PanelRow
from optimizer.bundles.bundle import Bundle, TrackerStrings
from optimizer.inputs.job import Job
from optimizer.rules import bank, energy, mounting, strings
from optimizer.rules import demand as demand_rules
from optimizer.rules.load_figures import needs_volts


@dataclass(frozen=True)
class BundleFigures:
    """What a bundle comes to, whatever limit it is held against.

    ``efficiency`` and ``round_trip`` are shares; ``shared``: bank strings that share current evenly; ``night_wh`` and
    ``day_wh`` with losses and idle draw, ``sunless_wh`` and ``dry_wh`` (the pumps at rest) of a day without sun,
    ``stored_wh`` what the night takes from the array through the bank, each by month, shape (12,). ``cold``, ``hot``
    and ``wake`` are factors of one panel's volts, the latter two at ``cell_c`` in full heat; ``offered_w`` is the W
    that it offers its tracker, ``isc_a`` its A with rear light, ``string_wh`` the usable Wh of a bank string,
    ``idle_w`` of all converters; ``rack_heat_c`` what the rack adds to the cells' heat.
    """

    job: Job
    bundle: Bundle
    catalog: Catalog | None
    demand: demand_rules.Demand
    efficiency: float
    round_trip: float
    bank_v: float
    lowest_v: float
    shared: float
    night_wh: np.ndarray
    day_wh: np.ndarray
    sunless_wh: np.ndarray
    dry_wh: np.ndarray
    stored_wh: np.ndarray
    cold: float
    hot: float
    wake: float
    cell_c: float
    offered_w: float
    isc_a: float
    string_wh: float
    idle_w: float
    rack_heat_c: float

    @classmethod
    def of(cls, job: Job, bundle: Bundle, catalog: Catalog | None = None) -> BundleFigures:
        """Work them out by the rules."""
        converter, panel, battery, units = bundle.converter, bundle.panel, bundle.battery, bundle.units
        demand = demand_rules.demand(job, bundle.starters, bundle.tanks_l)
        efficiency, idle_w = float(converter["efficiency_pct"]) / 100, converter["idle_w"]
        round_trip = float(battery["round_trip_pct"]) / 100
        night_wh = energy.night_energy(demand.night_wh, efficiency, idle_w, units)
        heat_c = float(bundle.rack["heat_c"]) if bundle.rack else mounting.unknown_rack_heat(job.space.mounts)
        cell_c = float(strings.cell_temperature(job.site.hottest_c, panel["noct_c"], heat_c))
        voc_pct = np.array([panel["voc_pct_per_c"]])
        sunless_wh, dry_wh = (
            energy.sunless_day(wh, efficiency, idle_w, units) for wh in (demand.critical_wh, demand.unpumped_wh)
        )
        return cls(
            job,
            bundle,
            catalog,
            demand,
            efficiency,
            round_trip,
            bank_v=bundle.bank_series * float(battery["nominal_v"]),
            lowest_v=float(bank.lowest_voltage(bundle.bank_series, battery["min_v"], converter["bank_min_v"])),
            shared=float(bank.shared_strings(bundle.bank_parallel, job.reserve.parallel_share)),
            night_wh=night_wh,
            day_wh=energy.day_energy(demand.day_wh, efficiency, idle_w, units),
            sunless_wh=sunless_wh,
            dry_wh=dry_wh,
            stored_wh=energy.through_bank(night_wh, round_trip),
            cold=float(strings.cold_factor(voc_pct, job.site.coldest_c)[0]),
            hot=float(strings.hot_factor(panel["vmp_pct_per_c"], cell_c)),
            wake=float(strings.wake_factor(voc_pct, cell_c)[0]),
            cell_c=cell_c,
            offered_w=float(
                strings.offered_power(panel["pmax_w"], job.site.array_factor, panel["pmax_pct_per_c"], heat_c)
            ),
            isc_a=float(strings.short_circuit_current(panel["isc_a"], panel["bifacial_pct"], job.site.rear_light)),
            string_wh=_string_energy(job, bundle, float(battery["usable_pct"])),
            idle_w=units * float(idle_w),
            rack_heat_c=heat_c,
        )

    @property
    def converter(self) -> ConverterRow:
        """The converter's row of the catalogue."""
        return self.bundle.converter

    @property
    def panel(self) -> PanelRow:
        """The panel's row."""
        return self.bundle.panel

    @property
    def battery(self) -> BatteryRow:
        """The battery's row."""
        return self.bundle.battery

    @property
    def units(self) -> int:
        """Converters side by side."""
        return self.bundle.units

    @property
    def fuses(self) -> bool:
        """Whether a string has fuses or needs them."""
        return any(s.fused or self.needs_fuses(s) for s in self.bundle.strings)

    @property
    def tracker_strings(self) -> float:
        """Most strings on a tracker, infinite where the converter states none."""
        return float(self.converter["tracker_strings"])

    @property
    def charge_settable(self) -> bool:
        """Whether the charging amps can be set."""
        return bool(self.converter["charge_settable"])

    @property
    def r_mohm(self) -> float:
        """The battery's inner resistance in mohm, NaN where it is not stated."""
        return float(self.battery["r_mohm"])

    @property
    def lead_acid(self) -> bool:
        """Whether the bank holds acid."""
        return self.battery["chemistry"] in energy.LEAD_ACID

    @property
    def starts_on_cable(self) -> bool:
        """Whether a load that must have volts enough to start, and not through a drive, states its cable."""
        pairs = zip(self.job.loads, self.demand.loads, strict=True)
        return any(load.cable_drop is not None and needs_volts(load, f) and not f.driven for load, f in pairs)

    def string_energy(self, depth_pct: float, aged_pct: float | None = None) -> float:
        """Usable Wh of one bank string down to a depth in percent; ``aged_pct``: the capacity that is left, where it
        is not the battery's own."""
        return _string_energy(self.job, self.bundle, depth_pct, aged_pct)

    def needs_fuses(self, s: TrackerStrings) -> bool:
        """Whether the other strings of a tracker can push back more than a panel survives."""
        return bool(strings.is_fused(s.parallel, self.isc_a, self.panel["max_fuse_a"]))

    def tracker_w(self, s: TrackerStrings) -> float:
        """Usable W of one tracker."""
        hot_v = s.series * float(self.panel["vmp_v"]) * self.hot
        cap_w = strings.tracker_ceiling(self.converter["tracker_usable_w"], self.converter["tracker_usable_a"], hot_v)
        return float(strings.usable_power(s.panels * self.offered_w, cap_w))

    def usable_w(self) -> float:
        """Usable W of all trackers."""
        total = sum(self.tracker_w(s) for s in self.bundle.strings)
        return min(total, self.units * float(self.converter["array_usable_w"]))

    def refill_days(self) -> np.ndarray:
        """Days until an empty bank is full again, each month; shape (12,)."""
        bank_wh, asked = self.bundle.bank_parallel * self.string_wh, self.day_wh + self.stored_wh
        return energy.refill_days(bank_wh, self.round_trip, self.usable_w(), self.demand.sun_hours, asked)


def _string_energy(job: Job, bundle: Bundle, depth_pct: float, aged_pct: float | None = None) -> float:
    battery = bundle.battery
    aged = float(battery["aged_pct"]) if aged_pct is None else aged_pct
    return float(
        bank.usable_energy(
            bundle.bank_series * float(battery["nominal_v"]), battery["capacity_ah"], depth_pct, aged,
            battery["capacity_pct_per_c"], job.site.bank_coldest_c,
        )
    )  # fmt: skip
