"""The answer as a page of plain text, 80 columns wide."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from optimizer.rules.limits import LIMITS
from optimizer.writing.content.option import (
    NO_BREAK,
    OPTION_HEADS,
    UNPROVEN,
    facts,
    on_hand,
    option_rows,
    rests_on,
    room,
    seller_orders,
    tracker_heads,
    tracker_rows,
    worth_said,
)
from optimizer.writing.text.why_nothing import conflict_text, why_not_cheaper
from optimizer.writing.words import notes, sentences
from optimizer.writing.words.figures import money, plain_money, working
from optimizer.writing.words.phrases import measure
from optimizer.writing.words.settle import to_settle
from optimizer.writing.words.tables import bullet, ends, paragraph, table

if TYPE_CHECKING:
    from optimizer.answers.answer import Answer, Option
    from optimizer.auditor.reading import Reading
    from optimizer.inputs.job import Job


SHORT = 6  # limits shown where not all are asked for


def page(answer: Answer, shown: int = 1, every_limit: bool = False) -> str:
    """The whole answer, with option ``shown`` in full; ``every_limit`` lists all its limits."""
    if answer.pick.status == "none":
        return _none(answer)
    blocks = [head(answer)]
    if answer.options:
        option = answer.options[shown - 1]
        blocks += [
            options_table(answer),
            _settle(answer, option),
            *in_full(answer, option, every_limit),
            why_not_cheaper(answer),
        ]
    blocks.append(cautions(answer))
    return "\n\n".join(block for block in blocks if block) + "\n"


def _settle(answer: Answer, option: Option) -> str:
    """What stands on the first screen: nobody should buy before it is settled."""
    said = to_settle(answer.job, option.audit)
    return "\n".join(["SETTLE BEFORE YOU BUY", *(bullet(text, " !") for text in said)])


def in_full(answer: Answer, option: Option, every_limit: bool = False) -> list[str]:
    """One bundle: how it is wired, its limits, what to buy, and what it rests on."""
    wired = [_detail(answer, option, every_limit), _worth(answer, option)]
    return [*wired, _orders(answer, option), _notes(answer, option)]


def head(answer: Answer) -> str:
    """The title, the catalogue, and how far the answer is proven."""
    title = [paragraph(answer.job.title, indent=0)]
    title.append(sentences.source_line(answer.catalog))
    return "\n".join([*title, "", *(paragraph(text, indent=0) for text in sentences.proof_state(answer))])


# the options -----------------------------------------------------------------------------------------------------


def options_table(answer: Answer) -> str:
    """One row for each distinct bundle; what is as in option 1 is not said again."""
    if not answer.options:
        return ""
    rows = option_rows(answer)
    drawn = table(rows, OPTION_HEADS, "rrlllrl", indent=0).replace(NO_BREAK, " ")
    if any("?" in row[0] for row in rows):
        drawn += "\n" + paragraph(UNPROVEN)
    return drawn


# one option in full ----------------------------------------------------------------------------------------------


def _detail(answer: Answer, option: Option, every_limit: bool) -> str:
    lines = [ends(f"OPTION {option.rank}", f"{money(option.cents, answer.catalog.currency)} delivered")]
    lines.append(table(tracker_rows(option), tracker_heads(answer.job, option), "llrrr"))
    lines += [paragraph(text, label=f" {label}") for label, text in facts(answer, option)]
    return "\n".join(lines) + "\n\n" + limits_table(answer.job, option.nearest(), every_limit)


def limits_table(job: Job, readings: Iterable[Reading], every_limit: bool) -> str:
    """The limits as asked, has and room, in the order given."""
    readings = list(readings)
    shown = readings if every_limit else readings[:SHORT]
    rows = []
    for reading in shown:
        asked, has = reading.value, reading.allowed
        if reading.sense == "at least":
            asked, has = has, asked
        if reading.settled:
            said = reading.where or working(LIMITS[reading.limit], reading.slots)
            rows.append([reading.limit, "", "holds", "", said])
            continue
        texts = [measure(job, reading, asked), measure(job, reading, has), room(reading)]
        rows.append([reading.limit, *texts, "area" if reading.where == "m2" else reading.where])
    drawn = table(rows, ["limit", "asks", "has", "room", "where"], "lrrrl")
    left_out = len(readings) - len(shown)
    return drawn + (f"\n {left_out} more limits hold: --all shows them." if left_out else "")


def _orders(answer: Answer, option: Option) -> str:
    order = option.bundle.order
    if order is None:
        return ""
    rows: list[list[str]] = []
    for each in seller_orders(order, answer.catalog.seller):
        rows.append([each.seller, "", "", "", "", ""])
        rows += [["", *line] for line in each.lines]
        rows += [["", name, "", "", cents, ""] for name, cents in each.charges]
        rows.append(["", "subtotal", "", "", each.subtotal, ""])
    rows.append(["total", "", "", "", plain_money(order.cents), ""])
    lines = [table(rows, ["BUY", "part", "pieces", "each", f"cost {answer.catalog.currency}", ""], "llrrrl", indent=0)]
    if used := on_hand(answer, option):
        lines.append(paragraph("; ".join(used), label="ON HAND"))
    return "\n".join(lines)


def _worth(answer: Answer, option: Option) -> str:
    said = worth_said(answer, option)
    return "\n".join(paragraph(text, label="SAVES" if not place else " ") for place, text in enumerate(said))


def _notes(answer: Answer, option: Option) -> str:
    said = rests_on(answer, option)
    return "\n".join(paragraph("; ".join(items), label=label) for label, items in said.items() if items)


def cautions(answer: Answer) -> str:
    noted = [paragraph(text, label="NOTE") for text in notes.warnings(answer, brief=True)]
    return "\n".join([*noted, "CAUTION", *(bullet(text) for text in sentences.CAUTIONS)])


# nothing meets the job -------------------------------------------------------------------------------------------


def _none(answer: Answer) -> str:
    found = answer.why.conflict
    lines = [
        paragraph(answer.job.title, indent=0),
        sentences.source_line(answer.catalog),
        "",
        ends("NO BUNDLE MEETS THIS JOB", "proven"),
        *(paragraph(text, indent=0) for text in sentences.proof_state(answer)),
    ]
    if beside := sentences.asked_beside(answer):
        lines.append(paragraph("; ".join(beside), label="CONDITION"))
    if found is not None:
        lines += ["", *conflict_text(answer, found)]
    lines += ["", "A safety limit is never a way out."]
    if noted := notes.warnings(answer, brief=True):
        lines += ["", *(paragraph(text, label="NOTE") for text in noted)]
    return "\n".join(lines) + "\n"
