"""NFPA 70 (NEC), 690.7(A) and its Table 690.7(A), crystalline silicon; from memory.

Factors are printed with two decimals and looked up, so they must be equal. Products of them are exact to the cent of
a volt; 0.005 V covers the rounding of the printed answer.
"""

from __future__ import annotations

import math

import pytest

from optimizer.rules.strings import table_cold_factor
from tests.mutations.parts import UNSTATED, audited, bundle, converter, job, panel, strings_left

# a module of 49.5 V open circuit without a coefficient on its sheet, in a system of 1500 V
MODULE = panel(voc_v=49.5, voc_pct_per_c=UNSTATED, max_system_v=1500.0)
SITE = {"coldest_c": -10.0, "array_ceiling_v": 1500.0}
WIDE = converter(tracker_max_v=1600.0, tracker_top_v=1600.0, tracker_max_w=40_000.0)


@pytest.mark.parametrize(
    ("coldest_c", "factor"),
    [
        (-10.0, 1.14),
        (1.3, 1.10),  # Phoenix, extreme annual mean minimum
        (-22.9, 1.20),  # Golden, Colorado, the same
        (-40.0, 1.25),  # the cold end
        (24.0, 1.02),  # the warm end
        (25.0, 1.00),
        (-20.5, 1.20),  # between two bands: our rule takes the colder
    ],
)
def test_factor(coldest_c: float, factor: float) -> None:
    assert table_cold_factor(coldest_c) == factor


def test_no_factor_below_the_table() -> None:
    assert math.isnan(table_cold_factor(-41.0))


def test_string_by_the_table() -> None:
    """49.5 V at -10 degC reads 56.43 V, and 26 modules in series stay below 1500 V."""
    cold_v, allowed_v, holds = audited("panel-voltage", job(site=SITE), bundle(panel=MODULE, strings=((1, 1),)))
    assert cold_v == pytest.approx(56.43, abs=0.005)
    assert (allowed_v, holds) == (1500.0, True)
    assert strings_left(job(site=SITE), MODULE, WIDE)[1] == 26


def test_slope_that_the_table_implies() -> None:
    """At the cold edge of its band -10 degC, 35 K below 25, the table rises by 0.40 %/K; two decimals of a factor are
    0.01/35 K = 0.03 %/K, of which 0.001 is asked."""
    assert 100 * (table_cold_factor(-10.0) - 1) / 35 == pytest.approx(0.40, abs=0.001)
