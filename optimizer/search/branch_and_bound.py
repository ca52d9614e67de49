"""Branch and bound, best bound first: the least distinct bundles by an objective, proven.

One heap holds the nodes of the tree at any depth (a plan of starters and tanks; a converter; its batteries; a pair with
its panels; a triple with its racks; a subproblem). The node with the least lower bound is opened next; a subproblem's
model gives a leaf's exact value. The search ends when no bound left is below the last bundle wanted.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from time import monotonic

import numpy as np

from catalog.reader import Catalog
from optimizer.bundles.bundle import Bundle
from optimizer.candidates.plan import Plan, covers
from optimizer.candidates.terms import PLAIN, SearchTerms, Setting
from optimizer.inputs.job import Job
from optimizer.search.branching import Branching
from optimizer.search.cache import SearchCache
from optimizer.search.fathomed import Fathomed
from optimizer.search.lower_bounds import Field
from optimizer.search.node_queue import Action, NodeQueue
from optimizer.search.objectives import LeastCost, Objective
from optimizer.search.plan_bounds import PlanBounds
from optimizer.search.plans import running
from optimizer.search.space import SearchSpace
from optimizer.vocabulary.faults import OutOfTimeError

FEW_PLANS = 64  # up to which each is asked whether an earlier proof covers it before any is opened: speed only
WIRED = 4  # the depth of a node that can be wired on some rack
PATIENCE = 5000  # nodes opened without a bundle before the search asks whether there is any: speed only


class Status(StrEnum):
    """How a search ended: with bundles proven least, by the time limit, or with a proof that there is none."""

    PROVEN = "proven"
    STOPPED = "stopped"
    NONE = "none"


@dataclass(frozen=True)
class Proof:
    """How far the search came: how many combinations there are, how many subproblems were solved, how many nodes were
    opened, the least value in cents of anything not shown (where the time limit came first, a lower bound on it; None:
    there is nothing), and the gap of the first bundle as a share.
    ``bound_gaps``: of each leaf, how far its value was above its bound, as a share."""

    combinations: int
    solved: int
    opened: int
    next_bound: int | None
    gap: float
    bound_gaps: tuple[float, ...] = ()


@dataclass(frozen=True)
class Pick:
    """The answer of a search: bundles by rank, the least first.

    ``proven[i]`` says whether nothing less than bundle i, and distinct from those before it, can exist.
    """

    status: Status
    bundles: tuple[Bundle, ...]
    proven: tuple[bool, ...]
    proof: Proof


class Search:
    """One search over every plan of an objective's space. ``watch`` is called with (opened, solved) now and then.

    ``below``: only bundles of at most so many cents are looked for; ``attained``: whether one is known, so that the
    search never asks whether there is any. ``fathomed``: the space where such a search found nothing; what it covers is
    not gone through again.
    """

    def __init__(
        self,
        objective: Objective,
        options: int = 1,
        time_limit: float | None = None,
        watch: Callable[[int, int], None] | None = None,
        *,
        below: float = np.inf,
        attained: bool = False,
        fathomed: SearchSpace | None = None,
    ) -> None:
        started = monotonic()
        self.deadline = None if time_limit is None else started + time_limit
        self.objective, self.space, self.watch = objective, objective.space, watch
        objective.within(time_limit)
        self.attained, self.fathomed = attained, fathomed
        self.opened = 0
        self.opened_plans: list[Plan] = []
        self.covering: dict[tuple[Plan, int], Fathomed | None] = {}
        self.plan_bounds = PlanBounds(objective)
        self.queue = NodeQueue(options, min(below, objective.cutoff))

    @property
    def found(self) -> bool:
        """Whether any bundle was found."""
        return bool(self.queue.incumbents)

    @property
    def solved(self) -> int:
        """Subproblems solved."""
        return self.queue.solved

    def run(self) -> Status:
        """Search until proven or out of time."""
        queue = self.queue
        self._plans()
        while queue.open:
            if self.deadline is not None and monotonic() > self.deadline:
                return Status.STOPPED
            bound, action = queue.pop()
            self.opened += 1
            if self._doubts() and self._hopeless():
                queue.heap.clear()
                break
            if self.watch is not None:
                self.watch(self.opened, self.solved)
            try:
                action(bound)
            except OutOfTimeError:
                queue.push(bound, 0, action)  # what it would have found is still open
                return Status.STOPPED
        return Status.PROVEN if self.found else Status.NONE

    def _plans(self) -> None:
        """Enter every plan with its lower bound; a plan is worked out when it is opened."""
        plans = self.space.worth_opening
        if len(plans) == 1:
            self._open(plans[0])(0.0)
            return
        if self.fathomed is not None and len(plans) <= FEW_PLANS:
            plans = tuple(plan for plan in plans if not self._fathoms(plan))
        for plan in plans:
            self.queue.push(self.plan_bounds.quick(plan), 0, self._look(plan))

    def _look(self, plan: Plan) -> Action:
        """Enter a plan anew with a bound that is worth the work only where the quick one lets it come up."""

        def action(bound: float) -> None:
            self.queue.push(max(bound, self.plan_bounds.bound(plan)), 0, self._open(plan))

        return action

    def _covering(self, plan: Plan, more: int = 0) -> Fathomed | None:
        """What the space of an earlier proof covers of a plan; None where it says nothing of it."""
        before = self.fathomed
        if before is None or plan not in before.plans:
            return None
        if (plan, more) not in self.covering:
            old, new = (
                [field.with_more_strings(more) for field in space.fields(plan)] for space in (before, self.space)
            )
            self.covering[plan, more] = Fathomed.of(old, new)
        return self.covering[plan, more]

    def _fathoms(self, plan: Plan) -> bool:
        """Whether an earlier proof covers all of a plan."""
        first = self._covering(plan)
        if first is None or not first.covered.all():
            return False
        if first.covers_more_strings:
            return True
        by_hours = self.space.fields(plan)[0].by_hours
        every = range(1 if by_hours is None else by_hours.most_more_strings + 1)
        coverings = (self._covering(plan, more) for more in every)
        return all(covering is not None and bool(covering.covered.all()) for covering in coverings)

    def _open(self, plan: Plan) -> Action:
        def action(bound: float) -> None:
            fields = self.space.fields(plan)
            if any(other.tanks_l == plan.tanks_l and self._needless(plan, other) for other in self.opened_plans):
                return
            self.opened_plans.append(plan)
            coarse = self.plan_bounds.coarse(plan, fields[0].converters) if len(self.space.worth_opening) > 1 else None
            self._strung(plan, fields, coarse, 0)(bound)

        return action

    def _strung(self, plan: Plan, fields: tuple[Field, ...], coarse: np.ndarray | None, more: int) -> Action:
        """Open a plan with so many bank strings more than the least, and enter it with one more where that may help."""

        def action(bound: float) -> None:
            covering = self._covering(plan, more)
            if covering is not None and covering.covers_more_strings:
                return
            strung = tuple(field.with_more_strings(more) for field in fields)
            branching = Branching(self.queue, self.objective, strung, covering)
            branching.start(coarse)
            by_hours = fields[0].by_hours
            if by_hours is not None and more < by_hours.most_more_strings:
                beyond = max(bound, branching.least_of_banks)
                self.queue.push(beyond, 0, self._strung(plan, fields, coarse, more + 1))

        return action

    def _needless(self, plan: Plan, other: Plan) -> bool:
        """Whether a plan opened before makes this one needless at every list: fewer of the same parts, and no start
        harder.

        Of a part that is bought anyway a spare piece may make up an order, of another none: so where that can pay at
        some list, both must buy of the same parts.
        """
        setting = self.space.setting
        catalog = self.space.catalogs[0]
        if setting.judges_hours and running(catalog, plan) != running(catalog, other):
            return False
        few, many = other.pieces(setting.job), plan.pieces(setting.job)
        if setting.terms.must.get("starter") is not None or not few <= many:
            return False
        for market in self.space.markets:
            if any(market.makes_up(part) and few[part] <= market.on_hand(part) < many[part] for part in many):
                return False
        before, after = (self.space.fields(each)[0].setting.demand for each in (other, plan))
        return covers(before, after)

    def _doubts(self) -> bool:
        """Whether it is time to ask if there is any bundle: sooner where nothing was found yet that can be wired."""
        patience = PATIENCE * (1 if self.queue.deepest < WIRED else WIRED)
        return self.opened == patience and not (self.found or self.attained or self.queue.first)

    def _hopeless(self) -> bool:
        """Whether a search that looks only for the first bundle proves that there is none."""
        left = None if self.deadline is None else max(0.0, self.deadline - monotonic())
        return Search(self.objective, 1, left).exists() is False

    def exists(self) -> bool | None:
        """Whether any bundle at all meets the limits: stops at the first. None where the time limit came first."""
        self.queue.options, self.queue.first = 1, True
        status = self.run()
        return True if self.found else None if status == Status.STOPPED else False

    def any_best(self) -> Bundle | None:
        """One of the least bundles found, of equal values any: quicker than putting them in order."""
        if not self.found:
            return None
        leaf, wiring = min((leaves[0] for leaves in self.queue.incumbents.values()), key=lambda pair: pair[0].cents)
        return self.objective.bundle(leaf, wiring)

    # the answer ---------------------------------------------------------------------------------------------

    def answer(self, status: Status, shown: int | None = None) -> Pick:
        """The first bundles found, so many as are ``shown`` or all that were asked for, in order, and how far they are
        proven."""
        heap, options = self.queue.heap, shown or self.queue.options
        bound = float(heap[0][0]) if heap and status == Status.STOPPED else float("inf")
        ranked = sorted(self.queue.incumbents.values(), key=lambda leaves: leaves[0][0].cents)
        last = ranked[min(options, len(ranked)) - 1][0][0].cents if ranked else 0
        finished = [
            min((self.objective.finish(leaf, wiring) for leaf, wiring in leaves), key=lambda pair: pair[0])
            for leaves in ranked
            if leaves[0][0].cents <= last
        ]
        finished.sort(key=lambda pair: pair[0])
        first, others = finished[:options], [key[0] for key, _ in finished[options:]]
        others += [leaves[0][0].cents for leaves in ranked if leaves[0][0].cents > last]
        beyond = min([bound, *map(float, others)])
        least = first[0][0][0] if first else 0
        proven = tuple(key[0] <= bound for key, _ in first)
        if len(first) == options and all(proven):
            status = Status.PROVEN  # only what comes after them was not settled in time
        gap = (least - bound) / least if least and status == Status.STOPPED and bound < least else 0.0
        proof = Proof(
            self.combinations(), self.solved, self.opened, int(np.ceil(beyond)) if np.isfinite(beyond) else None,
            gap, tuple(self.queue.gaps),
        )  # fmt: skip
        return Pick(status, tuple(bundle for _, bundle in first), proven, proof)

    def combinations(self) -> int:
        """(converter, units) times batteries of a fitting class times panels times racks, over all plans: all that
        could be tried, before any start is judged."""
        pairs: dict[Plan, int] = {}
        total = 0
        for plan in self.space.plans:
            runs = running(self.space.catalogs[0], plan)
            found = self.plan_bounds.whatever_starts(runs)[0]
            if runs not in pairs:
                banks_v, converters = np.unique(found.converters.column("bank_class_v"), return_counts=True)
                classes_v, batteries = np.unique(found.batteries["class_v"], return_counts=True)
                fitting = banks_v[:, None] % classes_v[None, :] == 0
                pairs[runs] = int(converters @ fitting @ batteries)
            total += pairs[runs] * len(found.panels) * len(found.racks)
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
    space = SearchSpace((catalog,), Setting.of(job, terms), cache or SearchCache())
    search = Search(LeastCost(space, solver), options + 1, time_limit, watch)  # one more: what the next would cost
    return search.answer(search.run(), options)
