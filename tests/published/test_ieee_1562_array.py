"""IEEE 1562, array-to-load ratio for stand-alone systems; from memory.

8 kWh a day, 4.0 sun hours, 65 % of the rated power, ratio 1.3: 4.0 kW of panels. Exact arithmetic: ten panels of
400 W meet it, nine do not.
"""

from __future__ import annotations

import pytest

from optimizer.inputs.job import Need
from tests.mutations.parts import audited, bundle, converter, job, power_needed, pump, watts
from tests.mutations.parts import battery as lossless_battery

LOSSLESS = converter(efficiency_pct=100.0, idle_w=0.0)
BANK = lossless_battery(round_trip_pct=100.0)
JOB = job(pump(running=watts(2000.0), starting="none"), site={"array_factor": 0.65}, need=Need(array_to_load=1.3))


def test_array_of_a_critical_load() -> None:
    """1.3 x 8000 Wh/4 h = 2600 W usable, 65 % of 4.0 kW."""
    assert power_needed(JOB, BANK, LOSSLESS) / 0.65 / 1000 == pytest.approx(4.0, abs=0.001)
    ten = audited("daily-energy", JOB, bundle(converter=LOSSLESS, battery=BANK, strings=((10, 1),)))
    nine = audited("daily-energy", JOB, bundle(converter=LOSSLESS, battery=BANK, strings=((9, 1),)))
    assert (ten[2], nine[2]) == (True, False)
