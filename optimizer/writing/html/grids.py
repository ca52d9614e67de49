"""The tables of the page as data: what stands in each cell, in the words of the text answers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan
from typing import TYPE_CHECKING

from optimizer.auditor.commissioning import card
from optimizer.auditor.reading import BELOW
from optimizer.inputs.job_schema import KEYS
from optimizer.rules.limits import LIMITS
from optimizer.vocabulary.units import UNITS, Quantity, parse_quantity, to_unit
from optimizer.writing.content.verdict import NO_FACTOR, alike, held_against, remarks
from optimizer.writing.drawings.string_map import string_name
from optimizer.writing.words import sentences
from optimizer.writing.words.figures import figure, number, working
from optimizer.writing.words.phrases import measure, place_of

if TYPE_CHECKING:
    from optimizer.answers.answer import Answer, Option
    from optimizer.auditor.reading import Reading
    from optimizer.explain.verdict import Verdict
    from optimizer.inputs.job import Job
    from optimizer.rules.load_figures import LoadFigures
    from optimizer.writing.drawings.month_chart import MonthEnergy

OPEN_CIRCUIT = (
    "Open-circuit volts: each string open at the tracker, in steady sun, by the temperature measured on the back of a "
    "panel. In weak light a string reads a few percent less."
)
QUALIFIED = "Readings on open boxes are work for a qualified person; the cautions of this page hold."
US_FLOWS = ("gpm", "gph")  # units in which a flow is answered in gallons
Cell = str | tuple[str, ...]  # a text, or texts one under the other


@dataclass(frozen=True)
class Grid:
    """A table: its caption, what stands over each column, and its rows; the first cell of a row names it.

    ``align`` has "l", "r", or for a cell to be filled in by hand "t" (a box to tick) or "w" (room to write).
    ``name`` is an id of its own on the page. ``wide`` tables become one line a cell on a narrow screen.
    """

    name: str
    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    align: str
    wide: bool = False
    foot: tuple[tuple[Cell, ...], ...] = ()


def grid(
    name: str, caption: str, heads: Sequence[str], rows: Sequence[Sequence[Cell]], align: str, wide: bool = False
) -> Grid:
    """A table without the columns that have neither a text nor room to write."""
    kept = [
        column for column in range(len(heads))
        if align[column] in "tw" or any(row[column] for row in rows)
    ]  # fmt: skip
    return Grid(
        name, caption, tuple(heads[column] for column in kept),
        tuple(tuple(row[column] for column in kept) for row in rows), "".join(align[column] for column in kept), wide,
    )  # fmt: skip


# the limits ------------------------------------------------------------------------------------------------------


def limit_sheet(job: Job, readings: Sequence[Reading], name: str, verdict: Verdict | None = None) -> Grid:
    """Every limit: what it means, its formula, its numbers, its result and its source."""
    groups: dict[str, list[tuple[Reading, str]]] = {}
    for reading, where in alike(readings):
        groups.setdefault(reading.limit, []).append((reading, where))
    rows: list[tuple[Cell, ...]] = []
    for limit, group in groups.items():
        mends = [text for reading, _ in group if verdict is not None for text in remarks(job, verdict, reading)]
        rows.append((
            limit, (f"{LIMITS[limit].meaning}:", LIMITS[limit].formula), _numbers(job, group),
            (*_results(job, group), *dict.fromkeys(mends)), LIMITS[limit].source,
        ))  # fmt: skip
    heads = ("limit", "meaning and formula", "numbers", "result", "source")
    return grid(name, "Every limit, worked out", heads, rows, "lllll", wide=True)


def _numbers(job: Job, group: Sequence[tuple[Reading, str]]) -> tuple[str, ...]:
    """The working of a limit, a line for each place it was read at."""
    said = []
    for reading, where in group:
        if where == BELOW:
            said.append(f"nominal {measure(job, reading, reading.allowed)}")
        elif reading.settled:
            said.append(where or working(LIMITS[reading.limit], reading.slots))
        else:
            limit = LIMITS[reading.limit]
            placed = place_of(reading) and limit.working_says != "lead"
            said.append(f"{where}: {working(limit, reading.slots)}" if placed else working(limit, reading.slots))
    return tuple(said)


def _results(job: Job, group: Sequence[tuple[Reading, str]]) -> tuple[str, ...]:
    """What a limit comes to and what it is held against; the latter once where it is the same for all."""
    pairs = [_sides(job, reading, where) for reading, where in group]
    states = ["ok" if reading.holds else "FAIL" for reading, _ in group]
    bounds = {bound for _, bound in pairs}
    if len(group) > 1 and len(bounds) == 1:
        said = [f"{state} {value}".strip() for state, (value, _) in zip(states, pairs, strict=True)]
        return tuple(filter(None, [*said, *bounds]))
    return tuple(
        f"{state} {', '.join(filter(None, pair))}".strip() for state, pair in zip(states, pairs, strict=True)
    )  # fmt: skip


def _sides(job: Job, reading: Reading, where: str) -> tuple[str, str]:
    """What a reading comes to, and what it is held against; "" where there is no such figure."""
    if reading.settled:
        return "", ""
    if where == BELOW:
        return "", f"below {measure(job, reading, reading.value)}"
    if isnan(reading.value):
        return NO_FACTOR, ""
    value = measure(job, reading, reading.value)
    if LIMITS[reading.limit].working_says == "asked":
        return value, f"{'of' if reading.holds else 'short of'} {measure(job, reading, reading.allowed)}"
    return value, held_against(job, reading)


# what was given --------------------------------------------------------------------------------------------------


def inputs_grid(job: Job) -> Grid:
    """Every key of the job as it was written and, where it was written in another unit, as it was read."""
    named = {"title", *(f"load.{load.name}.name" for load in job.loads)}
    rows = [(key, text, converted(key, text)) for key, text in job.written.items() if key not in named]
    return grid("inputs", "Inputs as read and converted", ("key", "as written", "as read"), rows, "lll", wide=True)


def converted(key: str, text: str) -> str:
    """A quantity in the unit that is reckoned with; "" where it was written in that, or is no quantity."""
    table, _, rest = key.partition(".")
    spec = KEYS.get(table, {}).get(rest.rpartition(".")[2] if table == "load" else rest)
    if spec is None or spec.holds != "quantity" or text in spec.words:
        return ""
    read = [parse_quantity(piece.strip(), spec.unit) for piece in text.strip("[]").split(",")]
    pieces = [piece for piece in read if isinstance(piece, Quantity)]  # a job that was read has no other
    units = {UNITS[spec.unit][piece.unit] for piece in pieces}
    if units == {piece.unit for piece in pieces}:
        return ""
    return f"{', '.join(sentences.plain(piece.value) for piece in pieces)} {', '.join(units)}"


def loads_grid(loads: Sequence[LoadFigures], rests: bool = False) -> Grid:
    """The loads as they are counted. ``rests``: pumps rest through sunless days, since the water stored lasts."""
    rows = []
    for load in loads:
        starts = (figure(load.start_va, "VA"), figure(load.start_s, "s")) if load.starts else ("no surge", "")
        rows.append((
            load.name, str(load.count), f"{load.voltage_v:g} V", figure(load.running_w, "W"),
            figure(load.running_va, "VA"), *starts, _range([wh / 1000 for wh in load.energy_wh], "kWh", 2),
            _range([100 * each for each in load.daytime], "%", 0), _carried(load, rests), load.starter,
        ))  # fmt: skip
    heads = ("load", "units", "volts", "runs", "apparent", "starts", "for", "a day, all units", "in the sun",
             "carried without sun", "starter")  # fmt: skip
    caption = "Loads as counted, of one unit where not said otherwise"
    return grid("loads", caption, heads, rows, "lrrrrrrrrll", wide=True)


def _carried(load: LoadFigures, rests: bool) -> str:
    """Whether the bank carries a load through sunless days."""
    if rests and load.pumps and load.critical:
        return "no, it rests"
    return "yes" if load.critical else "no"


def _range(values: Sequence[float], unit: str, digits: int) -> str:
    """The least and the most of twelve months: "1.20 to 3.40 kWh"."""
    low, high = number(min(values), digits), number(max(values), digits)
    return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"


def months_grid(months: Sequence[MonthEnergy], name: str) -> Grid:
    """The months of the month chart in figures."""
    rows = [(each.month, number(each.asked_kwh, 1), number(each.made_kwh, 1)) for each in months]
    heads = ("month", "asked of the array", "made by it")
    return grid(name, "An average day of each month, in kWh", heads, rows, "lrr")


# the commissioning card ------------------------------------------------------------------------------------------


def card_grids(answer: Answer, option: Option, prefix: str) -> tuple[list[Grid], list[str]]:
    """The commissioning card: its tables, and what is to be known beside them."""
    job = answer.job
    expected = card(job, option.audit, job.unit_of("site.coldest") or "degC")
    notes = [OPEN_CIRCUIT, QUALIFIED]
    if expected.taken_pct_per_c is not None:
        part, pct = option.bundle.panel["part"], expected.taken_pct_per_c
        notes.append(f"{part} states no voc_pct_per_c: {pct:g} %/degC taken.")
    heads = ("panels at", *(_series_head(each.series, each.trackers) for each in expected.strings))
    rows = [
        (sentences.temperature(job, "site.coldest", cell_c), *(figure(s.volts[n], "V") for s in expected.strings))
        for n, cell_c in enumerate(expected.temperatures_c)
    ]
    found = [grid(f"{prefix}volts", "Expected open-circuit volts of a string", heads, rows,
                  "l" + "r" * len(expected.strings))]  # fmt: skip
    strings = [
        (f"{string_name(s.tracker, string)}, {s.series} in series", "", "", "", "")
        for s in option.bundle.strings for string in range(1, s.parallel + 1)
    ]  # fmt: skip
    found.append(grid(f"{prefix}strings", "Each string as it was read",
                      ("string", "polarity right", "panels at", "expected V", "read V"), strings, "ltwww"))  # fmt: skip
    if expected.starts:
        starts = [
            (", ".join(filter(None, (
                _each_of(each.load, each.count), "" if each.source == "stated" else f"start by {each.source}",
                each.starter and f"through {each.starter}",
             ))),
             figure(each.running_a, "A"), "", figure(each.start_a, "A"), "")
            for each in expected.starts
        ]  # fmt: skip
        found.append(grid(f"{prefix}starts", "Amps of each motor", ("load", "runs", "read A", "starts", "read A "),
                          starts, "lrwrw"))  # fmt: skip
        bank = [(e.load, figure(e.nominal_a, "A"), figure(e.lowest_a, "A"), "") for e in expected.bank]
        found.append(grid(f"{prefix}bank", "Bank amps at a start, everything else running",
                          ("start of", f"at {figure(expected.nominal_v, 'V')}",
                           f"at {figure(expected.lowest_v, 'V')}, the lowest", "read A"), bank, "lrrw"))  # fmt: skip
    if expected.flows:
        flows = [
            (_each_of(each.load, each.count),
             per_minute(job.unit_of(f"load.{each.load}.flow"), each.litres_per_h), "")
            for each in expected.flows
        ]  # fmt: skip
        found.append(grid(f"{prefix}flow", "Water", ("load", "expected", "read"), flows, "lrw"))
    return found, notes


def _each_of(load: str, count: int) -> str:
    """A load whose figures are of one unit."""
    return load if count == 1 else f"{load} (each of {count})"


def _series_head(series: int, trackers: Sequence[int]) -> str:
    several = "trackers" if len(trackers) > 1 else "tracker"
    return f"{series} in series ({several} {', '.join(map(str, trackers))})"


def per_minute(unit: str, litres_per_h: float) -> str:
    """A flow in gallons or litres a minute, as the person counts water."""
    if unit in US_FLOWS:
        return f"{sentences.plain(round(to_unit(litres_per_h, 'gpm'), 2))} gpm"
    return f"{sentences.plain(round(to_unit(litres_per_h, 'L/min'), 2))} L/min"
