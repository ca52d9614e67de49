"""Quantities as people write them ("8.1 A", "14 degF"): our own narrow grammar, then conversion.

The grammar decides what is a quantity: sign, digits, one point, one unit from the field's short list, spelt as the
trade does. A general units library reads "8,1 A" as 81 A and "14 F" as farads.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from optimizer.vocabulary.problems import LONGEST_CELL, Fault, closest

UNITS: Mapping[str, Mapping[str, str]] = {
    # field kind -> each unit that fits and the base unit it is kept in; the first is the base unit
    "voltage": {"V": "V", "kV": "V"},
    "current": {"A": "A", "mA": "A"},
    "power": {"W": "W", "kW": "W"},
    "apparent": {"VA": "VA", "kVA": "VA"},
    "running": {"A": "A", "W": "W", "kW": "W", "VA": "VA", "kVA": "VA"},
    "starting": {"A": "A", "VA": "VA", "kVA": "VA"},
    "energy": {"Wh": "Wh", "kWh": "Wh"},
    "temperature": {"degC": "degC", "degF": "degC"},
    "length": {"m": "m", "ft": "m", "mm": "m", "cm": "m", "in": "m"},
    "area": {"m^2": "m^2", "ft^2": "m^2"},
    "volume": {"L": "L", "gal": "L", "m^3": "L"},
    "flow": {"L/h": "L/h", "L/min": "L/h", "L/s": "L/h", "gpm": "L/h", "gph": "L/h", "m^3/h": "L/h"},
    "time": {"s": "s", "min": "s", "h": "s"},
    "hours": {"h": "h", "min": "h"},
    "motor": {"hp": "hp", "kW": "hp", "W": "hp"},
    "angle": {"deg": "deg"},
    "pressure": {"kPa": "kPa", "bar": "kPa", "psi": "kPa"},
}

SPELLINGS: Mapping[str, tuple[str, ...]] = {
    # how else people write a unit, in small letters -> the units that may be meant; only to offer, never to read
    "f": ("degF",), "°f": ("degF",), "deg f": ("degF",), "fahrenheit": ("degF",),
    "c": ("degC",), "°c": ("degC",), "deg c": ("degC",), "celsius": ("degC",), "℃": ("degC",), "℉": ("degF",),
    "amp": ("A",), "amps": ("A",), "ampere": ("A",), "amperes": ("A",),
    "volt": ("V",), "volts": ("V",), "watt": ("W",), "watts": ("W",), "kilowatt": ("kW",), "kilowatts": ("kW",),
    "horsepower": ("hp",), "ps": ("hp",), "psig": ("psi",), "lb/in2": ("psi",), "bars": ("bar",), "kpa": ("kPa",),
    "gallon": ("gal",), "gallons": ("gal",), "litre": ("L",), "litres": ("L",), "liter": ("L",), "liters": ("L",),
    "m3": ("m^3",), "m³": ("m^3",), "m2": ("m^2",), "m²": ("m^2",), "sqm": ("m^2",),
    "ft2": ("ft^2",), "ft²": ("ft^2",), "sqft": ("ft^2",), "sq ft": ("ft^2",),
    "lpm": ("L/min",), "l/m": ("L/min",), "lps": ("L/s",), "lph": ("L/h",), "gal/min": ("gpm",), "gal/h": ("gph",),
    "m3/h": ("m^3/h",), "m³/h": ("m^3/h",),
    "foot": ("ft",), "feet": ("ft",), "'": ("ft",), "inch": ("in",), "inches": ("in",), '"': ("in",),
    "metre": ("m",), "metres": ("m",), "meter": ("m",), "meters": ("m",),
    "°": ("deg",), "degree": ("deg",), "degrees": ("deg",),
    "sec": ("s",), "secs": ("s",), "second": ("s",), "seconds": ("s",), "minute": ("min",), "minutes": ("min",),
    "mins": ("min",), "hr": ("h",), "hrs": ("h",), "hour": ("h",), "hours": ("h",),
}  # fmt: skip


# units of a field between which a bare number does not tell, where a person writes none of them elsewhere
LIKELY: Mapping[str, tuple[str, ...]] = {
    "temperature": ("degC", "degF"), "running": ("A", "W", "VA"), "starting": ("A", "VA"), "energy": ("Wh", "kWh"),
    "length": ("m", "ft"), "area": ("m^2", "ft^2"), "volume": ("L", "gal"), "flow": ("L/h", "L/min", "gpm"),
    "time": ("s",), "hours": ("h", "min"), "motor": ("hp", "kW"), "pressure": ("kPa", "psi"),
}  # fmt: skip

# what a unit of something else is a measure of, in small letters
ELSEWHERE: Mapping[str, str] = {
    "hp": "hp is the motor's power, which its key rated holds; running is what it draws",
    "wh": "Wh is energy, not power", "kwh": "kWh is energy, not power", "ah": "Ah is charge, not amps",
}  # fmt: skip


@dataclass(frozen=True)
class Size:
    """How large a unit is, in units of ``of``. ``zero``: where its scale starts, in K; only temperatures have one."""

    of: str
    value: float
    zero: float = 0.0


# Exact by definition, after NIST Special Publication 811, appendix B: in, ft, gal (231 cubic inches), degF, bar, hp
# (550 foot-pounds a second), psi (the weight of 0.45359237 kg at 9.80665 m/s2 on a square inch).
SIZES: Mapping[str, Size] = {
    "V": Size("V", 1.0), "kV": Size("V", 1000.0),
    "A": Size("A", 1.0), "mA": Size("A", 0.001),
    "W": Size("W", 1.0), "kW": Size("W", 1000.0), "hp": Size("W", 745.69987158227022),
    "VA": Size("VA", 1.0), "kVA": Size("VA", 1000.0),
    "Wh": Size("Wh", 1.0), "kWh": Size("Wh", 1000.0),
    "degC": Size("K", 1.0, 273.15), "degF": Size("K", 5 / 9, 233.15 + 200 / 9),
    "m": Size("m", 1.0), "mm": Size("m", 0.001), "cm": Size("m", 0.01), "in": Size("m", 0.0254),
    "ft": Size("m", 0.3048),
    "m^2": Size("m^2", 1.0), "ft^2": Size("m^2", 0.09290304),
    "L": Size("L", 1.0), "gal": Size("L", 3.785411784), "m^3": Size("L", 1000.0),
    "L/h": Size("L/h", 1.0), "L/min": Size("L/h", 60.0), "L/s": Size("L/h", 3600.0), "m^3/h": Size("L/h", 1000.0),
    "gph": Size("L/h", 3.785411784), "gpm": Size("L/h", 227.12470704),
    "deg": Size("deg", 1.0),
    "s": Size("s", 1.0), "min": Size("s", 60.0), "h": Size("s", 3600.0),
    "kPa": Size("kPa", 1.0), "bar": Size("kPa", 100.0), "psi": Size("kPa", 6.8947572931683609),
}  # fmt: skip

DIGITS = 12  # significant digits kept by a conversion, so that 14 degF is -10 degC and not a hair beside it

_QUANTITY = re.compile(r"\s*([+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+))\s*(\S.*?)?\s*", re.DOTALL)
_COMMA = re.compile(r"\s*([+-]?[0-9.]*,[0-9.,]*)\s*(\S*)\s*")


@dataclass(frozen=True)
class Quantity:
    """A value in its base unit, with the unit and the text as written."""

    value: float
    unit: str
    text: str


def parse_quantity(text: object, field_kind: str, own: str = "") -> Quantity | Fault:
    """Read a quantity such as "8.1 A" for a field of ``field_kind`` (a key of ``UNITS``). ``own``: the unit that the
    person writes such figures in elsewhere, which hints follow."""
    units = UNITS[field_kind]
    listed = ", ".join(units)
    base = own or next(iter(units))
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        return Fault("not-a-quantity", {"units": listed, "example": f"5 {base}"})
    if not isinstance(text, str):
        return Fault("missing-unit", {"units": listed, "example": _with_units(str(text), field_kind, own)})
    if len(text) > LONGEST_CELL:
        return Fault("long-cell", {"most": str(LONGEST_CELL), "length": str(len(text))})
    if comma := _COMMA.fullmatch(text):
        number, unit = comma.groups()
        return Fault("decimal-comma", {"pointed": f"{pointed(number)} {unit or base}"})
    match = _QUANTITY.fullmatch(text)
    if not match:
        return Fault("not-a-quantity", {"units": listed, "example": f"5 {base}"})
    number, unit = match.groups()
    if unit is None:
        return Fault("missing-unit", {"units": listed, "example": _with_units(number, field_kind, own)})
    if unit not in units:
        return Fault("unknown-unit", {"units": listed, "perhaps": _perhaps(number, unit, field_kind)})
    value = convert(float(number), unit, units[unit])
    if abs(value) == float("inf"):
        return Fault("not-finite", {"meaning": f"a figure in {unit}"})
    return Quantity(value, unit, text.strip())


def pointed(number: str) -> str:
    """A number with commas, as it would be with a point: the last of two different marks is the decimal one."""
    if "." in number and number.rfind(".") > number.rfind(","):
        return number.replace(",", "")
    whole, _, decimals = number.rpartition(",")
    return (
        f"{whole.replace(',', '').replace('.', '')}.{decimals}"
        if "." in number or number.count(",") == 1
        else (number.replace(",", ""))
    )


def _with_units(number: str, field_kind: str, own: str) -> str:
    """A bare number as it may have been meant: in the person's own unit, else in each that is as likely."""
    units = [own] if own else list(LIKELY.get(field_kind, (next(iter(UNITS[field_kind])),)))
    return '" or "'.join(f"{number} {unit}" for unit in units)


def _perhaps(number: str, unit: str, field_kind: str) -> str:
    """The slot of a mend that names the unit that may be meant; "" where none is near."""
    if meant := likely_unit(unit, field_kind):
        return f'; perhaps "{number} {meant}"'
    why = ELSEWHERE.get(unit.lower(), "")
    return f": {why}" if why else ""


def likely_unit(unit: str, field_kind: str) -> str | None:
    """The unit of the field that was probably meant, spelt in another way; None where it is spelt like none."""
    units = UNITS[field_kind]
    small = unit.lower()
    for meant in SPELLINGS.get(small, ()):
        if meant in units:
            return meant
    for known in units:
        if known.lower() == small:
            return known
    return closest(unit, list(units))


def convert(value: float, unit: str, to: str) -> float:
    """``value`` from one unit to another, rounded to 12 significant digits.

    Raises KeyError for a unit that is not known, ValueError where the two do not measure the same.
    """
    if unit == to:
        return value
    here, there = SIZES[unit], SIZES[to]
    if here.of != there.of:
        raise ValueError(f"{unit} is no measure of what {to} measures")
    if here.zero:
        converted = (value * here.value + here.zero - there.zero) / there.value
    else:
        converted = value * (here.value / there.value)
    return float(f"{converted:.{DIGITS}g}")


def to_unit(value: float, unit: str, field_kind: str | None = None) -> float:
    """A value in its base unit, converted to ``unit`` for printing.

    The base is that of ``field_kind``; without one, that of the first field kind that knows the unit (h and min count
    as time kept in s, kW and W as power kept in W). Raises KeyError for a unit that is in no list.
    """
    if field_kind is None:
        field_kind = next((kind for kind, units in UNITS.items() if unit in units), "")
    return convert(value, UNITS[field_kind][unit], unit)
