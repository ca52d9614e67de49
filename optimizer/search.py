"""Best bound first: the cheapest distinct bundles, proven.

One heap holds choices at every level (converter; its batteries; a pair with its panels; a triple with its racks; a
node). What has the least bound is opened next; a node's small model gives its exact total. The search ends when
nothing left can come below the last bundle wanted. Streams open their parts a chunk at a time, in order of a cheap
bound, so that of a large catalogue only the promising parts are ever looked at.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable
from dataclasses import dataclass
from time import monotonic

import numpy as np

from catalog.reader import Catalog
from optimizer import bounds, choices, model
from optimizer.bundle import Bundle
from optimizer.choices import PLAIN, Setting, Terms
from optimizer.job import Job
from optimizer.known import Known, Memory
from optimizer.nodes import Leaf, Triple, Wiring, least_needs
from optimizer.rules.compare import at_least

PATIENCE = 5000  # choices opened without a bundle before the search asks whether there is any: speed only
CHUNK = 256  # parts looked at together: speed only
PROVEN, STOPPED, NONE = "proven", "stopped", "none"


@dataclass(frozen=True)
class Proof:
    """How far the search came: how many combinations there are, how many small models were solved, the least total
    in cents that anything not shown may have, and the gap of the first bundle as a share."""

    combinations: int
    solved: int
    opened: int
    next_bound: int | None
    gap: float
    bound_gaps: tuple[float, ...] = ()


@dataclass(frozen=True)
class Pick:
    """The answer of a search: ``status`` "proven", "stopped" (by the time limit) or "none"; bundles by rank.

    ``proven[i]`` says whether nothing cheaper than bundle i, and distinct from those before it, can exist.
    """

    status: str
    bundles: tuple[Bundle, ...]
    proven: tuple[bool, ...]
    proof: Proof


class Search:
    """One search over one field. ``watch`` is called with (opened, solved) now and then, for progress.

    ``below``: only bundles of at most so many cents are looked for. ``known``: a field in which such a search found
    nothing; what it covers is not gone through again. ``memory`` carries what searches of one catalogue share.
    """

    def __init__(
        self,
        catalog: Catalog,
        setting: Setting,
        options: int,
        solver: str = "highs",
        time_limit: float | None = None,
        watch: Callable[[int, int], None] | None = None,
        *,
        below: float = np.inf,
        known: bounds.Field | None = None,
        memory: Memory | None = None,
    ) -> None:
        started = monotonic()
        self.deadline = None if time_limit is None else started + time_limit
        self.catalog, self.setting, self.options, self.solver, self.watch = catalog, setting, options, solver, watch
        self.memory = memory or Memory()
        self.field = self.memory.field(catalog, setting)
        self.known = None if known is None else Known.of(known, self.field)
        self.wiring = Wiring(self.field)
        self.heap: list[tuple[float, int, int, Callable[[float], None]]] = []
        self.entered = self.opened = self.solved = 0
        self.best: dict[tuple[int, int, int], list[Leaf]] = {}
        self.gaps: list[float] = []
        self.first = False
        budget = setting.job.need.budget_cents if setting.keeps("budget") else None
        self.ceiling = min(below, np.inf if budget is None else float(budget))
        self.worth: dict[int, np.ndarray] = {}

    # the heap -----------------------------------------------------------------------------------------------

    def push(self, bound: float, level: int, action: Callable[[float], None]) -> None:
        """Enter a choice; deeper levels go first among equal bounds."""
        if bound <= self.ceiling and bound < np.inf:
            self.entered += 1
            heapq.heappush(self.heap, (bound, -level, self.entered, action))

    def stream(self, keys: np.ndarray, base: float, level: int, open_chunk: Callable[[int, int], None]) -> None:
        """Enter parts that stand in ascending order of ``keys``, a chunk at a time; ``base`` adds to every key."""

        def chunk(start: int) -> Callable[[float], None]:
            def action(_: float) -> None:
                stop = min(start + CHUNK, len(keys))
                open_chunk(start, stop)
                if stop < len(keys):
                    self.push(base + keys[stop], level, chunk(stop))

            return action

        if len(keys):
            self.push(base + keys[0], level, chunk(0))

    def run(self) -> str:
        """Search until proven or out of time; returns the status."""
        found = self.field
        if len(found.converters) and len(found.batteries) and len(found.panels) and len(found.racks):
            whole, _ = found.converter_bounds(coarse=bounds.COARSE)
            order = np.argsort(whole, kind="stable")

            def open_converters(start: int, stop: int) -> None:
                for position in order[start:stop]:
                    self.push(float(whole[position]), 1, self._converter(int(position)))

            self.stream(whole[order], 0.0, 0, open_converters)
        while self.heap and self.heap[0][0] <= self.ceiling and not (self.first and self.best):
            if self.deadline is not None and monotonic() > self.deadline:
                return STOPPED
            bound, _, _, action = heapq.heappop(self.heap)
            self.opened += 1
            if self.opened == PATIENCE and not self.best and not self.first and self._hopeless():
                self.heap.clear()
                break
            if self.watch is not None:
                self.watch(self.opened, self.solved)
            action(bound)
        return PROVEN if self.best else NONE

    def _hopeless(self) -> bool:
        """Whether a search that looks only for the first bundle proves that there is none."""
        left = None if self.deadline is None else max(0.0, self.deadline - monotonic())
        return Search(self.catalog, self.setting, 1, self.solver, left).exists() is False

    def exists(self) -> bool | None:
        """Whether any bundle at all meets the limits: stops at the first. None where the time limit came first."""
        self.options = 1
        self.first = True
        status = self.run()
        return True if self.best else None if status == STOPPED else False

    # the levels ---------------------------------------------------------------------------------------------

    def _converter(self, position: int) -> Callable[[float], None]:
        def action(bound: float) -> None:
            if self.first and not self._promising(position):
                return
            if self.known is not None and self.known.covers(self.field.converters.entry(position)):
                return
            whole, rest = self.field.converter_bounds(np.array([position]))
            self.push(max(bound, float(whole[0])), 1, self._batteries(position, float(rest[0])))

        return action

    def _promising(self, position: int) -> bool:
        """Whether any bank fits a converter and any panel can meet the least that those banks ask of the array.

        A search that may find nothing would otherwise try every bank with every panel. It also settles which banks
        are worth a look (``self.worth``): one that asks no more of the array than another stands for it, where it
        can be had in any number and cost does not matter.
        """
        found, inverter = self.field, self.field.converters.entry(position)
        banks = choices.banks(found.batteries.columns, inverter, self.setting)
        if not banks.fits.any():
            return False
        need_w, floor_w = banks.need_w[banks.fits].min(), banks.floor_w[banks.fits].min()
        every = np.arange(len(found.panels))
        free = np.zeros(1 << found.market.groups)
        if not np.isfinite(found.panel_bounds(inverter, float(need_w), float(floor_w), free, every)).any():
            return False
        if np.isinf(self.ceiling):
            plenty = banks.fits & np.isinf(found.market.ladders["battery"].most[found.batteries.index])
            order = np.flatnonzero(plenty)[np.lexsort((banks.floor_w[plenty], banks.need_w[plenty]))]
            floors = banks.floor_w[order]
            best = np.r_[True, floors[1:] < np.minimum.accumulate(floors)[:-1]] if len(order) else np.zeros(0, bool)
            worth = banks.fits & ~plenty
            worth[order[best]] = True
            self.worth[position] = worth
        return True

    def _batteries(self, position: int, rest: float) -> Callable[[float], None]:
        def action(_: float) -> None:
            inverter = self.field.converters.entry(position)
            banks = self.field.bank_floor(float(inverter["bank_class_v"]))

            def open_chunk(start: int, stop: int) -> None:
                chosen = banks.order[start:stop]
                found, table, array = self.field.pair_tables(inverter, chosen)
                whole = np.where(found.fits, (table + array).min(axis=1), np.inf)
                same = None if self.known is None else self.known.banks(inverter, chosen)
                if position in self.worth:
                    whole = np.where(self.worth[position][chosen], whole, np.inf)
                for row in np.flatnonzero(np.isfinite(whole) & (whole <= self.ceiling)):
                    triple = Triple(
                        inverter, int(chosen[row]), int(found.series[row]), int(found.parallel[row]),
                        float(found.need_w[row]), float(found.floor_w[row]), -1, table[row],
                    )  # fmt: skip
                    self.push(float(whole[row]), 2, self._panels(triple, same is not None and bool(same[row])))

            self.stream(banks.key, rest, 1, open_chunk)

        return action

    def _panels(self, pair: Triple, same: bool) -> Callable[[float], None]:
        def action(_: float) -> None:
            array = self.field.array_floor(self.field.grid(pair.need_w))

            def open_chunk(start: int, stop: int) -> None:
                chosen = array.order[start:stop]
                whole = self.field.panel_bounds(pair.inverter, pair.need_w, pair.floor_w, pair.pair, chosen)
                known = self.wiring.most_power_known(pair.inverter)
                whole = np.where(at_least(known[chosen], pair.need_w), whole, np.inf)
                if same and self.known is not None:
                    whole = np.where(self.known.panels(pair.inverter, chosen), np.inf, whole)
                for row in np.flatnonzero(np.isfinite(whole) & (whole <= self.ceiling)):
                    triple = Triple(
                        pair.inverter, pair.battery, pair.series, pair.parallel, pair.need_w, pair.floor_w,
                        int(chosen[row]), pair.pair,
                    )  # fmt: skip
                    # a search that may find nothing at all would open every triple: it looks before it enters one
                    if self.first and self.wiring.fewest_panels(triple) is None:
                        continue
                    self.push(float(whole[row]), 3, self._racks(triple))

            self.stream(array.key, float(pair.pair.min()), 2, open_chunk)

        return action

    def _racks(self, triple: Triple) -> Callable[[float], None]:
        def action(bound: float) -> None:
            if self._beaten(triple, bound):
                return
            layouts = self.wiring.layouts(triple)
            fewest = self.wiring.fewest_panels(triple)
            if fewest is None:
                return
            # with every seller apart, and racking at its least: most triples end here
            needs = self.wiring.least_needs(triple, fewest)
            racking = float(self.field.rack_floor(fewest, bare=True)[-1])
            floor = bounds.purchase_floor(needs, self.field.market) + racking
            if floor > self.ceiling:
                return
            if floor > bound:
                self.push(floor, 3, action)
                return
            longest = max(layout.series for layout in layouts)
            whole = self.field.rack_bounds(
                triple.panel, fewest, longest, triple.inverter.units, triple.parallel, triple.pair
            )
            order = np.argsort(whole, kind="stable")
            order = order[np.isfinite(whole[order])]

            def open_chunk(start: int, stop: int) -> None:
                for rack in order[start:stop]:
                    self.push(float(whole[rack]), 4, self._sellers(triple, int(rack), fewest))

            self.stream(whole[order], 0.0, 3, open_chunk)

        return action

    def _sellers(self, triple: Triple, rack: int, fewest: int) -> Callable[[float], None]:
        def action(bound: float) -> None:
            if self._beaten(triple, bound):
                return
            node = self.wiring.node(triple, rack)
            floor = bounds.purchase_floor(least_needs(node, fewest), self.field.market)
            self.push(max(bound, floor), 5, self._solve(triple, rack, node))

        return action

    def _beaten(self, triple: Triple, bound: float) -> bool:
        known = self.best.get(triple.option)
        return known is not None and bound > known[0].cents

    def _solve(self, triple: Triple, rack: int, node: model.Node) -> Callable[[float], None]:
        def action(bound: float) -> None:
            if self._beaten(triple, bound):
                return
            solution = self.memory.cheapest(node, self.field.market, self.solver)
            self.solved += 1
            if solution is None:
                return
            cents = solution.value
            self.gaps.append((cents - bound) / max(cents, 1))
            if cents > self.ceiling:
                return
            leaf = Leaf(triple, rack, cents)
            known = self.best.setdefault(triple.option, [])
            if not known or cents < known[0].cents:
                self.best[triple.option] = [leaf]
            elif cents == known[0].cents:
                known.append(leaf)
            totals = sorted(leaves[0].cents for leaves in self.best.values())
            if len(totals) >= self.options:
                self.ceiling = min(self.ceiling, float(totals[self.options - 1]))

        return action

    def any_best(self) -> Bundle | None:
        """One of the cheapest bundles found, of equal totals any: quicker than putting them in order."""
        if not self.best:
            return None
        leaf = min((leaves[0] for leaves in self.best.values()), key=lambda leaf: leaf.cents)
        node = self.wiring.node(leaf.triple, leaf.rack)
        solution = self.memory.cheapest(node, self.field.market, self.solver)
        assert solution is not None  # the leaf came from it
        return self.wiring.bundle(leaf, model.build(node, self.field.market), solution)

    # the answer ---------------------------------------------------------------------------------------------

    def answer(self, status: str) -> Pick:
        """The bundles found, in order, and how far they are proven."""
        floor = float(self.heap[0][0]) if self.heap else float("inf")
        ranked = sorted(self.best.values(), key=lambda leaves: leaves[0].cents)
        last = ranked[min(self.options, len(ranked)) - 1][0].cents if ranked else 0
        finished = [
            min((self.wiring.finish(leaf, self.solver) for leaf in leaves), key=lambda pair: pair[0])
            for leaves in ranked
            if leaves[0].cents <= last
        ]
        finished.sort(key=lambda pair: pair[0])
        shown = finished[: self.options]
        others = [pair[0][0] for pair in finished[self.options :]]
        others += [leaves[0].cents for leaves in ranked if leaves[0].cents > last]
        beyond = min([float(floor), *map(float, others)])
        best = shown[0][0][0] if shown else None
        gap = max(0.0, (best - floor) / best) if best and status == STOPPED and floor < best else 0.0
        proof = Proof(
            self.combinations(), self.solved, self.opened, int(np.ceil(beyond)) if np.isfinite(beyond) else None,
            gap, tuple(self.gaps),
        )  # fmt: skip
        proven = tuple(status == PROVEN or key[0] <= floor for key, _ in shown)
        return Pick(status, tuple(bundle for _, bundle in shown), proven, proof)

    def combinations(self) -> int:
        """(converter, units) times batteries of a fitting class times panels times racks: all that could be tried."""
        found = self.field
        class_v, counts = np.unique(found.batteries["class_v"], return_counts=True)
        pairs = 0
        for bank_v in found.converters.column("bank_class_v") if len(found.converters) else ():
            pairs += int(counts[(bank_v % class_v) == 0].sum())
        return pairs * len(found.panels) * len(found.racks)


def pick(
    catalog: Catalog,
    job: Job,
    options: int = 5,
    *,
    solver: str = "highs",
    time_limit: float | None = None,
    terms: Terms = PLAIN,
    watch: Callable[[int, int], None] | None = None,
    memory: Memory | None = None,
) -> Pick:
    """The ``options`` cheapest distinct bundles that meet every limit of the job, proven to the cent.

    ``time_limit`` in seconds; ``terms``: what is asked beyond the job; ``memory``: what later searches of the
    same catalogue may use. Raises ValueError where a limit cannot be left
    out and :class:`optimizer.solve.SolverError` where the solver breaks its word.
    """
    search = Search(catalog, Setting.of(job, terms), options, solver, time_limit, watch, memory=memory)
    return search.answer(search.run())
