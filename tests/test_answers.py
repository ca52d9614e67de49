"""The questions from Python: what a command prints is what the writers make of the answer, and nothing more."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import chdir
from dataclasses import FrozenInstanceError
from pathlib import Path

import pytest

from catalog.reader import Catalog, read_catalog
from optimizer import answers
from optimizer.answers.answer import Answer
from optimizer.answers.refreshed_job import JobStatus
from optimizer.answers.stair_quantity import StairQuantity
from optimizer.bundles.kept_answer import read_kept, sealed
from optimizer.inputs.job import Job
from optimizer.inputs.job_reader import read_job
from optimizer.vocabulary.problems import InputError
from optimizer.writing.data.answer_json import document
from optimizer.writing.data.least_regret_json import settled_data
from optimizer.writing.data.price_changes_json import moves_data
from optimizer.writing.data.staircase_csv import stairs_csv
from optimizer.writing.html.render import answer_html, staircase_html, verdicts_html
from optimizer.writing.text.afford import afford_page
from optimizer.writing.text.audit import verdict_page
from optimizer.writing.text.least_regret import settled_page
from optimizer.writing.text.measure import measured_page
from optimizer.writing.text.pick import page
from optimizer.writing.text.price_changes import moves_page
from optimizer.writing.text.why import why_page
from optimizer.writing.words.json_figures import json_text
from tests.command_line import run
from tests.refresh_helpers import prices, write_jobs

JOB, CATALOG = "jobs/camp/job.toml", "parts"


@pytest.fixture
def home(tmp_path: Path) -> Iterator[Path]:
    """A folder with a job and its catalogue, in which the test stands."""
    write_jobs(tmp_path, ("camp",))
    with chdir(tmp_path):
        yield tmp_path


def given() -> tuple[Job, Catalog]:
    return read_job(JOB), read_catalog(CATALOG)


def said(*words: str) -> str:
    result = run(*words, "--catalog", CATALOG)
    assert result.stderr == ""
    return result.stdout


def test_pick(home: Path) -> None:
    answer = answers.pick(*given(), options=2, never=["pn-550"])
    words = ("pick", JOB, "--options", "2", "--never", "pn-550", "--json", "a.json", "--page", "a.html")
    assert page(answer) == said(*words)
    assert document(answer) == Path("a.json").read_text(encoding="utf-8")
    assert answer_html(answer) == Path("a.html").read_text(encoding="utf-8")
    assert answer.proven and not answer.impossible
    assert [option.cents for option in answer.options][0] == 788600  # 15 pn-410, see refresh_helpers


def test_pick_that_nothing_meets(home: Path) -> None:
    answer = answers.pick(*given(), never=["bt-200", "bt-280", "bt-agm"])
    assert page(answer) == said("pick", JOB, *(f"--never={part}" for part in ("bt-200", "bt-280", "bt-agm")))
    assert answer.impossible and not answer.proven and answer.why.conflict is not None


def test_pick_from_few_sellers(home: Path) -> None:
    answer = answers.pick(*given(), options=1, fewest_sellers=True)
    assert page(answer) == said("pick", JOB, "--options", "1", "--fewest-sellers")
    assert answer.terms.most_sellers == 2


def test_why(home: Path) -> None:
    assert why_page(answers.why(*given())) == said("why", JOB)


def test_why_not_a_part_nor_a_file(home: Path) -> None:
    job, catalog = given()
    assert why_page(answers.why(job, catalog, "pn-410")) == said("why", JOB, "--not", "pn-410")
    said("pick", JOB, "--options", "2", "--json", "a.json")
    by_file = answers.why(job, catalog, "a.json#2")
    assert why_page(by_file) == said("why", JOB, "--not", "a.json#2")
    second = answers.pick(job, catalog, options=2).options[1].bundle
    by_bundle = answers.why(job, catalog, second)
    assert by_bundle.why.instead is not None and by_file.why.instead is not None
    assert by_bundle.why.instead.verdict.cents == by_file.why.instead.verdict.cents  # type: ignore[union-attr]


@pytest.mark.parametrize(("most", "to"), [("autonomy", 1.2), ("water", 110.0), ("reserve", 100.0)])
def test_afford(home: Path, most: str, to: float) -> None:
    found = answers.afford(*given(), budget=9000, most=most, to=to)
    words = ("--csv", "a.csv", "--page", "a.html")
    assert afford_page(found) == said("afford", JOB, "--budget", "9000", "--most", most, "--to", str(to), *words)
    assert stairs_csv(found) == Path("a.csv").read_text(encoding="utf-8")
    assert staircase_html(found) == Path("a.html").read_text(encoding="utf-8")
    assert found.quantity is StairQuantity(most)
    assert found.stairs[0].cents == 788300 and found.stairs[0].audit.passes


def test_afford_what_nothing_meets(home: Path) -> None:
    found = answers.afford(*given(), never=["bt-200", "bt-280", "bt-agm"])
    assert found.stairs == () and found.shown.impossible
    assert page(found.shown) == said("afford", JOB, *(f"--never={part}" for part in ("bt-200", "bt-280", "bt-agm")))


@pytest.mark.parametrize("wrong", [{"budget": 10.001}, {"most": "sun"}])
def test_afford_of_wrong_figures(home: Path, wrong: dict[str, object]) -> None:
    with pytest.raises(ValueError):
        answers.afford(*given(), **wrong)  # type: ignore[arg-type]


def test_audit(home: Path) -> None:
    job, catalog = given()
    said("pick", JOB, "--options", "2", "--json", "a.json")
    judged = answers.audit(job, catalog, ["a.json#1", Path("a.json#2")])
    assert verdict_page(judged) == said("audit", JOB, "a.json#1", "a.json#2", "--page", "a.html")
    assert verdicts_html(judged) == Path("a.html").read_text(encoding="utf-8")
    assert judged.passes and [verdict.cents for verdict in judged.verdicts] == [788300, 788600]


def test_audit_tells_the_problems_of_all_files(home: Path) -> None:
    with pytest.raises(InputError) as wrong:
        answers.audit(*given(), ["nowhere.toml", "nor-here.json"])
    assert [problem.place.file for problem in wrong.value.problems] == ["nor-here.json", "nowhere.toml"]


def test_bundles_of_one_name_are_told_apart(home: Path) -> None:
    job, catalog = given()
    best = answers.pick(job, catalog, options=1).options[0].bundle
    names = [verdict.bundle.name for verdict in answers.audit(job, catalog, [best, best]).verdicts]
    assert len(set(names)) == 2


def test_measure() -> None:
    found = answers.measure(voltage="240 V", running="8.1 A", inrush="41 A")
    result = run("measure", "--voltage", "240 V", "--running", "8.1 A", "--inrush", "41 A")
    assert measured_page(found) == result.stdout
    with pytest.raises(TypeError, match="amps"):
        answers.measure(amps="8")


def test_price_changes(home: Path) -> None:
    new = prices(home, "new.csv", {("pn-550", "189"): "199"})
    found = answers.price_changes("parts/prices.csv", new.name, read_catalog(CATALOG))
    assert moves_page(found) == said("prices", "parts/prices.csv", "new.csv", "--json", "a.json")
    assert json_text(moves_data(found)) == Path("a.json").read_text(encoding="utf-8")
    assert [(move.part, move.before, move.after) for move in found.moves] == [("pn-550", 18900, 19900)]


def test_price_changes_of_two_currencies(home: Path) -> None:
    text = Path("parts/prices.csv").read_text(encoding="utf-8").replace("USD", "EUR")
    Path("new.csv").write_text(text, encoding="utf-8")
    with pytest.raises(ValueError):
        answers.price_changes("parts/prices.csv", "new.csv")


def test_least_regret(home: Path) -> None:
    (home / "lists").mkdir()
    for name, price in (("autumn.csv", "219"), ("spring.csv", "159")):
        prices(home / "lists", name, {("pn-550", "189"): price})
    lists = {path.name: read_catalog(CATALOG, path) for path in sorted((home / "lists").iterdir())}
    found = answers.least_regret(read_job(JOB), lists)
    assert settled_page(found) == said("prices", JOB, "--lists", "lists", "--json", "a.json")
    assert json_text(settled_data(found)) == Path("a.json").read_text(encoding="utf-8")
    assert found.shown is not None and found.names == ("autumn.csv", "spring.csv")


def test_refresh(home: Path) -> None:
    """The answer that is kept, the page beside it, and what became of the job, as the command has them."""
    job, catalog = given()
    first = answers.refresh(job, catalog)
    assert first.outcome.status is JobStatus.NEW and first.explained is None
    said("refresh", "jobs")
    kept = Path("jobs/camp/job.answer.json")
    text = kept.read_text(encoding="utf-8")
    assert sealed(document(first.answer), read_kept(text).inputs) == text
    dearer = read_catalog(CATALOG, prices(home, "new.csv", {("pn-550", "189"): "199"}))
    again = answers.refresh(job, dearer, kept, explained=True)
    assert (again.outcome.status, again.outcome.before, again.outcome.cents) == (JobStatus.CHANGED, 788300, 788600)
    assert again.outcome.keeping is not None and again.outcome.keeping.cents == 800300
    said("refresh", "jobs", "--prices", "new.csv", "--page", "jobs.html")
    text = kept.read_text(encoding="utf-8")
    assert again.explained is not None
    made = answer_html(again.explained, seal=read_kept(text).seal)
    assert made == kept.with_suffix(".html").read_text(encoding="utf-8")
    with pytest.raises(OSError):
        answers.refresh(job, catalog, "nowhere.json")


def test_an_answer_is_frozen(home: Path) -> None:
    answer: Answer = answers.pick(*given(), options=1)
    with pytest.raises(FrozenInstanceError):
        answer.options = ()  # type: ignore[misc]
