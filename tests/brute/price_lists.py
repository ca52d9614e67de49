"""Several price lists of one catalogue: drawn at random, and the bundle that is never far off whichever holds.

`least_worst` goes through every compliant bundle at every list. What a bundle costs beyond the cheapest bundle of a
list is its extra cost there; of the bundles that can be bought within the budget at all lists, the one whose worst
extra is least, and of those the least sum of the extras.
"""

from __future__ import annotations

import csv
import random
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import NamedTuple

from tests.brute.force import every_candidate, market_of
from tests.brute.limits import Limits
from tests.brute.money import Market, Needs
from tests.brute.parts import Parts
from tests.brute.reading import Job


class Least(NamedTuple):
    """What was found, in cents. `cheapest` is None for a list without a bundle, and `extras` where none can be bought
    at all of them."""

    cheapest: tuple[int | None, ...]
    extras: tuple[int, ...] | None


def least_worst(lists: Sequence[Parts], job: Job) -> Least:
    """The least worst extra over catalogues that differ in their offers alone."""
    markets = [market_of(parts, job) for parts in lists]
    floors = any(market.has_floors for market in markets)
    bundles = {
        tuple(sorted(one.needs)): one.needs
        for _, found in every_candidate(lists[0], job, Limits(), floors)
        for one in found
    }
    cheapest = [least_total(market, job, bundles.values()) for market in markets]
    known = [cents for cents in cheapest if cents is not None]
    if len(known) < len(markets):
        return Least(tuple(cheapest), None)
    best: tuple[int, int, tuple[int, ...]] | None = None
    for bound, needs in by_bound(bundles.values(), markets, known):
        if best is not None and bound > best[0]:
            break
        totals = [total(market, job, needs) for market in markets]
        extras = tuple(here - cents for here, cents in zip(totals, known, strict=True) if here is not None)
        if len(extras) == len(markets) and (best is None or (max(extras), sum(extras), extras) < best):
            best = max(extras), sum(extras), extras
    return Least(tuple(cheapest), None if best is None else best[2])


def by_bound(bundles: Iterable[Needs], markets: Sequence[Market], less: Sequence[int]) -> list[tuple[int, Needs]]:
    """The bundles with what they cost at the least beyond `less`, at the worst list; the least first."""

    def bound(needs: Needs) -> int:
        return max(market.at_least(needs) - cents for market, cents in zip(markets, less, strict=True))

    return sorted(((bound(needs), needs) for needs in bundles), key=lambda pair: pair[0])


def total(market: Market, job: Job, needs: Needs) -> int | None:
    """What a bundle comes to; None where it is not for sale or over the budget."""
    bought = market.cost(needs)
    if bought is None or (job.budget_cents is not None and bought[0] > job.budget_cents):
        return None
    return bought[0]


def least_total(market: Market, job: Job, bundles: Iterable[Needs]) -> int | None:
    """The cheapest of the bundles."""
    best: int | None = None
    for bound, needs in by_bound(bundles, [market], [0]):
        if best is not None and bound >= best:
            break
        here = total(market, job, needs)
        if here is not None and (best is None or here < best):
            best = here
    return best


# --- drawing them -----------------------------------------------------------------------------------


def write_lists(catalog_dir: Path, folder: Path, seed: int, most: int = 4) -> list[Path]:
    """2 to `most` price lists in `folder`: the catalogue's with each part's prices moved by up to 30 % either way, all
    of a seller's by up to 15 % in some, and some offers gone; the same for the same seed.

    In half of the draws what is dear in one list is cheap in the next, so that no list's cheapest is good in all.
    """
    draw = random.Random(f"lists {seed}")
    text = (catalog_dir / "prices.csv").read_text(encoding="utf-8-sig")
    lines = [line for line in csv.reader(text.splitlines()) if line and not line[0].startswith("#")]
    head, rows = lines[0], lines[1:]
    part, seller, price = (head.index(column) for column in ("part", "seller", "price"))
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    turns = draw.random() < 0.5
    before: dict[tuple[str, str], float] = {}
    for number in range(draw.randint(2, most)):
        moves: dict[tuple[str, str], float] = {}
        sellers = sorted({row[seller] for row in rows})
        of_seller = {name: draw.choice([1.0, draw.uniform(0.85, 1.15)]) for name in sellers}
        goes = draw.choice([0.0, 0.02, 0.06])
        kept = []
        for row in rows:
            key = row[part], row[seller]
            if key not in moves:
                moves[key] = 2 - before[key] if turns and key in before else draw.uniform(0.7, 1.3)
            if draw.random() >= goes:
                moved = max(0.01, float(row[price]) * moves[key] * of_seller[row[seller]])
                kept.append([*row[:price], f"{moved:.2f}", *row[price + 1 :]])
        before = moves
        path = folder / f"list-{number}.csv"
        with path.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file, lineterminator="\n").writerows([head, *kept])
        paths.append(path)
    return paths
