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
from optimizer.candidates.terms import PLAIN, SearchTerms, Setting
from optimizer.costs.tank_bounds import plan_bound
from optimizer.inputs.job import Job
from optimizer.milp import model
from optimizer.milp.solver import Solution
from optimizer.rules.limits import of_starts
from optimizer.search import lower_bounds
from optimizer.search.branching import Branching
from optimizer.search.cache import SearchCache
from optimizer.search.fathomed import Fathomed, Proven
from optimizer.search.node_queue import Action, NodeQueue
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

    ``below``: only bundles of at most so many cents are looked for. ``fathomed``: where such a search found nothing;
    what it covers is not gone through again. ``cache`` carries what searches of one catalogue share.
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
        fathomed: Proven | None = None,
        cache: SearchCache | None = None,
    ) -> None:
        started = monotonic()
        self.deadline = None if time_limit is None else started + time_limit
        self.catalog, self.setting, self.options, self.solver, self.watch = catalog, setting, options, solver, watch
        self.cache = cache or SearchCache()
        self.fathomed = fathomed
        self.proven = Proven(catalog, setting, self.cache)
        self.opened = 0
        budget = setting.job.need.budget_cents if setting.keeps("budget") else None
        ceiling = min(below, np.inf if budget is None else float(budget))
        self.queue = NodeQueue(self.cache, solver, options, ceiling)

    @property
    def found(self) -> bool:
        """Whether any bundle was found."""
        return bool(self.queue.incumbents)

    @property
    def solved(self) -> int:
        """Small models solved."""
        return self.queue.solved

    def run(self) -> str:
        """Search until proven or out of time; returns the status."""
        queue = self.queue
        self._plans()
        while queue.open:
            if self.deadline is not None and monotonic() > self.deadline:
                return STOPPED
            bound, action = queue.pop()
            self.opened += 1
            if self.opened == PATIENCE and not self.found and not queue.first and self._hopeless():
                queue.heap.clear()
                break
            if self.watch is not None:
                self.watch(self.opened, self.solved)
            action(bound)
        return PROVEN if self.found else NONE

    def _plans(self) -> None:
        """Enter every plan at what it costs at the least; a plan is worked out when it is opened.

        Its bound: the cheapest bundle with its water whatever the starts, and its parts beside.
        """
        plans = self.proven.plans
        if len(plans) == 1:
            self._open(plans[0])(0.0)
            return
        market = self.cache.market(self.catalog, self.setting)
        terms = self.setting.terms
        easy = replace(self.setting, terms=replace(terms, without=terms.without | of_starts()))
        floors: dict[float, float] = {}
        for plan in plans:
            if plan.tanks_l not in floors:
                field = self.cache.field(self.catalog, planned(easy, self.catalog, Plan((), plan.tanks_l)))
                whole, _ = field.converter_bounds(coarse=lower_bounds.COARSE)
                floors[plan.tanks_l] = float(whole.min(initial=np.inf))
            starters = replace(self.setting, plan=Plan(plan.starters))
            self.queue.push(floors[plan.tanks_l] + float(plan_bound(starters, market).min()), 0, self._open(plan))

    def _open(self, plan: Plan) -> Action:
        def action(_: float) -> None:
            field = self.proven.field(plan)
            if any(other.tanks_l == plan.tanks_l and self._needless(plan, other) for other in self.proven.opened):
                return
            self.proven.opened.append(plan)
            before = self.fathomed
            fathomed = None if before is None or plan not in before.plans else Fathomed.of(before.field(plan), field)
            Branching(self.queue, field, fathomed).start()

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
        market = self.cache.market(self.catalog, self.setting)
        if any(market.makes_up(part) and few[part] <= market.on_hand(part) < many[part] for part in many):
            return False
        return covers(self.proven.field(other).setting.demand, self.proven.field(plan).setting.demand)

    def _hopeless(self) -> bool:
        """Whether a search that looks only for the first bundle proves that there is none."""
        left = None if self.deadline is None else max(0.0, self.deadline - monotonic())
        return Search(self.catalog, self.setting, 1, self.solver, left).exists() is False

    def exists(self) -> bool | None:
        """Whether any bundle at all meets the limits: stops at the first. None where the time limit came first."""
        self.queue.options, self.queue.first = 1, True
        status = self.run()
        return True if self.found else None if status == STOPPED else False

    def any_best(self) -> Bundle | None:
        """One of the cheapest bundles found, of equal totals any: quicker than putting them in order."""
        if not self.found:
            return None
        leaf, wiring = min((leaves[0] for leaves in self.queue.incumbents.values()), key=lambda pair: pair[0].cents)
        built = model.build(wiring.node(leaf.triple, leaf.rack), wiring.field.market)
        return wiring.bundle(leaf, built, Solution(leaf.values, leaf.cents))

    # the answer ---------------------------------------------------------------------------------------------

    def answer(self, status: str) -> Pick:
        """The bundles found, in order, and how far they are proven."""
        heap, best, options = self.queue.heap, self.queue.incumbents, self.queue.options
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
            gap, tuple(self.queue.gaps),
        )  # fmt: skip
        proven = tuple(status == PROVEN or key[0] <= floor for key, _ in shown)
        return Pick(status, tuple(bundle for _, bundle in shown), proven, proof)

    def combinations(self) -> int:
        """(converter, units) times batteries of a fitting class times panels times racks, over the plans that were
        opened: all that could be tried."""
        total = 0
        for plan in self.proven.opened or self.proven.plans[:1]:
            found = self.proven.field(plan)
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
    terms: SearchTerms = PLAIN,
    watch: Callable[[int, int], None] | None = None,
    cache: SearchCache | None = None,
) -> Pick:
    """The ``options`` cheapest distinct bundles that meet every limit of the job, proven to the cent.

    ``time_limit`` in seconds; ``terms``: what is asked beyond the job; ``cache``: what later searches of the
    same catalogue may use. Raises ValueError where a limit cannot be left
    out and :class:`optimizer.vocabulary.faults.SolverError` where the solver breaks its word.
    """
    search = Search(catalog, Setting.of(job, terms), options, solver, time_limit, watch, cache=cache)
    return search.answer(search.run())
