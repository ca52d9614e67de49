"""Best bound first: the cheapest distinct bundles, proven.

One heap holds choices at every level (converter; its batteries; a pair with its panels; a triple with its racks; a
node). What has the least bound is opened next; a node's small model gives its exact total. The search ends when
nothing left can come below the last bundle wanted. Streams open their parts a chunk at a time, in order of a cheap
bound, so that of a large catalogue only the promising parts are ever looked at.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from time import monotonic
from typing import Any

import numpy as np

from catalog.reader import Catalog
from optimizer import bounds, choices, model, solve
from optimizer.bundle import Bundle, Record, TrackerStrings
from optimizer.choices import Inverter, Setting
from optimizer.job import Job
from optimizer.rules import money, site
from optimizer.rules.compare import at_least, whole_up

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


@dataclass(frozen=True)
class Triple:
    """A converter, a bank and a panel, with what the levels below need of them."""

    inverter: Inverter
    battery: int
    series: int
    parallel: int
    need_w: float
    floor_w: float
    panel: int
    pair: np.ndarray = field(repr=False, compare=False)

    @property
    def option(self) -> tuple[int, int, int]:
        """What makes a bundle distinct: converter, panel and battery (rows)."""
        return (self.inverter.row, self.panel, self.battery)


@dataclass(frozen=True)
class Leaf:
    """A solved node: its triple, rack, layouts and exact total in cents."""

    triple: Triple
    rack: int
    layouts: tuple[choices.Layout, ...]
    cents: int


class Search:
    """One search over one field. ``watch`` is called with (opened, solved) now and then, for progress."""

    def __init__(
        self,
        catalog: Catalog,
        setting: Setting,
        options: int,
        solver: str = "highs",
        time_limit: float | None = None,
        watch: Callable[[int, int], None] | None = None,
    ) -> None:
        started = monotonic()
        self.deadline = None if time_limit is None else started + time_limit
        self.catalog, self.setting, self.options, self.solver, self.watch = catalog, setting, options, solver, watch
        self.field = bounds.Field.of(catalog, setting)
        self.heap: list[tuple[float, int, int, Callable[[float], None]]] = []
        self.entered = self.opened = self.solved = 0
        self.best: dict[tuple[int, int, int], list[Leaf]] = {}
        self.gaps: list[float] = []
        self.first = False
        budget = setting.job.need.budget_cents if setting.keeps("budget") else None
        self.ceiling = np.inf if budget is None else float(budget)
        extras = catalog.tables["extra"]
        self.extras = [extras.record(row) for row in range(len(extras))]
        self.worth: dict[int, np.ndarray] = {}
        self.known_power: dict[int, np.ndarray] = {}
        self.power_cache: dict[tuple[int, int], np.ndarray] = {}
        self.layout_cache: dict[tuple[int, int], tuple[choices.Layout, ...]] = {}

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
                if position in self.worth:
                    whole = np.where(self.worth[position][chosen], whole, np.inf)
                for row in np.flatnonzero(np.isfinite(whole) & (whole <= self.ceiling)):
                    triple = Triple(
                        inverter, int(chosen[row]), int(found.series[row]), int(found.parallel[row]),
                        float(found.need_w[row]), float(found.floor_w[row]), -1, table[row],
                    )  # fmt: skip
                    self.push(float(whole[row]), 2, self._panels(triple))

            self.stream(banks.key, rest, 1, open_chunk)

        return action

    def _panels(self, pair: Triple) -> Callable[[float], None]:
        def action(_: float) -> None:
            array = self.field.array_floor(self.field.grid(pair.need_w))

            def open_chunk(start: int, stop: int) -> None:
                chosen = array.order[start:stop]
                whole = self.field.panel_bounds(pair.inverter, pair.need_w, pair.floor_w, pair.pair, chosen)
                known = self._known_power(pair.inverter)
                whole = np.where(at_least(known[chosen], pair.need_w), whole, np.inf)
                for row in np.flatnonzero(np.isfinite(whole) & (whole <= self.ceiling)):
                    triple = Triple(
                        pair.inverter, pair.battery, pair.series, pair.parallel, pair.need_w, pair.floor_w,
                        int(chosen[row]), pair.pair,
                    )  # fmt: skip
                    # a search that may find nothing at all would open every triple: it looks before it enters one
                    if self.first and self.fewest_panels(triple) is None:
                        continue
                    self.push(float(whole[row]), 3, self._racks(triple))

            self.stream(array.key, float(pair.pair.min()), 2, open_chunk)

        return action

    def layouts(self, triple: Triple) -> tuple[choices.Layout, ...]:
        """Every layout of the triple's panel on a tracker of its converter."""
        key = (triple.inverter.row, triple.panel)
        if key not in self.layout_cache:
            found, row = self.field, np.array([triple.panel])
            panels = found.panels.take(row)
            figures = choices.PanelFigures(
                *(getattr(found.figures, name)[row] for name in choices.PanelFigures.__dataclass_fields__)
            )
            ranges = choices.string_ranges(panels.columns, figures, triple.inverter, self.setting)
            self.layout_cache[key] = choices.layouts(
                found.panel(triple.panel), figures, 0, triple.inverter, ranges, 0, self.setting
            )
        return self.layout_cache[key]

    def _known_power(self, inverter: Inverter) -> np.ndarray:
        """The most usable W of each panel behind an inverter, infinite where it was not yet worked out."""
        if inverter.position not in self.known_power:
            self.known_power[inverter.position] = np.full(len(self.field.panels), np.inf)
        return self.known_power[inverter.position]

    def fewest_panels(self, triple: Triple) -> int | None:
        """The fewest panels that the triple's trackers can be wired with for its needs; None where none will do."""
        least, most = self.limits_on_panels(triple)
        key = (triple.inverter.position, triple.panel)
        if key not in self.power_cache:
            power = bounds.most_power(self.layouts(triple), triple.inverter.trackers, most)
            self.power_cache[key] = power
            self._known_power(triple.inverter)[triple.panel] = power.max(initial=0.0)
        return bounds.fewest_panels(self.power_cache[key], triple.need_w, least)

    def limits_on_panels(self, triple: Triple) -> tuple[float, float]:
        """Fewest panels by the lead-acid floor, most by space and converters."""
        panel = self.field.panel(triple.panel)
        factor = self.setting.job.site.array_factor
        least = float(choices.panels_needed(0.0, panel["pmax_w"], triple.floor_w, factor, panel["pmax_w"]))
        area = site.panel_area(panel["length_mm"], panel["width_mm"])
        return least, float(choices.most_panels(panel, area, triple.inverter, self.setting))

    def _racks(self, triple: Triple) -> Callable[[float], None]:
        def action(bound: float) -> None:
            if self._beaten(triple, bound):
                return
            layouts = self.layouts(triple)
            fewest = self.fewest_panels(triple)
            if fewest is None:
                return
            # with every seller apart, and racking at its least: most triples end here
            needs = self._least_needs(triple, fewest)
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
            node = self.node(triple, rack)
            floor = bounds.purchase_floor(least_needs(node, fewest), self.field.market)
            self.push(max(bound, floor), 5, self._solve(triple, rack, node))

        return action

    def _beaten(self, triple: Triple, bound: float) -> bool:
        known = self.best.get(triple.option)
        return known is not None and bound > known[0].cents

    def _parts(self, triple: Triple) -> dict[str, tuple[str, float]]:
        """Part and settled pieces of converter, panel and battery."""
        found = self.field
        return {
            "converter": (part_of(found.converters.rows, triple.inverter.row), triple.inverter.units),
            "panel": (part_of(found.panels, triple.panel), 0.0),
            "battery": (part_of(found.batteries, triple.battery), triple.series * triple.parallel),
        }

    def _least_needs(self, triple: Triple, panels: int) -> list[tuple[str, float]]:
        """(part, pieces) that every bundle of a triple needs with so many panels, racking left out."""
        parts = self._parts(triple)
        parts["panel"] = (parts["panel"][0], panels)
        basis = money.Basis(
            triple.inverter.units, triple.series * triple.parallel, triple.parallel, 1, panels, 1, 0, 0, 0
        )
        extras = [(str(extra["part"]), float(money.extra_pieces(extra, basis))) for extra in self.extras]
        return [*parts.values(), *extras]

    def node(self, triple: Triple, rack: int) -> model.Node:
        """The small model of a triple on a rack."""
        found, job = self.field, self.setting.job
        racks = found.racks
        row_max = float(racks["max_row"][rack])
        if job.space.row_max is not None:
            row_max = min(row_max, job.space.row_max)
        placed = []
        for layout in self.layouts(triple):
            rows = int(site.string_rows(layout.series, row_max))
            units = site.string_rack_units(layout.series, rows, racks["per_panel"][rack], racks["per_row"][rack])
            placed.append(model.Placed(layout, rows * layout.parallel, int(units) * layout.parallel))
        least, most = self.limits_on_panels(triple)
        parts, inverter = self._parts(triple), triple.inverter
        asked = [
            model.Asked(*parts["converter"]),
            model.Asked(*parts["panel"], tuple(float(p.layout.panels) for p in placed)),
            model.Asked(*parts["battery"]),
            model.Asked(part_of(racks, rack), 0.0, tuple(float(p.units) for p in placed)),
            *extras_asked(self.extras, placed, inverter.units, triple.series, triple.parallel),
        ]
        cap = inverter.units * float(inverter["array_usable_w"])
        return model.Node(tuple(asked), tuple(placed), inverter.trackers, triple.need_w, cap, least, most)

    def _solve(self, triple: Triple, rack: int, node: model.Node) -> Callable[[float], None]:
        def action(bound: float) -> None:
            if self._beaten(triple, bound):
                return
            built = model.build(node, self.field.market)
            solution = solve.least(built, built.cost, self.solver)
            self.solved += 1
            if solution is None:
                return
            cents = solution.value
            self.gaps.append((cents - bound) / max(cents, 1))
            if cents > self.ceiling:
                return
            layouts = tuple(placed.layout for placed, _ in built.layouts_chosen(solution.values))
            leaf = Leaf(triple, rack, layouts, cents)
            known = self.best.setdefault(triple.option, [])
            if not known or cents < known[0].cents:
                self.best[triple.option] = [leaf]
            elif cents == known[0].cents:
                known.append(leaf)
            totals = sorted(leaves[0].cents for leaves in self.best.values())
            if len(totals) >= self.options:
                self.ceiling = min(self.ceiling, float(totals[self.options - 1]))

        return action

    # the answer ---------------------------------------------------------------------------------------------

    def finish(self, leaf: Leaf) -> tuple[tuple[Any, ...], Bundle]:
        """Put the equal totals of a node in order: the key to order bundles by, and the bundle."""
        node = self.node(leaf.triple, leaf.rack)
        built = model.build(node, self.field.market)
        solution = solve.in_order(built, leaf.cents, built.ties, self.solver)
        order = built.order(solution.values, self.field.market)
        if order.cents != leaf.cents:
            raise solve.SolverError(f"the order comes to {order.cents}, the model said {leaf.cents}")
        chosen = built.layouts_chosen(solution.values)
        carried = [placed.layout for placed, count in chosen for _ in range(count)]
        strings = tuple(
            TrackerStrings(tracker, layout.parallel, layout.series, layout.fused)
            for tracker, layout in enumerate(carried, start=1)
        )
        triple, found = leaf.triple, self.field
        tables = found.market.catalog.tables
        rows = {
            "converter": int(found.converters.rows.index[triple.inverter.row]),
            "panel": int(found.panels.index[triple.panel]),
            "battery": int(found.batteries.index[triple.battery]),
            "rack": int(found.racks.index[leaf.rack]),
        }
        records = {kind: tables[kind].record(row) for kind, row in rows.items()}
        taken = tuple(
            (str(records[kind]["part"]), column)
            for kind, row in rows.items()
            for column, mask in tables[kind].taken.items()
            if mask[row]
        )
        bundle = Bundle(
            records["converter"], records["panel"], records["battery"], records["rack"], triple.inverter.units,
            triple.series, triple.parallel, strings, sum(p.units * count for p, count in chosen), order,
            defaults_taken=taken,
        )  # fmt: skip
        power = sum(p.milliwatts * count for p, count in chosen)
        key = (
            leaf.cents, -min(power, round(node.usable_cap_w * model.MILLIWATTS)), bundle.panels, bundle.string_count,
            len({(s.series, s.parallel) for s in strings}), len(order.freight), *bundle.models.values(),
            triple.inverter.units,
        )  # fmt: skip
        return key, bundle

    def answer(self, status: str) -> Pick:
        """The bundles found, in order, and how far they are proven."""
        floor = self.heap[0][0] if self.heap else np.inf
        ranked = sorted(self.best.values(), key=lambda leaves: leaves[0].cents)
        last = ranked[min(self.options, len(ranked)) - 1][0].cents if ranked else 0
        finished = [
            min((self.finish(leaf) for leaf in leaves), key=lambda pair: pair[0])
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


def least_needs(node: model.Node, panels: int) -> list[tuple[str, float]]:
    """(part, pieces) that every solution of a node needs with at least so many panels: what is settled, and what
    the thriftiest layout asks a panel."""
    needs = []
    for asked in node.asked:
        each = min(
            (per / placed.layout.panels for per, placed in zip(asked.per_layout, node.placed, strict=False)),
            default=0.0,
        )
        needs.append((asked.part, float(whole_up(asked.pieces + each * panels))))
    return needs


def part_of(rows: choices.Rows, row: int) -> str:
    """The part id of a row of any table."""
    return str(rows.table.part[rows.index[row]])


def extras_asked(
    extras: Sequence[Record], placed: list[model.Placed], units: int, series: int, parallel: int
) -> Iterator[model.Asked]:
    """What every extra asks of the model: pieces that are settled, and pieces for each layout."""
    for extra in extras:
        quantity, per, when = float(extra["quantity"]), extra["per"], extra["when"]

        def count(strings: int, panels: int, rows: int, fused: bool, extra: Any = extra) -> int:
            basis = money.Basis(
                units, series * parallel, parallel, strings, panels, rows,
                strings * fused, panels * fused, rows * fused,
            )  # fmt: skip
            return money.extra_count(extra["per"], extra["when"], basis)

        settled = count(0, 0, 0, False)
        each = tuple(
            quantity * (count(p.layout.parallel, p.layout.panels, p.rows, p.layout.fused) - settled)
            for p in placed
        )
        if when == "fused" and per in ("system", "converter", "battery", "bank-string"):
            once = count(1, 1, 1, True)
            yield model.Asked(str(extra["part"]), 0.0, (), quantity * once)
        else:
            yield model.Asked(str(extra["part"]), quantity * settled, each)


def pick(
    catalog: Catalog,
    job: Job,
    options: int = 5,
    *,
    solver: str = "highs",
    time_limit: float | None = None,
    without: frozenset[str] = frozenset(),
    watch: Callable[[int, int], None] | None = None,
) -> Pick:
    """The ``options`` cheapest distinct bundles that meet every limit of the job, proven to the cent.

    ``time_limit`` in seconds; ``without`` leaves limits out, in thought only. Raises ValueError where a limit cannot
    be left out and :class:`optimizer.solve.SolverError` where the solver breaks its word.
    """
    search = Search(catalog, Setting.of(job, without), options, solver, time_limit, watch)
    return search.answer(search.run())
