"""NFPA 70 (NEC), article 430: full-load amps (430.248), locked rotor (430.251(A)), code letters (430.7(B)).

The 20 hp example at 460 V is a published one; the table values are from memory. Table values are equal; amps from a
code letter are printed with one decimal, and 0.1 A is asked.
"""

from __future__ import annotations

import math

import pytest

from optimizer.rules.bank import bank_current
from optimizer.rules.load_figures import load_figures
from optimizer.vocabulary.motor_tables import (
    apparent_power,
    estimated_start_va,
    full_load_amps,
    locked_rotor_va,
    three_phase_start_va,
)
from tests.mutations.parts import amps as amps_of
from tests.mutations.parts import months, pump


def test_full_load_amps() -> None:
    """2 hp at 230 V: 12 A."""
    assert full_load_amps(2.0, 230.0) == 12.0


def test_locked_rotor_amps() -> None:
    """1.5 hp at 230 V: 60 A."""
    assert estimated_start_va(1.5, 230.0) / 230.0 == pytest.approx(60.0, abs=1e-9)


def test_code_letter_three_phase() -> None:
    """20 hp, 460 V, three phases, letter G (6.29 kVA/hp): 157.9 A."""
    assert locked_rotor_va("G", 20.0) / (460.0 * math.sqrt(3)) == pytest.approx(157.9, abs=0.1)


def test_code_letter_single_phase() -> None:
    """1.5 hp, 230 V, letter K (to 8.99 kVA/hp): 58.6 A."""
    figures = load_figures(pump(voltage_v=230.0, starting=None, locked_rotor_code="K", rated_hp=1.5), months(4.0))
    assert figures.start_va / 230.0 == pytest.approx(58.6, abs=0.1)


def test_start_at_converter_and_bank() -> None:
    """60 A at 230 V are 13.8 kVA (formula); at power factor 0.8, 90 % and 48 V they are 255.6 A from the bank."""
    figures = load_figures(pump(voltage_v=230.0, starting=None, rated_hp=1.5, starting_power_factor=0.8), months(4.0))
    assert figures.start_va / 1000 == pytest.approx(13.8, abs=0.01)
    assert float(bank_current(figures.start_w, 0.0, 0.90, 0.0, 48.0)) == pytest.approx(255.6, abs=0.1)


@pytest.mark.parametrize(("hp", "amps"), [(1.0, 30), (2.0, 50), (3.0, 64), (5.0, 92), (7.5, 127), (10.0, 162)])
def test_locked_rotor_amps_of_three_phase_motors(hp: float, amps: int) -> None:
    """NEC Table 430.251(B), design B at 230 V: the kVA are those amps times 230 V times the root of three."""
    assert round(three_phase_start_va(hp) / apparent_power(230.0, 1.0, True)) == amps


def test_a_three_phase_motor_has_the_root_of_three() -> None:
    """50 A at 230 V start with 19.92 kVA; 6.8 A run on 2,709 VA (formula)."""
    assert apparent_power(230.0, 50.0, True) / 1000 == pytest.approx(19.92, abs=0.005)
    assert apparent_power(230.0, 6.8, True) == pytest.approx(2709.0, abs=0.5)
    motor = load_figures(
        pump(voltage_v=230.0, running=amps_of(6.8), starting=amps_of(50.0), motor="three-phase"), months(4.0)
    )
    assert (motor.running_va, motor.start_va) == pytest.approx((2708.9, 19918.6), abs=0.1)
    assert motor.motor_a == pytest.approx(6.8)
