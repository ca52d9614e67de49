"""What several searches over one catalogue share: markets, tables of bounds, and solved subproblems."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, field
from math import inf

from catalog.reader import Catalog
from optimizer.candidates.terms import Setting
from optimizer.costs.market import Market
from optimizer.costs.order_bounds import FreightChoice
from optimizer.costs.part_costs import PartCosts
from optimizer.milp import model
from optimizer.milp.solver import Solution, least
from optimizer.milp.subproblem import Subproblem
from optimizer.search.eligible import Eligible
from optimizer.search.lower_bounds import Field
from optimizer.search.side_bounds import Shared


@dataclass
class SearchCache:
    """What searches of any settings share. ``solved``: cheapest solutions, by subproblem, freight choice and market;
    ``costs``: by market."""

    markets: dict[Hashable, Market] = field(default_factory=dict)
    tables: dict[Hashable, Shared] = field(default_factory=dict)
    eligible: Eligible = field(default_factory=Eligible)
    solved: dict[tuple[Subproblem, FreightChoice, int], Solution | None] = field(default_factory=dict)
    costs: dict[int, PartCosts] = field(default_factory=dict)

    def market(self, catalog: Catalog, setting: Setting) -> Market:
        """The market of a setting, that of those before it where they are alike."""
        key = market_key(catalog, setting)
        if key not in self.markets:
            self.markets[key] = Market.of(catalog, setting)
        return self.markets[key]

    def field(self, catalog: Catalog, setting: Setting) -> Field:
        """The field of a setting, with the market and the tables of bounds of those before it where they are alike."""
        found = Field.of(catalog, setting, self.market(catalog, setting), self.eligible)
        place = (
            market_key(catalog, setting), setting.job.space.row_max, setting.job.site.array_factor,
            found.panels.index.tobytes(), found.racks.index.tobytes(),
        )  # fmt: skip
        found.shared = self.tables.setdefault(place, found.shared)
        return found

    def part_costs(self, market: Market) -> PartCosts:
        """What pieces of one part cost on a market."""
        return self.costs.setdefault(id(market), PartCosts(market))

    def cheapest(
        self, subproblem: Subproblem, market: Market, solver: str,
        freight_choices: Iterable[tuple[float, FreightChoice]], cutoff: float = inf,
        left: Callable[[], float | None] = lambda: None,
    ) -> tuple[Solution, FreightChoice] | None:  # fmt: skip
        """The cheapest solution of a subproblem, and the freight choice of all that cost no more, () where they are
        several; None where it has none. Of one that costs more than ``cutoff`` cents either may come, and any solution.

        ``freight_choices``: every way in which an order can stand to some sellers, with its lower bound in cents,
        ascending. A model of one of them alone is solved many times as quickly as that of all. ``left``: the seconds
        that are left. Raises :class:`optimizer.vocabulary.faults.OutOfTimeError`.
        """
        best: Solution | None = None
        of_all: FreightChoice = ()
        most = cutoff
        for bound, freight_choice in freight_choices:
            if bound > most:
                break
            key = (subproblem, freight_choice, id(market))
            if key not in self.solved:
                built = model.build(subproblem, market, freight_choice)
                self.solved[key] = least(built, built.cost, solver, left())
            found = self.solved[key]
            if found is None:
                continue
            if best is None or found.value < best.value:
                best, of_all, most = found, freight_choice, min(cutoff, found.value)
            elif found.value == best.value:
                of_all = ()
        return None if best is None else (best, of_all)


def market_key(catalog: Catalog, setting: Setting) -> Hashable:
    """What a market depends on."""
    job, terms = setting.job, setting.terms
    sellers, barred = (job.allow.sellers, job.allow.exclude) if setting.keeps("allowed") else (None, ())
    return (
        id(catalog), sellers, tuple(barred), terms.never, terms.most_sellers, setting.keeps("stock"),
        setting.slack("stock"), tuple(sorted(job.on_hand.items())),
    )  # fmt: skip
