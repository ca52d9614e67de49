"""How a bundle is bought in one market, as rows: packs, least quantities, stock, sellers and their charges."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

import pulp

from optimizer.costs.market import Market, Offer
from optimizer.costs.sellers_worth_asking import offers_worth_asking
from optimizer.milp.charge_rows import charge_rows, merged, most_bought
from optimizer.milp.subproblem import PartNeed, Subproblem
from optimizer.milp.wiring_rows import WiringRows, new_variable, total
from optimizer.rules.comparisons import whole_up
from optimizer.vocabulary.tolerance import TOLERANCE

Offers = Mapping[str, Sequence[Offer]]  # by part

FINEST = 10_000  # parts of a piece that quantities of extras are told apart by, to see whether any must be bought


@dataclass
class _ChargeSink:
    """The problem as :mod:`optimizer.milp.charge_rows` adds to it."""

    problem: pulp.LpProblem
    mark: str = ""
    count: int = 0

    def variable(self, most: int) -> pulp.LpVariable:
        """A new whole-number variable."""
        self.count += 1
        return new_variable(self.problem, f"{self.mark}charge{self.count}", most)

    def most(self, variable: pulp.LpVariable) -> int:
        """A variable's upper bound."""
        return int(variable.upBound)

    def at_least(self, terms: Iterable[tuple[pulp.LpVariable, int]], least: int) -> None:
        """A row."""
        self.problem += total(terms) >= least


def most_needed(subproblem: Subproblem, tanks: Mapping[str, int]) -> dict[str, int]:
    """The most pieces of each part that can be needed; ``tanks``: the most of each tank."""
    most = {}
    for asked in subproblem.asked:
        pieces = asked.pieces + max(asked.per_layout, default=0.0) * subproblem.trackers + asked.if_fused
        most[asked.part] = int(whole_up(pieces + tanks.get(asked.part, 0)))
    return most


def _most_packs(needed: Mapping[str, int], offers: Offers, market: Market) -> dict[Offer, int]:
    """The most packs of each offer that a cheapest order takes: what can be needed, and spare ones where they pay."""
    most = {offer: offer.packs_for(needed[part]) for part in offers for offer in offers[part]}
    for name in {offer.seller for offer in most}:
        seller = market.seller(name)
        if seller.ever_free or seller.min_order:
            mine = [offer for offer in most if offer.seller == name]
            wanted = [(most[offer], offer.cents * offer.pack, _pack_kg(offer, market)) for offer in mine]
            most.update(zip(mine, most_bought(seller, wanted), strict=True))
    return most


def _pack_kg(offer: Offer, market: Market) -> Fraction:
    """The weight of a pack; where it is not stated it does not count either."""
    return offer.pack * (market.catalog.weight_kg(offer.part) or Fraction(0))


@dataclass(frozen=True)
class PurchaseRows:
    """How a shape is bought in one market: packs of each offer, the sellers used, those whose freight is free, and what
    it comes to. ``places``: of each offer among all that there are, those of sellers that nobody needs among them."""

    packs: dict[Offer, pulp.LpVariable]
    used: dict[str, pulp.LpVariable]
    free: dict[str, pulp.LpVariable]
    cost: pulp.LpAffineExpression
    jointly: bool
    places: tuple[int, ...]


def buy(shape: WiringRows, market: Market, mark: str = "") -> PurchaseRows:
    """Add to a shape how it is bought. Every coefficient of the cost is a whole number of cents. ``mark`` begins the
    names of the variables, where a shape is bought in several markets."""
    problem, subproblem, counts, fused = shape.problem, shape.subproblem, shape.counts, shape.fused
    packs: dict[Offer, pulp.LpVariable] = {}
    used: dict[str, pulp.LpVariable] = {}
    free: dict[str, pulp.LpVariable] = {}
    needed = most_needed(subproblem, {part: int(tank.upBound) for part, tank in shape.tanks.items()})
    offers = offers_worth_asking(needed, market)
    most = _most_packs(needed, offers, market)
    jointly = not all(market.seller(offer.seller).plain for offer in most)
    for asked in subproblem.asked:
        tank = shape.tanks.get(asked.part)
        mine = offers[asked.part]
        _purchase_rows(problem, subproblem, asked, counts, fused, tank, mine, market, packs, used, most, mark)
        if jointly:
            _only_if_short(problem, subproblem, asked, counts, fused, tank, mine, market, packs)
    goods = [(variable, offer.cents * offer.pack) for offer, variable in packs.items()]
    cost = goods + [(used[name], market.seller(name).freight) for name in sorted(used) if market.seller(name).plain]
    if jointly:
        rows = _ChargeSink(problem, mark)
        for name in sorted(used):
            seller = market.seller(name)
            if not seller.plain:
                sold = [offer for offer in packs if offer.seller == name]
                lines = [(packs[offer], offer.cents * offer.pack, _pack_kg(offer, market)) for offer in sold]
                charges, is_free = charge_rows(rows, seller, used[name], lines)
                cost += charges
                if is_free is not None:
                    free[name] = is_free
        cost = merged(cost)
    every = (offer for part in needed for offer in market.offers_of(part))
    places = tuple(place for place, offer in enumerate(every) if offer in packs)
    return PurchaseRows(packs, used, free, total(cost), jointly, places)


def what_asks(
    problem: pulp.LpProblem, subproblem: Subproblem, asked: PartNeed, counts: Sequence[pulp.LpVariable],
    fused: pulp.LpVariable | None,
) -> list[pulp.LpVariable]:  # fmt: skip
    """What asks for a part that nothing settled asks for: layouts, and fuses."""
    asking = [count for count, each in zip(counts, asked.per_layout, strict=False) if each > 0]
    if fused is not None and asked.if_fused:
        asking.append(fused)
        _fused_only_where_it_is(problem, subproblem, counts, fused)
    return asking


def _fused_only_where_it_is(
    problem: pulp.LpProblem, subproblem: Subproblem, counts: Sequence[pulp.LpVariable], fused: pulp.LpVariable
) -> None:
    """Fuses stand only where strings have them."""
    those = [count for placed, count in zip(subproblem.placed, counts, strict=True) if placed.layout.fused]
    problem += total([(fused, 1), *((count, -1) for count in those)]) <= 0


def _only_if_short(
    problem: pulp.LpProblem, subproblem: Subproblem, asked: PartNeed, counts: Sequence[pulp.LpVariable],
    fused: pulp.LpVariable | None, tank: pulp.LpVariable | None, offers: Sequence[Offer], market: Market,
    packs: Mapping[Offer, pulp.LpVariable],
) -> None:  # fmt: skip
    """Spare pieces are of parts of which the bundle needs more than is on hand: others are not bought to reach a
    threshold."""
    mine, on_hand = [packs[offer] for offer in offers], market.on_hand(asked.part)
    least = asked.pieces + (min(asked.per_layout, default=0.0) if subproblem.placed else 0.0)  # one layout is in use
    if not mine or whole_up(least) > on_hand:
        return
    needed = [(count, each) for count, each in zip(counts, asked.per_layout, strict=False) if each > 0]
    if fused is not None and asked.if_fused:
        needed.append((fused, asked.if_fused))
        _fused_only_where_it_is(problem, subproblem, counts, fused)
    if tank is not None:
        needed.append((tank, 1))
    steps = min(lcm(*(Fraction(each).limit_denominator(FINEST).denominator for _, each in needed)), FINEST)
    short = new_variable(problem, f"short{len(problem.constraints())}", 1)
    problem += total([*((count, 1) for count in mine), (short, -sum(count.upBound for count in mine))]) <= 0
    settled = on_hand - asked.pieces
    more = total([*((variable, each * steps) for variable, each in needed), (short, -(settled * steps + 1))])
    problem += more >= 0


def _purchase_rows(
    problem: pulp.LpProblem, subproblem: Subproblem, asked: PartNeed, counts: Sequence[pulp.LpVariable],
    fused: pulp.LpVariable | None, tank: pulp.LpVariable | None, offers: Sequence[Offer], market: Market,
    packs: dict[Offer, pulp.LpVariable], used: dict[str, pulp.LpVariable], most: Mapping[Offer, int],
    mark: str,
) -> None:  # fmt: skip
    """Bought and on hand cover the need; least quantities, stock shared by the rows of a seller, freight once."""
    on_hand = market.on_hand(asked.part)
    balance: list[tuple[pulp.LpVariable, float]] = []
    by_seller: dict[str, list[tuple[Offer, pulp.LpVariable]]] = {}
    for offer in offers:
        ceiling = most[offer]
        count = new_variable(problem, f"{mark}packs{len(packs)}", ceiling)
        packs[offer] = count
        balance.append((count, offer.pack))
        by_seller.setdefault(offer.seller, []).append((offer, count))
        if offer.seller not in used:
            used[offer.seller] = new_variable(problem, f"{mark}seller{len(used)}", 1)
        if offer.least > offer.pack:
            chosen = new_variable(problem, f"{mark}chosen{len(packs)}", 1)
            problem += total([(count, 1), (chosen, -ceiling)]) <= 0
            problem += total([(count, offer.pack), (chosen, -offer.least)]) >= 0
        problem += total([(count, 1), (used[offer.seller], -ceiling)]) <= 0
    for rows in by_seller.values():
        if rows[0][0].stock >= 0:
            problem += total((count, offer.pack) for offer, count in rows) <= rows[0][0].stock
    balance += [(count, -each) for each, count in zip(asked.per_layout, counts, strict=False)]
    if fused is not None and asked.if_fused:
        balance.append((fused, -asked.if_fused))
    if tank is not None:
        balance.append((tank, -1))
    short = asked.pieces - on_hand
    if all(float(coefficient).is_integer() for _, coefficient in balance):
        least = float(whole_up(short))  # whole pieces on the left: a solver is best given a whole number on the right
    else:
        least = short - TOLERANCE * abs(short)
    problem += total(balance) >= least
