"""The line of each key of a TOML file, which the parser of the standard library does not tell."""

from __future__ import annotations

import re
from collections.abc import Mapping

# ------------------------------------------------------------------------------------------ where keys stand


_PART = r"""(?:"(?:[^"\\]|\\.)*"|'[^']*'|[A-Za-z0-9_-]+)"""
_DOTTED = rf"{_PART}(?:\s*\.\s*{_PART})*"
_HEADING = re.compile(rf"\s*(\[\[?)\s*({_DOTTED})\s*\]\]?")
_ASSIGNMENT = re.compile(rf"\s*({_DOTTED})\s*=(.*)")

Steps = tuple[str | int, ...]  # the way to a key: names of tables, places in lists


def key_lines(text: str) -> dict[Steps, int]:
    """The line of every heading and key, by path: ("site", "coldest"), ("load", 0, "running").

    Found by scanning: keys inside an inline table are found by their table's line.
    """
    lines: dict[Steps, int] = {}
    table: Steps = ()
    counts: dict[str, int] = {}
    fence = ""  # the quotes of a text over several lines that we are in
    for number, line in enumerate(text.split("\n"), 1):
        if fence:
            fence = "" if fence in line else fence
            continue
        if heading := _HEADING.match(line):
            names = _names(heading[2])
            if heading[1] == "[[":
                counts[names[0]] = counts.get(names[0], -1) + 1
                table = (names[0], counts[names[0]])
            elif names[0] in counts:
                table = (names[0], counts[names[0]], *names[1:])
            else:
                table = tuple(names)
            lines.setdefault(table, number)
        elif assignment := _ASSIGNMENT.match(line):
            path = (*table, *_names(assignment[1]))
            for end in range(len(table) + 1, len(path) + 1):
                lines.setdefault(path[:end], number)
            for quotes in ('"""', "'''"):
                if assignment[2].count(quotes) == 1:
                    fence = quotes
    return lines


def _names(dotted: str) -> list[str]:
    return [part.strip("\"'") for part in re.findall(_PART, dotted)]


def line_of(lines: Mapping[Steps, int], path: Steps) -> int | None:
    """The line of a path, or of the nearest table round it."""
    while path:
        if path in lines:
            return lines[path]
        path = path[:-1]
    return None
