"""What an explanation says is so: nothing of what was not looked at, prices as they are paid, limits as they bind."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from catalog.reader import read_catalog
from optimizer import answers
from optimizer.answers.answer import Answer
from optimizer.explain.infeasibility import conflict
from optimizer.explain.rejections import rejections
from optimizer.explain.resolve import Resolver, Scenario, cents_of
from optimizer.explain.whole_explanation import explain
from optimizer.inputs.job import Job
from optimizer.inputs.job_reader import read_job
from optimizer.rules.limits import LIMITS, always_kept
from optimizer.vocabulary.faults import OutOfTimeError
from optimizer.writing.html.grids import loads_grid
from optimizer.writing.text.why import why_page
from tests.command_line import run
from tests.small_files import CATALOG, JOB, write_catalog
from tests.test_beside import case, words

# what a part is or fits, and what a bundle is: never among the limits of a proof or a conflict
KEPT = {"supply-match", "service", "tracker-count", "tracker-strings", "tracker-power", "tracker-range", "bank-voltage",
        "bank-series", "bank-parallel", "priced"}  # fmt: skip
WIDE = JOB.replace("budget = 9500", "budget = 12000")


def scenario(folder: Path, job: str = WIDE, **files: str) -> Scenario:
    path = folder / "job.toml"
    path.write_text(job, encoding="utf-8")
    changed = {**CATALOG, **{f"{name}.csv": text for name, text in files.items()}}
    return Scenario(read_job(path), read_catalog(write_catalog(folder / "catalog", changed)))


def flat(text: str) -> str:
    return " ".join(text.split())


def picked(case: Scenario) -> Answer:
    return answers.pick(case.job, case.catalog, 1)


# what the time limit left unknown --------------------------------------------------------------------------------


def stopped_at(words: str, after: int = 0) -> Resolver:
    """A resolver whose time ends when it says that it works something out, the first ``after`` times let go by."""
    seen: list[str] = []

    def say(step: str) -> None:
        if step.startswith(words):
            seen.append(step)
            if len(seen) > after:
                raise OutOfTimeError

    return Resolver(CASE, say=say)


@pytest.fixture(autouse=True)
def _case(tmp_path: Path) -> None:
    global CASE
    CASE = scenario(tmp_path)


CASE: Scenario


def test_costs_that_were_not_looked_at_are_not_said_to_be_nothing() -> None:
    answer = picked(CASE)
    why = explain(stopped_at("what "), answer.options[0].bundle)
    assert "costs of limits" in why.unfinished
    said = flat(why_page(replace(answer, why=why)))
    assert "The time limit came first: what is not here may cost something too." in said
    for negative in ("No limit", "Every other limit", "costs nothing", "costs anything"):
        assert negative not in said


def test_costs_that_were_found_before_the_time_limit_stay() -> None:
    answer = picked(CASE)
    bundle = answer.options[0].bundle
    whole = explain(Resolver(CASE), bundle)
    assert whole.costs
    totals = {cost.limit: cents_of(cost.dropped) for cost in whole.costs}
    for after in range(len(LIMITS)):
        found = explain(stopped_at("what ", after), bundle)
        if found.costs:
            break
    assert "costs of limits" in found.unfinished
    assert {cost.limit: cents_of(cost.dropped) for cost in found.costs}.items() < totals.items()


def test_no_way_out_is_denied_that_was_not_looked_for(tmp_path: Path) -> None:
    impossible = scenario(tmp_path, JOB)
    found = conflict(Resolver(impossible, deadline=0.0))
    assert found.unfinished == ("conflict", "ways out")
    assert not found.ways


# limits that are always kept -------------------------------------------------------------------------------------


def test_what_is_always_kept_is_what_the_law_lists() -> None:
    assert always_kept() >= KEPT
    assert always_kept() - KEPT <= {"phases"}


def test_a_proof_keeps_what_a_part_fits_and_names_it() -> None:
    answer = answers.why(CASE.job, CASE.catalog)
    assert answer.why.core is not None
    assert not set(answer.why.core.limits) & KEPT
    said = flat(why_page(answer))
    assert "Always kept, and so not among them: supply-match, service," in said
    assert "Every other limit but those always kept costs nothing" in said


def test_a_range_that_one_panel_is_above_is_named(tmp_path: Path) -> None:
    low = CATALOG["converters.csv"].replace("2,500,120,450,", "2,500,20,25,").replace("2,500,120,480,", "2,500,20,25,")
    case_ = scenario(tmp_path, converters=low)
    assert ("tracker-range", 3, 3) in [(r.limit, r.count, r.of) for r in rejections(case_.catalog, case_.job)]
    said = flat(run("pick", "job.toml", cwd=tmp_path).stdout)
    assert "tracker-range all 3 panels" in said
    assert "Even one panel is too much for every tracker" in said


def test_every_limit_that_alone_leaves_nothing_is_named(tmp_path: Path) -> None:
    # strings within 450 and 480 V reach, hot, neither 440 and 470 V at work nor, open, those to start
    high = CATALOG["converters.csv"].replace("2,500,120,450", "2,600,440,450").replace("2,500,120,480", "2,600,470,480")
    low = CATALOG["panels.csv"].replace("410,37.4,", "410,34.0,").replace("49.8,41.8", "46.0,41.8").replace(
        "40.1,33.0", "35.7,33.0")  # fmt: skip
    case_ = scenario(tmp_path, converters=high, panels=low)
    answer = picked(case_)
    found = answer.why.conflict
    assert found is not None
    named = {limit for clash in found.clashes for each in clash.stands for limit in (each.limit, *each.likewise)}
    assert {"hot-voltage", "wake-voltage"} <= named
    alone = {each.limit: each.likewise for clash in found.clashes for each in clash.stands if len(clash.stands) == 1}
    assert "wake-voltage" in alone["hot-voltage"]


# prices, and parts of every kind ---------------------------------------------------------------------------------


def test_now_is_what_the_pieces_cost_and_not_a_price_they_cannot_have(tmp_path: Path) -> None:
    cheap = CATALOG["prices.csv"] + "bt-280,east,1000,USD,50,,,2026-11-02\n"
    scenario(tmp_path, JOB.replace("budget = 9500\n", ""), prices=cheap)
    said = flat(run("why", "job.toml", "--not", "bt-280", cwd=tmp_path).stdout)
    assert "packs and least quantities as they are; now its pieces cost 2,200.00 each" in said
    assert "now it is 1,000.00" not in said


def test_turning_prices_say_on_what_condition() -> None:
    said = flat(why_page(answers.why(CASE.job, CASE.catalog)))
    assert "It leaves where no offer of it is below that" in said
    assert "It comes in where it can be had at that or less, packs and least quantities as they are" in said


def test_starters_and_tanks_are_asked_about_as_other_parts(tmp_path: Path) -> None:
    job = case(tmp_path / "own")
    for part in ("st-1", "tk-5"):
        result = run("why", str(job), "--not", part)
        assert result.exit_code == 0, result.stderr
        assert "It is in the pick." in result.stdout
    result = run("why", str(job), "--not", "st-1", "--never", "tk-5")
    assert result.exit_code == 0, result.stderr
    refused = run("why", str(job), "--not", "cb-1")
    assert "battery, rack, starter or tank" in flat(refused.stderr)


def test_what_is_asked_for_does_not_say_that_nothing_else_would_do(tmp_path: Path) -> None:
    job = case(tmp_path / "own")
    assert "st-1 on bore pump saves 1,101.00" in words(job, "--must", "st-1", "--must", "tk-5")


# what is taken is what is counted --------------------------------------------------------------------------------


def test_a_pump_that_waits_for_the_sun_is_said_so(tmp_path: Path) -> None:
    job = case(tmp_path / "own")
    text = job.read_text(encoding="utf-8").replace("daytime = 0.8\n", "")
    job.write_text(text, encoding="utf-8")
    said = words(job)
    # 9,000 L at 38 L/min are 3.95 h, which the sun of each month outlasts times 0.9 but December's 2.8 h: 0.71
    assert "bore pump: daytime 0.9, down to 0.71 in Dec, with its tanks' water" in said
    assert "daytime 0.35, power" not in said and "bore pump: daytime 0.35" not in said


def test_a_pump_that_rests_is_not_carried(tmp_path: Path) -> None:
    job: Job = read_job(case(tmp_path / "own"))
    told = answers.pick(job, read_catalog(tmp_path / "own" / "catalog"), 1)
    rests = loads_grid(told.options[0].audit.loads, True)
    place = rests.heads.index("carried without sun")
    assert [row[place] for row in rests.rows] == ["no, it rests", "yes", "no"]
    page = run("pick", str(tmp_path / "own" / "job.toml"), "--options", "1", "--page", str(tmp_path / "p.html"))
    assert page.exit_code == 0
    assert "no, it rests" in (tmp_path / "p.html").read_text(encoding="utf-8")


def test_a_safety_limit_that_one_data_sheet_sets_is_an_edge_too() -> None:
    (option,) = picked(CASE).options
    guarding = [each for each in option.nearest() if "safety" in LIMITS[each.limit].kinds and not each.settled]
    rooms = [reading.room for reading in guarding]
    assert rooms == sorted(rooms)
    # the rack takes 1,200 mm and the panel has 1,134 mm: 5.5 %, which stood behind all that weather or age moves
    assert guarding[-1].limit != "mounting-fit" and not LIMITS[guarding[-1].limit].fixed
    assert "mounting-fit" in [reading.limit for reading in option.nearest()[:6]]


# what is of no bundle shown --------------------------------------------------------------------------------------


def test_notes_of_rows_never_used_are_for_the_check_alone(tmp_path: Path) -> None:
    none_left = CATALOG["prices.csv"].replace("bt-agm,south,310,USD,,,12,", "bt-agm,south,310,USD,5,,0,")
    scenario(tmp_path, prices=none_left)
    assert "At least 5 must be bought and there are 0." in flat(run("catalog", "check", "catalog", cwd=tmp_path).stdout)
    for command in ("pick", "why"):
        said = flat(run(command, "job.toml", cwd=tmp_path).stdout)
        assert "must be bought" not in said and "have no price" not in said


def test_two_prices_of_a_part_that_is_bought_are_noted_and_of_another_not(tmp_path: Path) -> None:
    twice = CATALOG["prices.csv"] + "bt-agm,south,320,USD,,,12,2026-11-02\n"
    scenario(tmp_path, prices=twice)
    assert "for the same; the lower price counts" not in flat(run("pick", "job.toml", cwd=tmp_path).stdout)
    twice = CATALOG["prices.csv"] + "rk-a,north,63,USD,,,,2026-11-02\n"
    scenario(tmp_path, prices=twice)
    assert "for the same; the lower price counts" in flat(run("pick", "job.toml", cwd=tmp_path).stdout)
