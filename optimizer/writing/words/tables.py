"""Tables and wrapped text within the width of a page."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

WIDTH = 80  # columns of a page
GAP = 2  # columns that stand between two columns of a table
NARROWEST = 6  # columns that a shrunk column of a table keeps
LABEL = 14  # columns of a label before its text


def table(
    rows: Sequence[Sequence[str]], headers: Sequence[str] = (), align: str = "", *, indent: int = 1, width: int = WIDTH
) -> str:
    """A plain table. ``align`` has "l" or "r" for each column (default "l"); the widest texts wrap to fit ``width``.

    A column without any text is left out.
    """
    from tabulate import tabulate  # only what prints a table waits for it

    lines = [list(headers), *map(list, rows)] if headers else [list(row) for row in rows]
    if not lines:
        return ""
    filled = [column for column in range(len(lines[0])) if any(line[column] for line in lines)]
    lines = [[line[column] for column in filled] for line in lines]
    sides = "".join(align.ljust(filled[-1] + 1, "l")[column] for column in filled)
    widths = [max(len(line[column]) for line in lines) for column in range(len(filled))]
    room = width - indent - GAP * (len(widths) - 1)
    words = [max(len(word) for line in lines for word in line[c].split() or [""]) for c in range(len(filled))]
    for least in (words, [NARROWEST] * len(filled)):  # words are broken only where nothing else is left
        _shrink(widths, room, [c for c in range(len(filled)) if sides[c] == "l"], least)
    cells = [["\n".join(fold(cell, most)) for cell, most in zip(line, widths, strict=True)] for line in lines]
    drawn = tabulate(
        cells, tablefmt="plain", disable_numparse=True, colalign=[{"l": "left", "r": "right"}[side] for side in sides],
    )  # fmt: skip
    return "\n".join((" " * indent + line).rstrip() for line in drawn.splitlines())


def _shrink(widths: list[int], room: int, columns: list[int], least: list[int]) -> None:
    """Narrow the widest of the columns, a step at a time, until all fit or none may be narrower."""
    while sum(widths) > room:
        loose = [column for column in columns if widths[column] > max(least[column], NARROWEST)]
        if not loose:
            return
        widths[max(loose, key=lambda column: widths[column])] -= 1


def fold(text: str, width: int) -> list[str]:
    """Text in lines of at most ``width``; words stay whole where they can."""
    return [text] if len(text) <= width else wrap(text, width, break_on_hyphens=False)


def paragraph(text: str, *, label: str = "", indent: int = 1, width: int = WIDTH) -> str:
    """Wrapped text, with a label before it and its further lines under its first."""
    if not label:
        return "\n".join(" " * indent + line for line in fold(text, width - indent))
    lines = fold(text, width - LABEL)
    return "\n".join(f"{label if n == 0 else '':<{LABEL}}{line}" for n, line in enumerate(lines))


def bullet(text: str, mark: str = "-") -> str:
    """Wrapped text behind a mark."""
    room = len(mark) + 1
    return "\n".join(f"{' ' * len(mark) if n else mark} {line}" for n, line in enumerate(fold(text, WIDTH - room)))


def ends(left: str, right: str, width: int = WIDTH) -> str:
    """One line with a text at each end; two lines where they do not fit into one."""
    room = width - len(left) - len(right)
    return f"{left}{' ' * room}{right}" if room > 0 else f"{left}\n{right:>{width}}".rstrip()
