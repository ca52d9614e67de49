"""What moved between two price lists, as a page and as data."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date
from itertools import groupby
from typing import TYPE_CHECKING, Any

from optimizer.answers import price_changes
from optimizer.writing.words import sentences
from optimizer.writing.words.figures import plain_money, share
from optimizer.writing.words.json_figures import amount, figure
from optimizer.writing.words.phrases import PLURALS
from optimizer.writing.words.problems import warning_text
from optimizer.writing.words.tables import paragraph, table

if TYPE_CHECKING:
    from catalog.reader import Catalog, PriceList
    from optimizer.answers.price_changes import Buyers, PriceMove, PriceMoves
    from optimizer.vocabulary.problems import Problem

SCHEMA = 1
FEW = 3  # jobs that a line names; the others are counted
UNKNOWN = "in no file of the catalogue"


def moves_page(
    old: PriceList, new: PriceList, found: PriceMoves, buyers: Buyers | None, warning: Problem | None,
    catalog: Catalog | None,
) -> str:  # fmt: skip
    """The moves by kind, the largest first, and what they touch."""
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
    return f"{day.day} {sentences.MONTHS[day.month - 1]} {day.year}"


def _sum(found: PriceMoves) -> str:
    counts = Counter(move.what for move in found.moves)
    said = [f"{counts[what]} {what}" for what in price_changes.ORDER if counts[what]]
    return f"{', '.join([*said, f'{found.same} the same'])}."


def _row(move: PriceMove) -> list[str]:
    before, after = ("-" if cents is None else plain_money(cents) for cents in (move.before, move.after))
    rise = "" if not move.share else ("+" if move.share > 0 else "") + share(move.share)
    more = len(move.jobs) - FEW
    touched = [*move.jobs[:FEW], *([f"{more} more"] if more > 0 else [])]
    return [move.what, move.part, before, after, rise, ", ".join(touched)]


def touched(moves: Sequence[PriceMove]) -> list[str]:
    """The jobs that any move touches."""
    return sorted({job for move in moves for job in move.jobs})


def _touched(found: PriceMoves, buyers: Buyers) -> str:
    number = len(touched(found.moves))
    text = f"{number} of {buyers.answered} kept answers buy a part that moved."
    if buyers.without:
        text += f" Without a kept answer: {', '.join(buyers.without)}."
    return text + " What is cheaper or new may come into others too: borewatt refresh finds out."


def moves_data(
    old: PriceList, new: PriceList, found: PriceMoves, buyers: Buyers | None, warning: Problem | None
) -> dict[str, Any]:
    """The same for other programs: money as text with two decimals, None where there is no price."""
    counts = Counter(move.what for move in found.moves)
    data: dict[str, Any] = {
        "schema": SCHEMA, "from": old.file, "to": new.file, "currency": new.currency,
        "counts": {what: counts[what] for what in price_changes.ORDER}, "same": found.same,
        "warnings": [] if warning is None else [warning_text(warning)],
        "moves": [
            {
                "part": move.part, "kind": move.kind or None, "move": move.what,
                "before": None if move.before is None else amount(move.before),
                "after": None if move.after is None else amount(move.after),
                "rise": None if move.share is None else figure(move.share),
                **({} if buyers is None else {"jobs": list(move.jobs)}),
            }
            for move in found.moves
        ],
    }  # fmt: skip
    if buyers is not None:
        data["jobs"] = {"answered": buyers.answered, "touched": touched(found.moves), "without": list(buyers.without)}
    return data
