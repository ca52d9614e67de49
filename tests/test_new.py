"""The folder to begin in: all to-dos, no plausible figure, made whole or not at all."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner, Result

from catalog.reader import shipped_catalog
from optimizer.commands.new import new
from optimizer.inputs.job_reader import check_job, read_job
from optimizer.inputs.job_schema import KEYS
from optimizer.inputs.job_template import Units, job_template

# to be found in the README; a first job does without
LEFT_OUT = {("water", "daytime_with_tank"), ("water", "well_yield"), ("need", "recover_days")}
LEFT_OUT |= {("weather", key) for key in ("file", "tilt", "azimuth", "ground", "utc_offset", "gaps")}
LEFT_OUT |= {("replay", key) for key in ("hours_short", "array_losses", "bank")} | {("load", "at"), ("load", "drawn")}
RIGHT = {
    "coldest": '"-9 degC"', "hottest": '"37 degC"', "sun_hours": "[3, 4, 5, 5, 6, 6, 6, 6, 5, 4, 3, 3]",
    "bank_coldest": '"5 degC"', "kind": '"120/240"', "hz": "60", "restart": '"staggered"', "voltage": '"240 V"',
    "running": '"7.5 A"', "starting": '"38 A"', "water_per_day": '"6000 L"', "flow": '"30 L/min"',
    "locked_rotor_code": '"H"', "rated": '"1 hp"', "hours_per_day": '"4 h"', "energy_per_day": '"2 kWh"', "leg": "1",
    "cable_drop": "0.08", "start_volts_least": "0.6", "mounts": '["ground-post"]', "bank_hottest": '"35 degC"',
}  # fmt: skip
# what decides about damage, or whether anything works at all
DECISIVE = {
    "coldest", "hottest", "sun_hours", "bank_coldest", "kind", "hz", "restart", "voltage", "running", "starting",
    "water_per_day", "flow", "cable_drop", "mounts",
}  # fmt: skip
TO_DO = re.compile(r'^(\w+) = "\?"', re.MULTILINE)
OPTIONAL = re.compile(r'^#("?[\w-]+"?) = (.*)$', re.MULTILINE)

app = typer.Typer()
app.command()(new)


def run(*arguments: object) -> Result:
    """Run the command."""
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


def filled(text: str) -> str:
    """The job with every "?" replaced by a right value."""
    return TO_DO.sub(lambda found: f"{found[1]} = {RIGHT[found[1]]}", text)


def written(tmp_path: Path, text: str) -> Path:
    """A job file with this text."""
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_folder_is_made(tmp_path: Path) -> None:
    result = run(tmp_path / "well", "--units", "us")
    assert result.exit_code == 0
    assert "INVENTED" in result.stdout
    assert sorted(path.name for path in (tmp_path / "well").iterdir()) == ["catalog", "job.toml"]
    assert (tmp_path / "well" / "job.toml").read_text(encoding="utf-8") == job_template(Units.us)
    shipped = {path.name: path.read_bytes() for path in shipped_catalog().iterdir() if path.suffix in (".csv", ".json")}
    assert {"panels.csv", "converters.csv", "batteries.csv", "racks.csv", "prices.csv"} <= shipped.keys()
    copied = {path.name: path.read_bytes() for path in (tmp_path / "well" / "catalog").iterdir()}
    assert shipped.items() <= copied.items()


@pytest.mark.parametrize("units", Units)
def test_all_that_decides_is_left_open(units: Units, tmp_path: Path) -> None:
    job, problems = check_job(written(tmp_path, job_template(units)))
    assert job is None
    assert {problem.kind.id for problem in problems} == {"to-do"}
    assert {(problem.place.name or "").rpartition(".")[2] for problem in problems} == DECISIVE


@pytest.mark.parametrize("units", Units)
def test_filled_in_it_reads_clean(units: Units, tmp_path: Path) -> None:
    job = read_job(written(tmp_path, filled(job_template(units))))
    assert job.site.bank_coldest_c == 5.0
    assert job.loads[0].flow_l_per_h == 1800.0


@pytest.mark.parametrize("units", Units)
def test_every_key_that_is_used_stands_in_it(units: Units) -> None:
    table, there = "", set()
    for line in job_template(units).splitlines():
        if heading := re.match(r"\[+(\w+)\]+", line):
            table = heading[1]
        elif key := re.match(r"#?(\w+) = ", line):
            there.add((table, key[1]))
    known = {(name, key) for name, keys in KEYS.items() for key in keys}
    assert there <= known
    assert known - there == LEFT_OUT


OPTIONS = [found[0] for found in OPTIONAL.finditer(job_template(Units.us))]


@pytest.mark.parametrize("option", OPTIONS, ids=lambda option: option.split(" =")[0])
def test_an_optional_key_may_be_taken_out_of_its_comment(option: str, tmp_path: Path) -> None:
    key = option[1:].split(" =")[0]
    text = job_template(Units.us).replace(option, option[1:])
    if key in ("hours_per_day", "energy_per_day"):  # another way to say the same
        text = re.sub(r"^(water_per_day|flow) = .*\n", "", text, flags=re.MULTILINE)
    if key == "locked_rotor_code":
        text = re.sub(r"^starting = .*\n", "", text, flags=re.MULTILINE).replace("#rated", "rated")
    if key == "leg":
        text = text.replace('voltage = "?"', 'voltage = "120 V"')
    stated = read_job(written(tmp_path, filled(text))).stated
    assert any(name.endswith(key.strip('"')) for name in stated)


def test_a_shown_default_is_the_default(tmp_path: Path) -> None:
    plain = read_job(written(tmp_path, filled(job_template(Units.metric))))
    shown = job_template(Units.metric)
    for option in (found[0] for found in OPTIONAL.finditer(shown)):
        key = option[1:].split(" =")[0]
        if key in ("autonomy_days", "array_ceiling", "rear_light", "array_factor", "daytime", "critical", "count",
                   "start_time", "starting_power_factor", "listed_only", "running", "starting", "voltage",
                   "hot_voltage", "current", "parallel_share"):  # fmt: skip
            shown = shown.replace(option, option[1:])
    full = read_job(written(tmp_path, filled(shown)))
    assert len(full.stated) >= len(plain.stated) + 16
    for part in ("site", "supply", "need", "reserve", "allow"):
        assert getattr(full, part) == getattr(plain, part)
    assert full.loads == plain.loads


def test_units_of_the_comments() -> None:
    us, metric = job_template(Units.us), job_template(Units.metric)
    assert "degF" in us
    assert "gpm" in us
    assert "degC" not in us
    assert "degC" in metric
    assert "degF" not in metric
    assert "$" not in us + metric


def test_the_cautions_of_measuring_stand_in_it() -> None:
    text = " ".join(job_template(Units.metric).replace("#", "").split())
    for word in ("nameplate", "qualified person", "protective gear", "covers", "lock out", "prove it dead",
                 "capacitor", "One insulated conductor", "one hand"):  # fmt: skip
        assert word in text, word


# ---------------------------------------------------------------------------------------- whole or not at all


def test_what_is_there_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "letter.txt").write_text("mine")
    (tmp_path / "file").write_text("mine")
    for target, said in (("full", "not empty"), ("file", "file of this name"), ("no/where", "no folder")):
        result = run(tmp_path / target)
        assert (result.exit_code, result.stdout) == (2, "")
        assert said in result.stderr
    assert [path.name for path in (tmp_path / "full").iterdir()] == ["letter.txt"]
    assert (tmp_path / "file").read_text() == "mine"


def test_an_empty_folder_is_filled_also_from_inside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(".").exit_code == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == ["catalog", "job.toml"]


@pytest.mark.parametrize("there", [False, True])
@pytest.mark.parametrize("moves", [0, 1])
@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_a_failure_leaves_nothing(
    there: bool, moves: int, error: BaseException, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "well"
    if there:
        target.mkdir()
    rename = Path.rename
    done: list[Path] = []

    def failing(self: Path, to: Path) -> Path:
        if len(done) == moves:
            raise error
        done.append(self)
        return rename(self, to)

    monkeypatch.setattr(Path, "rename", failing)
    result = run(target)
    assert result.exit_code == (2 if isinstance(error, OSError) else 130)
    assert "Traceback" not in result.stderr
    assert target.exists() == there
    assert not there or not list(target.iterdir())
