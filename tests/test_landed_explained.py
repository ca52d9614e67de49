"""What an explanation says on landed terms against the brute force: limits, near misses, proofs, prices, moves.

Freight by weight or free, least orders and tax are in all of it; what is compared is what tests/test_why_against_brute
and tests/test_prices_against_brute compare on plain freight.

Which seeds: of 0 to 200 those that a bundle meets and for which both took the least time for that question when the
lists were made. All others that were drawn within a third of a second were compared then too, as far as that came to an
end in some seconds, and none was wrong: of 87 with a bundle 82 in the prices of parts, 75 in what limits cost, 73 in
proofs, 79 in moves of all prices, 86 in terms. Without `bank-heat` or `bank-freeze` the first two of what limits cost
are cheaper.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from catalog.part_kinds import ONE_MODEL
from optimizer.explain.binding_limits import costs
from optimizer.explain.irreducible_set import proof
from optimizer.explain.near_misses import near_misses
from optimizer.explain.price_ranging import HIGHEST, LOWEST, bought, entering, general, leaving, without
from optimizer.search.branch_and_bound import pick
from tests.seeds import by_seeds
from tests.test_prices_against_brute import (
    drawn_terms,
    movable,
    total,
    wrong_entering,
    wrong_leaving,
    wrong_percent,
)
from tests.test_why_against_brute import missing_moves, wrong_costs, wrong_moves, wrong_near, wrong_proof
from tests.why_helpers import instances

PRICES = (
    0, 6, 7, 11, 14, 16, 21, 26, 28, 29, 32, 35, 37, 42, 47, 55, 58, 64, 65, 66, 70, 73, 74, 75, 79, 80, 82, 87,
    90, 91, 95, 97, 100, 106, 107, 108, 113, 126, 127, 130,
)  # fmt: skip
LIMITS = (64, 95, 0, 16, 29, 32, 37, 65, 180)
PROOFS = (11, 16, 32, 37, 74, 82, 108, 156)
MOVES = (0, 28, 32, 37, 64, 65, 73, 80, 82, 95, 107, 126)
TERMS = (0, 28, 29, 32, 55, 64, 65, 73, 75, 80, 82, 95, 107, 126)


@by_seeds(PRICES, 20)
def test_prices_of_parts_on_landed_terms(tmp_path: Path, seeds: tuple[int, ...]) -> None:
    """At which price each bought part leaves, and at which another comes in: to the cent. Each is met."""
    wrong: list[Any] = []
    left = came = 0
    for one in instances(tmp_path, seeds, landed=True):
        instead = {}
        for purchase in bought(one.picked):
            part = purchase.part
            instead[part] = without(one.resolver, part)
            wrong += [(one.seed, "leaving", part, *each) for each in wrong_leaving(one, part, instead[part])]
            left += leaving(one.resolver, one.picked, part, instead[part]).turns is not None
        for kind in ONE_MODEL:
            other = instead.get(one.picked.models[kind])
            if other is not None:
                wrong += [(one.seed, "entering", kind, *each) for each in wrong_entering(one, kind, other)]
                came += entering(one.resolver, one.picked, kind, other.models[kind], other).turns is not None
    assert not wrong
    assert left >= len(seeds) // 2 and came >= len(seeds) // 2


@by_seeds(LIMITS, len(LIMITS))
def test_limits_on_landed_terms(tmp_path: Path, seeds: tuple[int, ...]) -> None:
    """Near misses, what each limit costs, and the least changes that pay."""
    wrong: list[Any] = []
    for one in instances(tmp_path, seeds, landed=True):
        near = near_misses(one.resolver, one.picked)
        paying = costs(one.resolver, one.picked)
        wrong += [(one.seed, "near miss", *each) for each in wrong_near(one, near)]
        wrong += [(one.seed, "cost", *each) for each in wrong_costs(one, paying)]
        wrong += [(one.seed, "move", *each) for each in wrong_moves(one, paying)]
        wrong += [(one.seed, "missing move", *each) for each in missing_moves(one, paying)]
    assert not wrong


@by_seeds(PROOFS, len(PROOFS))
def test_proofs_on_landed_terms(tmp_path: Path, seeds: tuple[int, ...]) -> None:
    wrong: list[Any] = []
    for one in instances(tmp_path, seeds, landed=True):
        core = proof(one.resolver, one.picked, costs(one.resolver, one.picked))
        wrong += [(one.seed, *each) for each in wrong_proof(one, core)]
    assert not wrong


@by_seeds(MOVES, len(MOVES))
def test_general_moves_on_landed_terms(tmp_path: Path, seeds: tuple[int, ...]) -> None:
    """How far all prices of a seller, and of a kind, may move before something is cheaper than the pick."""
    wrong: list[Any] = []
    for one in instances(tmp_path, seeds, landed=True):
        for whose, rows, moves in movable(one):
            found = general(one.resolver, one.picked, whose, rows)
            for percent, then, end in ((found.fall, found.then[0], LOWEST), (found.rise, found.then[1], HIGHEST)):
                wrong += [(one.seed, whose, *each) for each in wrong_percent(one, moves, percent, then, end)]
    assert not wrong


@by_seeds(TERMS, len(TERMS))
def test_terms_on_landed_terms(tmp_path: Path, seeds: tuple[int, ...]) -> None:
    """Equal strings, few sellers, parts that must and must not be there: the same totals."""
    wrong: list[Any] = []
    for one in instances(tmp_path, seeds, landed=True):
        for terms, the_same in drawn_terms(one):
            bundles = pick(one.catalog, one.job, 1, terms=terms).bundles
            found, expected = total(bundles[0] if bundles else None), one.least(**the_same)
            if found != expected:
                wrong.append((one.seed, the_same, expected, "found", found))
    assert not wrong
