"""The year judged: night, day, recovery and sunless days by month, and the water."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from optimizer.auditor.figures import BundleFigures
from optimizer.auditor.reading import Reading, Slot
from optimizer.rules import energy, water
from optimizer.vocabulary.months import MONTHS

if TYPE_CHECKING:
    from optimizer.rules.replayed_year import Replayed


def year_readings(f: BundleFigures, replay: Replayed | None = None) -> Iterator[Reading]:
    """Every limit that depends on the month, each month's reading, and the hours of the weather file."""
    c, b, job, k = f.converter, f.battery, f.job, f.bundle.bank_parallel
    into = {"round_trip": f.round_trip}

    def monthly(limit: str, value: np.ndarray, allowed: np.ndarray, **slots: np.ndarray | float) -> list[Reading]:
        readings = []
        for month, name in enumerate(MONTHS):
            mine = {
                key: float(figures[month]) if isinstance(figures, np.ndarray) else figures
                for key, figures in slots.items()
            }
            v, a = float(value[month]), float(allowed[month])
            readings.append(Reading(limit, v, a, v, a, name, mine))
        return readings

    charger_wh = f.units * float(c["charge_a"]) * f.bank_v * f.demand.sun_hours
    yield from monthly("charger", f.stored_wh, charger_wh, night_wh=f.night_wh, **into)
    rate_wh = f.shared * float(b["charge_a"]) * f.bank_v * f.demand.sun_hours
    yield from monthly("charge-rate", f.stored_wh, rate_wh, night_wh=f.night_wh, **into)
    depth = min(float(b["daily_pct"]), float(b["usable_pct"]))
    nightly = np.full(12, k * f.string_energy(depth))
    yield from monthly("night-energy", f.night_wh, nightly, night_wh=f.night_wh)
    ratio = job.need.array_to_load
    if ratio is None:
        ratio = float(energy.default_array_to_load(b["chemistry"]))
    asked = f.day_wh + f.stored_wh
    usable = np.full(12, f.usable_w())
    yield from monthly("daily-energy", usable, ratio * asked / f.demand.sun_hours,
                  array_to_load=ratio, day_wh=asked, sun_hours=f.demand.sun_hours)  # fmt: skip
    if job.need.recover_days is not None:
        yield from monthly("recovery", f.refill_days(), np.full(12, job.need.recover_days),
                      bank_wh=k * f.string_wh, usable_w=float(usable[0]), sun_hours=f.demand.sun_hours, day_wh=asked,
                      **into)  # fmt: skip
    days, where, slots = autonomy(f)
    yield Reading("autonomy", days, job.need.autonomy_days, days, job.need.autonomy_days, where, slots)
    if replay is not None and job.replay.hours_short is not None:
        worst, most = replay.worst, job.replay.hours_short
        month = MONTHS[max(range(12), key=lambda place: worst.months[place].short_h)] if worst.hours_short else ""
        yield Reading("hours-short", worst.hours_short, most, worst.hours_short, most, month,
                      {"short_h": float(worst.hours_short), "hours_short": float(most)})  # fmt: skip
    yield from water_readings(f)


def autonomy(f: BundleFigures) -> tuple[float, str, dict[str, Slot]]:
    """Sunless days: with all critical loads on the bank, or without the pumps as long as the water stored lasts;
    the larger, its month, and its figures."""
    usable_wh = f.bundle.bank_parallel * f.string_wh

    def lasting(sunless: np.ndarray, pumps: str, most: float = np.inf) -> tuple[float, str, dict[str, Slot]]:
        worst = int(np.argmax(sunless))
        day_wh = float(sunless[worst])
        days = min(usable_wh / day_wh if day_wh > 0 else float("inf"), most)
        return days, MONTHS[worst], {"bank_wh": usable_wh, "day_wh": day_wh, "pumps": pumps}

    carried, stored = lasting(f.sunless_wh, ""), f.demand.water_days
    if not stored or not any(load.pumps and load.critical for load in f.demand.loads):
        return carried
    rested = lasting(f.dry_wh, f", pumps at rest: {stored:.2f} days of water stored", stored)
    return max(carried, rested, key=lambda found: found[0])


def water_readings(f: BundleFigures) -> Iterator[Reading]:
    """What the well gives and what the tanks hold."""
    wishes, demand = f.job.water, f.demand
    worst = int(np.argmax(demand.water_l))
    asked_l, month = float(demand.water_l[worst]), MONTHS[worst]
    if wishes.well_yield_l_per_h is not None:
        gives = water.well_gives(wishes.well_yield_l_per_h)
        yield Reading("well-yield", asked_l, gives, asked_l, gives, month,
                      {"well_yield_l_per_h": wishes.well_yield_l_per_h})  # fmt: skip
    if wishes.reserve_days > 0:
        days, asked = demand.water_days, wishes.reserve_days
        slots = {"stored_l": f.bundle.tanks_l + wishes.tank_on_hand_l, "water_l": asked_l}
        yield Reading("water-reserve", days, asked, days, asked, month, slots)
