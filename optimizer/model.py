"""The mixed-integer model of record for what is left of a choice: layouts on trackers, and whom to buy from.

Money in whole cents, usable power in whole mW, so that every objective is a whole number. The solver gets opaque
names; the map back from a solution to a bundle's parts comes with the problem.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import pulp

from optimizer.bundle import Line, Order, Purchase
from optimizer.choices import Layout
from optimizer.market import Market, Offer
from optimizer.rules.compare import TOLERANCE, whole_up

Whole = Callable[[float | None], pulp.LpVariable]  # makes a whole-number variable from 0 to a most

MILLIWATTS = 1000
NEED_SCALE = 1e4


@dataclass(frozen=True)
class Placed:
    """A layout with what its strings take of racking: ``rows`` and ``units`` of all its strings."""

    layout: Layout
    rows: int
    units: int

    @property
    def milliwatts(self) -> int:
        """Usable power in whole mW: finer than any rating, and exact to add up."""
        return round(self.layout.usable_w * MILLIWATTS)


@dataclass(frozen=True)
class Asked:
    """What a model must buy of one part: ``pieces`` and ``per_layout`` more for each tracker with that layout;
    ``if_fused`` more once if any tracker's strings are fused. Real numbers; whole pieces cover them."""

    part: str
    pieces: float
    per_layout: tuple[float, ...] = ()
    if_fused: float = 0.0


@dataclass(frozen=True)
class Node:
    """One (converter, units, battery, bank strings, panel, rack) with everything but layouts and orders settled.

    ``need_w`` usable W at least; ``least_panels`` and ``most_panels`` in all; at most ``trackers`` layouts.
    ``usable_cap_w`` is where more usable power counts for no more.
    """

    asked: tuple[Asked, ...]
    placed: tuple[Placed, ...] = ()
    trackers: int = 0
    need_w: float = 0.0
    usable_cap_w: float = 0.0
    least_panels: float = 0.0
    most_panels: float = float("inf")


@dataclass(frozen=True)
class Objective:
    """One step of the order among bundles: a whole-number expression to be made least."""

    name: str
    expression: pulp.LpAffineExpression


@dataclass(frozen=True)
class Model:
    """The problem, the order among its solutions, and the way back."""

    problem: pulp.LpProblem
    cost: Objective
    ties: tuple[Objective, ...]
    layout_counts: tuple[pulp.LpVariable, ...]
    packs: Mapping[Offer, pulp.LpVariable]
    node: Node

    def layouts_chosen(self, values: Mapping[str, int]) -> tuple[tuple[Placed, int], ...]:
        """The layouts in use and on how many trackers each."""
        pairs = zip(self.node.placed, self.layout_counts, strict=True)
        return tuple((placed, values[variable.name]) for placed, variable in pairs if values[variable.name])

    def needed(self, asked: Asked, values: Mapping[str, int]) -> int:
        """Whole pieces that a solution needs of one part."""
        counts = [values[variable.name] for variable in self.layout_counts]
        more = sum(count * each for count, each in zip(counts, asked.per_layout, strict=False))
        fused = any(c for c, placed in zip(counts, self.node.placed, strict=True) if placed.layout.fused)
        return int(whole_up(asked.pieces + more + (asked.if_fused if fused else 0.0)))

    def order(self, values: Mapping[str, int], market: Market) -> Order:
        """What a solution buys."""
        purchases, sellers = [], set()
        for asked in self.node.asked:
            needed = self.needed(asked, values)
            lines = tuple(
                Line(offer.seller, values[variable.name] * offer.pack, offer.cents)
                for offer, variable in self.packs.items()
                if offer.part == asked.part and values[variable.name]
            )
            if needed or lines:
                on_hand = min(needed, market.on_hand(asked.part))
                purchases.append(Purchase(asked.part, needed, on_hand, lines))
                sellers |= {line.seller for line in lines}
        freight = tuple((seller, market.freight_of(seller)) for seller in sorted(sellers))
        return Order(tuple(purchases), freight)


def build(node: Node, market: Market) -> Model:
    """Write the model of one node. Every coefficient of the cost is a whole number of cents."""
    problem = pulp.LpProblem("node", pulp.LpMinimize)
    serial = iter(range(1_000_000))

    def whole(most: float | None) -> pulp.LpVariable:
        return problem.add_variable(f"v{next(serial)}", 0, most, pulp.LpInteger)

    counts = tuple(whole(node.trackers) for _ in node.placed)
    fused = None
    if any(placed.layout.fused for placed in node.placed) and any(asked.if_fused for asked in node.asked):
        fused = whole(1)
        for placed, count in zip(node.placed, counts, strict=True):
            if placed.layout.fused:
                problem += count <= node.trackers * fused
    if node.placed:
        _array_rows(problem, node, counts)

    packs: dict[Offer, pulp.LpVariable] = {}
    used: dict[str, pulp.LpVariable] = {}
    for asked in node.asked:
        _purchase_rows(problem, node, asked, counts, fused, market, whole, packs, used)

    cost = pulp.lpSum([offer.cents * offer.pack * v for offer, v in packs.items()])
    cost += pulp.lpSum([market.freight_of(seller) * used[seller] for seller in sorted(used)])
    ties = _ties(problem, node, counts, whole, packs, used)
    return Model(problem, Objective("cost", cost), ties, counts, packs, node)


def _array_rows(problem: pulp.LpProblem, node: Node, counts: Sequence[pulp.LpVariable]) -> None:
    pairs = list(zip(node.placed, counts, strict=True))
    panels = pulp.lpSum([placed.layout.panels * count for placed, count in pairs])
    problem += pulp.lpSum(counts) <= node.trackers
    problem += panels >= max(1.0, node.least_panels)
    if node.most_panels != float("inf"):
        problem += panels <= node.most_panels
    if node.need_w > 0:
        # the need stands as a large number, so that the solver's tolerance is far below the comparison's own
        scale = NEED_SCALE / node.need_w
        share = pulp.lpSum([placed.layout.usable_w * scale * count for placed, count in pairs])
        problem += share >= NEED_SCALE * (1 - TOLERANCE)


def _purchase_rows(
    problem: pulp.LpProblem, node: Node, asked: Asked, counts: Sequence[pulp.LpVariable],
    fused: pulp.LpVariable | None, market: Market, whole: Whole, packs: dict[Offer, pulp.LpVariable],
    used: dict[str, pulp.LpVariable],
) -> None:  # fmt: skip
    """Bought and on hand cover the need; least quantities, stock shared by the rows of a seller, freight once."""
    offers = market.offers_of(asked.part)
    on_hand = market.on_hand(asked.part)
    widest = max(asked.per_layout, default=0.0) * node.trackers
    most = asked.pieces + widest + asked.if_fused
    bought = []
    by_seller: dict[str, list[tuple[Offer, pulp.LpVariable]]] = {}
    for offer in offers:
        ceiling = max(-(-int(whole_up(most)) // offer.pack), offer.least // offer.pack)
        count = whole(ceiling)
        packs[offer] = count
        bought.append(offer.pack * count)
        by_seller.setdefault(offer.seller, []).append((offer, count))
        if offer.seller not in used:
            used[offer.seller] = whole(1)
        if offer.least > offer.pack:
            chosen = whole(1)
            problem += count <= ceiling * chosen
            problem += offer.pack * count >= offer.least * chosen
        problem += count <= ceiling * used[offer.seller]
    for rows in by_seller.values():
        if rows[0][0].stock >= 0:
            problem += pulp.lpSum([offer.pack * count for offer, count in rows]) <= rows[0][0].stock
    need = [each * count for each, count in zip(asked.per_layout, counts, strict=False) if each]
    if fused is not None and asked.if_fused:
        need.append(asked.if_fused * fused)
    short = asked.pieces - on_hand
    problem += pulp.lpSum(bought) - pulp.lpSum(need) >= short - TOLERANCE * abs(short)


def _ties(
    problem: pulp.LpProblem, node: Node, counts: Sequence[pulp.LpVariable], whole: Whole,
    packs: Mapping[Offer, pulp.LpVariable], used: Mapping[str, pulp.LpVariable],
) -> tuple[Objective, ...]:  # fmt: skip
    """The stated order among equal totals, then a fixed one so that equal bundles are the same bytes."""
    ties: list[Objective] = []
    pairs = list(zip(node.placed, counts, strict=True))
    if pairs:
        cap = round(node.usable_cap_w * MILLIWATTS)
        power = whole(cap)
        problem += pulp.lpSum([placed.milliwatts * count for placed, count in pairs]) >= power
        kinds = []
        for _, count in pairs:
            kind = whole(1)
            problem += count <= node.trackers * kind
            kinds.append(kind)
        most_strings = node.trackers * max(placed.layout.parallel for placed in node.placed) + 1
        strings = pulp.lpSum([placed.layout.parallel * count for placed, count in pairs])
        panels = pulp.lpSum([placed.layout.panels * count for placed, count in pairs])
        ties.append(Objective("usable power", -1 * power))
        # one number orders panels, then strings, then how many different layouts
        ties.append(
            Objective("panels, strings, equal strings",
                      panels * (most_strings * (len(pairs) + 1)) + strings * (len(pairs) + 1) + pulp.lpSum(kinds))
        )  # fmt: skip
    ties.append(Objective("sellers", pulp.lpSum([used[s] for s in used])))
    if pairs:
        ties.append(Objective("layouts", pulp.lpSum([(i + 1) ** 2 * c for i, c in enumerate(counts)])))
    ties.append(
        Objective("sellers by name",
                  pulp.lpSum([(i + 1) ** 2 * used[seller] for i, seller in enumerate(sorted(used))]))
    )  # fmt: skip
    ties.append(Objective("offers", pulp.lpSum([(i + 1) * v for i, v in enumerate(packs.values())])))
    return tuple(ties)
