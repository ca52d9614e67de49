"""What starters, tanks and parts on hand are worth, as a person reads it, with figures worked out by hand.

The bore pump of the job runs 8.1 A and starts 41 A at 240 V: 1,944 VA and 9,840 VA. Beside it run a booster of 600 W
and lights of 300 W. The reserve on a start is 25 %.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS
from tests.command_line import run
from tests.small_files import CATALOG, JOB, write_catalog

PRICED = "st-1,south,180,USD,,,,2026-11-02\ntk-5,south,400,USD,,,,2026-11-02\n"
FILES = {
    **CATALOG,
    "prices.csv": CATALOG["prices.csv"] + PRICED,
    # a converter that makes both legs alone
    "converters.csv": CATALOG["converters.csv"].replace("2,,1,,yes", "2,1,1,,yes"),
    # a starter that leaves 70 % of the volts while the amps peak: 63 % at the end of the pump's cable
    "starters.csv": CATALOG["starters.csv"]
    .replace("start_factor,", "start_factor,start_volts_pct,")
    .replace(",0.5,", ",0.5,70,"),
}
BOOSTER = 'rated = "0.75 hp"'
CABLE = 'motor = "three-wire"\n'


def case(folder: Path, booster: str = 'starting = "none"') -> Path:
    """The job on its catalogue; its file."""
    write_catalog(folder / "catalog", FILES)
    path = folder / "job.toml"
    text = JOB.replace("budget = 9500\n", "").replace(BOOSTER, booster).replace(CABLE, f"{CABLE}cable_drop = 0.1\n")
    path.write_text(f"{text}\n[water]\nmax_tanks = 6\n", encoding="utf-8")
    return path


def words(job: Path, *more: str) -> str:
    """What a pick of one bundle prints, each run of blanks as one."""
    said = run("pick", str(job), "--options", "1", *more)
    assert said.exit_code == ANSWERED
    return " ".join(said.stdout.split())


def total(text: str) -> float:
    """The total of the first bundle of a page."""
    found = re.search(r"\$([\d,]+\.\d\d) delivered", text)
    assert found is not None
    return float(found[1].replace(",", ""))


def test_what_starter_and_tanks_save(tmp_path: Path) -> None:
    job = case(tmp_path)
    said = words(job)
    # cv-6k 1480, bt-200 1690, freight 210; 12 pn-410 at 139, 18 rk-a at 62, 4 cb-1 at 48, freight 95; st-1 180, two
    # tk-5 at 400
    assert total(said) == 1480 + 1690 + 210 + 12 * 139 + 18 * 62 + 4 * 48 + 95 + 180 + 2 * 400
    # a start of 0.5 · 9,840 VA, above 1.5 times the running VA
    assert "starter st-1 on bore pump: starts at 4,920 VA for 3 s, 9,840 VA without it" in said
    # direct: 1.25 · (9,840 + 900) = 13,425 VA against 13,000; on leg 1 1.25 · (4,920 + 600) = 6,900 VA against 6,500
    assert "st-1 on bore pump saves 1,101.00: without it leg-balance is 400 VA short, starting; starting-surge is " \
        "425 VA short, bore pump" in said  # fmt: skip
    assert total(words(job, "--never", "st-1")) == total(said) + 1101
    assert "tk-5 saves 890.00: without it autonomy is" in said
    assert total(words(job, "--never", "tk-5")) == total(said) + 890
    # 2 · 5,000 L, of which 95 % can be drawn, for 9,000 L a day: 1.0556, never more than it is
    assert "2 tk-5 hold 9,500 L: 1.05 days of what is pumped" in said
    assert "the hardest start is now" not in said


def test_the_worst_start_moves_to_another_load(tmp_path: Path) -> None:
    said = words(case(tmp_path, 'starting = "35 A"'))
    # booster 35 A · 120 V beside 1,944 and 300 VA: more than the bore pump's 4,920 beside 600 and 300
    assert "the hardest start is now that of booster, 6,444 VA; without starters that of bore pump, " in said


def test_what_parts_on_hand_save_and_which_are_left(tmp_path: Path) -> None:
    job = case(tmp_path)
    said = words(job)
    assert "ON HAND 4 pn-410, which save 352.00" in said
    text = job.read_text(encoding="utf-8")
    job.write_text(text.replace('"pn-410" = 4', ""), encoding="utf-8")
    assert total(words(job)) == total(said) + 352
    job.write_text(text.replace('"pn-410" = 4', '"pn-410" = 4\n"pn-300" = 2\n"st-1" = 1'), encoding="utf-8")
    mine = words(job)
    assert total(mine) == total(said) - 180  # the starter is there already
    more = total(words(job, "--must", "pn-300")) - total(mine)
    assert f"ON HAND 4 pn-410, which save 352.00; 1 st-1, which saves 180.00; 2 pn-300 are left: the cheapest bundle " \
        f"with them costs {more:,.2f} more" in mine  # fmt: skip


def test_starters_and_tanks_as_data_and_as_an_offer(tmp_path: Path) -> None:
    job = case(tmp_path)
    told = tmp_path / "a.json"
    words(job, "--json", str(told))
    answer = json.loads(told.read_text(encoding="utf-8"))
    bundle = answer["bundles"][0]
    assert (bundle["starters"], bundle["tanks"]) == ({"bore pump": "st-1"}, {"tk-5": 2})
    assert bundle["water_days"] == pytest.approx(9500 / 9000)
    starter, tank = answer["why"]["savings"]
    assert (starter["loads"], starter["without"]["total"]) == (["bore pump"], "8532.00")
    surge = next(miss for miss in starter["misses"] if miss["limit"] == "starting-surge")
    assert (surge["value"], surge["allowed"], surge["misses_by"]) == (13425, 13000, 425)
    assert (tank["parts"], tank["without"]["total"]) == (["tk-5"], "8321.00")
    [kept] = answer["why"]["on_hand"]
    assert (kept["part"], kept["used"], kept["without"]["total"]) == ("pn-410", 4, "7783.00")

    offer = tmp_path / "offer.toml"
    counts = "\n".join(f"{kind} = {count}" for kind, count in bundle["counts"].items() if kind != "rack")
    models = "\n".join(f'{kind} = "{part}"' for kind, part in bundle["models"].items())
    strings = "\n".join(
        f"[[strings]]\ntracker = {row['tracker']}\nparallel = {row['parallel']}\nseries = {row['series']}"
        for row in bundle["strings"]
    )
    base = f"[models]\n{models}\n[counts]\n{counts}\n{strings}\n[bank]\nseries = 1\nparallel = 1\n"
    beside = {"starters": '[starters]\n"bore pump" = "st-1"\n', "tanks": '[tanks]\n"tk-5" = 2\n'}
    offer.write_text(base + "".join(beside.values()), encoding="utf-8")
    passes = run("audit", str(job), str(offer))
    assert passes.exit_code == ANSWERED
    assert "7,431.00" in passes.stdout
    for table, limit in (("starters", "starting-surge"), ("tanks", "autonomy")):
        offer.write_text(base + "".join(text for name, text in beside.items() if name != table), encoding="utf-8")
        fails = run("audit", str(job), str(offer))
        assert fails.exit_code == NOTHING_MEETS
        assert limit in fails.stdout


def test_each_tank_is_a_stair(tmp_path: Path) -> None:
    """5,000 L of which 95 % can be drawn are 0.527 of a day; the bank carries the rest for 3.04 days."""
    job, told = case(tmp_path), tmp_path / "stairs.csv"
    said = run("afford", str(job), "--budget", "9000", "--csv", str(told))
    assert said.exit_code == ANSWERED
    header, *rows = told.read_text(encoding="utf-8").splitlines()
    assert header == "step,level,unit,total,currency,changes,converter,panel,battery,rack"
    # two tanks are in the least bundle, at 7,431.00; each further one is 400
    tanks = [(2, "1.05"), (3, "1.58"), (4, "2.11"), (5, "2.63"), (6, "3.04")]
    for step, (row, (count, days)) in enumerate(zip(rows, tanks, strict=True), start=1):
        changes = "the cheapest that meets the job" if step == 1 else f"{count} tk-5"
        money = f"{7431 + 400 * (count - 2)}.00"
        assert row == f"{step},{days},days,{money},USD,{changes},1 cv-6k,16 pn-410,1 bt-200,18 rk-a"
    text = " ".join(said.stdout.split())
    assert "<- the budget buys this" in next(line for line in said.stdout.splitlines() if line.startswith("4 "))
    assert "$369.00 is left of $9,000.00. The next step costs 400.00 more." in text
