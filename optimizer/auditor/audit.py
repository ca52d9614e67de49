"""The auditor: every limit of one bundle recomputed from its parts, without the solver and without the search.

It calls the same rule functions as the search, on one bundle instead of arrays of parts. What it does not pass is
never shown as an answer.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from catalog.reader import Catalog
from optimizer.bundles.bundle import Bundle, Order, TrackerStrings
from optimizer.candidates.terms import SUPPLY_COLUMN, makes_frequency
from optimizer.inputs.job import Job
from optimizer.rules import bank, energy, landed_cost, mounting, soft_start, strings, water
from optimizer.rules import demand as loads
from optimizer.rules.limits import LIMITS
from optimizer.rules.tolerance import TOLERANCE, at_least, at_most

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


BELOW = "below the window"  # where bank-window holds the nominal voltage against the window's lower end


@dataclass(frozen=True)
class Reading:
    """One limit of one bundle: the value it has and the value it may have.

    ``value`` and ``allowed`` are the two sides of the rule, reserves included; ``raw_value`` and ``raw_allowed``
    the same with the reserves at zero. ``slots`` are the figures of the limit's working. ``where``: a tracker, a
    load, a month. ``settled``: met or not without a figure (value 1 or 0 of 1).
    """

    limit: str
    value: float
    allowed: float
    raw_value: float
    raw_allowed: float
    where: str
    slots: Mapping[str, Any]
    settled: bool = False
    measure: str = ""

    @property
    def sense(self) -> str:
        """ "at most", "at least" or "holds"."""
        return LIMITS[self.limit].sense

    @property
    def unit(self) -> str:
        """The unit of value and allowed: the limit's, or its own where a limit compares several things."""
        return self.measure or LIMITS[self.limit].unit

    @property
    def holds(self) -> bool:
        """Whether the limit with its reserve is met."""
        return self._met(self.value, self.allowed)

    @property
    def raw_holds(self) -> bool:
        """Whether the raw rating is met."""
        return self._met(self.raw_value, self.raw_allowed)

    def _met(self, value: float, allowed: float) -> bool:
        return bool(at_most(value, allowed) if self.sense == "at most" else at_least(value, allowed))

    @property
    def room(self) -> float:
        """Room to the limit as a share of what is asked; negative where it fails; infinite where nothing is asked.

        For "at most" what the bundle asks is ``value``; for "at least" it is ``allowed``. Temperatures have no
        ratio: their room is infinite once met.
        """
        if self.settled or self.unit == "degC":
            return float("inf") if self.holds else -1.0
        asked, has = (self.value, self.allowed) if self.sense == "at most" else (self.allowed, self.value)
        if asked <= 0:
            return float("inf")
        return has / asked - 1


@dataclass(frozen=True)
class Audit:
    """All readings of one bundle, and what the bundle comes to.

    ``autonomy_days``: sunless days the bank carries (infinite where nothing is critical). ``protection_a``: A the
    bank's protection must carry for each converter; ``start_a`` the A of the worst start through the bank.
    ``refill_days``: days until an empty bank is full again, by month, infinite where never. ``charge_setting_a``: the
    charging current to set, None where it cannot be set. ``water_days``: days that the water stored lasts, None
    where nothing is stored or pumped; ``loads`` as they start through the bundle's starters.
    ``not_judged``: limits that nothing is known for, e.g. without a rack.
    """

    bundle: Bundle
    readings: tuple[Reading, ...]
    not_judged: tuple[str, ...]
    autonomy_days: float
    protection_a: float
    start_a: float
    charge_setting_a: float | None
    refill_days: tuple[float, ...]
    legs: Mapping[str, tuple[int, int]]
    water_days: float | None = None
    loads: tuple[loads.LoadFigures, ...] = ()

    @property
    def slowest_refill(self) -> tuple[float, str]:
        """The days in which an empty bank is full again in the month in which it takes longest, and that month."""
        slowest = max(self.refill_days)
        return slowest, MONTHS[self.refill_days.index(slowest)]

    @property
    def passes(self) -> bool:
        """Whether every limit is met."""
        return all(reading.holds for reading in self.readings)

    def reading(self, limit: str) -> Reading:
        """The tightest reading of a limit. Raises KeyError where it was not judged."""
        mine = [reading for reading in self.readings if reading.limit == limit]
        if not mine:
            raise KeyError(limit)
        return min(mine, key=lambda reading: (reading.holds, reading.room))

    def tightest(self) -> tuple[Reading, ...]:
        """One reading a limit, the nearest edge first; failures before all."""
        names = dict.fromkeys(reading.limit for reading in self.readings)
        return tuple(sorted((self.reading(name) for name in names), key=lambda r: (r.holds, r.room)))


class RefusedError(Exception):
    """The auditor does not pass a bundle that a search found: a fault of this tool, never of the input."""

    def __init__(self, what: str, limits: tuple[str, ...]) -> None:
        self.what, self.limits = what, limits
        super().__init__(f"{what} fails {', '.join(limits)}")


def audit(job: Job, bundle: Bundle, catalog: Catalog | None = None, *, every: bool = False) -> Audit:
    """Recompute every limit of ``bundle`` for ``job``. ``catalog`` is needed to judge prices and stock.

    A limit that depends on months or on starts gives its tightest one, or all of them where ``every`` is asked for; one
    that depends on trackers a reading each.
    """
    return _Auditor(job, bundle, catalog, every).run()


def leg_placings(job: Job, bundle: Bundle) -> list[list[Reading]]:
    """The readings of leg-balance for every placing of the 120 V units that no other beats; empty without legs."""
    auditor = _Auditor(job, bundle, None)
    return [auditor.leg_cases(plan.on_leg_1) for plan in auditor.demand.leg_plans]


def _yes(limit: str, held: bool, where: str = "", **slots: Any) -> Reading:
    """A limit that is met or not, without a figure; "at most" readings carry their failure as 2 of 1."""
    value = 1.0 if held else (2.0 if LIMITS[limit].sense == "at most" else 0.0)
    return Reading(limit, value, 1.0, value, 1.0, where, slots, settled=True)


class _Auditor:
    def __init__(self, job: Job, bundle: Bundle, catalog: Catalog | None, every: bool = False) -> None:
        self.every = every
        self.job, self.bundle, self.catalog = job, bundle, catalog
        self.demand = loads.demand(job, bundle.starters, bundle.tanks_l)
        self.wishes = job.water
        self.c, self.p, self.b = bundle.converter, bundle.panel, bundle.battery
        self.units = bundle.units
        self.efficiency = float(self.c["efficiency_pct"]) / 100
        self.bank_v = bundle.bank_series * float(self.b["nominal_v"])
        self.lowest_v = float(bank.lowest_voltage(bundle.bank_series, self.b["min_v"], self.c["bank_min_v"]))
        self.shared = float(bank.shared_strings(bundle.bank_parallel, job.reserve.parallel_share))
        self.night = energy.night_energy(self.demand.night_wh, self.efficiency, self.c["idle_w"], self.units)
        self.day = energy.day_energy(self.demand.day_wh, self.efficiency, self.c["idle_w"], self.units)
        self.sunless, self.dry = (
            energy.sunless_day(wh, self.efficiency, self.c["idle_w"], self.units)
            for wh in (self.demand.critical_wh, self.demand.unpumped_wh)
        )
        self.round_trip = float(self.b["round_trip_pct"]) / 100
        self.stored = energy.through_bank(self.night, self.round_trip)
        self.sun = self.demand.sun_hours
        row = {name: np.array([value]) for name, value in self.p.items() if isinstance(value, int | float)}
        place = job.site
        cell_c = float(strings.cell_temperature(place.hottest_c, self.p["noct_c"]))
        voc_pct = row["voc_pct_per_c"]
        self.cold = float(strings.cold_factor(voc_pct, place.coldest_c)[0])
        self.hot = float(strings.hot_factor(self.p["pmax_pct_per_c"], cell_c))
        self.wake = float(strings.wake_factor(voc_pct, cell_c)[0])
        self.isc_a = float(strings.short_circuit_current(self.p["isc_a"], self.p["bifacial_pct"], place.rear_light))
        self.usable_wh = self._string_energy(float(self.b["usable_pct"]))

    def _string_energy(self, depth_pct: float) -> float:
        b = self.b
        return float(
            bank.usable_energy(
                self.bank_v, b["capacity_ah"], depth_pct, b["aged_pct"], b["capacity_pct_per_c"],
                self.job.site.bank_coldest_c,
            )
        )  # fmt: skip

    def run(self) -> Audit:
        """Judge everything."""
        readings: list[Reading] = []
        readings += self.converter()
        for tracker in self.bundle.strings:
            readings += self.tracker(tracker)
        readings += self.bank()
        readings += self.year()
        readings += self.place()
        readings += self.purchases()
        judged = {reading.limit for reading in readings}
        missing = tuple(name for name in LIMITS if name not in judged and self.applies(name))
        charge_a = None
        if self.c["charge_settable"]:
            charge_a = min(self.units * float(self.c["charge_a"]), self.shared * float(self.b["charge_a"]))
        start_w = max((case.w for case in self.demand.cases), default=0.0)
        return Audit(
            self.bundle,
            tuple(readings),
            missing,
            self.autonomy()[0],
            float(energy.protection_current(self.c["continuous_w"], self.efficiency, self.lowest_v)),
            float(bank.bank_current(start_w, 0.0, self.efficiency, self.lowest_v)),
            charge_a,
            tuple(self.refill_days().tolist()),
            self.legs(),
            self.demand.water_days if self.demand.water_days and self.demand.water_l.any() else None,
            self.demand.loads,
        )

    def applies(self, name: str) -> bool:
        """Whether a limit concerns this job and bundle at all."""
        if name in ("starting-surge", "starting-current", "bank-sag"):
            return bool(self.demand.cases) and (name != "bank-sag" or not np.isnan(self.b["r_mohm"]))
        if name == "fuse-fits":
            return any(s.fused or self.needs_fuses(s) for s in self.bundle.strings)
        if name == "tracker-strings":
            return bool(np.isfinite(self.c["tracker_strings"]))
        if name == "leg-balance":
            return bool(self.demand.leg_plans)
        if name == "charge-limit":
            return not self.c["charge_settable"]
        if name == "budget":
            return self.job.need.budget_cents is not None
        if name == "start-volts":
            return bool(self.start_volts())
        if name == "well-yield":
            return self.wishes.well_yield_l_per_h is not None
        if name == "water-reserve":
            return self.wishes.reserve_days > 0
        if name == "recovery":
            return self.job.need.recover_days is not None
        if name == "space":
            tanks = self.wishes.max_tanks
            return any(most is not None for most in (self.job.space.max_panels, self.job.space.max_area_m2, tanks))
        return name != "listed" or self.job.allow.listed_only

    def tightest(self, readings: list[Reading]) -> Iterator[Reading]:
        """The reading nearest its edge, a failing one first, the first of equals; all where every one is asked for."""
        if self.every:
            yield from readings
        elif readings:
            yield min(readings, key=lambda reading: (reading.holds, reading.room))

    # converter ----------------------------------------------------------------------------------------------

    def converter(self) -> Iterator[Reading]:
        c, u, job, demand = self.c, self.units, self.job, self.demand
        stated = str(c["hz"])
        yield _yes("supply-match", bool(makes_frequency(np.array([stated], dtype=object), job.supply.hz)[0]),
                   hz=job.supply.hz, stated=stated.replace(";", ", ") or "no frequency")  # fmt: skip
        step = float(c[SUPPLY_COLUMN[job.supply.kind]])
        makes = not np.isnan(step) and u % step == 0
        if makes:
            yield Reading("service", u, c["max_units"], u, c["max_units"], "", {"units": u, "step": int(step)})
        else:
            yield _yes("service", False, units=u, step=0 if np.isnan(step) else int(step))
        used, has = len(self.bundle.strings), u * int(c["trackers"])
        yield Reading("tracker-count", used, has, used, has, "",
                      {"used": used, "units": u, "trackers": int(c["trackers"])})  # fmt: skip
        more = 1 + job.reserve.running
        r, has_w = demand.running_w, u * float(c["continuous_w"])
        yield Reading("running-power", r * more, has_w, r, has_w, "", {"running_w": r, "reserve": more})
        r, has_va = demand.running_va, u * float(c["continuous_va"])
        yield Reading("running-apparent", r * more, has_va, r, has_va, "", {"running_va": r, "reserve": more})
        more = 1 + job.reserve.starting
        cases = []
        for case in demand.cases:
            has_va = u * float(c["surge_va"] if at_least(c["surge_s"], case.seconds) else c["continuous_va"])
            cases.append(
                Reading("starting-surge", case.va * more, has_va, case.va, has_va, case.load,
                        {"start_va": case.va, "reserve": more, "seconds": case.seconds, "surge_s": c["surge_s"]})
            )  # fmt: skip
        yield from self.tightest(cases)
        yield from self.tightest(self.start_volts())
        yield from self.leg_readings()
        taken, most = self.bundle.panels * float(self.p["pmax_w"]), u * float(c["array_max_w"])
        yield Reading("array-total", taken, most, taken, most, "",
                      {"panels": self.bundle.panels, "pmax_w": self.p["pmax_w"]})  # fmt: skip

    def start_volts(self) -> list[Reading]:
        """start-volts of every load that states its cable, and that each starter may serve its load."""
        found = []
        for load, figures in zip(self.job.loads, self.demand.loads, strict=True):
            starter, least = self.bundle.starters.get(load.name), soft_start.LEAST_VOLTS_DIRECT
            if starter is not None:
                least = soft_start.LEAST_VOLTS_SOFT
                hard = figures.direct_va > figures.running_va * (1 + TOLERANCE)
                amps = figures.running_va / figures.voltage_v
                if not (hard and soft_start.serves(starter, load.motor, amps, figures.voltage_v)):
                    where = f"{load.name}: {starter['part']} may not start it"
                    found.append(_yes("start-volts", False, where, start_pct=0.0, start_factor=0.0, cable_drop=0.0))
            if load.cable_drop is not None and figures.direct_va > figures.running_va * (1 + TOLERANCE):
                factor = 1.0 if starter is None else float(starter["start_factor"])
                left, least = 100 * soft_start.volts_left(load.cable_drop, factor), 100 * least
                slots = {"start_pct": 100 * factor, "start_factor": factor, "cable_drop": load.cable_drop}
                found.append(Reading("start-volts", left, least, left, least, load.name, slots))
        return found

    def leg_cases(self, on_leg_1: tuple[int, ...]) -> list[Reading]:
        """The readings of one placing: the heavier leg running, and in each start case."""
        c, u, reserve = self.c, self.units, self.job.reserve
        running, cases = loads.leg_totals(self.demand.loads, on_leg_1, self.job.supply.restart)
        found = [(max(running), reserve.running, float(c["leg_va"]), "running")]
        for seconds, legs in cases:
            lasts = at_least(c["surge_s"], seconds)
            found.append((max(legs), reserve.starting, float(c["leg_surge_va"] if lasts else c["leg_va"]), "starting"))
        return [
            Reading("leg-balance", va * (1 + more), u * rating, va, u * rating, where,
                    {"leg_va": va, "reserve": 1 + more})
            for va, more, rating, where in found
        ]  # fmt: skip

    def placing(self) -> tuple[int, ...]:
        """The placing of the 120 V units: the bundle's own, else the one with the most room on this converter."""
        if self.bundle.legs is not None:
            return tuple(self.bundle.legs[load.name][0] for load in loads.placed_loads(self.demand.loads))
        plans = self.demand.leg_plans
        return max(plans, key=lambda p: (min(r.room for r in self.leg_cases(p.on_leg_1)), p.on_leg_1)).on_leg_1

    def leg_readings(self) -> list[Reading]:
        """leg-balance, where the supply has legs."""
        return list(self.tightest(self.leg_cases(self.placing()))) if self.demand.leg_plans else []

    def legs(self) -> dict[str, tuple[int, int]]:
        """Units of each 120 V load on leg 1 and leg 2."""
        if not self.demand.leg_plans:
            return {}
        placed = loads.placed_loads(self.demand.loads)
        return {
            load.name: (on_1, load.count - on_1) for load, on_1 in zip(placed, self.placing(), strict=True)
        }

    def needs_fuses(self, s: TrackerStrings) -> bool:
        """Whether the other strings of a tracker can push back more than a panel survives."""
        return bool(strings.is_fused(s.parallel, self.isc_a, self.p["max_fuse_a"]))

    # one tracker --------------------------------------------------------------------------------------------

    def tracker(self, s: TrackerStrings) -> Iterator[Reading]:
        c, p, job = self.c, self.p, self.job
        n, m, where = s.series, s.parallel, f"tracker {s.tracker}"
        cold_v = n * float(p["voc_v"]) * self.cold
        cold = {"series": n, "voc_v": p["voc_v"], "factor": self.cold}
        top = float(c["tracker_max_v"])
        yield Reading("cold-voltage", cold_v, top * (1 - job.reserve.voltage), cold_v, top, where,
                      {**cold, "reserve": job.reserve.voltage, "rating": top})  # fmt: skip
        yield Reading("panel-voltage", cold_v, p["max_system_v"], cold_v, p["max_system_v"], where, cold)
        ceiling = job.site.array_ceiling_v
        yield Reading("code-voltage", cold_v, ceiling, cold_v, ceiling, where, cold)
        hot_v = n * float(p["vmp_v"]) * self.hot
        less = 1 - job.reserve.hot_voltage
        yield Reading("hot-voltage", hot_v * less, c["tracker_min_v"], hot_v, c["tracker_min_v"], where,
                      {"series": n, "vmp_v": p["vmp_v"], "factor": self.hot, "reserve": less})  # fmt: skip
        wake_v = n * float(p["voc_v"]) * self.wake
        yield Reading("wake-voltage", wake_v, c["tracker_start_v"], wake_v, c["tracker_start_v"], where,
                      {"series": n, "voc_v": p["voc_v"], "factor": self.wake})  # fmt: skip
        work_v = n * float(p["vmp_v"])
        yield Reading("tracker-range", work_v, c["tracker_top_v"], work_v, c["tracker_top_v"], where,
                      {"series": n, "vmp_v": p["vmp_v"]})  # fmt: skip
        amps, code = m * self.isc_a, strings.CONTINUOUS
        yield Reading("tracker-current", amps * (1 + job.reserve.current), c["tracker_isc_a"], amps * code,
                      c["tracker_isc_a"], where,
                      {"parallel": m, "isc_a": self.isc_a, "reserve": 1 + job.reserve.current})  # fmt: skip
        if np.isfinite(c["tracker_strings"]):
            most = c["tracker_strings"]
            yield Reading("tracker-strings", m, most, m, most, where, {"parallel": m})
        watts = n * m * float(p["pmax_w"])
        yield Reading("tracker-power", watts, c["tracker_max_w"], watts, c["tracker_max_w"], where,
                      {"series": n, "parallel": m, "pmax_w": p["pmax_w"]})  # fmt: skip
        if self.needs_fuses(s) and not s.fused:
            yield _yes("fuse-fits", False, f"{where}: no fuses", isc_a=self.isc_a)
        elif s.fused:
            rating = float(strings.fuse_rating(self.isc_a))
            yield Reading("fuse-fits", rating, p["max_fuse_a"], rating, p["max_fuse_a"], where,
                          {"isc_a": self.isc_a})  # fmt: skip

    def usable_w(self) -> float:
        """Usable W of all trackers."""
        total = 0.0
        for s in self.bundle.strings:
            array_w = s.panels * float(self.p["pmax_w"]) * self.job.site.array_factor
            hot_v = s.series * float(self.p["vmp_v"]) * self.hot
            cap_w = min(float(self.c["tracker_usable_w"]), float(self.c["tracker_usable_a"]) * hot_v)
            total += float(strings.usable_power(array_w, cap_w))
        return min(total, self.units * float(self.c["array_usable_w"]))

    def refill_days(self) -> np.ndarray:
        """Days until an empty bank is full again, each month; shape (12,)."""
        bank_wh, asked = self.bundle.bank_parallel * self.usable_wh, self.day + self.stored
        days: np.ndarray = energy.refill_days(bank_wh, self.round_trip, self.usable_w(), self.sun, asked)
        return days

    # the bank -----------------------------------------------------------------------------------------------

    def bank(self) -> Iterator[Reading]:
        c, b, job, demand, bundle = self.c, self.b, self.job, self.demand, self.bundle
        s, k, u = bundle.bank_series, bundle.bank_parallel, self.units
        whole = s * float(b["class_v"]) == float(c["bank_class_v"])
        yield _yes("bank-voltage", whole, bank_class_v=c["bank_class_v"], class_v=b["class_v"])
        yield Reading("bank-series", s, b["max_series"], s, b["max_series"], "", {"series": s})
        yield Reading("bank-parallel", k, b["max_parallel"], k, b["max_parallel"], "", {"parallel": k})
        charge_v = s * float(b["charge_v"])
        window = {"series": s, "charge_v": b["charge_v"], "bank_v": self.bank_v, "bank_min_v": c["bank_min_v"]}
        if at_least(self.bank_v, c["bank_min_v"]):
            yield Reading("bank-window", charge_v, c["bank_max_v"], charge_v, c["bank_max_v"], "", window)
        else:
            low = float(c["bank_min_v"])
            yield Reading("bank-window", low, self.bank_v, low, self.bank_v, BELOW, window)
        coldest = job.site.bank_coldest_c
        floor_c = max(float(b["coldest_charge_c"]), float(b["coldest_discharge_c"]))
        yield Reading("bank-temperature", coldest, floor_c, coldest, floor_c, "", {})
        more = 1 + job.reserve.running
        eta = {"efficiency": self.efficiency, "lowest_v": self.lowest_v}
        amps = float(bank.bank_current(demand.running_w, job.reserve.running, self.efficiency, self.lowest_v))
        has = self.shared * float(b["discharge_a"])
        yield Reading("discharge-current", amps, has, amps / more, has, "",
                      {"watts": demand.running_w, "reserve": more, **eta})  # fmt: skip
        more = 1 + job.reserve.starting
        peaks, sags = [], []
        for case in demand.cases:
            amps = float(bank.bank_current(case.w, job.reserve.starting, self.efficiency, self.lowest_v))
            rating = float(b["peak_a"] if at_least(b["peak_s"], case.seconds) else b["discharge_a"])
            figures = {"watts": case.w, "reserve": more, "seconds": case.seconds, **eta}
            peaks.append(
                Reading("starting-current", amps, self.shared * rating, amps / more, self.shared * rating,
                        case.load, figures)
            )  # fmt: skip
            if not np.isnan(b["r_mohm"]):
                sagged, raw = (
                    float(bank.sagged_voltage(self.bank_v, a, s, b["r_mohm"], k)) for a in (amps, amps / more)
                )
                sags.append(
                    Reading("bank-sag", sagged, self.lowest_v, raw, self.lowest_v, case.load,
                            {"bank_v": self.bank_v, "current_a": amps, "series": s, "r_mohm": b["r_mohm"],
                             "parallel": k})
                )  # fmt: skip
        yield from self.tightest(peaks)
        yield from self.tightest(sags)
        charge_a = u * float(c["charge_a"])
        if not c["charge_settable"]:
            has = self.shared * float(b["charge_a"])
            yield Reading("charge-limit", charge_a, has, charge_a, has, "",
                          {"units": u, "charge_a": c["charge_a"]})  # fmt: skip
        array_a = bundle.panels * float(self.p["pmax_w"]) * job.site.array_factor / self.bank_v
        given, floor_a = min(charge_a, array_a), k * float(b["charge_min_a"])
        yield Reading("charge-floor", given, floor_a, given, floor_a, "",
                      {"charger_a": charge_a, "array_a": array_a})  # fmt: skip

    # the year -----------------------------------------------------------------------------------------------

    def year(self) -> Iterator[Reading]:
        c, b, job, k = self.c, self.b, self.job, self.bundle.bank_parallel
        into = {"round_trip": self.round_trip}

        def monthly(limit: str, value: np.ndarray, allowed: np.ndarray, **slots: Any) -> Iterator[Reading]:
            readings = []
            for month, name in enumerate(MONTHS):
                mine = {key: figures[month] if np.ndim(figures) else figures for key, figures in slots.items()}
                v, a = float(value[month]), float(allowed[month])
                readings.append(Reading(limit, v, a, v, a, name, mine))
            return self.tightest(readings)

        charger_wh = self.units * float(c["charge_a"]) * self.bank_v * self.sun
        yield from monthly("charger", self.stored, charger_wh, night_wh=self.night, **into)
        rate_wh = self.shared * float(b["charge_a"]) * self.bank_v * self.sun
        yield from monthly("charge-rate", self.stored, rate_wh, night_wh=self.night, **into)
        depth = min(float(b["daily_pct"]), float(b["usable_pct"]))
        nightly = np.full(12, k * self._string_energy(depth))
        yield from monthly("night-energy", self.night, nightly, night_wh=self.night)
        ratio = job.need.array_to_load
        if ratio is None:
            ratio = float(energy.default_array_to_load(b["chemistry"]))
        asked = self.day + self.stored
        usable = np.full(12, self.usable_w())
        yield from monthly("daily-energy", usable, ratio * asked / self.sun,
                      array_to_load=ratio, day_wh=asked, sun_hours=self.sun)  # fmt: skip
        if job.need.recover_days is not None:
            yield from monthly("recovery", self.refill_days(), np.full(12, job.need.recover_days),
                          bank_wh=k * self.usable_wh, usable_w=float(usable[0]), sun_hours=self.sun, day_wh=asked,
                          **into)  # fmt: skip
        days, where, slots = self.autonomy()
        yield Reading("autonomy", days, job.need.autonomy_days, days, job.need.autonomy_days, where, slots)
        yield from self.water()

    def autonomy(self) -> tuple[float, str, dict[str, Any]]:
        """Sunless days: with all critical loads on the bank, or without the pumps as long as the water stored lasts;
        the larger, its month, and its figures."""
        usable_wh = self.bundle.bank_parallel * self.usable_wh

        def lasting(sunless: np.ndarray, pumps: str, most: float = np.inf) -> tuple[float, str, dict[str, Any]]:
            worst = int(np.argmax(sunless))
            day_wh = float(sunless[worst])
            days = min(usable_wh / day_wh if day_wh > 0 else float("inf"), most)
            return days, MONTHS[worst], {"bank_wh": usable_wh, "day_wh": day_wh, "pumps": pumps}

        carried, stored = lasting(self.sunless, ""), self.demand.water_days
        if not stored or not any(load.pumps and load.critical for load in self.demand.loads):
            return carried
        rested = lasting(self.dry, f", pumps at rest: {stored:.2f} days of water stored", stored)
        return max(carried, rested, key=lambda found: found[0])

    def water(self) -> Iterator[Reading]:
        wishes, demand = self.wishes, self.demand
        worst = int(np.argmax(demand.water_l))
        asked_l, month = float(demand.water_l[worst]), MONTHS[worst]
        if wishes.well_yield_l_per_h is not None:
            gives = water.well_gives(wishes.well_yield_l_per_h)
            yield Reading("well-yield", asked_l, gives, asked_l, gives, month,
                          {"well_yield_l_per_h": wishes.well_yield_l_per_h})  # fmt: skip
        if wishes.reserve_days > 0:
            days, asked = demand.water_days, wishes.reserve_days
            slots = {"stored_l": self.bundle.tanks_l + wishes.tank_on_hand_l, "water_l": asked_l}
            yield Reading("water-reserve", days, asked, days, asked, month, slots)

    # site, mounting, what the job allows --------------------------------------------------------------------

    def place(self) -> Iterator[Reading]:
        job, bundle, p = self.job, self.bundle, self.p
        if bundle.rack is not None:
            rack = bundle.rack
            slots = {
                "width_mm": p["width_mm"], "length_mm": p["length_mm"], "weight_kg": p["weight_kg"],
                "rack_width_mm": rack["max_width_mm"], "rack_length_mm": rack["max_length_mm"],
                "rack_kg": rack["max_panel_kg"],
            }  # fmt: skip
            ratios = [
                (p["width_mm"], rack["max_width_mm"], "width"), (p["length_mm"], rack["max_length_mm"], "length"),
                (p["weight_kg"], rack["max_panel_kg"], "weight"),
            ]  # fmt: skip
            value, allowed, where = max(ratios, key=lambda triple: triple[0] / triple[1])
            unit = "kg" if where == "weight" else "mm"
            yield Reading("mounting-fit", value, allowed, value, allowed, where, slots, measure=unit)
        refused = list(self.refused())
        yield _yes("allowed", not refused, refused=", ".join(refused) or "nothing refused")
        space, area = job.space, bundle.panels * mounting.panel_area(p["length_mm"], p["width_mm"])
        slots = {"panels": bundle.panels, "area_m2": area}
        rooms = []
        if space.max_panels is not None:
            most = float(space.max_panels)
            rooms.append(Reading("space", bundle.panels, most, bundle.panels, most, "panels", slots))
        if space.max_area_m2 is not None:
            rooms.append(Reading("space", area, space.max_area_m2, area, space.max_area_m2, "m2", slots, measure="m2"))
        if self.wishes.max_tanks is not None:
            tanks, most = float(sum(bundle.tanks.values())), float(self.wishes.max_tanks)
            rooms.append(Reading("space", tanks, most, tanks, most, "tanks", slots, measure="tanks"))
        yield from self.tightest(rooms)
        if job.allow.listed_only:
            parts = [bundle.panel, bundle.converter, bundle.battery, *([bundle.rack] if bundle.rack else [])]
            parts += {starter["part"]: starter for starter in bundle.starters.values()}.values()
            unlisted = [str(part["part"]) for part in parts if not part["listed"]]
            yield _yes("listed", not unlisted, unlisted=", ".join(unlisted) or "all listed")

    def refused(self) -> Iterator[str]:
        """Parts and sellers that the job does not allow."""
        job, bundle = self.job, self.bundle
        parts = [*bundle.models.values(), *(str(s["part"]) for s in bundle.starters.values()), *bundle.tanks]
        if bundle.order is not None:
            parts += [purchase.part for purchase in bundle.order.purchases]
        yield from (part for part in dict.fromkeys(parts) if part in job.allow.exclude)
        if job.allow.chemistries is not None and self.b["chemistry"] not in job.allow.chemistries:
            yield str(self.b["chemistry"])
        if bundle.rack is not None and job.space.mounts is not None and bundle.rack["mount"] not in job.space.mounts:
            yield str(bundle.rack["mount"])
        if bundle.order is not None and job.allow.sellers is not None:
            yield from (seller for seller, _ in bundle.order.freight if seller not in job.allow.sellers)

    # money --------------------------------------------------------------------------------------------------

    def purchases(self) -> Iterator[Reading]:
        job, order = self.job, self.bundle.order
        budget = job.need.budget_cents
        if order is None:
            if self.bundle.quoted_cents is not None and budget is not None:
                quoted = self.bundle.quoted_cents
                yield Reading("budget", quoted / 100, budget / 100, quoted / 100, budget / 100, "",
                              {"goods": quoted / 100, "freight": 0.0, "tax": 0.0})  # fmt: skip
            return
        if self.catalog is not None:
            yield from self.tightest(list(self.stock(order, self.catalog)))
        needs = pieces_needed(self.bundle, job, self.catalog) if self.catalog is not None else {}
        missing = []
        covered = {purchase.part: purchase for purchase in order.purchases}
        for part, needed in needs.items():
            purchase = covered.get(part)
            on_hand = min(needed, job.on_hand.get(part, 0))
            bought = sum(line.quantity for line in purchase.lines) if purchase else 0
            if bought + on_hand < needed or (purchase and (purchase.needed != needed or purchase.on_hand != on_hand)):
                missing.append(part)
        due = order if self.catalog is None else Order.of(order.purchases, self.catalog.seller, self.catalog.weight_kg)
        if self.catalog is not None:
            missing += self.charges(order, due, self.catalog)
        yield _yes("priced", not missing, missing=", ".join(missing) or "everything is covered")
        if budget is not None:
            total = due.cents
            yield Reading("budget", total / 100, budget / 100, total / 100, budget / 100, "",
                          {"goods": due.goods_cents / 100, "freight": due.freight_cents / 100,
                           "tax": due.tax_cents / 100})  # fmt: skip

    def charges(self, order: Order, due: Order, catalog: Catalog) -> Iterator[str]:
        """What of an order is not as its sellers have it; ``due``: the same lines with what the sellers add."""
        for what, stated, right in (("freight", order.freight, due.freight), ("tax", order.tax, due.tax)):
            asked, is_due = dict(stated), dict(right)
            for seller in sorted(asked.keys() | is_due.keys()):
                found, wanted = (landed_cost.money(cents.get(seller, 0)) for cents in (asked, is_due))
                if found != wanted:
                    yield f"{what} of {seller} {wanted}, not {found}"
        for name, _ in due.freight:
            goods, least = due.goods_of(name), catalog.seller(name).min_order
            if goods < least:
                yield f"{name} sells from {landed_cost.money(least)} up, not {landed_cost.money(goods)}"
        for purchase in order.purchases:
            for line in purchase.lines:
                if catalog.seller(line.seller).freight_per_kg and catalog.weight_kg(purchase.part) is None:
                    yield f"{purchase.part} from {line.seller}: no weight to charge freight for"

    def stock(self, order: Order, catalog: Catalog) -> Iterator[Reading]:
        """Every line against the price list: its price, packs, least quantity, and the seller's stock."""
        offers = catalog.offers
        for purchase in order.purchases:
            low, high = (int(np.searchsorted(offers.part, purchase.part, side)) for side in ("left", "right"))
            taken: dict[str, int] = {}
            for line in purchase.lines:
                taken[line.seller] = taken.get(line.seller, 0) + line.quantity
                matches = any(
                    offers.seller[row] == line.seller
                    and offers.cents[row] == line.unit_cents
                    and line.quantity % offers.pack[row] == 0
                    and line.quantity >= landed_cost.least_bought(offers.min_qty[row], offers.pack[row])
                    for row in range(low, high)
                )
                if not matches:
                    yield _yes("stock", False, f"{purchase.part} from {line.seller}: not as the price list has it",
                               part=purchase.part, seller=line.seller)  # fmt: skip
            for seller, quantity in taken.items():
                held = [int(offers.stock[row]) for row in range(low, high) if offers.seller[row] == seller]
                if held and held[0] >= 0:
                    slots = {"part": purchase.part, "seller": seller}
                    yield Reading("stock", quantity, held[0], quantity, held[0],
                                  f"{purchase.part} from {seller}", slots)  # fmt: skip
        yield _yes("stock", True, part="nothing else", seller="limited stock")


def pieces_needed(bundle: Bundle, job: Job, catalog: Catalog) -> dict[str, int]:
    """Pieces of every part that a bundle needs, extras included; without the rack where it has none."""
    needs = {
        str(bundle.converter["part"]): bundle.units,
        str(bundle.panel["part"]): bundle.panels,
        str(bundle.battery["part"]): bundle.batteries,
    }
    for load in job.loads:
        if load.name in bundle.starters:
            part = str(bundle.starters[load.name]["part"])
            needs[part] = needs.get(part, 0) + load.count
    needs |= bundle.tanks
    basis = bundle.basis(job.space.row_max)
    if bundle.rack is not None:
        most, rack = bundle.row_max(job.space.row_max), bundle.rack
        needs[str(rack["part"])] = sum(
            s.parallel
            * int(mounting.string_rack_units(
                s.series, mounting.string_rows(s.series, most), rack["per_panel"], rack["per_row"]))
            for s in bundle.strings
        )  # fmt: skip
        extras = catalog.tables["extra"]
        for row in range(len(extras)):
            extra = extras.record(row)
            pieces = landed_cost.extra_pieces(extra, basis)
            if pieces:
                needs[str(extra["part"])] = pieces
    return needs
