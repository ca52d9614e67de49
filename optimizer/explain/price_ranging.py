"""At what prices the pick changes: where each part leaves it, where another comes in, and how far all may move.

A part's price means that of every offer of it alike: it leaves where none of them asks less, it comes in where none of
them asks more. So a price is one figure, whoever sells. Each is solved for at that cent and at the cent before.

Where a seller's freight is free from some order on, or it sells from some order on only, a dearer part can make an
order cheaper, or possible at all. Then there can be several such prices: a part leaves at the first above its own, and
comes in at one where it does not a cent above.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import floor, inf

import numpy as np

from catalog.reader import Catalog
from optimizer.bundles.bundle import Bundle
from optimizer.bundles.needs import pieces_needed
from optimizer.bundles.order import Line, Order, Purchase
from optimizer.explain.resolve import Resolver, Scenario, cents_of, first_where
from optimizer.rules import landed_cost
from optimizer.search.cheapest_order import price_order

PERCENT = 100
LOWEST, HIGHEST = -50, 50  # whole percents looked at: from half the prices to half as much again


@dataclass(frozen=True)
class Leaving:
    """The price in cents of a bought part from which it is in no cheapest bundle; None: nothing could take its place.
    ``now`` is what most of its pieces cost; ``instead`` the cheapest bundle without it."""

    part: str
    now: int
    turns: int | None
    instead: Bundle | None


@dataclass(frozen=True)
class Entering:
    """The price in cents at and below which a part that is not picked is in every cheapest bundle; None: at none.
    ``now`` is what most of its pieces cost each in ``bundle``, the cheapest with it now; None: they are on hand."""

    kind: str
    part: str
    now: int | None
    turns: int | None
    bundle: Bundle


@dataclass(frozen=True)
class General:
    """The whole percents by which all prices of a seller or of a kind must fall or rise until something is cheaper
    than the pick at the same prices, with what is then; None: it holds as far as was looked."""

    whose: str
    fall: int | None
    rise: int | None
    then: tuple[Bundle | None, Bundle | None]


def with_prices(catalog: Catalog, change: Callable[[np.ndarray], np.ndarray], rows: np.ndarray) -> Catalog:
    """The catalogue with the cents of some offers changed."""
    cents = catalog.offers.cents.copy()
    cents[rows] = change(cents[rows])
    return replace(catalog, offers=replace(catalog.offers, cents=cents))


def offers_of(catalog: Catalog, part: str) -> np.ndarray:
    """The rows of a part's offers."""
    return np.flatnonzero(catalog.offers.part == part)


def at_least(scenario: Scenario, part: str, cents: int) -> Scenario:
    """The case where no offer of a part asks less."""
    rows = offers_of(scenario.catalog, part)
    return replace(scenario, catalog=with_prices(scenario.catalog, lambda now: np.maximum(now, cents), rows))


def at_most(scenario: Scenario, part: str, cents: int) -> Scenario:
    """The case where no offer of a part asks more."""
    rows = offers_of(scenario.catalog, part)
    return replace(scenario, catalog=with_prices(scenario.catalog, lambda now: np.minimum(now, cents), rows))


def bought(bundle: Bundle) -> list[Purchase]:
    """What a bundle buys, after what is on hand."""
    return [purchase for purchase in (bundle.order.purchases if bundle.order else ()) if purchase.lines]


def _purchase(bundle: Bundle, part: str) -> Purchase:
    return next(purchase for purchase in bought(bundle) if purchase.part == part)


# parts ------------------------------------------------------------------------------------------------------------


def without(resolver: Resolver, part: str) -> Bundle | None:
    """The cheapest bundle without a part."""
    resolver.step(f"without {part}")
    return resolver.first(resolver.base.without_part(part)).bundle


def leaving(resolver: Resolver, picked: Bundle, part: str, instead: Bundle | None) -> Leaving:
    """From which price on a part that is bought leaves the pick; ``instead`` as :func:`without` gives it."""
    scenario, purchase = resolver.base, _purchase(picked, part)
    now = _each_now(purchase.lines)
    if instead is None:
        return Leaving(part, now, None, None)
    resolver.step(f"the price from which {part} leaves")
    ceiling = cents_of(instead)
    kind = scenario.catalog.kind_of(part)
    assert kind is not None  # it is bought
    with_it = scenario.with_part(kind, part)
    bundle, price = picked, min(line.unit_cents for line in purchase.lines) - 1
    while True:
        lines = next((p.lines for p in bought(bundle) if p.part == part), ())
        if not lines:  # the pieces on hand do: no price drives them out
            return Leaving(part, now, None, instead)
        # the order as it stands costs no more than the other bundle up to here, so the part stays up to here
        price = max(price, _most_each(lines, _for_goods(scenario, lines, ceiling - cents_of(bundle))))
        found = resolver.cheapest(at_least(with_it, part, price + 1), ceiling).bundle
        if found is None:
            return Leaving(part, now, price + 1, instead)
        bundle, price = found, price + 1


def _each_now(lines: Sequence[Line]) -> int:
    """What most of the pieces of an order's lines cost each, in cents."""
    return max(lines, key=lambda line: (line.quantity, -line.unit_cents)).unit_cents


def _for_goods(scenario: Scenario, lines: Sequence[Line], spare: int) -> int:
    """By how many cents in all the prices of lines may rise so that an order rises by ``spare`` at most: tax rises with
    them, by up to a cent more a seller for rounding; freight never does."""
    sellers = [scenario.catalog.seller(name) for name in {line.seller for line in lines}]
    rounding = sum(bool(seller.tax_pct) for seller in sellers)
    share = max((landed_cost.tax_share(seller) for seller in sellers), default=0)
    return max(0, floor((spare - rounding) / (1 + share)))


def _order_at(scenario: Scenario, bundle: Bundle, part: str, cents: int) -> Order | None:
    """What a bundle buys where no line of a part costs more; None where a seller does not take the order then."""
    assert bundle.order is not None
    purchases = tuple(
        replace(p, lines=tuple(replace(line, unit_cents=min(line.unit_cents, cents)) for line in p.lines))
        if p.part == part else p
        for p in bundle.order.purchases
    )  # fmt: skip
    order = Order.of(purchases, scenario.catalog.seller, scenario.catalog.weight_kg)
    taken = all(order.goods_of(name) >= scenario.catalog.seller(name).min_order for name, _ in order.freight)
    return order if taken else None


def _most_each(lines: Sequence[Line], spare: int) -> int:
    """The highest price that every cheaper line may be raised to for ``spare`` cents in all."""
    ranked = sorted(lines, key=lambda line: line.unit_cents)
    pieces = worth = 0
    price = ranked[0].unit_cents
    for line in ranked:
        if pieces and price <= line.unit_cents:
            break
        pieces += line.quantity
        worth += line.quantity * line.unit_cents
        price = (spare + worth) // pieces
    return price


def entering(resolver: Resolver, picked: Bundle, kind: str, part: str, instead: Bundle) -> Entering:
    """At which price a part that is not picked comes in; ``instead``: the cheapest bundle with it."""
    resolver.step(f"the price at which {part} comes in")
    scenario = resolver.base.with_part(kind, part)
    target = cents_of(picked) - 1
    lines = next((p.lines for p in bought(instead) if p.part == part), ())
    now = _each_now(lines) if lines else None
    price = 0
    if lines:
        dearest = max(line.unit_cents for line in lines)

        def too_dear(cents: int) -> bool:
            order = _order_at(scenario, instead, part, cents)
            return order is None or order.cents > target

        price = first_where(0, dearest, too_dear) - 1
    while True:
        found = resolver.cheapest(at_most(scenario, part, price + 1), target).bundle
        if found is None:
            return Entering(kind, part, now, price or None, instead)
        lines = next((p.lines for p in bought(found) if p.part == part), ())
        pieces = sum(line.quantity for line in lines)
        # a cent more on each piece, and the tax on it, is the most that a cent more can cost
        price += 1 + (_for_goods(scenario, lines, target - cents_of(found)) // pieces if pieces else 0)


# all prices of a seller or a kind ---------------------------------------------------------------------------------


def general(resolver: Resolver, picked: Bundle, whose: str, rows: np.ndarray) -> General:
    """How far the prices in ``rows`` may all move together; whole percents, each price rounded half up to the cent."""
    resolver.step(f"a general rise or fall of {whose}")
    fall, lower = _first_change(resolver, picked, rows, LOWEST)
    rise, higher = _first_change(resolver, picked, rows, HIGHEST)
    return General(whose, fall, rise, (lower, higher))


def moved(scenario: Scenario, rows: np.ndarray, percent: int) -> Scenario:
    """The case where the prices in ``rows`` are moved by whole percents, rounded half up, never below a cent."""

    def change(cents: np.ndarray) -> np.ndarray:
        scaled: np.ndarray = np.maximum((cents * (PERCENT + percent) * 2 + PERCENT) // (2 * PERCENT), 1)
        return scaled

    return replace(scenario, catalog=with_prices(scenario.catalog, change, rows))


def _first_change(resolver: Resolver, picked: Bundle, rows: np.ndarray, end: int) -> tuple[int | None, Bundle | None]:
    """The least move towards ``end`` at which something is cheaper than the pick, and what."""
    needs = pieces_needed(picked, resolver.base.job, resolver.base.catalog)

    def cheaper(percent: int) -> Bundle | None:
        scenario = moved(resolver.base, rows, percent)
        order = price_order(needs, resolver.market(scenario), resolver.solver)
        # it can be bought today; at lower prices it may come to less than a seller's least order
        return resolver.cheapest(scenario, inf if order is None else order.cents - 1).bundle

    sign = 1 if end > 0 else -1
    far, near = abs(end), 0
    found = cheaper(end)
    if found is None:
        return None, None
    while far - near > 1:
        guess = min(max(_crossing(resolver.base, picked, found, rows, sign, far), near + 1), far - 1)
        other = cheaper(sign * guess)
        if other is None:
            near = guess
            if near + 1 < far and (other := cheaper(sign * (near + 1))) is not None:
                far, found = near + 1, other
            elif near + 1 < far:
                near += 1
        else:
            far, found = guess, other
    final = resolver.first(moved(resolver.base, rows, sign * far), cents_of(found)).bundle
    return sign * far, final


def _crossing(scenario: Scenario, picked: Bundle, other: Bundle, rows: np.ndarray, sign: int, far: int) -> int:
    """Where the orders as they stand would cost the same: a first guess, tried out by solving."""
    key = {(str(scenario.catalog.offers.part[row]), str(scenario.catalog.offers.seller[row])) for row in rows}

    def worth(bundle: Bundle, factor: float) -> tuple[float, float]:
        inside = sum(
            line.cents for p in bought(bundle) for line in p.lines if (p.part, line.seller) in key
        ) / factor  # fmt: skip
        return inside, cents_of(bundle) - inside * factor

    here, fixed = worth(picked, 1.0)
    there, rest = worth(other, 1 + sign * far / PERCENT)
    slope = (here - there) / PERCENT * sign
    gap = there + rest - here - fixed
    return int(gap / slope) + 1 if slope > 0 else far // 2
