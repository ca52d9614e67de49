"""Slips in a job: each ends in an error with its line, or in a caution that stands in every answer to the job."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimizer.inputs.job_reader import check_job
from optimizer.inputs.job_sense import unusual_in_job
from optimizer.writing.words.problems import warning_text
from tests.command_line import ROOT, run
from tests.small_files import JOB, write_job

PUMP = 'starting = "41 A"'
SUN = "sun_hours = [3.1, 3.9, 4.8, 5.4, 5.9, 6.3, 6.4, 6.1, 5.3, 4.3, 3.3, 2.8]"
ERRORS = [
    ('hottest = "37 degC"', 'hottest = "98.6 degC"', "out-of-range", 'perhaps it is meant in degF: write "98.6 degF"'),
    ('coldest = "14 degF"', 'coldest = "75 degC"', "out-of-range", 'write "75 degF"'),
    ('bank_coldest = "5 degC"', 'bank_coldest = "45 degC"', "bank-hot-below-cold", "bank_coldest, 45 degC"),
    ('hottest = "37 degC"', 'hottest = "-37 degC"', "hot-below-cold", "sign"),
    (SUN, "sun_hours = 18", "out-of-range", "18 reads like MJ/m2 a day: write 5"),
    (SUN, "sun_hours = 150", "out-of-range", "150 reads like a month's total: write 4.93"),
    (SUN, "sun_hours = 5000", "out-of-range", "5000 reads like Wh/m2: write 5"),
    (SUN, "sun_hours = 0", "out-of-range", "above 0"),
    ("daytime = 0.8", "daytime = 80", "out-of-range", "80 reads like a percent: write 0.8"),
    ("daytime = 0.8", "daytime = 0.8\npower_factor = 85", "out-of-range", "85 reads like a percent: write 0.85"),
    ("daytime = 0.8", "daytime = 0.8\nstarting_power_factor = 60", "out-of-range", "60 reads like a percent"),
    ("daytime = 0.8", "daytime = 0.8\ncable_drop = 12", "out-of-range", "12 reads like a percent: write 0.12"),
    ("daytime = 0.8", "daytime = 0.8\nstart_volts_least = 60", "out-of-range", "60 reads like a percent: write 0.6"),
    ("current = 0.25", "current = 25", "out-of-range", "25 reads like a percent: write 0.25"),
    ("current = 0.25", "voltage = 5", "out-of-range", "5 reads like a percent: write 0.05"),
    ("current = 0.25", "hot_voltage = 3", "out-of-range", "3 reads like a percent: write 0.03"),
    ("current = 0.25", "running = 25", "out-of-range", "25 reads like a percent: write 0.25"),
    ("current = 0.25", "starting = 25", "out-of-range", "25 reads like a percent: write 0.25"),
    ("current = 0.25", "parallel_share = 80", "out-of-range", "80 reads like a percent: write 0.8"),
    ("array_to_load = 1.2", "array_to_load = 120", "out-of-range", "120 reads like a percent: write 1.2"),
    ("[supply]", "array_factor = 80\n\n[supply]", "out-of-range", "80 reads like a percent: write 0.8"),
    ("[supply]", "rear_light = 13.5\n\n[supply]", "out-of-range", "13.5 reads like a percent: write 0.135"),
    (PUMP, 'starting = "810 A"', "start-far-above", "this is 100 times"),
    (PUMP, 'starting = "410 kVA"', "start-far-above", "a point may be lost"),
    (PUMP, 'starting = "4.1 A"', "start-below-running", "4.1 A"),
    ('name = "booster"', 'name = "Bore Pump"', "alike-loads", "differs from bore pump in more than case"),
    ('name = "booster"', 'name = "borepump"', "alike-loads", "differs from bore pump"),
    ('name = "booster"', 'name = "boo\\u200bster"', "unseen-mark", "zero width space, U+200B"),
    ('name = "booster"', 'name = "boo\\u00a0ster"', "unseen-mark", "no-break space, U+00A0"),
    ('hours_per_day = "90 min"', 'hours_per_day = "90 h"', "out-of-range", "24 h"),
    ('energy_per_day = "1.1 kWh"', 'energy_per_day = "1100 kWh"', "energy-over-day", "24 h"),
    ('flow = "38 L/min"', 'flow = "38 L/h"', "hours-over-day", "units"),
    ("budget = 9500", "budget = 0", "out-of-range", "above 0"),
    ('max_area = "60 m^2"', 'max_area = "60 m"', "unknown-unit", "m^2"),
    ('"pn-410" = 4', '"pn-410" = 2000000000', "out-of-range", "at most"),
]  # fmt: skip
CAUTIONS = [
    ('coldest = "14 degF"', 'coldest = "14 degC"', "coldest is usually -60 to 10 degC; here it is 14 degC"),
    ('coldest = "14 degF"', 'coldest = "-95 degF"', "coldest is usually -76 to 50 degF; here it is -95 degF"),
    ('hottest = "37 degC"', 'hottest = "15 degC"', "hottest is usually 20 to 55 degC"),
    ('hottest = "37 degC"', 'hottest = "68 degC"', "record high"),
    ('coldest = "14 degF"\nhottest = "37 degC"', 'coldest = "9 degC"\nhottest = "18 degC"', "usually at least 10 degC"),
    ('bank_coldest = "5 degC"', 'bank_coldest = "35 degC"', "bank_coldest is usually -50 to 30 degC"),
    (SUN, "sun_hours = 10", "a MJ/m2 is 0.278 of one"),
    (SUN, "sun_hours = 0.05", "sun_hours is usually 0.2 to 9 kWh/m2"),
    ("[supply]", 'array_ceiling = "60 V"\n\n[supply]', "array_ceiling is usually 100 to 1500 V; here it is 60 V"),
    ("[supply]", "rear_light = 0.9\n\n[supply]", "rear_light is usually 0 to 0.35"),
    ("[supply]", "array_factor = 0.08\n\n[supply]", "array_factor is usually 0.6 to 0.95"),
    ("[supply]", "array_factor = 1.0\n\n[supply]", "array_factor is usually 0.6 to 0.95"),
    ("autonomy_days = 1.0", "autonomy_days = 24", "days, not hours"),
    ("array_to_load = 1.2", "array_to_load = 12", "array_to_load is usually 1 to 3"),
    ("array_to_load = 1.2", "array_to_load = 1.2\nrecover_days = 300", "recover_days is usually 1 to 60"),
    ("budget = 9500", "budget = 9.5", "budget is usually at least 100"),
    ("current = 0.25", "current = 2.5", "current is usually 0.25 to 0.6"),
    ("current = 0.25", "running = 2.5", "running is usually 0 to 1"),
    ("current = 0.25", "starting = 3", "starting is usually 0 to 1"),
    ("current = 0.25", "voltage = 0.5", "voltage is usually 0 to 0.2"),
    ("current = 0.25", "hot_voltage = 0.3", "hot_voltage is usually 0 to 0.2"),
    ('max_area = "60 m^2"', 'max_area = "0.6 m^2"', "max_area is usually at least 1 m^2"),
    ('"pn-410" = 4', '"pn-410" = 4000', "on_hand of pn-410 is usually 0 to 1000"),
    ("[on_hand]", '[allow]\nexclude = ["pn-410"]\n\n[on_hand]', "under [on_hand] or in exclude, not in both"),
    ("[on_hand]", '[water]\ntank_on_hand = "9000 m^3"\n\n[on_hand]', "tank_on_hand is usually 0 to 500 m^3"),
    ("[on_hand]", "[water]\nreserve_days = 200\n\n[on_hand]", "reserve_days is usually 0 to 60"),
    ("[on_hand]", "[water]\ndaytime_with_tank = 0.09\n\n[on_hand]", "daytime_with_tank is usually 0.5 to 1"),
    ("[on_hand]", "[water]\nmax_tanks = 1000\n\n[on_hand]", "max_tanks is usually 0 to 50"),
    ("[on_hand]", '[water]\nwell_yield = "3 L/h"\n\n[on_hand]', "well_yield is usually at least 30 L/h"),
    ("daytime = 0.8", "daytime = 0.8\npower_factor = 0.08", "power_factor is usually 0.4 to 1"),
    ("daytime = 0.8", "daytime = 0.8\nstarting_power_factor = 0.06", "starting_power_factor is usually 0.2 to 1"),
    ("daytime = 0.8", 'daytime = 0.8\nstart_time = "8 min"', "start_time is usually 0.00167 to 0.333 min"),
    ("daytime = 0.8", 'daytime = 0.8\nstart_time = "0.02 s"', "start_time is usually 0.1 to 20 s; here it is 0.02 s"),
    ("daytime = 0.8", "daytime = 0.8\ncable_drop = 0.6", "cable_drop is usually 0 to 0.35"),
    ('flow = "38 L/min"', 'flow = "38 L/s"', "work of bore pump in its busiest month is usually 0.1 to 24 h a day"),
    ('water_per_day = "9000 L"\nflow = "38 L/min"', 'water_per_day = "90 L"\nflow = "38 L/min"', "0.039 h a day"),
    ('water_per_day = "9000 L"\nflow = "38 L/min"', 'water_per_day = "60 L"\nflow = "0.1 L/min"', "lift of bore pump"),
    ('energy_per_day = "1.1 kWh"', 'energy_per_day = "1.1 Wh"', "kWh are not Wh"),
    ('hours_per_day = "90 min"', 'hours_per_day = "0 h"', "work of booster in its busiest month is usually"),
    ('rated = "0.75 hp"', 'rated = "0.75 hp"\ncount = 400', "count is usually 1 to 100"),
    ('running = "600 W"\nrated = "0.75 hp"', 'running = "600 W"\nrated = "2 hp"', "running by rated of booster"),
    ('running = "300 W"', 'running = "300 kW"', "running of lights is usually 1 to 30000 W"),
    ('running = "300 W"\nstarting = "none"\nenergy_per_day = "1.1 kWh"',
     'running = "0.3 W"\nstarting = "none"\nenergy_per_day = "6 Wh"', "here it is 0.3 W"),
]  # fmt: skip


def changed(folder: Path, old: str, new: str) -> Path:
    assert JOB.count(old) == 1, old
    return write_job(folder, JOB.replace(old, new))


@pytest.mark.parametrize(("old", "new", "kind", "words"), ERRORS, ids=[f"{case[2]}:{case[1]}" for case in ERRORS])
def test_what_cannot_be_is_an_error(old: str, new: str, kind: str, words: str, tmp_path: Path) -> None:
    job, problems = check_job(changed(tmp_path, old, new))
    assert job is None
    assert [problem.kind.id for problem in problems] == [kind]
    assert problems[0].place.row is not None
    assert words in warning_text(problems[0])


@pytest.mark.parametrize(("old", "new", "words"), CAUTIONS, ids=[case[1] for case in CAUTIONS])
def test_what_is_unusual_is_a_caution(old: str, new: str, words: str, tmp_path: Path) -> None:
    job, problems = check_job(changed(tmp_path, old, new))
    assert job is not None, problems
    texts = [warning_text(problem) for problem in unusual_in_job(job)]
    assert any(words in text for text in texts), texts
    assert all(problem.place.row for problem in unusual_in_job(job))


def test_a_percent_is_named_only_where_it_would_do() -> None:
    from optimizer.inputs.job_schema import KEYS

    fault = KEYS["need"]["array_to_load"].fault_of(50)
    assert fault is not None
    assert fault.slots["perhaps"] == ""  # 0.5 is refused too


def test_a_figure_in_degf_is_not_taken_for_one_in_degc(tmp_path: Path) -> None:
    _, [problem] = check_job(changed(tmp_path, 'hottest = "37 degC"', 'hottest = "370 degF"'))
    assert "perhaps" not in warning_text(problem)


@pytest.mark.parametrize("name", ["hillside-nursery", "impossible-mill", "mountain-camp", "stock-water-bore"])
def test_the_examples_have_nothing_unusual(name: str) -> None:
    job, _ = check_job(ROOT / "examples" / name / "job.toml")
    assert job is not None
    assert list(unusual_in_job(job)) == []


def test_the_job_of_the_tests_has_nothing_unusual(tmp_path: Path) -> None:
    job, _ = check_job(write_job(tmp_path))
    assert job is not None
    assert list(unusual_in_job(job)) == []


def test_a_caution_stands_in_the_answer(tmp_path: Path) -> None:
    text = (ROOT / "tests" / "data" / "thin" / "job.toml").read_text(encoding="utf-8")
    line = next(line for line in text.splitlines() if line.startswith("coldest"))
    path = tmp_path / "job.toml"
    path.write_text(text.replace(line, 'coldest = "12 degC"'), encoding="utf-8")
    done = run("pick", str(path), "--catalog", str(ROOT / "tests" / "data" / "thin" / "catalog"))
    assert "coldest is usually -60 to 10 degC" in " ".join(done.stdout.split())
