"""The staircase of cost as a drawing: SVG that reads in print and without colour."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor, log10
from typing import TYPE_CHECKING

from optimizer.answers.stair_quantity import StairQuantity
from optimizer.writing.content.staircase import UNITS, changes, level_text, shown_level
from optimizer.writing.drawings.svg import GREY, PALE, SMALL, WIDTH, Drawing, room_for, span
from optimizer.writing.words.figures import plain_money
from optimizer.writing.words.tables import fold

if TYPE_CHECKING:
    from optimizer.answers.budget_staircase import Staircase

LEFT, RIGHT, TOP, TALL = 58.0, 8.0, 28.0, 210.0  # margins of the plot, and how tall it is
LINE = 13.0  # height of a line of the list below
TICKS_UP, TICKS_ACROSS = 6, 4  # marks on an axis, about
MARK = 3.5  # half the width of a step's mark
APART = 5.0  # between two numbers of steps


def staircase_svg(found: Staircase) -> str:
    """The drawing as a file of its own, the steps listed below it."""
    return Drawing.alone(_drawn(found, listed=True))


def staircase(found: Staircase) -> str:
    """The drawing as a part of a page, which lists the steps itself."""
    return _drawn(found, listed=False)


def _drawn(found: Staircase, listed: bool) -> str:
    """Total over level, every step numbered, the budget dashed. Hours short go down to the right."""
    currency = found.shown.catalog.currency
    falling = found.quantity == StairQuantity.HOURS
    levels = [shown_level(found, stair) for stair in found.stairs]
    totals = [stair.cents / 100 for stair in found.stairs]
    budget = None if found.budget_cents is None else found.budget_cents / 100
    across = ticks(0.0, max([*levels, 1e-9]), TICKS_ACROSS)
    low, high = min([*totals, *([budget] if budget else [])]), max([*totals, *([budget] if budget else [])])
    up = ticks(low - 0.1 * (high - low or low), high)
    foot = TOP + TALL

    def x(level: float) -> float:
        share = level / across[-1]
        return LEFT + (WIDTH - LEFT - RIGHT) * (1 - share if falling else share)

    def y(total: float) -> float:
        return foot - TALL * (total - up[0]) / (up[-1] - up[0])

    unit = UNITS[found.quantity]
    draw = Drawing(
        "staircase", f"{found.shown.job.title}: what each step costs",
        f"{len(levels)} steps from {plain_money(found.stairs[0].cents)} to {plain_money(found.stairs[-1].cents)}, "
        f"{currency} over {unit}.",
    )  # fmt: skip
    draw.text(0, 12, currency, size=SMALL)
    for mark in up:
        draw.line((LEFT, y(mark)), (WIDTH - RIGHT, y(mark)), ink=PALE)
        draw.text(LEFT - 5, y(mark) + 3.5, _short(mark), anchor="end", size=SMALL, room=LEFT - 5)
    for mark in across:
        draw.line((x(mark), foot), (x(mark), foot + 4))
        last = x(mark) > WIDTH - RIGHT - span(_short(mark), SMALL) / 2
        draw.text(WIDTH if last else x(mark), foot + 15, _short(mark), anchor="end" if last else "middle", size=SMALL)
    draw.line((LEFT, TOP), (LEFT, foot), (WIDTH - RIGHT, foot))
    draw.text((LEFT + WIDTH) / 2, foot + 30, unit, anchor="middle", size=SMALL, room=WIDTH - LEFT)
    if budget is not None:
        draw.line((LEFT, y(budget)), (WIDTH - RIGHT, y(budget)), width=1.5, dash="7 4")
        draw.text(LEFT + 4, y(budget) - 4, f"budget {plain_money(found.budget_cents or 0)}", size=SMALL)
    if found.bought is not None:
        draw.text(WIDTH, 12, "black: what the budget buys", anchor="end", size=SMALL)
    points = [(x(level), y(total)) for level, total in zip(levels, totals, strict=True)]
    _steps(draw, points, LEFT, foot, found.bought)
    if not listed:
        return draw.finish(foot + 36)
    return draw.finish(_list(draw, found, unit, foot + 52))


def _steps(draw: Drawing, points: Sequence[tuple[float, float]], start: float, foot: float, bought: int | None) -> None:
    """The stair itself: flat to each step's level, then up to the next total; each step marked, and numbered at the
    foot of a line that hangs from its mark."""
    stair = [(start, points[0][1])]
    for place, point in enumerate(points):
        stair.append(point)
        if place + 1 < len(points):
            stair.append((point[0], points[place + 1][1]))
    names = [str(place + 1) for place in range(len(points))]
    every = ceil(sum(span(name, SMALL) + APART for name in names) / (WIDTH - LEFT - RIGHT))
    named = list(range(0, len(points), every))
    for place, at in zip(named, spread([points[p][0] for p in named], [span(names[p], SMALL) for p in named]),
                         strict=True):  # fmt: skip
        draw.line(points[place], (points[place][0], foot - 18), (at, foot - 13), ink=GREY, dash="1 2")
        draw.text(at, foot - 4, names[place], anchor="middle", size=SMALL)
    draw.line(*stair, width=2)
    for place, (at, high) in enumerate(points):
        draw.box(at - MARK, high - MARK, 2 * MARK, 2 * MARK, fill="#000" if place == bought else "#fff")


def spread(wanted: Sequence[float], widths: Sequence[float]) -> list[float]:
    """Middles of texts as near to where they are wanted as they can stand without touching, in the order given."""
    placed: list[float] = []
    edge = LEFT
    for at, width in zip(wanted, widths, strict=True):
        middle = max(at, edge + APART + width / 2)
        placed.append(middle)
        edge = middle + width / 2
    edge = WIDTH
    for place in reversed(range(len(placed))):
        placed[place] = min(placed[place], edge - widths[place] / 2)
        edge = placed[place] - widths[place] / 2 - APART
    return placed


def _list(draw: Drawing, found: Staircase, unit: str, y: float) -> float:
    """The steps in words, one under the other; gives the height then."""
    for place, (stair, said) in enumerate(zip(found.stairs, changes(found), strict=True)):
        bought = " (the budget buys this)" if place == found.bought else ""
        level = level_text(found, stair) + ("" if found.quantity == StairQuantity.WATER else f" {unit}")
        words = f"{place + 1}  {level}  {plain_money(stair.cents)}  {said}{bought}"
        for number, line in enumerate(fold(words, room_for(WIDTH - 16, SMALL))):
            draw.text(16 if number else 0, y, line, size=SMALL)
            y += LINE
    return y


def ticks(low: float, high: float, about: int = TICKS_UP) -> list[float]:
    """Round figures from at or below ``low`` to at or above ``high``."""
    size_of = (high - low) or abs(high) or 1.0
    size = 10 ** floor(log10(size_of / about))
    step = next(size * factor for factor in (1, 2, 5, 10) if size_of / (size * factor) <= about)
    first, last = floor(low / step), ceil(high / step - 1e-9)
    return [n * step for n in range(first, max(last, first + 1) + 1)]


def _short(value: float) -> str:
    return f"{value:,.10g}" if abs(value) < 1e15 else f"{value:g}"
