"""The strings of one tracker judged: volts cold and hot, current, power, fuses."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from optimizer.auditor.figures import BundleFigures
from optimizer.auditor.reading import Reading, yes
from optimizer.bundles.bundle import TrackerStrings
from optimizer.rules import strings


def tracker_readings(f: BundleFigures, s: TrackerStrings) -> Iterator[Reading]:
    """Every limit of one tracker."""
    c, p, job = f.converter, f.panel, f.job
    n, m, where = s.series, s.parallel, f"tracker {s.tracker}"
    cold_v = n * float(p["voc_v"]) * f.cold
    cold = {"series": n, "voc_v": p["voc_v"], "factor": f.cold}
    top = float(c["tracker_max_v"])
    yield Reading("cold-voltage", cold_v, top * (1 - job.reserve.voltage), cold_v, top, where,
                  {**cold, "reserve": job.reserve.voltage, "rating": top})  # fmt: skip
    yield Reading("panel-voltage", cold_v, p["max_system_v"], cold_v, p["max_system_v"], where, cold)
    ceiling = job.site.array_ceiling_v
    yield Reading("code-voltage", cold_v, ceiling, cold_v, ceiling, where, cold)
    hot_v = n * float(p["vmp_v"]) * f.hot
    less = 1 - job.reserve.hot_voltage
    yield Reading("hot-voltage", hot_v * less, c["tracker_min_v"], hot_v, c["tracker_min_v"], where,
                  {"series": n, "vmp_v": p["vmp_v"], "factor": f.hot, "reserve": less})  # fmt: skip
    wake_v = n * float(p["voc_v"]) * f.wake
    yield Reading("wake-voltage", wake_v, c["tracker_start_v"], wake_v, c["tracker_start_v"], where,
                  {"series": n, "voc_v": p["voc_v"], "factor": f.wake})  # fmt: skip
    work_v = n * float(p["vmp_v"])
    yield Reading("tracker-range", work_v, c["tracker_top_v"], work_v, c["tracker_top_v"], where,
                  {"series": n, "vmp_v": p["vmp_v"]})  # fmt: skip
    amps, code = m * f.isc_a, strings.CONTINUOUS
    yield Reading("tracker-current", amps * (1 + job.reserve.current), c["tracker_isc_a"], amps * code,
                  c["tracker_isc_a"], where,
                  {"parallel": m, "isc_a": f.isc_a, "reserve": 1 + job.reserve.current})  # fmt: skip
    if np.isfinite(c["tracker_strings"]):
        most = c["tracker_strings"]
        yield Reading("tracker-strings", m, most, m, most, where, {"parallel": m})
    watts = n * m * float(p["pmax_w"])
    yield Reading("tracker-power", watts, c["tracker_max_w"], watts, c["tracker_max_w"], where,
                  {"series": n, "parallel": m, "pmax_w": p["pmax_w"]})  # fmt: skip
    if f.needs_fuses(s) and not s.fused:
        yield yes("fuse-fits", False, f"{where}: no fuses", isc_a=f.isc_a)
    elif s.fused:
        rating = float(strings.fuse_rating(f.isc_a, job.supply.hz))
        yield Reading("fuse-fits", rating, p["max_fuse_a"], rating, p["max_fuse_a"], where,
                      {"isc_a": f.isc_a})  # fmt: skip
