"""Sellers that another stands for: leaving them out of a subproblem changes neither a total nor who is bought from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from random import Random

import pytest

from catalog.reader import Catalog, read_catalog
from optimizer.candidates.terms import Setting
from optimizer.costs.market import Market, Offer
from optimizer.costs.sellers_worth_asking import offers_worth_asking
from optimizer.inputs.job import Job
from optimizer.inputs.job_reader import read_job
from optimizer.milp import purchase_rows
from optimizer.search.cheapest_order import price_order
from tests.refresh_helpers import SMALL_JOB
from tests.seeds import by_seeds
from tests.small_files import CATALOG, write_catalog

PARTS = ("pn-410", "cv-8k", "rk-a")
HEAD = "part,seller,price,currency,min_qty,pack,stock,as_of"
DAY = "2026-10-01"


def market(folder: Path, rows: Sequence[str], sellers: Sequence[str] = ()) -> Market:
    """The market of a price list; ``sellers``: rows of seller, freight, free_over and tax_pct."""
    files = {**CATALOG, "prices.csv": "\n".join((HEAD, *rows)) + "\n"}
    files["sellers.csv"] = "\n".join(("seller,freight,free_over,tax_pct", *sellers)) + "\n"
    path = folder / "job.toml"
    folder.mkdir(parents=True, exist_ok=True)
    path.write_text(SMALL_JOB, encoding="utf-8")
    job: Job = read_job(path)
    catalog: Catalog = read_catalog(write_catalog(folder / "catalog", files))
    return Market.of(catalog, Setting.of(job))


def asked(found: Market, needed: Mapping[str, int]) -> set[str]:
    """Who is asked for anything."""
    return {offer.seller for offers in offers_worth_asking(needed, found).values() for offer in offers}


def row(part: str, seller: str, price: str, more: str = ",,") -> str:
    """A price row; ``more``: least quantity, pack and stock."""
    return f"{part},{seller},{price},USD,{more},{DAY}"


@pytest.mark.parametrize(
    ("rows", "freight", "stay"),
    [
        # the same price, and less freight
        ([row("pn-410", "a", "100"), row("pn-410", "b", "100")], ["a,20,,", "b,10,,"], {"b"}),
        # cheaper, but with more freight: it depends on how many are bought
        ([row("pn-410", "a", "99"), row("pn-410", "b", "100")], ["a,20,,", "b,10,,"], {"a", "b"}),
        # the same in every figure: the first by name
        ([row("pn-410", "b", "100"), row("pn-410", "a", "100")], ["a,10,,", "b,10,,"], {"a"}),
        # more parts at the same prices, though later by name: of one part alone the first by name is bought
        ([row("pn-410", "a", "9"), row("pn-410", "b", "9"), row("rk-a", "b", "9")], ["a,1,,", "b,1,,"], {"a", "b"}),
        # not enough of them for all that may be needed; just enough
        ([row("pn-410", "a", "90", ",,9"), row("pn-410", "b", "100")], ["a,1,,", "b,1,,"], {"a", "b"}),
        ([row("pn-410", "a", "90", ",,10"), row("pn-410", "b", "100")], ["a,1,,", "b,1,,"], {"a"}),
        # only in larger packs; packs that make up the other's; no less than a least quantity
        ([row("pn-410", "a", "90", ",4,"), row("pn-410", "b", "100")], ["a,1,,", "b,1,,"], {"a", "b"}),
        ([row("pn-410", "a", "90", ",2,"), row("pn-410", "b", "100", ",4,")], ["a,1,,", "b,1,,"], {"a"}),
        ([row("pn-410", "a", "90", "3,,"), row("pn-410", "b", "100")], ["a,1,,", "b,1,,"], {"a", "b"}),
        # freight that may be free: not compared
        ([row("pn-410", "a", "90"), row("pn-410", "b", "100")], ["a,1,,", "b,1,500,"], {"a", "b"}),
        # tax: more of it at the one that is cheaper; less; the same, and without freight that is saved
        ([row("pn-410", "a", "90"), row("pn-410", "b", "100")], ["a,1,,5", "b,1,,"], {"a", "b"}),
        ([row("pn-410", "a", "90"), row("pn-410", "b", "100")], ["a,1,,4", "b,1,,5"], {"a"}),
        ([row("pn-410", "a", "90"), row("pn-410", "b", "100")], ["a,0,,5", "b,0,,5"], {"a", "b"}),
    ],
)
def test_who_is_asked(tmp_path: Path, rows: list[str], freight: list[str], stay: set[str]) -> None:
    assert asked(market(tmp_path, rows, freight), {"pn-410": 10, "rk-a": 10}) == stay


@by_seeds(range(100), 20)
def test_the_same_order_as_with_every_seller(
    seeds: Sequence[int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Drawn markets of few prices, so that many totals are equal; ten lists of needs in each."""
    left_out = 0

    def every(needed: Mapping[str, int], found: Market) -> dict[str, tuple[Offer, ...]]:
        return {part: found.offers_of(part) for part in needed}

    for seed in seeds:
        draw = Random(f"sellers {seed}")
        names = [f"s{number}" for number in range(draw.randint(4, 12))]
        rows = [
            row(part, name, draw.choice(("10.03", "10.03", "11.07", "12")),
                f"{draw.choice(('', '', '', '3'))},{draw.choice(('', '', '', '2'))},{stock}")
            for name in names
            for part in PARTS
            for stock in [draw.choice(("", "", "", "4", "12"))]
            for _ in range(draw.choice((0, 1, 1, 1, 2)))
        ]  # fmt: skip
        plain = draw.random() < 0.7
        taxes = draw.choice((("",), ("", "7.3"), ("5.1",)))
        terms = [
            f"{name},{draw.choice((0, 0, 0.01, 5, 8))},{'' if plain else draw.choice(('', 60))},{draw.choice(taxes)}"
            for name in names
        ]
        if not rows:
            continue
        found = market(tmp_path / str(seed), rows, terms)
        for _ in range(10):
            needs = {part: draw.randint(1, 9) for part in PARTS if draw.random() < 0.8}
            with monkeypatch.context() as patch:
                patch.setattr(purchase_rows, "offers_worth_asking", every)
                whole = price_order(needs, found)
            assert price_order(needs, found) == whole, f"seed {seed}, {needs}"
            left_out += len(asked(found, needs)) < len(
                {offer.seller for part in needs for offer in found.offers_of(part)}
            )
    assert left_out > 2 * len(seeds)
