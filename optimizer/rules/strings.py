"""Panels in series and strings in parallel on one tracker (V, A, W, °C); floats or numpy arrays alike."""

from __future__ import annotations

from typing import overload

import numpy as np

from optimizer.rules.code_tables import COLD_FACTORS, FUSE_RATINGS, IEC_FUSE_RATINGS
from optimizer.rules.comparisons import whole_down
from optimizer.rules.figure_types import Array, Figure, Mask, where
from optimizer.vocabulary.tolerance import TOLERANCE

STANDARD_CELL_C = 25.0  # IEC 61215: panels are rated at a cell temperature of 25 °C
NOCT_AIR_C = 20.0  # IEC 61215: nominal operating cell temperature is read at 20 °C air and 800 W/m²
NOCT_IRRADIANCE = 800.0
FULL_IRRADIANCE = 1000.0
CONTINUOUS = 1.25  # NEC 690.8(A)(1), 690.9(B): three hours or more of full sun count as continuous
IEC_HZ = 50  # where the supply has so many, fuses are rated by IEC 60269
UNSTATED_VOC_PCT_PER_C = -0.40  # what NEC Table 690.7(A) implies for crystalline silicon


def table_cold_factor(coldest_c: float) -> float:
    """Factor on open-circuit volts of NEC Table 690.7(A); between bands the colder one; NaN below -40 °C."""
    for band_c, factor in COLD_FACTORS:
        if coldest_c >= band_c:
            return factor
    return float("nan")


def cold_factor(voc_pct_per_c: Figure, coldest_c: float) -> Figure:
    """Factor on open-circuit volts at dawn on the coldest morning, never below 1 (NEC 690.7(A)).

    ``voc_pct_per_c`` in %/°C, negative; NaN = not stated, then the table's factor (NaN where it has none).
    """
    stated = np.maximum(1.0, 1 + voc_pct_per_c / 100 * (coldest_c - STANDARD_CELL_C))
    factor: Figure = where(np.isnan(voc_pct_per_c), table_cold_factor(coldest_c), stated)
    return factor


def cell_temperature(hottest_c: float, noct_c: Figure, heat_c: Figure | float) -> Figure:
    """Cell °C in full sun at the hottest air: air + (NOCT - 20)/800·1000 (Ross; IEC 61215's NOCT), and ``heat_c`` more
    on a rack that holds panels close to what is behind them."""
    return hottest_c + (noct_c - NOCT_AIR_C) / NOCT_IRRADIANCE * FULL_IRRADIANCE + heat_c


def hot_factor(pct_per_c: Figure, cell_c: Figure | float) -> Figure:
    """Factor on volts at a cell temperature; ``pct_per_c`` in %/°C."""
    return 1 + pct_per_c / 100 * (cell_c - STANDARD_CELL_C)


def wake_factor(voc_pct_per_c: Figure, cell_c: Figure | float) -> Figure:
    """Factor on open-circuit volts in heat; -0.40 %/°C where the panel states no coefficient."""
    stated: Figure = where(np.isnan(voc_pct_per_c), UNSTATED_VOC_PCT_PER_C, voc_pct_per_c)
    return hot_factor(stated, cell_c)


def short_circuit_current(isc_a: Figure, bifacial_pct: Figure | float, rear_light: float) -> Figure:
    """Short-circuit A with the light on the rear: Isc·(1 + rear_light·bifaciality) (IEC 61215-1:2021)."""
    return isc_a * (1 + rear_light * bifacial_pct / 100)


def back_feed(parallel: Figure, isc_a: Figure | float) -> Figure:
    """A that the other strings of a tracker can push back into one (NEC 690.9)."""
    return (parallel - 1) * CONTINUOUS * isc_a


@overload
def is_fused(parallel: float, isc_a: float, max_fuse_a: float) -> bool: ...
@overload
def is_fused(parallel: Array, isc_a: Array | float, max_fuse_a: Array | float) -> Mask: ...
def is_fused(parallel: Figure, isc_a: Figure | float, max_fuse_a: Figure | float) -> Mask | bool:
    """Whether the strings of a tracker need fuses (NEC 690.9)."""
    return back_feed(parallel, isc_a) > max_fuse_a * (1 + TOLERANCE)


def fuse_rating(isc_a: Figure, hz: int) -> Figure:
    """The smallest standard fuse that carries 1.25·1.25·Isc: of NEC 240.6(A), or of IEC 60269 where the supply has
    50 Hz; infinite over 60 A and 63 A."""
    ratings = np.array([*(IEC_FUSE_RATINGS if hz == IEC_HZ else FUSE_RATINGS), np.inf])
    least = CONTINUOUS * CONTINUOUS * isc_a
    rating: Figure = ratings[np.searchsorted(ratings, least * (1 - TOLERANCE))]
    return rating


def most_parallel_unfused(isc_a: Figure, max_fuse_a: Figure | float) -> Figure:
    """How many strings a tracker may have before they need fuses."""
    return 1 + whole_down(max_fuse_a / (CONTINUOUS * isc_a))


def tracker_ceiling(usable_w: Figure | float, usable_a: Figure | float, hot_v: Figure) -> Figure:
    """Most usable W of a tracker whose strings work at ``hot_v``: its own most, or the A that it makes use of."""
    ceiling: Figure = np.minimum(usable_w, usable_a * hot_v)
    return ceiling


def offered_power(pmax_w: Figure, array_factor: float, pmax_pct_per_c: Figure, heat_c: Figure | float) -> Figure:
    """W that a panel offers its tracker: what soiling, mismatch, wiring and heat leave (``array_factor``), and less on
    a rack that is ``heat_c`` hotter than in the open."""
    return pmax_w * array_factor * (1 + pmax_pct_per_c / 100 * heat_c)


def usable_power(array_w: Figure, cap_w: Figure | float) -> Figure:
    """W that a tracker passes on, of ``array_w`` offered under a ceiling of ``cap_w``.

    The surplus of a half-sine clear day above the ceiling is clipped: with r = min(1, cap/P),
    P·(1 - √(1 - r²) + r·arccos r). Increases with both; equals P where the ceiling is not reached.
    """
    share: Figure = np.minimum(1.0, cap_w / array_w)
    usable: Figure = array_w * (1 - np.sqrt(1 - share * share) + share * np.arccos(share))
    return usable
