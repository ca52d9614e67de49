"""Landed money in the brute force: by hand, and against every purchase there is."""

from __future__ import annotations

import itertools
import random
from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from tests.brute.by_hand import (
    BASE,
    BATTERY,
    CONVERTER,
    JOB,
    OFFERS,
    PRICES,
    PUMP,
    a_starter,
    a_tank,
    in_memory,
    least,
    price,
    write_table,
    write_whole,
)
from tests.brute.force import cheapest, enumerate_nodes, nodes_of
from tests.brute.instances import write_instance
from tests.brute.landed import half_up, seller_total
from tests.brute.money import Market
from tests.brute.parts import Offer, Parts, Terms, read_parts
from tests.brute.reading import Job, read_job

KG = Fraction(1)


def cost(
    offers: Sequence[Offer],
    needed: int | Mapping[str, int],
    terms: Mapping[str, Terms],
    freight: Mapping[str, int] = {},
    weights: Mapping[str, Fraction] = {},
    **more: Any,
) -> tuple[int, tuple[str, ...]] | None:
    """The least cents and the sellers for so many pieces of p, or for these parts."""
    needs = {"p": needed} if isinstance(needed, int) else needed
    market = Market(offers, dict(freight), more.pop("on_hand", {}), terms=terms, weights=weights, **more)
    found = market.cost(tuple(needs.items()))
    bound = market.at_least(tuple(needs.items()))
    assert found is None or bound <= found[0]
    return found


# --- one seller's sum -----------------------------------------------------------------------------


def test_half_a_cent_is_rounded_up() -> None:
    assert [half_up(Fraction(text)) for text in ("0.5", "1.49", "1.5", "2.5", "2.4999", "0")] == [1, 1, 2, 3, 2, 0]


@pytest.mark.parametrize(
    ("goods", "kg", "terms", "total"),
    [
        # 5.00 and 0.35 a kg: 12.3 kg are 4.305, 9.305, so 9.31
        (10_000, "12.3", Terms(Fraction(35)), 10_931),
        (10_000, "12.2", Terms(Fraction(35)), 10_927),
        # then 7.25 % of 109.31: 7.924975
        (10_000, "12.3", Terms(Fraction(35), tax=Fraction("0.0725")), 10_931 + 792),
        # 5 % of 101.10 + 5.00 (106.10) are 5.305: 5.31; of 106.09: 5.3045, so 5.30
        (10_110, "0", Terms(tax=Fraction("0.05")), 10_110 + 500 + 531),
        (10_109, "0", Terms(tax=Fraction("0.05")), 10_109 + 500 + 530),
        # free from 100.00 on, the tax then on the goods alone
        (10_000, "99", Terms(Fraction(35), free_over=10_000), 10_000),
        (9_999, "2", Terms(Fraction(35), free_over=10_000), 9_999 + 570),
        (10_000, "99", Terms(Fraction(35), free_over=10_000, tax=Fraction("0.1")), 11_000),
        (0, "0", Terms(free_over=0), 0),
        # a least order
        (9_999, "0", Terms(min_order=10_000), None),
        (10_000, "0", Terms(min_order=10_000), 10_500),
    ],
)
def test_what_one_seller_asks(goods: int, kg: str, terms: Terms, total: int | None) -> None:
    assert seller_total(goods, Fraction(kg), 500, terms) == total


# --- a purchase -----------------------------------------------------------------------------------


def test_freight_by_weight_decides_between_sellers() -> None:
    """Five pieces of 3 kg: 10.00 and 0.50 a kg from a, 11.20 from b: 50 + 7.50 against 56, 57.50 with its freight."""
    offers = [Offer("p", "a", 1000, 1, 1, None), Offer("p", "b", 1120, 1, 1, None)]
    terms = {"a": Terms(Fraction(50))}
    assert cost(offers, 5, terms, weights={"p": 3 * KG}) == (5600, ("b",))
    assert cost(offers, 5, terms, {"b": 151}, {"p": 3 * KG}) == (5750, ("a",))
    assert cost(offers, 5, terms, {"b": 150}, {"p": 3 * KG}) == (5750, ("a",))  # of equal ones the first name
    # Packs of four: all eight pieces weigh.
    packs = [Offer("p", "a", 1000, 1, 4, None)]
    assert cost(packs, 5, terms, weights={"p": 3 * KG}) == (8000 + 8 * 150, ("a",))
    # Freight that does not grow by weight and freight that does add up once a seller: 0.333 kg · 5 · 0.50 = 0.8325
    assert cost(offers[:1], 5, terms, {"a": 200}, {"p": Fraction("0.333")}) == (5000 + 283, ("a",))


def test_what_has_no_weight_is_not_sold_by_weight() -> None:
    offers = [Offer("p", "a", 1000, 1, 1, None), Offer("p", "b", 3000, 1, 1, None)]
    by_weight = {"a": Terms(Fraction(1), free_over=1)}
    assert cost(offers, 2, by_weight) == (6000, ("b",))
    assert cost(offers, 2, by_weight, weights={"p": KG}) == (2000, ("a",))
    assert cost(offers[:1], 2, by_weight) is None
    assert cost(offers, 2, {"a": Terms(tax=Fraction("0.1"))}) == (2200, ("a",))


def test_more_is_bought_for_free_freight() -> None:
    """Eight at 10.00 and 30.00 of freight, or ten with none."""
    offers = [Offer("p", "a", 1000, 1, 1, None)]
    terms = {"a": Terms(free_over=10_000)}
    assert cost(offers, 8, terms, {"a": 3000}) == (10_000, ("a",))
    assert cost(offers, 8, terms, {"a": 2000}) == (10_000, ("a",))
    assert cost(offers, 8, terms, {"a": 1999}) == (9_999, ("a",))
    assert cost(offers, 8, {"a": Terms(free_over=10_001)}, {"a": 3000}) == (11_000, ("a",))
    assert cost([Offer("p", "a", 1000, 1, 1, 9)], 8, terms, {"a": 3000}) == (11_000, ("a",))
    # Another part that is needed fills it up for less: three at 7.00 more.
    both = [*offers, Offer("q", "a", 700, 1, 1, None)]
    assert cost(both, {"p": 8, "q": 1}, terms, {"a": 3000}) == (10_100, ("a",))  # 80 + 3 · 7
    assert cost(both, {"p": 8, "q": 0}, terms, {"a": 3000}) == (10_000, ("a",))
    assert cost(both, {"p": 8, "q": 1}, terms, {"a": 3000}, on_hand={"q": 1}) == (10_000, ("a",))
    # Nine of p and two of q are 104.00, eight and three 101.00: of q there are two.
    assert cost([*offers, Offer("q", "a", 700, 1, 1, 2)], {"p": 8, "q": 1}, terms, {"a": 3000}) == (10_400, ("a",))


def test_goods_move_to_the_seller_whose_freight_is_free_then() -> None:
    """A piece a pound dearer at b, but four of them there make its freight, 20.00, free."""
    offers = [Offer("p", "a", 1000, 1, 1, None), Offer("p", "b", 1100, 1, 1, None), Offer("q", "b", 5000, 1, 1, None)]
    needs = {"p": 6, "q": 1}
    terms = {"b": Terms(free_over=9_400)}
    # p from a and q from b: 60 + 50 + 20 = 130; four of p from b: 20 + 94 = 114; all from b: 66 + 50 = 116
    assert cost(offers, needs, terms, {"b": 2000}) == (11_400, ("a", "b"))
    assert cost(offers, needs, terms, {"a": 201, "b": 2000}) == (11_600, ("b",))
    assert cost(offers, needs, {"b": Terms(free_over=11_601)}, {"b": 2000}) == (12_700, ("b",))  # seven of p


def test_a_least_order() -> None:
    offers = [Offer("p", "a", 1000, 1, 1, None), Offer("p", "b", 1500, 1, 1, None)]
    terms = {"a": Terms(min_order=6_000)}
    assert cost(offers, 3, terms) == (4500, ("b",))
    assert cost(offers, 4, terms) == (6000, ("a",))  # six from a, or four from b: the first name
    assert cost(offers, 5, terms) == (6000, ("a",))
    assert cost(offers[:1], 1, terms) == (6000, ("a",))
    assert cost([Offer("p", "a", 1000, 1, 1, 5)], 1, terms) is None
    assert cost([Offer("p", "a", 1000, 1, 1, 6)], 1, terms) == (6000, ("a",))
    assert cost([Offer("p", "a", 1000, 1, 4, 7)], 1, terms) is None  # packs: four pieces and no more
    # With freight from there on and tax on both: 60 + 5, 8.875 % of 65 are 5.76875
    assert cost(offers[:1], 1, {"a": Terms(min_order=6_000, tax=Fraction("0.08875"))}, {"a": 500}) == (7077, ("a",))
    # A dearer row of the same seller may make up the order: three at 20.00, not six at 10.00, where there are five.
    rows = [Offer("p", "a", 2000, 1, 1, 5), Offer("p", "a", 1000, 2, 1, None)]
    assert cost(rows, 5, terms) == (6000, ("a",))  # one at 20.00 and four at 10.00


def test_tax_is_rounded_once_a_seller() -> None:
    """Two parts at 0.10 with 5 %: 0.5 cents each, one cent together; bought apart two."""
    offers = [Offer("p", "a", 10, 1, 1, None), Offer("q", "a", 10, 1, 1, None)]
    tax = {"a": Terms(tax=Fraction("0.05")), "b": Terms(tax=Fraction("0.05"))}
    assert cost(offers, {"p": 1, "q": 1}, tax) == (21, ("a",))
    assert cost([offers[0], Offer("q", "b", 10, 1, 1, None)], {"p": 1, "q": 1}, tax) == (22, ("a", "b"))
    # 4 % of 0.11 are 0.44 cents at each of two sellers: nothing; of 0.22 at one 0.88: a cent.
    low = {name: Terms(tax=Fraction("0.04")) for name in "ab"}
    both = [Offer(part, seller, 11, 1, 1, None) for part in "pq" for seller in "ab"]
    assert cost(both, {"p": 1, "q": 1}, low) == (22, ("a", "b"))
    assert cost(both, {"p": 1, "q": 1}, low, most_sellers=1) == (23, ("a",))


def test_rules_that_were_there_hold_still() -> None:
    offers = [Offer("p", "a", 1000, 1, 1, 3), Offer("p", "b", 900, 1, 1, None)]
    terms = {"b": Terms(tax=Fraction("0.2"))}
    assert cost(offers, 5, terms) == (3000 + 2160, ("a", "b"))
    assert cost(offers, 5, terms, sellers=["b"]) == (5400, ("b",))
    assert cost(offers, 5, terms, most_sellers=1) == (5400, ("b",))
    assert cost(offers, 5, terms, stocked=False) == (5000, ("a",))
    assert cost(offers, 5, terms, stock_slack=1) == (4000 + 1080, ("a", "b"))
    assert cost(offers, 5, terms, on_hand={"p": 2}) == (3000, ("a",))
    assert cost(offers, 5, terms, on_hand={"p": 9}) == (0, ())
    assert cost(offers, {"p": 1, "r": 1}, terms) is None


# --- against every purchase there is --------------------------------------------------------------


def plain_cost(
    offers: Sequence[Offer],
    needs: Mapping[str, int],
    terms: Mapping[str, Terms],
    freight: Mapping[str, int],
    weights: Mapping[str, Fraction],
) -> int | None:
    """Every number of pieces of every row, up to so many that they alone reach every floor and the need."""
    choices = []
    for offer in offers:
        asked = terms.get(offer.seller, Terms())
        lot = -(-offer.min_qty // offer.pack) * offer.pack
        most = needs[offer.part] + lot + -(-max(asked.free_over or 0, asked.min_order) // offer.cents)
        if offer.part not in weights and asked.per_kg:
            most = 0
        choices.append([0, *range(lot, int(min(most, offer.stock or most)) + 1, offer.pack)])
    best = None
    for bought in itertools.product(*choices):
        pieces: dict[str, int] = dict.fromkeys(needs, 0)
        goods: dict[str, int] = {}
        kg: dict[str, Fraction] = {}
        stocks: dict[tuple[str, str], int] = {}
        for offer, count in zip(offers, bought, strict=True):
            if count:
                pieces[offer.part] += count
                goods[offer.seller] = goods.get(offer.seller, 0) + count * offer.cents
                kg[offer.seller] = kg.get(offer.seller, Fraction(0)) + count * weights.get(offer.part, 0)
                stocks[offer.part, offer.seller] = stocks.get((offer.part, offer.seller), 0) + count
        if any(pieces[part] < needed for part, needed in needs.items()):
            continue
        if any(offer.stock is not None and stocks.get((offer.part, offer.seller), 0) > offer.stock for offer in offers):
            continue
        total = 0
        for seller, cents in goods.items():
            asked = terms.get(seller, Terms())
            if cents < asked.min_order:
                break
            by_weight = Fraction(freight[seller]) + asked.per_kg * kg[seller]
            sent = 0 if asked.free_over is not None and cents >= asked.free_over else int(by_weight + Fraction(1, 2))
            total += cents + sent + int(asked.tax * (cents + sent) + Fraction(1, 2))
        else:
            best = total if best is None else min(best, total)
    return best


@pytest.mark.thorough
def test_landed_money_against_every_purchase_there_is() -> None:
    """Small prices, so that half cents decide often, and floors within a few pieces."""
    draw = random.Random(11)
    compared = topped_up = 0
    for _ in range(240):
        sellers = ["a", "b"][: draw.choice([1, 2, 2])]
        terms, freight = {}, {}
        for seller in sellers:
            freight[seller] = draw.choice([0, draw.randint(1, 40)])
            terms[seller] = Terms(
                per_kg=draw.choice([Fraction(0), Fraction(draw.randint(1, 30), draw.choice([1, 2, 10]))]),
                free_over=draw.choice([None, draw.randint(20, 140)]),
                min_order=draw.choice([0, 0, draw.randint(10, 110)]),
                tax=draw.choice([Fraction(0), Fraction(draw.choice(["0.05", "0.0725", "0.19", "0.5"]))]),
            )
        needs = {part: draw.randint(1, 3) for part in ["p", "q"][: draw.choice([1, 2])]}
        weights = {part: Fraction(draw.randint(1, 30), 10) for part in needs if draw.random() < 0.85}
        offers = []
        for part, seller in itertools.product(needs, sellers):
            if draw.random() < 0.8:
                stock = draw.choice([None, None, draw.randint(2, 6)])
                cents = draw.randint(11, 40)
                offers.append(Offer(part, seller, cents, draw.choice([1, 1, 2]), draw.choice([1, 1, 2]), stock))
                if draw.random() < 0.25:
                    offers.append(Offer(part, seller, draw.randint(8, cents), draw.choice([2, 3]), 1, stock))
        terms = {seller: asked for seller, asked in terms.items() if asked != Terms()}
        count = len([one for one in offers if one.stock is None])
        if count > 4 or len(offers) > 5:
            continue
        expected = plain_cost(offers, needs, terms, freight, weights)
        found = cost(offers, needs, terms, freight, weights)
        assert (found and found[0]) == expected, (offers, needs, terms, freight, weights)
        compared += expected is not None
        loose = {seller: replace(asked, free_over=None, min_order=0) for seller, asked in terms.items()}
        if found and found != cost(offers, needs, loose, freight, weights):
            topped_up += 1
    assert compared > 90
    assert topped_up > 36


# --- whole bundles --------------------------------------------------------------------------------

# The bundle of by_hand.py: goods of 1500.50 from north, 50.00 of freight.


def with_terms(parts_and_job: tuple[Parts, Job], **asked: Any) -> tuple[Parts, Job]:
    """The same with terms of north; parts that state a weight in by_hand.py have one, the others none."""
    parts, job = parts_and_job
    return replace(parts, terms={"north": Terms(**asked)}), job


def test_bundles_are_bought_on_these_terms() -> None:
    one = in_memory()
    assert least(with_terms(one, tax=Fraction("0.1"))) == Decimal("1705.55")  # 155.05 of 1550.50
    assert least(with_terms(one, free_over=150_050)) == Decimal("1500.50")
    assert least(with_terms(one, free_over=150_051)) == Decimal("1520.50")  # a rack unit more
    assert least(with_terms(one, free_over=154_050)) == Decimal("1540.50")
    assert least(with_terms(one, free_over=154_051)) == BASE  # three more cost more than the freight
    assert least(with_terms(one, min_order=160_000)) == Decimal("1650.50")  # five more, and the freight
    assert least(with_terms(one, min_order=160_000), most_sellers=0) is None
    assert least(with_terms(one, per_kg=Fraction(50))) is None  # nothing in memory has a weight
    budget = in_memory({"need": {"budget": 1520.49}})
    assert least(with_terms(budget, free_over=150_051)) is None
    best = cheapest(nodes_of(*with_terms(one, min_order=160_000)))
    assert best is not None
    assert dict(best[1].needs)["rk"] == 5  # what is needed, not what is bought


def test_a_tank_or_a_starter_that_nothing_needs_may_make_up_an_order() -> None:
    """For an order of 1600.00 a tank at 99.50 is missing to the cent, five rack units are 0.50 too much."""
    offers = [*OFFERS, Offer("ta", "north", 9_950, 1, 1, None)]
    room = {"water": {"max_tanks": 2}}
    dry = with_terms(in_memory(room, offers=offers, tanks=[a_tank()]), min_order=160_000)
    assert least(dry) == Decimal("1650")
    assert least(dry, never=frozenset({"ta"})) == Decimal("1650.50")
    best = cheapest(nodes_of(*dry))
    assert best is not None
    assert best[1].tanks == (("ta", 1),)
    owned = in_memory(room | {"on_hand": {"ta": 1}}, offers=offers, tanks=[a_tank()])
    best = cheapest(nodes_of(*with_terms(owned, min_order=160_000)))
    assert best is not None
    assert (best[1].total, best[1].tanks) == (Decimal("1650"), (("ta", 2),))
    no_room = in_memory({"water": {"max_tanks": 0}}, offers=offers, tanks=[a_tank()])
    assert least(with_terms(no_room, min_order=160_000)) == Decimal("1650.50")

    motor = PUMP | {"starting": "1500 VA", "motor": "three-wire", "cable_drop": 0.2}
    offers = [*OFFERS, Offer("st", "north", 9_950, 1, 1, None)]
    soft = with_terms(in_memory({"load": [motor]}, offers=offers, starters=[a_starter()]), min_order=160_000)
    assert least(soft) == Decimal("1650")
    assert least(soft, never=frozenset({"st"})) == Decimal("1650.50")


def test_terms_in_files(tmp_path: Path) -> None:
    """Panels of 21 kg, converter 10.5, batteries 12.25, rack units 2: 63 + 10.5 + 49 + 10 = 132.5 kg at 0.333."""
    extra = {"part": "ex", "per": "system", "quantity": "1", "weight_kg": "0.1"}
    catalog = write_whole(tmp_path, JOB, [*PRICES, price("ex", "1")], extra=extra, rack={"weight_kg": "2"})
    write_table(catalog, "converters", [CONVERTER | {"weight_kg": "10.5"}])
    write_table(catalog, "batteries", [BATTERY | {"weight_kg": "12.25"}])
    sellers = catalog / "sellers.csv"

    def total(cells: str) -> Decimal | None:
        sellers.write_text(f"seller,freight,freight_per_kg,free_over,min_order,tax_pct\n{cells}\n", encoding="utf-8")
        found = cheapest(enumerate_nodes(catalog, tmp_path / "job.toml"))
        return found and found[1].total

    assert total("north,50,,,,") == BASE + 1
    assert read_parts(catalog).terms == {}
    # 50 + 0.333 · 132.6 = 94.1558; 1501.50 + 94.16 = 1595.66; 7.75 % are 123.66365
    assert total("north,50,0.333,,,") == Decimal("1595.66")
    assert total("north,50,0.333,,,7.75") == Decimal("1595.66") + Decimal("123.66")
    assert read_parts(catalog).terms["north"] == Terms(Fraction(333, 10), None, 0, Fraction(31, 400))
    assert total("north,50,0.333,1500,,7.75") == Decimal("1501.50") + Decimal("116.37")  # 116.36625
    # An extra piece of the extra costs a pound and weighs 0.1 kg: least to order 1503.50
    assert total("north,50,0.333,,1503.50,") == Decimal("1503.50") + Decimal("94.22")  # 50 + 0.333 · 132.8 = 94.2224
    # A part without a weight is not sold by weight.
    write_table(catalog, "batteries", [BATTERY])
    assert total("north,50,0.333,,,") is None
    assert total("north,50,,,,7.75") == Decimal("1551.50") + Decimal("120.24")  # 120.24125


# --- what is drawn --------------------------------------------------------------------------------

# Of the seeds from 0 on some where it matters; most decide nothing or take long.
DECIDED = {
    "free_over": (10, 35, 59),
    "min_order": (68, 81),
    "tax": (10, 53, 81),
    "per_kg": (28, 45, 79),
    "weight": (28, 53),
}


@pytest.mark.parametrize("what", DECIDED)
def test_each_of_the_terms_decides_in_some_drawn_instances(tmp_path: Path, what: str) -> None:
    """Without it, or with a weight of 0 for every part, the least total is another."""
    for seed in DECIDED[what]:
        catalog, job_path = write_instance(tmp_path / str(seed), seed, starters=True, landed=True)
        parts, job = read_parts(catalog), read_job(job_path)
        if what == "weight":
            other = replace(parts, weights={one.part: Fraction(0) for one in parts.offers} | parts.weights)
        else:
            without = {name: replace(one, **{what: getattr(Terms(), what)}) for name, one in parts.terms.items()}
            other = replace(parts, terms={name: one for name, one in without.items() if one != Terms()})
        assert least((parts, job)) != least((other, job)), seed


def test_the_flag_adds_terms_and_weights_alone(tmp_path: Path) -> None:
    """A budget is drawn around what the options cost, so that it is drawn anew; all else of the job is the same."""
    for seed in range(20):
        plain, plain_job = write_instance(tmp_path / f"{seed} plain", seed)
        landed, landed_job = write_instance(tmp_path / f"{seed} landed", seed, landed=True)
        bare, full = read_parts(plain), read_parts(landed)
        assert bare.terms == {}
        assert replace(read_job(plain_job), budget_cents=None) == replace(read_job(landed_job), budget_cents=None)
        assert bare.offers == full.offers
        assert bare.weights.items() <= full.weights.items()
        assert {name: cents for name, cents in full.freight.items() if cents} == {
            name: cents for name, cents in bare.freight.items() if cents
        }
