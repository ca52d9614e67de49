"""The one dictionary of the catalogue: every table and column, its unit, meaning, range, default, and the row rules.

The reader, the printed column list, the Data Package descriptor, the row types and models are made from it. This is
a table of facts more than a module, hence its length.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from catalog.row_rules import BATTERY_RULES, CONVERTER_RULES, PANEL_RULES, TANK_RULES
from catalog.schema import INF, Column, Columns, Default, RowRule, TableSpec, number, value, whole

PART = Column("part", "part", "", "the part's id, unique across all files", required=True)
LISTED = Column("listed", "yes-no", "", "yes where a recognised laboratory lists the part; empty counts as no")
NOTE = Column("note", "text", "", "anything else")
WEIGHT = number("weight_kg", "kg", "weight of one", "[0,20000]")
MOUNTS = ("ground-ballast", "ground-post", "roof", "pole")
CHEMISTRIES = ("lfp", "agm", "gel", "flooded", "other")
LEAD_ACID = ("agm", "gel", "flooded")
ROOF_HEAT_C = 15.0  # of close-mounted panels' cells over those in the open (open weather files: 5 to 19 over a year)
MOTORS = ("two-wire", "three-wire", "psc", "three-phase")
STARTERS_OF = ("soft", "tap", "drive", "resistor", "star-delta")


def _by(
    column: str, *cases: tuple[tuple[str, ...], float | str], other: float | str
) -> Callable[[Columns], np.ndarray]:
    """A default that goes by the text of ``column``: of each case the texts and what is then taken, a figure or a
    column's name; ``other`` for the rest."""

    def figure(what: float | str, columns: Columns) -> float | np.ndarray:
        return columns[what] if isinstance(what, str) else what

    def fill(columns: Columns) -> np.ndarray:
        texts = columns[column].astype(str)
        filled = np.broadcast_to(figure(other, columns), texts.shape)
        for named, what in cases:
            filled = np.where(np.isin(texts, named), figure(what, columns), filled)
        return filled

    return fill


def _kind(columns: Columns, *kinds: str) -> np.ndarray:
    """Where a starter is of one of these kinds."""
    there: np.ndarray = np.isin(columns["kind"].astype(str), kinds)
    return there


def _start_volts_pct(columns: Columns) -> np.ndarray:
    """Volts that a starter leaves the motor while its amps peak, % of the supply's: a soft starter and a resistor as
    much as of the amps, an autotransformer by its tap, star-delta a phase in place of a line (makers' handbooks, from
    memory). Not a number for a drive: it raises volts with hertz."""
    factor = columns["start_factor"]
    share = np.where(_kind(columns, "tap"), np.sqrt(factor), factor)
    share = np.where(_kind(columns, "star-delta"), np.sqrt(1 / 3), share)
    percent: np.ndarray = 100 * np.where(_kind(columns, "drive"), np.nan, share)
    return percent


def _drive_power_factor(columns: Columns) -> np.ndarray:
    """Power factor at which a drive draws from the supply; of any other starter the motor's counts."""
    drive = np.where(columns["phases_in"] == 1, 0.65, 0.90)
    factor: np.ndarray = np.where(_kind(columns, "drive"), drive, 1.0)
    return factor


PANELS = TableSpec("panel", "panels.csv", "solar panels; all electrical figures at standard test conditions", True, (
    PART,
    number("pmax_w", "W", "rated power", "(0,2000]", need=True),
    number("voc_v", "V", "open-circuit voltage", "(0,500]", need=True),
    number("vmp_v", "V", "voltage at maximum power", "(0,500]", need=True),
    number("isc_a", "A", "short-circuit current", "(0,100]", need=True),
    number("imp_a", "A", "current at maximum power", "(0,100]", need=True),
    number("voc_pct_per_c", "%/degC", "change of voc with cell temperature; negative", "[-0.6,-0.05]"),
    number("pmax_pct_per_c", "%/degC", "change of power with cell temperature; negative", "[-0.6,-0.05]", need=True),
    number("vmp_pct_per_c", "%/degC", "change of vmp with cell temperature; negative", "[-0.7,-0.05]",
           default=Default("pmax_pct_per_c - 0.05", lambda c: c["pmax_pct_per_c"] - 0.05, ("pmax_pct_per_c",))),
    number("noct_c", "degC", "nominal operating cell temperature", "[20,90]", default=value(45.0)),
    number("bifacial_pct", "%", "power of the rear side as a share of the front", "[0,100]", default=value(0.0)),
    number("length_mm", "mm", "length", "[100,6000]", need=True),
    number("width_mm", "mm", "width", "[50,6000]", need=True),
    number("weight_kg", "kg", "weight of one", "(0,300]", need=True),
    number("max_system_v", "V", "highest system voltage it may stand in", "(0,3000]", need=True),
    number("max_fuse_a", "A", "largest series fuse", "(0,200]", need=True),
    LISTED, NOTE,
), (
    RowRule("vmp-below-voc", "vmp_v < voc_v", ("vmp_v", "voc_v"), lambda c: c["vmp_v"] >= c["voc_v"]),
    RowRule("imp-below-isc", "imp_a < isc_a", ("imp_a", "isc_a"), lambda c: c["imp_a"] >= c["isc_a"]),
    RowRule("power-is-vmp-times-imp", "pmax_w within 5 % of vmp_v x imp_a", ("pmax_w", "vmp_v", "imp_a"),
            lambda c: np.abs(c["pmax_w"] - c["vmp_v"] * c["imp_a"]) > 0.05 * c["vmp_v"] * c["imp_a"] * (1 + 1e-9)),
    RowRule("fill-factor", "0.60 <= vmp_v x imp_a / (voc_v x isc_a) <= 0.88", ("voc_v", "isc_a", "vmp_v", "imp_a"),
            lambda c: (c["vmp_v"] * c["imp_a"] < 0.60 * c["voc_v"] * c["isc_a"] * (1 - 1e-9))
            | (c["vmp_v"] * c["imp_a"] > 0.88 * c["voc_v"] * c["isc_a"] * (1 + 1e-9))),
    *PANEL_RULES,
))  # fmt: skip

_UNITS = "units that together make this supply; empty = it cannot"
CONVERTERS = TableSpec("converter", "converters.csv", "converters with charger; all electrical figures of one", True, (
    PART,
    number("continuous_w", "W", "power it gives without end", "[20,1e6]", need=True),
    number("continuous_va", "VA", "apparent power it gives without end", "[20,1e6]",
           default=Default("continuous_w", lambda c: c["continuous_w"], ("continuous_w",))),
    number("surge_va", "VA", "apparent power it gives for surge_s", "[20,1e7]", need=True),
    number("surge_s", "s", "how long it gives surge_va", "(0,3600]", need=True),
    number("leg_va", "VA", "apparent power of one leg without end", "(0,1e6]",
           default=Default("half of continuous_va", lambda c: c["continuous_va"] / 2, ("continuous_va",))),
    number("leg_surge_va", "VA", "apparent power of one leg for surge_s", "(0,1e7]",
           default=Default("half of surge_va", lambda c: c["surge_va"] / 2, ("surge_va",))),
    number("efficiency_pct", "%", "efficiency at half to full load, not the peak", "[50,100]", need=True),
    number("idle_w", "W", "own draw when nothing runs", "[0,10000]", need=True),
    Column("hz", "list", "Hz", "frequencies it makes, with ; between; empty = not stated", choices=("50", "60")),
    number("bank_class_v", "V", "bank class", "(0,1000]", need=True, choices=("12", "24", "48")),
    number("bank_min_v", "V", "lowest bank voltage", "(0,1000]", need=True),
    number("bank_max_v", "V", "highest bank voltage", "(0,1000]", need=True),
    number("charge_a", "A", "most amps into the bank from all sources", "[0,10000]", need=True),
    Column("charge_settable", "yes-no", "", "yes where the charging amps can be set lower", required=True),
    whole("trackers", "", "solar trackers", "[1,100]", need=True),
    number("tracker_max_v", "V", "highest voltage a tracker survives", "(0,3000]", need=True),
    number("tracker_min_v", "V", "lowest voltage a tracker works at", "(0,3000]", need=True),
    number("tracker_top_v", "V", "highest voltage a tracker works at", "(0,3000]", need=True),
    number("tracker_start_v", "V", "voltage at which a tracker wakes", "(0,3000]",
           default=Default("tracker_min_v", lambda c: c["tracker_min_v"], ("tracker_min_v",))),
    number("tracker_usable_a", "A", "most amps a tracker makes use of", "(0,10000]", need=True),
    number("tracker_isc_a", "A", "most short-circuit amps a tracker may be offered", "(0,10000]", need=True),
    number("tracker_max_w", "W", "most panel power on a tracker", "[10,1e7]", need=True),
    number("tracker_usable_w", "W", "most power a tracker gives", "[10,1e7]", need=True),
    whole("tracker_strings", "", "most strings on a tracker", "[1,1000]", default=value(INF)),
    number("array_max_w", "W", "most panel power on one converter", "(0,1e8]",
           default=Default("trackers x tracker_max_w", lambda c: c["trackers"] * c["tracker_max_w"],
                           ("trackers", "tracker_max_w"))),
    number("array_usable_w", "W", "most solar power of one converter", "(0,1e8]",
           default=Default("trackers x tracker_usable_w", lambda c: c["trackers"] * c["tracker_usable_w"],
                           ("trackers", "tracker_usable_w"))),
    whole("max_units", "", "most units side by side", "[1,1000]", need=True),
    whole("units_120", "", f"120 V: {_UNITS}", "[1,1000]"),
    whole("units_120_240", "", f"120/240 V: {_UNITS}", "[1,1000]"),
    whole("units_230", "", f"230 V: {_UNITS}", "[1,1000]"),
    LISTED, WEIGHT, NOTE,
), (
    RowRule("tracker-window", "tracker_min_v < tracker_top_v", ("tracker_min_v", "tracker_top_v"),
            lambda c: c["tracker_min_v"] >= c["tracker_top_v"]),
    RowRule("tracker-top", "tracker_top_v <= tracker_max_v", ("tracker_top_v", "tracker_max_v"),
            lambda c: c["tracker_top_v"] > c["tracker_max_v"]),
    RowRule("surge-covers-continuous", "surge_va >= continuous_va", ("surge_va", "continuous_va"),
            lambda c: c["surge_va"] < c["continuous_va"]),
    RowRule("leg-within-continuous", "leg_va <= continuous_va", ("leg_va", "continuous_va"),
            lambda c: c["leg_va"] > c["continuous_va"]),
    RowRule("bank-range", "bank_min_v < bank_max_v", ("bank_min_v", "bank_max_v"),
            lambda c: c["bank_min_v"] >= c["bank_max_v"]),
    *CONVERTER_RULES,
))  # fmt: skip

BATTERIES = TableSpec("battery", "batteries.csv", "batteries; all figures of one", True, (
    PART,
    Column("chemistry", "choice", "", "chemistry", required=True, choices=CHEMISTRIES),
    number("class_v", "V", "voltage class", "(0,1000]", need=True, choices=("2", "6", "12", "24", "48")),
    number("nominal_v", "V", "nominal voltage", "(0,1000]", need=True),
    number("min_v", "V", "lowest voltage in use", "(0,1000]", need=True),
    number("charge_v", "V", "highest voltage it is ever charged to, equalising included", "(0,1000]", need=True),
    number("capacity_ah", "Ah", "capacity", "(0,100000]", need=True),
    number("usable_pct", "%", "deepest discharge as a share of capacity", "[5,100]", need=True),
    number("aged_pct", "%", "capacity left at the end of its life", "[5,100]", default=value(80.0)),
    number("daily_pct", "%", "deepest discharge of an ordinary night", "[1,100]",
           default=Default("usable_pct for lfp and other, 25 for agm, gel and flooded",
                           _by("chemistry", (LEAD_ACID, 25.0), other="usable_pct"), ("chemistry", "usable_pct"))),
    number("capacity_pct_per_c", "%/degC", "capacity lost for each degC below 25", "[0,5]",
           default=Default("0.5 for lfp, 1.2 for agm, gel and flooded, 1.0 for others",
                           _by("chemistry", (("lfp",), 0.5), (LEAD_ACID, 1.2), other=1.0), ("chemistry",))),
    number("round_trip_pct", "%", "energy out for energy in", "[30,100]", need=True),
    number("discharge_a", "A", "most amps out without end", "(0,100000]", need=True),
    number("peak_a", "A", "most amps out for peak_s", "(0,100000]", need=True),
    number("peak_s", "s", "how long it gives peak_a", "(0,3600]", need=True),
    number("charge_a", "A", "most amps in", "(0,100000]", need=True),
    number("charge_min_a", "A", "least amps in that mix its acid", "[0,100000]",
           default=Default("0.05 x capacity_ah for agm, gel and flooded, else 0",
                           lambda c: _by("chemistry", (LEAD_ACID, 1.0), other=0.0)(c) * 0.05 * c["capacity_ah"],
                           ("chemistry", "capacity_ah"))),
    number("r_mohm", "mohm", "inner resistance, new and at 25 degC", "[0,10000]"),
    number("short_circuit_a", "A", "short-circuit amps that it can give", "(0,1e6]"),
    whole("max_series", "", "most in series", "[1,1000]", need=True),
    whole("max_parallel", "", "most strings in parallel", "[1,1000]", need=True),
    number("coldest_charge_c", "degC", "coldest at which it may be charged", "[-80,60]", need=True),
    number("coldest_discharge_c", "degC", "coldest at which it may be discharged", "[-80,60]",
           default=Default("-40 for agm, gel and flooded, -20 for others",
                           _by("chemistry", (LEAD_ACID, -40.0), other=-20.0), ("chemistry",))),
    number("hottest_charge_c", "degC", "hottest at which it may be charged", "[-20,120]", default=value(50.0)),
    number("hottest_discharge_c", "degC", "hottest at which it may be discharged", "[-20,120]",
           default=Default("55 for lfp, 50 for others", _by("chemistry", (("lfp",), 55.0), other=50.0),
                           ("chemistry",))),
    LISTED, WEIGHT, NOTE,
), (
    RowRule("minimum-below-nominal", "min_v < nominal_v", ("min_v", "nominal_v"),
            lambda c: c["min_v"] >= c["nominal_v"]),
    RowRule("nominal-below-charge", "nominal_v < charge_v", ("charge_v", "nominal_v"),
            lambda c: c["nominal_v"] >= c["charge_v"]),
    RowRule("peak-covers-discharge", "peak_a >= discharge_a", ("peak_a", "discharge_a"),
            lambda c: c["peak_a"] < c["discharge_a"]),
    *BATTERY_RULES,
))  # fmt: skip

RACKS = TableSpec("rack", "racks.csv", "racks; one unit of each", True, (
    PART,
    Column("mount", "choice", "", "what it stands on", required=True, choices=MOUNTS),
    number("max_width_mm", "mm", "widest panel", "[50,10000]", need=True),
    number("max_length_mm", "mm", "longest panel", "[100,10000]", need=True),
    number("max_panel_kg", "kg", "heaviest panel", "(0,1000]", need=True),
    number("per_panel", "", "units for each panel", "[0,100]", need=True),
    number("per_row", "", "units for each row besides", "[0,1000]", need=True),
    whole("max_row", "", "most panels in a row", "[1,10000]", need=True),
    number("ballast_kg", "kg", "ballast of one unit", "[0,20000]", default=value(0.0)),
    number("heat_c", "degC", "by how much its panels' cells are hotter than in the open", "[0,60]",
           default=Default("15 for roof, 0 for others", lambda c: np.where(c["mount"] == "roof", ROOF_HEAT_C, 0.0),
                           ("mount",))),
    LISTED, WEIGHT, NOTE,
), (
    RowRule("rack-counts", "per_panel and per_row not both 0", ("per_panel", "per_row"),
            lambda c: (c["per_panel"] == 0) & (c["per_row"] == 0)),
))  # fmt: skip

EXTRAS = TableSpec("extra", "extras.csv", "cable, fuses and what else is counted by rule", False, (
    PART,
    Column("per", "choice", "", "what it is counted by", required=True,
           choices=("system", "converter", "battery", "bank-string", "string", "panel", "row")),
    number("quantity", "", "pieces for each; the total is rounded up", "(0,100000]", need=True),
    Column("when", "choice", "", "when it is needed", default=value("always"),
           choices=("always", "fused", "stacked", "paralleled-bank")),
    WEIGHT, NOTE,
))  # fmt: skip

STARTERS = TableSpec("starter", "starters.csv", "starters that soften the start of a motor", False, (
    PART,
    Column("kind", "choice", "", "kind of starter", required=True, choices=STARTERS_OF),
    number("phases_in", "", "phases of the supply it stands on", "[1,3]", need=True, choices=("1", "3")),
    number("makes_phases", "", "phases it makes for the motor", "[1,3]", choices=("1", "3"),
           default=Default("phases_in", lambda c: c["phases_in"], ("phases_in",))),
    number("running_a", "A", "most running amps", "(0,10000]", need=True),
    number("start_factor", "", "share of the direct starting amps left; of a drive it is not used", "(0,1]"),
    number("start_volts_pct", "%", "volts that the motor has while its amps peak, of the supply's", "(0,100]",
           default=Default("100 x start_factor for soft and resistor, its square root for tap, 57.7 for star-delta; "
                           "of a drive not judged", _start_volts_pct, ("kind", "start_factor"))),
    number("floor_x", "", "never less than this multiple of the running amps", "[0,20]", need=True),
    number("ramp_s", "s", "length of its ramp", "(0,600]", default=value(3.0)),
    number("efficiency_pct", "%", "efficiency of a drive; other kinds lose nothing", "[50,100]",
           default=Default("95 for a drive, 100 for others", _by("kind", (("drive",), 95.0), other=100.0), ("kind",))),
    number("input_power_factor", "", "power factor at which a drive draws from the supply", "[0.3,1]",
           default=Default("of a drive 0.65 on one phase, 0.9 on three", _drive_power_factor, ("kind", "phases_in"))),
    Column("motors", "list", "", "motor kinds it may start, with ; between", required=True, choices=MOTORS),
    number("volts_min", "V", "lowest load voltage", "(0,1000]"),
    number("volts_max", "V", "highest load voltage", "(0,1000]"),
    LISTED, WEIGHT, NOTE,
), (
    RowRule("starter-volts", "volts_min <= volts_max", ("volts_min", "volts_max"),
            lambda c: c["volts_min"] > c["volts_max"]),
    RowRule("start-factor-stated", "start_factor stated, but of a drive", ("start_factor",),
            lambda c: np.isnan(c["start_factor"]) & ~_kind(c, "drive", "")),
    RowRule("drive-floor", "floor_x of a drive at least 1", ("floor_x",),
            lambda c: _kind(c, "drive") & (c["floor_x"] < 1)),
    RowRule("drive-alone-makes-phases", "makes_phases other than phases_in only of a drive",
            ("makes_phases", "phases_in"),
            lambda c: (c["makes_phases"] != c["phases_in"]) & ~_kind(c, "drive", "") & ~np.isnan(c["makes_phases"])),
    RowRule("drive-alone-loses", "efficiency_pct only of a drive", ("efficiency_pct",),
            lambda c: (c["efficiency_pct"] < 100) & ~_kind(c, "drive", "")),
    RowRule("drive-alone-power-factor", "input_power_factor only of a drive", ("input_power_factor",),
            lambda c: (c["input_power_factor"] < 1) & ~_kind(c, "drive", "")),
    RowRule("star-delta-phases", "phases_in 3 of kind star-delta", ("phases_in",),
            lambda c: _kind(c, "star-delta") & (c["phases_in"] < 3)),
    RowRule("star-delta-motors", "motors three-phase alone of kind star-delta", ("motors",),
            lambda c: _kind(c, "star-delta") & (c["motors"] != "three-phase") & (c["motors"] != "")),
))  # fmt: skip

TANKS = TableSpec("tank", "tanks.csv", "tanks for water storage", False, (
    PART,
    number("volume_l", "L", "volume", "(0,1e8]", need=True),
    number("usable_pct", "%", "share of the volume that can be drawn", "[5,100]", default=value(95.0)),
    number("footprint_mm", "mm", "diameter or longer side of its base", "(0,100000]"),
    WEIGHT,
    NOTE,
), TANK_RULES)  # fmt: skip

PRICES = TableSpec("price", "prices.csv", "what sellers ask; price, min_qty and stock count pieces", True, (
    Column("part", "part", "", "the id of a part of this catalogue", required=True),
    Column("seller", "text", "", "who sells it", required=True),
    number("price", "", "price of one piece, at most two decimals", "[0.01,1e8]", need=True, of_type="money"),
    Column("currency", "currency", "", "three-letter code, the same in all rows", required=True),
    whole("min_qty", "", "least quantity of this price", "[1,1e9]", default=value(1.0)),
    whole("pack", "", "sold in multiples of this", "[1,1e9]", default=value(1.0)),
    whole("stock", "", "how many there are", "[0,1e9]", default=Default("enough", lambda c: -1.0)),
    Column("as_of", "date", "", "day of the price, year-month-day", required=True),
))  # fmt: skip

SELLERS = TableSpec("seller", "sellers.csv", "what a seller adds to an order, and from what order on it sells", False, (
    Column("seller", "text", "", "the seller's name as in prices.csv", required=True),
    number("freight", "", "freight of an order, at most two decimals", "[0,1e7]", need=True, of_type="money"),
    number("freight_per_kg", "1/kg", "freight for each kg of what is bought, besides", "[0,1e6]", default=value(0.0)),
    number("free_over", "", "freight is free for goods of this much or more, at most two decimals", "[0,1e8]",
           of_type="money", default=Default("never free", lambda c: INF)),
    number("min_order", "", "least goods of an order, at most two decimals", "[0,1e8]", of_type="money",
           default=value(0.0)),
    number("tax_pct", "%", "tax on goods and freight, at most four decimals", "[0,100]", default=value(0.0),
           decimals=4),
))  # fmt: skip

PART_TABLES = (PANELS, CONVERTERS, BATTERIES, RACKS, EXTRAS, STARTERS, TANKS)
TABLES: Mapping[str, TableSpec] = {spec.kind: spec for spec in (*PART_TABLES, PRICES, SELLERS)}
