"""IEC 61215-1:2021, nameplate and stress irradiance of bifacial modules; from memory.

Stress irradiance is 1000 + 300 phi W/m2 and nameplate irradiance 1000 + 135 phi; short-circuit current goes with
irradiance, so the rule that raises one raises the other. Exact arithmetic: 0.001.
"""

from __future__ import annotations

import pytest

from optimizer.rules.strings import short_circuit_current
from tests.mutations.parts import audited, bundle, job, panel

STRESS = 0.30


def test_stress_irradiance() -> None:
    """phi 0.70: 1210 W/m2."""
    assert float(short_circuit_current(1000.0, 70.0, STRESS)) == pytest.approx(1210.0, abs=0.001)


def test_nameplate_irradiance_where_the_job_says_nothing() -> None:
    """phi 0.70: 1094.5 W/m2, so 10.945 A of 10 A, and 1.25 of that."""
    read = audited("tracker-current", job(), bundle(panel=panel(isc_a=10.0, bifacial_pct=70.0), strings=((8, 1),)))[0]
    assert read == pytest.approx(13.68125, abs=0.001)


def test_module_whose_bifaciality_is_taken_as_one() -> None:
    """Isc 10.74 A: 1.25 x 1.30 x 10.74 = 17.4525 A."""
    whole = panel(isc_a=10.74, bifacial_pct=100.0)
    read = audited("tracker-current", job(site={"rear_light": STRESS}), bundle(panel=whole, strings=((8, 1),)))[0]
    assert read == pytest.approx(17.4525, abs=0.001)
