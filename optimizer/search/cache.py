"""What several searches over one catalogue share: tables of bounds, solved small models, and what was already proven.

An explanation solves again and again with a limit left out or moved. A choice that such a change does not touch was
covered by the proof before it, and need not be gone through again.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from math import inf
from typing import Any

from catalog.reader import Catalog
from optimizer.candidates.terms import Setting
from optimizer.costs.market import Market
from optimizer.costs.order_bounds import FreightChoice
from optimizer.milp import model
from optimizer.milp.solver import Solution, least
from optimizer.milp.subproblem import Subproblem
from optimizer.search.lower_bounds import Field, Shared


@dataclass
class SearchCache:
    """What searches of any settings share. ``solved``: the cheapest solutions of small models, by node and market."""

    markets: dict[Any, Market] = field(default_factory=dict)
    tables: dict[Any, Shared] = field(default_factory=dict)
    solved: dict[tuple[Subproblem, FreightChoice, int], Solution | None] = field(default_factory=dict)

    def market(self, catalog: Catalog, setting: Setting) -> Market:
        """The market of a setting, that of those before it where they are alike."""
        key = market_key(catalog, setting)
        if key not in self.markets:
            self.markets[key] = Market.of(catalog, setting)
        return self.markets[key]

    def field(self, catalog: Catalog, setting: Setting) -> Field:
        """The field of a setting, with the market and the tables of bounds of those before it where they are alike."""
        found = Field.of(catalog, setting, self.market(catalog, setting))
        place = (
            market_key(catalog, setting), setting.job.space.row_max, setting.job.site.array_factor,
            found.panels.index.tobytes(), found.racks.index.tobytes(),
        )  # fmt: skip
        found.shared = self.tables.setdefault(place, found.shared)
        return found

    def cheapest(
        self, node: Subproblem, market: Market, solver: str,
        freight_choices: Iterable[tuple[float, FreightChoice]], ceiling: float = inf,
    ) -> tuple[Solution, FreightChoice] | None:  # fmt: skip
        """The cheapest solution of a node, and the stance of all that cost no more, () where they are several; None
        where it has none. Of a node that costs more than ``ceiling`` cents either may come, and any solution.

        ``freight_choices``: every way in which an order can stand to some sellers, with cents at the least, ascending.
        A model of one of them alone is solved many times as quickly as that of all.
        """
        best: Solution | None = None
        of_all: FreightChoice = ()
        most = ceiling
        for floor, freight_choice in freight_choices:
            if floor > most:
                break
            key = (node, freight_choice, id(market))
            if key not in self.solved:
                built = model.build(node, market, freight_choice)
                self.solved[key] = least(built, built.cost, solver)
            found = self.solved[key]
            if found is None:
                continue
            if best is None or found.value < best.value:
                best, of_all, most = found, freight_choice, min(ceiling, found.value)
            elif found.value == best.value:
                of_all = ()
        return None if best is None else (best, of_all)


def market_key(catalog: Catalog, setting: Setting) -> Any:
    """What a market depends on."""
    job, terms = setting.job, setting.terms
    sellers, barred = (job.allow.sellers, job.allow.exclude) if setting.keeps("allowed") else (None, ())
    return (
        id(catalog), sellers, tuple(barred), terms.never, terms.most_sellers, setting.keeps("stock"),
        setting.slack("stock"), tuple(sorted(job.on_hand.items())),
    )  # fmt: skip
