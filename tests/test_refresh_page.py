"""The page of a folder of jobs, and beside each kept answer that answer as a page.

Every total is worked out by hand from ``small_files``: see ``refresh_helpers``.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from urllib.parse import unquote

import pytest

from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS, WRONG_INPUT
from tests.command_line import run
from tests.refresh_helpers import SMALL_JOB, answers, prices, write_jobs
from tests.sheets import Node, parsed, table


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Jobs of every sort, the first two answered at the old prices: one goes on, one is lost, one is wrong."""
    jobs = write_jobs(tmp_path, ("nursery", "tight"))
    tight = jobs / "tight" / "job.toml"
    tight.write_text(tight.read_text().replace("[need]", "[need]\nbudget = 7890"), encoding="utf-8")
    assert run("refresh", jobs, "--catalog", tmp_path / "parts").exit_code == ANSWERED
    (jobs / "broken.toml").write_text("[site]\n[[load]]\n", encoding="utf-8")
    return jobs


def refreshed(folder: Path, *words: str | Path, sheet: str = "table.html", code: int = ANSWERED) -> Node:
    """A refresh of the folder, as if typed beside it; its page."""
    result = run("refresh", folder.name, "--catalog", "parts", "--page", sheet, *words, cwd=folder.parent)
    assert result.exit_code == code, result.stderr
    return parsed((folder.parent / sheet).read_text(encoding="utf-8"))


def links(page: Node) -> dict[str, str]:
    """Where the jobs of a table lead, by the job."""
    return {link.text: link.attributes["href"] for link in page.all("a")}


def test_each_job_before_and_after_with_the_way_to_its_page(folder: Path, tmp_path: Path) -> None:
    """14 rk-a at 64.50 and the battery 5.00 less: 30.00 more, and tight's budget is 7,890."""
    new = prices(tmp_path, "new.csv", {("rk-a", "62"): "64.50", ("bt-280", "2200"): "2195"})
    page = refreshed(folder, "--prices", new, code=WRONG_INPUT)
    rows = {row[0]: row[1:] for row in table(page, "jobs").rows}
    assert list(rows) == ["broken", "nursery", "tight"]
    moves = "+30.00: rk-a 62.00 -> 64.50, bt-280 2,200.00 -> 2,195.00"
    assert rows["nursery"] == ["dearer", "7,883.00", "7,913.00", moves]
    assert rows["tight"][:3] == ["lost", "7,883.00", ""]
    assert "the budget is 7,890.00" in rows["tight"][3]
    assert rows["broken"][:3] == ["wrong", "", ""]
    assert "jobs/broken.toml" in rows["broken"][3]
    assert "3 jobs: 1 answered, 1 not possible, 1 wrong. 2 answers written." in page.text
    assert "Catalogue parts." in page.text
    assert links(page) == {"nursery": "jobs/nursery/job.answer.html", "tight": "jobs/tight/job.answer.html"}
    nursery = parsed((folder / "nursery/job.answer.html").read_text(encoding="utf-8"))
    assert "$7,913.00 delivered" in nursery.text
    assert "No bundle meets this job" in (folder / "tight/job.answer.html").read_text(encoding="utf-8")
    assert not (folder / "broken.answer.html").exists()


def test_the_pages_are_those_of_a_pick(folder: Path) -> None:
    refreshed(folder, code=WRONG_INPUT)
    run("pick", "jobs/nursery/job.toml", "--catalog", "parts", "--options", "1", "--page", "own.html",
        cwd=folder.parent)  # fmt: skip
    own = (folder.parent / "own.html").read_text(encoding="utf-8")
    page = (folder / "nursery/job.answer.html").read_text(encoding="utf-8")
    seal = json.loads((folder / "nursery/job.answer.json").read_text())["inputs"]["answer"]
    assert page.replace(f'<meta name="answer" content="{seal}">\n', "") == own


def test_the_answers_are_the_same_bytes_without_pages(folder: Path) -> None:
    before = answers(folder)
    refreshed(folder, code=WRONG_INPUT)
    kept = {name: data for name, data in answers(folder).items() if name.endswith(".json")}
    assert kept == before


def test_pages_that_are_there_stay_and_others_are_written_anew(folder: Path) -> None:
    (folder / "broken.toml").unlink()
    refreshed(folder)
    first = answers(folder)
    page = refreshed(folder)
    assert [row[4] for row in table(page, "jobs").rows] == ["up to date"] * 2
    assert all((folder.parent / href).is_file() for href in links(page).values())
    assert answers(folder) == first
    mine, other = folder / "nursery/job.answer.html", folder / "tight/job.answer.html"
    mine.unlink()
    other.write_text(other.read_text().replace("sha256:", "sha256:0"), encoding="utf-8")
    result = run("refresh", "jobs", "--catalog", "parts", cwd=folder.parent)
    assert result.stdout.count("up to date") == 2
    assert not mine.exists()
    refreshed(folder)
    assert answers(folder) == first


def test_a_dry_run_writes_the_table_alone(folder: Path, tmp_path: Path) -> None:
    before = answers(folder)
    new = prices(tmp_path, "new.csv", {("rk-a", "62"): "63"})
    page = refreshed(folder, "--prices", new, "--dry-run", code=WRONG_INPUT)
    assert links(page) == {}
    assert "2 answers would be written." in page.text
    assert answers(folder) == before


def test_names_stay_names(tmp_path: Path) -> None:
    name = 'north <b>&" #1?%20'
    folder = write_jobs(tmp_path, (name,), SMALL_JOB)
    page = refreshed(folder, sheet="jobs/table.html")
    assert table(page, "jobs").column("job") == [name]
    [href] = links(page).values()
    assert re.fullmatch(r"[A-Za-z0-9%/._-]+", href)
    assert (folder / unquote(href)).is_file()


def test_where_a_page_cannot_be_written(folder: Path) -> None:
    (folder / "broken.toml").unlink()
    (folder / "tight/job.answer.html").mkdir()
    page = refreshed(folder, code=WRONG_INPUT)
    rows = {row[0]: row[1:] for row in table(page, "jobs").rows}
    assert rows["tight"][0] == "wrong"
    assert "jobs/tight/job.answer.html" in rows["tight"][3]
    assert rows["nursery"][0] == "same"
    assert list(links(page)) == ["nursery"]


def test_a_page_is_no_place_for_the_table(folder: Path) -> None:
    words = ("refresh", folder, "--catalog", folder.parent / "parts", "--page")
    taken = run(*words, folder / "nursery/job.answer.html")
    assert taken.exit_code == WRONG_INPUT
    assert "the page of a job itself is written there" in taken.stderr
    nowhere = run(*words, folder / "nowhere/table.html")
    assert nowhere.exit_code == WRONG_INPUT
    assert "there is no folder" in nowhere.stderr


def test_a_job_that_nothing_meets_says_why_when_it_is_up_to_date_too(tmp_path: Path) -> None:
    """Two limits that leave nothing: 30 days without sun, and hardly any money."""
    text = SMALL_JOB.replace("[need]", "[need]\nbudget = 100").replace("autonomy_days = 1", "autonomy_days = 30")
    folder = write_jobs(tmp_path, ("camp",), text)
    said = []
    for _ in range(2):
        page = refreshed(folder, code=NOTHING_MEETS)
        [row] = table(page, "jobs").rows
        said.append(row[4])
    assert said[1] == f"{said[0]}; up to date"
    assert "nothing meets" in said[0] or "the budget is" in said[0]
