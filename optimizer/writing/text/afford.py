"""What a budget buys, as a page."""

from __future__ import annotations

from optimizer.answers.budget_staircase import Staircase
from optimizer.writing.content.staircase import budget_said, remarks, stair_heads, stair_rows, title
from optimizer.writing.text.pick import cautions, in_full
from optimizer.writing.words import sentences
from optimizer.writing.words.tables import paragraph, table


def afford_page(found: Staircase) -> str:
    """The staircase, what the budget buys in full, and what is left of it."""
    answer = found.shown
    blocks = [sentences.head_lines(answer.job, answer.catalog), _stairs(found), "\n".join(_money(found))]
    if answer.options:
        blocks += in_full(answer, answer.options[0])
    blocks.append(cautions(answer))
    return "\n\n".join(block for block in blocks if block) + "\n"


def _stairs(found: Staircase) -> str:
    lines = [paragraph(title(found), indent=0), table(stair_rows(found), stair_heads(found), "rrrrlrl", indent=0)]
    return "\n".join([*lines, *(paragraph(text) for text in remarks(found))])


def _money(found: Staircase) -> list[str]:
    return [paragraph(text, indent=0 if n == 0 else 1) for n, text in enumerate(budget_said(found))]
