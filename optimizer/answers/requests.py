"""What a person asks beyond the job: parts that must or may not be there, and inputs by name. Checked, not assumed."""

from __future__ import annotations

from collections.abc import Sequence

from catalog.part_kinds import CHOSEN
from catalog.reader import Catalog
from optimizer.candidates.terms import SearchTerms
from optimizer.vocabulary.problems import Fault, InputError, Place, perhaps


def terms_of(
    catalog: Catalog, must: Sequence[str], never: Sequence[str], equal_strings: bool = False,
    most_sellers: int | None = None,
) -> SearchTerms:  # fmt: skip
    """The terms of ``must`` ("part" or "part=2") and ``never``. Raises InputError with everything that is wrong."""
    problems = []
    asked: dict[str, tuple[str, int | None]] = {}
    for text in must:
        fault = _ask(catalog, text, asked)
        if fault is not None:
            problems.append(fault.at(Place("--must", cell=text)))
    for part in never:
        kind = catalog.kind_of(part)
        if kind is None:
            problems.append(_unknown(catalog, part).at(Place("--never", cell=part)))
        elif asked.get(kind, ("", None))[0] == part:
            problems.append(Fault("asked-and-barred").at(Place("--never", cell=part)))
    if problems:
        raise InputError(problems)
    return SearchTerms(must=asked, never=frozenset(never), equal_strings=equal_strings, most_sellers=most_sellers)


def _ask(catalog: Catalog, text: str, asked: dict[str, tuple[str, int | None]]) -> Fault | None:
    part, equals, number = text.partition("=")
    kind = catalog.kind_of(part)
    if kind is None:
        return _unknown(catalog, part)
    if kind not in CHOSEN:
        return Fault("follows-by-rule", {"kind": kind})
    if equals and not (number.isascii() and number.isdigit() and int(number) > 0):
        return Fault("not-a-count", {"example": f"{part}=2"})
    if asked.setdefault(kind, (part, int(number) if equals else None))[0] != part:
        return Fault("two-of-a-kind", {"kind": kind, "other": asked[kind][0]})
    return None


def part_named(catalog: Catalog, part: str) -> tuple[str, str]:
    """(kind, part) of a part that may be asked about. Raises InputError where there is none."""
    kind = catalog.kind_of(part)
    if kind is None:
        raise InputError([_unknown(catalog, part).at(Place("--not", cell=part))])
    if kind not in CHOSEN:
        raise InputError([Fault("follows-by-rule", {"kind": kind}).at(Place("--not", cell=part))])
    return kind, part


def _unknown(catalog: Catalog, part: str) -> Fault:
    names = (str(name) for table in catalog.tables.values() for name in table.part)
    return Fault("unknown-name", {"what": "a part", "perhaps": perhaps(part, sorted(names))})
