"""What is said of the bundle to settle on over several price lists."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from catalog.price_age import OLD_PRICES
from optimizer.answers.minimax_regret import extras
from optimizer.writing.words.figures import money
from optimizer.writing.words.problems import warning_text

if TYPE_CHECKING:
    from catalog.reader import Catalog
    from optimizer.answers.minimax_regret import BoughtAt, OnList, Settled


WORST, CHEAPEST = "worst", "the cheapest here"


def old_prices(catalogs: Sequence[Catalog]) -> list[str]:
    """Of each list that it has old prices."""
    old = [problem for catalog in catalogs for problem in catalog.warnings if problem.kind.id in OLD_PRICES]
    return list(dict.fromkeys(map(warning_text, old)))


def said(names: Sequence[str], catalogs: Sequence[Catalog], found: Settled) -> list[str]:
    """How far off it is, that this is proven, and on which lists it is the cheapest there is."""
    worst, count = money(found.worst, catalogs[0].currency), len(names)
    if not found.worst:
        return [f"Proven: the bundle below is the cheapest on each of these {count} price lists."]
    first = (f"Proven: whichever of these {count} price lists holds, the bundle below costs at most {worst} more than "
             "the cheapest of that list, and no bundle has a smaller worst extra cost.")  # fmt: skip
    there = [name for name, extra in zip(names, found.extras, strict=True) if not extra]
    return [first, f"It is the cheapest on {' and '.join(there)}." if there else "It is the cheapest on none of them."]


def own_worst(names: Sequence[str], lists: Sequence[OnList | None], each: OnList) -> tuple[int | None, str]:
    """The worst extra of a list's own cheapest bundle and the list of it; else None, and why and where it may not be
    bought."""
    found = extras(lists, each.own)
    if found is not None:
        return max(found), names[found.index(max(found))]
    name, there = next((n, b) for n, b in zip(names, each.own, strict=True) if b.cents is None)
    return None, f"{_refused(there)} on {name}"


def _refused(there: BoughtAt) -> str:
    if there.unpriced:
        return f"{', '.join(there.unpriced)} cannot be had"
    return f"fails {', '.join(there.failing)}"
