"""Branching within one plan: converter, its batteries, their panels, a rack, the subproblem.

Streams open their parts a chunk at a time, in ascending order of a cheap bound, so that of a large catalogue only the
promising parts are ever looked at.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import fields as fields_of
from dataclasses import replace
from functools import cached_property

import numpy as np

from optimizer.candidates.banks import Banks
from optimizer.candidates.converters import Inverter
from optimizer.costs.order_bounds import purchase_floor
from optimizer.costs.tank_bounds import most_tanks
from optimizer.milp.subproblem import Failing, Subproblem
from optimizer.rules.comparisons import at_least
from optimizer.search import lower_bounds
from optimizer.search.fathomed import Fathomed
from optimizer.search.node_queue import Action, NodeQueue
from optimizer.search.objectives import Objective, Solve, ascending
from optimizer.search.triples import Leaf, Triple, least_needs
from optimizer.search.wiring import Wiring

MOST_W = 1e6  # rated, more than any array has: where the cutoff sets no end
FEW = 32  # converters, or pairs of one with a battery, looked at together: speed only


class Branching:
    """Opens the choices of one plan into a node queue. ``fields``: of the plan, one for each price list; ``fathomed``:
    fields in which a search found nothing.

    What may be combined is the same at every list, so it is asked of the first field alone; only bounds differ.
    """

    def __init__(
        self,
        queue: NodeQueue,
        objective: Objective,
        fields: Sequence[lower_bounds.Field],
        fathomed: Fathomed | None = None,
    ) -> None:
        self.queue, self.objective, self.fields, self.fathomed = queue, objective, fields, fathomed
        self.field = fields[0]
        self.wiring = Wiring(fields, objective.tanks(fields))
        self.worth: dict[int, np.ndarray] = {}
        self.least_of_banks = 0.0  # no bundle with these bank strings or more costs less, its array by power alone

    def start(self, coarse: np.ndarray | None = None) -> None:
        """Enter every converter. ``coarse``: bounds of each, where they are known."""
        found = self.field
        if not (len(found.converters) and len(found.batteries) and len(found.panels) and len(found.racks)):
            return
        left = np.arange(len(found.converters))
        if self.fathomed is not None:
            left = np.flatnonzero(~self.fathomed.covered)
        if found.banks.all is not None:
            if len(left):
                self._pairs(left)
            return
        if coarse is None:
            coarse = self._bound(field.converter_bounds(left, lower_bounds.COARSE)[0] for field in self.fields)
        else:
            coarse = coarse[left]
        order = ascending(coarse)

        def open_converters(start: int, stop: int) -> None:
            chosen = left[order[start:stop]]
            chosen = chosen[found.strings.carry_any(found.converters.row[chosen], found.heat_c)]
            both = [field.converter_bounds(chosen) for field in self.fields]
            whole = self._bound(whole for whole, _ in both)
            for place, position in enumerate(chosen):
                rest = [float(each[place]) for _, each in both]
                self.queue.push(float(whole[place]), 1, self._batteries(int(position), rest))

        self.queue.stream(coarse[order], 0.0, 0, open_converters, FEW)

    def _bound(self, totals: Iterable[np.ndarray]) -> np.ndarray:
        return self.objective.bound(list(totals))

    def _promising(self, position: int) -> bool:
        """Whether any bank fits a converter and any panel can meet the least that those banks ask of the array.

        A search that may find nothing would otherwise try every bank with every panel. It also settles which banks
        are worth a look (``self.worth``).
        """
        found, inverter = self.field, self.field.converters.entry(position)
        banks = found.banks.behind(inverter)
        if not banks.fits.any():
            return False
        need_w, floor_w = float(banks.need_w[banks.fits].min()), float(banks.floor_w[banks.fits].min())
        every = np.arange(len(found.panels))
        for field in self.fields:
            counts = np.unique(field.panel_counts(inverter, need_w, floor_w, every))
            if not any(np.isfinite(field.racking_bound(int(count)).min()) for count in counts[np.isfinite(counts)]):
                return False
        if self._unpriced:
            self.worth[position] = self._worth(banks)
        return True

    @cached_property
    def _unpriced(self) -> bool:
        """Whether cost does not matter, nor who sells what."""
        free = np.isinf(self.queue.cutoff) and self.objective.space.budget is None and self.field.replays is None
        return bool(free) and self.field.setting.terms.most_sellers is None and self._extras_in_plenty()

    @cached_property
    def _plenty(self) -> np.ndarray:
        """The batteries that can be had in any number at every list."""
        most = [field.market.ladders["battery"].most[field.batteries.index] for field in self.fields]
        plenty: np.ndarray = np.isinf(np.array(most)).all(axis=0)
        return plenty

    def _worth(self, banks: Banks) -> np.ndarray:
        """Which of a converter's banks are worth a look where any bundle will do: one that asks no more of the array
        than another stands for it, where it and what is bought beside it can be had in any number at every list."""
        plenty = banks.fits & self._plenty
        order = np.flatnonzero(plenty)[np.lexsort((banks.floor_w[plenty], banks.need_w[plenty]))]
        floors = banks.floor_w[order]
        best = np.r_[True, floors[1:] < np.minimum.accumulate(floors)[:-1]] if len(order) else np.zeros(0, bool)
        worth: np.ndarray = banks.fits & ~plenty
        worth[order[best]] = True
        return worth

    def _extras_in_plenty(self) -> bool:
        """Whether the extras that go by the bank can be had in any number at every list."""
        extras = self.field.market.catalog.extras
        by_bank = np.isin(extras["per"].astype(str), ("battery", "bank-string")) | (extras["when"] == "paralleled-bank")
        return all(bool(np.isinf(field.market.ladders["extra"].most[by_bank]).all()) for field in self.fields)

    def _batteries(self, position: int, rest: Sequence[float]) -> Action:
        def action(_: float) -> None:
            if self.queue.first and not self._promising(position):
                return
            inverter = self.field.converters.entry(position)
            sides = [field.bank_side(float(inverter["bank_class_v"])) for field in self.fields]
            order, bounds, more = self.objective.ranked(rest, sides, len(self.field.batteries))

            def open_chunk(start: int, stop: int) -> None:
                chosen = order[start:stop]
                pairs = [field.pair_tables(inverter, chosen) for field in self.fields]
                banks = pairs[0][0]
                whole = self._bound((table + array).min(axis=1) for _, table, array in pairs)
                rated_w = self.field.rated_w(banks, chosen)
                whole = np.where(banks.fits & np.isfinite(rated_w), whole, np.inf)
                same = None if self.fathomed is None else self.fathomed.banks(inverter, chosen)
                if position in self.worth:
                    whole = np.where(self.worth[position][chosen], whole, np.inf)
                tables = [table for _, table, _ in pairs]
                for row in np.flatnonzero(np.isfinite(whole) & (whole <= self.queue.cutoff)):
                    pair = _pair(inverter, int(chosen[row]), banks, int(row), tables, float(rated_w[row]))
                    self.queue.push(float(whole[row]), 2, self._panels(pair, same is not None and bool(same[row])))

            self.queue.stream(bounds, more, 1, open_chunk)

        return action

    def _pairs(self, positions: np.ndarray) -> None:
        """Enter the pairs of converters at ``positions`` with their batteries, all worked out in one pass."""
        every, most_w = self.field.banks.all, self.field.most_power
        assert every is not None
        fits = every.fits[positions]
        if most_w is not None:
            fits = fits & at_least(most_w[positions, None], every.need_w[positions])
        if self.queue.first and self._unpriced:
            rows = (Banks(*(getattr(every, each.name)[place] for each in fields_of(Banks))) for place in positions)
            fits = fits & np.array([self._worth(banks) for banks in rows]).reshape(fits.shape)
        place, batteries = np.nonzero(fits)
        converters = positions[place]
        same = np.zeros(len(batteries), dtype=bool)
        if self.fathomed is not None:
            same, wired_alike = self.fathomed.pairs(converters, batteries)
            left = ~(same & wired_alike)
            converters, batteries, same = converters[left], batteries[left], same[left]
        pairs = [field.pairs(converters, batteries) for field in self.fields]
        banks, tables = pairs[0][0], [table for _, table, _ in pairs]
        if self.field.by_hours is not None and self.fathomed is None:  # else what is left out may come in with more
            self.least_of_banks = self._least_of_banks(banks, tables)
        rated_w = self.field.rated_w(banks, batteries)
        whole = self._bound((table + array).min(axis=1) for _, table, array in pairs)
        whole = np.where(np.isfinite(rated_w), whole, np.inf)
        order = ascending(np.where(whole <= self.queue.cutoff, whole, np.inf))
        entries: dict[int, Inverter] = {}

        def open_chunk(start: int, stop: int) -> None:
            for row in order[start:stop]:
                position = int(converters[row])
                if position not in entries:
                    entries[position] = self.field.converters.entry(position)
                pair = _pair(entries[position], int(batteries[row]), banks, int(row), tables, float(rated_w[row]))
                self.queue.push(float(whole[row]), 2, self._panels(pair, bool(same[row])))

        self.queue.stream(whole[order], 0.0, 1, open_chunk, FEW)

    def _least_of_banks(self, banks: Banks, tables: Sequence[np.ndarray]) -> float:
        """The least bound of any pair whose array gives the power that is needed, whatever the hours ask: of one more
        string each costs no less, and no other fits."""
        if not len(banks.fits):
            return np.inf
        sides = [field.array_sides(field.grid(banks.need_w)) for field in self.fields]
        whole = self._bound((table + side).min(axis=1) for table, side in zip(tables, sides, strict=True))
        return float(whole.min(initial=np.inf, where=banks.fits))

    def _panels(self, pair: Triple, same: bool) -> Action:
        def action(bound: float) -> None:
            exact = self._replayed(pair)
            if exact.rated_w > pair.rated_w:
                again = self._pair_bound(exact)
                if again > bound:
                    self.queue.push(again, 2, self._panels(exact, same))
                    return
            sides = [field.array_side(int(field.grid(exact.need_w))) for field in self.fields]
            rest = [float(table.min()) for table in pair.tables]
            order, bounds, more = self.objective.ranked(rest, sides, len(self.field.panels))

            def open_chunk(start: int, stop: int) -> None:
                chosen = order[start:stop]
                whole = self._bound(
                    field.panel_bounds(pair.inverter, pair.need_w, pair.floor_w, table, chosen, exact.rated_w)
                    for field, table in zip(self.fields, pair.tables, strict=True)
                )
                most = self.wiring.power_bound(pair.inverter)
                whole = np.where(at_least(most[chosen], pair.need_w), whole, np.inf)
                if same and self.fathomed is not None:
                    whole = np.where(self.fathomed.panels(pair.inverter, chosen), np.inf, whole)
                for row in np.flatnonzero(np.isfinite(whole) & (whole <= self.queue.cutoff)):
                    triple = replace(exact, panel=int(chosen[row]))
                    # a search that may find nothing at all would open every triple: it looks before it enters one
                    if self.queue.first and self.wiring.fewest_panels(triple, self.field.heat_c) is None:
                        continue
                    self.queue.push(float(whole[row]), 3, self._racks(triple))

            self.queue.stream(bounds, more, 2, open_chunk)

        return action

    def _replayed(self, pair: Triple) -> Triple:
        """A pair with the least rated W that its own converter and bank ask by the hours of the weather file."""
        by_hours = self.field.by_hours
        if by_hours is None:
            return pair
        bank = (pair.battery, pair.series, pair.parallel)
        if by_hours.fails_at(pair.inverter, *bank, self._affordable_w(pair)):
            return replace(pair, rated_w=np.inf)
        return replace(pair, rated_w=by_hours.exact_rated_w(pair.inverter, *bank, pair.rated_w))

    def _affordable_w(self, pair: Triple) -> float:
        """Rated W of which every array costs more than the cutoff with a pair, or the most that is looked at."""
        by_hours = self.field.by_hours
        assert by_hours is not None
        low = int(self.field.grid(self.field.offered(pair.need_w, pair.rated_w)))
        step, most = 1, int(self.field.grid(MOST_W * by_hours.least_offered))
        while low + step < most and self._at_point(pair, low + step) <= self.queue.cutoff:
            low, step = low + step, 2 * step
        high = min(low + step, most)
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if self._at_point(pair, middle) <= self.queue.cutoff else (low, middle)
        return lower_bounds.GRID**high / by_hours.least_offered

    def _pair_bound(self, pair: Triple) -> float:
        """The bound of a pair at the least rated W that it has."""
        if not np.isfinite(pair.rated_w):
            return np.inf
        return self._at_point(pair, int(self.field.grid(self.field.offered(pair.need_w, pair.rated_w))))

    def _at_point(self, pair: Triple, point: int) -> float:
        """The bound of a pair with an array at a grid point of power."""
        sides = (field.array_side(point) for field in self.fields)
        totals = [(table + side.by_set).min() for table, side in zip(pair.tables, sides, strict=True)]
        return float(self._bound(map(np.array, totals)))

    def _racks(self, triple: Triple, replayed: bool = False) -> Action:
        """``replayed``: its panels are at the least those that the hours of the weather file ask, too."""

        def action(bound: float) -> None:
            if self.queue.fathoms(triple.option, bound):
                return
            fewest = self.wiring.fewest_panels(triple, self.field.heat_c, replayed)
            if fewest is None:
                return
            apart = self._sellers_apart(triple, fewest)
            if apart <= bound and not replayed and self.field.replays is not None:
                self.queue.push(bound, 3, self._racks(triple, True))
                return
            if apart > bound:
                self.queue.push(apart, 3, action)
                return
            whole = self._rack_bounds(triple, fewest, self.field.heat_c)
            order = ascending(whole)

            def open_chunk(start: int, stop: int) -> None:
                for rack in order[start:stop]:
                    self.queue.push(float(whole[rack]), 4, self._rack(triple, int(rack), fewest))

            self.queue.stream(whole[order], 0.0, 3, open_chunk)

        return action

    def _rack_bounds(self, triple: Triple, fewest: int, heat_c: float) -> np.ndarray:
        """For every rack the bound of a triple on it with so many panels, wired as on racks of ``heat_c``. On a hotter
        rack no fewer panels will do, and no longer string."""
        longest = max(layout.series for layout in self.wiring.layouts(triple, heat_c))
        return self._bound(
            field.rack_bounds(triple.panel, fewest, longest, triple.inverter.units, triple.parallel, table)
            for field, table in zip(self.fields, triple.tables, strict=True)
        )

    def _rack(self, triple: Triple, rack: int, fewest: int) -> Action:
        """A triple on a rack, which may be hotter than those for which its bound was worked out."""

        def action(bound: float) -> None:
            if self.queue.fathoms(triple.option, bound):
                return
            heat_c = float(self.field.racks["heat_c"][rack])
            panels = self.wiring.fewest_panels(triple, heat_c, True)
            if panels is None:
                return
            if panels > fewest:
                bound = max(bound, float(self._rack_bounds(triple, panels, heat_c)[rack]))
            self.queue.push(bound, 4, self._subproblem(triple, rack, panels))

        return action

    def _sellers_apart(self, triple: Triple, fewest: int) -> float:
        """The bound of a triple with every seller apart, and racking at its least: most triples end here. Kept by all
        that it hangs on beside prices, panels and racks: searches that follow come upon the same triples."""
        terms, inverter = self.field.setting.terms, triple.inverter
        parts = tuple(part for part, _ in self.wiring.parts(triple).values())
        key = (
            parts, inverter.units, triple.series, triple.parallel, fewest, self.field.setting.plan,
            most_tanks(self.field.setting), terms.must.get("tank"), terms.without & {"allowed", "listed"},
        )  # fmt: skip
        totals = []
        for field, tanks in zip(self.fields, self.wiring.tank_bounds, strict=True):
            if key not in field.shared.apart:
                needs, racking = self.wiring.least_needs(triple, fewest), field.racking_bound(fewest, bare=True)
                field.shared.apart[key] = purchase_floor(needs, field.market, tanks, float(racking[-1]))
            totals.append(np.array(field.shared.apart[key]))
        return float(self._bound(totals))

    def _subproblem(self, triple: Triple, rack: int, fewest: int) -> Action:
        def action(bound: float) -> None:
            if self.queue.fathoms(triple.option, bound):
                return
            left = self.wiring.subproblem(triple, rack)
            least, solve = self.objective.leaf(left, least_needs(left, fewest), self.wiring)
            self.queue.push(max(bound, least), 5, self._solve(triple, rack, solve))

        return action

    def _solve(self, triple: Triple, rack: int, solve: Solve, failing: tuple[Failing, ...] = ()) -> Action:
        """``failing``: wirings that are known to fail, so that they are left out."""

        def action(bound: float) -> None:
            queue = self.queue
            if queue.fathoms(triple.option, bound):
                return
            found = solve(queue.cutoff)
            queue.solved += 1
            if found is not None:
                solution, freight_choice = found
                leaf = Leaf(triple, rack, solution.value, solution.values, freight_choice, failing)
                if self.field.replays is not None and leaf.cents <= queue.cutoff:
                    left = self.wiring.subproblem(triple, rack)
                    fails = self.wiring.fails(self.objective.bundle(leaf, self.wiring), left.placed)
                    if fails is not None:
                        self._without(leaf, left, (*failing, fails))
                        return
                queue.found(leaf, self.wiring, bound)

        return action

    def _without(self, leaf: Leaf, left: Subproblem, failing: tuple[Failing, ...]) -> None:
        """Enter the subproblem of a leaf that fails again, without what fails with it: nothing that is left costs
        less."""
        left = replace(left, failing=failing)
        fewest = int(max(left.least_panels, 1))
        least, solve = self.objective.leaf(left, least_needs(left, fewest), self.wiring)
        self.queue.push(max(float(leaf.cents), least), 5, self._solve(leaf.triple, leaf.rack, solve, failing))


def _pair(
    inverter: Inverter, battery: int, banks: Banks, row: int, tables: Sequence[np.ndarray], rated_w: float
) -> Triple:  # fmt: skip
    """A pair of a converter and a battery, its bank at a ``row`` of banks and of tables of cents."""
    return Triple(
        inverter, battery, int(banks.series[row]), int(banks.parallel[row]), float(banks.need_w[row]),
        float(banks.floor_w[row]), -1, tuple(table[row] for table in tables), rated_w,
    )  # fmt: skip
