"""Cell temperature after Ross, as pvlib 0.16.1 (an open library of photovoltaic models) computes it: run once as a
reference, its answers kept as figures. Printed with two decimals, 0.01 K is asked.
"""

from __future__ import annotations

import pytest

from optimizer.rules.strings import cell_temperature


def test_from_noct() -> None:
    """1000 W/m2, 40 degC air, NOCT 45: 71.25 degC."""
    assert float(cell_temperature(40.0, 45.0, 0.0)) == pytest.approx(71.25, abs=0.01)


def test_from_the_factor_of_a_free_standing_array() -> None:
    """1000 W/m2, 41.2 degC air, k = 0.0208 K m2/W: 62.0 degC. A k is (NOCT - 20)/800, so NOCT is 36.64."""
    assert float(cell_temperature(41.2, 20.0 + 800.0 * 0.0208, 0.0)) == pytest.approx(62.0, abs=0.01)
