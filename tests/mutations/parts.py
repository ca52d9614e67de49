"""The bundle that the hand-worked cases start from, and ways to look at it. All parts are invented.

Worked by hand, with figures chosen to come out even:

loads      one pump: 225 V x 8 A = 1800 VA = 1800 W running, 225 V x 32 A = 7200 VA starting for 1 s;
           4 h a day = 7200 Wh, half of it in daytime; 4 sun hours in every month
converter  efficiency 80 %, idle 50 W: night 3600/0.8 + 50 x 16 = 5300 Wh, day 3600/0.8 + 50 x 8 = 4900 Wh,
           a sunless day 7200/0.8 + 50 x 24 = 10,200 Wh
bank       2 strings of one 50 V, 200 Ah battery: V_low = max(45, 40) = 45 V, so 0.8 x 45 = 36 V at the loads' side;
           running 1800 x 1.25/36 = 62.5 A, starting 7200 x 1.25/36 = 250 A; k' = 2 x 0.8 = 1.6;
           at 5 degC 1 - 0.005 x 20 = 0.9 of the capacity, usable 80 %: 50 x 200 x 0.8 x 0.9 = 7200 Wh a string;
           round trip 80 %: 5300/0.8 = 6625 Wh into it, so 11,525 Wh a day; 1.2 x 11,525/4 = 3457.5 W needed
strings    8 panels of 400 W on each of 2 trackers; -15 degC is 40 below 25: 40 V x (1 + 0.0025 x 40) = 44 V;
           40 degC air and NOCT 44 make 40 + 24/800 x 1000 = 70 degC, 45 above 25: 32 V x (1 - 0.004 x 45) = 26.24 V
           and 40 V x (1 - 0.0025 x 45) = 35.5 V to wake; usable 8 x 400 x 0.8 = 2560 W each, nothing clipped
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, cast

import numpy as np

from catalog.offers import Offers, Seller
from catalog.reader import Catalog, Table
from catalog.rows import BatteryRow, ConverterRow, PanelRow, RackRow
from optimizer.auditor import audit
from optimizer.bundles.bundle import Bundle, TrackerStrings
from optimizer.bundles.order import Order
from optimizer.candidates import banks, terms
from optimizer.candidates.converters import Inverter, converter_entries
from optimizer.candidates.rows import TableRows
from optimizer.candidates.strings import Layout, layouts, panel_figures, string_ranges
from optimizer.inputs.job import Allow, Job, Load, Need, Reserve, Site, Space, Supply, Water
from optimizer.search import branch_and_bound
from optimizer.vocabulary.units import Quantity

Record = dict[str, Any]
NONE_YET = {"tank": ["volume_l", "usable_pct"]}  # what is asked of a table without rows
UNSTATED, NO_LIMIT = float("nan"), float("inf")

PANEL: Mapping[str, Any] = {
    "part": "panel", "pmax_w": 400.0, "voc_v": 40.0, "vmp_v": 32.0, "isc_a": 12.8, "imp_a": 12.5,
    "voc_pct_per_c": -0.25, "pmax_pct_per_c": -0.4, "vmp_pct_per_c": -0.4, "noct_c": 44.0, "bifacial_pct": 0.0,
    "length_mm": 2000.0,
    "width_mm": 1000.0, "weight_kg": 25.0, "max_system_v": 1000.0, "max_fuse_a": 25.0, "listed": True,
}  # fmt: skip
CONVERTER: Mapping[str, Any] = {
    "part": "converter", "continuous_w": 5000.0, "continuous_va": 5000.0, "surge_va": 10000.0, "surge_s": 3.0,
    "leg_va": 2500.0, "leg_surge_va": 5000.0, "efficiency_pct": 80.0, "idle_w": 50.0, "hz": "50;60",
    "bank_class_v": 48.0, "bank_min_v": 40.0, "bank_max_v": 60.0, "charge_a": 100.0, "charge_settable": True,
    "trackers": 2.0, "tracker_max_v": 500.0, "tracker_min_v": 120.0, "tracker_top_v": 450.0,
    "tracker_start_v": 130.0, "tracker_usable_a": 15.0, "tracker_isc_a": 20.0, "tracker_max_w": 5000.0,
    "tracker_usable_w": 4000.0, "tracker_strings": NO_LIMIT, "array_max_w": 8000.0, "array_usable_w": 6000.0,
    "max_units": 2.0, "units_120": UNSTATED, "units_120_240": 1.0, "units_230": 1.0, "listed": True,
}  # fmt: skip
BATTERY: Mapping[str, Any] = {
    "part": "battery", "chemistry": "lfp", "class_v": 48.0, "nominal_v": 50.0, "min_v": 45.0, "charge_v": 56.0,
    "capacity_ah": 200.0, "usable_pct": 80.0, "aged_pct": 80.0, "daily_pct": 80.0, "capacity_pct_per_c": 0.5,
    "round_trip_pct": 80.0, "discharge_a": 150.0, "peak_a": 300.0, "peak_s": 5.0, "charge_a": 100.0,
    "charge_min_a": 0.0, "r_mohm": UNSTATED, "max_series": 1.0, "max_parallel": 4.0, "coldest_charge_c": 0.0,
    "coldest_discharge_c": -20.0, "hottest_charge_c": 50.0, "hottest_discharge_c": 55.0, "short_circuit_a": UNSTATED,
    "listed": True,
}  # fmt: skip
RACK: Mapping[str, Any] = {
    "part": "rack", "mount": "ground-ballast", "max_width_mm": 1100.0, "max_length_mm": 2200.0, "max_panel_kg": 30.0,
    "per_panel": 0.5, "per_row": 1.0, "max_row": 10.0, "ballast_kg": 40.0, "heat_c": 0.0, "listed": True,
}  # fmt: skip


def panel(**changes: Any) -> Record:
    """The worked panel with some columns changed."""
    return {**PANEL, **changes}


def converter(**changes: Any) -> Record:
    """The worked converter with some columns changed."""
    return {**CONVERTER, **changes}


def battery(**changes: Any) -> Record:
    """The worked battery with some columns changed."""
    return {**BATTERY, **changes}


def rack(**changes: Any) -> Record:
    """The worked rack with some columns changed."""
    return {**RACK, **changes}


# the job --------------------------------------------------------------------------------------------------------


def amps(value: float) -> Quantity:
    """A current as a load states it."""
    return Quantity(value, "A", f"{value:g} A")


def watts(value: float) -> Quantity:
    """A power as a load states it."""
    return Quantity(value, "W", f"{value:g} W")


def months(value: float) -> tuple[float, ...]:
    """One value for all twelve months."""
    return (value,) * 12


PUMP = Load("pump", 225.0, amps(8.0), starting=amps(32.0), hours_per_day=months(4.0), daytime=0.5)
SITE = Site(coldest_c=-15.0, hottest_c=40.0, sun_hours=months(4.0), bank_coldest_c=5.0, bank_hottest_c=40.0)


def pump(**changes: Any) -> Load:
    """The worked pump with some fields changed."""
    return replace(PUMP, **changes)


def job(
    *loads: Load,
    site: Mapping[str, Any] | None = None,
    supply: Supply | None = None,
    need: Need | None = None,
    reserve: Reserve | None = None,
    space: Space | None = None,
    allow: Allow | None = None,
    on_hand: Mapping[str, int] | None = None,
    water: Water | None = None,
) -> Job:
    """The worked job, with other loads or some of its tables changed; ``site`` changes single fields."""
    return Job(
        Path("job.toml"), "worked", None, replace(SITE, **(site or {})), supply or Supply("230", 50),
        tuple(replace(load, index=i) for i, load in enumerate(loads or (PUMP,))), need or Need(),
        reserve or Reserve(), space or Space(), allow or Allow(), on_hand=on_hand or {},
        water=water or Water(),
    )  # fmt: skip


# the bundle, and what the auditor says of it --------------------------------------------------------------------


def bundle(
    *,
    panel: Mapping[str, Any] = PANEL,
    converter: Mapping[str, Any] = CONVERTER,
    battery: Mapping[str, Any] = BATTERY,
    rack: Mapping[str, Any] | None = RACK,
    units: int = 1,
    series: int = 1,
    parallel: int = 2,
    strings: tuple[tuple[int, int], ...] = ((8, 1), (8, 1)),
    fused: bool = False,
    legs: Mapping[str, tuple[int, int]] | None = None,
    order: Order | None = None,
) -> Bundle:
    """The worked bundle with some parts or counts changed; ``strings``: (in series, in parallel) by tracker."""
    wired = tuple(TrackerStrings(i + 1, m, n, fused) for i, (n, m) in enumerate(strings))
    parts = (cast(ConverterRow, converter), cast(PanelRow, panel), cast(BatteryRow, battery))
    return Bundle(*parts, cast(RackRow | None, rack), units, series, parallel, wired, order=order, legs=legs)


def audited(limit: str, job: Job, bundle: Bundle) -> tuple[float, float, bool]:
    """The auditor's reading of one limit: what the bundle has, what it may have, whether that holds."""
    reading = audit.audit(job, bundle).reading(limit)
    return float(reading.value), float(reading.allowed), reading.holds


def met(limit: str, job: Job, bundle: Bundle) -> bool:
    """Whether the auditor finds a limit met; one that does not apply is."""
    readings = [reading for reading in audit.audit(job, bundle).readings if reading.limit == limit]
    return all(reading.holds for reading in readings)


# what the search leaves -----------------------------------------------------------------------------------------


def table(kind: str, *records: Mapping[str, Any]) -> Table[Any, Any]:
    """A catalogue table of these parts."""
    rows = sorted(records, key=lambda record: str(record["part"]))
    names = [name for name in rows[0] if name != "part"] if rows else NONE_YET.get(kind, [])
    columns = {}
    for name in names:
        values = [row[name] for row in rows]
        texts = bool(values) and isinstance(values[0], str)
        columns[name] = np.array(values, dtype=object) if texts else np.array(values)
    taken = {name: np.zeros(len(rows), dtype=bool) for name in names}
    ids = np.array([row["part"] for row in rows], dtype=object)
    return Table(kind, ids, columns, taken, np.arange(len(rows)) + 2)


def units_left(job: Job, converter: Mapping[str, Any]) -> tuple[int, ...]:
    """The numbers of units of a converter that the search leaves."""
    rows = TableRows.of(table("converter", converter))
    return tuple(int(u) for u in converter_entries(rows, terms.Setting.of(job)).units)


def inverter(converter: Mapping[str, Any], units: int = 1) -> Inverter:
    """A converter as the search holds it."""
    return Inverter(0, 0, units, cast(Any, converter))


def bank_found(
    job: Job, battery: Mapping[str, Any] = BATTERY, converter: Mapping[str, Any] = CONVERTER, units: int = 1
) -> banks.Banks:
    """The search's bank of one battery behind a converter."""
    columns = table("battery", battery).columns
    return banks.banks(columns, inverter(converter, units), terms.Setting.of(job))


def bank_strings(job: Job, battery: Mapping[str, Any] = BATTERY, converter: Mapping[str, Any] = CONVERTER) -> int:
    """The least bank strings that the search takes; 0 where the battery does not fit."""
    found = bank_found(job, battery, converter)
    return int(found.parallel[0]) if found.fits[0] else 0


def power_needed(job: Job, battery: Mapping[str, Any] = BATTERY, converter: Mapping[str, Any] = CONVERTER) -> float:
    """The usable array W that the search asks."""
    return float(bank_found(job, battery, converter).need_w[0])


def strings_left(
    job: Job, panel: Mapping[str, Any] = PANEL, converter: Mapping[str, Any] = CONVERTER
) -> tuple[int, int, int]:
    """The shortest and the longest string the search leaves, and the most of them in parallel."""
    columns, setting = table("panel", panel).columns, terms.Setting.of(job)
    figures = panel_figures(columns, setting, 0.0)
    found = string_ranges(columns, figures, inverter(converter), setting)
    return int(found.shortest[0]), int(found.longest[0]), int(found.parallel[0])


def layouts_left(
    job: Job, panel: Mapping[str, Any] = PANEL, converter: Mapping[str, Any] = CONVERTER
) -> tuple[Layout, ...]:
    """Every layout that the search leaves on one tracker."""
    columns, setting = table("panel", panel).columns, terms.Setting.of(job)
    figures = panel_figures(columns, setting, 0.0)
    found = string_ranges(columns, figures, inverter(converter), setting)
    return layouts(cast(Any, panel), figures, 0, inverter(converter), found, 0, setting)


# the price list -------------------------------------------------------------------------------------------------

Price = tuple[str, str, int, int, int, int]  # part, seller, cents a piece, least quantity, pack, stock (-1 = enough)
PRICES: tuple[Price, ...] = (
    ("battery", "north", 80_000, 1, 1, -1),
    ("converter", "north", 100_000, 1, 1, -1),
    ("panel", "north", 10_000, 1, 1, -1),
    ("rack", "north", 2_000, 1, 1, -1),
)


def catalog(
    *,
    panels: tuple[Mapping[str, Any], ...] = (PANEL,),
    converters: tuple[Mapping[str, Any], ...] = (CONVERTER,),
    batteries: tuple[Mapping[str, Any], ...] = (BATTERY,),
    racks: tuple[Mapping[str, Any], ...] = (RACK,),
    extras: tuple[Mapping[str, Any], ...] = (),
    tanks: tuple[Mapping[str, Any], ...] = (),
    prices: tuple[Price, ...] = PRICES,
    freight: Mapping[str, int] | None = None,
) -> Catalog:
    """A catalogue of these parts and prices; freight in cents, 95.00 for the seller "north" unless said."""
    kinds = {
        "panel": panels, "converter": converters, "battery": batteries, "rack": racks, "extra": extras,
        "starter": (), "tank": tanks,
    }  # fmt: skip
    rows = sorted(prices, key=lambda p: (p[0], p[1], p[3], p[2]))
    part, seller = (np.array([row[i] for row in rows], dtype=object) for i in (0, 1))
    cents, min_qty, pack, stock = (np.array([row[i] for row in rows], dtype=np.int64) for i in (2, 3, 4, 5))
    as_of = np.array(["2026-01-01"] * len(rows), dtype=object)
    offers = Offers(part, seller, cents, min_qty, pack, stock, as_of, np.arange(len(rows)) + 2)
    tables = {kind: table(kind, *records) for kind, records in kinds.items()}
    freight = {"north": 9_500} if freight is None else freight
    sellers = {name: Seller(freight=cents) for name, cents in freight.items()}
    return Catalog(Path("parts"), tables, offers, sellers, "USD", False, "sha256:0", ())


def picked(job: Job, catalog: Catalog) -> Bundle:
    """The cheapest bundle."""
    return branch_and_bound.pick(catalog, job, 1).bundles[0]


def best(job: Job, catalog: Catalog) -> tuple[float, ...]:
    """What the search picks: total in cents, panels, rack pieces, whether the auditor passes it; empty if nothing."""
    found = branch_and_bound.pick(catalog, job, 1).bundles
    if not found or found[0].order is None:
        return ()
    pieces = {purchase.part: purchase.needed for purchase in found[0].order.purchases}
    passes = audit.audit(job, found[0], catalog).passes
    return found[0].order.cents, found[0].panels, pieces["rack"], passes
