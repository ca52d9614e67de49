"""What moved between two price lists, as plain text."""

from __future__ import annotations

from collections import Counter
from datetime import date
from itertools import groupby
from typing import TYPE_CHECKING

from optimizer.answers.changed_prices import ORDER
from optimizer.vocabulary.months import SHORT_MONTHS
from optimizer.writing.words import sentences
from optimizer.writing.words.figures import plain_money, share
from optimizer.writing.words.phrases import PLURALS
from optimizer.writing.words.problems import warning_text
from optimizer.writing.words.tables import paragraph, table

if TYPE_CHECKING:
    from catalog.reader import PriceList
    from optimizer.answers.changed_prices import Buyers, PriceChanges, PriceMove


FEW = 3  # jobs that a line names; the others are counted
UNKNOWN = "in no file of the catalogue"


def moves_page(found: PriceChanges) -> str:
    """The moves by kind, the largest first, and what they touch."""
    old, new, catalog, buyers, warning = found.before, found.after, found.catalog, found.buyers, found.warning
    head = [paragraph(f"{each.file}, {_span(each)}", label=label) for label, each in (("FROM", old), ("TO", new))]
    if catalog is not None and catalog.generic:
        head.append(sentences.EXAMPLE)
    if warning is not None:
        head.append(paragraph(warning_text(warning), label="NOTE"))
    blocks = ["\n".join(head), paragraph(_sum(found), indent=0)]
    for kind, moves in groupby(found.moves, key=lambda move: move.kind):
        names = ["", "part", new.currency, "now", "by", *(["touches"] if buyers is not None else [])]
        drawn = table([_row(move)[: len(names)] for move in moves], names, "llrrrl"[: len(names)])
        heading = (PLURALS.get(kind) or f"{kind}s" if kind else UNKNOWN).upper() if catalog is not None else ""
        blocks.append("\n".join(filter(None, [heading, drawn])))
    if buyers is not None:
        blocks.append(paragraph(_touched(found, buyers), indent=0))
    return "\n\n".join(blocks) + "\n"


def _span(each: PriceList) -> str:
    days = sorted(set(map(str, each.offers.as_of)))
    first, last = (date.fromisoformat(day) for day in (days[0], days[-1]))
    return f"{len(each.offers):,} offers of {_day(first)}" + (f" to {_day(last)}" if first != last else "")


def _day(day: date) -> str:
    return f"{day.day} {SHORT_MONTHS[day.month - 1]} {day.year}"


def _sum(found: PriceChanges) -> str:
    counts = Counter(move.what for move in found.moves)
    said = [f"{counts[what]} {what}" for what in ORDER if counts[what]]
    return f"{', '.join([*said, f'{found.same} the same'])}."


def _row(move: PriceMove) -> list[str]:
    before, after = ("-" if cents is None else plain_money(cents) for cents in (move.before, move.after))
    rise = "" if not move.share else ("+" if move.share > 0 else "") + share(move.share)
    more = len(move.jobs) - FEW
    touched = [*move.jobs[:FEW], *([f"{more} more"] if more > 0 else [])]
    return [move.what, move.part, before, after, rise, ", ".join(touched)]


def _touched(found: PriceChanges, buyers: Buyers) -> str:
    number = len(found.touched)
    text = f"{number} of {buyers.answered} kept answers buy a part that moved."
    if buyers.without:
        text += f" Without a kept answer: {', '.join(buyers.without)}."
    return text + " What is cheaper or new may come into others too: borewatt refresh finds out."
