"""Stored water: which tanks are worth asking for, and what tanks that hold so much cost at the least."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import TypeVar

import numpy as np

from optimizer.candidates.rows import allowed_rows
from optimizer.candidates.terms import Setting
from optimizer.costs.market import Market, Offer, rows_with_price
from optimizer.costs.seller_bounds import GRAIN, HAIR
from optimizer.rules import water
from optimizer.rules.comparisons import whole_up
from optimizer.vocabulary.tolerance import just_below

Kept = TypeVar("Kept")


def _kept(kind: str, base: Setting, market: Market, make: Callable[[], Kept]) -> Kept:
    """What is made of a market's tanks, once for all plans and searches that ask the same of them."""
    listed = base.keeps("listed") and base.job.allow.listed_only
    key = (kind, listed, base.terms.must.get("tank"), base.plan.tanks_l, most_tanks(base))
    if key not in market.tanks:
        market.tanks[key] = make()
    found: Kept = market.tanks[key]
    return found


def tank_rows(base: Setting, market: Market) -> tuple[list[str], np.ndarray, np.ndarray]:
    """The tanks that may be had: part ids, the L that can be drawn from each, and their rows in the table."""

    def make() -> tuple[list[str], np.ndarray, np.ndarray]:
        table = market.catalog.tanks
        rows = rows_with_price(allowed_rows(table, base), market)
        litres = water.usable_volume(rows["volume_l"], rows["usable_pct"])
        return [str(part) for part in table.part[rows.index]], litres, rows.index

    return _kept("rows", base, market, make)


def tanks_worth_asking(base: Setting, market: Market) -> list[tuple[str, float]]:
    """The tanks that a cheapest bundle of a plan may have, with the L that can be drawn from each.

    Where none is asked for, those alone that could make up an order. Else left out is a tank that others stand in for
    at each of its sellers: one or, where there is room, more of another, which hold as much of what is asked, for
    less, weigh no more where that is charged for, and which that seller has at any time and in any number. The seller
    is paid its freight anyway, so the bundle would cost less with them; unless the seller's order might be worth
    making up.
    """
    return _kept("worth asking", base, market, lambda: _worth_asking(base, market))


def _worth_asking(base: Setting, market: Market) -> list[tuple[str, float]]:
    parts, litres, _ = tank_rows(base, market)
    must = base.terms.must.get("tank", ("", None))[0]
    asked_for = base.plan.tanks_l > 0 or must
    enough = base.plan.tanks_l if base.plan.tanks_l > 0 else np.inf
    holds = {part: min(float(each), enough) for part, each in zip(parts, litres, strict=True)}
    room = np.isinf(most_tanks(base))
    ready: dict[str, list[tuple[float, int, Fraction]]] = {}

    def charged_kg(offer: Offer) -> Fraction:
        kg = market.catalog.weight_kg(offer.part) if market.seller(offer.seller).freight_per_kg else None
        return kg or Fraction(0)

    for part, held in holds.items():
        for offer in market.offers_of(part):
            if offer.least == 1 and offer.pack == 1 and offer.stock < 0 and offer.seller not in market.thresholds:
                ready.setdefault(offer.seller, []).append((held, offer.cents, charged_kg(offer)))

    def stood_in_for(offer: Offer, held: float) -> bool:
        for each, cents, kg in ready.get(offer.seller, ()):
            pieces = int(whole_up(held / each))
            less = cents * pieces < offer.cents and kg * pieces <= charged_kg(offer)
            if less and (pieces == 1 or room):
                return True
        return False

    def replaced(part: str) -> bool:
        if not asked_for:
            return not market.makes_up(part)
        held, offers = holds[part], market.offers_of(part)
        if part == must or market.on_hand(part) or not offers:
            return False
        return all(stood_in_for(offer, held) for offer in offers)

    return [(part, float(each)) for part, each in zip(parts, litres, strict=True) if not replaced(part)]


def tanks_worth_asking_in(base: Setting, markets: Sequence[Market]) -> list[tuple[str, float]]:
    """The same where a bundle is to be bought in each of several markets. What stands in for a tank in one of them may
    be dear in another, so all that can be had in each are left where any is asked for."""
    had = [tank_rows(base, market) for market in markets]
    everywhere = set.intersection(*(set(parts) for parts, _, _ in had))
    asked_for = base.plan.tanks_l > 0 or "tank" in base.terms.must
    parts, litres, _ = had[0]
    return [
        (part, float(each))
        for part, each in zip(parts, litres, strict=True)
        if part in everywhere and (asked_for or any(market.makes_up(part) for market in markets))
    ]


def most_tanks(base: Setting) -> float:
    """The most tanks that the job has room for; none where it states no number, whatever limit is left out."""
    most = base.job.water.max_tanks
    if most is None:
        return 0.0
    return float(most) if base.keeps("space") else np.inf


def can_hold(base: Setting, market: Market, tanks_l: float) -> bool:
    """Whether the tanks that may be had hold so much, the largest first."""
    _, litres, index = tank_rows(base, market)
    left, room = just_below(tanks_l), most_tanks(base)
    most = market.ladders["tank"].most[index]
    for place in np.argsort(-litres):
        pieces = min(room, most[place], float(whole_up(left / litres[place])))
        left, room = left - pieces * litres[place], room - pieces
        if left <= 0:
            return True
    return False


# what a plan costs ------------------------------------------------------------------------------------------------


def plan_bound(setting: Setting, market: Market) -> np.ndarray:
    """Cents by set of sellers of a plan's parts at the least, (sets,): each starter by itself, and tanks at the lowest
    price that a piece has from the set, whole tanks only. With tanks on hand their litres are free."""
    total = starters_bound(setting, market)
    if setting.plan.tanks_l > 0 or "tank" in setting.terms.must:
        total = total + _kept("bound", setting, market, lambda: _tanks_by_set(setting, market))
    return total


def starters_bound(setting: Setting, market: Market) -> np.ndarray:
    """The part of :func:`plan_bound` of the starters."""
    total = np.zeros(1 << market.groups)
    for part, pieces in setting.plan.pieces(setting.job).items():
        row = market.catalog.starters.index_of(part)
        total = total + market.by_set("starter", np.array([row]), float(pieces))[0]
    return total


def _tanks_by_set(setting: Setting, market: Market) -> np.ndarray:
    """Cents by set of sellers of a plan's tanks at the least, (sets,)."""
    parts, litres, index = tank_rows(setting, market)
    ladder = market.ladders["tank"]
    left = just_below(setting.plan.tanks_l) - float((ladder.on_hand[index] * litres).sum())
    asked = must_buy(setting, market, parts)
    if left <= 0 and not asked.any():
        return np.zeros(1 << market.groups)
    most = pieces_at_most(litres, left, most_tanks(setting), asked)[:, None, None]
    cents = a_piece(ladder.cents[index], ladder.least[index], most)
    apart = cents.min(axis=2, initial=np.inf)  # a piece, by seller group
    each = market.spread(apart, replace(ladder, on_hand=np.zeros_like(ladder.on_hand)), index, 1.0)
    room = most_tanks(setting)
    return np.array([with_asked(cents, litres, left, room, asked) for cents in each.T])


def pieces_at_most(litres: np.ndarray, left_l: float, room: float, asked: np.ndarray) -> np.ndarray:
    """The most pieces of each tank that count towards ``left_l``: more of them hold nothing that is asked."""
    enough = np.maximum(np.ceil(max(left_l, 0.0) / litres), 1.0)
    most: np.ndarray = np.maximum(np.minimum(enough, max(room, 1.0)), asked)
    return most


def a_piece(cents: np.ndarray, least: np.ndarray, most: np.ndarray) -> np.ndarray:
    """Cents at the least of each piece that counts, of offers at ``cents`` a piece from ``least`` pieces up, where at
    most ``most`` count.

    A bound: n ≥ least pieces of an offer cost n · cents, and no more than i = min(n, most) of them count. Where n ≤
    most that is i · cents or more, else at least max(n, least) · cents ≥ i · cents · max(1, least / most); and what
    several offers bring of one tank counts no more than their pieces together.
    """
    with np.errstate(invalid="ignore"):
        more = np.floor(cents * least / most * (1 - HAIR) * GRAIN) / GRAIN
    dear: np.ndarray = np.where(least > most, more, cents)
    return dear


def must_buy(setting: Setting, market: Market, parts: Sequence[str]) -> np.ndarray:
    """How many of each tank are bought at the least since they are asked for; none where there are some on hand."""
    must, pieces = setting.terms.must.get("tank", ("", None))
    asked = [float(pieces or 1) if part == must and not market.on_hand(part) else 0.0 for part in parts]
    return np.array(asked)


def with_asked(cents: np.ndarray, litres: np.ndarray, need_l: float, room: float, asked: np.ndarray) -> float:
    """:func:`cover` where so many of each are there in any case: those are paid, and others hold the rest."""
    paid = float(cents[asked > 0] @ asked[asked > 0])
    return paid + cover(cents, litres, need_l - float(asked @ litres), room - float(asked.sum()))


@dataclass
class TankBound:
    """What whole tanks that hold ``left_l`` together cost at the least, by the sellers that they come from.

    ``cents``: of one of each tank, by seller; ``litres``: what can be drawn from each; ``room``: pieces at the most;
    ``asked``: how many of each there are in any case.
    """

    cents: Mapping[str, np.ndarray]
    litres: np.ndarray
    left_l: float
    room: float
    asked: np.ndarray
    known: dict[frozenset[str], float] = field(default_factory=dict)

    @classmethod
    def of(cls, setting: Setting, market: Market) -> TankBound | None:
        """That of a plan; None where none need be bought."""
        return _kept("each", setting, market, lambda: cls._of(setting, market))

    @classmethod
    def _of(cls, setting: Setting, market: Market) -> TankBound | None:
        parts, litres, index = tank_rows(setting, market)
        left = just_below(setting.plan.tanks_l) - float((market.ladders["tank"].on_hand[index] * litres).sum())
        asked = must_buy(setting, market, parts)
        if (setting.plan.tanks_l <= 0 or left <= 0) and not asked.any():
            return None
        most = pieces_at_most(litres, left, most_tanks(setting), asked)
        cents: dict[str, np.ndarray] = {}
        for place, part in enumerate(parts):
            for offer in market.offers_of(part):
                prices = cents.setdefault(offer.seller, np.full(len(parts), np.inf))
                each = a_piece(market.each[offer.row], np.array(offer.least), most[place])
                prices[place] = min(prices[place], float(each))
        return cls(cents, litres, left, most_tanks(setting), asked)

    def __call__(self, sellers: Iterable[str]) -> float:
        """Cents at the least from these sellers, freight left out."""
        key = frozenset(seller for seller in sellers if seller in self.cents)
        if key not in self.known:
            prices = np.stack([np.full(len(self.litres), np.inf), *(self.cents[seller] for seller in key)])
            self.known[key] = with_asked(prices.min(axis=0), self.litres, self.left_l, self.room, self.asked)
        return self.known[key]


def cover(cents: np.ndarray, litres: np.ndarray, need_l: float, room: float = np.inf) -> float:
    """The least cents of whole tanks that hold so much together, at most ``room`` of them; infinite where none do.
    ``cents`` and ``litres`` of one tank of each kind.

    Exact: of tanks that hold no more and cost no less than another none is needed; the rest are tried out depth first,
    the cheapest litre first, and left where even the cheapest litre could not bring them below what is known, or the
    largest tanks could not hold the rest.
    """
    if need_l <= 0:
        return 0.0
    order = np.lexsort((-litres, cents))
    kept: list[tuple[float, float]] = []
    for place in order:
        if np.isfinite(cents[place]) and (not kept or litres[place] > kept[-1][1]):
            kept.append((float(cents[place]), float(litres[place])))
    most = kept[-1][1] if kept else 0.0
    kept.sort(key=lambda tank: (tank[0] / tank[1], -tank[1]))
    alike = ((-(-need_l // held), price) for price, held in kept)  # so many of one kind
    best = min((pieces * price for pieces, price in alike if pieces <= room), default=np.inf)

    def fill(first: int, left: float, spent: float, pieces: float) -> None:
        nonlocal best
        if left <= 0:
            best = min(best, spent)
            return
        if left > pieces * most:
            return
        for place in range(first, len(kept)):
            price, held = kept[place]
            if spent + left * price / held >= best:
                return  # every later tank's litre costs as much or more
            fill(place, left - held, spent + price, pieces - 1)

    fill(0, need_l, 0.0, room)
    return best
