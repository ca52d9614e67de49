"""Cold and hot volts by temperature coefficient: common practice, no source.

The worked module is 49.5 V open circuit with -0.27 %/K; its answers are printed with two decimals, and 0.02 V covers
an answer rounded on the way.
"""

from __future__ import annotations

import pytest

from optimizer.rules.strings import hot_factor
from tests.mutations.parts import audited, bundle, converter, job, panel, strings_left

MODULE = panel(voc_v=49.5, voc_pct_per_c=-0.27, max_system_v=1500.0)
SITE = {"coldest_c": -10.0, "array_ceiling_v": 1500.0}
WIDE = converter(tracker_max_v=1600.0, tracker_top_v=1600.0, tracker_max_w=40_000.0)


def test_module_at_ten_below() -> None:
    """54.18 V."""
    assert audited("panel-voltage", job(site=SITE), bundle(panel=MODULE, strings=((1, 1),)))[0] == pytest.approx(
        54.18, abs=0.02
    )


def test_modules_in_series_below_1500_volts() -> None:
    """27, never rounded up: 28 would read 1517 V."""
    assert strings_left(job(site=SITE), MODULE, WIDE)[1] == 27
    assert audited("panel-voltage", job(site=SITE), bundle(panel=MODULE, strings=((27, 1),)))[2]
    assert not audited("panel-voltage", job(site=SITE), bundle(panel=MODULE, strings=((28, 1),)))[2]


def test_volts_of_a_hot_module() -> None:
    """41.0 V with -0.35 %/K at a cell temperature of 71.25 degC (40 degC air, NOCT 45): 34.36 V."""
    hot = panel(voc_v=49.5, vmp_v=41.0, vmp_pct_per_c=-0.35, noct_c=45.0)
    reserve = 0.97  # the auditor's figure has the hot reserve in it
    read = audited("hot-voltage", job(site={"hottest_c": 40.0}), bundle(panel=hot, strings=((1, 1),)))[0]
    assert read / reserve == pytest.approx(34.36, abs=0.01)


def test_power_of_a_hot_module() -> None:
    """-0.35 %/K at 60 degC leaves 0.8775."""
    assert float(hot_factor(-0.35, 60.0)) == pytest.approx(0.8775, abs=1e-4)
