"""Why nothing cheaper, and why nothing at all, as plain text."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from optimizer.writing.content.why_nothing import (
    HEADING,
    NEAR_HEADS,
    NO_WAY,
    REJECTED,
    WAY_HEADS,
    clash_said,
    kept_said,
    near_rows,
    no_near,
    rejected_rows,
    way_rows,
    ways_solved,
)
from optimizer.writing.words.phrases import (  # fmt: skip
    figures_table,
)
from optimizer.writing.words.tables import paragraph, table

if TYPE_CHECKING:
    from optimizer.answers.answer import Answer
    from optimizer.explain.infeasibility import Conflict
    from optimizer.explain.near_misses import NearMiss


SHORT_LINES = 8  # of WHY NOT CHEAPER, its heading included


def why_not_cheaper(answer: Answer) -> str:
    """The near misses in at most eight lines; "" where they were not looked for."""
    if not answer.options or not answer.why.near_sought:
        return ""
    if nothing := no_near(answer):
        return paragraph(nothing, label=HEADING)
    shown = list(answer.why.near)
    while len(shown) > 1 and near_table(answer, shown, HEADING).count("\n") >= SHORT_LINES:
        shown.pop()
    return near_table(answer, shown, HEADING)


def near_table(answer: Answer, near: Sequence[NearMiss], heading: str) -> str:
    """Cheaper bundles, what each would save, and the limit that refuses it."""
    return figures_table(near_rows(answer, near), [heading, *NEAR_HEADS], "lrll", indent=0 if heading else 1)


# nothing meets the job -------------------------------------------------------------------------------------------


def conflict_text(answer: Answer, found: Conflict) -> Iterable[str]:
    """What bars every bundle, and the ways out."""
    if found.rejected:
        yield REJECTED
        yield table(rejected_rows(found))
        yield ""
    for place, clash in enumerate(found.clashes):
        head, rows, note = clash_said(answer, clash, place)
        yield paragraph(head, indent=0)
        if rows:
            yield figures_table(rows)
        if note:
            yield paragraph(note)
        yield ""
    if any(clash.stands for clash in found.clashes):
        yield paragraph(kept_said(), indent=0)
        yield ""
    if found.ways:
        yield f"WAYS OUT, {ways_solved(found)}"
        yield table(way_rows(found), WAY_HEADS, "lrl")
    elif "ways out" not in found.unfinished:
        yield "WAYS OUT"
        yield paragraph(NO_WAY)
    for name in found.unfinished:
        yield paragraph(f"the time limit came first; not all is known of: {name}", label="UNFINISHED")
