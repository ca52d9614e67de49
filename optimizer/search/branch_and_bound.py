"""Best bound first: the cheapest distinct bundles, proven.

One heap holds choices at every level (a plan of starters and tanks; a converter; its batteries; a pair with its
panels; a triple with its racks; a node). What has the least bound is opened next; a node's small model gives its exact
total. The search ends when nothing left can come below the last bundle wanted.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from time import monotonic

import numpy as np

from catalog.reader import Catalog
from optimizer.bundles.bundle import Bundle
from optimizer.candidates.plan import Plan, covers
from optimizer.candidates.terms import PLAIN, Setting, Terms
from optimizer.costs.tank_bounds import plan_floor
from optimizer.inputs.job import Job
from optimizer.milp import model
from optimizer.milp.solver import Solution
from optimizer.rules.limits import OF_STARTS
from optimizer.search import lower_bounds
from optimizer.search.branching import Levels
from optimizer.search.cache import Memory
from optimizer.search.fathomed import Covered, Known
from optimizer.search.node_queue import Action, Frontier
from optimizer.search.start_plans import planned

PATIENCE = 5000  # choices opened without a bundle before the search asks whether there is any: speed only
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
    """One search over every plan of a setting. ``watch`` is called with (opened, solved) now and then, for progress.

    ``below``: only bundles of at most so many cents are looked for. ``known``: where such a search found nothing; what
    it covers is not gone through again. ``memory`` carries what searches of one catalogue share.
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
        known: Covered | None = None,
        memory: Memory | None = None,
    ) -> None:
        started = monotonic()
        self.deadline = None if time_limit is None else started + time_limit
        self.catalog, self.setting, self.options, self.solver, self.watch = catalog, setting, options, solver, watch
        self.memory = memory or Memory()
        self.known = known
        self.covered = Covered(catalog, setting, self.memory)
        self.opened = 0
        budget = setting.job.need.budget_cents if setting.keeps("budget") else None
        ceiling = min(below, np.inf if budget is None else float(budget))
        self.frontier = Frontier(self.memory, solver, options, ceiling)

    @property
    def found(self) -> bool:
        """Whether any bundle was found."""
        return bool(self.frontier.best)

    @property
    def solved(self) -> int:
        """Small models solved."""
        return self.frontier.solved

    def run(self) -> str:
        """Search until proven or out of time; returns the status."""
        frontier = self.frontier
        self._plans()
        while frontier.open:
            if self.deadline is not None and monotonic() > self.deadline:
                return STOPPED
            bound, action = frontier.pop()
            self.opened += 1
            if self.opened == PATIENCE and not self.found and not frontier.first and self._hopeless():
                frontier.heap.clear()
                break
            if self.watch is not None:
                self.watch(self.opened, self.solved)
            action(bound)
        return PROVEN if self.found else NONE

    def _plans(self) -> None:
        """Enter every plan at what it costs at the least; a plan is worked out when it is opened.

        Its bound: the cheapest bundle with its water whatever the starts, and its parts beside.
        """
        plans = self.covered.plans
        if len(plans) == 1:
            self._open(plans[0])(0.0)
            return
        market = self.memory.market(self.catalog, self.setting)
        easy = replace(self.setting, terms=replace(self.setting.terms, without=self.setting.terms.without | OF_STARTS))
        floors: dict[float, float] = {}
        for plan in plans:
            if plan.tanks_l not in floors:
                field = self.memory.field(self.catalog, planned(easy, self.catalog, Plan((), plan.tanks_l)))
                whole, _ = field.converter_bounds(coarse=lower_bounds.COARSE)
                floors[plan.tanks_l] = float(whole.min(initial=np.inf))
            starters = replace(self.setting, plan=Plan(plan.starters))
            self.frontier.push(floors[plan.tanks_l] + float(plan_floor(starters, market).min()), 0, self._open(plan))

    def _open(self, plan: Plan) -> Action:
        def action(_: float) -> None:
            field = self.covered.field(plan)
            if any(other.tanks_l == plan.tanks_l and self._needless(plan, other) for other in self.covered.opened):
                return
            self.covered.opened.append(plan)
            before = self.known
            known = None if before is None or plan not in before.plans else Known.of(before.field(plan), field)
            Levels(self.frontier, field, known).start()

        return action

    def _needless(self, plan: Plan, other: Plan) -> bool:
        """Whether a plan opened before makes this one needless: fewer of the same parts, and no start harder.

        Of a part that is bought anyway a spare piece may make up an order, of another none: so where that can pay, both
        must buy of the same parts.
        """
        job, must = self.setting.job, self.setting.terms.must.get("starter")
        few, many = other.pieces(job), plan.pieces(job)
        if must is not None or not few <= many:
            return False
        market = self.memory.market(self.catalog, self.setting)
        if any(market.makes_up(part) and few[part] <= market.on_hand(part) < many[part] for part in many):
            return False
        return covers(self.covered.field(other).setting.demand, self.covered.field(plan).setting.demand)

    def _hopeless(self) -> bool:
        """Whether a search that looks only for the first bundle proves that there is none."""
        left = None if self.deadline is None else max(0.0, self.deadline - monotonic())
        return Search(self.catalog, self.setting, 1, self.solver, left).exists() is False

    def exists(self) -> bool | None:
        """Whether any bundle at all meets the limits: stops at the first. None where the time limit came first."""
        self.frontier.options, self.frontier.first = 1, True
        status = self.run()
        return True if self.found else None if status == STOPPED else False

    def any_best(self) -> Bundle | None:
        """One of the cheapest bundles found, of equal totals any: quicker than putting them in order."""
        if not self.found:
            return None
        leaf, wiring = min((leaves[0] for leaves in self.frontier.best.values()), key=lambda pair: pair[0].cents)
        built = model.build(wiring.node(leaf.triple, leaf.rack), wiring.field.market)
        return wiring.bundle(leaf, built, Solution(leaf.values, leaf.cents))

    # the answer ---------------------------------------------------------------------------------------------

    def answer(self, status: str) -> Pick:
        """The bundles found, in order, and how far they are proven."""
        heap, best, options = self.frontier.heap, self.frontier.best, self.frontier.options
        floor = float(heap[0][0]) if heap else float("inf")
        ranked = sorted(best.values(), key=lambda leaves: leaves[0][0].cents)
        last = ranked[min(options, len(ranked)) - 1][0][0].cents if ranked else 0
        finished = [
            min((wiring.finish(leaf, self.solver) for leaf, wiring in leaves), key=lambda pair: pair[0])
            for leaves in ranked
            if leaves[0][0].cents <= last
        ]
        finished.sort(key=lambda pair: pair[0])
        shown = finished[:options]
        others = [pair[0][0] for pair in finished[options:]]
        others += [leaves[0][0].cents for leaves in ranked if leaves[0][0].cents > last]
        beyond = min([float(floor), *map(float, others)])
        cheapest = shown[0][0][0] if shown else None
        gap = max(0.0, (cheapest - floor) / cheapest) if cheapest and status == STOPPED and floor < cheapest else 0.0
        proof = Proof(
            self.combinations(), self.solved, self.opened, int(np.ceil(beyond)) if np.isfinite(beyond) else None,
            gap, tuple(self.frontier.gaps),
        )  # fmt: skip
        proven = tuple(status == PROVEN or key[0] <= floor for key, _ in shown)
        return Pick(status, tuple(bundle for _, bundle in shown), proven, proof)

    def combinations(self) -> int:
        """(converter, units) times batteries of a fitting class times panels times racks, over the plans that were
        opened: all that could be tried."""
        total = 0
        for plan in self.covered.opened or self.covered.plans[:1]:
            found = self.covered.field(plan)
            class_v, counts = np.unique(found.batteries["class_v"], return_counts=True)
            pairs = 0
            for bank_v in found.converters.column("bank_class_v") if len(found.converters) else ():
                pairs += int(counts[(bank_v % class_v) == 0].sum())
            total += pairs * len(found.panels) * len(found.racks)
        return total


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
    out and :class:`optimizer.vocabulary.faults.SolverError` where the solver breaks its word.
    """
    search = Search(catalog, Setting.of(job, terms), options, solver, time_limit, watch, memory=memory)
    return search.answer(search.run())
