"""What a refresh says of each job, and what they add up to."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

from catalog.part_kinds import EACH_LOAD, POOLS
from catalog.price_age import OLD_PRICES
from optimizer.answers import refreshed_job
from optimizer.writing.words import sentences
from optimizer.writing.words.figures import plain_money
from optimizer.writing.words.phrases import missed
from optimizer.writing.words.problems import expected_text, mend_text, place_text, warning_text

if TYPE_CHECKING:
    from catalog.reader import Catalog
    from optimizer.answers.refreshed_job import JobReport, Move, OldBundleNow, Refreshed, RefreshedFolder
    from optimizer.bundles.kept_answer import BundleShape
    from optimizer.inputs.job import Job


FEW = 3  # moves, limits or parts that a line names; the others are counted
ABSENT = {
    refreshed_job.NO_PART: "no longer in the catalogue", refreshed_job.NO_SELLER: "no seller",
    refreshed_job.NOT_ALLOWED: "no seller that the job allows", refreshed_job.NO_STOCK: "too little in stock",
    refreshed_job.NOT_NAMED: "not named",
}  # fmt: skip


def totals(told: JobReport) -> tuple[str, str]:
    """The delivered total before and now, "" where there is none."""
    both = (told.outcome.before, told.outcome.cents) if told.outcome is not None else (None, None)
    before, now = ("" if cents is None else plain_money(cents) for cents in both)
    return before, now


def sources(catalogs: Sequence[Catalog]) -> tuple[str, str]:
    """Which catalogues, and that their parts are invented where they are; "" and "" for none."""
    if not catalogs:
        return "", ""
    name = sentences.catalogue_name(catalogs[0]) if len(catalogs) == 1 else f"{len(catalogs)} catalogues"
    return _begun(name), sentences.EXAMPLE if any(each.generic for each in catalogs) else ""


def span(catalogs: Sequence[Catalog]) -> str:
    """The days of the price list, where there is one."""
    return _begun(sentences.price_span(catalogs[0])) if len(catalogs) == 1 else ""


def _begun(text: str) -> str:
    return text[0].upper() + text[1:]


def old_prices(catalogs: Sequence[Catalog]) -> list[str]:
    old = [problem for each in catalogs for problem in each.warnings if problem.kind.id in OLD_PRICES]
    return list(dict.fromkeys(map(warning_text, old)))


def summed_up(found: RefreshedFolder) -> str:
    """What the jobs add up to, in a sentence or two."""
    told, others, written, left = found.jobs, found.others, found.written, found.left
    counts = Counter(each.status for each in told)
    lost, wrong = counts[refreshed_job.JobStatus.LOST], counts[refreshed_job.JobStatus.WRONG]
    faults = sum(bool(each.fault) for each in told)
    said = [f"{len(told) - lost - wrong} answered"]
    said += [f"{lost} not possible"] if lost else []
    said += [f"{wrong - faults} wrong"] if wrong > faults else []
    said += [f"{faults} with a fault of this tool"] if faults else []
    said += [f"{left} not looked at"] if left else []
    files = "no answer" if not written else "1 answer" if written == 1 else f"{written} answers"
    text = f"{_count(len(told) + left, 'job')}: {', '.join(said)}. {files[0].upper()}{files[1:]} "
    text += "would be written." if found.dry else "written."
    return f"{text} {_count(others, 'other .toml file')}." if others else text


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'}"


# one job ---------------------------------------------------------------------------------------------------------


def said_of(told: JobReport) -> list[str]:
    """What is said of a job: its line, and what stands under it."""
    if told.fault:
        return [f"a fault of this tool, not of your input: {told.fault}. Please report it with job and catalogue."]
    if told.problems:
        first = told.problems[0]
        more = len(told.problems) - 1
        said = f"{place_text(first.place)}  {expected_text(first)} {mend_text(first)}"
        return [said + (f" {more} more: borewatt pick {told.file} lists them." if more else "")]
    assert told.outcome is not None and told.job is not None
    outcome = told.outcome
    return [_line(told.job, outcome), *_edited(told.job, outcome)]


def _line(job: Job, outcome: Refreshed) -> str:
    if outcome.status == refreshed_job.JobStatus.LOST:
        return _lost(job, outcome)
    if outcome.up_to_date:
        return "up to date"
    if outcome.status == refreshed_job.JobStatus.NEW:
        if outcome.edited:
            return "answered anew"
        return "nothing met it before" if outcome.was_answered else "no kept answer"
    if outcome.status == refreshed_job.JobStatus.CHANGED:
        swapped = ", ".join(_swaps(outcome)) or "the same parts, wired otherwise"
        return f"{swapped}; {_keeping(job, outcome)}"
    moves = _few([_move(move) for move in outcome.moves])
    if outcome.status == refreshed_job.JobStatus.SAME:
        return f"comes to the same: {moves}" if moves else "no part of it moved"
    return f"{_rise((outcome.cents or 0) - (outcome.before or 0))}: {moves}" if moves else "its prices moved"


def _few(texts: Sequence[str]) -> str:
    more = len(texts) - FEW
    return ", ".join([*texts[:FEW], *([f"{more} more"] if more > 0 else [])])


def _rise(cents: int) -> str:
    return f"{'+' if cents > 0 else ''}{plain_money(cents)}"


def _move(move: Move) -> str:
    """What moved: "pn-410 139.00 -> 151.00" a piece where that tells it, else what all pieces cost."""
    before, after = move.before, move.after
    if isinstance(before, int) or isinstance(after, int):
        was, now = (each if isinstance(each, int) else each.cents for each in (before, after))
        return f"{move.charge} of {move.seller} {plain_money(was)} -> {plain_money(now)}"
    if len(before.lines) == len(after.lines) == 1 and before.lines[0].quantity == after.lines[0].quantity:
        (was_line,), (now_line,) = before.lines, after.lines
        other = was_line.seller != now_line.seller
        sellers = (f" ({was_line.seller})", f" ({now_line.seller})") if other else ("", "")
        return (f"{move.part} {plain_money(was_line.unit_cents)}{sellers[0]} -> "
                f"{plain_money(now_line.unit_cents)}{sellers[1]}")  # fmt: skip
    return f"{move.part} {plain_money(before.cents)} -> {plain_money(after.cents)} in all"


def _swaps(outcome: Refreshed) -> list[str]:
    """What is out and in, kind by kind; what only its number changed of; what is only wired otherwise."""
    old, new = outcome.old_shape, outcome.shape
    if old is None or new is None:
        return []
    said = []
    for kind in dict.fromkeys([*old.models, *new.models]):
        was, now = old.models.get(kind), new.models.get(kind)
        count, number = (shape.counts.get(kind, 0) for shape in (old, new))
        if was != now:
            said.append(_out_and_in(was and f"{_pieces(count)}{was}", now and f"{_pieces(number)}{now}"))
        elif count != number:
            said.append(f"{now}: {count} -> {number}")
        elif (kind == "panel" and old.strings != new.strings) or (kind == "battery" and old.bank != new.bank):
            said.append(f"{now} wired {_wired(old, kind)} -> {_wired(new, kind)}")
    for kind in EACH_LOAD:
        before, after = (shape.each_load.get(kind, {}) for shape in (old, new))
        for load in dict.fromkeys([*before, *after]):
            was, now = before.get(load), after.get(load)
            if was != now:
                said.append(f"{_out_and_in(was, now)} for {load}")
    for kind in POOLS:
        held, holds = (shape.pools.get(kind, {}) for shape in (old, new))
        for part in dict.fromkeys([*sorted(held), *sorted(holds)]):
            count, number = held.get(part, 0), holds.get(part, 0)
            if count and number and count != number:
                said.append(f"{part}: {count} -> {number}")
            elif count != number:
                said.append(f"{_pieces(count or number)}{part} {'out' if count else 'in'}")
    return said


def _out_and_in(out: str | None, into: str | None) -> str:
    return ", ".join([*([f"{out} out"] if out else []), *([f"{into} in"] if into else [])])


def _pieces(count: int) -> str:
    return f"{count} " if count > 1 else ""


def _wired(shape: BundleShape, kind: str) -> str:
    if kind == "battery":
        return f"{shape.bank[0]}x{shape.bank[1]}"
    return "+".join(f"{parallel}x{series}" if parallel > 1 else str(series) for _, parallel, series in shape.strings)


def _keeping(job: Job, outcome: Refreshed) -> str:
    """What keeping the old bundle comes to."""
    keeping = outcome.keeping
    if keeping is None:
        return ""
    if not keeping.passes or keeping.cents is None or outcome.cents is None:
        return f"the old bundle {_barred(job, keeping)}"
    more = keeping.cents - outcome.cents
    if not more:
        return "keeping the old bundle costs the same"
    return f"keeping the old bundle {plain_money(keeping.cents)}, {plain_money(more)} more"


def _barred(job: Job, keeping: OldBundleNow) -> str:
    """Why an old bundle will not do."""
    if keeping.absent:
        return f"cannot be had: {_few([f'{part}: {ABSENT[why]}' for part, why in keeping.absent])}"
    if keeping.unreadable is not None:
        return f"cannot be read: {place_text(keeping.unreadable.place)}  {expected_text(keeping.unreadable)}"
    if not keeping.failing:
        return "has no price: it has parts of no catalogue"
    costs = "" if keeping.cents is None else f"would cost {plain_money(keeping.cents)} and "
    return f"{costs}breaks {_few([f'{reading.limit} ({missed(job, reading)})' for reading in keeping.failing])}"


def _lost(job: Job, outcome: Refreshed) -> str:
    """Why nothing meets a job that may have been met before."""
    said = []
    if outcome.keeping is not None and not outcome.keeping.passes:
        said.append(f"the old bundle {_barred(job, outcome.keeping)}")
    budget = job.need.budget_cents
    if outcome.least is not None and budget is not None:
        said.append(f"the cheapest there is costs {plain_money(outcome.least)}, the budget is {plain_money(budget)}")
    elif outcome.barred:
        together = " together" if len(outcome.barred) > 1 else ""
        said.append(f"nothing meets {', '.join(outcome.barred)}{together}")
    else:
        said.append("of what can be had nothing makes a bundle")
    if outcome.up_to_date:
        said.append("up to date")
    return "; ".join(said)


def _edited(job: Job, outcome: Refreshed) -> list[str]:
    if not outcome.edited:
        return []
    keeping = outcome.keeping
    if keeping is None:
        return ["its kept answer was not as refresh wrote it, and no bundle can be read from it"]
    if keeping.passes and keeping.cents is not None:
        judged = f"passes at {plain_money(keeping.cents)}"
    else:
        judged = _barred(job, keeping)
    return [f"its kept answer was not as refresh wrote it; audited again, its bundle {judged}"]
