"""NFPA 70 (NEC), 690.8 and 690.9 on currents and fuses, 240.6(A) standard ratings.

1.25 of the short-circuit current and the string fuse example (three and four strings of 5 A modules with a 15 A
series fuse) are read in the trade's account of the rule; the converter's battery input of 690.8(A) is from memory.
Answers follow by exact arithmetic: 0.001 A, or half of the last printed digit.
"""

from __future__ import annotations

import pytest

from optimizer.rules.bank import bank_current
from optimizer.rules.energy import protection_current
from optimizer.rules.strings import back_feed, fuse_rating, is_fused
from tests.mutations.parts import audited, bundle, job, panel


def test_source_circuit_current() -> None:
    """Isc 10.74 A: 13.425 A."""
    read = audited("tracker-current", job(), bundle(panel=panel(isc_a=10.74), strings=((8, 1),)))[0]
    assert read == pytest.approx(13.425, abs=0.001)


@pytest.mark.parametrize(("isc_a", "rating_a"), [(9.5, 15.0), (13.9, 25.0)])
def test_next_standard_rating(isc_a: float, rating_a: float) -> None:
    """1.25 x 1.25 x 9.5 A = 14.84 A takes 15 A; 13.9 A gives 21.72 A and takes 25 A."""
    assert float(fuse_rating(isc_a, 60)) == rating_a


@pytest.mark.parametrize(("strings", "amps", "fused"), [(3, 12.5, False), (4, 18.75, True)])
def test_string_fuses(strings: int, amps: float, fused: bool) -> None:
    """Modules of Isc 5 A and a 15 A series fuse: three strings need none, four do."""
    assert float(back_feed(strings, 5.0)) == amps
    assert bool(is_fused(strings, 5.0, 15.0)) is fused


def test_converter_input_at_the_lowest_battery_voltage() -> None:
    """6000 W, 90 %, 44 V: 151.5 A, and 1.25 of it, 189.4 A, for the overcurrent device."""
    assert float(bank_current(6000.0, 0.0, 0.90, 0.0, 44.0)) == pytest.approx(151.5, abs=0.05)
    assert float(protection_current(6000.0, 0.90, 0.0, 44.0)) == pytest.approx(189.4, abs=0.05)
