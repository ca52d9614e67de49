"""The mixed-integer model of record for what is left of a choice: layouts on trackers, and whom to buy from.

Money in whole cents, usable power in whole mW, so that every objective is a whole number. The solver gets opaque
names; the map back from a solution to a bundle's parts comes with the problem.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import pulp

from optimizer.bundles.order import Line, Order, Purchase
from optimizer.costs.cheapest_lines import cheapest_lines
from optimizer.costs.market import Market, Offer
from optimizer.costs.order_bounds import FreightChoice
from optimizer.milp.purchase_rows import buy, what_asks
from optimizer.milp.subproblem import PartNeed, PlacedLayout, Subproblem
from optimizer.milp.wiring_rows import (
    LinearObjective,
    WiringRows,
    array_ties,
    new_variable,
    scattered,
    total,
    wiring_rows,
)
from optimizer.rules.comparisons import whole_up

MOST_NAMED = 16  # sellers of one subproblem that are told apart by powers of two


@dataclass(frozen=True)
class Model:
    """The problem, its cost, and the way back. ``jointly``: what is bought of one part touches what another costs;
    ``places``: of each offer among all that there are of its subproblem's parts."""

    shape: WiringRows
    cost: LinearObjective
    packs: Mapping[Offer, pulp.LpVariable]
    used: Mapping[str, pulp.LpVariable]
    jointly: bool = False
    places: Sequence[int] = ()

    @property
    def problem(self) -> pulp.LpProblem:
        """What the solver is given."""
        return self.shape.problem

    @property
    def subproblem(self) -> Subproblem:
        """What the model is of."""
        return self.shape.subproblem

    @property
    def layout_counts(self) -> tuple[pulp.LpVariable, ...]:
        """On how many trackers each layout is."""
        return self.shape.counts

    @cached_property
    def ties(self) -> tuple[LinearObjective, ...]:
        """The order among equal totals. Its rows enter the problem when it is first asked for: most models are only
        solved for their cost."""
        return _ties(self)

    def layouts_chosen(self, values: Mapping[str, int]) -> tuple[tuple[PlacedLayout, int], ...]:
        """The layouts in use and on how many trackers each."""
        pairs = zip(self.subproblem.placed, self.layout_counts, strict=True)
        return tuple((placed, values[variable.name]) for placed, variable in pairs if values[variable.name])

    def needed(self, asked: PartNeed, values: Mapping[str, int]) -> int:
        """Whole pieces that a solution needs of one part."""
        counts = [values[variable.name] for variable in self.layout_counts]
        more = sum(count * each for count, each in zip(counts, asked.per_layout, strict=False))
        fused = any(c for c, placed in zip(counts, self.subproblem.placed, strict=True) if placed.layout.fused)
        tanks = values[self.shape.tanks[asked.part].name] if asked.litres_each > 0 else 0
        return int(whole_up(asked.pieces + more + (asked.if_fused if fused else 0.0))) + tanks

    def tanks_chosen(self, values: Mapping[str, int]) -> dict[str, int]:
        """Pieces of each tank of a solution."""
        counts = ((part, values[variable.name]) for part, variable in self.shape.tanks.items())
        return {part: pieces for part, pieces in counts if pieces}

    def order(self, values: Mapping[str, int], market: Market) -> Order:
        """What a solution buys: the cheapest from the sellers it uses, and of equal ways always the same.

        Where freight is all that sellers add, it is settled with the sellers, and each part is bought for itself.
        Else the solution's own packs are it; the last steps of ``ties`` tell equal ways apart.
        """
        purchases = []
        for asked in self.subproblem.asked:
            needed = self.needed(asked, values)
            if needed:
                on_hand = min(needed, market.on_hand(asked.part))
                offers = [offer for offer in market.offers_of(asked.part) if offer in self.packs]
                if self.jointly:
                    pieces = [(offer, offer.pack * values[self.packs[offer].name]) for offer in offers]
                    lines = tuple(Line(offer.seller, count, offer.cents) for offer, count in pieces if count)
                else:
                    open_to = [offer for offer in offers if values[self.used[offer.seller].name]]
                    lines = cheapest_lines(open_to, needed - on_hand)
                purchases.append(Purchase(asked.part, needed, on_hand, lines))
        return Order.of(tuple(purchases), market.seller, market.catalog.weight_kg)


def build(subproblem: Subproblem, market: Market, freight_choice: FreightChoice = ()) -> Model:
    """Write the model of one subproblem; ``freight_choice``: only orders that stand so to some sellers."""
    shape = wiring_rows(subproblem, (market,))
    bought = buy(shape, market)
    problem = shape.problem
    if subproblem.required:
        _require(problem, subproblem, shape.counts, shape.fused)
    if subproblem.most_sellers is not None and bought.used:
        problem += total((variable, 1) for variable in bought.used.values()) <= subproblem.most_sellers
    for seller, way in freight_choice:
        _fix(bought.used[seller], way is not None)
        if way is not None and way.free is not None:
            _fix(bought.free[seller], way.free)
    return Model(shape, LinearObjective("cost", bought.cost), bought.packs, bought.used, bought.jointly, bought.places)


def _fix(variable: pulp.LpVariable, value: bool) -> None:
    variable.lowBound = variable.upBound = int(value)


def _require(
    problem: pulp.LpProblem, subproblem: Subproblem, counts: Sequence[pulp.LpVariable], fused: pulp.LpVariable | None
) -> None:  # fmt: skip
    """At least one layout in use, or fuses, that ask for the required extra, where the parts alone do not."""
    asked = next(asked for asked in subproblem.asked if asked.part == subproblem.required)
    if asked.pieces > 0:
        return
    asking = what_asks(problem, subproblem, asked, counts, fused)
    problem += total((variable, 1) for variable in asking or [new_variable(problem, "never", 0)]) >= 1


def _ties(model: Model) -> tuple[LinearObjective, ...]:
    """The stated order among equal totals, then a fixed one so that equal bundles are the same bytes."""
    problem, used, (first, last) = model.problem, model.used, array_ties(model.shape)
    sellers = sorted(used)
    # a number of its own for every set of so many sellers, those that stand first by name the smallest
    by_name = [1 << i for i in range(len(sellers))] if len(sellers) <= MOST_NAMED else list(range(1, len(sellers) + 1))
    fewest = [(used[seller], sum(by_name) + 1 + name) for seller, name in zip(sellers, by_name, strict=True)]
    ties = [*first, LinearObjective("fewest sellers, then by name", total(fewest)), *last]
    if model.jointly:
        lines: list[pulp.LpVariable] = []
        for count in model.packs.values():
            lines.append(new_variable(problem, f"line{len(lines)}", 1))
            problem += total([(count, 1), (lines[-1], -count.upBound)]) <= 0
        ties.append(LinearObjective("fewest lines", total((line, 1) for line in lines)))
        ties.append(scattered("offers", model.packs.values(), model.places))
    return tuple(ties)
