"""The one-line drawing: array, converter, bank, panelboard and loads, with their ratings and counts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from optimizer.writing.content.option import tracker_heads, tracker_rows
from optimizer.writing.drawings.svg import LINE, SMALL, WIDTH, Drawing, room_for
from optimizer.writing.words import sentences
from optimizer.writing.words.figures import figure
from optimizer.writing.words.tables import fold

if TYPE_CHECKING:
    from optimizer.answers.answer import Answer, Option
    from optimizer.rules.load_figures import LoadFigures

EDGE = 8.0  # between a box and its words
TRUNK = 20.0  # where the line from box to box runs
CONVERTER, BANK = 176.0, 214.0  # where the converter's box ends, and where the bank's begins
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
    trackers = [line for cells in tracker_rows(option) for line in _folded(f"{cells[0]}: {', '.join(cells[1:3])}",
                                                                         WIDTH - 2 * EDGE)]  # fmt: skip
    said = ["ARRAY", *pieces, *trackers, f"volts {cold}"]
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
    rated = [f"{figure(c['continuous_w'], 'W')}, {figure(c['continuous_va'], 'VA')}",
             f"start {figure(c['surge_va'], 'VA')} for {figure(c['surge_s'], 's')}",
             f"{supply.kind} V, {supply.hz} Hz"]  # fmt: skip
    left = ["CONVERTER", *_all_folded([f"{bundle.units} x {c['part']}", *rated], CONVERTER - 2 * EDGE)]
    if bundle.units > 1:
        left.append(f"each; {bundle.units} joined as one")
    battery = bundle.battery
    bank_v = f"{figure(bundle.bank_series * float(battery['nominal_v']), 'V')} nominal"
    setting = option.audit.charge_setting_a
    stored = [f"{bundle.batteries} x {bundle.battery['part']}",
              f"{figure(battery['nominal_v'], 'V')}, {sentences.plain(battery['capacity_ah'])} Ah each",
              f"{bundle.bank_series} in series x {bundle.bank_parallel}", bank_v,
              "charger as it is" if setting is None else f"charged at {sentences.setting_text(setting)}"]  # fmt: skip
    right = ["BANK", *_all_folded(stored, WIDTH - BANK - 2 * EDGE)]
    height = LINE * max(len(left), len(right)) + 8
    between = y + 20
    draw.box(0.5, y, CONVERTER, height, edge=1.5)
    draw.box(BANK, y, WIDTH - BANK - 0.5, height, edge=1.5)
    draw.lines(EDGE, y + LINE, left, CONVERTER - 2 * EDGE, bold_first=True)
    draw.lines(BANK + EDGE, y + LINE, right, WIDTH - BANK - 2 * EDGE, bold_first=True)
    _converts(draw, CONVERTER - SYMBOL - 4, y + 4)
    _cells(draw, WIDTH - EDGE - SYMBOL, y + 3)
    draw.line((CONVERTER + 0.5, between), (BANK, between), width=1.2)
    middle = (CONVERTER + 0.5 + BANK) / 2
    draw.box(middle - 11, between - 4, 22, 8)
    draw.line((middle - 11, between), (middle + 11, between))
    draw.text(middle, between - 8, "F", anchor="middle", size=SMALL)
    said = fold(f"F: bank protection must carry {sentences.protection(option)}", room_for(WIDTH - 44, SMALL))
    for place, words in enumerate(said):
        draw.text(44, y + height + 16 + place * 13, words, size=SMALL, room=WIDTH - 44)
    foot = y + height + 16 + len(said) * 13
    draw.line((TRUNK, y + height), (TRUNK, foot), width=1.2)
    return foot


def _folded(text: str, width: float) -> list[str]:
    return fold(text, room_for(width))


def _all_folded(texts: Sequence[str], width: float) -> list[str]:
    return [line for text in texts for line in _folded(text, width)]


def _converts(draw: Drawing, x: float, y: float) -> None:
    """A converter from direct to alternating current: a square parted by a slant."""
    draw.box(x, y, SYMBOL, SYMBOL)
    draw.line((x, y + SYMBOL), (x + SYMBOL, y))
    draw.line((x + 3, y + 4), (x + 8, y + 4))
    draw.line((x + 3, y + 6.5), (x + 8, y + 6.5))
    draw.path(f"M{x + 9.5:g} {y + 13.5:g}q1.75 -4 3.5 0t3.5 0")


def _cells(draw: Drawing, x: float, y: float) -> None:
    """A battery: long and short plates."""
    middle = y + 6
    for place, half in enumerate((6.0, 3.0, 6.0, 3.0)):
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
    for load, words in zip(option.audit.loads, sentences.measured(answer), strict=True):
        said = _folded(words, WIDTH - LOADS)
        wired = [f"{load.voltage_v:g} V", *_leg(option, load), *_start(load)]
        said += _folded(", ".join(wired), WIDTH - LOADS)
        last = y + 9
        draw.line((TRUNK, last), (LOADS - 26, last), width=1.2)
        if load.starter:
            draw.box(TRUNK + 4, last - 4, 8, 8)
            draw.line((TRUNK + 4, last + 4), (TRUNK + 12, last - 4))
        if load.starts or load.starter:
            draw.ring(LOADS - 17, last, 9)
            draw.text(LOADS - 17, last + 4, "M", anchor="middle")
        else:
            draw.box(LOADS - 26, y + 2, 18, 14)
        y = draw.lines(LOADS, y + 12, said, WIDTH - LOADS) + 4
    draw.line((TRUNK, top), (TRUNK, last), width=1.2)
    for words in sentences.conditions_of_job(answer):
        y = draw.lines(0, y + 12, _folded(words, WIDTH), WIDTH)
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
    if load.starter:
        return [f"started through {load.starter} at {figure(load.start_va, 'VA')}"]
    return [DIRECT] if load.starts else []
