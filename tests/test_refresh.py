"""A folder of jobs answered again when the price list is new: what is told of each job, and what is written.

Every total is worked out by hand from ``small_files``: see ``refresh_helpers``.
"""

from __future__ import annotations

import json
import re
import shutil
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from catalog.reader import Catalog
from optimizer.answers import questions
from optimizer.answers.answer import Answer, audited
from optimizer.bundles import kept_answer
from optimizer.candidates.terms import SearchTerms
from optimizer.commands import failures, output
from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS, WRONG_INPUT
from optimizer.inputs.job import Job
from optimizer.rules.limits import RULES_VERSION
from optimizer.search import branch_and_bound
from optimizer.search.branch_and_bound import Pick
from tests.command_line import run
from tests.refresh_helpers import SMALL_JOB, TOTAL, answers, prices, told, write_jobs
from tests.small_files import CATALOG, cells_of, changed, csv_text, write_catalog


@pytest.fixture
def jobs(tmp_path: Path) -> Path:
    """One job that was answered at the old prices."""
    folder = write_jobs(tmp_path, ("nursery",))
    assert run("refresh", folder, "--catalog", tmp_path / "parts").exit_code == ANSWERED
    return folder


def line(jobs: Path, *words: str | Path) -> str:
    """The page on one line, words one space apart."""
    result = run("refresh", "jobs", "--catalog", "parts", *words, cwd=jobs.parent)
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return " ".join(result.stdout.split())


# what is told of a job ---------------------------------------------------------------------------------------------


def test_a_new_job_then_up_to_date(tmp_path: Path) -> None:
    folder = write_jobs(tmp_path, ("nursery",))
    assert "new nursery 7,883.00 no kept answer" in line(folder)
    before = answers(folder)
    assert list(before) == ["nursery/job.answer.json"]
    assert "same nursery 7,883.00 up to date 1 job: 1 answered. No answer written." in line(folder)
    assert answers(folder) == before


def test_the_answer_is_the_contract_with_what_it_rests_on(jobs: Path) -> None:
    content = json.loads((jobs / "nursery/job.answer.json").read_text())
    picked = run("pick", jobs / "nursery/job.toml", "--catalog", jobs.parent / "parts", "--options", "1", "--json", "-")
    plain = json.loads(picked.stdout)
    assert content["bundles"] == plain["bundles"]
    assert content["inputs"].items() > plain["inputs"].items()
    assert content["inputs"]["options"] == 1
    assert re.fullmatch("sha256:[0-9a-f]{64}", content["inputs"]["answer"])
    assert content["bundles"][0]["total"] == TOTAL


def test_same_where_no_part_moved(jobs: Path, tmp_path: Path) -> None:
    new = prices(tmp_path, "new.csv", {("bt-agm", "310"): "390"})
    assert "same nursery 7,883.00 no part of it moved" in line(jobs, "--prices", new)


def test_same_where_moves_cancel_out(jobs: Path, tmp_path: Path) -> None:
    """14 racks a dollar up, the converter 14 down."""
    new = prices(tmp_path, "new.csv", {("rk-a", "62"): "63", ("cv-8k", "2050"): "2036"})
    said = line(jobs, "--prices", new)
    assert "same nursery 7,883.00 comes to the same: cv-8k 2,050.00 -> 2,036.00, rk-a 62.00 -> 63.00" in said


def test_dearer_names_the_prices_that_moved_it(jobs: Path, tmp_path: Path) -> None:
    """14 rk-a at 63: 14.00 more; the battery 30.00 less would not show before a rise of 20.00 a rack."""
    new = prices(tmp_path, "new.csv", {("rk-a", "62"): "64.50", ("bt-280", "2200"): "2195"})
    said = line(jobs, "--prices", new)
    assert "dearer nursery 7,913.00 +30.00: rk-a 62.00 -> 64.50, bt-280 2,200.00 -> 2,195.00" in said


def test_cheaper_by_a_seller_that_became_cheaper_and_its_freight(jobs: Path, tmp_path: Path) -> None:
    """North sells the converter for 1,900: 150.00 less. South is not needed, east still is, for the battery."""
    rows = cells_of(CATALOG["prices.csv"])
    rows.append(["cv-8k", "north", "1900", "USD", "", "", "", "2026-11-20"])
    new = tmp_path / "new.csv"
    new.write_text(csv_text(rows), encoding="utf-8")
    assert "cheaper nursery 7,733.00 -150.00: cv-8k 2,050.00 (east) -> 1,900.00 (north)" in line(jobs, "--prices", new)


def test_freight_that_moved(jobs: Path) -> None:
    write_catalog(jobs.parent / "parts", changed("sellers.csv", "east", "freight", "235.00"))
    assert "dearer nursery 7,908.00 +25.00: freight of east 210.00 -> 235.00" in line(jobs)


def test_pieces_that_are_in_packs_now(jobs: Path, tmp_path: Path) -> None:
    """4 cb-1 are needed and come in packs of 5: 48.00 more, which no single price tells."""
    new = prices(tmp_path, "new.csv", {("cb-1", ""): "5"}, column="pack")
    assert "dearer nursery 7,931.00 +48.00: cb-1 192.00 -> 240.00 in all" in line(jobs, "--prices", new)


def test_changed_and_what_keeping_costs(jobs: Path, tmp_path: Path) -> None:
    """pn-550 at 199 in any number: 12 of them 120.00 dearer, 8,003.00; with 15 pn-410 it is 7,886.00."""
    new = prices(tmp_path, "new.csv", {("pn-550", "189"): "199"})
    said = line(jobs, "--prices", new)
    assert (
        "changed nursery 7,886.00 12 pn-550 out, 15 pn-410 in, rk-a: 14 -> 17; keeping the old bundle 8,003.00, "
        "117.00 more" in said
    )
    job = told(jobs, "--prices", new, "--catalog", tmp_path / "parts", "--dry-run")["jobs"]["nursery"]
    assert job["status"] == "same"  # it was answered just now


def test_changed_where_the_old_bundle_breaks_a_limit_now(jobs: Path) -> None:
    """A bank of 268 Ah carries 268 / 280 of what it did: 1.04 days become less than the one that is asked."""
    write_catalog(jobs.parent / "parts", changed("batteries.csv", "bt-280", "capacity_ah", "268"))
    said = line(jobs)
    assert "changed nursery" in said
    assert "the old bundle would cost 7,883.00 and breaks autonomy (0.01 d short, January)" in said


@pytest.mark.parametrize(
    ("column", "moves", "why"),
    [
        ("price", {("bt-280", "2200"): None}, "bt-280: no seller"),
        ("stock", {("bt-280", ""): "0"}, "bt-280: too little in stock"),
        ("stock", {("rk-a", ""): "13"}, "rk-a: too little in stock"),
    ],
)
def test_changed_where_the_old_bundle_cannot_be_had(
    jobs: Path, tmp_path: Path, column: str, moves: dict[tuple[str, str], str | None], why: str
) -> None:
    rows = prices(tmp_path, "new.csv", moves, column)
    if "rk-a" in why:  # the roof rack would do
        job = jobs / "nursery/job.toml"
        job.write_text(job.read_text().replace('mounts = ["ground-ballast"]', 'mounts = ["ground-ballast", "roof"]'))
    said = line(jobs, "--prices", rows)
    assert "changed nursery" in said
    assert f"the old bundle cannot be had: {why}" in said


def test_a_seller_that_the_job_no_longer_allows(jobs: Path) -> None:
    job = jobs / "nursery/job.toml"
    job.write_text(job.read_text() + '\n[allow]\nsellers = ["north", "south"]\n')
    said = line(jobs)
    assert "lost nursery - the old bundle cannot be had: cv-8k: no seller that the job allows" in said


def test_a_part_that_left_the_catalogue(jobs: Path) -> None:
    files = {**CATALOG}
    for name in ("batteries.csv", "prices.csv"):
        files[name] = "\n".join(row for row in files[name].splitlines() if not row.startswith("bt-280")) + "\n"
    write_catalog(jobs.parent / "parts", files)
    said = line(jobs)
    # two bt-200 at 1,690 in place of one bt-280: 1,180.00 more
    assert "changed nursery 9,063.00 bt-280 out, 2 bt-200 in; the old bundle cannot be had" in said
    assert "bt-280: no longer in the catalogue" in said


def test_lost_and_why(jobs: Path, tmp_path: Path) -> None:
    new = prices(tmp_path, "new.csv", {("cv-8k", "2050"): None, ("cv-6k", "1480"): None})
    result = run("refresh", jobs, "--catalog", tmp_path / "parts", "--prices", new)
    said = " ".join(result.stdout.split())
    assert result.exit_code == NOTHING_MEETS
    assert "lost nursery - the old bundle cannot be had: cv-8k: no seller; of what can be had nothing" in said
    assert "1 job: 0 answered, 1 not possible. 1 answer written." in said
    resolver = run("refresh", jobs, "--catalog", tmp_path / "parts", "--prices", new)
    assert resolver.exit_code == NOTHING_MEETS
    assert "lost nursery - of what can be had nothing makes a bundle; up to date" in " ".join(resolver.stdout.split())
    back = line(jobs)
    assert "new nursery 7,883.00 nothing met it before" in back


def test_lost_to_the_budget_alone(jobs: Path, tmp_path: Path) -> None:
    job = jobs / "nursery/job.toml"
    job.write_text(job.read_text().replace("[need]\n", "[need]\nbudget = 7890\n"))
    assert "same nursery 7,883.00" in line(jobs)
    new = prices(tmp_path, "new.csv", {("cb-1", "48"): "50"})  # 4 of them: 7,891.00
    said = line(jobs, "--prices", new)
    assert "the old bundle would cost 7,891.00 and breaks budget (1.00 over)" in said
    assert "the cheapest there is costs 7,891.00, the budget is 7,890.00" in said
    assert "- the cheapest there is costs 7,891.00, the budget is 7,890.00; up to date" in line(jobs, "--prices", new)


def test_a_job_that_changed_so_that_the_old_bundle_cannot_be_read(jobs: Path, tmp_path: Path) -> None:
    """Another load on a leg: the plan of the legs that was kept does not place it."""
    job = jobs / "nursery/job.toml"
    more = '[[load]]\nname = "fan"\nvoltage = "120 V"\nrunning = "60 W"\nhours_per_day = "1 h"\n\n[need]\n'
    job.write_text(job.read_text().replace("[need]\n", more))
    new = prices(tmp_path, "new.csv", {("pn-550", "189"): "199"})
    said = line(jobs, "--prices", new)
    assert "changed nursery" in said
    assert "the old bundle cannot be read: jobs/nursery/job.answer.json (bundles 1.legs)" in said


def test_starters_and_tanks_are_swapped_too(tmp_path: Path) -> None:
    """cv-6k 1,480 + bt-200 1,690 + freight 210; 11 pn-550 2,079 + 13 rk-a 806 + 4 cb-1 192 + freight 95: 6,552.00.

    With a starter at 150 and two tanks of 5,000 L at 400: 7,502.00; one of 10,000 L at 700 holds the same. The starter
    leaves 70 % of the volts while the amps peak, 63 % at the end of the cable.
    """
    asked = SMALL_JOB.replace("[need]\n", "[water]\nreserve_days = 1\nmax_tanks = 2\n\n[need]\n")
    asked = asked.replace('"41 A"', '"80 A"\ncable_drop = 0.1')
    folder, parts = write_jobs(tmp_path, ("nursery",), asked), tmp_path / "parts"
    offers = (parts / "prices.csv").read_text() + "tk-5,north,400,USD,,,,2026-11-02\n"
    starter = "st-1,north,150,USD,,,,2026-11-02\n"
    (parts / "prices.csv").write_text(offers + starter)
    starters = (parts / "starters.csv").read_text().replace("factor,", "factor,start_volts_pct,")
    (parts / "starters.csv").write_text(starters.replace(",0.5,", ",0.5,70,"))
    assert "new nursery 7,502.00" in line(folder)
    (parts / "tanks.csv").write_text((parts / "tanks.csv").read_text() + "tk-10,10000,,2500\n")
    offers += "tk-10,north,700,USD,,,,2026-11-02\n"
    (parts / "prices.csv").write_text(offers + starter.replace("150", "160"))
    said = line(folder)
    assert "changed nursery 7,412.00 2 tk-5 out, tk-10 in; keeping the old bundle 7,512.00, 100.00 more" in said
    (parts / "prices.csv").write_text(offers)
    (parts / "starters.csv").unlink()
    said = line(folder)
    assert "st-1 out for bore pump" in said
    assert "the old bundle cannot be had: st-1: no longer in the catalogue" in said


# wrong jobs and other files ----------------------------------------------------------------------------------------


def test_a_broken_job_stops_no_other(tmp_path: Path) -> None:
    folder = write_jobs(tmp_path, ("camp", "dam", "mill", "orchard"))
    sun = re.search(r"sun_hours = .*", SMALL_JOB)
    assert sun is not None
    dam = SMALL_JOB.replace(sun.group(), "sun_hours = [3.1, 3.9]")
    (folder / "dam/job.toml").write_text(dam)
    (folder / "mill/job.toml").write_text("[site]\n[[load]]\nname = \n")  # no TOML, and a job all the same
    (folder / "note.toml").write_text('[site]\nname = "no loads here"\n')
    (folder / ".old").mkdir()
    (folder / ".old/job.toml").write_text(SMALL_JOB)
    result = run("refresh", "jobs", "--catalog", "parts", cwd=tmp_path)
    said = " ".join(result.stdout.split())
    assert result.exit_code == WRONG_INPUT
    place = rf"dam/job.toml line {dam[: dam.index('sun_hours')].count(chr(10)) + 1} \(site.sun_hours\)"
    assert re.search(rf"wrong dam - jobs/{place}: \S+ \S+ Expected one value or twelve; there are 2.", said)
    assert re.search(r"wrong mill - jobs/mill/job.toml line 3", said)
    assert "4 jobs: 2 answered, 2 wrong. 2 answers written. 1 other .toml file." in said
    assert list(answers(folder)) == ["camp/job.answer.json", "orchard/job.answer.json"]


def test_a_broken_price_list_is_said_of_each_job_and_old_answers_stay(jobs: Path, tmp_path: Path) -> None:
    before = answers(jobs)
    new = prices(tmp_path, "new.csv", {("rk-a", "62"): "62,5"})
    result = run("refresh", jobs, "--catalog", tmp_path / "parts", "--prices", new)
    assert result.exit_code == WRONG_INPUT
    assert "Expected a number with a point: 62.5" in " ".join(result.stdout.split())
    assert answers(jobs) == before


def test_wrong_before_lost(tmp_path: Path) -> None:
    folder = write_jobs(tmp_path, ("dam", "mill"))
    (folder / "dam/job.toml").write_text("[site]\n[[load]]\n")
    (folder / "mill/job.toml").write_text(SMALL_JOB.replace("[need]\n", "[need]\nbudget = 100\n"))
    result = run("refresh", folder, "--catalog", tmp_path / "parts")
    assert result.exit_code == WRONG_INPUT
    assert "1 not possible, 1 wrong" in result.stdout


def test_a_folder_without_jobs_and_one_that_is_not_there(tmp_path: Path) -> None:
    (tmp_path / "note.toml").write_text("a = 1\n")
    for folder in (tmp_path, tmp_path / "nowhere"):
        result = run("refresh", folder)
        assert result.exit_code == WRONG_INPUT
        assert str(folder) in result.stderr
        assert result.stdout == ""


def test_jobs_of_one_folder_are_told_apart(tmp_path: Path) -> None:
    folder = write_jobs(tmp_path, ("nursery",))
    shutil.copy(folder / "nursery/job.toml", folder / "nursery.toml")
    shutil.copy(folder / "nursery/job.toml", folder / "nursery/spare.toml")
    said = line(folder)
    assert "new nursery.toml 7,883.00" in said
    assert "new nursery/job.toml 7,883.00" in said
    assert "new nursery/spare 7,883.00" in said
    assert sorted(answers(folder)) == ["nursery.answer.json", "nursery/job.answer.json", "nursery/spare.answer.json"]


def test_each_job_has_the_catalogue_it_names(tmp_path: Path) -> None:
    folder = write_jobs(tmp_path, ("camp", "nursery"))
    write_catalog(tmp_path / "dear")
    dear = (tmp_path / "dear/prices.csv").read_text().replace("cv-8k,east,2050", "cv-8k,east,2060")
    (tmp_path / "dear/prices.csv").write_text(dear)
    for name, parts in (("camp", "dear"), ("nursery", "parts")):
        (folder / name / "job.toml").write_text(f'catalog = "../../{parts}"\n{SMALL_JOB}')
    result = run("refresh", folder)
    said = " ".join(result.stdout.split())
    assert "new camp 7,893.00" in said
    assert "new nursery 7,883.00" in said
    assert "2 catalogues" in said
    assert "INVENTED" not in said


# edits and what is kept --------------------------------------------------------------------------------------------


def edit(jobs: Path, old: str, new: str) -> None:
    path = jobs / "nursery/job.answer.json"
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))


def test_an_edited_answer_is_noticed_and_its_bundle_audited(jobs: Path) -> None:
    """Thirteen panels in the answer in place of twelve, as 7 + 6: it passes, and costs one pn-550 and one rack more."""
    before = answers(jobs)
    edit(jobs, '"panel": 12', '"panel": 13')
    wired = '"tracker": 1,\n     "parallel": 1,\n     "series": '
    edit(jobs, f"{wired}6", f"{wired}7")
    said = line(jobs)
    # 13 pn-550 = 2,457, 15 rk-a = 930: 251.00 more
    assert "changed nursery 7,883.00 pn-550: 13 -> 12; keeping the old bundle 8,134.00, 251.00 more" in said
    assert "not as refresh wrote it; audited again, its bundle passes at 8,134.00" in said
    assert answers(jobs) == before


def test_an_edit_that_breaks_a_limit(jobs: Path) -> None:
    edit(jobs, '"panel": 12', '"panel": 6')
    path = jobs / "nursery/job.answer.json"
    content = json.loads(path.read_text())
    content["bundles"][0]["strings"].pop()
    path.write_text(json.dumps(content))
    said = line(jobs)
    assert "audited again, its bundle would cost" in said
    assert "breaks daily-energy" in said


def test_an_edit_that_contradicts_itself(jobs: Path) -> None:
    edit(jobs, '"panel": 12', '"panel": 11')
    said = line(jobs)
    assert "audited again, its bundle cannot be read" in said
    assert "(bundles 1.counts.panel)" in said


def test_an_edit_that_takes_the_rack_out(jobs: Path) -> None:
    """What is left passes and costs less; it is no whole bundle."""
    path = jobs / "nursery/job.answer.json"
    content = json.loads(path.read_text())
    for key in ("models", "counts"):
        del content["bundles"][0][key]["rack"]
    del content["bundles"][0]["purchases"]
    path.write_text(json.dumps(content))
    said = line(jobs)
    assert "changed nursery 7,883.00 14 rk-a in; the old bundle cannot be had: rack: not named" in said


NO_ANSWERS = (
    "", "{", "[]", "null", '{"schema": 1}', '{"inputs": {"answer": 3}, "bundles": [7]}',
    '{"inputs": {}, "bundles": [{"total": {}, "models": [], "strings": 3}]}',
)  # fmt: skip


@pytest.mark.parametrize("text", NO_ANSWERS)
def test_what_is_no_answer_is_answered_anew(jobs: Path, text: str) -> None:
    before = answers(jobs)
    (jobs / "nursery/job.answer.json").write_text(text)
    said = line(jobs)
    assert "new nursery 7,883.00 answered anew" in said
    assert "not as refresh wrote it" in said
    assert answers(jobs) == before


def test_line_ends_and_spaces_are_no_edit(jobs: Path) -> None:
    path = jobs / "nursery/job.answer.json"
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    assert "up to date" in line(jobs)
    path.write_text(json.dumps(json.loads(path.read_text())))
    assert "up to date" in line(jobs)


@pytest.mark.parametrize("more", [("--options", "2"), ("--max-age", "9"), ("--max-age", "9", "--strict-dates"),
                                  ("--max-age", "9", "--on", "2026-11-03")])  # fmt: skip
def test_what_was_asked_beside_belongs_to_what_it_rests_on(jobs: Path, more: tuple[str, ...]) -> None:
    assert "up to date" in line(jobs)
    assert "up to date" not in line(jobs, *more)
    assert "up to date" in line(jobs, *more)


def test_dry_run_tells_and_writes_nothing(jobs: Path, tmp_path: Path) -> None:
    before = answers(jobs)
    (jobs / "nursery/.job.answer.json.77.part").write_text("left by a killed process")
    new = prices(tmp_path, "new.csv", {("rk-a", "62"): "63"})
    said = line(jobs, "--prices", new, "--dry-run")
    assert "dearer nursery 7,897.00 +14.00: rk-a 62.00 -> 63.00" in said
    assert "1 answer would be written." in said
    assert answers(jobs) == {**before, "nursery/.job.answer.json.77.part": b"left by a killed process"}
    assert line(jobs, "--prices", new).replace("written", "would be written") == said
    assert list(answers(jobs)) == ["nursery/job.answer.json"]  # what was left behind is cleared away


def test_an_answer_that_cannot_be_written(jobs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(path: Path, text: str, folder: Path) -> None:
        raise OSError(28, "No space left on device")

    before = answers(jobs)
    monkeypatch.setattr(output, "replace_whole", full)
    result = run("refresh", jobs, "--catalog", tmp_path / "parts", "--options", "2")
    assert result.exit_code == WRONG_INPUT
    assert "No space left on device" in " ".join(result.stdout.split())
    assert answers(jobs) == before


def test_a_fault_of_one_job_stops_no_other(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = write_jobs(tmp_path, ("camp", "dam"))

    def failing(catalog: Catalog, job: Job, *rest: Any) -> Answer:
        if job.title == "camp":
            raise RuntimeError("a wheel came off")
        return audited(catalog, job, *rest)

    monkeypatch.setattr(questions, "audited", failing)
    result = run("refresh", folder, "--catalog", tmp_path / "parts")
    said = " ".join(result.stdout.split())
    assert result.exit_code == failures.FAULT
    assert "wrong camp - a fault of this tool, not of your input: in tests.test_refresh line" in said
    assert "RuntimeError: a wheel came off" in said
    assert list(answers(folder)) == ["dam/job.answer.json"]


def test_an_old_bundle_that_would_have_been_cheaper_is_a_fault(jobs: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The search is made to miss its cheapest bundle: the old one, priced and audited again, gives it away."""
    pick = branch_and_bound.pick

    def poor(catalog: Catalog, job: Job, options: int, **rest: object) -> Pick:
        return pick(catalog, job, options, terms=SearchTerms(never=frozenset({"pn-550"})))

    monkeypatch.setattr(branch_and_bound, "pick", poor)
    result = run("refresh", jobs, "--catalog", jobs.parent / "parts", "--options", "2")
    assert result.exit_code == failures.FAULT
    assert "UnprovenError" in result.stdout


# the rules' version ------------------------------------------------------------------------------------------------


def test_an_answer_by_other_rules_is_solved_again(jobs: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing else is new; the answer is the same, and so it stays once it is kept by the rules there are."""
    assert "same nursery 7,883.00 up to date" in line(jobs)
    monkeypatch.setattr(kept_answer, "RULES_VERSION", RULES_VERSION + 1)
    before = answers(jobs)
    assert "same nursery 7,883.00 no part of it moved 1 job: 1 answered. 1 answer written." in line(jobs)
    assert answers(jobs) != before
    assert "same nursery 7,883.00 up to date" in line(jobs)


def test_an_answer_that_says_no_version_is_solved_again(jobs: Path) -> None:
    """As it was kept before there was one, and sealed so."""
    path = jobs / "nursery/job.answer.json"
    whole = path.read_bytes()
    content = json.loads(whole)
    inputs = {key: value for key, value in content["inputs"].items() if key not in ("rules", kept_answer.SEAL)}
    assert len(inputs) == len(content["inputs"]) - 2
    old = kept_answer.sealed(json.dumps(content), inputs)
    assert kept_answer.read_kept(old).sealed
    path.write_text(old, encoding="utf-8")
    assert "same nursery 7,883.00 no part of it moved 1 job: 1 answered. 1 answer written." in line(jobs)
    assert path.read_bytes() == whole


# text and data -----------------------------------------------------------------------------------------------------


def test_the_text_and_the_json_say_the_same(tmp_path: Path) -> None:
    folder = write_jobs(tmp_path, ("camp", "dam", "mill", "orchard"))
    run("refresh", folder, "--catalog", tmp_path / "parts")
    (folder / "dam/job.toml").write_text("[site]\n[[load]]\n")
    (folder / "mill/job.toml").write_text(SMALL_JOB.replace("[need]\n", "[need]\nbudget = 100\n"))
    new = prices(tmp_path, "new.csv", {("pn-550", "189"): "199", ("cb-1", "48"): "50"})
    words = ("refresh", "jobs", "--catalog", "parts", "--prices", new.name, "--dry-run")
    page = " ".join(run(*words, "--json", "report.json", cwd=tmp_path).stdout.split())
    report = json.loads((tmp_path / "report.json").read_text())
    assert json.loads(run(*words, "--json", "-", cwd=tmp_path).stdout) == report
    for job in report["jobs"]:
        total = "-" if job["total"] is None else f"{Decimal(job['total']):,}"
        assert f"{job['status']} {job['job'].split('/')[0]} {total} {' '.join(' '.join(job['said']).split())}" in page
    statuses = {job["job"]: job["status"] for job in report["jobs"]}
    assert statuses == {"camp/job.toml": "changed", "dam/job.toml": "wrong", "mill/job.toml": "lost",
                        "orchard/job.toml": "changed"}  # fmt: skip
    assert report["counts"] == {"same": 0, "dearer": 0, "cheaper": 0, "changed": 2, "new": 0, "lost": 1, "wrong": 1}


def test_moves_add_up_to_the_difference_and_keeping_to_its_lines(jobs: Path, tmp_path: Path) -> None:
    new = prices(tmp_path, "new.csv", {("rk-a", "62"): "61", ("cv-8k", "2050"): "2150", ("cb-1", "48"): "47.50"})
    job = told(jobs, "--prices", new, "--catalog", tmp_path / "parts")["jobs"]["nursery"]
    assert job["status"] == "dearer"
    assert sum(Decimal(move["rise"]) for move in job["moves"]) == Decimal(job["total"]) - Decimal(job["before"])
    assert [(move["part"], move["rise"]) for move in job["moves"]] == [
        ("cv-8k", "100.00"), ("rk-a", "-14.00"), ("cb-1", "-2.00"),
    ]  # fmt: skip


def test_two_runs_write_the_same_bytes(tmp_path: Path) -> None:
    folders = []
    for name in "ab":
        folder = write_jobs(tmp_path / name, ("camp", "nursery"))
        run("refresh", "jobs", "--catalog", "parts", cwd=tmp_path / name)
        new = prices(tmp_path / name, "new.csv", {("pn-550", "189"): "199"})
        words = ("refresh", "jobs", "--catalog", "parts", "--prices", new.name, "--json", "report.json")
        run(*words, cwd=tmp_path / name)
        folders.append(folder)
    assert answers(folders[0]) == answers(folders[1])
    assert (tmp_path / "a/report.json").read_bytes() == (tmp_path / "b/report.json").read_bytes()


def test_the_page_keeps_to_its_width(tmp_path: Path) -> None:
    write_jobs(tmp_path, ("a-job-with-quite-a-long-name-in-a-folder",))
    run("refresh", "jobs", "--catalog", "parts", cwd=tmp_path)
    prices(tmp_path, "new.csv", {("pn-550", "189"): "199"})
    result = run("refresh", "jobs", "--catalog", "parts", "--prices", "new.csv", cwd=tmp_path)
    assert "pn-410 in" in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 80
