"""The audit command: its exit codes, its page for one bundle, and several side by side. Figures worked out by hand:

- coldest 14 degF is -10 degC: 1 + 0.0027 x 35 = 1.0945; 14 x 37.3 V x 1.0945 = 571.5 V; 500 V less 5 % is 475 V; 11 in
  a row read 449.1 V, 12 read 489.9 V.
- the pump starts while everything runs: 41 A x 240 V + 3 x 60 W = 10,020 W; 10,020 x 1.25 / (0.92 x 44.8 V) = 303.9 A;
  one battery gives 200 A, two give 2 x 0.8 x 200 = 320 A.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import typer
from typer.testing import CliRunner, Result

from catalog.reader import read_catalog
from optimizer.auditor.audit import audit as audited
from optimizer.bundles.bundle_file import read_bundle
from optimizer.commands.audit import audit
from optimizer.explain.verdict import LONGEST, judge
from optimizer.inputs.job_reader import read_job
from optimizer.rules.limits import LIMITS

DATA = Path(__file__).parent / "data" / "offers"
JOB = (DATA / "job.toml").read_text(encoding="utf-8")
GOOD = (DATA / "good.toml").read_text(encoding="utf-8")
DEALER = (DATA / "dealer.toml").read_text(encoding="utf-8")
Run = Callable[..., Result]

app = typer.Typer()
app.command()(audit)


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """Runs the command on a job and offers given as texts."""

    def runner(*offers: str, job: str = JOB, options: tuple[str, ...] = ()) -> Result:
        (tmp_path / "job.toml").write_text(job, encoding="utf-8")
        files = []
        for number, text in enumerate(offers, 1):
            (tmp_path / f"offer{number}.toml").write_text(text, encoding="utf-8")
            files.append(str(tmp_path / f"offer{number}.toml"))
        catalog = ["--catalog", str(DATA / "catalog")]
        return CliRunner().invoke(app, [str(tmp_path / "job.toml"), *files, *catalog, *options])

    return runner


def changed(text: str, *pairs: tuple[str, str]) -> str:
    """A text with pieces of it changed, each of which stands there."""
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return text


def flat(text: str) -> str:
    """A page without its line breaks."""
    return re.sub(r"\s+", " ", text)


def test_one_bundle_that_passes_shows_every_limit(run: Run) -> None:
    result = run(GOOD)
    assert result.exit_code == 0
    assert "passes\n" in result.stdout
    assert "FAIL" not in result.stdout
    bundle = read_bundle(DATA / "good.toml", read_job(DATA / "job.toml"), read_catalog(DATA / "catalog"))
    verdict = judge(read_job(DATA / "job.toml"), bundle, read_catalog(DATA / "catalog"))
    for limit in {reading.limit for reading in verdict.audit.readings}:
        assert re.search(rf"^ ok +{limit} ", result.stdout, re.MULTILINE), limit
    page = flat(result.stdout)
    assert "7 x 37.3 V x 1.0945 = 285.8 V, at most 500.0 V less 5 % = 475.0 V (trackers 1, 2)" in page
    assert "(10,020 W x 1.25 / 0.92 + 40 W idle) / 44.8 V for 1 s = 304.8 A, at most 320.0 A (bore pump)" in page
    assert "8,065.00 USD" in page
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_one_bundle_that_fails_says_by_how_much_and_what_would_do(run: Run) -> None:
    result = run(DEALER)
    page = flat(result.stdout)
    assert result.exit_code == 1
    assert "FAILS 2 limits" in page
    assert "7,200.00 USD as quoted" in page
    assert (
        "FAIL cold-voltage 14 x 37.3 V x 1.0945 = 571.5 V, over 500.0 V less 5 % = 475.0 V (tracker 1) 96.5 V over. "
        "Against the raw rating too: this can damage. 11 in a row would read 449.1 V, but daily-energy would then fail."
    ) in page
    assert (
        "FAIL starting-current (10,020 W x 1.25 / 0.92 + 45 W idle) / 44.8 V for 1 s = 304.9 A, over 200.0 A (bore "
        "pump) 104.9 A over. Against the raw rating too: this can damage. "
        "2 batteries in parallel would do: 304.9 A of 320.0 A. "
        f"Mend: {LIMITS['starting-current'].mend}."
    ) in page
    assert "NOT JUDGED racks and extras: the file names no rack (mounting-fit); price and stock" in page
    assert "dealer's 7 kW: continuous_va 7,000, leg_va 3,500" in page
    assert "CAUTION" in page


def test_without_a_rack_the_hottest_mount_that_the_job_allows_counts(run: Run) -> None:
    """14 x 410 W x 0.8 = 4,592 W on the ground; on a roof its cells are 15 degC hotter: x (1 - 0.0035 x 15) = 4,351 W.
    In full heat 36.67 + 31.25 degC are 42.92 over 25: Vmp at 1 - 0.004 x 42.92 = 0.8283, and 0.7683 on the roof."""
    for mounts, watts, hot in (
        ('mounts = ["ground-ballast"]', "ok daily-energy 4,592 W", "14 x 31.0 V x 0.8283"),
        ('mounts = ["ground-ballast", "roof"]', "FAIL daily-energy 4,351 W", "14 x 31.0 V x 0.7683"),
        ("", "FAIL daily-energy 4,351 W", "14 x 31.0 V x 0.7683"),
    ):
        page = flat(run(DEALER, job=changed(JOB, ('mounts = ["ground-ballast"]', mounts))).stdout)
        assert watts in page
        assert hot in page


def test_a_reserve_that_is_used_up_is_told_from_a_rating_that_is_broken(run: Run) -> None:
    # 571.5 V is under 590 V, and over 590 V less 5 % = 560.5 V
    result = run(changed(DEALER, ("tracker_max_v = 500", "tracker_max_v = 590"), ("battery = 1", "battery = 2"),
                         ("parallel = 1\n\n[part", "parallel = 2\n\n[part")))  # fmt: skip
    page = flat(result.stdout)
    assert result.exit_code == 1
    assert "over 590.0 V less 5 % = 560.5 V (tracker 1) 11.0 V over. The bare rating holds" in page
    assert "Against the raw rating" not in page
    assert "13 in a row would read 530.7 V" in page


def test_bundles_stand_side_by_side(run: Run) -> None:
    result = run(DEALER, GOOD)
    assert result.exit_code == 1
    lines = [re.split(r"\s{2,}", line.strip()) for line in result.stdout.split("\n\n")[1].splitlines()]
    assert lines[:2] == [["offer1.toml", "offer2.toml"], ["FAILS 2 limits", "passes"]]
    rows = {name: cells for name, *cells in lines}
    assert rows["price"] == ["7,200.00 as quoted", "8,065.00"]
    assert rows["cold-voltage"] == ["FAIL 571.5 / 475.0 V", "ok 285.8 / 475.0 V"]
    assert rows["starting-current"] == ["FAIL 304.9 / 200.0 A", "ok 304.8 / 320.0 A"]
    assert rows["mounting-fit"] == ["not judged", "ok 1,134 / 1,150 mm"]
    folded = re.search(r"^ (\d+) others +ok +ok$", result.stdout, re.MULTILINE)
    assert folded
    every = run(DEALER, GOOD, options=("--all",)).stdout
    table = every.split("\n\n")[1]
    assert table.count("\n") == result.stdout.split("\n\n")[1].count("\n") + int(folded[1]) - 1
    assert "ok 571.5 / 600.0 V" in table
    assert "others" not in table
    for text in (result.stdout, every):
        assert max(map(len, text.splitlines())) <= 80


def test_two_that_pass_end_well_and_many_fit_the_page(run: Run) -> None:
    assert run(GOOD, GOOD).exit_code == 0
    many = run(*[GOOD, DEALER] * 3)
    assert many.exit_code == 1
    assert max(map(len, many.stdout.splitlines())) <= 80
    assert all(f"offer{number}.toml" in many.stdout for number in range(1, 7))


def test_files_of_one_name_are_told_apart(run: Run, tmp_path: Path) -> None:
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "x.toml").write_text(GOOD, encoding="utf-8")
    (tmp_path / "job.toml").write_text(JOB, encoding="utf-8")
    files = [str(tmp_path / folder / "x.toml") for folder in ("a", "b")]
    result = CliRunner().invoke(app, [str(tmp_path / "job.toml"), *files, "--catalog", str(DATA / "catalog")])
    assert result.exit_code == 0
    assert re.search(r"^ +x\.toml \(1\) +x\.toml \(2\)$", result.stdout, re.MULTILINE)


def test_wrong_input_of_all_bundles_is_said_at_once(run: Run) -> None:
    result = run(changed(GOOD, ("panel = 14", "panel = 15")), changed(DEALER, ("quoted", "qouted")))
    assert (result.exit_code, result.stdout) == (2, "")
    assert "counts-disagree" in result.stderr
    assert "perhaps quoted" in result.stderr
    assert "2 problems in 2 of 2 files" in result.stderr
    assert "Traceback" not in result.stderr


def test_a_job_that_is_wrong_is_said(run: Run) -> None:
    result = run(GOOD, job=changed(JOB, ('coldest = "14 degF"\nhottest', 'coldest = "14 F"\nhottest')))
    assert (result.exit_code, result.stdout) == (2, "")
    assert "degF" in result.stderr


def test_temperatures_are_spoken_as_the_job_writes_them(run: Run) -> None:
    assert "41 degF, at least 32 degF" in run(GOOD).stdout
    cold = changed(JOB, ('bank_coldest = "41 degF"', 'bank_coldest = "-5 degC"'))
    result = run(GOOD, job=cold)
    assert result.exit_code == 1
    assert "the bank's coldest -5 degC, below 0 degC" in flat(result.stdout)


def test_a_price_that_is_not_known_is_said(run: Run) -> None:
    result = run(changed(GOOD, ('battery = "of-battery"', 'battery = "of-six"'), ("battery = 2", "battery = 16")))
    page = flat(result.stdout)
    assert "not enough of of-six can be had" in page
    assert "not known: of-six" in page


def test_racks_that_do_not_add_up_are_noted(run: Run) -> None:
    result = run(changed(GOOD, ("battery = 2", "battery = 2\nrack = 14")))
    assert result.exit_code == 0
    assert "14 racks are offered; by the rack's own figures the strings take 18" in flat(result.stdout)


def test_a_budget_holds_for_a_quoted_price(run: Run) -> None:
    tight = changed(JOB, ("[need]", "[need]\nbudget = 7000"))
    assert "FAIL 7,200.00 / 7,000.00" in run(DEALER, GOOD, job=tight).stdout
    loose = changed(JOB, ("[need]", "[need]\nbudget = 7200"))
    assert "ok 7,200.00 / 7,200.00" in run(DEALER, GOOD, job=loose).stdout


def test_a_panel_without_coefficient_in_deep_cold_is_no_number(run: Run) -> None:
    panel = """
[part.panel]
pmax_w = 410
voc_v = 37.3
vmp_v = 31.0
isc_a = 13.9
imp_a = 13.2
pmax_pct_per_c = -0.35
length_mm = 1722
width_mm = 1134
weight_kg = 21.5
max_system_v = 1500
max_fuse_a = 25
"""
    text = changed(GOOD, ('panel = "of-panel"\n', "")) + panel
    cold = changed(JOB, ('coldest = "14 degF"\nhottest', 'coldest = "-41 degC"\nhottest'))
    result = run(text, job=cold)
    assert result.exit_code == 1
    assert "cold-voltage cannot be known: the panel states no voc_pct_per_c" in flat(result.stdout)
    assert "nan V" not in result.stdout
    assert run(text).exit_code == 0


# the trial of a count on the auditor, against every count one by one
@pytest.mark.parametrize(
    "offer",
    [
        DEALER,
        changed(GOOD, ("series = 7", "series = 3"), ("panel = 14\n", "")),
        changed(GOOD, ("parallel = 1\nseries = 7", "parallel = 4\nseries = 7"), ("panel = 14\n", "")),
        changed(GOOD, ("battery = 2", "battery = 1")),
        changed(GOOD, ("of-battery", "of-block"), ("battery = 2", "battery = 4")),
        changed(DEALER, ("charge_settable = true", "charge_settable = false")),
    ],
    ids=["too long", "too short", "too many side by side", "one battery", "lead-acid", "charger"],
)
def test_what_would_do_is_the_nearest_that_does(offer: str, tmp_path: Path) -> None:
    (tmp_path / "offer.toml").write_text(offer, encoding="utf-8")
    job, catalog = read_job(DATA / "job.toml"), read_catalog(DATA / "catalog")
    verdict = judge(job, read_bundle(tmp_path / "offer.toml", job, catalog), catalog)
    bare = replace(verdict.bundle, order=None, quoted_cents=None)
    concerned = [reading for reading in verdict.failing if LIMITS[reading.limit].cure]
    assert concerned
    for reading in concerned:
        count, step = LIMITS[reading.limit].cure or ("", 0)
        tracker = next((s for s in bare.strings if f"tracker {s.tracker}" == reading.where), None)
        now = bare.bank_parallel if tracker is None else getattr(tracker, count)
        last = 0 if step < 0 else (int(bare.battery["max_parallel"]) if tracker is None else LONGEST) + 1
        nearest = None
        for number in range(now + step, last, step):
            if tracker is None:
                other = replace(bare, bank_parallel=number)
            else:
                change: dict[str, Any] = {count: number}
                strings = tuple(replace(s, **change) if s is tracker else s for s in bare.strings)
                other = replace(bare, strings=strings)
            mine = [r for r in audited(job, other).readings if r.limit == reading.limit]
            mine = mine if tracker is None else [r for r in mine if r.where == reading.where]
            if all(r.holds for r in mine):
                nearest = number
                break
        cure = verdict.cures.get((reading.limit, reading.where))
        assert nearest == (cure.number if cure else None), reading.limit
