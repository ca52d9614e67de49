"""The page of what was measured, and the ``[[load]]`` block to paste into a job."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from textwrap import wrap
from typing import TYPE_CHECKING

from optimizer.answers.measured_load import APART, WIRE_TO_WATER
from optimizer.inputs.job_schema import KEYS, TO_DO
from optimizer.inputs.job_values import Value
from optimizer.inputs.readings import OPTIONS, TAKEN, option_of
from optimizer.vocabulary.defaults import MOTOR_POWER_FACTOR, MOTOR_POWER_FACTORS
from optimizer.vocabulary.motor_tables import LOCKED_ROTOR_KVA_PER_HP, LOCKED_ROTOR_MULTIPLE, USUAL_START, motor_phases
from optimizer.vocabulary.units import Quantity, to_unit
from optimizer.writing.words import sentences
from optimizer.writing.words.figures import figure, number, share
from optimizer.writing.words.problems import clean, problem_lines
from optimizer.writing.words.tables import WIDTH, bullet, ends, paragraph, table

if TYPE_CHECKING:
    from optimizer.answers.measured_load import Measured, StartFigure
    from optimizer.inputs.readings import Readings
    from optimizer.vocabulary.problems import Problem

CAUTIONS = sentences.CAUTIONS[2:4]  # those about a live box and about pump wiring
EFFICIENCIES = {"pump": "pump_efficiency", "motor": "motor_efficiency"}
NAME = 40  # characters of a name that are shown
REMARK = 26  # column from which a remark stands beside a line of the block


def wrong_readings(problems: Iterable[Problem]) -> str:
    """All problems of the options, and how many there are."""
    found = list(problems)
    lines = [line for problem in found for line in problem_lines(problem)]
    return "\n".join([*lines, f"{len(found)} problem{'' if len(found) == 1 else 's'}; nothing was worked out."])


def measured_page(found: Measured) -> str:
    """The whole page: start figures, running, flow, head, cross-check, the block, what to find out, the cautions."""
    blocks = [
        paragraph(f"{clean(found.readings.name, NAME)}: what was measured, as a load", indent=0),
        _starts(found),
        "\n".join(line for line in (_running(found), _flow(found)) if line),
        _head(found),
        paragraph(" ".join(_check(found)), label="CROSS-CHECK"),
        "\n".join(["PASTE INTO THE JOB", "", load_block(found)]),
        _next(found),
        "\n".join(["CAUTION", *map(bullet, CAUTIONS)]),
    ]
    return "\n\n".join(block for block in blocks if block) + "\n"


# start and running -----------------------------------------------------------------------------------------------


def _source(found: Measured, start: StartFigure) -> tuple[str, str]:
    """Where a start figure comes from, and what was given for it."""
    readings = found.readings
    rated = readings.rated.text if readings.rated else ""
    match start.source:
        case "inrush":
            return "inrush by a clamp meter", _text(readings.inrush)
        case "locked_rotor":
            return "locked rotor on the nameplate", _text(readings.locked_rotor)
        case "code_letter":
            most = LOCKED_ROTOR_KVA_PER_HP[str(readings.code_letter)]
            return f"code letter {readings.code_letter}, at most {most:g} kVA/hp", rated
        case _:
            if motor_phases(readings.motor) == 3:
                return "estimate: a table's locked-rotor kVA", rated
            return f"estimate: {LOCKED_ROTOR_MULTIPLE:g} times full-load amps of a table", rated


def _text(quantity: Quantity | None) -> str:
    return quantity.text if quantity else ""


def _starts(found: Measured) -> str:
    """The start figures side by side, and where they disagree."""
    if not found.starts:
        return "START FIGURES\n none yet: a start is the figure most often forgotten"
    rows = []
    for rank, start in enumerate(found.starts, start=1):
        apart = f"{start.apart * 100:+.0f} %" if rank > 1 else "taken"
        amps = figure(start.amps, "A") if start.amps is not None else ""
        rows.append([str(rank), *_source(found, start), amps, figure(start.va, "VA"), apart])
    lines = [ends("START FIGURES", "most trusted first"), table(rows, align="rllrrr")]
    return "\n".join([*lines, *map(bullet, _start_doubts(found))])


def _start_doubts(found: Measured) -> Iterator[str]:
    starts = found.starts
    if found.apart > APART:
        by_size = sorted(range(len(starts)), key=lambda n: starts[n].va)
        low, high = sorted((by_size[0] + 1, by_size[-1] + 1))
        words = f"Figures {low} and {high} lie {share(found.apart)} apart, more than {share(APART)}."
        if found.doubtful:
            yield f"{words} Measure again before you rely on one: a start that is taken too low is the dangerous side."
        else:
            rest = "the others agree" if len(starts) > 2 else "a second reading would settle it"
            yield f"{words} The higher is an estimate that is meant to lie high; {rest}."
    if starts[0].source == "inrush" and any(s.apart > APART for s in starts if s.source != "rated"):
        yield "The clamp may read low: a meter that does not hold the inrush shows far too little."
    for rank, start in enumerate(starts, start=1):
        if start.below_running:
            yield f"Figure {rank} is below what the motor runs on: one of the two is wrong."
        elif start.unusual:
            usual = f"{USUAL_START[0]:g} to {USUAL_START[1]:g}"
            yield (f"Figure {rank} is {start.times_running:.1f} times what the motor runs on; {usual} times are "
                   "usual (common practice, no source): measure both again.")  # fmt: skip
    if starts[0].source == "rated":
        yield "An estimate alone: every answer will say so, and a measurement may change the pick."


def _running(found: Measured) -> str:
    running, readings = found.running, found.readings
    if running is None:
        return ""
    va = "" if running.va is None else figure(running.va, "VA")
    factor = f"at power factor {running.power_factor:g}{', which is not stated' if running.assumed else ''}"
    match running.stated.unit:
        case "A":
            words = f"{running.stated.text} = {va}; {figure(running.watts, 'W')} {factor}."
        case "VA" | "kVA":
            words = f"{running.stated.text}; {figure(running.watts, 'W')} {factor}."
        case _:
            words = f"{running.stated.text}; {va} {factor}." if va else f"{running.stated.text}."
    if running.estimated:
        words += f" An estimate from flow and head: {_efficiencies(readings)}."
        usual = {name: TAKEN[name] for name in EFFICIENCIES.values() if getattr(readings, name) is None}
        if usual:
            sources = ", ".join(dict.fromkeys(each.source for each in usual.values()))
            words += f" Usual, not stated: {'; '.join(each.meaning for each in usual.values())} ({sources})."
    return paragraph(words, label="RUNNING")


def _efficiencies(readings: Readings) -> str:
    return ", ".join(f"{what} efficiency {readings.number(name):g}" for what, name in EFFICIENCIES.items())


# flow, head and the cross-check ----------------------------------------------------------------------------------


def _flow(found: Measured) -> str:
    readings = found.readings
    if found.flow is None:
        return ""
    words = f"{_text(readings.container)} in {_text(readings.seconds)} = {found.flow.text}" if found.timed else ""
    if abs(found.flow_apart) > APART:
        words += f". Stated as {_text(readings.flow)}, {found.flow_apart * 100:+.0f} %: one of the two is wrong"
    return paragraph(f"{words or found.flow.text}.", label="FLOW")


def _head(found: Measured) -> str:
    """The head term by term, in the unit of the level."""
    head, readings = found.head, found.readings
    if head is None or readings.level is None:
        return ""

    def term(value: float | None) -> str:
        return "not counted" if value is None else _height(value, readings)

    roughness = readings.number("pipe_roughness")
    pipe = f"{_text(readings.pipe_length)} of {_text(readings.pipe_inside)}, C {roughness:g}, at {_text(found.flow)}"
    rows = [
        ["pumping level below ground", readings.level.text, term(head.level_m)],
        ["rise to the outlet", _text(readings.rise), term(head.rise_m)],
        ["pressure at the outlet", _text(readings.pressure), term(head.pressure_m)],
        ["pipe friction, Hazen-Williams", pipe if head.friction_m is not None else "", term(head.friction_m)],
        ["total dynamic head", "", term(head.total_m)],
    ]
    lines = ["HEAD", table(rows, align="llr")]
    if head.friction_m is None:
        lines.append(bullet("Friction needs --pipe-length, --pipe-inside and the flow; fittings are never counted."))
    elif readings.pipe_roughness is None:
        lines.append(bullet(f"C {roughness:g} is not stated: {TAKEN['pipe_roughness'].meaning} "
                            f"({TAKEN['pipe_roughness'].source})."))  # fmt: skip
    return "\n".join(lines)


def _height(metres: float, readings: Readings) -> str:
    """A head in the unit of the level: m, or ft."""
    unit = "ft" if readings.level and readings.level.unit in ("ft", "in") else "m"
    return f"{number(to_unit(metres, unit, 'length'), 1)} {unit}"


def _check(found: Measured) -> Iterator[str]:
    """Flow times head against running watts, in sentences."""
    check, running, low, high = found.check, found.running, *map(share, WIRE_TO_WATER)
    if check is None or running is None:
        if running is not None and running.estimated:
            yield "none: the running watts come from flow and head themselves. A clamp reading would check them."
        elif found.head is not None and found.head.total_m <= 0:
            yield "none: the head is not above 0. Look at the signs of level and rise."
        else:
            yield "none yet: it needs running, flow and level (flow x head against running watts)."
        return
    said = f"{figure(check.hydraulic_w, 'W')} in the water of {figure(running.watts, 'W')}: {share(check.efficiency)}"
    yield f"{said} wire to water, {'within' if check.within else 'OUTSIDE'} {low} to {high}."
    if check.efficiency > WIRE_TO_WATER[1] and not check.within:
        yield "More than a pump gives back: running is too low, or flow, level or pressure too high. Look at the units."
    elif not check.within:
        yield (
            "Less than a sound pump gives back: flow, level or pressure is too low or running too high; or the pump is "
            "worn, throttled or leaking."
        )
    if running.assumed and running.stated.unit not in ("W", "kW"):
        factor = MOTOR_POWER_FACTORS.get(found.readings.motor or "", MOTOR_POWER_FACTOR)
        usual = share(check.efficiency * running.power_factor / factor)
        yield f"Without a power factor all VA count as W; at the {factor:g} of many motors it is {usual}."
    water = found.readings.water_per_day
    day = ""
    if water is not None:
        m3 = to_unit(water.value, "m^3", "volume")
        day = f"; {water.text} a day take {number(check.kwh_per_m3 * m3, 1)} kWh"
    yield f"Each m3 takes {number(check.kwh_per_m3, 2)} kWh{day}."


# the block -------------------------------------------------------------------------------------------------------


def load_block(found: Measured) -> str:
    """The load as TOML, a remark beside or above each line that needs one; "?" is a to-do of the job's reader."""
    lines = ["[[load]]"]
    for key, value in found.load.items():
        line = f"{key} = {_toml(value)}"
        for remark in _remarks(found, key, value):
            beside = f"{line:<{REMARK - 1}} # {remark}"
            if line.isascii() and "#" not in line and len(beside) <= WIDTH:
                line = beside
            else:
                lines += wrap(remark, WIDTH, initial_indent="# ", subsequent_indent="# ", break_on_hyphens=False)
        lines.append(line)
    return "\n".join(lines)


def _toml(value: Value) -> str:
    if isinstance(value, Quantity):
        value = value.text
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    return f"{value:g}" if isinstance(value, float) else str(value)


def _remarks(found: Measured, key: str, value: Value) -> Iterator[str]:
    """What a reader of the job should know about a value: where it comes from, or how to find it."""
    readings = found.readings
    if value == TO_DO:
        yield KEYS["load"][key].how
        return
    source = found.starts[0].source if found.starts else None
    if key in ("starting", "locked_rotor_code") or (key == "rated" and source == "rated"):
        if source == "rated":
            yield f"the start is an {_source(found, found.starts[0])[0]}; measure it"
        elif found.starts:
            yield _source(found, found.starts[0])[0]
        if found.doubtful:
            yield f"start figures lie {share(found.apart)} apart; measure again"
    elif key == "running" and found.running and found.running.estimated and found.head:
        lift = f"{_text(found.flow)} to {_height(found.head.total_m, readings)}"
        yield f"an estimate: {lift}, {_efficiencies(readings)}; measure it"
    elif key == "running" and found.check and not found.check.within:
        yield f"doubtful: {share(found.check.efficiency)} wire to water"
    elif key == "flow" and found.timed:
        yield f"{_text(readings.container)} in {_text(readings.seconds)}"


def _next(found: Measured) -> str:
    """What is still worth finding, by option."""
    said = [
        bullet(f"{option_of(name)} {OPTIONS[name].example}: {OPTIONS[name].meaning}. {OPTIONS[name].how}")
        for name in found.missing
    ]
    return "\n".join(["FIND OUT NEXT", *said]) if said else ""
