"""What can be wrong with what a person gave: a problem, its place, and the closed list of kinds.

A problem is a value. Checks return them, the readers collect them, and only ``optimizer/writing`` makes text of them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import SequenceMatcher, get_close_matches
from itertools import zip_longest

from optimizer.vocabulary.other_names import other_name
from optimizer.vocabulary.problem_kinds import KINDS, ProblemKind

LONGEST_CELL = 4000  # characters; no figure, name or note is longer, and a longer cell is a mishap of its own
CLOSE_ENOUGH = 0.6  # likeness, 0 to 1, from which names are looked at as near at all
SLIPS = 2  # letters by which a name may differ from one and still be a slip of it
ONE_SLIP = 1  # the same where each name means another thing by itself, as the kinds of motors do
LOOKED_THROUGH = 10  # of the names most alike
_DIGITS = re.compile("[0-9]+")


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


def closest(word: str, known: Sequence[str], most: int = SLIPS) -> str | None:
    """The known word that ``word`` is a slip of, or None where none is near; capitals do not count.

    A slip is up to ``most`` letters too many, too few or other ones, none in words of three letters and one in words of
    four; the first letter is right where there are two. A digit in place of another is no slip but another size.
    """
    if len(word) > 2 * max((len(k) for k in known), default=0):
        return None
    small = {k.lower(): k for k in reversed(known)}
    mine = word.lower()
    likely = get_close_matches(mine, list(small), n=LOOKED_THROUGH, cutoff=CLOSE_ENOUGH)
    near = [(slips, place) for place, other in enumerate(likely) if (slips := _slips(mine, other)) <= most]
    return small[likely[min(near)[1]]] if near else None


def _slips(word: str, other: str) -> int:
    """By how many letters two words differ; more than ``SLIPS`` where one is no slip of the other."""
    found = distance(word, other)
    size = max(len(word), len(other))
    if found > (0 if size <= 3 else 1 if size <= 4 else SLIPS) or (found > 1 and word[0] != other[0]):
        return SLIPS + 1
    pairs = zip_longest(_DIGITS.findall(word), _DIGITS.findall(other), fillvalue="")
    return found if all(_within(*sorted(pair, key=len)) for pair in pairs) else SLIPS + 1


def _within(fewer: str, more: str) -> bool:
    """Whether digits are others with some left out."""
    rest = iter(more)
    return all(digit in rest for digit in fewer)


def distance(word: str, other: str) -> int:
    """How many letters must be changed, added or left out, or exchanged with the next, to make one word of another; at
    once more than ``SLIPS`` where their lengths say so."""
    if abs(len(word) - len(other)) > SLIPS:
        return SLIPS + 1
    before: list[int] = []
    line = list(range(len(other) + 1))
    for row, mine in enumerate(word, start=1):
        earlier, before, line = before, line, [row]
        for column, theirs in enumerate(other, start=1):
            least = min(before[column] + 1, line[-1] + 1, before[column - 1] + (mine != theirs))
            if row > 1 and column > 1 and mine == other[column - 2] and word[row - 2] == theirs:
                least = min(least, earlier[column - 2] + 1)
            line.append(least)
    return line[-1]


def meant(word: str, known: Sequence[str], most: int = SLIPS) -> str | None:
    """The known name that a word is a slip of, or another name for; None where nobody can say."""
    other = other_name(word, known)
    return (other.name or None) if other is not None else closest(word, known, most)


def perhaps(word: str, known: Sequence[str], most: int = SLIPS) -> str:
    """The slot of a mend that names what may be meant, and why where it is called so elsewhere; "" where nothing is
    near."""
    other = other_name(word, known)
    if other is not None:
        return f"; perhaps {other.name}: {other.why}" if other.name else f": {other.why}"
    near = closest(word, known, most)
    return f"; perhaps {near}" if near else ""


def likeness(word: str, other: str) -> float:
    """How alike two words are, 0 to 1."""
    return SequenceMatcher(None, word, other).ratio()
