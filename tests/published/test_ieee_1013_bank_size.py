"""Bank sizing in the order of IEEE 1013 (days without sun, unadjusted energy, then depth, age and cold); the order
and its figures from memory, the worked answers by formula.

5 kWh a day at the loads, 90 % converter, two days. A discharge efficiency that the worked answers carry apart is part
of the usable depth here, since a bank's energy is counted at its terminals. The answers are printed to 0.01 kWh in
14, 0.07 %; 0.1 % is asked.
"""

from __future__ import annotations

import pytest

from optimizer.rules.bank import usable_energy
from optimizer.rules.energy import sunless_day, through_bank


def days(kwh: float, depth_pct: float, capacity_pct_per_c: float, coldest_c: float, nominal_v: float = 48.0) -> float:
    """Sunless days that a bank of ``kwh`` carries."""
    wh = usable_energy(nominal_v, kwh * 1000 / nominal_v, depth_pct, 80.0, capacity_pct_per_c, coldest_c)
    return float(wh / sunless_day(5000.0, 0.90, 0.0, 1))


def test_lithium() -> None:
    """80 % deep, 96 % out: 14.47 kWh."""
    assert days(14.47, 80.0 * 0.96, 0.5, 25.0) == pytest.approx(2.0, rel=1e-3)


def test_lithium_in_ampere_hours() -> None:
    """282.6 Ah at 51.2 V."""
    wh = float(usable_energy(51.2, 282.6, 80.0 * 0.96, 80.0, 0.5, 25.0))
    assert wh / float(sunless_day(5000.0, 0.90, 0.0, 1)) == pytest.approx(2.0, rel=1e-3)


def test_lead_acid_in_the_cold() -> None:
    """50 % deep, 90 % out, 80 % left in the cold (20 K below 25 degC at 1 %/K): 30.86 kWh."""
    assert days(30.86, 50.0 * 0.90, 1.0, 5.0) == pytest.approx(2.0, rel=1e-3)


def test_one_way_efficiency() -> None:
    """0.90 there and back is 0.9487 each way; four digits of it leave 0.02 %."""
    both_ways = through_bank(through_bank(1000.0, 0.9487), 0.9487)
    assert float(both_ways) == pytest.approx(1000.0 / 0.90, rel=2e-4)
