"""The bank and what it gives (V, A, Wh, °C); floats or numpy arrays alike, currents of one battery."""

from __future__ import annotations

from typing import Any

import numpy as np

from optimizer.rules.tolerance import TOLERANCE, whole_up

RATED_C = 25.0  # battery capacity is rated at 25 °C (IEC 61427, from memory)


def lowest_voltage(series: Any, min_v: Any, bank_min_v: Any) -> Any:
    """Lowest bank V: what the batteries or the converter stop at, whichever comes first."""
    return np.maximum(series * min_v, bank_min_v)


def shared_strings(parallel: Any, parallel_share: float) -> Any:
    """k' = k for one bank string, k·parallel_share for more: strings in parallel do not share evenly."""
    return np.where(np.asarray(parallel) > 1, parallel * parallel_share, parallel)


def strings_for(shared: Any, parallel_share: float) -> Any:
    """The least number of bank strings whose k' is at least ``shared``."""
    alone = shared <= 1 + TOLERANCE
    return np.where(alone, 1.0, np.maximum(2.0, whole_up(shared / parallel_share)))


def bank_current(watts: Any, reserve: float, efficiency: Any, lowest_v: Any) -> Any:
    """A out of the bank for ``watts`` at the loads: W·(1 + reserve)/(η·V_low)."""
    return watts * (1 + reserve) / (efficiency * lowest_v)


def sagged_voltage(bank_v: Any, current_a: Any, series: Any, r_mohm: Any, parallel: Any) -> Any:
    """Bank V while ``current_a`` flows through the batteries' inner resistance."""
    return bank_v - current_a * series * r_mohm / 1000 / parallel


def cold_capacity(capacity_pct_per_c: Any, bank_coldest_c: float) -> Any:
    """Share of the rated capacity left in the cold, from 1 at 25 °C down (IEEE 485, from memory)."""
    return 1 - capacity_pct_per_c / 100 * max(0.0, RATED_C - bank_coldest_c)


def usable_energy(
    bank_v: Any, capacity_ah: Any, depth_pct: Any, aged_pct: Any, capacity_pct_per_c: Any, bank_coldest_c: float
) -> Any:
    """Wh of one bank string down to ``depth_pct``: the larger of depth and ageing is taken, not their product
    (IEEE 1013, from memory)."""
    depth = np.minimum(depth_pct, aged_pct) / 100
    return bank_v * capacity_ah * depth * cold_capacity(capacity_pct_per_c, bank_coldest_c)
