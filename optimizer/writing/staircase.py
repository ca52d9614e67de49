"""The staircase of cost as a drawing: SVG that reads in print and without colour."""

from __future__ import annotations

from html import escape
from math import ceil, floor, log10
from typing import TYPE_CHECKING

from optimizer.afford import WATER
from optimizer.writing.afford import UNITS, changes, level_text
from optimizer.writing.figures import plain_money

if TYPE_CHECKING:
    from optimizer.afford import Staircase
    from optimizer.job import Job

WIDTH, HEIGHT = 720, 360  # of the plot with its axes, in px
LEFT, RIGHT, TOP, BOTTOM = 90, 30, 48, 56  # margins
LINE = 18  # height of a line of the list below
TICKS = 6  # marks on an axis, about
WORDS = 78  # characters of a line of the list
MARK = 5  # half the width of a step's mark


def staircase_svg(job: Job, found: Staircase, currency: str) -> str:
    """The drawing as text: total over level, every step numbered, the budget dashed, and the steps listed below."""
    scale = 100 if found.quantity == WATER else 1
    levels = [found.value(stair.level) * scale for stair in found.stairs]
    totals = [stair.cents / 100 for stair in found.stairs]
    budget = None if found.budget_cents is None else found.budget_cents / 100
    across = _ticks(0.0, max([*levels, 1e-9]))
    low, high = min([*totals, *([budget] if budget else [])]), max([*totals, *([budget] if budget else [])])
    up = _ticks(low - 0.1 * (high - low or low), high)
    foot = HEIGHT + LINE * (len(levels) + 1)

    def x(level: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * level / across[-1]

    def y(total: float) -> float:
        return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * (total - up[0]) / (up[-1] - up[0])

    title = f"{job.title}: what each step costs"
    shapes = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {foot}" width="{WIDTH}" height="{foot}" '
        f'role="img" aria-labelledby="staircase-title" font-family="sans-serif" font-size="12">',
        f'<title id="staircase-title">{escape(title)}</title>',
        f'<rect width="{WIDTH}" height="{foot}" fill="white"/>',
        f'<text x="{LEFT}" y="22" font-size="15">{escape(title)}</text>',
    ]
    for mark in across:
        shapes.append(_line(x(mark), y(up[0]), x(mark), y(up[0]) + 5))
        shapes.append(f'<text x="{x(mark):.1f}" y="{HEIGHT - BOTTOM + 20}" text-anchor="middle">{_short(mark)}</text>')
    for mark in up:
        shapes.append(_line(LEFT - 5, y(mark), WIDTH - RIGHT, y(mark), 'stroke="#bbb" stroke-width="0.5"'))
        shapes.append(f'<text x="{LEFT - 9}" y="{y(mark) + 4:.1f}" text-anchor="end">{_short(mark)}</text>')
    shapes.append(_line(LEFT, y(up[0]), WIDTH - RIGHT, y(up[0])))
    shapes.append(_line(LEFT, TOP, LEFT, y(up[0])))
    middle = (LEFT + WIDTH - RIGHT) / 2
    shapes.append(f'<text x="{middle}" y="{HEIGHT - 14}" text-anchor="middle">{UNITS[found.quantity]}</text>')
    shapes.append(f'<text x="{LEFT}" y="{TOP - 8}" text-anchor="end">{escape(currency)}</text>')
    shapes += _steps(found, levels, totals, x, y)
    if budget is not None:
        shapes.append(_line(LEFT, y(budget), WIDTH - RIGHT, y(budget), 'stroke-dasharray="7 4" stroke-width="1.5"'))
        text = f"budget {plain_money(found.budget_cents or 0)}"
        shapes.append(f'<text x="{WIDTH - RIGHT}" y="{y(budget) - 5:.1f}" text-anchor="end">{text}</text>')
    for place, (stair, said) in enumerate(zip(found.stairs, changes(found), strict=True)):
        bought = " (the budget buys this)" if place == found.bought else ""
        unit = "" if found.quantity == WATER else f" {UNITS[found.quantity]}"
        line = f"{place + 1}  {level_text(found, stair)}{unit}  {plain_money(stair.cents)}  {said}{bought}"
        line = line if len(line) <= WORDS else f"{line[: WORDS - 3]}..."
        shapes.append(f'<text x="{LEFT}" y="{HEIGHT + LINE * (place + 1)}">{escape(line)}</text>')
    return "\n".join([*shapes, "</svg>"]) + "\n"


def _steps(found: Staircase, levels: list[float], totals: list[float], x: object, y: object) -> list[str]:
    """The stair itself: flat to each step's level, then up to the next total; each step marked and numbered."""
    assert callable(x) and callable(y)
    path, shapes = f"M {x(0.0):.1f} {y(totals[0]):.1f}", []
    for place, (level, total) in enumerate(zip(levels, totals, strict=True)):
        path += f" L {x(level):.1f} {y(total):.1f}"
        if place + 1 < len(totals):
            path += f" L {x(level):.1f} {y(totals[place + 1]):.1f}"
        fill = "black" if place == found.bought else "white"
        shapes.append(
            f'<rect x="{x(level) - MARK:.1f}" y="{y(total) - MARK:.1f}" width="{2 * MARK}" height="{2 * MARK}" '
            f'fill="{fill}" stroke="black"/>'
        )
        shapes.append(f'<text x="{x(level) - 8:.1f}" y="{y(total) - 8:.1f}" text-anchor="end">{place + 1}</text>')
    return [f'<path d="{path}" fill="none" stroke="black" stroke-width="2"/>', *shapes]


def _line(x1: float, y1: float, x2: float, y2: float, style: str = "") -> str:
    stroke = style if "stroke=" in style else f'stroke="black" {style}'.strip()
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" {stroke}/>'


def _ticks(low: float, high: float) -> list[float]:
    """Round figures from at or below ``low`` to at or above ``high``."""
    span = (high - low) or abs(high) or 1.0
    size = 10 ** floor(log10(span / TICKS))
    step = next(size * factor for factor in (1, 2, 5, 10) if span / (size * factor) <= TICKS)
    first, last = floor(low / step), ceil(high / step - 1e-9)
    return [n * step for n in range(first, max(last, first + 1) + 1)]


def _short(value: float) -> str:
    return f"{value:,.10g}" if abs(value) < 1e15 else f"{value:g}"
