"""The choices of one plan over several price lists: the levels of :mod:`optimizer.search.branching`, a bound for each
list.

A bound here is cents beyond the cheapest: the most, over the lists, of a list's own bound less its cheapest total. No
bundle behind a choice has a smaller worst extra. What makes a choice needless at one list's prices alone (one cheaper
or as good bundle, a tank that another stands in for) is no reason here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np

from catalog.reader import Catalog
from optimizer.bundles.bundle import Bundle
from optimizer.candidates.converters import Converters
from optimizer.candidates.plan import Plan
from optimizer.candidates.terms import Setting
from optimizer.costs.market import Market
from optimizer.costs.order_bounds import purchase_floor
from optimizer.costs.tank_bounds import TankBound, tanks_worth_asking_in
from optimizer.milp import solver as solve
from optimizer.milp.regret_model import RegretModel, build_joint
from optimizer.milp.subproblem import Subproblem
from optimizer.rules.tolerance import at_least
from optimizer.search import lower_bounds
from optimizer.search.cache import SearchCache
from optimizer.search.node_queue import Action, NodeQueue
from optimizer.search.start_plans import planned
from optimizer.search.triples import Leaf, Triple, Wiring, least_needs


@dataclass
class Lists:
    """The price lists of one catalogue: ``catalogs``, each with its own prices; ``least``: cents of the cheapest bundle
    of each. ``setting``: of a bundle that can be bought at each, so without the parts that some list has not."""

    catalogs: Sequence[Catalog]
    setting: Setting
    least: Sequence[int]
    cache: SearchCache = field(default_factory=SearchCache)
    _fields: dict[Plan, list[lower_bounds.Field]] = field(default_factory=dict)

    @cached_property
    def markets(self) -> list[Market]:
        """The market of each list."""
        return [self.cache.market(catalog, self.setting) for catalog in self.catalogs]

    @property
    def budget(self) -> int | None:
        """The most cents that a bundle may cost at any list."""
        return self.setting.job.need.budget_cents if self.setting.keeps("budget") else None

    def of_plan(self, plan: Plan) -> list[lower_bounds.Field]:
        """The fields of a plan, kept."""
        if plan not in self._fields:
            self._fields[plan] = self.fields(self.setting, plan)
        return self._fields[plan]

    def fields(self, setting: Setting, plan: Plan) -> list[lower_bounds.Field]:
        """What may be combined under a plan, for each list: the same rows, and what all lists have in stock."""
        each = [self.cache.field(catalog, planned(setting, catalog, plan)) for catalog in self.catalogs]
        common = set.intersection(*(_entries(found.converters) for found in each))
        found = each[0].converters
        kept = np.array([entry in common for entry in zip(found.row, found.units, strict=True)], dtype=bool)
        return [replace(one, converters=found.take(np.flatnonzero(kept)), _bank={}) for one in each]

    def over(self, floors: Iterable[np.ndarray]) -> np.ndarray:
        """Bounds on totals of each list as one bound on the worst extra; infinite where the budget bars it."""
        table = np.stack(list(floors))
        least = np.asarray(self.least, dtype=float).reshape(-1, *[1] * (table.ndim - 1))
        extra: np.ndarray = (table - least).max(axis=0)
        return extra if self.budget is None else np.where((table > self.budget).any(axis=0), np.inf, extra)


def _entries(found: Converters) -> set[tuple[Any, Any]]:
    return set(zip(found.row, found.units, strict=True))


@dataclass(frozen=True)
class Pair:
    """A converter and a bank, with the cents by set of sellers of each list that the levels below add to."""

    triple: Triple
    tables: tuple[np.ndarray, ...]


class RegretBranching:
    """Opens the choices of one plan into a frontier of worst extras."""

    def __init__(self, queue: NodeQueue, lists: Lists, plan: Plan) -> None:
        self.queue, self.lists = queue, lists
        self.fields = lists.of_plan(plan)
        first = self.fields[0]
        self.wiring = JointWiring(first, lists)
        self.tank_floors = [TankBound.of(found.setting, found.market) for found in self.fields]

    def start(self) -> None:
        """Enter every converter."""
        found = self.fields[0]
        if not (len(found.converters) and len(found.batteries) and len(found.panels) and len(found.racks)):
            return
        whole = self.lists.over(found.converter_bounds(coarse=lower_bounds.COARSE)[0] for found in self.fields)
        order = _ascending(whole)

        def open_converters(start: int, stop: int) -> None:
            for position in order[start:stop]:
                self.queue.push(float(whole[position]), 1, self._converter(int(position)))

        self.queue.stream(whole[order], 0.0, 0, open_converters)

    def _converter(self, position: int) -> Action:
        def action(bound: float) -> None:
            both = [found.converter_bounds(np.array([position])) for found in self.fields]
            whole = float(self.lists.over(whole for whole, _ in both)[0])
            rest = [float(rest[0]) for _, rest in both]
            self.queue.push(max(bound, whole), 1, self._batteries(position, rest))

        return action

    def _batteries(self, position: int, rest: Sequence[float]) -> Action:
        def action(_: float) -> None:
            first = self.fields[0]
            inverter = first.converters.entry(position)
            floors = [found.bank_floor(float(inverter["bank_class_v"])) for found in self.fields]
            keys = self.lists.over(
                each + _spread(floor, len(first.batteries)) for each, floor in zip(rest, floors, strict=True)
            )
            order = _ascending(keys)

            def open_chunk(start: int, stop: int) -> None:
                chosen = order[start:stop]
                pairs = [found.pair_tables(inverter, chosen) for found in self.fields]
                banks = pairs[0][0]
                whole = self.lists.over((table + array).min(axis=1) for _, table, array in pairs)
                for row in np.flatnonzero(banks.fits & np.isfinite(whole) & (whole <= self.queue.cutoff)):
                    triple = Triple(
                        inverter, int(chosen[row]), int(banks.series[row]), int(banks.parallel[row]),
                        float(banks.need_w[row]), float(banks.floor_w[row]), -1, pairs[0][1][row],
                    )  # fmt: skip
                    pair = Pair(triple, tuple(table[row] for _, table, _ in pairs))
                    self.queue.push(float(whole[row]), 2, self._panels(pair))

            self.queue.stream(keys[order], 0.0, 1, open_chunk)

        return action

    def _panels(self, pair: Pair) -> Action:
        def action(_: float) -> None:
            two, first = pair.triple, self.fields[0]
            keys = self.lists.over(
                table.min() + _spread(found.array_floor(found.grid(two.need_w)), len(first.panels))
                for found, table in zip(self.fields, pair.tables, strict=True)
            )
            order = _ascending(keys)

            def open_chunk(start: int, stop: int) -> None:
                chosen = order[start:stop]
                whole = self.lists.over(
                    found.panel_bounds(two.inverter, two.need_w, two.floor_w, table, chosen)
                    for found, table in zip(self.fields, pair.tables, strict=True)
                )
                known = self.wiring.most_power_known(two.inverter)
                whole = np.where(at_least(known[chosen], two.need_w), whole, np.inf)
                for row in np.flatnonzero(np.isfinite(whole) & (whole <= self.queue.cutoff)):
                    triple = replace(two, panel=int(chosen[row]))
                    self.queue.push(float(whole[row]), 3, self._racks(Pair(triple, pair.tables)))

            self.queue.stream(keys[order], 0.0, 2, open_chunk)

        return action

    def _racks(self, pair: Pair) -> Action:
        def action(bound: float) -> None:
            triple = pair.triple
            layouts = self.wiring.layouts(triple)
            fewest = self.wiring.fewest_panels(triple)
            if fewest is None:
                return
            racking = [float(found.rack_floor(fewest, bare=True)[-1]) for found in self.fields]
            floor = self._floor(self.wiring.least_needs(triple, fewest), racking)
            if floor > bound:
                self.queue.push(floor, 3, action)
                return
            longest = max(layout.series for layout in layouts)
            whole = self.lists.over(
                found.rack_bounds(triple.panel, fewest, longest, triple.inverter.units, triple.parallel, table)
                for found, table in zip(self.fields, pair.tables, strict=True)
            )
            order = _ascending(whole)

            def open_chunk(start: int, stop: int) -> None:
                for rack in order[start:stop]:
                    self.queue.push(float(whole[rack]), 4, self._sellers(triple, int(rack), fewest))

            self.queue.stream(whole[order], 0.0, 3, open_chunk)

        return action

    def _floor(self, needs: list[tuple[str, float]], more: Sequence[float]) -> float:
        """With every seller apart; ``more``: cents at the least that are not in the needs, at each list."""
        floors = [
            purchase_floor(needs, found.market, tanks, each)
            for found, tanks, each in zip(self.fields, self.tank_floors, more, strict=True)
        ]
        return float(self.lists.over(np.array([floor]) for floor in floors)[0])

    def _sellers(self, triple: Triple, rack: int, fewest: int) -> Action:
        def action(bound: float) -> None:
            node = self.wiring.node(triple, rack)
            floor = self._floor(least_needs(node, fewest), [0.0] * len(self.fields))
            self.queue.push(max(bound, floor), 5, self._solve(triple, rack, node))

        return action

    def _solve(self, triple: Triple, rack: int, node: Subproblem) -> Action:
        def action(bound: float) -> None:
            model = self.wiring.joint(node).model
            solution = solve.least(model, model.cost, self.queue.solver)
            self.queue.solved += 1
            if solution is not None:
                self.queue.found(Leaf(triple, rack, solution.value, solution.values), self.wiring, bound)

        return action


class JointWiring(Wiring):
    """The wiring of a plan, its tanks those that all lists have. A leaf's cents are its worst extra."""

    def __init__(self, found: lower_bounds.Field, lists: Lists) -> None:
        super().__init__(found, tanks_worth_asking_in(found.setting, lists.markets))
        self.lists = lists

    def joint(self, node: Subproblem) -> RegretModel:
        """The small model of a node over all lists."""
        return build_joint(node, self.lists.markets, self.lists.least, self.lists.budget)

    def finish(self, leaf: Leaf, solver: str) -> tuple[tuple[Any, ...], Bundle]:
        """The first bundle of a node by the order among equal worst extras, without an order; and its key."""
        built = self.joint(self.node(leaf.triple, leaf.rack))
        solution = solve.in_order(built.model, leaf.cents, built.order(), solver, leaf.values)
        bundle = self.wired(leaf, built.model, solution)
        every = sum(each * solution.values[v.name] for cost in built.costs for v, each in cost.expression.items())
        power = sum(placed.milliwatts * count for placed, count in built.model.layouts_chosen(solution.values))
        key = (
            leaf.cents, round(every), -min(power, built.model.node.cap_milliwatts), bundle.panels, bundle.string_count,
            len({(s.series, s.parallel) for s in bundle.strings}), *bundle.models.values(), bundle.units,
            len(bundle.starters) + sum(bundle.tanks.values()), self.setting.plan.starters,
        )  # fmt: skip
        return key, bundle


def _ascending(keys: np.ndarray) -> np.ndarray:
    """The places of finite keys, the least first."""
    order = np.argsort(keys, kind="stable")
    found: np.ndarray = order[np.isfinite(keys[order])]
    return found


def _spread(floor: lower_bounds.ArrayFloor, count: int) -> np.ndarray:
    """The key of every row, infinite where it has none."""
    keys = np.full(count, np.inf)
    keys[floor.order] = floor.key
    return keys
