"""The audit's page: one bundle with every limit worked out, or several side by side with what fails worked out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from optimizer.writing.content.verdict import (
    ABREAST,
    alike,
    parts,
    price,
    remarks,
    rests_on,
    result,
    sentence,
    side_rows,
)
from optimizer.writing.words import sentences
from optimizer.writing.words.phrases import figures_table
from optimizer.writing.words.tables import bullet, ends, paragraph, table

if TYPE_CHECKING:
    from catalog.reader import Catalog
    from optimizer.answers.judgement import Judgement
    from optimizer.explain.verdict import Verdict
    from optimizer.inputs.job import Job


def verdict_page(judged: Judgement, every_limit: bool = False) -> str:
    """The whole page. Of several bundles, limits that all of them meet are counted, or listed by ``every_limit``."""
    job, catalog, verdicts = judged.answer.job, judged.answer.catalog, judged.verdicts
    blocks = [sentences.head_lines(job, catalog)]
    if len(verdicts) == 1:
        blocks.append(_alone(job, catalog, verdicts[0]))
    else:
        groups = [verdicts[start : start + ABREAST] for start in range(0, len(verdicts), ABREAST)]
        blocks += [_side_by_side(job, group, every_limit) for group in groups]
        blocks += [failures(job, verdict) for verdict in verdicts if verdict.failing]
    blocks.append(_notes(judged))
    blocks.append("\n".join(["CAUTION", *(bullet(text) for text in sentences.CAUTIONS)]))
    return "\n\n".join(blocks) + "\n"


# one bundle ------------------------------------------------------------------------------------------------------


def _alone(job: Job, catalog: Catalog, verdict: Verdict) -> str:
    lines = [
        ends(verdict.bundle.name, result(verdict)),
        paragraph(parts(verdict.bundle), label=" parts"),
        paragraph(price(verdict, catalog.currency), label=" price"),
        "",
    ]  # fmt: skip
    rows: list[list[str]] = []
    for reading, where in alike(verdict.audit.readings):
        rows.append(["ok" if reading.holds else "FAIL", reading.limit, sentence(job, reading, where)])
        rows += [["", "", text] for text in remarks(job, verdict, reading)]
    return "\n".join([*lines, figures_table(rows)])


# several bundles -------------------------------------------------------------------------------------------------


def _side_by_side(job: Job, verdicts: Sequence[Verdict], every_limit: bool) -> str:
    return table(side_rows(job, verdicts, every_limit), ["", *(verdict.bundle.name for verdict in verdicts)])


def failures(job: Job, verdict: Verdict) -> str:
    """Every limit that a bundle fails, worked out, with what would mend it."""
    rows = []
    for reading, where in alike(verdict.failing):
        rows.append([reading.limit, sentence(job, reading, where)])
        rows += [["", text] for text in remarks(job, verdict, reading)]
    return f"{verdict.bundle.name}\n{figures_table(rows)}"


def _notes(judged: Judgement) -> str:
    return "\n".join(
        paragraph(text, label=label if n == 0 else " ")
        for label, texts in rests_on(judged).items()
        for n, text in enumerate(texts)
    )  # fmt: skip
