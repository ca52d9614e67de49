"""What tells two bundles, or what a limit asks and has, apart: the short phrases of an explanation."""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import ceil, isnan
from typing import TYPE_CHECKING

from catalog.part_kinds import BESIDE, ONE_MODEL, PART_KINDS
from optimizer.auditor.reading import BELOW
from optimizer.explain.resolve import has_figure
from optimizer.rules.limits import LIMITS, Limit
from optimizer.vocabulary.units import to_unit
from optimizer.writing.words import sentences
from optimizer.writing.words.figures import DIGITS, figure, lasting, number, plain_money
from optimizer.writing.words.tables import table

if TYPE_CHECKING:
    from optimizer.answers.answer import Answer
    from optimizer.auditor.reading import Reading
    from optimizer.bundles.bundle import Bundle
    from optimizer.explain.infeasibility import ConflictSet
    from optimizer.explain.part_values import OnHand, Saving
    from optimizer.inputs.job import Job

COUNTED = ("units", "trackers", "strings", "batteries", "panels", "pieces", "tanks")
PLURALS = {kind: PART_KINDS[kind].plural for kind in ONE_MODEL}
NO_BREAK = "\N{NO-BREAK SPACE}"
_BEFORE_UNIT = re.compile(rf"(?<=[0-9]) (?=(?:%|(?:{'|'.join(DIGITS)})\b))")
LONGEST_VALUE = 60  # characters of a value that is shown
SINGULAR = {"strings": "string", "batteries": "battery", "pieces": "piece", "panels": "panel", "units": "unit",
            "trackers": "tracker", "tanks": "tank"}  # fmt: skip


def string_map(bundle: Bundle) -> str:
    """The strings of all trackers: "7+6" for one string each, "2x7" for two in parallel."""
    return "+".join(f"{s.parallel}x{s.series}" if s.parallel > 1 else str(s.series) for s in bundle.strings)


def measure(job: Job, reading: Reading, value: float) -> str:
    """A side of a limit with its unit; temperatures and areas in the person's own, a count bare."""
    if value == float("inf"):
        return "any"
    if reading.unit == "degC":
        return sentences.temperature(job, "site.bank_coldest", value)
    if reading.unit == "m2":
        unit = sentences.written_unit(job, "space.max_area", "m^2")
        return f"{number(to_unit(value, unit), 1)} {unit}"
    if reading.unit in COUNTED:
        return sentences.plain(value)
    if reading.unit == "L":
        return sentences.water(job, value)
    return figure(lasting(value) if reading.unit == "d" and reading.sense == "at least" else value, reading.unit)


def pieces_of(bundle: Bundle) -> dict[str, str]:
    """The pieces and the part of each kind that a bundle has: "13 pn-410"; of each load its starter."""
    said = {kind: f"{bundle.counts.get(kind, 0)} {part}" for kind, part in bundle.models.items()}
    for kind, rows in bundle.each_load.items():
        said[kind] = ", ".join(f"{row['part']} on {load}" for load, row in rows.items())
    for kind, pool in bundle.pools.items():
        said[kind] = ", ".join(f"{pieces} {part}" for part, pieces in sorted(pool.items()))
    return {kind: text for kind, text in said.items() if text}


def parts_changed(picked: Bundle, other: Bundle) -> str:
    """What another bundle has in place of the pick's: only the kinds that differ; else how it is wired or bought."""
    before, after = (
        {**pieces, "panel": f"{pieces['panel']}: {string_map(bundle)}"}
        for bundle, pieces in ((bundle, pieces_of(bundle)) for bundle in (picked, other))
    )
    said = [after[kind] for kind in ONE_MODEL if kind in after and before.get(kind) != after[kind]]
    said += [after.get(kind, f"no {kind}") for kind in BESIDE if before.get(kind) != after.get(kind)]
    return ", ".join(said) or "the same parts, bought otherwise"


def amount(value: float, unit: str) -> str:
    """An amount of a limit's unit: "206 VA", "1 string"."""
    if unit in COUNTED:
        return f"{value:g} {unit if value != 1 else SINGULAR[unit]}"
    return figure(value, unit)


def missed(job: Job, reading: Reading) -> str:
    """By how much a reading misses, and where: "36 VA short, bore pump"."""
    slots = reading.slots
    if reading.settled:
        said = LIMITS[reading.limit].missed
        return said.format(**slots) if said else str(reading.where or "not met")
    if not has_figure(reading):
        return "not to be known" if isnan(reading.value) else "without end"
    gap = abs(reading.value - reading.allowed)
    short = reading.sense == "at least" or LIMITS[reading.limit].short
    text = amount(gap, reading.unit) if reading.unit in COUNTED else _gap(job, reading, gap)
    where = f", {place_of(reading)}" if place_of(reading) else ""
    if "surge_s" in slots and float(slots["surge_s"]) < float(slots["seconds"]):
        lasts, asked = (figure(slots[name], "s") for name in ("surge_s", "seconds"))
        where += f"; its surge lasts {lasts} of {asked}"
    return f"{text} {'short' if short or reading.where == BELOW else 'over'}{where}"


def place_of(reading: Reading) -> str:
    """Where a reading was taken: a tracker, a load, a month; "" where that says nothing."""
    return "" if reading.where in ("m2", "panels", "tanks") else reading.where


def sides(job: Job, reading: Reading) -> str:
    """The two sides of a limit: "asks 12,300 VA, has 12,000 VA"."""
    if reading.unit == "degC":
        edge, there = (sentences.temperature(job, "site.bank_coldest", v) for v in (reading.allowed, reading.value))
        return f"the battery takes {edge} and {'up' if reading.sense == 'at least' else 'below'}, the bank gets {there}"
    if reading.unit == "money":
        return f"costs {figure(reading.value, 'money')} at the least, the budget is {figure(reading.allowed, 'money')}"
    asked, has = reading.value, reading.allowed
    if reading.sense == "at least":
        asked, has = has, asked
    texts = [
        amount(value, reading.unit) if reading.unit in COUNTED else measure(job, reading, value)
        for value in (asked, has)
    ]
    return f"asks {texts[0]}, has {texts[1]}"


def saving_text(answer: Answer, saving: Saving) -> str:
    """What a starter or the tanks save: "ss-20 on bore pump saves 243.00: without it starting-surge is 36 VA short"."""
    total = answer.options[0].cents
    named = " and ".join(saving.parts) + (f" on {' and '.join(saving.loads)}" if saving.loads else "")
    saves, it = ("save", "them") if len(saving.parts) > 1 else ("saves", "it")
    short = "; ".join(f"{reading.limit} is {missed(answer.job, reading)}" for reading in saving.short[:2])
    why = f": without {it} {short}" if short else ""
    if saving.instead is None or saving.instead.order is None:
        return f"{named}: nothing meets the job without {it}{why.replace(f': without {it}', ';')}"
    return f"{named} {saves} {plain_money(saving.instead.order.cents - total)}{why}"


def on_hand_worth(answer: Answer, found: OnHand | None) -> str:
    """What pieces on hand save; "" where that was not looked for."""
    if found is None:
        return ""
    of = f" of {found.there}" if found.used < found.there else ""
    if found.instead is None or found.instead.order is None:
        return f"{of}, without which nothing meets the job"
    saved = found.instead.order.cents - answer.options[0].cents
    return f"{of}, which {'saves' if found.used == 1 else 'save'} {plain_money(saved)}"


def left_text(answer: Answer, found: OnHand) -> str:
    """Why a part on hand is left: "2 pn-300 are left: the cheapest bundle with them costs 120.00 more"."""
    is_left = f"{found.there} {found.part} {'is' if found.there == 1 else 'are'} left"
    if found.kind not in ONE_MODEL:
        return f"{is_left}: this bundle needs none"
    if found.instead is None or found.instead.order is None:
        return f"{is_left}: no bundle with {'it' if found.there == 1 else 'them'} meets the job"
    more = found.instead.order.cents - answer.options[0].cents
    them = "it" if found.there == 1 else "them"
    if not more:
        return f"{is_left}: the cheapest bundle with {them} costs as much"
    return f"{is_left}: the cheapest bundle with {them} costs {plain_money(more)} more"


def figures_table(rows: Sequence[Sequence[str]], headers: Sequence[str] = (), align: str = "", indent: int = 1) -> str:
    """A table that breaks no line between a number and its unit."""
    tied = [[_BEFORE_UNIT.sub(NO_BREAK, cell) for cell in row] for row in rows]
    return table(tied, headers, align, indent=indent).replace(NO_BREAK, " ")


def _gap(job: Job, reading: Reading, gap: float) -> str:
    """A difference as finely as it is still something."""
    if reading.unit == "degC":
        unit = job.written.get("site.bank_coldest", job.written.get("site.coldest", "degC")).split()[-1]
        return f"{gap * (1.8 if unit == 'degF' else 1.0):.1f} {unit}"
    digits = DIGITS.get(reading.unit, 0)
    said = measure(job, reading, ceil(gap * 10**digits - 1e-6) / 10**digits)  # never less than is missing
    if any(digit in said.split()[0] for digit in "123456789"):
        return said
    return f"{gap:.2g} {reading.unit}"


def key_words(key: str) -> str:
    """A key of the job as it is spoken of: "bore pump starting", "array_to_load"."""
    table_name, _, rest = key.partition(".")
    if table_name == "load":
        return rest[::-1].replace(".", " ", 1)[::-1]
    return f"{rest} reserve" if table_name == "reserve" else rest


def typed(text: str) -> str:
    """A value as it is typed; a whole number without its point, a long list cut."""
    short = text.removesuffix(".0") if text.replace(".", "", 1).isdigit() else text
    return short if len(short) <= LONGEST_VALUE else "none" if not short else f"{short[:LONGEST_VALUE]}..."


def needs_words(answer: Answer, clash: ConflictSet) -> str:
    """The part that the catalogue lacks, where limits alone rule out every one of a kind."""
    job = answer.job
    said = [_need(answer, LIMITS[limit]) for limit in clash.limits if LIMITS[limit].need != ""]
    kind = {
        "converter": f"No converter that makes {job.supply.kind} V",
        "battery": "No battery, as many as may stand in parallel,",
        "panel": "No panel forms a string that", "rack": "No rack",
    }[clash.missing]  # fmt: skip
    return f"{kind} {' and '.join(dict.fromkeys(said))}"


def _need(answer: Answer, limit: Limit) -> str:
    """What a limit asks of a part, with this job's figures."""
    if limit.need is None:
        return f"meets {limit.name}: {limit.meaning}"
    job, demand = answer.job, answer.demand
    running, starting = 1 + job.reserve.running, 1 + job.reserve.starting
    worst = max(demand.cases, key=lambda case: case.va, default=None)
    va, w, seconds = (worst.va, worst.w, worst.seconds) if worst is not None else (0.0, 0.0, 0.0)
    return limit.need.format(
        hz=job.supply.hz,
        running_w=figure(demand.running_w * running, "W"),
        running_va=figure(demand.running_va * running, "VA"),
        start_va=figure(va * starting, "VA"),
        start_w=figure(w * starting, "W"),
        start_s=figure(seconds, "s"),
        leg_va=_heavier_leg(answer),
        bank_c=sentences.temperature(job, "site.bank_coldest", job.site.bank_coldest_c),
        bank_hot_c=sentences.temperature(job, "site.bank_hottest", job.site.bank_hottest_c),
        autonomy_days=f"{job.need.autonomy_days:g}",
        hours_short=f"{job.replay.hours_short}",
    )


def _heavier_leg(answer: Answer) -> str:
    """What the heavier leg asks at the least, with its reserves, whatever the placing."""
    job, plans = answer.job, answer.demand.leg_plans
    running = min((plan.running_va for plan in plans), default=0.0) * (1 + job.reserve.running)
    starts = [max((va for _, va in plan.start_va), default=0.0) for plan in plans]
    starting = min(starts, default=0.0) * (1 + job.reserve.starting)
    said = f"{figure(running, 'VA')} running"
    return f"{said} and {figure(starting, 'VA')} at a start on a leg" if starting > 0 else f"{said} on a leg"
