"""What a budget buys, as a page and as a table for other programs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimizer.answers.budget_staircase import Staircase
from optimizer.writing.content.staircase import budget_said, remarks, stair_heads, stair_rows, title, told_of
from optimizer.writing.text.pick import cautions, in_full
from optimizer.writing.words import sentences
from optimizer.writing.words.tables import paragraph, table

if TYPE_CHECKING:
    from catalog.reader import Catalog
    from optimizer.candidates.terms import SearchTerms
    from optimizer.inputs.job import Job


def afford_page(job: Job, catalog: Catalog, found: Staircase, terms: SearchTerms) -> str:
    """The staircase, what the budget buys in full, and what is left of it."""
    answer = told_of(job, catalog, found, terms)
    blocks = [sentences.head_lines(job, catalog), _stairs(job, found), "\n".join(_money(catalog, found))]
    if answer.options:
        blocks += in_full(answer, answer.options[0])
    blocks.append(cautions(answer))
    return "\n\n".join(block for block in blocks if block) + "\n"


def _stairs(job: Job, found: Staircase) -> str:
    lines = [paragraph(title(found), indent=0), table(stair_rows(job, found), stair_heads(found), "rrrrlrl", indent=0)]
    return "\n".join([*lines, *(paragraph(text) for text in remarks(job, found))])


def _money(catalog: Catalog, found: Staircase) -> list[str]:
    return [paragraph(text, indent=0 if n == 0 else 1) for n, text in enumerate(budget_said(catalog, found))]
