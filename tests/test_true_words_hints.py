"""Hints name what was meant, and nothing that would do harm; a problem says whose it is, and in which month."""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog.reader import check_catalog
from optimizer.inputs.job_reader import check_job
from optimizer.vocabulary.problems import Problem, closest
from optimizer.writing.words.problems import problem_lines
from tests.command_line import run
from tests.small_files import JOB, write_catalog


def problems_of(folder: Path, *changes: tuple[str, str]) -> tuple[Problem, ...]:
    text = JOB
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return check_job(path)[1]


def said(problem: Problem) -> str:
    return " ".join(" ".join(line.split()) for line in problem_lines(problem))


# what is meant ---------------------------------------------------------------------------------------------------

OTHER_NAMES = [
    ("starting", "inrush", "perhaps starting: what one of them takes while it starts"),
    ("starting", "lra", "perhaps starting"),
    ("starting", '"locked rotor amps"', "perhaps starting"),
    ("starting", "locked-rotor-amps", "perhaps starting"),
    ("starting", "surge", "perhaps starting"),
    ("running", "amps", "perhaps running: what one of them takes while it runs"),
    ("running", "watts", "perhaps running"),
    ("running", "fla", "perhaps running"),
    ("voltage", "volts", "perhaps voltage"),
    ("flow", "gpm", "perhaps flow"),
    ("kind", "voltage", "perhaps kind"),
    ("hz", "frequency", "perhaps hz"),
    ("coldest", "record_low", "perhaps coldest: the record low at dawn, not an average"),
    ("autonomy_days", "autonomy", "perhaps autonomy_days"),
]


@pytest.mark.parametrize(("key", "other", "hint"), OTHER_NAMES, ids=[each[1] for each in OTHER_NAMES])
def test_what_a_key_is_called_elsewhere_is_known(tmp_path: Path, key: str, other: str, hint: str) -> None:
    found = problems_of(tmp_path, (f"\n{key} = ", f"\n{other} = "))
    (unknown,) = [problem for problem in found if problem.kind.id == "unknown-key"]
    assert hint in said(unknown)
    assert not any(problem.kind.id == "missing-key" for problem in found)  # one fault is one problem


VALUES = [
    ('motor = "three-wire"', 'motor = "3-wire"', "perhaps three-wire: the leads of the motor, three and the earth"),
    ('motor = "three-wire"', 'motor = "2-wire"', "perhaps two-wire"),
    ('motor = "three-wire"', 'motor = "3-phase"', "perhaps three-phase"),
    ('motor = "three-wire"', 'motor = "single phase"', "its nameplate or its maker says which"),
    ("[need]", '[allow]\nchemistries = ["lithium"]\n[need]', "perhaps lfp: lithium iron phosphate"),
    ("[need]", '[allow]\nchemistries = ["lifepo4"]\n[need]', "perhaps lfp"),
    ("[need]", '[allow]\nchemistries = ["lead-acid"]\n[need]', "which of agm, gel and flooded it is"),
    ('kind = "120/240"', 'kind = "110"', "perhaps 120"),
]


@pytest.mark.parametrize(("old", "new", "hint"), VALUES, ids=[each[1] for each in VALUES])
def test_what_a_value_is_called_elsewhere_is_known(tmp_path: Path, old: str, new: str, hint: str) -> None:
    assert any(hint in said(problem) for problem in problems_of(tmp_path, (old, new)))


HARM = [
    ('kind = "120/240"', 'kind = "240"', "perhaps"),  # 230 V has no legs for loads of 120 V
    ('motor = "three-wire"', 'motor = "tri-wire"', "two-wire:"),
    ('motor = "three-wire"', 'motor = "four-wire"', "perhaps"),
    ("\nstarting = ", "\nsoftness = ", "perhaps"),
    ('running = "8.1 A"', 'running = "2 hp"', '"2 A"'),
    ('running = "8.1 A"', 'running = "2 kWh"', "2 kW"),
    ('running = "8.1 A"', 'running = "8.1 Ah"', "8.1 A\""),
    ('running = "8.1 A"', 'running = "1e3 W"', "1 A"),
    ('starting = "41 A"', 'starting = "4 A"', 'starting = "none" for'),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "hint"), HARM, ids=[each[1] for each in HARM])
def test_no_hint_would_do_harm(tmp_path: Path, old: str, new: str, hint: str) -> None:
    found = problems_of(tmp_path, (old, new))
    assert found
    assert not any(hint in said(problem).partition("Write")[2] for problem in found)
    assert not any("; perhaps" in said(problem) for problem in found)


def test_the_power_of_a_motor_is_sent_to_its_own_key(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, ('running = "8.1 A"', 'running = "2 hp"'))
    assert "hp is the motor's power, which its key rated holds" in said(problem)


@pytest.mark.parametrize(
    ("word", "known", "near"),
    [
        ("array_to_lode", ["array_to_load", "autonomy_days"], "array_to_load"),
        ("coldset", ["coldest", "hottest"], "coldest"),
        ("pn-41O", ["pn-410", "pn-550"], "pn-410"),
        ("bt-2000", ["bt-200", "bt-280"], "bt-200"),
        ("bt-48-100", ["bt-48-150", "bt-48-200"], None),  # another size is no slip
        ("south", ["north", "east"], None),
        ("230", ["120", "240"], None),
        ("A", ["V", "W"], None),
    ],
)
def test_only_slips_are_near(word: str, known: list[str], near: str | None) -> None:
    assert closest(word, known) == near


# in the person's own units ---------------------------------------------------------------------------------------

FAHRENHEIT = (('hottest = "37 degC"', 'hottest = "99 degF"'), ('bank_coldest = "5 degC"', 'bank_coldest = "41 degF"'))


def test_a_range_is_said_in_the_unit_that_was_written(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, ('coldest = "14 degF"', 'coldest = "-200 degF"'))
    assert "at least -130 degF and at most 140 degF" in said(problem)


def test_a_bare_figure_takes_the_unit_of_the_others(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, ('coldest = "14 degF"', "coldest = 14"), *FAHRENHEIT)
    assert '"14 degF"' in said(problem) and "14 degC" not in said(problem)


def test_a_bare_figure_alone_is_shown_in_each_unit_that_is_likely(tmp_path: Path) -> None:
    bare = ('hottest = "37 degC"', "hottest = 37"), ('bank_coldest = "5 degC"\n', "")
    found = problems_of(tmp_path, ('coldest = "14 degF"', "coldest = 14"), *bare)
    assert all('degC" or "' in said(problem) for problem in found)


def test_hottest_below_coldest_is_said_in_the_unit_of_hottest(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, ('coldest = "14 degF"', 'coldest = "104 degF"'))
    assert "above coldest, 40 degC" in said(problem)


def test_a_start_below_the_running_is_said_in_amps(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, ('starting = "41 A"', 'starting = "4 A"'))
    assert "above the running 8.1 A; this is 4 A." in said(problem)
    assert "never of a motor" in said(problem)


def test_a_missing_key_is_shown_in_the_unit_of_the_others(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, ('coldest = "14 degF"\n', ""), *FAHRENHEIT)
    assert 'coldest = "15.8 degF"' in said(problem)


def test_a_motor_too_large_for_the_table_is_said_in_its_unit(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, ('starting = "41 A"', 'rated = "9 kW"'))
    assert "7.457 kW, which is 10 hp" in said(problem) and "this is 9 kW" in said(problem)


# whose, and in which month ---------------------------------------------------------------------------------------


def test_a_load_is_called_by_its_name(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, ('running = "8.1 A"', 'running = "8.1"'))
    assert "(load.bore pump.running)" in said(problem)


def test_of_two_loads_with_one_name_the_line_is_said(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, ('name = "booster"', 'name = "bore pump"'))
    assert "the load of line 15 has it too" in said(problem)


def test_of_a_list_the_item_and_its_month_are_shown(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, ("sun_hours = [3.1, 3.9, 4.8,", "sun_hours = [3.1, 3.9, -4,"))
    assert '"-4, March"' in said(problem)
    litres = ", ".join('"9000 L"' if month != 6 else '"60000 L"' for month in range(12))
    (problem,) = problems_of(tmp_path, ('water_per_day = "9000 L"', f"water_per_day = [{litres}]"))
    assert '"60000 L, July"' in said(problem)


def test_of_a_list_of_texts_the_one_that_is_wrong_is_shown(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, ('mounts = ["ground-ballast"]', 'mounts = ["ground-ballast", "rooof"]'))
    assert '(space.mounts): "rooof"' in said(problem)


def test_a_wrong_encoding_is_placed_at_its_first_bad_byte(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(JOB.replace("bore pump", "gr\u00f6\u00dfe").encode("latin-1"))
    (problem,) = check_job(path)[1]
    assert (problem.kind.id, problem.place.row) == ("not-utf8", 15)
    folder = write_catalog(tmp_path / "catalog")
    panels = folder / "panels.csv"
    panels.write_bytes(panels.read_bytes() + "pn-\u00f6\n".encode("latin-1"))
    lines = panels.read_bytes().count(b"\n")
    (problem,) = check_catalog(folder)[0]
    assert (problem.kind.id, problem.place.row) == ("not-utf8", lines)


def test_an_input_is_known_by_other_names_too(tmp_path: Path) -> None:
    write_catalog(tmp_path / "catalog")
    (tmp_path / "job.toml").write_text(JOB, encoding="utf-8")
    result = run("why", "job.toml", "--input", "bore pump.inrush", cwd=tmp_path)
    assert result.exit_code == 2
    assert "perhaps bore pump.starting" in " ".join(result.stderr.split())
