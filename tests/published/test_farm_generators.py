"""North Dakota State University Extension, guidance on generators for farm motors: 4 kW to start and 1 kW to run for
each hp, so 8000 W to start 2 hp.

The rule counts watts, and a starting motor draws about twice that in volt-amperes: it is a floor for an estimate of
starting VA, and an estimate over three times it would be out of all proportion.
"""

from __future__ import annotations

from optimizer.vocabulary.motor_tables import estimated_start_va


def test_estimate_is_not_below_the_rule() -> None:
    assert 8000.0 < estimated_start_va(2.0, 230.0) < 3 * 8000.0
