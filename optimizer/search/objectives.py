"""What a search makes least: the cost at one price list, or the largest regret over several.

An objective says what a choice comes to at the least, how the subproblem of a leaf is built and solved, and the order
among bundles of one value. Branching and the search know nothing else of it.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import chain
from time import monotonic
from typing import Any

import numpy as np

from optimizer.bundles.bundle import Bundle
from optimizer.candidates.plan import Plan
from optimizer.costs.order_bounds import FreightChoice, OrderBound, purchase_floor
from optimizer.costs.tank_bounds import tanks_worth_asking, tanks_worth_asking_in
from optimizer.milp import model, regret_model
from optimizer.milp.enumeration import first_of
from optimizer.milp.selection import Selection
from optimizer.milp.solver import Solution, in_order, least
from optimizer.milp.subproblem import Subproblem
from optimizer.milp.wiring_rows import LinearObjective
from optimizer.search.lower_bounds import Field
from optimizer.search.side_bounds import SideBounds
from optimizer.search.space import SearchSpace
from optimizer.search.triples import Leaf
from optimizer.search.wiring import Wiring
from optimizer.vocabulary import faults

ORDERED_WITHIN_S = 2.0  # s for each bundle to put equal totals in order, though the time limit has come
Key = tuple[Any, ...]  # whole numbers and names, compared one after the other
Solved = tuple[Solution, FreightChoice]
Ranked = tuple[np.ndarray, np.ndarray, float]  # rows, the bound of each, what comes to every bound
Solve = Callable[[float], Solved | None]  # the cutoff in cents → a solution of a subproblem


class Objective(ABC):
    """What is made least, in whole cents, over every bundle of ``space``; ``solver``: of its subproblems.

    Every figure "by list" has one entry for each price list of the space. Branching leaves a choice out for its bound,
    or for a reason that has nothing to do with prices. What makes a choice needless at one list's prices alone (one
    cheaper or as good bundle, a tank that another stands in for) is a reason for that list alone: a new reason to leave
    a choice out must hold at every list.
    """

    def __init__(self, space: SearchSpace, solver: str = "highs") -> None:
        self.space, self.solver = space, solver
        self.until: float | None = None

    def within(self, seconds: float | None) -> None:
        """From now on no subproblem is solved for longer than until so many seconds have gone; None: without limit."""
        self.until = None if seconds is None else monotonic() + seconds

    def left(self) -> float | None:
        """The seconds that are left; None without a limit."""
        return None if self.until is None else self.until - monotonic()

    @property
    @abstractmethod
    def cutoff(self) -> float:
        """The most that the value of a bundle may be by the job's own limits."""

    @abstractmethod
    def bound(self, totals: Sequence[np.ndarray]) -> np.ndarray:
        """Lower bounds on the value, of lower bounds by list on what bundles cost; infinite where a limit bars them."""

    @abstractmethod
    def ranked(self, rest: Sequence[float], sides: Sequence[SideBounds], rows: int) -> Ranked:
        """The rows of one side in ascending order of their bound, the bound of each, and what comes to every bound.
        ``rest``: cents at the least of all else, by list; ``rows``: how many there are."""

    @abstractmethod
    def tanks(self, fields: Sequence[Field]) -> list[tuple[str, float]]:
        """The tanks that a least bundle of a plan may have, with the L that can be drawn from each."""

    @abstractmethod
    def leaf(self, subproblem: Subproblem, needs: Sequence[tuple[str, float]], wiring: Wiring) -> tuple[float, Solve]:
        """The lower bound of a subproblem, infinite where it has no solution, and what solves it. ``needs``: (part,
        pieces) that every solution needs. Of one that comes to more than the cutoff any solution may come, or none."""

    @abstractmethod
    def bundle(self, leaf: Leaf, wiring: Wiring) -> Bundle:
        """The bundle of a leaf's own solution, of equal ones any."""

    def finish(self, leaf: Leaf, wiring: Wiring) -> tuple[Key, Bundle]:
        """The first bundle of a leaf by the order among bundles of one value, and its key in that order, which begins
        with the value; of those that pass the hours of the weather file, where they are judged."""
        left = wiring.subproblem(leaf.triple, leaf.rack)
        while True:
            key, bundle = self.first(leaf, replace(left, failing=leaf.failing), wiring)
            fails = wiring.fails(bundle, left.placed)
            if fails is None:
                return key, bundle
            leaf = replace(leaf, failing=(*leaf.failing, fails))

    @abstractmethod
    def first(self, leaf: Leaf, subproblem: Subproblem, wiring: Wiring) -> tuple[Key, Bundle]:
        """The first bundle of a leaf's subproblem that has its value, whatever the hours, and its key."""

    def ordered(self, built: model.Model, leaf: Leaf, ties: Iterable[LinearObjective]) -> Mapping[str, int]:
        """The values of the first solution of a leaf's value by ``ties``; where there is no time for that, the leaf's
        own."""
        left = self.left()
        seconds = None if left is None else max(left, ORDERED_WITHIN_S)
        try:
            return in_order(built, leaf.cents, ties, self.solver, leaf.values, seconds).values
        except faults.OutOfTimeError:
            return leaf.values


class LeastCost(Objective):
    """The delivered total at one price list."""

    @property
    def cutoff(self) -> float:
        """The budget."""
        budget = self.space.budget
        return np.inf if budget is None else float(budget)

    def bound(self, totals: Sequence[np.ndarray]) -> np.ndarray:
        """The total itself."""
        return totals[0]

    def ranked(self, rest: Sequence[float], sides: Sequence[SideBounds], rows: int) -> Ranked:
        """As the side has them in order: what comes to each is the same."""
        return sides[0].order, sides[0].key, rest[0]

    def tanks(self, fields: Sequence[Field]) -> list[tuple[str, float]]:
        """Those in whose place no other would be cheaper; all, where the hours of the weather file are judged: there
        the size of a tank counts."""
        if fields[0].replays is not None:
            return tanks_worth_asking_in(fields[0].setting, [fields[0].market])
        return tanks_worth_asking(fields[0].setting, fields[0].market)

    def leaf(self, subproblem: Subproblem, needs: Sequence[tuple[str, float]], wiring: Wiring) -> tuple[float, Solve]:
        """Every way in which an order can stand to some sellers is a smaller model with a bound of its own."""
        market = wiring.field.market
        choices = OrderBound.of(needs, market, wiring.tank_bounds[0]).freight_choices()
        first = next(choices, None)
        every = choices if first is None else chain([first], choices)  # the others are worked out when asked for

        def solve(cutoff: float) -> Solved | None:
            return self.space.cache.cheapest(subproblem, market, self.solver, every, cutoff, self.left)

        return np.inf if first is None else first[0], solve

    def bundle(self, leaf: Leaf, wiring: Wiring) -> Bundle:
        """With the order of that solution."""
        built = model.build(wiring.subproblem(leaf.triple, leaf.rack), wiring.field.market)
        return _bought(leaf, wiring, built.selection(leaf.values))

    def first(self, leaf: Leaf, subproblem: Subproblem, wiring: Wiring) -> tuple[Key, Bundle]:
        """The most usable power, the fewest panels, strings, lengths of string and sellers, then by name."""
        market = wiring.field.market
        chosen = first_of(subproblem, leaf.cents, self.space.cache.part_costs(market))
        if chosen is None:
            built = model.build(subproblem, market, leaf.freight_choice)
            chosen = built.selection(self.ordered(built, leaf, built.ties))
        bundle = _bought(leaf, wiring, chosen)
        assert bundle.order is not None
        array, parts = _array_key(bundle, chosen), _parts_key(bundle, wiring.setting.plan)
        return (leaf.cents, *array, len(bundle.order.freight), *parts), bundle


class LeastRegret(Objective):
    """The largest regret over several price lists: what a bundle costs at a list beyond ``least``, the cents of the
    cheapest bundle there. A leaf's cents are its regret, and its bundle has no order: each list has its own."""

    def __init__(self, space: SearchSpace, least: Sequence[int], solver: str = "highs") -> None:
        super().__init__(space, solver)
        self.least = least

    @property
    def cutoff(self) -> float:
        """None: a budget is one on totals, which bars a choice by its bound."""
        return np.inf

    def bound(self, totals: Sequence[np.ndarray]) -> np.ndarray:
        """The most, over the lists, of a list's own bound less its cheapest total: no bundle behind a choice has a
        smaller regret. Infinite where the budget bars it at any list."""
        table, budget = np.stack(totals), self.space.budget
        least = np.asarray(self.least, dtype=float).reshape(-1, *[1] * (table.ndim - 1))
        regret: np.ndarray = (table - least).max(axis=0)
        return regret if budget is None else np.where((table > budget).any(axis=0), np.inf, regret)

    def ranked(self, rest: Sequence[float], sides: Sequence[SideBounds], rows: int) -> Ranked:
        """Put in order anew: each list has an order of its own."""
        keys = self.bound([each + side.by_row(rows) for each, side in zip(rest, sides, strict=True)])
        order = ascending(keys)
        return order, keys[order], 0.0

    def tanks(self, fields: Sequence[Field]) -> list[tuple[str, float]]:
        """All that can be had at each list."""
        return tanks_worth_asking_in(fields[0].setting, [field.market for field in fields])

    def leaf(self, subproblem: Subproblem, needs: Sequence[tuple[str, float]], wiring: Wiring) -> tuple[float, Solve]:
        """One model over all lists."""
        totals = [
            purchase_floor(needs, field.market, tanks)
            for field, tanks in zip(wiring.fields, wiring.tank_bounds, strict=True)
        ]

        def solve(_: float) -> Solved | None:
            built = self.model(subproblem, wiring).model
            solution = least(built, built.cost, self.solver, self.left())
            return None if solution is None else (solution, ())

        return float(self.bound([np.array(total) for total in totals])), solve

    def bundle(self, leaf: Leaf, wiring: Wiring) -> Bundle:
        """Without an order."""
        built = self.model(wiring.subproblem(leaf.triple, leaf.rack), wiring).model
        return wiring.wired(leaf, built.selection(leaf.values))

    def first(self, leaf: Leaf, subproblem: Subproblem, wiring: Wiring) -> tuple[Key, Bundle]:
        """The least sum of the regrets, then as among equal totals, sellers left out."""
        built = self.model(subproblem, wiring)
        values = self.ordered(built.model, leaf, built.order())
        chosen = built.model.selection(values)
        bundle = wiring.wired(leaf, chosen)
        every = sum(each * values[v.name] for cost in built.costs for v, each in cost.expression.items())
        array, parts = _array_key(bundle, chosen), _parts_key(bundle, wiring.setting.plan)
        return (leaf.cents, round(every), *array, *parts), bundle

    def model(self, subproblem: Subproblem, wiring: Wiring) -> regret_model.RegretModel:
        """The model of a subproblem over all lists."""
        markets = [field.market for field in wiring.fields]
        return regret_model.build(subproblem, markets, self.least, self.space.budget)


def ascending(bounds: np.ndarray) -> np.ndarray:
    """The places of finite bounds, the least first."""
    order = np.argsort(bounds, kind="stable")
    found: np.ndarray = order[np.isfinite(bounds[order])]
    return found


def _bought(leaf: Leaf, wiring: Wiring, chosen: Selection) -> Bundle:
    """The bundle that a solution stands for, with its order."""
    order = chosen.order(wiring.field.market)
    if order.cents != leaf.cents:
        raise faults.SolverError(f"the order comes to {order.cents}, the model said {leaf.cents}")
    return wiring.wired(leaf, chosen, order)


def _array_key(bundle: Bundle, chosen: Selection) -> Key:
    """The order among bundles of one value as far as it is of the array."""
    power = sum(placed.milliwatts * count for placed, count in chosen.layouts)
    lengths = len({(strings.series, strings.parallel) for strings in bundle.strings})
    return -min(power, chosen.subproblem.cap_milliwatts), bundle.panels, bundle.string_count, lengths


def _parts_key(bundle: Bundle, plan: Plan) -> Key:
    """The last of the order: names, and how many parts there are beside."""
    return *bundle.models.values(), bundle.units, len(bundle.starters) + sum(bundle.tanks.values()), plan.starters
