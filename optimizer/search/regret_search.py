"""The search for the bundle whose worst extra cost over several price lists is least."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from optimizer.bundles.bundle import Bundle
from optimizer.candidates.plan import Plan, covers
from optimizer.costs.tank_bounds import plan_bound
from optimizer.rules.limits import of_starts
from optimizer.search.node_queue import Action, NodeQueue
from optimizer.search.regret_branching import Lists, RegretBranching
from optimizer.search.start_plans import plans


def cents_of(bundle: Bundle) -> int:
    assert bundle.order is not None  # a pick's bundles are priced
    return bundle.order.cents


class RegretSearch:
    """The search over all plans. ``worst``: cents that some known bundle reaches, None where none is known."""

    def __init__(self, lists: Lists, solver: str, worst: int | None) -> None:
        self.lists = lists
        self.queue = NodeQueue(lists.cache, solver, 1, np.inf if worst is None else float(worst))
        self.solver, self.opened = solver, 0
        self.plans = plans(lists.setting, lists.catalogs[0], *lists.markets)
        self.levels: list[tuple[Plan, RegretBranching]] = []

    def run(self, watch: Callable[[int, int], None] | None = None) -> Bundle | None:
        """The bundle of the least worst extra, by the order among equals; None where there is none."""
        queue = self.queue
        for plan, floor in zip(self.plans, self._floors(), strict=True):
            queue.push(floor, 0, self._open(plan))
        while queue.open:
            bound, action = queue.pop()
            self.opened += 1
            if watch is not None:
                watch(self.opened, queue.solved)
            action(bound)
        leaves = [leaf for found in queue.incumbents.values() for leaf in found if leaf[0].cents <= queue.cutoff]
        finished = [wiring.finish(leaf, self.solver) for leaf, wiring in leaves]
        return min(finished, key=lambda pair: pair[0])[1] if finished else None

    def _floors(self) -> list[float]:
        """The least worst extra of each plan: the cheapest bundle with its water whatever the starts, and its
        starters."""
        lists = self.lists
        terms = lists.setting.terms
        easy = replace(lists.setting, terms=replace(terms, without=terms.without | of_starts()))
        water: dict[float, list[float]] = {}
        floors = []
        for plan in self.plans:
            if plan.tanks_l not in water:
                fields = lists.fields(easy, Plan((), plan.tanks_l))
                water[plan.tanks_l] = [float(found.converter_bounds()[0].min(initial=np.inf)) for found in fields]
            starters = replace(lists.setting, plan=Plan(plan.starters))
            both = zip(water[plan.tanks_l], lists.markets, strict=True)
            beside = [np.array([floor + plan_bound(starters, market).min()]) for floor, market in both]
            floors.append(float(lists.over(beside)[0]))
        return floors

    def _open(self, plan: Plan) -> Action:
        def action(_: float) -> None:
            if any(self._needless(plan, other, there) for other, there in self.levels if other.tanks_l == plan.tanks_l):
                return
            levels = RegretBranching(self.queue, self.lists, plan)
            self.levels.append((plan, levels))
            levels.start()

        return action

    def _needless(self, plan: Plan, other: Plan, there: RegretBranching) -> bool:
        """Whether a plan opened before makes this one needless at every list: fewer of the same parts, and no start
        harder; as for one list, unless a spare starter may make up an order at some."""
        lists = self.lists
        few, many = other.pieces(lists.setting.job), plan.pieces(lists.setting.job)
        if not few <= many:
            return False
        spare = [part for market in lists.markets for part in many
                 if market.makes_up(part) and few[part] <= market.on_hand(part) < many[part]]  # fmt: skip
        if spare:
            return False
        demand = lists.of_plan(plan)[0].setting.demand
        return covers(there.fields[0].setting.demand, demand)
