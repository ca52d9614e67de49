"""``[weather]`` of a job: what the site takes from the file, what is refused, what is said; and that a job without one
pays nothing for it."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from catalog.reader import read_catalog
from optimizer.bundles.kept_answer import inputs_of
from optimizer.inputs.job import Job
from optimizer.inputs.job_reader import check_job, read_job
from optimizer.inputs.job_sense import unusual_in_job
from optimizer.vocabulary.problems import Problem
from optimizer.writing.words.problems import expected_text, mend_text, warning_text
from tests.command_line import ROOT, environment, run
from tests.small_files import JOB, write_job
from tests.weather_files import SAND_FLAT, cell, hourly, spoilt, station, write_pvgis_hourly

SUN_LINE = "sun_hours = [3.1, 3.9, 4.8, 5.4, 5.9, 6.3, 6.4, 6.1, 5.3, 4.3, 3.3, 2.8]\n"
BARE = JOB.replace(SUN_LINE, "").replace('hottest = "37 degC"\n', "").replace("budget = 9500\n", "")
WEATHER = '[weather]\nfile = "sand-flat.epw"\ntilt = "55 deg"\nazimuth = "180 deg"\n\n[supply]'


def write(folder: Path, text: str, source: Path = SAND_FLAT) -> Path:
    """A job with the file beside it."""
    folder.mkdir(exist_ok=True)
    (folder / "sand-flat.epw").write_bytes(source.read_bytes())
    return write_job(folder, text)


def with_weather(text: str = BARE, block: str = WEATHER) -> str:
    return text.replace("[supply]", block)


def job_of(folder: Path, text: str, source: Path = SAND_FLAT) -> Job:
    return read_job(write(folder, text, source))


def refused(folder: Path, text: str, source: Path = SAND_FLAT) -> list[Problem]:
    job, problems = check_job(write(folder, text, source))
    assert job is None
    return list(problems)


def words(problem: Problem) -> str:
    return f"{expected_text(problem)} {mend_text(problem)}"


# what is taken -----------------------------------------------------------------------------------------------------


def test_sun_hours_and_hottest_are_the_files(tmp_path: Path) -> None:
    """Of a published year on 55 deg, whose figures are kept; its highest hour is 35.6 degC."""
    job = job_of(tmp_path, with_weather(BARE.replace('"14 degF"', '"0 degF"')), station("723170"))
    assert job.site.sun_hours == pytest.approx(
        (3.812, 4.361, 4.784, 4.961, 4.483, 4.590, 4.619, 4.834, 4.629, 4.577, 3.782, 3.961), rel=0.005
    )
    assert (job.site.hottest_c, job.site.bank_hottest_c) == (35.6, 35.6)
    assert not {"site.hottest", "site.sun_hours"} & job.stated
    assert job.weather is not None and (job.weather.tilt_deg, job.weather.azimuth_deg) == (55.0, 180.0)


def test_what_the_job_states_counts(tmp_path: Path) -> None:
    stated = job_of(tmp_path, with_weather(JOB))
    assert stated.site.sun_hours[0] == 3.1 and stated.site.hottest_c == 37.0


def test_coldest_is_the_headers_mean_where_it_is_asked_for(tmp_path: Path) -> None:
    job = job_of(tmp_path, with_weather(BARE.replace('"14 degF"', '"file"')))
    assert job.site.coldest_c == -4.5 and job.site.bank_coldest_c == 5.0
    assert job.written["site.coldest"] == "-4.5 degC" and "site.coldest" in job.stated


def test_without_an_azimuth_a_level_plane_looks_at_the_noon_sun(tmp_path: Path) -> None:
    text = with_weather(block=WEATHER.replace('azimuth = "180 deg"\n', "").replace("55 deg", "4.9 deg"))
    job = job_of(tmp_path, text)
    assert job.weather is not None and job.weather.azimuth_deg == 180.0


def test_ground_zone_and_holes_are_read(tmp_path: Path) -> None:
    block = WEATHER.replace("[supply]", 'ground = 0.3\nutc_offset = "-7 h"\ngaps = "fill"\n[supply]')
    source = spoilt(SAND_FLAT, tmp_path / "wrong.epw", cell(1, 8, "-6"))
    assert [p.kind.id for p in refused(tmp_path / "a", with_weather(), source)] == ["weather-clock"]
    job = job_of(tmp_path / "b", with_weather(block=block), source)
    assert job.weather is not None
    assert (job.weather.ground, job.weather.utc_offset_h, job.weather.gaps) == (0.3, -7.0, "fill")
    assert min(job.site.sun_hours) > min(job_of(tmp_path / "c", with_weather()).site.sun_hours)  # a brighter ground


# what is refused ---------------------------------------------------------------------------------------------------

KEY_FAULTS = {
    "no file": ('file = "sand-flat.epw"\n', "", "missing-key", "weather.file"),
    "no tilt": ('tilt = "55 deg"\n', "", "missing-key", "weather.tilt"),
    "no azimuth": ('azimuth = "180 deg"\n', "", "azimuth-missing", "weather.azimuth"),
    "tilt without unit": ('"55 deg"', "55", "missing-unit", "weather.tilt"),
    "tilt over": ('"55 deg"', '"91 deg"', "out-of-range", "weather.tilt"),
    "azimuth over": ('"180 deg"', '"361 deg"', "out-of-range", "weather.azimuth"),
    "azimuth to find": ('"180 deg"', '"?"', "to-do", "weather.azimuth"),
    "unknown key": ("tilt =", "tlit =", "unknown-key", "weather.tlit"),
    "gaps": ("[supply]", 'gaps = "filled"\n[supply]', "unknown-value", "weather.gaps"),
    "no such file": ("sand-flat.epw", "sand-falt.epw", "unreadable-file", None),
}


@pytest.mark.parametrize("name", KEY_FAULTS)
def test_a_wrong_key_is_refused_alone(name: str, tmp_path: Path) -> None:
    right, wrong, kind, key = KEY_FAULTS[name]
    (found,) = refused(tmp_path, with_weather(block=WEATHER.replace(right, wrong)))
    assert (found.kind.id, found.place.name) == (kind, key)


def test_a_wrong_file_is_refused_with_the_jobs_own_problems(tmp_path: Path) -> None:
    text = with_weather(BARE.replace('"38 L/min"', '"38 lpm"'))
    found = refused(tmp_path, text, spoilt(SAND_FLAT, tmp_path / "wrong.epw", cell(1, 8, "-6")))
    assert {(p.kind.id, Path(p.place.file).name) for p in found} == {
        ("unknown-unit", "job.toml"), ("weather-clock", "sand-flat.epw"),
    }  # fmt: skip


def test_no_coldest_comes_from_a_typical_year(tmp_path: Path) -> None:
    """The lowest hour of 723170 is -16.7 degC, and says nothing of the next winter."""
    (found,) = refused(tmp_path, with_weather(BARE.replace('"14 degF"', '"file"')), station("723170"))
    assert (found.kind.id, found.place.name) == ("coldest-of-file", "site.coldest")
    assert "one typical year; its lowest, -16.7 degC, is no extreme" in words(found)
    assert "the mean of the yearly lowest" in words(found)


def test_no_coldest_comes_from_no_file(tmp_path: Path) -> None:
    (found,) = refused(tmp_path, JOB.replace('"14 degF"', '"file"'))
    assert found.kind.id == "coldest-of-file" and "no [weather]" in words(found)


def test_a_coldest_that_the_files_own_air_goes_below_is_wrong(tmp_path: Path) -> None:
    """Its lowest hour is -2.5 degC, which is 27.5 degF: a hair above is refused, the same is not."""
    (found,) = refused(tmp_path / "a", with_weather(BARE.replace('"14 degF"', '"27.6 degF"')))
    assert found.kind.id == "warmer-than-file" and "at most 27.5 degF" in words(found)
    assert job_of(tmp_path / "b", with_weather(BARE.replace('"14 degF"', '"27.5 degF"'))).site.coldest_c == -2.5


def test_a_month_without_any_sun_is_refused(tmp_path: Path) -> None:
    """At 78 N the sun is not seen in winter: no array can be sized by it. With sun hours of its own the job reads."""
    north = write_pvgis_hourly(tmp_path / "north.csv", [hourly(2019, 78.0, 8.0, 10.0)], 78.0, 8.0)
    cold = BARE.replace('"14 degF"', '"-40 degF"')
    (found,) = refused(tmp_path / "a", with_weather(cold), north)
    assert (found.kind.id, found.place.name) == ("weather-no-sun", "weather.tilt")
    stated = cold.replace("[site]\n", f"[site]\n{SUN_LINE}")
    assert job_of(tmp_path / "b", with_weather(stated), north).site.sun_hours[11] == 2.8


def test_the_site_still_needs_what_no_file_states(tmp_path: Path) -> None:
    (found,) = refused(tmp_path / "a", with_weather(BARE.replace('coldest = "14 degF"\n', "", 1)))
    assert (found.kind.id, found.place.name) == ("missing-key", "site.coldest")
    missing = refused(tmp_path / "b", BARE)
    assert [p.place.name for p in missing] == ["site.hottest", "site.sun_hours"]


# what is said ------------------------------------------------------------------------------------------------------


def test_sun_hours_over_fifteen_percent_off_are_called_out(tmp_path: Path) -> None:
    job = job_of(tmp_path / "a", with_weather())
    for factor, said in ((1.149, False), (1.151, True), (0.849, True), (0.851, False)):
        month = [*job.site.sun_hours]
        month[6] *= factor
        line = f"sun_hours = [{', '.join(map(repr, month))}]\n"
        other = job_of(tmp_path / "b", with_weather(BARE.replace("[site]\n", f"[site]\n{line}")))
        found = [p for p in unusual_in_job(other) if p.kind.id == "weather-sun-hours"]
        assert bool(found) is said
        assert not found or "July" in words(found[0])


def test_what_was_said_of_the_file_is_said_of_the_answer(tmp_path: Path) -> None:
    path = write(tmp_path, with_weather(block=WEATHER.replace("180", "0")))
    told = json.loads(run("pick", path, "--options", "1", "--json", "-").stdout)
    (note,) = [p for p in unusual_in_job(read_job(path)) if p.kind.id == "weather-azimuth"]
    assert warning_text(note) in told["warnings"]


def test_the_answer_says_what_it_takes_and_rests_on_the_file(tmp_path: Path) -> None:
    path = write(tmp_path, with_weather())
    page = " ".join(run("pick", path).stdout.split())
    months = "3.2 4.7 5.4 4.3 4.3 4.6 5.5 5.2 5.6 6.3 5.1 5.4"
    assert f"sun on 55 deg, facing 180: {months} h a day (sand-flat.epw, a typical year); darkest" in page
    assert "darkest 5 days from 31 December: 1.4 h" in page
    assert "hottest 109.4 degF (sand-flat.epw, its header's mean of the yearly highest)" in page
    told = json.loads(run("pick", path, "--json", "-").stdout)
    weather = read_job(path).weather
    assert weather is not None
    assert told["inputs"]["weather"] == weather.years.digest
    catalog = read_catalog(tmp_path / "catalog")
    kept = inputs_of(read_job(path), catalog, 5, None)
    (tmp_path / "sand-flat.epw").write_bytes(SAND_FLAT.read_bytes() + b"\n")
    assert inputs_of(read_job(path), catalog, 5, None) != kept, "another file is another input"


def test_nothing_is_written_over_the_weather_file(tmp_path: Path) -> None:
    path = write(tmp_path, with_weather())
    result = run("pick", path, "--json", tmp_path / "sand-flat.epw")
    assert result.exit_code == 2 and "would be lost" in result.stderr
    assert (tmp_path / "sand-flat.epw").read_bytes() == SAND_FLAT.read_bytes()


def test_an_answer_is_the_same_bytes_with_and_without_the_cache(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write(tmp_path, with_weather())
    first, second = (run("pick", path, "--json", "-").stdout for _ in range(2))
    monkeypatch.setenv("BOREWATT_CACHE", "")
    assert first == second == run("pick", path, "--json", "-").stdout


@pytest.mark.thorough
def test_a_refresh_knows_the_file(tmp_path: Path) -> None:
    """Kept answers are the same bytes with one worker and with two; another file has its job solved again."""
    kept = []
    for workers in ("1", "2"):
        folder = tmp_path / workers
        folder.mkdir()
        jobs = [write(folder / name, with_weather()) for name in ("a", "b")]
        assert run("refresh", folder, "--workers", workers).exit_code == 0
        kept.append([job.with_name("job.answer.json").read_text() for job in jobs])
    assert kept[0] == kept[1] and '"weather": "sha256:' in kept[0][0]
    assert run("refresh", folder, "--dry-run").stdout.count("up to date") == 2
    path = folder / "a" / "sand-flat.epw"
    path.write_bytes(path.read_bytes() + b"\n")
    assert run("refresh", folder, "--dry-run").stdout.count("up to date") == 1


# what it costs -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("weather", "loaded"), [(False, ""), (True, "platformdirs")])
def test_a_job_without_weather_loads_nothing_of_it(weather: bool, loaded: str, tmp_path: Path) -> None:
    """Nor does one whose file is known load the library that reads it."""
    path = write(tmp_path, with_weather() if weather else JOB)
    code = (
        "import sys; from optimizer.commands import main; sys.argv[1:] = ['pick', sys.argv[1]]\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "heavy = {'pvlib', 'platformdirs', 'scipy', 'requests'} & set(sys.modules)\n"
        "print('LOADED', *sorted(heavy), *sorted(name for name in sys.modules if name.startswith('optimizer.weather')))"
    )
    home = {"HOME": str(tmp_path), "XDG_CACHE_HOME": str(tmp_path / "cache")}
    variables = {name: text for name, text in environment(**home).items() if name != "BOREWATT_CACHE"}
    command = [sys.executable, "-c", code, str(path)]
    for _ in range(2):
        done = subprocess.run(command, cwd=ROOT, env=variables, capture_output=True, text=True, check=True)
    found = done.stdout.rpartition("LOADED")[2].split()
    assert " ".join(name for name in found if not name.startswith("optimizer")) == loaded
    assert any(name.startswith("optimizer.weather") for name in found) is weather
