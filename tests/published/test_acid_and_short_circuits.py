"""Lead-acid in the cold, and what a bank drives into a short circuit.

Freezing points by specific gravity: a vehicle maker's table and US Army TM 5-1185 within 1 degF of each other. The
state of charge that goes with a gravity is a straight line between 1.265 full and 1.12 empty.
"""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.rules.bank import freezing_point, sagged_voltage, short_circuit_current
from optimizer.rules.strings import fuse_rating

FULL, EMPTY = 1.265, 1.12
FREEZES_C = {1.225: -37.0, 1.200: -27.0, 1.150: -15.0, 1.100: -8.0}  # by specific gravity


@pytest.mark.parametrize("used_pct", [10.0, 25.0, 50.0, 75.0, 80.0, 100.0])
def test_no_acid_freezes_above_the_point_that_counts(used_pct: float) -> None:
    """Between two gravities of the table the freezing point is read off the straight line; the rule is not below it by
    more than 2 degC, which is what the table's own rows differ by."""
    gravity = FULL - (FULL - EMPTY) * used_pct / 100
    table = float(np.interp(gravity, sorted(FREEZES_C), [FREEZES_C[key] for key in sorted(FREEZES_C)]))
    assert float(freezing_point(used_pct)) >= table - 2.0


@pytest.mark.parametrize(
    ("used_pct", "celsius"),
    [(25.0, -35.0), (25.1, -22.0), (50.0, -22.0), (75.0, -15.0), (80.0, -13.0), (80.1, -8.0), (100.0, -8.0)],
)
def test_the_steps(used_pct: float, celsius: float) -> None:
    """Each step counts up to and with its depth, deeper ones freeze earlier."""
    assert float(freezing_point(used_pct)) == celsius


def test_a_bank_into_a_short_circuit() -> None:
    """Two strings of four 6 V batteries, 2.2 mohm each, charged to 31.0 V: 7.05 kA (Ohm's law; makers' notes say 10 to
    20 A for each Ah). What the battery states goes before."""
    nothing = float("nan")
    assert short_circuit_current(2, 31.0 / 4, 2.2, nothing) == pytest.approx(7045.0, abs=1.0)
    assert short_circuit_current(2, 31.0 / 4, 2.2, 5000.0) == 10000.0
    assert short_circuit_current(2, 31.0 / 4, nothing, nothing) is None


def test_age_and_cold_add_half_to_the_resistance() -> None:
    """300 A through 4 x 2 mohm in two strings: 1.2 V new and warm, 1.8 V in the end (common practice, no source)."""
    assert float(sagged_voltage(np.array(26.0), 300.0, 4.0, 2.0, 2.0)) == pytest.approx(24.2)


@pytest.mark.parametrize(
    ("isc_a", "hz", "rating_a"), [(9.5, 60, 15.0), (9.5, 50, 16.0), (13.9, 50, 25.0), (19.0, 50, 32.0)]
)
def test_fuses_of_a_50_hz_supply(isc_a: float, hz: int, rating_a: float) -> None:
    """IEC 60269's preferred ratings, from memory: 14.84 A takes 16 A where NEC 240.6(A) takes 15 A; 29.7 A takes 32."""
    assert float(fuse_rating(np.array(isc_a), hz)) == rating_a
