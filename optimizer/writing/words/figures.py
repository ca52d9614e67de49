"""How a figure is printed: digits, units and money; and a limit's working filled with its figures."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from math import floor
from typing import Any

from optimizer.rules.limits import Limit

# Digits behind the point by unit: as fine as the trade reads its instruments and sheets.
DIGITS = {
    "V": 1, "A": 1, "W": 0, "VA": 0, "Wh": 0, "s": 2, "h": 1, "Hz": 0, "d": 2, "mm": 0, "kg": 1, "m2": 1,
    "L": 0, "%": 1, "mohm": 1, "degC": 1, "degF": 1, "factor": 2, "factor4": 4, "count": 0, "money": 2,
}  # fmt: skip
BARE = {"factor", "factor4", "count", "money"}  # printed without a unit behind
SIGNS = {"USD": "$", "EUR": "€", "GBP": "£"}
_SLOT = re.compile(r"\{(\w+)(?::(\w+|%))?\}")


def number(value: float, digits: int) -> str:
    """A number with thousands separated; trailing zeros of whole numbers of a unit are kept off."""
    text = f"{value:,.{digits}f}"
    return text if text.strip("-0.,") else text.lstrip("-")


def figure(value: Any, unit: str) -> str:  # a number of numpy or of Python, or a text
    """A value with its unit: "285.1 V", "12,300 VA"."""
    if isinstance(value, str):
        return value
    if unit == "tax":  # said only where there is any
        return f" and tax {figure(value, 'money')}" if value else ""
    text = number(float(value), DIGITS.get(unit, 0))
    if unit in ("s", "h", "factor") and "." in text:
        text = text.rstrip("0").rstrip(".")
    return text if unit in BARE or not unit else f"{text} {unit}"


def lasting(days: float) -> float:
    """Days that something lasts, as they are printed: never said to be more than they are."""
    return floor(days * 100 + 1e-6) / 100 if days < float("inf") else days


def working(limit: Limit, slots: Mapping[str, Any]) -> str:
    """The limit's rule with this bundle's figures in it."""
    return _SLOT.sub(lambda m: figure(slots[m.group(1)], m.group(2) or ""), limit.working)


def money(cents: int, currency: str) -> str:
    """Money with its sign, or its code behind where it has none: "$6,412.50"."""
    text = f"{Decimal(cents).scaleb(-2):,.2f}"
    return f"{SIGNS[currency]}{text}" if currency in SIGNS else f"{text} {currency}"


def plain_money(cents: int) -> str:
    """Money inside a table whose currency is said elsewhere: "6,412.50"."""
    return f"{Decimal(cents).scaleb(-2):,.2f}"


def share(value: float) -> str:
    """A share as a percentage: "0.4 %", "67 %"."""
    percent = value * 100
    return f"{percent:.1f} %" if abs(percent) < 10 else f"{percent:,.0f} %"
