"""IEEE 485, temperature correction of lead-acid cells; from memory: extra ampere-hours 1.00 at 77 degF, 1.11 at 60,
1.19 at 50, 1.30 at 40; a supplier's worksheet that agrees with it goes on to 1.59 at 20 degF (-6.7 degC).

The product takes a straight 1.2 % for each K below 25 degC where a battery does not say more: the least slope that no
row down to -7 degC exceeds. It lies within 3 % above the table there.
"""

from __future__ import annotations

import numpy as np
import pytest

from catalog.tables import BATTERIES
from optimizer.rules.bank import cold_capacity
from tests.mutations.parts import table


@pytest.mark.parametrize(("degf", "more"), [(77.0, 1.00), (60.0, 1.11), (50.0, 1.19), (40.0, 1.30), (20.0, 1.59)])
def test_extra_capacity(degf: float, more: float) -> None:
    columns = table("battery", {"part": "cell", "chemistry": "flooded"}).columns
    default = BATTERIES.column("capacity_pct_per_c").default
    assert default is not None
    pct_per_c = float(np.asarray(default.fill(columns))[0])
    line = 1 / float(cold_capacity(pct_per_c, (degf - 32) * 5 / 9))
    assert more - 0.0005 <= line <= 1.03 * more


@pytest.mark.parametrize(("celsius", "more"), [(4.4, 1.328), (-6.7, 1.614), (-10.0, 1.724)])
def test_the_line_itself(celsius: float, more: float) -> None:
    """1 / (1 - 0.012 x degrees below 25); a maker prints 1.65 at -10 degC, which lies below it."""
    assert 1 / float(cold_capacity(1.2, celsius)) == pytest.approx(more, abs=0.001)
