"""The mixed-integer model of record for what is left of a choice: layouts on trackers, and whom to buy from.

Money in whole cents, usable power in whole mW, so that every objective is a whole number. The solver gets opaque
names; the map back from a solution to a bundle's parts comes with the problem.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import lcm

import highspy  # noqa: F401 - before pulp, which takes an interrupt of this for a solver that is not there
import pulp

from optimizer.bundle import Line, Order, Purchase
from optimizer.charges import charge_rows, merged, most_bought
from optimizer.market import Market, Offer
from optimizer.node import Asked, Node, Placed
from optimizer.purchases import cheapest_lines
from optimizer.rules.compare import TOLERANCE, whole_up

NEED_SCALE = 1e4
FINEST = 10_000  # parts of a piece that quantities of extras are told apart by, to see whether any must be bought
MOST_NAMED = 16  # sellers of one node that are told apart by powers of two
SCATTER, SCATTERED = 2654435761, 1 << 20  # multiplicative hashing (Knuth): 2**32 over the golden ratio


@dataclass(frozen=True)
class Objective:
    """One step of the order among bundles: a whole-number expression to be made least."""

    name: str
    expression: pulp.LpAffineExpression


@dataclass(frozen=True)
class Model:
    """The problem, its cost, and the way back. ``jointly``: what is bought of one part touches what another costs."""

    problem: pulp.LpProblem
    cost: Objective
    layout_counts: tuple[pulp.LpVariable, ...]
    packs: Mapping[Offer, pulp.LpVariable]
    used: Mapping[str, pulp.LpVariable]
    tank_counts: Mapping[str, pulp.LpVariable]
    node: Node
    jointly: bool = False

    @cached_property
    def ties(self) -> tuple[Objective, ...]:
        """The order among equal totals. Its rows enter the problem when it is first asked for: most models are only
        solved for their cost."""
        return _ties(self)

    def layouts_chosen(self, values: Mapping[str, int]) -> tuple[tuple[Placed, int], ...]:
        """The layouts in use and on how many trackers each."""
        pairs = zip(self.node.placed, self.layout_counts, strict=True)
        return tuple((placed, values[variable.name]) for placed, variable in pairs if values[variable.name])

    def needed(self, asked: Asked, values: Mapping[str, int]) -> int:
        """Whole pieces that a solution needs of one part."""
        counts = [values[variable.name] for variable in self.layout_counts]
        more = sum(count * each for count, each in zip(counts, asked.per_layout, strict=False))
        fused = any(c for c, placed in zip(counts, self.node.placed, strict=True) if placed.layout.fused)
        tanks = values[self.tank_counts[asked.part].name] if asked.litres_each > 0 else 0
        return int(whole_up(asked.pieces + more + (asked.if_fused if fused else 0.0))) + tanks

    def tanks_chosen(self, values: Mapping[str, int]) -> dict[str, int]:
        """Pieces of each tank of a solution."""
        counts = ((part, values[variable.name]) for part, variable in self.tank_counts.items())
        return {part: pieces for part, pieces in counts if pieces}

    def order(self, values: Mapping[str, int], market: Market) -> Order:
        """What a solution buys: the cheapest from the sellers it uses, and of equal ways always the same.

        Where freight is all that sellers add, it is settled with the sellers, and each part is bought for itself.
        Else the solution's own packs are it; the last steps of ``ties`` tell equal ways apart.
        """
        purchases = []
        for asked in self.node.asked:
            needed = self.needed(asked, values)
            if needed:
                on_hand = min(needed, market.on_hand(asked.part))
                offers = market.offers_of(asked.part)
                if self.jointly:
                    pieces = [(offer, offer.pack * values[self.packs[offer].name]) for offer in offers]
                    lines = tuple(Line(offer.seller, count, offer.cents) for offer, count in pieces if count)
                else:
                    open_to = [offer for offer in offers if values[self.used[offer.seller].name]]
                    lines = cheapest_lines(open_to, needed - on_hand)
                purchases.append(Purchase(asked.part, needed, on_hand, lines))
        return Order.of(tuple(purchases), market.seller, market.catalog.weight_kg)


def _sum(terms: Iterable[tuple[pulp.LpVariable, float]]) -> pulp.LpAffineExpression:
    """A sum of coefficients times variables, each variable once; far quicker than adding up products."""
    return pulp.LpAffineExpression([(variable, coefficient) for variable, coefficient in terms if coefficient])


def _variable(problem: pulp.LpProblem, name: str, most: float) -> pulp.LpVariable:
    """A whole-number variable from 0 to ``most``; its name says nothing of the part it stands for."""
    return problem.add_variable(name, 0, most, pulp.LpInteger)


@dataclass
class _ChargeRows:
    """The problem as :mod:`optimizer.charges` adds to it."""

    problem: pulp.LpProblem
    count: int = 0

    def variable(self, most: int) -> pulp.LpVariable:
        """A new whole-number variable."""
        self.count += 1
        return _variable(self.problem, f"charge{self.count}", most)

    def most(self, variable: pulp.LpVariable) -> int:
        """A variable's upper bound."""
        return int(variable.upBound)

    def at_least(self, terms: Iterable[tuple[pulp.LpVariable, int]], least: int) -> None:
        """A row."""
        self.problem += _sum(terms) >= least


def _most_packs(node: Node, market: Market, tanks: Mapping[str, pulp.LpVariable]) -> dict[Offer, int]:
    """The most packs of each offer that a cheapest order takes: what can be needed, and spare ones where they pay."""
    most: dict[Offer, int] = {}
    for asked in node.asked:
        pieces = asked.pieces + max(asked.per_layout, default=0.0) * node.trackers + asked.if_fused
        pieces += tanks[asked.part].upBound if asked.part in tanks else 0
        for offer in market.offers_of(asked.part):
            most[offer] = max(-(-int(whole_up(pieces)) // offer.pack), offer.least // offer.pack)
    for name in {offer.seller for offer in most}:
        seller = market.seller(name)
        if seller.ever_free or seller.min_order:
            mine = [offer for offer in most if offer.seller == name]
            needed = [(most[offer], offer.cents * offer.pack, _pack_kg(offer, market)) for offer in mine]
            most.update(zip(mine, most_bought(seller, needed), strict=True))
    return most


def _pack_kg(offer: Offer, market: Market) -> Fraction:
    """The weight of a pack; where it is not stated it does not count either."""
    return offer.pack * (market.catalog.weight_kg(offer.part) or Fraction(0))


def build(node: Node, market: Market) -> Model:
    """Write the model of one node. Every coefficient of the cost is a whole number of cents."""
    problem = pulp.LpProblem("node", pulp.LpMinimize)
    counts = tuple(_variable(problem, f"layout{i}", node.trackers) for i in range(len(node.placed)))
    fused = None
    if any(placed.layout.fused for placed in node.placed) and any(asked.if_fused for asked in node.asked):
        fused = _variable(problem, "fused", 1)
        for placed, count in zip(node.placed, counts, strict=True):
            if placed.layout.fused:
                problem += _sum([(count, 1), (fused, -node.trackers)]) <= 0
    if node.placed:
        _array_rows(problem, node, counts)
    packs: dict[Offer, pulp.LpVariable] = {}
    used: dict[str, pulp.LpVariable] = {}
    tanks = _tank_rows(problem, node, market)
    most = _most_packs(node, market, tanks)
    jointly = not all(market.seller(offer.seller).plain for offer in most)
    for asked in node.asked:
        tank = tanks.get(asked.part)
        _purchase_rows(problem, node, asked, counts, fused, tank, market, packs, used, most)
        if jointly:
            _only_if_short(problem, node, asked, counts, fused, tank, market, packs)
    if node.required:
        _require(problem, node, counts, fused)
    if node.most_sellers is not None and used:
        problem += _sum((variable, 1) for variable in used.values()) <= node.most_sellers
    goods = [(variable, offer.cents * offer.pack) for offer, variable in packs.items()]
    cost = goods + [(used[name], market.seller(name).freight) for name in sorted(used) if market.seller(name).plain]
    if jointly:
        rows = _ChargeRows(problem)
        for name in sorted(used):
            seller, mine = market.seller(name), [offer for offer in packs if offer.seller == name]
            if not seller.plain:
                lines = [(packs[offer], offer.cents * offer.pack, _pack_kg(offer, market)) for offer in mine]
                cost += charge_rows(rows, seller, used[name], lines)
        cost = merged(cost)
    return Model(problem, Objective("cost", _sum(cost)), counts, packs, used, tanks, node, jointly)


def _require(
    problem: pulp.LpProblem, node: Node, counts: Sequence[pulp.LpVariable], fused: pulp.LpVariable | None
) -> None:  # fmt: skip
    """At least one layout in use, or fuses, that ask for the required extra, where the parts alone do not."""
    asked = next(asked for asked in node.asked if asked.part == node.required)
    if asked.pieces > 0:
        return
    asking = _asking(problem, node, asked, counts, fused)
    problem += _sum((variable, 1) for variable in asking or [_variable(problem, "never", 0)]) >= 1


def _asking(
    problem: pulp.LpProblem, node: Node, asked: Asked, counts: Sequence[pulp.LpVariable],
    fused: pulp.LpVariable | None,
) -> list[pulp.LpVariable]:  # fmt: skip
    """What asks for a part that nothing settled asks for: layouts, and fuses."""
    asking = [count for count, each in zip(counts, asked.per_layout, strict=False) if each > 0]
    if fused is not None and asked.if_fused:
        asking.append(fused)
        _fused_only_where_it_is(problem, node, counts, fused)
    return asking


def _fused_only_where_it_is(
    problem: pulp.LpProblem, node: Node, counts: Sequence[pulp.LpVariable], fused: pulp.LpVariable
) -> None:
    """Fuses stand only where strings have them."""
    those = [count for placed, count in zip(node.placed, counts, strict=True) if placed.layout.fused]
    problem += _sum([(fused, 1), *((count, -1) for count in those)]) <= 0


def _only_if_short(
    problem: pulp.LpProblem, node: Node, asked: Asked, counts: Sequence[pulp.LpVariable],
    fused: pulp.LpVariable | None, tank: pulp.LpVariable | None, market: Market,
    packs: Mapping[Offer, pulp.LpVariable],
) -> None:  # fmt: skip
    """Spare pieces are of parts of which the bundle needs more than is on hand: others are not bought to reach a
    threshold."""
    mine, on_hand = [packs[offer] for offer in market.offers_of(asked.part)], market.on_hand(asked.part)
    least = asked.pieces + (min(asked.per_layout, default=0.0) if node.placed else 0.0)  # one layout is in use
    if not mine or whole_up(least) > on_hand:
        return
    needed = [(count, each) for count, each in zip(counts, asked.per_layout, strict=False) if each > 0]
    if fused is not None and asked.if_fused:
        needed.append((fused, asked.if_fused))
        _fused_only_where_it_is(problem, node, counts, fused)
    if tank is not None:
        needed.append((tank, 1))
    steps = min(lcm(*(Fraction(each).limit_denominator(FINEST).denominator for _, each in needed)), FINEST)
    short = _variable(problem, f"short{len(problem.constraints())}", 1)
    problem += _sum([*((count, 1) for count in mine), (short, -sum(count.upBound for count in mine))]) <= 0
    settled = on_hand - asked.pieces
    more = _sum([*((variable, each * steps) for variable, each in needed), (short, -(settled * steps + 1))])
    problem += more >= 0


def _array_rows(problem: pulp.LpProblem, node: Node, counts: Sequence[pulp.LpVariable]) -> None:
    pairs = list(zip(node.placed, counts, strict=True))
    panels = [(count, placed.layout.panels) for placed, count in pairs]
    problem += _sum((count, 1) for count in counts) <= node.trackers
    problem += _sum(panels) >= max(1.0, node.least_panels)
    if node.most_panels != float("inf"):
        problem += _sum(panels) <= node.most_panels
    if node.rack_units is not None:
        problem += _sum((count, placed.units) for placed, count in pairs) == node.rack_units
    if node.equal_strings:
        lengths = sorted({placed.layout.series for placed in node.placed})
        chosen = {series: _variable(problem, f"length{i}", 1) for i, series in enumerate(lengths)}
        problem += _sum((variable, 1) for variable in chosen.values()) <= 1
        for placed, count in pairs:
            problem += _sum([(count, 1), (chosen[placed.layout.series], -node.trackers)]) <= 0
    if node.need_w > 0:
        # the need stands as a large number, so that the solver's tolerance is far below the comparison's own
        scale = NEED_SCALE / node.need_w
        problem += _sum((c, placed.layout.usable_w * scale) for placed, c in pairs) >= NEED_SCALE * (1 - TOLERANCE)


def _tank_rows(problem: pulp.LpProblem, node: Node, market: Market) -> dict[str, pulp.LpVariable]:
    """How many of each tank: together they hold what is asked, and are no more than there is room for. Where an order
    may be worth making up, one more than is on hand may be had for that."""
    counts: dict[str, pulp.LpVariable] = {}
    for asked in node.tanks:
        enough = max(float(whole_up(node.tanks_l / asked.litres_each)), 0.0)
        exact = node.must_tank[1] if node.must_tank is not None and node.must_tank[0] == asked.part else 0
        spare = 1 + (market.on_hand(asked.part) if market.makes_up(asked.part) else 0)
        counts[asked.part] = _variable(problem, f"tanks{len(counts)}", max(enough, exact or 0, spare))
    if node.tanks_l > 0:
        # as with power, the need stands as a large number
        scale = NEED_SCALE / node.tanks_l
        held = _sum((counts[asked.part], asked.litres_each * scale) for asked in node.tanks)
        problem += held >= NEED_SCALE * (1 - TOLERANCE)
    if counts and node.most_tanks != float("inf"):
        problem += _sum((variable, 1) for variable in counts.values()) <= node.most_tanks
    if node.must_tank is not None:
        part, pieces = node.must_tank
        chosen = counts[part] if part in counts else _variable(problem, "no_tank", 0)
        wanted = _sum([(chosen, 1)])
        problem += wanted >= 1 if pieces is None else wanted == pieces
    return counts


def _purchase_rows(
    problem: pulp.LpProblem, node: Node, asked: Asked, counts: Sequence[pulp.LpVariable],
    fused: pulp.LpVariable | None, tank: pulp.LpVariable | None, market: Market,
    packs: dict[Offer, pulp.LpVariable], used: dict[str, pulp.LpVariable], most: Mapping[Offer, int],
) -> None:  # fmt: skip
    """Bought and on hand cover the need; least quantities, stock shared by the rows of a seller, freight once."""
    on_hand = market.on_hand(asked.part)
    balance: list[tuple[pulp.LpVariable, float]] = []
    by_seller: dict[str, list[tuple[Offer, pulp.LpVariable]]] = {}
    for offer in market.offers_of(asked.part):
        ceiling = most[offer]
        count = _variable(problem, f"packs{len(packs)}", ceiling)
        packs[offer] = count
        balance.append((count, offer.pack))
        by_seller.setdefault(offer.seller, []).append((offer, count))
        if offer.seller not in used:
            used[offer.seller] = _variable(problem, f"seller{len(used)}", 1)
        if offer.least > offer.pack:
            chosen = _variable(problem, f"chosen{len(packs)}", 1)
            problem += _sum([(count, 1), (chosen, -ceiling)]) <= 0
            problem += _sum([(count, offer.pack), (chosen, -offer.least)]) >= 0
        problem += _sum([(count, 1), (used[offer.seller], -ceiling)]) <= 0
    for rows in by_seller.values():
        if rows[0][0].stock >= 0:
            problem += _sum((count, offer.pack) for offer, count in rows) <= rows[0][0].stock
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
    problem += _sum(balance) >= least


def _ties(model: Model) -> tuple[Objective, ...]:
    """The stated order among equal totals, then a fixed one so that equal bundles are the same bytes."""
    problem, node, used = model.problem, model.node, model.used
    ties: list[Objective] = []
    pairs = list(zip(node.placed, model.layout_counts, strict=True))
    if pairs:
        power = _variable(problem, "power", node.cap_milliwatts)
        problem += _sum([*((count, placed.milliwatts) for placed, count in pairs), (power, -1)]) >= 0
        kinds: list[pulp.LpVariable] = []
        for _, count in pairs:
            kinds.append(_variable(problem, f"kind{len(kinds)}", 1))
            problem += _sum([(count, 1), (kinds[-1], -node.trackers)]) <= 0
        most_strings = node.trackers * max(placed.layout.parallel for placed in node.placed) + 1
        most_kinds = len(pairs) + 1
        ties.append(Objective("usable power", _sum([(power, -1)])))
        # one number orders panels, then strings, then how many different layouts
        worth = [
            (count, (placed.layout.panels * most_strings + placed.layout.parallel) * most_kinds)
            for placed, count in pairs
        ]
        ties.append(Objective("panels, strings, equal strings", _sum([*worth, *((kind, 1) for kind in kinds)])))
    sellers = sorted(used)
    # a number of its own for every set of so many sellers, those that stand first by name the smallest
    by_name = [1 << i for i in range(len(sellers))] if len(sellers) <= MOST_NAMED else list(range(1, len(sellers) + 1))
    fewest = [(used[seller], sum(by_name) + 1 + name) for seller, name in zip(sellers, by_name, strict=True)]
    ties.append(Objective("fewest sellers, then by name", _sum(fewest)))
    if pairs:
        even = [(count, placed.layout.series**2 * placed.layout.parallel) for placed, count in pairs]
        ties.append(Objective("strings of like length", _sum(even)))
        # nothing is left to choose by: scattered weights tell any two choices of layouts apart
        scattered = ((c, (i + 1) * SCATTER % SCATTERED) for i, c in enumerate(model.layout_counts))
        ties.append(Objective("layouts", _sum(scattered)))
    if model.jointly:
        lines: list[pulp.LpVariable] = []
        for count in model.packs.values():
            lines.append(_variable(problem, f"line{len(lines)}", 1))
            problem += _sum([(count, 1), (lines[-1], -count.upBound)]) <= 0
        ties.append(Objective("fewest lines", _sum((line, 1) for line in lines)))
        scattered = ((c, (i + 1) * SCATTER % SCATTERED) for i, c in enumerate(model.packs.values()))
        ties.append(Objective("offers", _sum(scattered)))
    return tuple(ties)
