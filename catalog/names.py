"""Names that a person cannot tell apart, cannot see whole, or would take for a line of our own."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterator, Sequence

from catalog.sheet_data import CsvSheet
from optimizer.vocabulary.problems import Fault, Place, Problem

OWN_LINES = ("freight", "subtotal", "tax", "total")  # what stands beside part ids in the lists of what to buy
# blank signs and marks without a width that count as printable
_BLANK = re.compile("[\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180f\u2800\u3164\ufe00-\ufe0f\uffa0\U000e0100-\U000e01ef]")


def unseen(name: str) -> str:
    """The first sign of a name that cannot be seen, in words; "" where there is none."""
    for sign in name:
        if not sign.isprintable() or _BLANK.match(sign):
            return f"{unicodedata.name(sign, 'control character').lower()}, U+{ord(sign):04X}"
    return ""


def folded(name: str) -> str:
    """A name without what the eye passes over: case, spaces, invisible marks, and how a sign is stored."""
    form = name if name.isascii() else unicodedata.normalize("NFKC", name)
    return "".join(sign for sign in form.casefold() if not sign.isspace() and not unseen(sign))


def name_problems(sheets: Sequence[CsvSheet], column: str, names: Collection[str] | None = None) -> list[Problem]:
    """Names with a mark that cannot be seen, that differ in nothing that can be, or that are a line of our own.

    Each wrong name is one problem, at its first cell; of alike names the one that stands first is taken as right.
    ``names`` are all of them, where they are known already.
    """
    distinct = set().union(*(sheet.columns[column] for sheet in sheets)) if names is None else set(names)
    joined = "".join(distinct)
    tidy = joined.isascii() and joined.isprintable() and " " not in joined and joined == joined.lower()
    return [] if tidy and not distinct & set(OWN_LINES) else list(_named_problems(sheets, column))


def unknown_spelling(name: str, other: str, place: Place, rows: str) -> Problem:
    """The problem of a price's part that is a known one but for what the eye passes over."""
    return Fault("misspelt-part", {"other": other, "mark": unseen(name) or "case or spaces", "rows": rows}).at(place)


def _named_problems(sheets: Sequence[CsvSheet], column: str) -> Iterator[Problem]:
    seen: set[str] = set()
    first: dict[str, tuple[str, CsvSheet, int]] = {}
    for sheet in sheets:
        for position, name in enumerate(sheet.columns[column]):
            if not name or name in seen:
                continue
            seen.add(name)
            fold = folded(name)
            place = sheet.place(position, column, name)
            if mark := unseen(name):
                yield Fault("unseen-mark", {"mark": mark}).at(place)
            elif fold in first:
                other, where, row = first[fold]
                slots = {"other": other, "file": where.file, "row": str(int(where.row[row]))}
                yield Fault("alike-names", slots).at(place)
            elif column == "part" and fold in OWN_LINES:
                yield Fault("own-line", {"lines": ", ".join(OWN_LINES)}).at(place)
            first.setdefault(fold, (name, sheet, position))


def part_ids(sheets: list[CsvSheet]) -> tuple[set[str], list[Problem]]:
    """All part ids, and those that stand twice. Ids of rows that are faulty otherwise count too."""
    ids = [part for sheet in sheets for part in sheet.columns["part"] if part]
    ids += [part for sheet in sheets for part, _ in sheet.loose_parts]
    known = set(ids)
    if len(known) == len(ids):
        return known, []
    first: dict[str, tuple[str, int]] = {}
    problems = []
    for sheet in sheets:
        rows = zip(sheet.row.tolist(), sheet.columns["part"], strict=True)
        stated = [(row, part, position) for position, (row, part) in enumerate(rows)]
        stated += [(row, part, -1) for part, row in sheet.loose_parts]
        for row, part, position in sorted(stated):
            if part in first and position >= 0:
                slots = {"part": part, "file": first[part][0], "row": str(first[part][1])}
                problems.append(Fault("doubled-part", slots).at(sheet.place(position, "part", part)))
            elif part:
                first.setdefault(part, (sheet.file, row))
    return known, problems
