"""What moved between two price lists, as data."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from optimizer.answers.changed_prices import ORDER
from optimizer.writing.words.json_figures import Json, amount, figure
from optimizer.writing.words.problems import warning_text

if TYPE_CHECKING:
    from optimizer.answers.changed_prices import PriceChanges


SCHEMA = 1


def moves_data(found: PriceChanges) -> Json:
    """What moved for other programs: money as text with two decimals, None where there is no price."""
    buyers, warning = found.buyers, found.warning
    counts = Counter(move.what for move in found.moves)
    data: Json = {
        "schema": SCHEMA, "from": found.before.file, "to": found.after.file, "currency": found.after.currency,
        "counts": {what: counts[what] for what in ORDER}, "same": found.same,
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
        data["jobs"] = {"answered": buyers.answered, "touched": found.touched, "without": list(buyers.without)}
    return data
