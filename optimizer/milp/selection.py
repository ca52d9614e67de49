"""What a solution settles of a subproblem, in its own terms: layouts on trackers, tanks, and whom to buy from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from optimizer.bundles.order import Line, Order, Purchase
from optimizer.costs.cheapest_lines import cheapest_lines
from optimizer.costs.market import Market, Offer
from optimizer.milp.subproblem import PartNeed, PlacedLayout, Subproblem
from optimizer.rules.comparisons import whole_up


@dataclass(frozen=True)
class Selection:
    """``counts``: on how many trackers each layout is; ``tanks``: pieces of each tank that is had; ``sellers``: those
    that are bought from; ``packs``: of each offer, None where what is bought of one part does not touch what another
    costs, so that each is bought for itself."""

    subproblem: Subproblem
    counts: tuple[int, ...]
    tanks: Mapping[str, int]
    sellers: frozenset[str] = frozenset()
    packs: Mapping[Offer, int] | None = None

    @property
    def layouts(self) -> tuple[tuple[PlacedLayout, int], ...]:
        """The layouts in use and on how many trackers each."""
        pairs = zip(self.subproblem.placed, self.counts, strict=True)
        return tuple((placed, count) for placed, count in pairs if count)

    def needed(self, asked: PartNeed) -> int:
        """Whole pieces of one part."""
        more = sum(count * each for count, each in zip(self.counts, asked.per_layout, strict=False))
        fused = any(placed.layout.fused for placed, _ in self.layouts)
        tanks = self.tanks.get(asked.part, 0) if asked.litres_each > 0 else 0
        return int(whole_up(asked.pieces + more + (asked.if_fused if fused else 0.0))) + tanks

    def order(self, market: Market) -> Order:
        """What is bought: the cheapest from the sellers, and of equal ways always the same.

        Where freight is all that sellers add, it is settled with the sellers, and each part is bought for itself.
        Else the packs are it.
        """
        purchases = []
        for asked in self.subproblem.asked:
            needed = self.needed(asked)
            if needed:
                on_hand = min(needed, market.on_hand(asked.part))
                purchases.append(
                    Purchase(asked.part, needed, on_hand, self._lines(asked.part, needed - on_hand, market))
                )
        return Order.of(tuple(purchases), market.seller, market.catalog.weight_kg)

    def _lines(self, part: str, short: int, market: Market) -> tuple[Line, ...]:
        offers = market.offers_of(part)
        if self.packs is None:
            return cheapest_lines([offer for offer in offers if offer.seller in self.sellers], short)
        pieces = ((offer, offer.pack * self.packs.get(offer, 0)) for offer in offers)
        return tuple(Line(offer.seller, count, offer.cents) for offer, count in pieces if count)
