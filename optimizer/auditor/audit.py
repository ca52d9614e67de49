"""The auditor: every limit of one bundle recomputed from its parts, without the solver and without the search.

It calls the same rule functions as the search, on one bundle instead of arrays of parts. What it does not pass is
never shown as an answer. Each module beside this one reads the limits of one subject; here they are gathered.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import TYPE_CHECKING

from catalog.reader import Catalog
from optimizer.auditor import bank, converter, orders, site, strings, year
from optimizer.auditor.figures import BundleFigures
from optimizer.auditor.reading import Audit, Reading
from optimizer.bundles.bundle import Bundle
from optimizer.inputs.job import Job
from optimizer.rules import energy
from optimizer.rules.bank import bank_current, short_circuit_current
from optimizer.rules.limits import LIMITS, Limit

if TYPE_CHECKING:
    from optimizer.rules.replayed_year import Replayed


def audit(job: Job, bundle: Bundle, catalog: Catalog | None = None, *, every: bool = False) -> Audit:
    """Recompute every limit of ``bundle`` for ``job``. ``catalog`` is needed to judge prices and stock.

    A limit that depends on months or on starts gives its tightest one, or all of them where ``every`` is asked for; one
    that depends on trackers a reading each.
    """
    f = BundleFigures.of(job, bundle, catalog)
    replay = _replayed(f)
    before = [*converter.converter_readings(f)]
    trackers = [reading for tracker in bundle.strings for reading in strings.tracker_readings(f, tracker)]
    after = [*bank.bank_readings(f), *year.year_readings(f, replay), *site.site_readings(f), *orders.order_readings(f)]
    readings = (*before, *trackers, *after) if every else (*_tightest(before), *trackers, *_tightest(after))
    judged = {reading.limit for reading in readings}
    charge_a = None
    if f.converter["charge_settable"]:
        charge_a = min(f.units * float(f.converter["charge_a"]), f.shared * float(f.battery["charge_a"]))
    start_w = max((case.w for case in f.demand.cases), default=0.0)
    return Audit(
        bundle,
        readings,
        tuple(name for name, limit in LIMITS.items() if name not in judged and applies(f, limit)),
        year.autonomy(f)[0],
        float(
            energy.protection_current(
                f.converter["continuous_w"], f.efficiency, float(f.converter["idle_w"]), f.lowest_v
            )
        ),
        float(bank_current(start_w, 0.0, f.efficiency, f.idle_w, f.lowest_v)),
        charge_a,
        tuple(f.refill_days().tolist()),
        converter.legs(f),
        f.demand.water_days if f.demand.water_days and f.demand.water_l.any() else None,
        f.demand.loads,
        tuple(reading for reading in after if reading.limit == "daily-energy"),
        short_circuit_current(
            bundle.bank_parallel, float(f.battery["charge_v"]), f.r_mohm, float(f.battery["short_circuit_a"])
        ),
        f.cell_c,
        tuple(f.tracker_w(s) for s in bundle.strings),
        replay,
    )


def _replayed(f: BundleFigures) -> Replayed | None:
    """The hours of the job's weather file; what only they need is loaded only for them."""
    if f.job.weather is None:
        return None
    from optimizer.auditor.replayed import replay_bundle

    return replay_bundle(f, f.job.weather.years)


def leg_placings(job: Job, bundle: Bundle) -> list[list[Reading]]:
    """The readings of leg-balance for every placing of the 120 V units that no other beats; empty without legs."""
    f = BundleFigures.of(job, bundle)
    return [converter.leg_cases(f, plan.on_leg_1) for plan in f.demand.leg_plans]


def _tightest(readings: Iterable[Reading]) -> Iterator[Reading]:
    """Of each limit the reading nearest its edge, a failing one first, the first of equals."""
    for _, mine in groupby(readings, key=lambda reading: reading.limit):
        yield min(mine, key=lambda reading: (reading.holds, reading.room))


def applies(f: BundleFigures, limit: Limit) -> bool:
    """Whether a limit concerns this job and bundle at all."""
    return limit.applies(f.job) and limit.concerns(f)
