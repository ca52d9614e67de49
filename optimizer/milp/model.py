"""The mixed-integer model of record for what is left of a choice: layouts on trackers, and whom to buy from.

Money in whole cents, usable power in whole mW, so that every objective is a whole number. The solver gets opaque
names; the map back from a solution to a bundle's parts comes with the problem.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import pulp

from optimizer.costs.market import Market, Offer
from optimizer.costs.order_bounds import FreightChoice
from optimizer.milp.purchase_rows import buy, what_asks
from optimizer.milp.selection import Selection
from optimizer.milp.subproblem import Subproblem
from optimizer.milp.wiring_rows import (
    LinearObjective,
    WiringRows,
    array_ties,
    new_variable,
    scattered,
    tank_ties,
    total,
    wiring_rows,
)

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

    @cached_property
    def ties(self) -> tuple[LinearObjective, ...]:
        """The order among equal totals. Its rows enter the problem when it is first asked for: most models are only
        solved for their cost."""
        return _ties(self)

    def selection(self, values: Mapping[str, int]) -> Selection:
        """What a solution settles of the subproblem."""
        tanks = ((part, values[variable.name]) for part, variable in self.shape.tanks.items())
        return Selection(
            self.subproblem,
            tuple(values[variable.name] for variable in self.shape.counts),
            {part: pieces for part, pieces in tanks if pieces},
            frozenset(name for name, variable in self.used.items() if values[variable.name]),
            {offer: values[count.name] for offer, count in self.packs.items()} if self.jointly else None,
        )


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
    fewest = zip((used[seller] for seller in sellers), seller_weights(len(sellers)), strict=True)
    ties = [*first, LinearObjective("fewest sellers, then by name", total(fewest)), *last]
    if model.jointly:
        lines: list[pulp.LpVariable] = []
        for count in model.packs.values():
            lines.append(new_variable(problem, f"line{len(lines)}", 1))
            problem += total([(count, 1), (lines[-1], -count.upBound)]) <= 0
        ties.append(LinearObjective("fewest lines", total((line, 1) for line in lines)))
        ties.append(scattered("offers", model.packs.values(), model.places))
    return (*ties, *tank_ties(model.shape))


def seller_weights(sellers: int) -> list[int]:
    """The order among sets of so many sellers that stand by name: fewer first, then, of as many, a number of its own
    for every set, those that stand first the smallest."""
    by_name = [1 << i for i in range(sellers)] if sellers <= MOST_NAMED else list(range(1, sellers + 1))
    return [sum(by_name) + 1 + name for name in by_name]
