"""Lower bounds on plans, before any is worked out: which starters the loads have, and how much water is stored."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from optimizer.candidates.converters import Converters, carries
from optimizer.candidates.plan import Plan
from optimizer.costs.tank_bounds import starters_bound
from optimizer.rules.limits import of_starts
from optimizer.search.lower_bounds import COARSE, Field
from optimizer.search.objectives import Objective, ascending
from optimizer.search.plans import running

TOGETHER = 64  # converters looked at together: speed only


@dataclass
class Running:
    """What plans have in common whose drives and water are the same: the fields, one for each price list, in which no
    start is judged. ``cents``: of each converter by list, without the plan's own parts, at joined grid points;
    ``order``: the converters, the least first; ``tables``: cents by set of some of them by list, at their own."""

    fields: Sequence[Field]
    cents: list[np.ndarray]
    order: np.ndarray
    tables: dict[int, list[np.ndarray]] = field(default_factory=dict)

    @classmethod
    def of(cls, fields: Sequence[Field], objective: Objective) -> Running:
        """Put the converters in order."""
        cents = [np.add(*each.converter_tables(coarse=COARSE)).min(axis=1, initial=np.inf) for each in fields]
        order = ascending(objective.bound(cents))
        return cls(fields, [each[order] for each in cents], order)

    def places(self, converters: Converters) -> np.ndarray:
        """The places in the order of some of the converters."""
        every = self.fields[0].converters
        most = max(every.units.max(initial=0), 1) + 1
        found = np.searchsorted(every.row * most + every.units, converters.row * most + converters.units)
        place = np.full(len(every), len(self.order))  # of one that can never be had
        place[self.order] = np.arange(len(self.order))
        places: np.ndarray = place[found]
        return places

    def entries(self, start: int) -> Converters:
        """The converters from a place in the order on that are looked at together."""
        return self.fields[0].converters.take(self.order[start : start + TOGETHER])

    def by_set(self, start: int) -> list[np.ndarray]:
        """Their cents by set of sellers, without the plan's own parts, by list."""
        if start not in self.tables:
            chosen = self.order[start : start + TOGETHER]
            first = self.fields[0]
            never = ~first.strings.carry_any(first.converters.row[chosen], first.heat_c)
            for cents in self.cents:
                cents[start : start + TOGETHER][never] = np.inf  # no plan need look at it again
            self.tables[start] = [np.add(*each.converter_tables(chosen)) for each in self.fields]
        return self.tables[start]


class PlanBounds:
    """Lower bounds on the plans of an objective's space."""

    def __init__(self, objective: Objective) -> None:
        self.objective, self.space = objective, objective.space
        self.fields: dict[Plan, tuple[Field, ...]] = {}
        self._runs: dict[Plan, Running] = {}
        self._starters: dict[frozenset[tuple[str, int]], list[np.ndarray]] = {}  # by pieces, whichever loads have them

    def whatever_starts(self, runs: Plan) -> tuple[Field, ...]:
        """The fields of what runs in a plan, where no start is judged."""
        if runs not in self.fields:
            setting = self.space.setting
            easy = replace(setting, terms=replace(setting.terms, without=setting.terms.without | of_starts()))
            self.fields[runs] = self.space.fields_in(easy, runs)
        return self.fields[runs]

    def quick(self, plan: Plan) -> float:
        """The cheapest bundle with the plan's water and what its drives take, whatever the starts, and its parts
        beside, each from wherever it is cheapest."""
        runs, parts = self._running(plan), self._parts(plan)
        every = self.objective.bound([cents + each.min() for cents, each in zip(runs.cents, parts, strict=True)])
        return float(every.min(initial=np.inf))

    def bound(self, plan: Plan) -> float:
        """The same behind the converters alone that carry the plan's starts, all parts from one set of sellers.

        A bound: the plan's own converters are among those that carry the loads where no start is judged; behind each
        the banks and array that are asked for without starts cost no more than those asked for with them, whatever the
        set of sellers; and the plan's parts come on top of both. Converters are looked at in ascending order of what
        they cost at the least with the plan's parts from anywhere, until that is no less than what was found.
        """
        runs, parts = self._running(plan), self._parts(plan)
        setting = self.space.cache.eligible.planned(self.space.setting, self.space.catalogs[0], plan)
        least = self.objective.bound([cents + each.min() for cents, each in zip(runs.cents, parts, strict=True)])
        rest = np.minimum.accumulate(least[::-1])[::-1]
        found = np.inf
        for start in range(0, len(rest), TOGETHER):
            if rest[start] >= found:
                break
            able = carries(runs.entries(start), setting)
            if able.any():
                tables = zip(runs.by_set(start), parts, strict=True)
                every = self.objective.bound([(table + each).min(axis=1) for table, each in tables])
                able &= np.isfinite(runs.cents[0][start : start + TOGETHER])
                found = min(found, float(every[able].min(initial=np.inf)))
        return found

    def coarse(self, plan: Plan, converters: Converters) -> np.ndarray:
        """What the plan comes to at the least behind each of its own converters, as :meth:`quick` has it."""
        runs, parts = self._running(plan), self._parts(plan)
        places = runs.places(converters)
        return self.objective.bound(
            [np.append(cents, np.inf)[places] + each.min() for cents, each in zip(runs.cents, parts, strict=True)]
        )

    def _running(self, plan: Plan) -> Running:
        runs = running(self.space.catalogs[0], plan)
        if runs not in self._runs:
            self._runs[runs] = Running.of(self.whatever_starts(runs), self.objective)
        return self._runs[runs]

    def _parts(self, plan: Plan) -> list[np.ndarray]:
        """Cents by set of the plan's own parts, by list."""
        setting, runs = self.space.setting, running(self.space.catalogs[0], plan)
        rest = Plan(tuple(starter for starter in plan.starters if starter not in runs.starters))
        pieces = frozenset(rest.pieces(setting.job).items())
        if pieces not in self._starters:
            starters = replace(setting, plan=rest)
            self._starters[pieces] = [starters_bound(starters, market) for market in self.space.markets]
        fields = zip(self.whatever_starts(runs), self._starters[pieces], strict=True)
        return [each.planned + starters for each, starters in fields]
