"""What is said of a bundle judged: each limit worked out, what it fails, and what it rests on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isnan
from typing import TYPE_CHECKING

from catalog.part_kinds import BESIDE
from optimizer.auditor.reading import BELOW
from optimizer.rules.limits import LIMITS
from optimizer.writing.words import notes, sentences
from optimizer.writing.words.figures import plain_money, working
from optimizer.writing.words.phrases import COUNTED, measure, pieces_of, string_map
from optimizer.writing.words.settle import to_settle

if TYPE_CHECKING:
    from optimizer.answers.judgement import Judgement
    from optimizer.auditor.reading import Reading
    from optimizer.bundles.bundle import Bundle
    from optimizer.explain.verdict import Cure, Verdict
    from optimizer.inputs.job import Job


ABREAST = 3  # bundles side by side on one page's width
CURED = {
    "series": "{number} in a row would read {value}",
    "parallel": "{number} in parallel would come to {value}",
    "bank": "{number} {strings} in parallel would do: {value}",
}
NO_FACTOR = "cannot be known: the panel states no voc_pct_per_c, and the code's table of cold factors ends at -40 degC"


def result(verdict: Verdict) -> str:
    """Whether it passes, in words."""
    limits = len({reading.limit for reading in verdict.failing})
    passes = "passes what is judged" if verdict.audit.not_judged else "passes"
    return passes if not limits else f"FAILS {limits} limit{'' if limits == 1 else 's'}"


def price(verdict: Verdict, currency: str = "") -> str:
    """What it costs, what that price is, and what it comes to with what it leaves out."""
    return f"{_asked(verdict, currency)}{left_out(verdict)}"


def _asked(verdict: Verdict, currency: str = "") -> str:
    """What it costs, and whether that is as quoted."""
    if verdict.cents is None:
        return f"not known: {', '.join(verdict.unpriced)}" if verdict.unpriced else "not stated"
    text = f"{plain_money(verdict.cents)} {currency}".rstrip()
    quoted = " as quoted" if verdict.bundle.order is None else ""
    return f"{text}{quoted}"


def left_out(verdict: Verdict) -> str:
    """What an offer's price leaves out, and what it comes to with that at the least; "" where it is whole."""
    if verdict.bundle.rack is not None or verdict.cents is None:
        return ""
    whole = verdict.complete_cents
    more = "what those cost is not known" if whole is None else f"with the cheapest that fit {plain_money(whole)}"
    return f" without racks and extras; {more}"


def parts(bundle: Bundle) -> str:
    """What it is made of, in a line."""
    models = bundle.models
    panels = f"{bundle.panels} {models['panel']} as {string_map(bundle)}"
    bank = f"{bundle.batteries} {models['battery']} as {bundle.bank_series}x{bundle.bank_parallel}"
    pieces = pieces_of(bundle)
    beside = [pieces[kind] for kind in BESIDE if kind in pieces]
    return ", ".join([f"{bundle.units} {models['converter']}", panels, bank, *beside])


def side_rows(job: Job, verdicts: Sequence[Verdict], every_limit: bool) -> list[list[str]]:
    """Bundles side by side: the result, the price, and each limit with its two sides."""
    rows, others = [], 0
    for limit in LIMITS:
        cells = [_cell(job, verdict, limit) for verdict in verdicts]
        if not any(cells):
            continue
        if not every_limit and all(cell.startswith("ok") or not cell for cell in cells):
            others += 1
            continue
        rows.append([limit, *cells])
    head = [["", *(result(verdict) for verdict in verdicts)], ["price", *(_asked(verdict) for verdict in verdicts)]]
    if any(left_out(verdict) for verdict in verdicts):  # whole bundles are held against whole ones
        whole = ["not known" if each.complete_cents is None else plain_money(each.complete_cents) for each in verdicts]
        added = [" at the least" if left_out(each) and each.complete_cents is not None else "" for each in verdicts]
        head.append(["with racks, extras", *(f"{cents}{note}" for cents, note in zip(whole, added, strict=True))])
    if others:
        rows.append([f"{others} other{'' if others == 1 else 's'}", *("ok" for _ in verdicts)])
    return [*head, *rows]


def _cell(job: Job, verdict: Verdict, limit: str) -> str:
    """The tightest reading of a limit in a few words; empty where it does not apply."""
    if limit in verdict.audit.not_judged:
        return "not judged"
    try:
        reading = verdict.audit.reading(limit)
    except KeyError:
        return ""
    state = "ok" if reading.holds else "FAIL"
    if reading.settled or isnan(reading.value):
        return state
    value, allowed = measure(job, reading, reading.value), measure(job, reading, reading.allowed)
    number, _, unit = allowed.rpartition(" ")
    if number and value.endswith(f" {unit}"):
        value = value.removesuffix(f" {unit}")
    if reading.unit in COUNTED and reading.where != "m2":
        allowed = f"{allowed} {reading.unit}"
    return f"{state} {value} / {allowed}"


# one limit -------------------------------------------------------------------------------------------------------


def alike(readings: Sequence[Reading]) -> list[tuple[Reading, str]]:
    """Readings by the registry's order, those of alike trackers as one, each with where it is."""
    groups: dict[tuple[str, str, float, float], list[Reading]] = {}
    for reading in readings:
        said = working(LIMITS[reading.limit], reading.slots)
        groups.setdefault((reading.limit, said, reading.value, reading.allowed), []).append(reading)
    order = list(LIMITS)
    found = []
    for group in sorted(groups.values(), key=lambda group: order.index(group[0].limit)):
        numbers = [reading.where.removeprefix("tracker ") for reading in group]
        several = len(group) > 1 and all(reading.where.startswith("tracker ") for reading in group)
        where = f"trackers {', '.join(numbers)}" if several else group[0].where
        found.append((group[0], "" if where == "m2" else where))
    return found


def sentence(job: Job, reading: Reading, where: str) -> str:
    """Formula, numbers, result: ``13 x 37.3 V x 1.0918 = 529.4 V, over 500.0 V less 5 % = 475.0 V (tracker 1)``."""
    limit = LIMITS[reading.limit]
    if where == BELOW:
        return f"nominal {measure(job, reading, reading.allowed)}, below {measure(job, reading, reading.value)}"
    said, _, rest = working(limit, reading.slots).partition("; ")
    at = f" ({where})" if where else ""
    if reading.settled:
        return f"{where or said}{f'; {rest}' if rest and not where else ''}"
    if isnan(reading.value):
        return f"{NO_FACTOR}{at}"
    value = measure(job, reading, reading.value)
    if limit.working_says == "asked":
        said = f"{value}, {'of' if reading.holds else 'short of'} {said} = {measure(job, reading, reading.allowed)}"
    else:
        if limit.working_says == "lead":
            said, at = f"{said} {value}", ""
        elif limit.working_says == "sum":
            said += f" = {value}"
        said += f", {held_against(job, reading)}"
    return f"{said}{f'; {rest}' if rest else ''}{at}"


def held_against(job: Job, reading: Reading) -> str:
    """What a value is held against: "at most 500.0 V less 5 % = 475.0 V"."""
    allowed = measure(job, reading, reading.allowed)
    if reading.allowed != reading.raw_allowed:
        less = sentences.plain(100 * (1 - reading.allowed / reading.raw_allowed))
        allowed = f"{measure(job, reading, reading.raw_allowed)} less {less} % = {allowed}"
    words = {"at most": ("at most", "over"), "at least": ("at least", "below")}[reading.sense]
    return f"{words[0 if reading.holds else 1]} {allowed}"


def remarks(job: Job, verdict: Verdict, reading: Reading) -> Iterator[str]:
    """Of a limit that fails: by how much, whether the bare rating fails too, and what would do."""
    if reading.holds:
        return
    limit = LIMITS[reading.limit]
    if not reading.settled and not isnan(reading.value) and reading.unit != "degC":
        gap = measure(job, reading, abs(reading.value - reading.allowed))
        yield f"{gap} {'over' if reading.sense == 'at most' else 'short'}."
    if "reserve" in limit.kinds and reading.raw_holds:
        yield "The bare rating holds; what is missing is the reserve."
    elif "safety" in limit.kinds:
        bare = "Against the raw rating too: this" if "reserve" in limit.kinds else "This"
        yield f"{bare} can damage."
    cure = verdict.cures.get((reading.limit, reading.where))
    if cure is not None:
        yield _cured(job, verdict.bundle, cure)
    yield f"Mend: {limit.mend}."


def _cured(job: Job, bundle: Bundle, cure: Cure) -> str:
    value = measure(job, cure.reading, cure.reading.value)
    if cure.count == "bank":
        value = f"{value} of {measure(job, cure.reading, cure.reading.allowed)}"
    pieces = "batteries" if bundle.bank_series == 1 else "bank strings"
    said = CURED[cure.count].format(number=cure.number, value=value, strings=pieces)
    return f"{said}, but {' and '.join(cure.breaks)} would then fail." if cure.breaks else f"{said}."


# what it rests on ------------------------------------------------------------------------------------------------


def rests_on(judged: Judgement) -> dict[str, list[str]]:
    """What a judgement rests on, by label: a text for the job, and one for each bundle where there is something."""
    told, verdicts = judged.answer, judged.verdicts
    several = len(verdicts) > 1
    said: dict[str, list[str]] = {}

    def note(label: str, verdict: Verdict, texts: Sequence[str]) -> None:
        of = f"{verdict.bundle.name}: " if several and texts else ""
        said.setdefault(label, []).extend([f"{of}{'; '.join(texts)}"] if texts else [])

    for verdict in verdicts:
        note("NOT JUDGED", verdict, not_judged(verdict))
        for text in to_settle(told.job, verdict.audit):
            note("SETTLE", verdict, [text])
        note("NOTE", verdict, list(_oddities(verdict)))
    said["MEASURED"] = ["; ".join(sentences.measured(told))]
    said["ESTIMATED"] = ["; ".join(sentences.estimated(told)) or "nothing"]
    said["TAKEN AS"] = ["; ".join(sentences.taken_for_job(told))]
    said["CONDITION"] = ["; ".join(sentences.conditions_of_job(told))]
    for verdict, option in zip(verdicts, told.options, strict=True):
        note("TAKEN AS", verdict, sentences.taken_for_option(told, option))
        note("CONDITION", verdict, sentences.conditions_of_option(told, option))
    said["NOTE"] += notes.warnings(told, brief=True)
    return {label: list(filter(None, texts)) for label, texts in said.items()}


def not_judged(verdict: Verdict) -> list[str]:
    """What could not be judged, and why."""
    bundle, missing, said = verdict.bundle, set(verdict.audit.not_judged), []
    if bundle.rack is None:
        said.append("racks and extras: the file names no rack (mounting-fit)")
        missing.discard("mounting-fit")
    if verdict.unpriced:
        which = ", ".join(verdict.unpriced)
        said.append(f"price and stock: not enough of {which} can be had from sellers that the job allows")
    elif bundle.order is None:
        said.append("price and stock: the file asks a price for the whole" if bundle.quoted_cents is not None
                    else "price and stock: parts that are in no catalogue have no price there")  # fmt: skip
    if bundle.order is None:
        missing -= {"priced", "stock"}
    return said + sorted(missing)


def _oddities(verdict: Verdict) -> Iterator[str]:
    """What fails no limit and should be asked about."""
    bundle, needed = verdict.bundle, verdict.rack_units
    if needed is not None and bundle.rack_units not in (None, needed):
        yield f"{bundle.rack_units} racks are offered; by the rack's own figures the strings take {needed}"
    if bundle.rack is None and bundle.rack_units is not None:
        yield f"{bundle.rack_units} racks are offered, of which the file does not say which"
