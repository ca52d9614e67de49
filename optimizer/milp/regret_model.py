"""The model of a subproblem that is to be bought at several price lists: one bundle, an order at each.

Least is the largest regret: the most, over the lists, of what the bundle costs there beyond the list's cheapest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from optimizer.costs.market import Market
from optimizer.milp.model import Model
from optimizer.milp.purchase_rows import buy
from optimizer.milp.subproblem import Subproblem
from optimizer.milp.wiring_rows import LinearObjective, array_ties, new_variable, tank_ties, total, wiring_rows


@dataclass(frozen=True)
class RegretModel:
    """``model``: its cost is the largest regret in cents, and it has no order of its own. ``costs``: the total at each
    list."""

    model: Model
    costs: tuple[LinearObjective, ...]

    def order(self) -> list[LinearObjective]:
        """The order among bundles of one regret: the least sum of the regrets, then as among equal totals, sellers
        left out, since each list has its own; then fewer tanks."""
        shape = self.model.shape
        every = [term for cost in self.costs for term in cost.expression.items()]
        first, last = array_ties(shape)
        return [LinearObjective("all regrets", total(every)), *first, *last, *tank_ties(shape)]


def build(subproblem: Subproblem, markets: Sequence[Market], least: Sequence[int], budget: int | None) -> RegretModel:
    """Write the model. ``least``: cents of the cheapest bundle of each market; ``budget``: the most at any."""
    shape = wiring_rows(subproblem, markets)
    problem = shape.problem
    costs = [buy(shape, market, f"list{number}_").cost for number, market in enumerate(markets)]
    # what all packs together cost is above any total: an end for the solver, and no limit
    most = max(sum(each * variable.upBound for variable, each in cost.items() if each > 0) for cost in costs)
    regret = new_variable(problem, "worst", most)
    for cost, cheapest in zip(costs, least, strict=True):
        problem += total([(regret, 1), *((variable, -each) for variable, each in cost.items())]) >= -cheapest
        if budget is not None:
            problem += total(cost.items()) <= budget
    model = Model(shape, LinearObjective("largest regret", total([(regret, 1)])), {}, {})
    return RegretModel(model, tuple(LinearObjective(f"list {n}", cost) for n, cost in enumerate(costs)))
