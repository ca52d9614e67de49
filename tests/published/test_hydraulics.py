"""Pumping: New Mexico State University Extension, Guide M-227, and Merkley & Allen, lecture notes on irrigation (water
horsepower, 3960 and 3956 gpm ft for each hp); Hazen-Williams in its published forms (4.52 psi/ft; 4.727 ft in cubic
feet a second, EPA, EPANET 2 Users Manual, from memory); BC Open Textbooks, plumbing 4c (2.31 ft for each psi).

Published constants are rounded, and each by another density of water: 3960 and 3956 lie 0.1 % apart, and both within
0.3 % of 1000 kg/m3 and 9.81 m/s2. Rows that a formula gives without a published example are marked "formula".
"""

from __future__ import annotations

import pytest

from optimizer.rules.hydraulics import (
    container_flow,
    electric_power,
    hydraulic_power,
    pipe_friction,
    pressure_head,
    total_dynamic_head,
    work_per_m3,
)
from optimizer.vocabulary.units import convert

FT = 0.3048
INCH = 0.0254
GPM = 231 * INCH**3 * 60 * 1000  # L/h: a US gallon is 231 cubic inches
HP = 550 * FT * 0.45359237 * 9.80665  # W: 550 foot-pounds a second
PSI = 0.45359237 * 9.80665 / INCH**2 / 1000  # kPa
CONSTANTS = 0.003  # by which rounded constants differ, as a share


def friction_ft(gpm: float, feet: float, inches: float, roughness: float) -> float:
    """The product's pipe friction in ft, from gpm, ft and inches."""
    return pipe_friction(feet * FT, inches * INCH, gpm * GPM, roughness) / FT


def test_water_horsepower() -> None:
    """10 gpm against 400 ft: 1.0101 hp (NMSU Guide M-227: gpm x ft / 3960)."""
    assert hydraulic_power(10 * GPM, 400 * FT) / HP == pytest.approx(1.0101, rel=CONSTANTS)


def test_gallons_and_feet_for_a_horsepower() -> None:
    """3956 gpm ft for each hp (Merkley & Allen: 33000 / (62.4 / 7.48052)); 62.4 lb/ft3 is rounded, by up to 0.08 %."""
    assert HP / hydraulic_power(GPM, FT) == pytest.approx(3956, rel=0.05 / 62.4)


def test_electric_power() -> None:
    """10 gpm against 400 ft, pump 0.55, motor 0.75: 1826 W by gpm x ft / 3960 x 746 (formula), 1829 W in SI."""
    watts = electric_power(10 * GPM, 400 * FT, 0.55, 0.75)
    assert watts == pytest.approx(1826, rel=CONSTANTS)
    assert watts == pytest.approx(1829, abs=1)


def test_hydraulic_power() -> None:
    """1 m3/h against 100 m: 272.5 W (formula)."""
    assert hydraulic_power(1000.0, 100.0) == pytest.approx(272.5, abs=0.01)


def test_kilowatts_of_litres_and_metres() -> None:
    """kW = L/s x m / 102 (textbooks on pumping, from memory)."""
    assert 3600 * 1000 / hydraulic_power(3600.0, 3600.0) == pytest.approx(102, abs=0.5)


def test_pumping_work() -> None:
    """0.002725 kWh for each m3 and m of head, over the efficiency (formula); 60 m at 40 %: 0.409 kWh."""
    assert work_per_m3(1.0, 1.0) == pytest.approx(0.002725, abs=5e-7)
    assert work_per_m3(60.0, 0.40) == pytest.approx(0.002725 * 60 / 0.40, rel=1e-4)


@pytest.mark.parametrize("gpm", [4.0, 10.0, 38.0])
def test_work_is_power_over_flow(gpm: float) -> None:
    """What an hour of pumping takes, by power and by work."""
    cubic_metres = gpm * GPM / 1000
    watts = electric_power(gpm * GPM, 75.0, 0.5, 0.7)
    assert watts / 1000 == pytest.approx(work_per_m3(75.0, 0.35) * cubic_metres, rel=1e-9)


def test_pipe_friction_of_a_long_line() -> None:
    """700 gpm through 8500 ft of 8.00 in, C 150: 61.5 ft (formula; the inputs are published ones)."""
    assert friction_ft(700, 8500, 8.0, 150) == pytest.approx(61.5, abs=0.1)


@pytest.mark.parametrize(
    ("gpm", "feet", "inches", "roughness"),
    [(700, 8500, 8.0, 150), (10, 100, 1.049, 150), (5, 300, 0.824, 140), (200, 30, 3.048, 100)],
)
def test_the_forms_of_hazen_williams_agree(gpm: float, feet: float, inches: float, roughness: float) -> None:
    """SI (10.67), psi/ft (4.52, exponent 4.87) and ft in cubic feet a second (4.727, exponent 4.871): within 0.5 %,
    which their rounded constants and exponents differ by.
    """
    psi_form = 4.52 * gpm**1.852 / (roughness**1.852 * inches**4.87) * feet * 2.31
    cfs = gpm * 231 / 12**3 / 60
    cfs_form = 4.727 * feet * cfs**1.852 / (roughness**1.852 * (inches / 12) ** 4.871)
    assert friction_ft(gpm, feet, inches, roughness) == pytest.approx(psi_form, rel=0.005)
    assert friction_ft(gpm, feet, inches, roughness) == pytest.approx(cfs_form, rel=0.005)


def test_pipe_friction_of_a_hundred_feet() -> None:
    """10 gpm through 100 ft of 1.049 in, C 150: 5.49 ft (formula)."""
    assert friction_ft(10, 100, 1.049, 150) == pytest.approx(5.49, abs=0.01)


def test_rougher_pipe() -> None:
    """C 140 for C 150: 1.1363 times the friction (formula)."""
    assert friction_ft(10, 100, 1.049, 140) / friction_ft(10, 100, 1.049, 150) == pytest.approx(1.1363, abs=0.0005)


def test_feet_of_head_for_a_psi() -> None:
    """2.31 ft for each psi (BC Open Textbooks, plumbing 4c), to the two decimals it is printed with."""
    assert round(pressure_head(PSI) / FT, 2) == 2.31
    assert convert(1.0, "psi", "kPa") == pytest.approx(PSI, rel=1e-11)


def test_feet_of_water() -> None:
    """A foot of water at 4 degC is 2.98898 kPa (NIST Special Publication 811, appendix B); standard gravity there is
    0.03 % less than 9.81 m/s2.
    """
    assert pressure_head(2.98898) / FT == pytest.approx(1.0, rel=5e-4)


def test_total_dynamic_head() -> None:
    """300 ft level, 15 ft rise, 50 psi (at 2.31: 115.5 ft), 5.77 ft friction: 436.3 ft (formula); our factor, 2.306, is
    within the half hundredth that 2.31 is rounded by, so within 0.25 ft for 50 psi.
    """
    pressure_ft = pressure_head(50 * PSI) / FT
    assert pressure_ft == pytest.approx(115.5, abs=50 * 0.005)
    assert total_dynamic_head(300, 15, 115.5, 5.77) == pytest.approx(436.3, abs=0.1)
    assert total_dynamic_head(300, 15, pressure_ft, 5.77) == pytest.approx(436.3, abs=0.1 + 50 * 0.005)


def test_drum_and_stopwatch() -> None:
    """5 US gallons in 30 s are 10 gpm (formula)."""
    assert container_flow(5 * 3.785411784, 30.0) / GPM == pytest.approx(10.0, rel=1e-9)
