"""The search space: what may be combined in a setting, plan by plan, at one price list or at several."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from catalog.reader import Catalog
from optimizer.candidates.converters import Converters
from optimizer.candidates.plan import Plan
from optimizer.candidates.terms import Setting
from optimizer.costs.market import Market
from optimizer.search.cache import SearchCache
from optimizer.search.lower_bounds import Field

Entry = tuple[int, int]  # row and units of a converter


@dataclass
class SearchSpace:
    """What a search goes through: its plans, and the fields of each, made when they are asked for.

    ``catalogs``: of the same parts, each with the prices of one list. ``setting``: where there are several, of a bundle
    that can be bought at each, so without the parts that some list has not.
    """

    catalogs: Sequence[Catalog]
    setting: Setting
    cache: SearchCache = field(default_factory=SearchCache)
    _fields: dict[Plan, tuple[Field, ...]] = field(default_factory=dict)

    @cached_property
    def markets(self) -> tuple[Market, ...]:
        """The market of each list."""
        return tuple(self.cache.market(catalog, self.setting) for catalog in self.catalogs)

    @cached_property
    def _plans(self) -> tuple[tuple[Plan, ...], tuple[Plan, ...]]:
        return self.cache.eligible.plans(self.setting, self.catalogs[0], self.markets)

    @property
    def plans(self) -> tuple[Plan, ...]:
        """Every plan that may be part of a bundle."""
        return self._plans[0]

    @property
    def worth_opening(self) -> tuple[Plan, ...]:
        """Those of the plans that may be part of a cheapest bundle."""
        return self._plans[1]

    @property
    def budget(self) -> int | None:
        """The most cents that a bundle may cost at any list; None where no budget is kept."""
        return self.setting.job.need.budget_cents if self.setting.keeps("budget") else None

    def fields(self, plan: Plan) -> tuple[Field, ...]:
        """The fields of a plan, one for each list, kept."""
        if plan not in self._fields:
            self._fields[plan] = self.fields_in(self.setting, plan)
        return self._fields[plan]

    def fields_in(self, setting: Setting, plan: Plan) -> tuple[Field, ...]:
        """The same in another setting: the rows are the same at each list, and only what all lists have in stock."""
        each = [
            self.cache.field(catalog, self.cache.eligible.planned(setting, catalog, plan)) for catalog in self.catalogs
        ]
        if len(each) == 1:
            return tuple(each)
        common = set.intersection(*(set(_entries(found.converters)) for found in each))
        found = each[0].converters
        kept = np.array([entry in common for entry in _entries(found)], dtype=bool)
        return tuple(replace(one, converters=found.take(np.flatnonzero(kept)), _bank={}) for one in each)


def _entries(found: Converters) -> list[Entry]:
    return list(zip(found.row.tolist(), found.units.tolist(), strict=True))
