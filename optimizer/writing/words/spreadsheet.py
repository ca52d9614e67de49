"""Rows as CSV that a spreadsheet opens without finding a formula in it, whatever a person's files hold."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

from optimizer.vocabulary.control_signs import plain

# Signs that begin a formula, the wide ones too. A spreadsheet that takes semicolons for the ends of cells begins one
# behind each.
_FORMULA = re.compile(
    "((?:^|[;,|])[\\s\"']*)(?=[=+\\-@\N{FULLWIDTH EQUALS SIGN}\N{FULLWIDTH PLUS SIGN}\N{FULLWIDTH HYPHEN-MINUS}"
    "\N{FULLWIDTH COMMERCIAL AT}])"
)
_NUMBER = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?")


def cell(value: object) -> str:
    """A cell of a spreadsheet: what would begin a formula is kept from it by an apostrophe, as spreadsheets mark text.

    A plain number is none, whatever its sign. Source: OWASP, CSV Injection; from memory.
    """
    text = plain(str(value)).replace("\n", "\\x0a")
    return text if _NUMBER.fullmatch(text) else _FORMULA.sub(r"\1'", text)


def csv_text(rows: Iterable[Sequence[object]]) -> str:
    """Rows as CSV text."""
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows([cell(value) for value in row] for row in rows)
    return text.getvalue()
