"""The one-line drawing: array, converter, bank, panelboard and loads, with their ratings and counts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimizer.writing import sentences
from optimizer.writing.figures import figure
from optimizer.writing.page import tracker_heads, tracker_rows
from optimizer.writing.sheet.drawings.svg import LINE, SMALL, WIDTH, Drawing, room_for
from optimizer.writing.tables import fold

if TYPE_CHECKING:
    from optimizer.answer import Answer, Option
    from optimizer.rules.loads import LoadFigures

EDGE = 8.0  # between a box and its words
TRUNK = 20.0  # where the line from box to box runs
BANK = 224.0  # where the bank's box begins
SYMBOL = 18.0  # a symbol's width and height
LOADS = 60.0  # where the words of a load begin
DIRECT = "started direct, no start device"


def one_line(answer: Answer, option: Option, prefix: str = "") -> str:
    """The drawing of one bundle; ``prefix`` begins its id."""
    bundle = option.bundle
    models = ", ".join(f"{count} {bundle.models[kind]}" for kind, count in bundle.counts.items() if kind != "rack"
                       if kind in bundle.models)  # fmt: skip
    draw = Drawing(f"{prefix}one-line", "One-line drawing", f"Array, converter, bank, panelboard and loads: {models}.")
    foot = _array(draw, answer, option)
    foot = _converter_and_bank(draw, answer, option, foot)
    foot = _panelboard(draw, answer, foot)
    foot = _loads(draw, answer, option, foot)
    return draw.finish(foot)


def _array(draw: Drawing, answer: Answer, option: Option) -> float:
    """The array's box at the top, a line for each tracker; gives its foot."""
    bundle = option.bundle
    cold = tracker_heads(answer.job, option)[2]
    pieces = fold(f"{bundle.panels} x {bundle.panel['part']}, {figure(bundle.panel['pmax_w'], 'W')} each",
                  room_for(WIDTH - 2 * EDGE - SYMBOL - 6))  # fmt: skip
    trackers = [f"{cells[0]}: {cells[1]}" for cells in tracker_rows(option)]
    volts = [f"  {cells[2]} {cold}" for cells in tracker_rows(option)]
    said = ["ARRAY", *pieces, *(text for pair in zip(trackers, volts, strict=True) for text in pair)]
    height = LINE * len(said) + 8
    draw.box(0.5, 0.5, WIDTH - 1, height, edge=1.5)
    draw.lines(EDGE, LINE, said, WIDTH - 2 * EDGE - SYMBOL - 6, bold_first=True)
    x, y = WIDTH - EDGE - SYMBOL, EDGE
    draw.box(x, y, SYMBOL, SYMBOL)
    draw.line((x, y), (x + SYMBOL / 2, y + SYMBOL / 2), (x + SYMBOL, y))
    return height + 0.5


def _converter_and_bank(draw: Drawing, answer: Answer, option: Option, top: float) -> float:
    """Converter and bank side by side, what protects the bank between them; gives the foot of what is said of it."""
    bundle, supply = option.bundle, answer.job.supply
    c = bundle.converter
    y = top + 24
    draw.line((TRUNK, top), (TRUNK, y), width=1.2)
    draw.text(TRUNK + 8, top + 16, "DC", size=SMALL)
    left = ["CONVERTER", *_folded(f"{bundle.units} x {c['part']}", BANK - 40 - 2 * EDGE),
            f"{figure(c['continuous_w'], 'W')}, {figure(c['continuous_va'], 'VA')}",
            f"{figure(c['surge_va'], 'VA')} for {figure(c['surge_s'], 's')}",
            f"{supply.kind} V, {supply.hz} Hz"]  # fmt: skip
    if bundle.units > 1:
        left[-1:-1] = ["each; joined as one"]
    bank_v = f"{figure(bundle.bank_series * float(bundle.battery['nominal_v']), 'V')} nominal"
    setting = option.audit.charge_setting_a
    right = ["BANK", *_folded(f"{bundle.batteries} x {bundle.battery['part']}", WIDTH - BANK - 2 * EDGE),
             f"{bundle.bank_series} in series x {bundle.bank_parallel}", bank_v,
             "charger: not set" if setting is None else f"set {sentences.setting_text(setting)}"]  # fmt: skip
    height = LINE * max(len(left), len(right)) + 8
    between = y + 20
    draw.box(0.5, y, BANK - 40, height, edge=1.5)
    draw.box(BANK, y, WIDTH - BANK - 0.5, height, edge=1.5)
    draw.lines(EDGE, y + LINE, left, BANK - 40 - 2 * EDGE, bold_first=True)
    draw.lines(BANK + EDGE, y + LINE, right, WIDTH - BANK - 2 * EDGE, bold_first=True)
    _converts(draw, BANK - 40 - SYMBOL - 4, y + 4)
    _cells(draw, WIDTH - EDGE - SYMBOL, y + 6)
    draw.line((BANK - 39.5, between), (BANK, between), width=1.2)
    draw.box(BANK - 32, between - 4, 24, 8)
    draw.line((BANK - 32, between), (BANK - 8, between))
    draw.text(BANK - 20, between - 8, "F", anchor="middle", size=SMALL)
    said = fold(f"F: bank protection must carry {sentences.protection(option)}", room_for(WIDTH - 44, SMALL))
    for place, words in enumerate(said):
        draw.text(44, y + height + 16 + place * 13, words, size=SMALL, room=WIDTH - 44)
    foot = y + height + 16 + len(said) * 13
    draw.line((TRUNK, y + height), (TRUNK, foot), width=1.2)
    return foot


def _folded(text: str, width: float) -> list[str]:
    return fold(text, room_for(width))


def _converts(draw: Drawing, x: float, y: float) -> None:
    """A converter from direct to alternating current: a square parted by a slant."""
    draw.box(x, y, SYMBOL, SYMBOL)
    draw.line((x, y + SYMBOL), (x + SYMBOL, y))
    draw.line((x + 3, y + 4), (x + 8, y + 4))
    draw.line((x + 3, y + 6.5), (x + 8, y + 6.5))
    draw.path(f"M{x + 9.5:g} {y + 13.5:g}q1.75 -4 3.5 0t3.5 0")


def _cells(draw: Drawing, x: float, y: float) -> None:
    """A battery: long and short plates."""
    middle = y + 7
    for place, half in enumerate((7.0, 3.5, 7.0, 3.5)):
        at = x + 3 + place * 4
        draw.line((at, middle - half), (at, middle + half), width=1.2)
    draw.line((x, middle), (x + 3, middle))
    draw.line((x + 15, middle), (x + 18, middle))


def _panelboard(draw: Drawing, answer: Answer, top: float) -> float:
    supply = answer.job.supply
    legs = ", leg 1 and leg 2" if answer.demand.leg_plans else ""
    draw.box(0.5, top, WIDTH - 1, 22, edge=1.5)
    draw.text(EDGE, top + 15, f"PANELBOARD  {supply.kind} V, {supply.hz} Hz{legs}", bold=True, room=WIDTH - 2 * EDGE)
    return top + 22


def _loads(draw: Drawing, answer: Answer, option: Option, top: float) -> float:
    """A branch for each load: a ring with M where it starts hard, a box where it does not."""
    y, last = top + 12, top
    for load, words in zip(answer.demand.loads, sentences.measured(answer), strict=True):
        said = _folded(words, WIDTH - LOADS)
        said += _folded(", ".join([f"{load.voltage_v:g} V", *_leg(option, load), *_start(load)]), WIDTH - LOADS)
        last = y + 9
        draw.line((TRUNK, last), (LOADS - 26, last), width=1.2)
        if load.starts:
            draw.ring(LOADS - 17, last, 9)
            draw.text(LOADS - 17, last + 4, "M", anchor="middle")
        else:
            draw.box(LOADS - 26, y + 2, 18, 14)
        y = draw.lines(LOADS, y + 12, said, WIDTH - LOADS) + 4
    draw.line((TRUNK, top), (TRUNK, last), width=1.2)
    return y - 6


def _leg(option: Option, load: LoadFigures) -> list[str]:
    """Where a load stands on a supply with two legs."""
    if not option.audit.legs:
        return []
    on = option.audit.legs.get(load.name)
    if on is None:
        return ["across both legs"]
    return [f"leg {leg + 1}" if load.count == 1 else f"{on[leg]} on leg {leg + 1}" for leg in (0, 1) if on[leg]]


def _start(load: LoadFigures) -> list[str]:
    """What starts a load that starts hard."""
    return [DIRECT] if load.starts else []
