"""What a row must not contradict: figures of one row that cannot all be right. Each is an error.

Where a figure decides and no source is named, it is common practice, no source, and stands far from what is sold.
"""

from __future__ import annotations

import numpy as np

from catalog.schema import Columns, RowRule

NEARLY = 1 - 1e-9


def _is(columns: Columns, *chemistries: str) -> np.ndarray:
    there: np.ndarray = np.isin(columns["chemistry"].astype(str), chemistries)
    return there


def _volts_per_degree(columns: Columns) -> np.ndarray:
    """No silicon loses less than 0.2 % a degC; what would be a usual loss if it were V is V."""
    stated = columns["voc_pct_per_c"]
    percent = 100 * stated / columns["voc_v"]
    slip: np.ndarray = (stated > -0.20) & (percent >= -0.45) & (percent <= -0.20)
    return slip


def _capacity_in_wh(columns: Columns) -> np.ndarray:
    """Amps that would take over twenty hours to empty it, and would be usual if its capacity were in Wh."""
    a_per_ah = columns["discharge_a"] / columns["capacity_ah"]
    as_wh = a_per_ah * columns["nominal_v"]
    slip: np.ndarray = _is(columns, "lfp", "other") & (a_per_ah < 0.05) & (as_wh >= 0.1) & (as_wh <= 5)
    return slip


def _height_mm(columns: Columns) -> np.ndarray:
    height: np.ndarray = columns["volume_l"] * 1e6 / columns["footprint_mm"] ** 2
    return height


PANEL_RULES = (
    RowRule("volts-per-degree", "voc_pct_per_c in %/degC, not in V/degC", ("voc_pct_per_c", "voc_v"),
            _volts_per_degree),
    RowRule("system-covers-panel", "max_system_v >= voc_v", ("max_system_v", "voc_v"),
            lambda c: c["max_system_v"] < c["voc_v"]),
    RowRule("fuse-covers-current", "max_fuse_a >= isc_a", ("max_fuse_a", "isc_a"),
            lambda c: c["max_fuse_a"] < c["isc_a"]),
    RowRule("rear-share", "bifacial_pct 0, or from 1 to 100", ("bifacial_pct",),
            lambda c: (c["bifacial_pct"] > 0) & (c["bifacial_pct"] < 1)),
    # in full sun, 1000 W/m2, no panel that is sold gives 300
    RowRule("power-of-area", "pmax_w at most 300 W for each m2", ("length_mm", "width_mm", "pmax_w"),
            lambda c: c["pmax_w"] * 1e6 > 300 * c["length_mm"] * c["width_mm"]),
    RowRule("weight-of-area", "weight_kg at most 60 kg for each m2", ("weight_kg", "length_mm", "width_mm"),
            lambda c: c["weight_kg"] * 1e6 > 60 * c["length_mm"] * c["width_mm"]),
)  # fmt: skip

CONVERTER_RULES = (
    RowRule("apparent-covers-real", "continuous_va >= continuous_w", ("continuous_va", "continuous_w"),
            lambda c: c["continuous_va"] < c["continuous_w"] * NEARLY),
    RowRule("surge-within-reason", "surge_va at most 20 x continuous_va", ("surge_va", "continuous_va"),
            lambda c: c["surge_va"] > 20 * c["continuous_va"]),
    RowRule("leg-surge-covers-leg", "leg_surge_va >= leg_va", ("leg_surge_va", "leg_va"),
            lambda c: c["leg_surge_va"] < c["leg_va"] * NEARLY),
    RowRule("leg-surge-within-surge", "leg_surge_va <= surge_va", ("leg_surge_va", "surge_va"),
            lambda c: c["leg_surge_va"] * NEARLY > c["surge_va"]),
    RowRule("leg-not-lost", "leg_va at least a tenth of continuous_va", ("leg_va", "continuous_va"),
            lambda c: c["leg_va"] < 0.1 * c["continuous_va"]),
    RowRule("leg-surge-not-lost", "leg_surge_va at least a tenth of surge_va", ("leg_surge_va", "surge_va"),
            lambda c: c["leg_surge_va"] < 0.1 * c["surge_va"]),
    RowRule("idle-below-continuous", "idle_w < continuous_w", ("idle_w", "continuous_w"),
            lambda c: c["idle_w"] >= c["continuous_w"]),
    # no chemistry's nominal volts are a tenth above their class
    RowRule("bank-holds-class", "bank_class_v within bank_min_v and bank_max_v",
            ("bank_class_v", "bank_min_v", "bank_max_v"),
            lambda c: (c["bank_min_v"] > 1.1 * c["bank_class_v"]) | (c["bank_max_v"] < c["bank_class_v"])),
    RowRule("charge-within-reason", "charge_a x bank_class_v at most 20 x continuous_w",
            ("charge_a", "bank_class_v", "continuous_w"),
            lambda c: c["charge_a"] * c["bank_class_v"] > 20 * c["continuous_w"]),
    RowRule("tracker-wakes", "tracker_start_v <= tracker_top_v", ("tracker_start_v", "tracker_top_v"),
            lambda c: c["tracker_start_v"] > c["tracker_top_v"]),
    RowRule("tracker-amps", "tracker_usable_a <= tracker_isc_a", ("tracker_usable_a", "tracker_isc_a"),
            lambda c: c["tracker_usable_a"] > c["tracker_isc_a"]),
    RowRule("tracker-watts", "tracker_usable_w <= tracker_max_w", ("tracker_usable_w", "tracker_max_w"),
            lambda c: c["tracker_usable_w"] > c["tracker_max_w"]),
    RowRule("array-not-lost", "array_max_w at least a tenth of tracker_max_w", ("array_max_w", "tracker_max_w"),
            lambda c: c["array_max_w"] < 0.1 * c["tracker_max_w"]),
    RowRule("array-use-not-lost", "array_usable_w at least a tenth of tracker_usable_w",
            ("array_usable_w", "tracker_usable_w"), lambda c: c["array_usable_w"] < 0.1 * c["tracker_usable_w"]),
)  # fmt: skip

BATTERY_RULES = (
    RowRule("nominal-of-class", "nominal_v from 0.8 to 1.3 x class_v", ("nominal_v", "class_v"),
            lambda c: (c["nominal_v"] < 0.8 * c["class_v"]) | (c["nominal_v"] > 1.3 * c["class_v"])),
    RowRule("minimum-within-reason", "min_v at least half of nominal_v", ("min_v", "nominal_v"),
            lambda c: c["min_v"] < 0.5 * c["nominal_v"]),
    RowRule("charge-volts-within-reason", "charge_v at most 1.6 x nominal_v", ("charge_v", "nominal_v"),
            lambda c: c["charge_v"] > 1.6 * c["nominal_v"]),
    RowRule("daily-within-usable", "daily_pct <= usable_pct", ("daily_pct", "usable_pct"),
            lambda c: c["daily_pct"] > c["usable_pct"], ("daily_pct",)),
    RowRule("charge-covers-minimum", "charge_min_a <= charge_a", ("charge_min_a", "charge_a"),
            lambda c: c["charge_min_a"] > c["charge_a"], ("charge_min_a",)),
    RowRule("watt-hours", "capacity_ah in Ah, not in Wh", ("capacity_ah", "discharge_a", "nominal_v"),
            _capacity_in_wh),
    RowRule("discharge-within-reason", "discharge_a at most 20 A for each Ah", ("discharge_a", "capacity_ah"),
            lambda c: c["discharge_a"] > 20 * c["capacity_ah"]),
    RowRule("charge-amps-within-reason", "charge_a at most 10 A for each Ah", ("charge_a", "capacity_ah"),
            lambda c: c["charge_a"] > 10 * c["capacity_ah"]),
    # empty is not stated; none at all would prove that the bank never sags
    RowRule("some-resistance", "r_mohm above 0", ("r_mohm",), lambda c: c["r_mohm"] <= 0),
    RowRule("resistance-within-reason", "discharge_a x r_mohm below nominal_v",
            ("r_mohm", "discharge_a", "nominal_v"),
            lambda c: c["discharge_a"] * c["r_mohm"] >= 1000 * c["nominal_v"]),
    RowRule("frost", "coldest_charge_c of lfp at least -40 degC", ("coldest_charge_c",),
            lambda c: _is(c, "lfp") & (c["coldest_charge_c"] < -40)),
)  # fmt: skip

TANK_RULES = (
    RowRule("tank-height", "volume_l on footprint_mm stands 10 mm to 50 m high", ("footprint_mm", "volume_l"),
            lambda c: (_height_mm(c) < 10) | (_height_mm(c) > 50e3)),
)  # fmt: skip
