"""Problems as text: where, which, what was expected, how to mend it. The only place that fills their templates."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from pathlib import PurePath
from textwrap import wrap

from optimizer.vocabulary.problems import Place, Problem, in_order

WIDTH = 80  # columns of an ordinary terminal
CELL = 40  # characters of a cell that are shown
SLOT = 400  # characters of a slot that are shown
SHOWN = 50  # problems of one kind in one column of one file that are shown; the rest are counted
LINED = (".toml", ".json")  # files whose rows are lines


def clean(text: str, most: int) -> str:
    """A text on one line without control characters, shortened to ``most`` characters."""
    short = text if len(text) <= most else text[: most - 3] + "..."
    return "".join(sign if sign.isprintable() else f"\\x{ord(sign):02x}" for sign in short)


def place_text(place: Place) -> str:
    """Where: ``panels.csv row 14, column C (voc_v): "49,5"``."""
    words = clean(place.file, SLOT)
    if place.row is not None:
        words += f" {'line' if PurePath(place.file).suffix in LINED else 'row'} {place.row}"
    if place.column:
        words += f", column {place.column}"
    if place.name:
        words += f" ({clean(place.name, CELL)})"
    if place.cell is not None and place.cell != place.name:
        words += f': "{clean(place.cell, CELL)}"'
    return words


def _filled(template: str, problem: Problem) -> str:
    return template.format_map({name: clean(text, SLOT) for name, text in problem.slots.items()})


def expected_text(problem: Problem) -> str:
    """What was expected, as a sentence."""
    return _filled(problem.kind.expected, problem)


def mend_text(problem: Problem) -> str:
    """How to mend it, as a sentence."""
    return _filled(problem.kind.mend, problem)


def problem_lines(problem: Problem) -> list[str]:
    """One problem: its place with the kind at the right edge, then what was expected and the mend, indented."""
    lines = wrap(place_text(problem.place), WIDTH, break_on_hyphens=False)
    room = WIDTH - len(lines[-1]) - len(problem.kind.id)
    if room >= 2:
        lines[-1] += " " * room + problem.kind.id
    else:
        lines.append(problem.kind.id.rjust(WIDTH))
    for sentence in (expected_text(problem), mend_text(problem)):
        lines += wrap(sentence, WIDTH, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False)
    return lines


def problems_text(problems: Iterable[Problem], files_read: int) -> str:
    """All problems and the line that counts them; of very many alike the first are shown."""
    ordered = in_order(problems)
    alike: Counter[tuple[str, str, str | None]] = Counter()
    lines: list[str] = []
    for problem in ordered:
        group = (problem.place.file, problem.kind.id, problem.place.column)
        alike[group] += 1
        if alike[group] <= SHOWN:
            lines += problem_lines(problem)
    for (file, kind, column), count in alike.items():
        if count > SHOWN:
            where = f"{file}, column {column}" if column else file
            lines.append(f"{where}: {count - SHOWN} more of {kind}.")
    files = len({problem.place.file for problem in ordered})
    total = f"{len(ordered)} problem{'' if len(ordered) == 1 else 's'}"
    read = f"{files} of {max(files, files_read)} file{'' if max(files, files_read) == 1 else 's'}"
    return "\n".join([*lines, f"{total} in {read}; nothing was solved."])


def warning_text(warning: Problem) -> str:
    """A warning as one line of prose."""
    return f"{place_text(warning.place)}: {expected_text(warning)} {mend_text(warning)}"
