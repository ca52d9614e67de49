"""``borewatt why`` and what pick may be asked beside a job, as a person meets them: exit codes, words, wrong names."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS, STOPPED, WRONG_INPUT
from tests.command_line import run
from tests.small_files import JOB, write_job

MONEY = re.compile(r"(?<![\d.])\d{1,3}(?:,\d{3})*\.\d{2}(?!\d)(?! (?:d|V|A|kWh)\b)")


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A small job with a budget that is enough: the cheapest costs 11,364.00 (what the way out of 9,500 says)."""
    return write_job(tmp_path, JOB.replace("budget = 9500", "budget = 12000"))


def figures(value: object) -> set[str]:
    """Every text of a JSON value, money without its thousands."""
    if isinstance(value, dict):
        return set().union(*map(figures, value.values())) if value else set()
    if isinstance(value, list):
        return set().union(*map(figures, value)) if value else set()
    return {str(value)}


def test_the_whole_explanation(job: Path, tmp_path: Path) -> None:
    result = run("why", str(job), "--json", str(tmp_path / "why.json"))
    assert result.exit_code == ANSWERED, result.stderr
    text = result.stdout
    for heading in ("NOTHING UNDER $11,364.00 EXISTS", "WHAT EACH COSTS", "PRICES THAT WOULD CHANGE IT", "CAUTION"):
        assert heading in text
    assert "UNFINISHED" not in text
    assert max(len(line) for line in text.splitlines() if not line.startswith("catalogue ")) <= 80
    told = json.loads((tmp_path / "why.json").read_text())["why"]
    assert told["unfinished"] == []
    assert told["proof"]["minimal"] is True


def test_every_amount_of_the_prose_is_in_the_json(job: Path, tmp_path: Path) -> None:
    """Savings are differences of totals; JSON has them as such, negative where they cost more."""
    text = run("why", str(job), "--json", str(tmp_path / "why.json"), "--input", "bore pump.starting").stdout
    told = figures(json.loads((tmp_path / "why.json").read_text()))
    explained = text[text.index("NOTHING UNDER") : text.index("CAUTION")]
    amounts = [found.replace(",", "") for found in MONEY.findall(explained)]
    assert len(amounts) > 10
    # a figure may stand in the JSON without its last zero
    told |= {f"{float(each):.2f}" for each in told if re.fullmatch(r"-?\d+(\.\d+)?", each)}
    missing = [each for each in amounts if each not in told and f"-{each}" not in told]
    assert not missing


def test_why_nothing_fits(job: Path) -> None:
    job.write_text(JOB, encoding="utf-8")
    for command in ("why", "pick"):
        result = run(command, str(job))
        assert result.exit_code == NOTHING_MEETS
        assert "budget 9500 -> 11364  11,364.00" in result.stdout
        assert "NOTE" not in result.stdout  # the catalogue's warnings are of parts that no bundle shows
        assert result.stdout.rstrip().endswith("A safety limit is never a way out.")


def test_the_way_out_typed_into_the_job_does_and_a_cent_less_does_not(job: Path) -> None:
    for budget, code in (("11364", ANSWERED), ("11363.99", NOTHING_MEETS)):
        job.write_text(JOB.replace("budget = 9500", f"budget = {budget}"), encoding="utf-8")
        assert run("pick", str(job), "--options", "1").exit_code == code


def test_out_of_time_says_what_is_not_known(job: Path) -> None:
    assert run("why", str(job), "--time-limit", "0").exit_code == STOPPED


def test_why_not_a_part_that_is_picked(job: Path) -> None:
    result = run("why", str(job), "--not", "cv-8k")
    assert result.exit_code == ANSWERED
    assert "It is in the pick." in result.stdout


def test_why_not_a_part_that_breaks_a_limit(job: Path) -> None:
    """cv-3k makes no 120/240 V at all: no limit that may be left out mends that."""
    result = run("why", str(job), "--not", "cv-3k")
    assert result.exit_code == ANSWERED
    assert "It forms no bundle at all" in result.stdout


def test_must_and_never(job: Path) -> None:
    """Three bt-200 are one more than needed, and 1,690.00 dearer for it; without bt-200 there is bt-280."""
    three = json.loads(run("pick", str(job), "--must", "bt-200=3", "--options", "1", "--json", "-").stdout)
    job.write_text(JOB.replace("budget = 9500", "budget = 20000"), encoding="utf-8")
    three = json.loads(run("pick", str(job), "--must", "bt-200=3", "--options", "1", "--json", "-").stdout)
    assert three["bundles"][0]["counts"]["battery"] == 3
    assert three["bundles"][0]["total"] == "13054.00"  # 11,364.00 and 1,690.00
    assert "asked for: 3 bt-200" in three["conditions"]
    other = json.loads(run("pick", str(job), "--never", "bt-200", "--json", "-").stdout)
    assert other["bundles"]
    assert all(bundle["models"]["battery"] != "bt-200" for bundle in other["bundles"])


def test_one_seller_cannot_have_it_all(job: Path) -> None:
    """Panels come from north alone, converters from east alone."""
    job.write_text(JOB.replace("budget = 9500", "budget = 20000"), encoding="utf-8")
    result = run("pick", str(job), "--one-seller")
    assert result.exit_code == NOTHING_MEETS
    assert "asked for: one seller" in result.stdout
    fewest = run("pick", str(job), "--fewest-sellers")
    assert fewest.exit_code == ANSWERED
    assert "asked for: at most 2 sellers" in " ".join(fewest.stdout.split())


def test_equal_strings(job: Path) -> None:
    told = json.loads(run("pick", str(job), "--equal-strings", "--options", "1", "--json", "-").stdout)
    assert len({each["series"] for each in told["bundles"][0]["strings"]}) == 1


@pytest.mark.parametrize(
    ("arguments", "kind", "word"),
    [
        (("pick", "--must", "bt-2000"), "unknown-name", "perhaps bt-200"),
        (("pick", "--must", "cb-1"), "follows-by-rule", "extras"),
        (("pick", "--must", "bt-200=two"), "not-a-count", "bt-200=2"),
        (("pick", "--must", "bt-200", "--must", "bt-280"), "two-of-a-kind", "bt-200"),
        (("pick", "--must", "bt-200", "--never", "bt-200"), "asked-and-barred", "Leave one of them out"),
        (("why", "--not", "pn-41"), "unknown-name", "perhaps pn-410"),
        (("why", "--input", "bore pump.startin"), "unknown-input", "perhaps bore pump.starting"),
    ],
)
def test_wrong_names_are_refused(job: Path, arguments: tuple[str, ...], kind: str, word: str) -> None:
    command, *rest = arguments
    result = run(command, str(job), *rest)
    assert result.exit_code == WRONG_INPUT
    assert result.stdout == ""
    assert kind in result.stderr
    assert word in " ".join(result.stderr.split())
