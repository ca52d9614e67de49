"""The choices of one plan, level by level: converter, its batteries, their panels, a rack, the small model.

Streams open their parts a chunk at a time, in order of a cheap bound, so that of a large catalogue only the promising
parts are ever looked at.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import chain

import numpy as np

from optimizer.candidates.banks import banks as banks_of
from optimizer.costs.order_bounds import FreightChoice, OrderBound, purchase_floor
from optimizer.milp.subproblem import Subproblem
from optimizer.rules.tolerance import at_least
from optimizer.search import lower_bounds
from optimizer.search.fathomed import Fathomed
from optimizer.search.node_queue import Action, NodeQueue
from optimizer.search.triples import Leaf, Triple, Wiring, least_needs


class Branching:
    """Opens the choices of one field into a node queue. ``fathomed``: a field in which a search found nothing."""

    def __init__(self, queue: NodeQueue, field: lower_bounds.Field, fathomed: Fathomed | None = None) -> None:
        self.queue, self.field, self.fathomed, self.setting = queue, field, fathomed, field.setting
        self.wiring = Wiring(field)
        self.worth: dict[int, np.ndarray] = {}

    def start(self) -> None:
        """Enter every converter."""
        found = self.field
        if not (len(found.converters) and len(found.batteries) and len(found.panels) and len(found.racks)):
            return
        whole, _ = found.converter_bounds(coarse=lower_bounds.COARSE)
        order = np.argsort(whole, kind="stable")

        def open_converters(start: int, stop: int) -> None:
            for position in order[start:stop]:
                self.queue.push(float(whole[position]), 1, self._converter(int(position)))

        self.queue.stream(whole[order], 0.0, 0, open_converters)

    def _converter(self, position: int) -> Action:
        def action(bound: float) -> None:
            if self.queue.first and not self._promising(position):
                return
            if self.fathomed is not None and self.fathomed.covers(self.field.converters.entry(position)):
                return
            whole, rest = self.field.converter_bounds(np.array([position]))
            self.queue.push(max(bound, float(whole[0])), 1, self._batteries(position, float(rest[0])))

        return action

    def _promising(self, position: int) -> bool:
        """Whether any bank fits a converter and any panel can meet the least that those banks ask of the array.

        A search that may find nothing would otherwise try every bank with every panel. It also settles which banks
        are worth a look (``self.worth``): one that asks no more of the array than another stands for it, where it
        can be had in any number and cost does not matter.
        """
        found, inverter = self.field, self.field.converters.entry(position)
        banks = banks_of(found.batteries.columns, inverter, self.setting)
        if not banks.fits.any():
            return False
        need_w, floor_w = banks.need_w[banks.fits].min(), banks.floor_w[banks.fits].min()
        every = np.arange(len(found.panels))
        free = np.zeros(1 << found.market.groups)
        if not np.isfinite(found.panel_bounds(inverter, float(need_w), float(floor_w), free, every)).any():
            return False
        if np.isinf(self.queue.cutoff):
            plenty = banks.fits & np.isinf(found.market.ladders["battery"].most[found.batteries.index])
            order = np.flatnonzero(plenty)[np.lexsort((banks.floor_w[plenty], banks.need_w[plenty]))]
            floors = banks.floor_w[order]
            best = np.r_[True, floors[1:] < np.minimum.accumulate(floors)[:-1]] if len(order) else np.zeros(0, bool)
            worth = banks.fits & ~plenty
            worth[order[best]] = True
            self.worth[position] = worth
        return True

    def _batteries(self, position: int, rest: float) -> Action:
        def action(_: float) -> None:
            inverter = self.field.converters.entry(position)
            banks = self.field.bank_floor(float(inverter["bank_class_v"]))

            def open_chunk(start: int, stop: int) -> None:
                chosen = banks.order[start:stop]
                found, table, array = self.field.pair_tables(inverter, chosen)
                whole = np.where(found.fits, (table + array).min(axis=1), np.inf)
                same = None if self.fathomed is None else self.fathomed.banks(inverter, chosen)
                if position in self.worth:
                    whole = np.where(self.worth[position][chosen], whole, np.inf)
                for row in np.flatnonzero(np.isfinite(whole) & (whole <= self.queue.cutoff)):
                    triple = Triple(
                        inverter, int(chosen[row]), int(found.series[row]), int(found.parallel[row]),
                        float(found.need_w[row]), float(found.floor_w[row]), -1, table[row],
                    )  # fmt: skip
                    self.queue.push(float(whole[row]), 2, self._panels(triple, same is not None and bool(same[row])))

            self.queue.stream(banks.key, rest, 1, open_chunk)

        return action

    def _panels(self, pair: Triple, same: bool) -> Action:
        def action(_: float) -> None:
            array = self.field.array_floor(self.field.grid(pair.need_w))

            def open_chunk(start: int, stop: int) -> None:
                chosen = array.order[start:stop]
                whole = self.field.panel_bounds(pair.inverter, pair.need_w, pair.floor_w, pair.pair, chosen)
                known = self.wiring.most_power_known(pair.inverter)
                whole = np.where(at_least(known[chosen], pair.need_w), whole, np.inf)
                if same and self.fathomed is not None:
                    whole = np.where(self.fathomed.panels(pair.inverter, chosen), np.inf, whole)
                for row in np.flatnonzero(np.isfinite(whole) & (whole <= self.queue.cutoff)):
                    triple = Triple(
                        pair.inverter, pair.battery, pair.series, pair.parallel, pair.need_w, pair.floor_w,
                        int(chosen[row]), pair.pair,
                    )  # fmt: skip
                    # a search that may find nothing at all would open every triple: it looks before it enters one
                    if self.queue.first and self.wiring.fewest_panels(triple) is None:
                        continue
                    self.queue.push(float(whole[row]), 3, self._racks(triple))

            self.queue.stream(array.key, float(pair.pair.min()), 2, open_chunk)

        return action

    def _racks(self, triple: Triple) -> Action:
        def action(bound: float) -> None:
            if self.queue.beaten(triple.option, bound):
                return
            layouts = self.wiring.layouts(triple)
            fewest = self.wiring.fewest_panels(triple)
            if fewest is None:
                return
            # with every seller apart, and racking at its least: most triples end here
            needs = self.wiring.least_needs(triple, fewest)
            racking = float(self.field.rack_floor(fewest, bare=True)[-1])
            floor = purchase_floor(needs, self.field.market, self.wiring.tank_floor, racking)
            if floor > self.queue.cutoff:
                return
            if floor > bound:
                self.queue.push(floor, 3, action)
                return
            longest = max(layout.series for layout in layouts)
            whole = self.field.rack_bounds(
                triple.panel, fewest, longest, triple.inverter.units, triple.parallel, triple.pair
            )
            order = np.argsort(whole, kind="stable")
            order = order[np.isfinite(whole[order])]

            def open_chunk(start: int, stop: int) -> None:
                for rack in order[start:stop]:
                    self.queue.push(float(whole[rack]), 4, self._sellers(triple, int(rack), fewest))

            self.queue.stream(whole[order], 0.0, 3, open_chunk)

        return action

    def _sellers(self, triple: Triple, rack: int, fewest: int) -> Action:
        def action(bound: float) -> None:
            if self.queue.beaten(triple.option, bound):
                return
            node = self.wiring.node(triple, rack)
            needs = least_needs(node, fewest)
            freight_choices = OrderBound.of(needs, self.field.market, self.wiring.tank_floor).freight_choices()
            if (first := next(freight_choices, None)) is not None:
                every = chain([first], freight_choices)  # the others are worked out when they are asked for
                self.queue.push(max(bound, first[0]), 5, self._solve(triple, rack, node, every))

        return action

    def _solve(
        self, triple: Triple, rack: int, node: Subproblem, freight_choices: Iterable[tuple[float, FreightChoice]]
    ) -> Action:
        def action(bound: float) -> None:
            queue = self.queue
            if queue.beaten(triple.option, bound):
                return
            found = queue.cache.cheapest(node, self.field.market, queue.solver, freight_choices, queue.cutoff)
            queue.solved += 1
            if found is not None:
                solution, freight_choice = found
                queue.found(Leaf(triple, rack, solution.value, solution.values, freight_choice), self.wiring, bound)

        return action
