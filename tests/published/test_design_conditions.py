"""Extreme annual mean minimum of Golden, Colorado, -22.9 degC: TMY3 and ASHRAE design conditions as US government
weather files carry them.

49.5 V with -0.27 %/K then read 55.90 V; printed with two decimals.
"""

from __future__ import annotations

import pytest

from tests.mutations.parts import audited, bundle, job, panel


def test_module_in_golden() -> None:
    module = panel(voc_v=49.5, voc_pct_per_c=-0.27)
    read = audited("panel-voltage", job(site={"coldest_c": -22.9}), bundle(panel=module, strings=((1, 1),)))[0]
    assert read == pytest.approx(55.90, abs=0.01)
