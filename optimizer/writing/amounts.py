"""Money and figures as other programs read them."""

from __future__ import annotations

from math import isfinite

DIGITS = 9  # significant digits of a figure: more than any of them is known to, fewer than the last bits


def amount(cents: int) -> str:
    """Money as text with two decimals: "6412.50"."""
    return f"{'-' if cents < 0 else ''}{abs(cents) // 100}.{abs(cents) % 100:02d}"


def figure(value: float) -> float | int | None:
    """A figure; None where it is infinite."""
    return float(f"{value:.{DIGITS}g}") if isfinite(value) else None
