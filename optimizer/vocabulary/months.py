"""The twelve months by name, January first."""

from __future__ import annotations

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
SHORT_MONTHS = tuple(name[:3] for name in MONTHS)
