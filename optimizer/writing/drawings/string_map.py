"""The string map: every panel of a tracker on its row, with its polarity, and the way to the tracker's two poles."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from optimizer.writing.content.option import tracker_heads, tracker_rows
from optimizer.writing.drawings.svg import GREY, LINE, SMALL, WIDTH, Drawing, room_for
from optimizer.writing.words.tables import fold

if TYPE_CHECKING:
    from optimizer.answers.answer import Option, TrackerFigures
    from optimizer.inputs.job import Job

MINUS, PLUS = 12.0, WIDTH - 12.0  # where the two leads run down
LEFT = 26.0  # the first panel of a row
NARROW, BROAD = 20.0, 40.0  # widths of a panel, by how many stand in a row
TALL, GAP = 28.0, 3.0  # a panel's height, and what lies between two
FUSE = 22.0  # what a fuse takes of a row
ROW = TALL + 22.0  # from one row to the next
MOST_ROWS = 11  # rows of one drawing: as many as stand on a page of paper


def string_maps(job: Job, option: Option, prefix: str = "") -> list[str]:
    """The drawings, one a tracker; of a tracker with very many rows several. ``prefix`` begins their ids."""
    drawn = []
    for place, tracker in enumerate(option.trackers):
        rows = [
            (string, row, panels, last)
            for string in range(1, tracker.parallel + 1)
            for row, panels, last in rows_of(tracker.series, option.bundle.row_max(job.space.row_max))
        ]
        for start in range(0, len(rows), MOST_ROWS):
            name = f"{prefix}map-{tracker.tracker}" + (f"-{start}" if start else "")
            drawn.append(_map(job, option, place, rows[start : start + MOST_ROWS], name))
    return drawn


def string_name(tracker: int, string: int) -> str:
    """What a string is called on the page: "string 2.1" is the first of tracker 2."""
    return f"string {tracker}.{string}"


def rows_of(series: int, row_max: int) -> list[tuple[int, range, bool]]:
    """The rows that a string stands in, and the lines that they are drawn in: (row, panels, whether it is the last).

    A row wider than a drawing goes on in a further line.
    """
    found = []
    for row, first in enumerate(range(1, series + 1, row_max), start=1):
        behind = min(first + row_max, series + 1)
        found += [(row, range(at, min(at + ACROSS, behind))) for at in range(first, behind, ACROSS)]
    return [(row, panels, place == len(found) - 1) for place, (row, panels) in enumerate(found)]


ROOM = PLUS - LEFT - FUSE - 8  # what the panels of a row may take
ACROSS = int(ROOM // (NARROW + GAP))  # panels that one line has room for


def _map(job: Job, option: Option, place: int, rows: Sequence[tuple[int, int, range, bool]], name: str) -> str:
    tracker = option.trackers[place]
    cells, heads = tracker_rows(option)[place], tracker_heads(job, option)
    cold, hot = f"{cells[2]} {heads[2]}", f"{cells[3]} {heads[3]}"
    broken = [r.limit for r in option.audit.readings if not r.holds and r.where == f"tracker {tracker.tracker}"]
    failing = f"FAILS {', '.join(dict.fromkeys(broken))}" if broken else ""
    draw = Drawing(
        name, f"String map of tracker {tracker.tracker}",
        f"{cells[1]} of {option.bundle.panel['part']}; {cold}, {hot}. {failing}".strip(),
    )  # fmt: skip
    said = [cold, hot, *(fold(failing, room_for(WIDTH - 16)) if failing else [])]
    foot = 8 + LINE * (1 + len(said))
    draw.box(0.5, 0.5, WIDTH - 1, foot, edge=1.5)
    draw.text(8, LINE, cells[0], bold=True, room=90)
    draw.text(WIDTH - 8, LINE, cells[1], anchor="end", room=250)
    draw.lines(8, 2 * LINE, said, WIDTH - 16)
    draw.text(WIDTH - 8, 2 * LINE, f"{cells[4]} usable", anchor="end", room=100)
    wide = min(BROAD, ROOM / max(len(panels) for _, _, panels, _ in rows) - GAP)
    last = 0.0
    for number, (string, row, panels, ends) in enumerate(rows):
        last = foot + 30 + number * ROW
        begins = panels[0] == 1
        named = string_name(tracker.tracker, string) if begins else "and on"
        _row(draw, tracker, last, named if option.bundle.rack is None else f"{named}, row {row}", panels, ends,
             wide)  # fmt: skip
        if not ends and number + 1 < len(rows):
            _carry_on(draw, panels, last, wide)
    middle = last + TALL / 2
    for x, sign, lowest in ((MINUS, "-", _lowest(rows, False)), (PLUS, "+", _lowest(rows, True))):
        draw.line((x, foot + 0.5), (x, foot + 30 + lowest * ROW + TALL / 2), width=1.2)
        draw.ring(x, foot + 0.5, 3.5)
        inward = 7 if x == MINUS else -7
        draw.text(x + inward, foot + 13, "minus" if sign == "-" else "plus", size=SMALL,
                  anchor="start" if x == MINUS else "end")  # fmt: skip
    return draw.finish(middle + TALL / 2 + 4)


def _lowest(rows: Sequence[tuple[int, int, range, bool]], plus: bool) -> int:
    """The last of the rows that a lead runs to."""
    reached = [n for n, (_, _, panels, ends) in enumerate(rows) if (ends if plus else panels[0] == 1)]
    return reached[-1] if reached else 0


def _row(draw: Drawing, tracker: TrackerFigures, y: float, named: str, panels: range, ends: bool, wide: float) -> None:
    """One line of panels ``wide`` each, from the minus lead or the row before to the plus lead or the row after."""
    middle, begins = y + TALL / 2, panels[0] == 1
    fused = f", fused {tracker.fuse_a:g} A" if ends and tracker.fuse_a is not None else ""
    draw.text(LEFT, y - 4, f"{named}{fused}", size=SMALL, room=PLUS - LEFT - 45)
    right = LEFT + len(panels) * (wide + GAP) - GAP
    if begins:
        draw.line((MINUS, middle), (LEFT, middle))
        draw.ring(MINUS, middle, 2, fill="#000")
    draw.line((LEFT, middle), (right, middle))
    for place, panel in enumerate(panels):
        _panel(draw, LEFT + place * (wide + GAP), y, wide, panel)
    if ends:
        draw.line((right, middle), (PLUS, middle))
        draw.ring(PLUS, middle, 2, fill="#000")
        if tracker.fuse_a is not None:
            draw.box(PLUS - FUSE, middle - 4, FUSE - 6, 8)
            draw.line((PLUS - FUSE, middle), (PLUS - 6, middle))


def _panel(draw: Drawing, x: float, y: float, wide: float, number: int) -> None:
    """A panel with its place in the string, its minus at the left and its plus at the right."""
    draw.box(x, y, wide, TALL)
    draw.line((x + 2.5, y + 6), (x + 7, y + 6))
    draw.line((x + wide - 7, y + 6), (x + wide - 2.5, y + 6))
    draw.line((x + wide - 4.75, y + 3.75), (x + wide - 4.75, y + 8.25))
    draw.text(x + wide / 2, y + 22, str(number), anchor="middle", size=SMALL)


def _carry_on(draw: Drawing, panels: range, y: float, wide: float) -> None:
    """From the end of one line of panels back to the beginning of the next."""
    right = LEFT + len(panels) * (wide + GAP) - GAP
    middle, between = y + TALL / 2, y + TALL + 4
    draw.line((right, middle), (right + 5, middle), (right + 5, between), (LEFT - 6, between),
              (LEFT - 6, middle + ROW), (LEFT, middle + ROW), ink=GREY, width=1.2)  # fmt: skip
