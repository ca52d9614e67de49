"""Each limit's formula in the names of the catalogue and the job, as the limit sheet prints it.

The rule itself is a function of ``optimizer.rules``; this is how it is read out. A test holds the names against the
registry of limits, and the figures of an answer against these formulas.
"""

from __future__ import annotations

from collections.abc import Mapping

_BANK_A = "(efficiency_pct / 100 x lowest_v)"
_COLD_V = "series x voc_v x (1 + voc_pct_per_c / 100 x (coldest - 25))"
_STORED = "night_wh / (round_trip_pct / 100)"

FORMULAS: Mapping[str, str] = {
    "supply-match": "hz of the supply is among hz of the converter",
    "service": "units a multiple of those that make the supply, at most max_units",
    "tracker-count": "trackers in use, at most units x trackers",
    "running-power": "running_w x (1 + running), at most units x continuous_w",
    "running-apparent": "running_va x (1 + running), at most units x continuous_va",
    "starting-surge": "start_va x (1 + starting), at most units x surge_va; x continuous_va where the start outlasts "
                      "surge_s",
    "start-volts": "start_factor x (1 - cable_drop x start_factor), at least 0.55 with a starter; without one "
                   "start_factor is 1, and at least 0.65",
    "leg-balance": "leg_va x (1 + running or starting), at most units x leg_va; x leg_surge_va at a start",
    "charger": f"{_STORED}, at most units x charge_a x bank_v x sun_hours",
    "array-total": "panels x pmax_w, at most units x array_max_w",
    "cold-voltage": f"{_COLD_V}, at most tracker_max_v x (1 - voltage)",
    "panel-voltage": f"{_COLD_V}, at most max_system_v",
    "code-voltage": f"{_COLD_V}, at most array_ceiling",
    "hot-voltage": "series x vmp_v x (1 + pmax_pct_per_c / 100 x (cell - 25)) x (1 - hot_voltage), at least "
                   "tracker_min_v",
    "wake-voltage": "series x voc_v x (1 + voc_pct_per_c / 100 x (cell - 25)), at least tracker_start_v",
    "tracker-range": "series x vmp_v, at most tracker_top_v",
    "tracker-current": "parallel x isc_a x (1 + rear_light x bifacial_pct / 100) x (1 + current), at most "
                       "tracker_isc_a",
    "tracker-strings": "parallel, at most tracker_strings",
    "tracker-power": "series x parallel x pmax_w, at most tracker_max_w",
    "fuse-fits": "1.25 x 1.25 x isc_a, next standard rating, at most max_fuse_a",
    "bank-voltage": "bank_class_v / class_v is whole, and that many stand in series",
    "bank-series": "batteries in series, at most max_series",
    "bank-parallel": "bank strings in parallel, at most max_parallel",
    "bank-window": "series x charge_v, at most bank_max_v; series x nominal_v, at least bank_min_v",
    "bank-temperature": "bank_coldest, at least coldest_charge_c and coldest_discharge_c",
    "discharge-current": f"running_w x (1 + running) / {_BANK_A}, at most shared strings x discharge_a",
    "starting-current": f"start_w x (1 + starting) / {_BANK_A}, at most shared strings x peak_a; x discharge_a where "
                        "the start outlasts peak_s",
    "bank-sag": "bank_v - start amps x series x r_mohm / 1000 / parallel, at least lowest_v",
    "charge-limit": "units x charge_a of the converter, at most shared strings x charge_a of the battery",
    "charge-rate": f"{_STORED}, at most shared strings x charge_a x bank_v x sun_hours",
    "charge-floor": "the less of units x charge_a and panels x pmax_w x array_factor / bank_v, at least parallel x "
                    "charge_min_a",
    "night-energy": "night_wh, at most bank strings x usable energy of one down to daily_pct",
    "daily-energy": "usable W of the array, at least array_to_load x day_wh / sun_hours",
    "autonomy": "bank strings x usable energy of one / critical Wh of a sunless day, at least autonomy_days; without "
                "the pumps where the water stored lasts as long",
    "recovery": "usable bank_wh / (round_trip_pct / 100) / (usable W x sun_hours - day_wh), at most recover_days",
    "well-yield": "water of all loads in a day, at most well_yield x 24 h",
    "water-reserve": "(pieces x volume_l x usable_pct / 100 + tank_on_hand) / water of a day, at least reserve_days",
    "mounting-fit": "width_mm at most max_width_mm, length_mm at most max_length_mm, weight_kg at most max_panel_kg",
    "allowed": "mounts, chemistries and sellers among those named; no part of exclude",
    "space": "panels at most max_panels; panels x length_mm x width_mm at most max_area; tanks at most "
             "max_tanks",
    "stock": "pieces from a seller, at most its stock",
    "priced": "bought + on hand, at least needed, of every part",
    "listed": "listed of panel, converter, battery and rack is yes",
    "budget": "goods + freight + tax, at most budget",
}  # fmt: skip
