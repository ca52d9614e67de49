"""What a refresh tells: a line for each job, what they add up to, and the same as data."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from optimizer.answers import refreshed_job
from optimizer.bundles.bundle import Purchase
from optimizer.writing.words import sentences
from optimizer.writing.words.figures import plain_money
from optimizer.writing.words.json_figures import amount, figure
from optimizer.writing.words.phrases import figures_table, missed
from optimizer.writing.words.problems import expected_text, mend_text, place_text, warning_text
from optimizer.writing.words.tables import ends, paragraph

if TYPE_CHECKING:
    from catalog.reader import Catalog
    from optimizer.answers.refreshed_job import Keeping, Move, Refreshed, Told
    from optimizer.auditor.audit import Reading
    from optimizer.bundles.kept_answer import Shape
    from optimizer.inputs.job import Job

SCHEMA = 1
FEW = 3  # moves, limits or parts that a line names; the others are counted
BAR = 24  # signs of the progress bar
OLD_PRICES = ("old-prices", "old-prices-left-out")
ABSENT = {
    refreshed_job.NO_PART: "no longer in the catalogue", refreshed_job.NO_SELLER: "no seller",
    refreshed_job.NOT_ALLOWED: "no seller that the job allows", refreshed_job.NO_STOCK: "too little in stock",
    refreshed_job.NOT_NAMED: "not named",
}  # fmt: skip


def report(
    folder: str, told: Sequence[Told], catalogs: Sequence[Catalog], others: int, written: int, dry: bool, left: int = 0
) -> str:
    """The whole page. ``others``: files that are no jobs; ``written``: answers; ``left``: jobs an interrupt left."""
    rows = []
    for each in told:
        first, *more = _said(each)
        rows.append([each.status, each.name, _totals(each)[1] or "-", first])
        rows += [["", "", "", text] for text in more]
    drawn = figures_table(rows, align="llrl") if rows else ""
    total = paragraph(_sum(told, others, written, dry, left), indent=0)
    return "\n".join(filter(None, [_head(folder, catalogs), drawn, total])) + "\n"


def report_html(
    folder: str, told: Sequence[Told], catalogs: Sequence[Catalog], others: int, written: int, dry: bool,
    pages: Mapping[str, str],
) -> str:  # fmt: skip
    """The same as a page for print or screen; ``pages``: a job's own page, seen from this one, by the job's file."""
    from optimizer.writing.html.render import JobLine, jobs_html

    source, example = _source(catalogs)
    said = [f"{text}." for text in (source, example, _span(catalogs)) if text]
    said += [*_old_prices(catalogs), _sum(told, others, written, dry, 0)]
    lines = [
        JobLine(each.name, each.status, *_totals(each), " ".join(_said(each)), pages.get(each.file, ""))
        for each in told
    ]  # fmt: skip
    currencies = dict.fromkeys(each.currency for each in catalogs)
    return jobs_html(f"Jobs below {folder}", said, lines, ", ".join(currencies))


def _totals(told: Told) -> tuple[str, str]:
    """The delivered total before and now, "" where there is none."""
    both = (told.outcome.before, told.outcome.cents) if told.outcome is not None else (None, None)
    before, now = ("" if cents is None else plain_money(cents) for cents in both)
    return before, now


def _head(folder: str, catalogs: Sequence[Catalog]) -> str:
    lines = [paragraph(f"Jobs below {folder}", indent=0)]
    source, example = _source(catalogs)
    lines += filter(None, [ends(source, example) if example else source, _span(catalogs)])
    lines += [paragraph(text, label="NOTE") for text in _old_prices(catalogs)]
    return "\n".join([*lines, ""])


def _source(catalogs: Sequence[Catalog]) -> tuple[str, str]:
    """Which catalogues, and that their parts are invented where they are; "" and "" for none."""
    if not catalogs:
        return "", ""
    name = sentences.catalogue_name(catalogs[0]) if len(catalogs) == 1 else f"{len(catalogs)} catalogues"
    return _begun(name), sentences.EXAMPLE if any(each.generic for each in catalogs) else ""


def _span(catalogs: Sequence[Catalog]) -> str:
    """The days of the price list, where there is one."""
    return _begun(sentences.price_span(catalogs[0])) if len(catalogs) == 1 else ""


def _begun(text: str) -> str:
    return text[0].upper() + text[1:]


def _old_prices(catalogs: Sequence[Catalog]) -> list[str]:
    old = [problem for each in catalogs for problem in each.warnings if problem.kind.id in OLD_PRICES]
    return list(dict.fromkeys(map(warning_text, old)))


def _sum(told: Sequence[Told], others: int, written: int, dry: bool, left: int) -> str:
    counts = Counter(each.status for each in told)
    lost, wrong = counts[refreshed_job.LOST], counts[refreshed_job.WRONG]
    faults = sum(bool(each.fault) for each in told)
    said = [f"{len(told) - lost - wrong} answered"]
    said += [f"{lost} not possible"] if lost else []
    said += [f"{wrong - faults} wrong"] if wrong > faults else []
    said += [f"{faults} with a fault of this tool"] if faults else []
    said += [f"{left} not looked at"] if left else []
    files = "no answer" if not written else "1 answer" if written == 1 else f"{written} answers"
    text = f"{_count(len(told) + left, 'job')}: {', '.join(said)}. {files[0].upper()}{files[1:]} "
    text += "would be written." if dry else "written."
    return f"{text} {_count(others, 'other .toml file')}." if others else text


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'}"


# one job ---------------------------------------------------------------------------------------------------------


def _said(told: Told) -> list[str]:
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
    if outcome.status == refreshed_job.LOST:
        return _lost(job, outcome)
    if outcome.up_to_date:
        return "up to date"
    if outcome.status == refreshed_job.NEW:
        if outcome.edited:
            return "answered anew"
        return "nothing met it before" if outcome.was_answered else "no kept answer"
    if outcome.status == refreshed_job.CHANGED:
        swapped = ", ".join(_swaps(outcome)) or "the same parts, wired otherwise"
        return f"{swapped}; {_keeping(job, outcome)}"
    moves = _few([_move(move) for move in outcome.moves])
    if outcome.status == refreshed_job.SAME:
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
    for load in dict.fromkeys([*old.starters, *new.starters]):
        was, now = old.starters.get(load), new.starters.get(load)
        if was != now:
            said.append(f"{_out_and_in(was, now)} for {load}")
    for part in dict.fromkeys([*sorted(old.tanks), *sorted(new.tanks)]):
        count, number = old.tanks.get(part, 0), new.tanks.get(part, 0)
        if count and number and count != number:
            said.append(f"{part}: {count} -> {number}")
        elif count != number:
            said.append(f"{_pieces(count or number)}{part} {'out' if count else 'in'}")
    return said


def _out_and_in(out: str | None, into: str | None) -> str:
    return ", ".join([*([f"{out} out"] if out else []), *([f"{into} in"] if into else [])])


def _pieces(count: int) -> str:
    return f"{count} " if count > 1 else ""


def _wired(shape: Shape, kind: str) -> str:
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


def _barred(job: Job, keeping: Keeping) -> str:
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


# the same as data ------------------------------------------------------------------------------------------------


def report_data(folder: str, told: Sequence[Told], others: int, written: int, dry: bool) -> dict[str, Any]:
    """The report for other programs: money as text with two decimals, absent where there is none."""
    counts = Counter(each.status for each in told)
    return {
        "schema": SCHEMA, "folder": folder,
        "counts": {status: counts[status] for status in refreshed_job.STATUSES},
        "others": others, "answers_written": 0 if dry else written, "dry_run": dry,
        "jobs": [_job_data(each) for each in told],
    }  # fmt: skip


def _job_data(told: Told) -> dict[str, Any]:
    outcome = told.outcome
    data: dict[str, Any] = {
        "job": told.file, "title": told.job.title if told.job is not None else None, "status": told.status,
        "total": _money(outcome.cents) if outcome is not None else None, "said": _said(told),
    }  # fmt: skip
    if told.problems:
        data["problems"] = [
            {
                "kind": problem.kind.id, "file": problem.place.file, "row": problem.place.row,
                "column": problem.place.column, "name": problem.place.name, "cell": problem.place.cell,
                "expected": expected_text(problem), "mend": mend_text(problem),
            }
            for problem in told.problems
        ]  # fmt: skip
    if outcome is None:
        return data
    data |= {"before": _money(outcome.before), "up_to_date": outcome.up_to_date, "edited": outcome.edited}
    data["moves"] = [
        {"part": m.part or None, "freight_of": m.seller if m.charge == "freight" else None,
         **({"tax_of": m.seller} if m.charge == "tax" else {}), "before": _spent(m.before), "after": _spent(m.after),
         "rise": amount(m.cents)}
        for m in outcome.moves
    ]  # fmt: skip
    for name, shape in (("bundle", outcome.shape), ("old_bundle", outcome.old_shape)):
        data[name] = None if shape is None else _shape(shape)
    keeping = outcome.keeping
    data["keeping"] = None if keeping is None else {
        "passes": keeping.passes, "total": _money(keeping.cents),
        "absent": [{"part": part, "why": ABSENT[why]} for part, why in keeping.absent],
        "breaks": [_reading(reading) for reading in keeping.failing],
    }  # fmt: skip
    data["barred_by"] = list(outcome.barred)
    data["cheapest_without_budget"] = _money(outcome.least)
    return data


def _money(cents: int | None) -> str | None:
    return None if cents is None else amount(cents)


def _spent(cost: Purchase | int) -> Any:
    if isinstance(cost, int):
        return amount(cost)
    return [{"seller": n.seller, "quantity": n.quantity, "unit_price": amount(n.unit_cents)} for n in cost.lines]


def _shape(shape: Shape) -> Mapping[str, Any]:
    strings = [{"tracker": t, "parallel": p, "series": s} for t, p, s in shape.strings]
    bank = {"series": shape.bank[0], "parallel": shape.bank[1]}
    return {"models": dict(shape.models), "counts": dict(shape.counts), "strings": strings, "bank": bank,
            "starters": dict(shape.starters), "tanks": dict(shape.tanks)}  # fmt: skip


def _reading(reading: Reading) -> dict[str, Any]:
    return {"limit": reading.limit, "value": figure(reading.value), "allowed": figure(reading.allowed),
            "unit": reading.unit, "where": reading.where}  # fmt: skip


# progress --------------------------------------------------------------------------------------------------------


def bar(done: int, of: int, counts: Mapping[str, int]) -> str:
    """One line of progress: a bar, how many of how many, and what became of them."""
    filled = BAR * done // max(of, 1)
    said = [f"{counts[status]} {status}" for status in refreshed_job.STATUSES if counts.get(status)]
    return f"[{'#' * filled}{'.' * (BAR - filled)}] {done} of {of} jobs  {', '.join(said)}".rstrip()
