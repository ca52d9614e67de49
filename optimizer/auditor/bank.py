"""The bank judged: its voltage, its counts, its currents running and starting, its charging."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from optimizer.auditor.figures import BundleFigures
from optimizer.auditor.reading import BELOW, Reading, yes
from optimizer.rules import bank
from optimizer.rules.comparisons import at_least


def bank_readings(f: BundleFigures) -> Iterator[Reading]:
    """Every limit of the bank that months do not touch."""
    c, b, job, demand, bundle = f.converter, f.battery, f.job, f.demand, f.bundle
    s, k, u = bundle.bank_series, bundle.bank_parallel, f.units
    whole = s * float(b["class_v"]) == float(c["bank_class_v"])
    yield yes("bank-voltage", whole, bank_class_v=c["bank_class_v"], class_v=b["class_v"])
    yield Reading("bank-series", s, b["max_series"], s, b["max_series"], "", {"series": s})
    yield Reading("bank-parallel", k, b["max_parallel"], k, b["max_parallel"], "", {"parallel": k})
    charge_v = s * float(b["charge_v"])
    window = {"series": s, "charge_v": b["charge_v"], "bank_v": f.bank_v, "bank_min_v": c["bank_min_v"]}
    if at_least(f.bank_v, c["bank_min_v"]):
        yield Reading("bank-window", charge_v, c["bank_max_v"], charge_v, c["bank_max_v"], "", window)
    else:
        low = float(c["bank_min_v"])
        yield Reading("bank-window", low, f.bank_v, low, f.bank_v, BELOW, window)
    coldest = job.site.bank_coldest_c
    floor_c = max(float(b["coldest_charge_c"]), float(b["coldest_discharge_c"]))
    yield Reading("bank-temperature", coldest, floor_c, coldest, floor_c, "", {})
    if f.lead_acid:
        freezes_c = float(bank.freezing_point(b["usable_pct"]))
        yield Reading("bank-freeze", coldest, freezes_c, coldest, freezes_c, "", {"usable_pct": b["usable_pct"]})
    hottest = job.site.bank_hottest_c
    ceiling_c = min(float(b["hottest_charge_c"]), float(b["hottest_discharge_c"]))
    yield Reading("bank-heat", hottest, ceiling_c, hottest, ceiling_c, "", {})

    def drawn(watts: float, reserve: float) -> tuple[float, float]:
        """A for W at the loads, with the reserve and without."""
        with_it, raw = (
            float(bank.bank_current(watts, more, f.efficiency, f.idle_w, f.lowest_v)) for more in (reserve, 0.0)
        )
        return with_it, raw

    more = 1 + job.reserve.running
    eta = {"efficiency": f.efficiency, "lowest_v": f.lowest_v, "idle_w": f.idle_w}
    amps, raw_amps = drawn(demand.running_w, job.reserve.running)
    has = f.shared * float(b["discharge_a"])
    yield Reading("discharge-current", amps, has, raw_amps, has, "",
                  {"watts": demand.running_w, "reserve": more, **eta})  # fmt: skip
    more = 1 + job.reserve.starting
    peaks, sags = [], []
    for case in demand.cases:
        amps, raw_amps = drawn(case.w, job.reserve.starting)
        rating = float(b["peak_a"] if at_least(b["peak_s"], case.seconds) else b["discharge_a"])
        figures = {"watts": case.w, "reserve": more, "seconds": case.seconds, **eta}
        peaks.append(
            Reading("starting-current", amps, f.shared * rating, raw_amps, f.shared * rating,
                    case.load, figures)
        )  # fmt: skip
        if not np.isnan(b["r_mohm"]):
            sagged, raw = (float(bank.sagged_voltage(f.bank_v, a, s, b["r_mohm"], k)) for a in (amps, raw_amps))
            sags.append(
                Reading("bank-sag", sagged, f.lowest_v, raw, f.lowest_v, case.load,
                        {"bank_v": f.bank_v, "current_a": amps, "series": s, "r_mohm": b["r_mohm"],
                         "aged": bank.AGED_AND_COLD,
                         "parallel": k})
            )  # fmt: skip
    yield from peaks
    yield from sags
    charge_a = u * float(c["charge_a"])
    if not c["charge_settable"]:
        has = f.shared * float(b["charge_a"])
        yield Reading("charge-limit", charge_a, has, charge_a, has, "",
                      {"units": u, "charge_a": c["charge_a"]})  # fmt: skip
    array_a = bundle.panels * f.offered_w / f.bank_v
    given, floor_a = min(charge_a, array_a), k * float(b["charge_min_a"])
    yield Reading("charge-floor", given, floor_a, given, floor_a, "",
                  {"charger_a": charge_a, "array_a": array_a})  # fmt: skip
