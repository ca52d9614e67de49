"""IEEE 485, temperature correction of lead-acid cells; from memory: extra ampere-hours 1.00 at 77 degF, 1.11 at
60, 1.19 at 50, 1.30 at 40.

The product takes a straight 1 % for each K below 25 degC where a battery does not say more; the table bends away
from it in the cold. Down to 40 degF the straight line stays within 4 % of the table (100 Ah ask 130 Ah by the table
and 125.9 by the line); below that the line is the less cautious one, and a battery's own figure should be stated.
"""

from __future__ import annotations

import numpy as np
import pytest

from catalog.tables import BATTERIES
from optimizer.rules.bank import cold_capacity
from tests.mutations.parts import table


@pytest.mark.parametrize(("degf", "more"), [(77.0, 1.00), (60.0, 1.11), (50.0, 1.19), (40.0, 1.30)])
def test_extra_capacity(degf: float, more: float) -> None:
    columns = table("battery", {"part": "cell", "chemistry": "flooded"}).columns
    default = BATTERIES.column("capacity_pct_per_c").default
    assert default is not None
    pct_per_c = float(np.asarray(default.fill(columns))[0])
    assert 1 / float(cold_capacity(pct_per_c, (degf - 32) * 5 / 9)) == pytest.approx(more, rel=0.04)
