"""The staircase of cost as CSV."""

from __future__ import annotations

from catalog.part_kinds import ONE_MODEL
from optimizer.answers.budget_staircase import Staircase
from optimizer.answers.stair_quantity import StairQuantity
from optimizer.writing.content.staircase import UNITS, changes, shown_level
from optimizer.writing.words.json_figures import amount
from optimizer.writing.words.phrases import pieces_of
from optimizer.writing.words.spreadsheet import csv_text

DIGITS = {StairQuantity.AUTONOMY: 2, StairQuantity.WATER: 1, StairQuantity.RESERVE: 0, StairQuantity.HOURS: 0}
COLUMNS = ("step", "level", "unit", "total", "currency", "changes", *ONE_MODEL)


def stairs_csv(found: Staircase) -> str:
    """The staircase as CSV text."""
    rows: list[tuple[object, ...]] = [COLUMNS]
    for place, (stair, said) in enumerate(zip(found.stairs, changes(found), strict=True)):
        value = shown_level(found, stair)
        pieces = pieces_of(stair.bundle)
        parts = [pieces.get(kind, "") for kind in ONE_MODEL]
        level = f"{value:.{DIGITS[found.quantity]}f}"
        currency = found.shown.catalog.currency
        rows.append((place + 1, level, UNITS[found.quantity], amount(stair.cents), currency, said, *parts))
    return csv_text(rows)
