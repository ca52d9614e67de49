"""The quantity grammar. Conversions are held against exact definitions (in, ft, gal, degF, hp by its foot-pounds), and
the table of sizes against the full list of units of pint and the printed factors of NIST Special Publication 811.
"""

from __future__ import annotations

import subprocess
import sys
from functools import cache
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.vocabulary.problems import Fault
from optimizer.vocabulary.units import SIZES, UNITS, Quantity, convert, parse_quantity, to_unit

READ = [
    ("14 degF", "temperature", -10.0),
    ("-9 degC", "temperature", -9.0),
    ("-40 degF", "temperature", -40.0),
    ("8.1 A", "running", 8.1),
    ("8.6 kVA", "running", 8600.0),
    ("1.2kW", "running", 1200.0),
    (" 41 A ", "starting", 41.0),
    ("310 ft", "length", 94.488),
    ("10 in", "length", 0.254),
    ("900 gal", "volume", 3406.8706056),
    ("2 m^3", "volume", 2000.0),
    ("38 L/min", "flow", 2280.0),
    ("12 gpm", "flow", 12 * 3.785411784 * 60),
    ("30 gph", "flow", 30 * 3.785411784),
    ("0.5 L/s", "flow", 1800.0),
    ("90 min", "hours", 1.5),
    ("90 min", "time", 5400.0),
    ("1.5 kW", "motor", 1500 / (550 * 0.3048 * 0.45359237 * 9.80665)),
    ("100 ft^2", "area", 9.290304),
    ("+.5 kV", "voltage", 500.0),
    ("5. V", "voltage", 5.0),
    ("50 psi", "pressure", 50 * 0.45359237 * 9.80665 / 0.0254**2 / 1000),
    ("2.5 bar", "pressure", 250.0),
    ("250 kPa", "pressure", 250.0),
]  # fmt: skip


@pytest.mark.parametrize(("text", "kind", "value"), READ)
def test_quantities_are_read_into_base_units(text: str, kind: str, value: float) -> None:
    quantity = parse_quantity(text, kind)
    assert isinstance(quantity, Quantity)
    assert quantity.value == pytest.approx(value, rel=1e-11)
    assert quantity.text == text.strip()


def test_a_round_figure_stays_round() -> None:
    for text, kind, value in (("14 degF", "temperature", -10.0), ("310 ft", "length", 94.488)):
        quantity = parse_quantity(text, kind)
        assert isinstance(quantity, Quantity)
        assert quantity.value == value  # to the last digit: a cold limit must not be missed by a hair


REFUSED = [
    ("8,1 A", "running", "decimal-comma", "8.1 A"),
    ("1,200.5 W", "running", "decimal-comma", "1200.5 W"),
    ("1.200,5 W", "running", "decimal-comma", "1200.5 W"),
    ("14 F", "temperature", "unknown-unit", "14 degF"),
    ("14 C", "temperature", "unknown-unit", "14 degC"),
    ("14 °F", "temperature", "unknown-unit", "14 degF"),
    ("41 a", "starting", "unknown-unit", "41 A"),
    ("41 amps", "starting", "unknown-unit", "41 A"),
    ("2 kva", "running", "unknown-unit", "2 kVA"),
    ("2 kWh", "running", "unknown-unit", "kWh is energy, not power"),
    ("900 gallons", "volume", "unknown-unit", "900 gal"),
    ("38 lpm", "flow", "unknown-unit", "38 L/min"),
    ("50 PSI", "pressure", "unknown-unit", "50 psi"),
    ("50 psig", "pressure", "unknown-unit", "50 psi"),
    ("50 m", "pressure", "unknown-unit", "kPa"),
    ("60 m2", "area", "unknown-unit", "60 m^2"),
    ("1e3 W", "running", "unknown-unit", "A, W, kW"),
    ("8.1", "running", "missing-unit", "8.1 A"),
    (8.1, "running", "missing-unit", "8.1 A"),
    (38, "flow", "missing-unit", "38 L/h"),
    ("", "running", "not-a-quantity", "A"),
    ("A", "running", "not-a-quantity", "A"),
    ("1.2.3 A", "running", "unknown-unit", "A"),
    ("- 5 A", "running", "not-a-quantity", "A"),
    ("\u2212 9 degC", "temperature", "not-a-quantity", "degC"),
    ("٣ A", "running", "not-a-quantity", "A"),
    ("inf A", "running", "not-a-quantity", "A"),
    ("nan A", "running", "not-a-quantity", "A"),
    (True, "running", "not-a-quantity", "A"),
    (["8.1 A"], "running", "not-a-quantity", "A"),
    ("9" * 3000 + " A", "running", "not-finite", ""),
    ("9" * 5000 + " A", "running", "long-cell", ""),
]


@pytest.mark.parametrize(("text", "kind", "fault", "offered"), REFUSED)
def test_what_is_not_a_quantity_is_refused_with_what_is_meant(
    text: object, kind: str, fault: str, offered: str
) -> None:
    found = parse_quantity(text, kind)
    assert isinstance(found, Fault)
    assert found.kind == fault
    assert any(offered in slot for slot in found.slots.values())


@given(st.text(max_size=30), st.sampled_from(sorted(UNITS)))
def test_any_text_is_read_or_refused(text: str, kind: str) -> None:
    found = parse_quantity(text, kind)
    if isinstance(found, Quantity):
        assert found.unit in UNITS[kind]
        assert text.strip().endswith(found.unit)


@given(
    st.decimals(min_value=-100000, max_value=100000, places=3),
    st.sampled_from([(kind, unit) for kind, units in UNITS.items() for unit in units]),
)
def test_a_quantity_converts_back_to_what_was_written(figure: object, kind_unit: tuple[str, str]) -> None:
    kind, unit = kind_unit
    quantity = parse_quantity(f"{figure} {unit}", kind)
    assert isinstance(quantity, Quantity)
    assert to_unit(quantity.value, unit, kind) == pytest.approx(float(str(figure)), rel=1e-9, abs=1e-9)


def test_conversion_back_for_printing() -> None:
    assert to_unit(-10.0, "degF") == 14.0
    assert to_unit(3600.0, "h") == 1.0
    assert to_unit(1.5, "min", "hours") == 90.0
    assert to_unit(2500.0, "kW") == 2.5
    with pytest.raises(KeyError):
        to_unit(1.0, "furlong")


# the table of sizes ------------------------------------------------------------------------------------------------

PINT_NAMES = {
    "in": "inch", "ft": "foot", "gal": "US_liquid_gallon", "gpm": "US_liquid_gallon / minute",
    "gph": "US_liquid_gallon / hour", "hp": "horsepower", "VA": "volt_ampere", "kVA": "kilovolt_ampere",
    "K": "kelvin",
}  # fmt: skip

# NIST Special Publication 811 (2008), appendix B.8, as printed there: seven digits, exact ones with fewer
NIST = [
    ("hp", "W", 7.456999e02),
    ("psi", "kPa", 6.894757),
    ("bar", "kPa", 1.0e02),
    ("ft", "m", 3.048e-01),
    ("in", "m", 2.54e-02),
    ("ft^2", "m^2", 9.290304e-02),
    ("gal", "L", 3.785412),
    ("gpm", "L/s", 6.309020e-02),
]


@cache
def full_registry() -> Any:
    from pint import UnitRegistry

    return UnitRegistry()


def by_pint(value: float, unit: str, to: str) -> float:
    """The conversion by pint's own definitions, none of them ours."""
    quantity = full_registry().Quantity(value, PINT_NAMES.get(unit, unit))
    return float(quantity.to(PINT_NAMES.get(to, to)).magnitude)


def test_every_unit_of_the_grammar_has_a_size_and_no_other() -> None:
    assert set(SIZES) == {unit for units in UNITS.values() for unit in units}


@pytest.mark.parametrize("unit", SIZES)
def test_a_size_is_that_of_a_published_list_of_units(unit: str) -> None:
    size = SIZES[unit]
    at_zero = by_pint(0.0, unit, size.of)
    assert by_pint(1.0, unit, size.of) - at_zero == pytest.approx(size.value, rel=1e-12)
    assert at_zero == pytest.approx(size.zero, rel=1e-12)


@pytest.mark.parametrize(("kind", "unit"), [(kind, unit) for kind, units in UNITS.items() for unit in units])
@pytest.mark.parametrize("value", [-40.0, 1.0, 32.0, 98.765432])
def test_a_conversion_is_that_of_a_published_list_of_units(kind: str, unit: str, value: float) -> None:
    base = UNITS[kind][unit]
    assert convert(value, unit, base) == pytest.approx(by_pint(value, unit, base), rel=1e-11, abs=1e-11)
    assert convert(value, base, unit) == pytest.approx(by_pint(value, base, unit), rel=1e-11, abs=1e-11)


@pytest.mark.parametrize(("unit", "to", "printed"), NIST)
def test_a_factor_is_the_printed_one(unit: str, to: str, printed: float) -> None:
    assert float(f"{convert(1.0, unit, to):.7g}") == printed


def test_what_does_not_measure_the_same_is_not_converted() -> None:
    with pytest.raises(ValueError, match="VA"):
        convert(1.0, "A", "VA")
    with pytest.raises(KeyError):
        convert(1.0, "m", "furlong")


def test_a_conversion_loads_no_library_of_units() -> None:
    code = (
        "import sys; from optimizer.vocabulary.units import parse_quantity\n"
        "assert parse_quantity('14 degF', 'temperature').value == -10.0\nassert 'pint' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
