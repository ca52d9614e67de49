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
    """A plain table. ``align`` has "l" or "r" for each column (default "l"); the widest texts wrap to fit ``width``."""
    from tabulate import tabulate  # only what prints a table waits for it

    lines = [list(headers), *map(list, rows)] if headers else [list(row) for row in rows]
    if not lines:
        return ""
    sides = align.ljust(len(lines[0]), "l")
    widths = [max(len(line[column]) for line in lines) for column in range(len(lines[0]))]
    room = width - indent - GAP * (len(widths) - 1)
    while sum(widths) > room:
        widest = max((c for c in range(len(widths)) if sides[c] == "l"), key=lambda c: widths[c], default=None)
        if widest is None or widths[widest] <= NARROWEST:
            break
        widths[widest] -= 1
    cells = [["\n".join(fold(cell, most)) for cell, most in zip(line, widths, strict=True)] for line in lines]
    drawn = tabulate(
        cells, tablefmt="plain", disable_numparse=True, colalign=[{"l": "left", "r": "right"}[side] for side in sides],
    )  # fmt: skip
    return "\n".join((" " * indent + line).rstrip() for line in drawn.splitlines())


def fold(text: str, width: int) -> list[str]:
    """Text in lines of at most ``width``; words stay whole where they can."""
    return wrap(text, width, break_on_hyphens=False) or [""]


def paragraph(text: str, *, label: str = "", indent: int = 1, width: int = WIDTH) -> str:
    """Wrapped text, with a label before it and its further lines under its first."""
    if not label:
        return "\n".join(" " * indent + line for line in fold(text, width - indent))
    lines = fold(text, width - LABEL)
    return "\n".join(f"{label if n == 0 else '':<{LABEL}}{line}" for n, line in enumerate(lines))


def ends(left: str, right: str, width: int = WIDTH) -> str:
    """One line with a text at each end; two lines where they do not fit into one."""
    room = width - len(left) - len(right)
    return f"{left}{' ' * room}{right}" if room > 0 else f"{left}\n{right:>{width}}".rstrip()
