"""The cheapest order for pieces that are given, and the parts that cannot be had."""

from __future__ import annotations

from collections.abc import Mapping

from optimizer.bundles.order import Order, Purchase
from optimizer.costs.market import Market
from optimizer.costs.order_bounds import OrderBound
from optimizer.milp import model
from optimizer.milp.enumeration import first_of
from optimizer.milp.solver import in_order
from optimizer.milp.subproblem import PartNeed, Subproblem
from optimizer.search.cache import SearchCache


def price_order(needs: Mapping[str, int], market: Market, solver: str = "highs") -> Order | None:
    """The cheapest way to buy what is needed, after what is on hand; None where something cannot be had.

    ``needs``: pieces by part. Of equal totals the first by fewer sellers, then their names, then the offers.
    Raises :class:`optimizer.vocabulary.faults.SolverError` where the solver breaks its word.
    """
    wanted = {part: pieces for part, pieces in needs.items() if pieces > market.on_hand(part)}
    if not all(market.offers_of(part) for part in wanted):
        return None
    bought = Order((), ())
    if wanted:
        subproblem = Subproblem(tuple(PartNeed(part, float(pieces)) for part, pieces in wanted.items()))
        cache = SearchCache()
        found = cache.cheapest(
            subproblem, market, solver, OrderBound.of(list(wanted.items()), market).freight_choices()
        )
        if found is None:
            return None
        cheapest, freight_choice = found
        first = first_of(subproblem, cheapest.value, cache.part_costs(market))
        if first is None:
            built = model.build(subproblem, market, freight_choice)
            first = built.selection(in_order(built, cheapest.value, built.ties, solver, cheapest.values).values)
        bought = first.order(market)
    lines = {purchase.part: purchase for purchase in bought.purchases}
    return Order(
        tuple(lines.get(part) or Purchase(part, pieces, pieces, ()) for part, pieces in needs.items() if pieces),
        bought.freight,
        bought.tax,
    )


def out_of_reach(needs: Mapping[str, int], market: Market, solver: str = "highs") -> tuple[str, ...]:
    """The parts of which not enough can be had from the sellers that the job allows."""
    # only a seller's least order joins what can be had of the parts; without one each stands or falls alone
    if price_order(needs, market, solver) is not None:
        return ()
    alone = tuple(part for part, pieces in needs.items() if price_order({part: pieces}, market, solver) is None)
    return alone or tuple(part for part, pieces in needs.items() if pieces > market.on_hand(part))
