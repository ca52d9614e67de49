"""Two price lists compared, and how old prices may be. What is expected is read off ``small_files`` by eye."""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path

import pytest

from catalog.price_age import MaxAge, aged
from catalog.reader import read_catalog
from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS, WRONG_INPUT
from tests.command_line import run
from tests.refresh_helpers import prices, write_jobs
from tests.small_files import CATALOG, cells_of, csv_text

Moves = dict[tuple[str, str, str], str]  # part, price and column; the cell now


def write_list(path: Path, moves: Moves, gone: tuple[str, ...] = (), more: tuple[str, ...] = ()) -> Path:
    """The small price list with cells changed, parts taken out and rows added."""
    rows = [row for row in cells_of(CATALOG["prices.csv"]) if row[0] not in gone]
    for (part, price, column), cell in moves.items():
        row = next(row for row in rows if row[0] == part and row[2] == price)
        row[rows[0].index(column)] = cell
    path.write_text(csv_text(rows + [line.split(",") for line in more]), encoding="utf-8")
    return path


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """Two jobs, one of them answered, and a new list in which something of everything happened."""
    write_jobs(tmp_path, ("camp", "dam"))
    assert run("refresh", "jobs", "--catalog", "parts", cwd=tmp_path).exit_code == ANSWERED
    (tmp_path / "jobs/dam/job.answer.json").unlink()
    moves = {
        ("pn-550", "189", "price"): "199", ("pn-550", "199", "price"): "209",
        ("pn-410", "139.00", "price"): "125.10", ("cv-8k", "2050", "stock"): "0",
        ("rk-b", "71.25", "as_of"): "2026-11-20", ("bt-280", "2200", "stock"): "3",
    }  # fmt: skip
    more = ("xx-1,west,10,USD,,,,2026-11-20", "tk-5,north,300,USD,,,,2026-11-20")
    write_list(tmp_path / "new.csv", moves, ("fu-1",), more)
    return tmp_path


def compared(home: Path, *words: str, old: str = "parts/prices.csv", new: str = "new.csv") -> str:
    result = run("prices", old, new, *words, cwd=home)
    assert result.exit_code == ANSWERED
    assert result.stderr == ""
    return result.stdout


def test_every_move_by_kind_the_largest_first(home: Path) -> None:
    page = compared(home, "--catalog", "parts", "--jobs", "jobs")
    found = [" ".join(line.split()) for line in page.splitlines()]
    assert found[3:] == [
        "1 gone, 1 out of stock, 1 dearer, 1 cheaper, 2 new, 1 other terms, 8 the same.", "",
        "PANELS", "part USD now by touches", "cheaper pn-410 139.00 125.10 -10.0 %",
        "dearer pn-550 189.00 199.00 +5.3 % camp",
        "", "CONVERTERS", "part USD now by touches", "out of stock cv-8k 2,050.00 - camp",
        "", "BATTERIES", "part USD now by touches", "other terms bt-280 2,200.00 2,200.00 camp",
        "", "EXTRAS", "part USD now by touches", "gone fu-1 9.90 -",
        "", "TANKS", "part USD now by touches", "new tk-5 - 300.00",
        "", "IN NO FILE OF THE CATALOGUE", "part USD now by touches", "new xx-1 - 10.00", "",
        "1 of 1 kept answers buy a part that moved. Without a kept answer: dam. What is",
        "cheaper or new may come into others too: borewatt refresh finds out.",
    ]  # fmt: skip


def test_the_other_way_round_everything_is_turned(home: Path) -> None:
    data = json.loads(compared(home, "--json", "-", old="new.csv", new="parts/prices.csv"))
    assert {move["part"]: move["move"] for move in data["moves"]} == {
        "fu-1": "new", "cv-8k": "back", "pn-550": "cheaper", "pn-410": "dearer", "tk-5": "gone", "xx-1": "gone",
        "bt-280": "other terms",
    }  # fmt: skip
    assert data["same"] == 8


def test_a_list_against_itself(home: Path) -> None:
    page = compared(home, "--jobs", "jobs", new="parts/prices.csv")
    assert "\n13 the same.\n" in page
    assert "0 of 1 kept answers buy a part that moved." in page


def test_the_order_of_rows_is_no_move(home: Path) -> None:
    head, *rows = CATALOG["prices.csv"].splitlines()
    (home / "turned.csv").write_text("\n".join([head, *reversed(rows)]) + "\n", encoding="utf-8")
    assert "\n13 the same.\n" in compared(home, new="turned.csv")


def test_an_offer_that_its_stock_does_not_fill_is_no_price(home: Path) -> None:
    """With 9 in stock the price from 10 pieces on cannot be had: the lowest becomes 199."""
    moves = {("pn-550", "189", "stock"): "9", ("pn-550", "199", "stock"): "9"}
    write_list(home / "short.csv", moves)
    assert "dearer pn-550 189.00 199.00 +5.3 %" in " ".join(compared(home, new="short.csv").split())


def test_the_text_and_the_json_say_the_same(home: Path) -> None:
    words = ("--catalog", "parts", "--jobs", "jobs")
    page = " ".join(compared(home, *words, "--json", "moves.json").split())
    data = json.loads((home / "moves.json").read_text())
    assert json.loads(compared(home, *words, "--json", "-")) == data
    for move in data["moves"]:
        before, after = (move[key] and f"{float(move[key]):,.2f}" for key in ("before", "after"))
        assert f"{move['move']} {move['part']} {before or '-'} {after or '-'}" in page
    for what, count in data["counts"].items():
        assert not count or f"{count} {what}" in page
    assert data["jobs"] == {"answered": 1, "touched": ["camp"], "without": ["dam"]}


def test_what_is_wrong_in_both_lists_is_said_at_once(home: Path) -> None:
    write_list(home / "a.csv", {("rk-a", "62", "price"): "62,5"})
    write_list(home / "b.csv", {("cv-6k", "1480", "as_of"): "yesterday"})
    result = run("prices", "a.csv", "b.csv", cwd=home)
    assert result.exit_code == WRONG_INPUT
    assert re.search(r"a\.csv row 12\b", result.stderr)
    assert re.search(r"b\.csv row 6\b", result.stderr)
    assert result.stdout == ""


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("nowhere.csv",), "nowhere.csv"),
        (("new.csv", "--jobs", "nowhere"), "nowhere: there is no such folder"),
        (("new.csv", "--on", "2026-11-30"), "--on: how old prices may be is not said"),
        (("new.csv", "--strict-dates"), "--strict-dates: how old prices may be is not said"),
    ],
)
def test_what_cannot_be_compared(home: Path, words: tuple[str, ...], said: str) -> None:
    result = run("prices", "parts/prices.csv", *words, cwd=home)
    assert result.exit_code == WRONG_INPUT
    assert said in result.stderr


def test_two_currencies_are_not_compared(home: Path) -> None:
    (home / "other.csv").write_text(CATALOG["prices.csv"].replace("USD", "XTS"), encoding="utf-8")
    result = run("prices", "parts/prices.csv", "other.csv", cwd=home)
    assert result.exit_code == WRONG_INPUT
    assert "in XTS" in result.stderr
    assert "in USD" in result.stderr


# how old prices may be ---------------------------------------------------------------------------------------------


def kept_parts(home: Path, limit: MaxAge) -> set[str]:
    return set(aged(read_catalog(home / "parts"), limit, "prices.csv").offers.part.tolist())


@pytest.mark.parametrize(
    ("days", "on", "gone"),
    [
        # the newest of the list is 2 November: 32 days after 1 October, 30 after the 3rd
        (32, None, set()),
        (31, None, {"pn-410", "pn-550"}),
        (30, None, {"pn-410", "pn-550"}),
        (29, None, {"pn-410", "pn-550", "pn-300"}),
        (32, date(2026, 11, 3), {"pn-410", "pn-550"}),
        (32, date(2026, 11, 2), set()),
        (0, date(2026, 10, 1), set()),  # what is dated later is not old
        (10**9, date(2026, 11, 2), set()),
    ],
)
def test_age_counts_from_the_day_or_else_from_the_newest(
    home: Path, days: int, on: date | None, gone: set[str]
) -> None:
    everything = kept_parts(home, MaxAge(10**6))
    assert everything - kept_parts(home, MaxAge(days, on, strict=True)) == gone
    assert kept_parts(home, MaxAge(days, on)) == everything  # called out only


def test_the_clock_says_nothing(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same answer, whatever day it is: no clock is asked."""

    class Never(date):
        @classmethod
        def today(cls) -> Never:
            raise AssertionError("the clock was asked")

    monkeypatch.setattr("catalog.price_age.date", Never)
    assert kept_parts(home, MaxAge(31, strict=True)) >= {"cv-8k"}


def test_pick_calls_old_prices_out_and_leaves_them_out_when_told(home: Path) -> None:
    words = ("pick", "jobs/camp/job.toml", "--catalog", "parts", "--options", "1", "--max-age", "30")
    called = run(*words, cwd=home)
    said = " ".join(called.stdout.split())
    assert called.exit_code == ANSWERED
    assert "$7,883.00 delivered" in said
    assert "prices.csv row 2: 3 of 14 offers are more than 30 days old on 2026-11-02: pn-410 from north of" in said
    strict = run(*words, "--strict-dates", cwd=home)
    # only pn-300 is left: of south, who asks no freight
    assert "pn-300" in strict.stdout
    assert "12 pn-550" not in strict.stdout.partition("BUY")[2].partition("total")[0]
    assert "and are not used" in " ".join(strict.stdout.split())
    later = run(*words, "--strict-dates", "--on", "2027-01-01", cwd=home)
    assert later.exit_code == NOTHING_MEETS
    assert "14 of 14 offers are more than 30 days old on 2027-01-01" in " ".join(later.stdout.split())


def test_refresh_calls_old_prices_out_and_says_what_leaving_them_out_does(home: Path) -> None:
    words = ("refresh", "jobs", "--catalog", "parts", "--max-age", "30")
    called = " ".join(run(*words, cwd=home).stdout.split())
    assert "NOTE prices.csv row 2: 3 of 14 offers are more than 30 days old on 2026-11-02" in called
    assert "same camp 7,883.00" in called
    strict = " ".join(run(*words, "--strict-dates", cwd=home).stdout.split())
    assert "the old bundle cannot be had: pn-550: no seller" in strict


def test_prices_leaves_old_ones_of_the_new_list_out(home: Path) -> None:
    page = " ".join(compared(home, "--max-age", "20", "--strict-dates").split())
    assert "4 of 15 offers are more than 20 days old on 2026-11-20 and are not used" in page
    assert "gone pn-410 139.00 -" in page


@pytest.mark.parametrize("command", [("pick", "jobs/camp/job.toml"), ("refresh", "jobs")])
@pytest.mark.parametrize("option", [("--on", "2026-13-01"), ("--max-age", "-1"), ("--max-age", "many")])
def test_a_wrong_age_is_refused(home: Path, command: tuple[str, ...], option: tuple[str, str]) -> None:
    result = run(*command, *option, cwd=home)
    assert result.exit_code == WRONG_INPUT
    assert option[0] in result.stderr


def test_a_price_list_need_not_be_of_the_catalogue(home: Path) -> None:
    """Without a catalogue nothing is asked of the parts; with one without its own list the new one will do."""
    (home / "parts/prices.csv").rename(home / "old.csv")
    new = prices(home, "other.csv", {("rk-a", "62"): "63"})
    assert "RACKS" in compared(home, "--catalog", "parts", old="old.csv", new=new.name)
