"""The bank and what it gives (V, A, Wh, °C); floats or numpy arrays alike, currents of one battery."""

from __future__ import annotations

import numpy as np

from optimizer.rules.code_tables import ACID_FREEZES
from optimizer.rules.comparisons import whole_up
from optimizer.rules.figure_types import Array, Figure, where
from optimizer.vocabulary.tolerance import TOLERANCE

AGED_AND_COLD = 1.5  # of a battery's resistance when new and warm: common practice, no source
RATED_C = 25.0  # battery capacity is rated at 25 °C (IEC 61427, from memory)


def lowest_voltage(series: Figure | float, min_v: Figure, bank_min_v: Figure | float) -> Figure:
    """Lowest bank V: what the batteries or the converter stop at, whichever comes first."""
    lowest: Figure = np.maximum(series * min_v, bank_min_v)
    return lowest


def shared_strings(parallel: Figure, parallel_share: float) -> Figure:
    """k' = k for one bank string, k·parallel_share for more: strings in parallel do not share evenly."""
    shared: Figure = where(parallel > 1, parallel * parallel_share, parallel)
    return shared


def strings_for(shared: Figure, parallel_share: float) -> Figure:
    """The least number of bank strings whose k' is at least ``shared``."""
    alone = shared <= 1 + TOLERANCE
    strings: Figure = where(alone, 1.0, np.maximum(2.0, whole_up(shared / parallel_share)))
    return strings


def bank_current(
    watts: Figure | float, reserve: float, efficiency: Figure | float, idle_w: Figure | float, lowest_v: Figure
) -> Figure:
    """A out of the bank for W at the loads and the idle draw of all converters: (W·(1 + reserve)/η + idle)/V_low."""
    return (watts * (1 + reserve) / efficiency + idle_w) / lowest_v


def sagged_voltage(
    bank_v: Figure, current_a: Figure | float, series: Figure | float, r_mohm: Figure | float, parallel: Figure | float
) -> Figure:
    """Bank V while ``current_a`` flows through the batteries' inner resistance, that of a new battery at 25 °C and
    half as much again for age and cold (common practice, no source)."""
    return bank_v - current_a * series * (r_mohm * AGED_AND_COLD) / 1000 / parallel


def freezing_point(usable_pct: Figure | float) -> Array:
    """degC at which the acid of a lead battery freezes once it is discharged to ``usable_pct`` of its capacity."""
    depths, points = (np.array(column) for column in zip(*ACID_FREEZES, strict=True))
    frozen: Array = points[np.searchsorted(depths, np.asarray(usable_pct) * (1 - TOLERANCE))]
    return frozen


def short_circuit_current(parallel: int, charge_v: float, r_mohm: float, short_circuit_a: float) -> float | None:
    """A that a bank drives into a short circuit: what its batteries state, else Ohm's law at the highest V over the
    resistance of new ones; None where neither is stated (not a number)."""
    if not np.isnan(short_circuit_a):
        return parallel * short_circuit_a
    if np.isnan(r_mohm) or r_mohm <= 0:
        return None
    return parallel * charge_v * 1000 / r_mohm


def cold_capacity(capacity_pct_per_c: Figure, bank_coldest_c: float) -> Figure:
    """Share of the rated capacity left in the cold, from 1 at 25 °C down (IEEE 485, from memory)."""
    return 1 - capacity_pct_per_c / 100 * max(0.0, RATED_C - bank_coldest_c)


def usable_energy(
    bank_v: Figure | float, capacity_ah: Figure, depth_pct: Figure | float, aged_pct: Figure | float,
    capacity_pct_per_c: Figure, bank_coldest_c: float,
) -> Figure:  # fmt: skip
    """Wh of one bank string down to ``depth_pct``: the larger of depth and ageing is taken, not their product
    (IEEE 1013, from memory)."""
    depth: Figure = np.minimum(depth_pct, aged_pct) / 100
    return bank_v * capacity_ah * depth * cold_capacity(capacity_pct_per_c, bank_coldest_c)
