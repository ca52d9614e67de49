"""An offer that leaves out racks and extras is held against whole bundles with these at their least."""

from __future__ import annotations

import re
from pathlib import Path

from catalog.reader import read_catalog
from optimizer.bundles.bundle_file import read_bundle
from optimizer.explain.verdict import judge
from optimizer.inputs.job_reader import read_job
from tests.command_line import run

DATA = Path(__file__).parent / "data" / "offers"
WHERE = ("--catalog", DATA / "catalog")
# the dealer's 14 panels in a row stand in rows of at most 6: 14 + 3 racks at 62.00, a cable set at 48.00, freight 95.00
LEFT_OUT = 17 * 62 + 48 + 95


def flat(text: str) -> str:
    return " ".join(text.split())


def test_side_by_side_whole_bundles_are_compared() -> None:
    said = run("audit", DATA / "job.toml", DATA / "dealer.toml", DATA / "good.toml", *WHERE).stdout
    rows = {cells[0]: cells[1:] for cells in (re.split(r"\s{2,}", line.strip()) for line in said.splitlines())}
    assert rows["price"] == ["7,200.00 as quoted", "8,065.00"]
    assert rows["with racks, extras"] == [f"{7200 + LEFT_OUT:,.2f} at the least", "8,065.00"]


def test_alone_the_line_of_the_price_says_what_it_leaves_out() -> None:
    said = flat(run("audit", DATA / "job.toml", DATA / "dealer.toml", *WHERE).stdout)
    assert "price 7,200.00 USD as quoted without racks and extras; with the cheapest that fit 8,397.00" in said


def test_why_not_an_offer_adds_what_it_leaves_out() -> None:
    said = flat(run("why", DATA / "job.toml", "--not", DATA / "dealer.toml", *WHERE).stdout)
    total = float(re.findall(r"\$([\d,]+\.\d\d) delivered", said)[0].replace(",", ""))
    more = 7200 + LEFT_OUT - total
    assert more > 0
    assert f"with the cheapest that fit 8,397.00, {more:,.2f} more than the pick" in said


def test_an_order_without_racks_pays_no_freight_twice(tmp_path: Path) -> None:
    good = (DATA / "good.toml").read_text(encoding="utf-8")
    bare = "".join(line for line in good.splitlines(keepends=True) if not line.startswith("rack"))
    assert bare != good
    (tmp_path / "bare.toml").write_text(bare, encoding="utf-8")
    job, catalog = read_job(DATA / "job.toml"), read_catalog(DATA / "catalog")
    whole = judge(job, read_bundle(DATA / "good.toml", job, catalog), catalog)
    found = judge(job, read_bundle(tmp_path / "bare.toml", job, catalog), catalog)
    assert found.cents is not None and whole.cents is not None
    assert found.cents < whole.cents == found.complete_cents
