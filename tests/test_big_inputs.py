"""Inputs larger than any that a person keeps by hand end as an answer or as a refusal with its mend.

No test asserts a time; what is counted is work (sellers of a model, choices opened, bounds worked out) and what is
printed.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog.reader import check_catalog, read_catalog
from optimizer.candidates.plan import DIRECT
from optimizer.candidates.terms import Setting
from optimizer.costs.market import Market
from optimizer.costs.sellers_worth_asking import offers_worth_asking
from optimizer.costs.tank_bounds import starters_bound
from optimizer.inputs.job_reader import read_job
from optimizer.search import plan_bounds
from optimizer.search.branch_and_bound import Status, pick
from optimizer.vocabulary.defaults import MOST_START_PLANS
from optimizer.writing.words.problems import problems_text, warning_text
from tests.big_inputs import all_sell_all, many_motors, many_sellers, starters_for_all, unknown_parts, write
from tests.command_line import run
from tests.small_files import CATALOG, write_catalog

SECONDS = 50  # the time limit that a person would give; these jobs end long before


def test_the_price_list_of_another_catalogue_is_one_problem(tmp_path: Path) -> None:
    problems, _ = check_catalog(write_catalog(tmp_path / "c", unknown_parts(5000)))
    assert [problem.kind.id for problem in problems] == ["unknown-parts"]
    told = " ".join(problems_text(problems, 1).split())
    assert "prices.csv row 16, column A" in told
    assert ("5,000 parts of the price list are in no table: zz-00000 (row 16), zz-00001 (row 17), zz-00002 (row 18) "
            "and 4,997 more.") in told  # fmt: skip


def test_some_unknown_parts_are_each_told_with_their_row(tmp_path: Path) -> None:
    problems, _ = check_catalog(write_catalog(tmp_path / "c", unknown_parts(50)))
    assert [(problem.kind.id, problem.place.row) for problem in problems] == [
        ("unknown-part", row) for row in range(16, 66)
    ]


def test_many_warnings_alike_are_summed_up(tmp_path: Path) -> None:
    files = many_sellers(10_000, listed=False)
    rows = [row.split(",") for row in CATALOG["prices.csv"].splitlines()[1:]]
    files["prices.csv"] += "".join(f"bt-agm,yard {number},310,USD,20,,12,2026-11-02\n" for number in range(11))
    files["prices.csv"] += "".join(f"{part},{seller},9999,{','.join(rest)}\n" for part, seller, _, *rest in rows)
    catalog = read_catalog(write_catalog(tmp_path / "c", files))
    said = {warning.kind.id: warning_text(warning) for warning in catalog.warnings}
    assert len(said) == len(catalog.warnings) == 5
    assert (
        "Freight of 10,011 sellers is taken as 0: seller 00000, seller 00001, seller 00002 and 10,008 more."
        in (said["sellers-not-listed"])
    )
    assert (
        "Of 11 offers more must be bought than there are in stock: row 10016, row 10017, row 10018 and 8 more."
        in (said["stocks-below-minimum"])
    )
    assert "14 rows ask another price for the same" in said["doubled-offers"]


def test_of_ten_thousand_sellers_few_are_asked(tmp_path: Path) -> None:
    """A model of thousands of sellers was solved within minutes, and put in order never."""
    path = write(tmp_path, many_sellers(10_000))
    job, catalog = read_job(path), read_catalog(tmp_path / "catalog")
    market = Market.of(catalog, Setting.of(job))
    needed = {"cv-8k": 1, "bt-280": 2, **dict.fromkeys(("pn-410", "rk-a", "cb-1", "fu-1"), 20)}
    offers = offers_worth_asking(needed, market)
    assert sum(len(market.offers_of(part)) for part in offers) > 4000
    assert sum(map(len, offers.values())) < 200


@pytest.mark.thorough
@pytest.mark.parametrize("listed", [True, False])
def test_ten_thousand_sellers(tmp_path: Path, listed: bool) -> None:
    path = write(tmp_path, many_sellers(10_000, listed))
    found = pick(read_catalog(tmp_path / "catalog"), read_job(path), time_limit=SECONDS)
    assert found.status == Status.PROVEN
    assert found.proof.opened < 500
    said = run("pick", path, "--time-limit", SECONDS)
    assert said.exit_code == 0
    assert len(said.stdout.splitlines()) < 200


@pytest.mark.thorough
def test_sixteen_sellers_that_sell_everything(tmp_path: Path) -> None:
    """Each with terms of its own: freight by weight, free freight, least orders, tax."""
    path = write(tmp_path, all_sell_all(16))
    found = pick(read_catalog(tmp_path / "catalog"), read_job(path), time_limit=SECONDS)
    assert found.status == Status.PROVEN
    assert found.proof.opened < 500


@pytest.mark.parametrize("restart", ["staggered", "together"])
def test_thirty_motors(tmp_path: Path, restart: str) -> None:
    """Fifteen of them on the two legs, in each of 32,768 ways."""
    path = write(tmp_path, starters_for_all(0), many_motors(30, restart))
    found = pick(read_catalog(tmp_path / "catalog"), read_job(path), time_limit=SECONDS)
    assert found.status == (Status.PROVEN if restart == "staggered" else Status.NONE)


def test_thirty_motors_with_starters_are_refused_with_the_mend(tmp_path: Path) -> None:
    path = write(tmp_path, starters_for_all(2), many_motors(30))
    said = run("pick", path)
    assert said.exit_code == 2
    told = " ".join(said.stderr.split())
    assert f"Expected at most {MOST_START_PLANS:,} ways, found" in told
    assert "Exclude starters" in told


def test_plans_of_the_same_pieces_have_one_bound(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten motors, each with a starter or none: 1,024 plans, of none to ten starters; the plain bound was worked out for
    each plan anew, which took most of a minute for fourteen motors."""
    path = write(tmp_path, starters_for_all(1), many_motors(10))
    job, catalog = read_job(path), read_catalog(tmp_path / "catalog")
    asked = []

    def counted(setting: Setting, market: Market) -> object:
        asked.append(setting.plan)
        return starters_bound(setting, market)

    monkeypatch.setattr(plan_bounds, "starters_bound", counted)
    found = pick(catalog, job, 1, time_limit=SECONDS)
    assert found.status == Status.PROVEN
    assert DIRECT in asked
    assert len(asked) <= 11
