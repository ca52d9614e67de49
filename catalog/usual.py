"""The usual spans of the catalogue's figures: what is sold lies within; beyond is a warning, no error.

All spans are common practice, no source: wide enough for what is sold, narrow enough for a unit or a point gone wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass

import numpy as np

from catalog.schema import INF, Columns


@dataclass(frozen=True)
class Usual:
    """A span in which a figure of a row usually lies.

    ``figure`` works it out from ``columns``, NaN where there is nothing to judge; ``mend`` says more than to check it.
    A warning is placed at the first column, and only where that one is stated.
    """

    words: str
    unit: str
    columns: tuple[str, ...]
    low: float
    high: float
    figure: Callable[[Columns], np.ndarray]
    mend: str = "Check it against the data sheet"

    def outside(self, columns: Columns) -> np.ndarray:
        """Where the figure lies outside; not where it is NaN."""
        figures = self.figures(columns)
        beyond: np.ndarray = (figures < self.low) | (figures > self.high)
        return beyond

    def figures(self, columns: Columns) -> np.ndarray:
        """The figure of each row."""
        with np.errstate(all="ignore"):
            return self.figure(columns)

    @property
    def span(self) -> str:
        """The span in words."""
        return span_text(self.low, self.high, self.unit)


def span_text(low: float, high: float, unit: str) -> str:
    """A span in words, such as "2 to 60 s"; ``high`` may be infinite."""
    unit = f" {unit}" if unit else ""
    return f"at least {low:g}{unit}" if high == INF else f"{low:g} to {high:g}{unit}"


LEAD_ACID = ("agm", "gel", "flooded")


def _plain(name: str, unit: str, low: float, high: float) -> Usual:
    return Usual(name, unit, (name,), low, high, lambda c: c[name])


def _above_0(name: str, unit: str, low: float, high: float) -> Usual:
    """A figure of which 0 has a meaning of its own."""
    return Usual(name, unit, (name,), low, high, lambda c: np.where(c[name] == 0, np.nan, c[name]))


def _by(figure: str, of: str, words: str, unit: str, low: float, high: float, factor: float = 1.0) -> Usual:
    """One column for each unit of another."""
    return Usual(words, unit, (figure, of), low, high, lambda c: factor * c[figure] / _not_0(c[of]))


def _not_0(figures: np.ndarray) -> np.ndarray:
    stated: np.ndarray = np.where(figures == 0, np.nan, figures)
    return stated


def _only(name: str, unit: str, chemistries: tuple[str, ...], low: float, high: float) -> Usual:
    """A column of batteries of some chemistries."""
    words = f"{name} of {', '.join(chemistries)}"
    return Usual(words, unit, (name, "chemistry"), low, high, lambda c: _of_chemistry(c, chemistries, c[name]))


def _of_chemistry(columns: Columns, chemistries: tuple[str, ...], figures: np.ndarray) -> np.ndarray:
    there = np.isin(columns["chemistry"].astype(str), chemistries)
    of_these: np.ndarray = np.where(there, figures, np.nan)
    return of_these


def _density(chemistries: tuple[str, ...], low: float, high: float) -> Usual:
    words = f"nominal_v x capacity_ah / weight_kg of {', '.join(chemistries)}"
    return Usual(
        words, "Wh/kg", ("capacity_ah", "nominal_v", "weight_kg"), low, high,
        lambda c: _of_chemistry(c, chemistries, c["nominal_v"] * c["capacity_ah"] / _not_0(c["weight_kg"])),
    )  # fmt: skip


def _unheated(columns: Columns) -> np.ndarray:
    """Where lfp may be charged in frost and no note says that it warms itself: how cold; NaN elsewhere."""
    warm = np.array(["warm" in note or "heat" in note for note in columns["note"]], dtype=bool)
    return _of_chemistry(columns, ("lfp",), np.where(warm, np.nan, columns["coldest_charge_c"]))


def _surge_of_double(columns: Columns) -> np.ndarray:
    """How long a surge lasts that is near twice the rating or more."""
    long: np.ndarray = np.where(columns["surge_va"] >= 1.8 * columns["continuous_va"], columns["surge_s"], np.nan)
    return long


PANELS = (
    _plain("pmax_w", "W", 5, 800),
    _plain("voc_v", "V", 5, 120),
    _plain("isc_a", "A", 0.3, 25),
    _plain("voc_pct_per_c", "%/degC", -0.45, -0.20),
    _plain("pmax_pct_per_c", "%/degC", -0.50, -0.20),
    _plain("vmp_pct_per_c", "%/degC", -0.55, -0.22),
    _by("voc_pct_per_c", "pmax_pct_per_c", "voc_pct_per_c as a share of pmax_pct_per_c", "", 0.5, 1.05),
    _plain("noct_c", "degC", 40, 55),
    _above_0("bifacial_pct", "%", 40, 100),
    _plain("length_mm", "mm", 200, 2700),
    _plain("width_mm", "mm", 150, 1500),
    _by("length_mm", "width_mm", "length_mm by width_mm", "", 0.95, 5),
    _plain("weight_kg", "kg", 0.4, 45),
    Usual("pmax_w by length_mm x width_mm", "W/m2", ("pmax_w", "length_mm", "width_mm"), 60, 250,
          lambda c: c["pmax_w"] / (c["length_mm"] * c["width_mm"]) * 1e6),
    Usual("weight_kg by length_mm x width_mm", "kg/m2", ("weight_kg", "length_mm", "width_mm"), 1.5, 20,
          lambda c: c["weight_kg"] / (c["length_mm"] * c["width_mm"]) * 1e6),
    _plain("max_system_v", "V", 50, 1500),
    _by("max_fuse_a", "isc_a", "max_fuse_a by isc_a", "", 1.25, 5),
)  # fmt: skip

CONVERTERS = (
    _plain("continuous_w", "W", 150, 30000),
    _by("continuous_w", "continuous_va", "continuous_w by continuous_va", "W/VA", 0.7, 1),
    _by("surge_va", "continuous_va", "surge_va by continuous_va", "", 1, 5),
    _plain("surge_s", "s", 0.01, 60),
    Usual("surge_s of a surge near twice the rating or more", "s", ("surge_s", "surge_va", "continuous_va"), 0.01, 15,
          _surge_of_double),
    _by("leg_va", "continuous_va", "leg_va by continuous_va", "", 0.3, 1),
    _by("leg_surge_va", "surge_va", "leg_surge_va by surge_va", "", 0.3, 1),
    _plain("efficiency_pct", "%", 80, 99),
    _by("idle_w", "continuous_w", "idle_w by continuous_w", "%", 0.1, 5, 100.0),
    _by("bank_min_v", "bank_class_v", "bank_min_v by bank_class_v", "", 0.75, 1),
    _by("bank_max_v", "bank_class_v", "bank_max_v by bank_class_v", "", 1.15, 1.45),
    Usual("charge_a x bank_class_v by continuous_w", "", ("charge_a", "bank_class_v", "continuous_w"), 0.1, 2.5,
          lambda c: c["charge_a"] * c["bank_class_v"] / c["continuous_w"]),
    _plain("trackers", "", 1, 12),
    _plain("tracker_max_v", "V", 15, 1500),
    _by("tracker_start_v", "tracker_min_v", "tracker_start_v by tracker_min_v", "", 0.6, 2),
    _by("tracker_top_v", "tracker_min_v", "tracker_top_v by tracker_min_v", "", 1.3, 20),
    _plain("tracker_usable_a", "A", 3, 200),
    _by("tracker_isc_a", "tracker_usable_a", "tracker_isc_a by tracker_usable_a", "", 1, 2.5),
    Usual("tracker_usable_w by tracker_top_v x tracker_usable_a", "",
          ("tracker_usable_w", "tracker_top_v", "tracker_usable_a"), 0.05, 1.2,
          lambda c: c["tracker_usable_w"] / (c["tracker_top_v"] * c["tracker_usable_a"])),
    _by("tracker_max_w", "tracker_usable_w", "tracker_max_w by tracker_usable_w", "", 1, 3),
    _plain("tracker_strings", "", 1, 20),
    Usual("array_max_w by trackers x tracker_max_w", "", ("array_max_w", "trackers", "tracker_max_w"), 0.3, 1,
          lambda c: c["array_max_w"] / (c["trackers"] * c["tracker_max_w"])),
    Usual("array_usable_w by trackers x tracker_usable_w", "",
          ("array_usable_w", "trackers", "tracker_usable_w"), 0.3, 1,
          lambda c: c["array_usable_w"] / (c["trackers"] * c["tracker_usable_w"])),
    _plain("max_units", "", 1, 20),
    *(_by("max_units", units, f"max_units by {units}", "", 1, INF) for units in
      ("units_120", "units_120_240", "units_230")),
    _by("continuous_w", "weight_kg", "continuous_w by weight_kg", "W/kg", 30, 700),
)  # fmt: skip

BATTERIES = (
    _plain("capacity_ah", "Ah", 4, 4000),
    _by("nominal_v", "class_v", "nominal_v by class_v", "", 0.95, 1.1),
    _by("min_v", "nominal_v", "min_v by nominal_v", "", 0.75, 0.95),
    _by("charge_v", "nominal_v", "charge_v by nominal_v", "", 1.05, 1.35),
    _only("usable_pct", "%", LEAD_ACID, 20, 80),
    _only("usable_pct", "%", ("lfp", "other"), 50, 100),
    _plain("aged_pct", "%", 50, 95),
    _plain("daily_pct", "%", 10, 100),
    _above_0("capacity_pct_per_c", "%/degC", 0.1, 2),
    _only("round_trip_pct", "%", LEAD_ACID, 65, 92),
    _only("round_trip_pct", "%", ("lfp",), 88, 99),
    _only("round_trip_pct", "%", ("other",), 70, 99),
    _by("discharge_a", "capacity_ah", "discharge_a by capacity_ah", "A/Ah", 0.05, 5),
    _by("peak_a", "capacity_ah", "peak_a by capacity_ah", "A/Ah", 0.05, 12),
    _by("peak_a", "discharge_a", "peak_a by discharge_a", "", 1, 12),
    _plain("peak_s", "s", 0.5, 60),
    _by("charge_a", "capacity_ah", "charge_a by capacity_ah", "A/Ah", 0.03, 2),
    Usual("charge_min_a by capacity_ah", "A/Ah", ("charge_min_a", "capacity_ah"), 0.005, 0.2,
          lambda c: _not_0(c["charge_min_a"]) / c["capacity_ah"]),
    Usual("discharge_a x r_mohm by nominal_v", "%", ("r_mohm", "discharge_a", "nominal_v"), 0.2, 25,
          lambda c: 0.1 * c["r_mohm"] * c["discharge_a"] / c["nominal_v"]),
    Usual("short_circuit_a by peak_a", "", ("short_circuit_a", "peak_a"), 1, 100,
          lambda c: c["short_circuit_a"] / c["peak_a"]),
    Usual("max_series x class_v", "V", ("max_series", "class_v"), 2, 120, lambda c: c["max_series"] * c["class_v"]),
    _plain("max_parallel", "", 1, 32),
    _plain("coldest_charge_c", "degC", -35, 10),
    Usual("coldest_charge_c of lfp that does not warm itself", "degC", ("coldest_charge_c", "chemistry", "note"), 0,
          INF, _unheated,
          "Frost ruins lfp cells that are charged: write 0, or say in its note that it warms itself"),
    _plain("coldest_discharge_c", "degC", -50, 10),
    Usual("coldest_charge_c above coldest_discharge_c", "degC", ("coldest_discharge_c", "coldest_charge_c"), 0, INF,
          lambda c: c["coldest_charge_c"] - c["coldest_discharge_c"]),
    _plain("hottest_charge_c", "degC", 35, 65),
    _plain("hottest_discharge_c", "degC", 40, 75),
    _density(LEAD_ACID, 20, 60),
    _density(("lfp",), 60, 200),
    _density(("other",), 30, 300),
)  # fmt: skip

RACKS = (
    _plain("max_width_mm", "mm", 300, 2500),
    _plain("max_length_mm", "mm", 300, 3000),
    _by("max_length_mm", "max_width_mm", "max_length_mm by max_width_mm", "", 0.95, 5),
    _plain("max_panel_kg", "kg", 3, 60),
    _plain("per_panel", "", 0, 6),
    _plain("per_row", "", 0, 20),
    _plain("max_row", "", 1, 60),
    _above_0("ballast_kg", "kg", 5, 500),
    _plain("heat_c", "degC", 0, 25),
    _plain("weight_kg", "kg", 0.2, 500),
)

EXTRAS = (_plain("quantity", "", 0.05, 100), _plain("weight_kg", "kg", 0.001, 100))

STARTERS = (
    _plain("running_a", "A", 1, 200),
    _plain("start_factor", "", 0.08, 0.95),
    _plain("start_volts_pct", "%", 30, 100),
    _plain("floor_x", "", 0.8, 6),
    _plain("ramp_s", "s", 0.1, 60),
    _plain("efficiency_pct", "%", 85, 100),
    _plain("volts_min", "V", 85, 600),
    _plain("volts_max", "V", 100, 700),
    _by("volts_max", "volts_min", "volts_max by volts_min", "", 1, 5),
    _plain("weight_kg", "kg", 0.05, 200),
)

TANKS = (
    _plain("volume_l", "L", 50, 200000),
    _plain("usable_pct", "%", 50, 100),
    _plain("footprint_mm", "mm", 300, 12000),
    Usual("height of volume_l on footprint_mm", "mm", ("volume_l", "footprint_mm"), 150, 6000,
          lambda c: c["volume_l"] * 1e6 / c["footprint_mm"] ** 2),
    _by("weight_kg", "volume_l", "weight_kg by volume_l", "kg/L", 0.002, 0.6),
)  # fmt: skip

PRICES = (_plain("min_qty", "", 1, 1000), _plain("pack", "", 1, 200), _plain("stock", "", 0, 100000))

SELLERS = (
    _above_0("tax_pct", "%", 1, 30),
    _by("free_over", "freight", "free_over by freight", "", 2, INF),
    Usual("free_over less min_order", "", ("free_over", "min_order"), 0, INF,
          lambda c: c["free_over"] - c["min_order"],
          "Freight of every order is free then; check which of the two is meant"),
)  # fmt: skip

USUAL: Mapping[str, tuple[Usual, ...]] = {
    "panel": PANELS, "converter": CONVERTERS, "battery": BATTERIES, "rack": RACKS, "extra": EXTRAS,
    "starter": STARTERS, "tank": TANKS, "price": PRICES, "seller": SELLERS,
}  # fmt: skip


def makes_sense(kind: str, row: Columns, taken: Collection[str], name: str) -> bool:
    """Whether all that is usual of a column holds in one row, by what the row states: ``taken`` are its defaults."""
    return not any(
        each.outside(row).any()
        for each in USUAL[kind]
        if name in each.columns and all(column in row and column not in taken for column in each.columns)
    )


def usual_alone(kind: str, column: str) -> Usual | None:
    """The span of a column for itself."""
    return next((each for each in USUAL[kind] if each.columns == (column,)), None)
