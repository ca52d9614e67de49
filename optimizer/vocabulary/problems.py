"""What can be wrong with what a person gave: a problem, its place, and the closed list of kinds.

A problem is a value. Checks return them, the readers collect them, and only ``optimizer/writing`` makes text of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import SequenceMatcher, get_close_matches

from optimizer.vocabulary.problem_kinds import KINDS, ProblemKind

LONGEST_CELL = 4000  # characters; no figure, name or note is longer, and a longer cell is a mishap of its own
CLOSE_ENOUGH = 0.6  # likeness, 0 to 1, from which one name may stand for another


@dataclass(frozen=True)
class Place:
    """Where a problem is. ``row`` counts as a spreadsheet does (header 1); in a TOML file it is the line.

    ``column`` is the spreadsheet letter; ``name`` the column's name or the dotted key ("load 2.running").
    """

    file: str
    row: int | None = None
    column: str | None = None
    name: str | None = None
    cell: str | None = None


@dataclass(frozen=True)
class Problem:
    """A kind of problem at a place; ``slots`` fill the kind's templates."""

    kind: ProblemKind
    place: Place
    slots: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Fault:
    """A problem that does not know its place yet: what a check of one value returns."""

    kind: str
    slots: Mapping[str, str] = field(default_factory=dict)

    def at(self, place: Place) -> Problem:
        """The same with its place."""
        return Problem(KINDS[self.kind], place, self.slots)


class InputError(Exception):
    """The input is wrong. ``problems`` holds all of them, by file, row and column."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = in_order(problems)
        super().__init__(f"{len(self.problems)} problems")


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Problems sorted by file, row and column (A before AA)."""

    def key(problem: Problem) -> tuple[str, int, int, str, str]:
        place = problem.place
        column = place.column or ""
        return (place.file, place.row or 0, len(column), column, place.name or "")

    return tuple(sorted(problems, key=key))


def closest(word: str, known: Sequence[str], at_least: float = CLOSE_ENOUGH) -> str | None:
    """The known word most like ``word``, or None where none is like it; capitals do not count."""
    if len(word) > 2 * max((len(k) for k in known), default=0):
        return None
    small = {k.lower(): k for k in reversed(known)}
    found = get_close_matches(word.lower(), list(small), n=1, cutoff=at_least)
    return small[found[0]] if found else None


def perhaps(word: str, known: Sequence[str]) -> str:
    """The slot of a mend that names what may be meant, empty where nothing is alike."""
    near = closest(word, known)
    return f"; perhaps {near}" if near else ""


def likeness(word: str, other: str) -> float:
    """How alike two words are, 0 to 1."""
    return SequenceMatcher(None, word, other).ratio()
