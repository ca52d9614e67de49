"""``borewatt prices --lists``: a case worked by hand, what is printed, the JSON, and what is refused.

By hand, of the small job of ``refresh_helpers``: every bundle has cv-8k 2,050 + bt-280 2,200 + freight of east 210 and
north 95 = 4,555, cables at 48 and racks at 62, and then

- 12 pn-550 (from 10 pieces on at 189), 14 rk-a, 4 cb-1: 4,555 + 12 x 189 + 868 + 192 = 7,883
- 15 pn-410 at 139, 17 rk-a, 4 cb-1: 4,555 + 2,085 + 1,054 + 192 = 7,886
- 21 pn-300, sold in pairs at 88.50, so 22, 24 rk-a, 6 cb-1: 4,555 + 1,947 + 1,488 + 288 = 8,278

The lists move the panels alone: pn-300 costs 75 in both, which makes its bundle 7,981. In spring pn-550 is 30 cheaper
(7,523) and pn-410 20 dearer (8,186); in autumn pn-550 is 30 dearer (8,243) and pn-410 20 cheaper (7,586). So the extras
are 0 and 657 with pn-550, 663 and 0 with pn-410, and 458 and 395 with pn-300, which is the cheapest of neither list.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS, WRONG_INPUT
from tests.command_line import run
from tests.refresh_helpers import SMALL_JOB, prices, write_jobs
from tests.small_files import CATALOG

SPRING = {("pn-300", "88.50"): "75", ("pn-550", "199"): "169", ("pn-550", "189"): "159", ("pn-410", "139.00"): "159"}
AUTUMN = {("pn-300", "88.50"): "75", ("pn-550", "199"): "229", ("pn-550", "189"): "219", ("pn-410", "139.00"): "119"}
WORDS = ("prices", "--lists", "lists", "jobs/camp/job.toml", "--catalog", "parts")


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A job, its catalogue, and the two lists."""
    write_jobs(tmp_path, ("camp",))
    (tmp_path / "lists").mkdir()
    prices(tmp_path / "lists", "spring.csv", SPRING)
    prices(tmp_path / "lists", "autumn.csv", AUTUMN)
    return tmp_path


def told(home: Path, *words: str) -> dict[str, object]:
    result = run(*WORDS, "--json", "-", *words, cwd=home)
    assert result.stderr == ""
    data: dict[str, object] = json.loads(result.stdout)
    return data


def figures(data: dict[str, object]) -> list[tuple[str | None, ...]]:
    lists = data["lists"]
    assert isinstance(lists, list)
    return [(each["list"], each["cheapest"], each["total"], each["extra"]) for each in lists]


def test_the_middle_way_worked_by_hand(home: Path) -> None:
    data = told(home)
    assert figures(data) == [
        ("autumn.csv", "7586.00", "7981.00", "395.00"), ("spring.csv", "7523.00", "7981.00", "458.00")
    ]  # fmt: skip
    assert data["worst"] == "458.00"
    lists, bundles = data["lists"], data["bundles"]
    assert isinstance(lists, list)
    assert isinstance(bundles, list)
    assert [each["own"]["models"]["panel"] for each in lists] == ["pn-410", "pn-550"]
    assert [(each["own"]["worst"], each["own"]["where"]) for each in lists] == [
        ("663.00", "spring.csv"), ("657.00", "autumn.csv")
    ]  # fmt: skip
    assert bundles[0]["models"] == {"converter": "cv-8k", "panel": "pn-300", "battery": "bt-280", "rack": "rk-a"}
    assert bundles[0]["counts"] == {"converter": 1, "panel": 21, "battery": 1, "rack": 24}


def test_the_screen_says_the_same(home: Path) -> None:
    result = run(*WORDS, cwd=home)
    assert result.exit_code == ANSWERED
    lines = [" ".join(line.split()) for line in result.stdout.splitlines()]
    assert "autumn.csv 1 Oct to 2 Nov 2026 7,586.00 7,981.00 395.00" in lines
    assert "spring.csv 1 Oct to 2 Nov 2026 7,523.00 7,981.00 458.00 worst" in lines
    said = " ".join(lines)
    assert "costs at most $458.00 more than the cheapest of that list, and no bundle has a smaller worst" in said
    assert "It is the cheapest on none of them." in said
    assert "663.00 on spring.csv" in said
    assert "657.00 on autumn.csv" in said
    assert "panel 21 pn-300: " in said
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert "CAUTION" in lines


def test_a_list_that_lacks_the_middle_way_bars_it(home: Path) -> None:
    """With a third list without pn-300, at the old prices, what is left is pn-550: 0, 657 and 0 more."""
    prices(home / "lists", "winter.csv", {("pn-300", "88.50"): None})
    data = told(home)
    assert figures(data) == [
        ("autumn.csv", "7586.00", "8243.00", "657.00"), ("spring.csv", "7523.00", "7523.00", "0.00"),
        ("winter.csv", "7883.00", "7883.00", "0.00"),
    ]  # fmt: skip
    page = " ".join(run(*WORDS, cwd=home).stdout.split())
    assert "It is the cheapest on spring.csv and winter.csv." in page
    assert "7,883.00 7,883.00 0.00 the cheapest here" in page
    assert "spring.csv this one" in page


@pytest.mark.parametrize(
    ("budget", "worst"),
    [
        ("8243", "458.00"),
        ("7981", "458.00"),
        ("7980.99", None),  # each list has a bundle for 7,586, but no bundle is within it at both
    ],
)
def test_the_budget_holds_at_every_list(home: Path, budget: str, worst: str | None) -> None:
    text = SMALL_JOB.replace("[need]\n", f"[need]\nbudget = {budget}\n")
    assert text != SMALL_JOB
    (home / "jobs/camp/job.toml").write_text(text, encoding="utf-8")
    data = told(home)
    assert data["worst"] == worst
    if worst is None:
        result = run(*WORDS, cwd=home)
        assert result.exit_code == NOTHING_MEETS
        page = " ".join(result.stdout.split())
        assert "NO BUNDLE CAN BE BOUGHT AT EVERY LIST proven" in page
        assert "- fails budget on spring.csv" in page


def test_the_cheapest_everywhere_costs_nothing_more(home: Path) -> None:
    (home / "lists/autumn.csv").write_bytes((home / "lists/spring.csv").read_bytes())
    data = told(home)
    assert data["worst"] == "0.00"
    page = " ".join(run(*WORDS, cwd=home).stdout.split())
    assert "Proven: the bundle below is the cheapest on each of these 2 price lists." in page
    assert "worst extra" not in page.partition("cheapest of")[0]
    assert page.count("this one") >= 3


def test_a_list_without_any_bundle_is_named(home: Path) -> None:
    prices(home / "lists", "bare.csv", {("cv-8k", "2050"): None, ("cv-6k", "1480"): None})
    result = run(*WORDS, cwd=home)
    assert result.exit_code == NOTHING_MEETS
    page = " ".join(result.stdout.split())
    assert "NOTHING TO COMPARE proven No bundle meets this job at bare.csv" in page
    assert "bare.csv 1 Oct to 2 Nov 2026 no bundle" in page
    assert "spring.csv 1 Oct to 2 Nov 2026 7,523.00" in page
    assert figures(told(home))[1] == ("bare.csv", None, None, None)


def test_the_json_is_read_by_audit(home: Path) -> None:
    result = run(*WORDS, "--json", "settled.json", cwd=home)
    assert result.exit_code == ANSWERED
    assert result.stdout == run(*WORDS, cwd=home).stdout
    for name, total in (("spring.csv", "7,981.00"), ("autumn.csv", "7,981.00")):
        audited = run("audit", "jobs/camp/job.toml", "settled.json", "--catalog", "parts",
                      "--prices", f"lists/{name}", cwd=home)  # fmt: skip
        assert audited.exit_code == ANSWERED, audited.stdout + audited.stderr
        assert total in audited.stdout


def test_two_runs_write_the_same_bytes(home: Path) -> None:
    first, second = (run(*WORDS, cwd=home).stdout for _ in range(2))
    assert first == second


def test_old_prices_are_called_out_for_each_list(home: Path) -> None:
    page = " ".join(run(*WORDS, "--max-age", "30", cwd=home).stdout.split())
    for name in ("autumn", "spring"):
        assert f"lists/{name}.csv row 2: 3 of 14 offers are more than 30 days old on 2026-11-02" in page


# what stands in for another at one list's prices alone -----------------------------------------------------------

ALIKE = {"-a": ("300", "300"), "-b": ("200", "400"), "-c": ("400", "200")}  # in spring and in autumn


def alike(home: Path, kind: str, row: str, job: str, dearer: dict[str, tuple[str, str]]) -> dict[str, object]:
    """Settled with parts of equal figures, all from north, by the end of their names: what each costs at both lists;
    everything else costs the same at both, so that the bundle is that of 7,883 with one of them."""
    table = CATALOG[f"{kind}.csv"].splitlines()[0]
    rows = [row.format(end) for end in dearer]
    (home / f"parts/{kind}.csv").write_text("\n".join([table, *rows]) + "\n", encoding="utf-8")
    (home / "jobs/camp/job.toml").write_text(job, encoding="utf-8")
    for place, name in enumerate(("spring", "autumn")):
        lines = [f"{row.split('{')[0]}{end},north,{each[place]},USD,,,,2026-11-02" for end, each in dearer.items()]
        text = CATALOG["prices.csv"] + "\n".join(lines) + "\n"
        (home / f"lists/{name}.csv").write_text(text, encoding="utf-8")
    return told(home)


def tanks_of(home: Path, dearer: dict[str, tuple[str, str]]) -> dict[str, object]:
    """Half a day of 9,000 L is to be stored, and a tank holds 5,000 L of which 95 % can be drawn; there
    is room for one, less than a day's water, which changes nothing else."""
    return alike(home, "tanks", "tk{},5000,,1800", SMALL_JOB + "\n[water]\nreserve_days = 0.5\nmax_tanks = 1\n", dearer)


def bundle_of(data: dict[str, object]) -> dict[str, object]:
    bundles = data["bundles"]
    assert isinstance(bundles, list)
    bundle: dict[str, object] = bundles[0]
    return bundle


def test_a_tank_that_is_the_best_buy_at_no_list_may_be_the_one_to_settle_on(home: Path) -> None:
    """tk-b is 100 cheaper than tk-a in spring and tk-c in autumn, each dearer by 100 in the other."""
    data = tanks_of(home, ALIKE)
    assert bundle_of(data)["tanks"] == {"tk-a": 1}
    assert figures(data) == [
        ("autumn.csv", "8083.00", "8183.00", "100.00"), ("spring.csv", "8083.00", "8183.00", "100.00")
    ]  # fmt: skip


def test_of_one_worst_extra_the_least_sum_goes_first(home: Path) -> None:
    """tk-d costs 300 in spring as tk-a does, and 250 in autumn: 100 and 50 beyond the cheapest."""
    data = tanks_of(home, {**ALIKE, "-d": ("300", "250")})
    assert bundle_of(data)["tanks"] == {"tk-d": 1}
    assert figures(data) == [
        ("autumn.csv", "8083.00", "8133.00", "50.00"), ("spring.csv", "8083.00", "8183.00", "100.00")
    ]  # fmt: skip


def test_a_starter_that_is_the_best_buy_at_no_list_may_be_the_one_to_settle_on(home: Path) -> None:
    """Directly the pump starts at 55 A, 13,200 VA: with the lights 1.25 x 13,500 = 16,875 of 16,000 VA. One of these
    leaves 0.8 of it, 1.25 x (10,560 + 300) = 13,575 VA, and at the end of a cable that loses 0.1 of the volts 0.8 x
    (1 - 0.1) = 0.72 of them, 0.55 asked. The bank: (13,575 / 0.93 + 70) / 44.8 = 327 of 400 A, 51.2 - 327 x 0.018 =
    45.3 of 44.8 V. The converter that would do for the softer start is barred."""
    job = SMALL_JOB.replace("daytime = 0.8\n", "daytime = 0.8\ncable_drop = 0.1\n", 1).replace('"41 A"', '"55 A"')
    job += '\n[allow]\nexclude = ["cv-6k"]\n'
    data = alike(home, "starters", "st{},soft,1,16,0.8,1.5,,three-wire;psc,200,250", job, ALIKE)
    assert bundle_of(data)["starters"] == {"bore pump": "st-a"}
    assert data["worst"] == "100.00"
    assert [(total, extra) for _, _, total, extra in figures(data)] == [("8183.00", "100.00"), ("8183.00", "100.00")]


# what is refused ---------------------------------------------------------------------------------------------------


def refused(home: Path, *words: str) -> str:
    result = run(*words, cwd=home)
    assert result.exit_code == WRONG_INPUT
    assert result.stdout == ""
    return " ".join(result.stderr.split())


def test_fewer_than_two_lists(home: Path) -> None:
    (home / "lists/spring.csv").unlink()
    assert "lists: there is 1 CSV file in it. Expected two price lists or more" in refused(home, *WORDS)
    (home / "lists/autumn.csv").unlink()
    assert "lists: there are 0 CSV files in it." in refused(home, *WORDS)


def test_a_folder_that_is_not_there(home: Path) -> None:
    said = refused(home, "prices", "--lists", "nowhere", "jobs/camp/job.toml", "--catalog", "parts")
    assert "nowhere: there is no such folder." in said


def test_a_file_that_is_no_price_list_and_parts_that_are_not_there(home: Path) -> None:
    """Of both files at once, each with its place; what is wrong in the catalogue itself is said once."""
    (home / "lists/panels.csv").write_text(CATALOG["panels.csv"], encoding="utf-8")
    text = (home / "lists/spring.csv").read_text(encoding="utf-8").replace("rk-b,", "rk-x,")
    (home / "lists/spring.csv").write_text(text, encoding="utf-8")
    said = refused(home, *WORDS)
    assert "lists/panels.csv" in said
    assert "seller" in said
    assert "lists/spring.csv row 13" in said
    assert "rk-x" in said
    text = (home / "parts/racks.csv").read_text(encoding="utf-8").replace("1200,2400", "wide,2400")
    (home / "parts/racks.csv").write_text(text, encoding="utf-8")
    assert refused(home, *WORDS).count("racks.csv row 2") == 1


def test_two_currencies(home: Path) -> None:
    text = (home / "lists/spring.csv").read_text(encoding="utf-8").replace("USD", "XTS")
    (home / "lists/spring.csv").write_text(text, encoding="utf-8")
    said = refused(home, *WORDS)
    assert "lists/spring.csv: its prices are in XTS, those of lists/autumn.csv in USD." in said


def test_a_seller_that_one_list_knows_is_no_slip(home: Path) -> None:
    text = SMALL_JOB + '\n[allow]\nsellers = ["north", "east", "south", "dock"]\n'
    (home / "jobs/camp/job.toml").write_text(text, encoding="utf-8")
    assert "dock" in refused(home, *WORDS)
    with (home / "lists/spring.csv").open("a", encoding="utf-8") as file:
        file.write("rk-b,dock,70,USD,,,,2026-11-02\n")
    assert told(home)["worst"] == "458.00"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("prices", "one.csv"), "Missing argument NEW.csv"),
        ((*WORDS[:4], "two.csv"), "two.csv: with --lists only the job is named."),
        ((*WORDS, "--jobs", "jobs"), "--jobs: with --lists only the job that is named is looked at."),
        (("prices", "--lists", "lists", "nowhere.toml", "--catalog", "parts"), "nowhere.toml"),
    ],
)
def test_arguments_that_do_not_go_together(home: Path, words: tuple[str, ...], said: str) -> None:
    assert said in refused(home, *words)
