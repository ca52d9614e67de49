"""What a job with a weather file is told: the replay in answers, pages and JSON, the price of hours short, and the
staircase by them. The year and the job are invented."""

from __future__ import annotations

import json
import random
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

from catalog.reader import read_catalog
from optimizer import answers
from optimizer.commands import app
from optimizer.inputs.job_reader import check_job, read_job
from optimizer.rules.hourly_loads import HourlyLoads, WaitingPump, hourly_loads
from optimizer.rules.replay import ArrayHours, ReplayParts, replay
from optimizer.rules.replayed_year import replayed
from optimizer.weather.year import WeatherYears
from tests.seeds import by_seeds

ROOT = Path(__file__).parent.parent
BORE = ROOT / "examples" / "stock-water-bore"
CATALOG = ROOT / "catalog" / "generic"
HOURS = 8760
CLOSE = 1e-6


def write(folder: Path, replay_table: str = "", load: str = "") -> Path:
    """The bore with its invented year; ``replay_table`` and keys of its load beside."""
    text = (BORE / "job.toml").read_text(encoding="utf-8")
    text = text.replace('flow = "8 gpm"\n', f'flow = "8 gpm"\n{load}')
    weather = f'\n[weather]\nfile = "{(BORE / "sand-flat.epw").as_posix()}"\ntilt = "55 deg"\nazimuth = "180 deg"\n'
    path = folder / "job.toml"
    path.write_text(text + weather + replay_table, encoding="utf-8")
    return path


def told(*words: str, code: int = 0) -> str:
    """What a command prints."""
    done = CliRunner().invoke(app, list(words))
    assert done.exit_code == code, done.output
    return done.stdout


def one_line(text: str) -> str:
    """The text without its folds."""
    return " ".join(text.split())


def test_an_answer_says_what_the_hours_come_to(tmp_path: Path) -> None:
    job, kept, page = write(tmp_path), tmp_path / "a.json", tmp_path / "a.html"
    said = one_line(told("pick", str(job), "--json", str(kept), "--page", str(page)))
    data = json.loads(kept.read_text())["bundles"][0]["replay"]
    assert data["hours_short"] > 24, "autonomy alone leaves a dull week"
    assert f"{data['hours_short']} h short on {data['days_short']} days" in said
    assert "a typical year has no bad year in it: passing it is no promise" in said
    assert f"{data['hours_short']} h of a typical year lack power, by the weather file" in said
    assert data["generator_free_days"] == 365 - data["days_short"]
    assert sum(month["short_h"] for month in data["months"]) == data["hours_short"]
    assert sum(month["array_kwh"] for month in data["months"]) == pytest.approx(data["array_kwh"], rel=1e-6)
    assert data["years"][0]["hours_short"] == data["hours_short"] and len(data["years"]) == 1
    drawn = page.read_text(encoding="utf-8")
    assert "replay-year" in drawn and "worst week, from" in drawn


def test_hours_accepted_decide_and_their_price_is_told(tmp_path: Path) -> None:
    free = json.loads(told("pick", str(write(tmp_path)), "--json", "-"))
    job = write(tmp_path, "\n[replay]\nhours_short = 100\n")
    told_json = tmp_path / "why.json"
    said = told("why", str(job), "--json", str(told_json))
    answer = json.loads(told_json.read_text())
    bundle = answer["bundles"][0]
    assert bundle["replay"]["hours_short"] <= 100 < free["bundles"][0]["replay"]["hours_short"]
    assert bundle["total"] > free["bundles"][0]["total"]
    reading = next(limit for limit in bundle["limits"] if limit["limit"] == "hours-short")
    assert (reading["allowed"], reading["unit"], reading["holds"]) == (100, "h", True)
    prices = {each["accepted"]: each["total"] for each in answer["why"]["hours_accepted"]}
    hours = {each["accepted"]: each["hours_short"] for each in answer["why"]["hours_accepted"]}
    assert all(hours[accepted] <= accepted for accepted in (0, 50, 200)) and hours[None] > 200
    assert list(prices) == [0, 50, 200, None]
    totals = [float(prices[accepted]) for accepted in (0, 50, 200, None)]
    assert totals == sorted(totals, reverse=True) and totals[1] >= float(bundle["total"]) >= totals[2]
    assert re.search(r"^HOURS ACCEPTED +short +total +against 100 h +then$", said, re.MULTILINE)
    for accepted, total in ((0, prices[0]), (200, prices[200])):
        table = f"\n[replay]\nhours_short = {accepted}\n"
        again = json.loads(told("pick", str(write(tmp_path, table)), "--json", "-"))
        assert again["bundles"][0]["total"] == total


def test_bundles_side_by_side(tmp_path: Path) -> None:
    job, kept = write(tmp_path, '\n[replay]\nbank = "new"\n'), tmp_path / "a.json"
    told("pick", str(job), "--json", str(kept))
    wanted = json.loads(kept.read_text())["bundles"]
    document = tmp_path / "r.json"
    said = told("replay", str(job), f"{kept}#1", f"{kept}#2", "--json", str(document))
    rows = re.findall(r"^ a\.json#(\d) +typical +([\d,]+) +(\d+)", said, re.MULTILINE)
    assert rows == [
        (str(rank + 1), str(wanted[rank]["replay"]["hours_short"]), str(wanted[rank]["replay"]["days_short"]))
        for rank in (0, 1)
    ]
    found = json.loads(document.read_text())["bundles"]
    assert [each["replay"] for each in found] == [each["replay"] for each in wanted[:2]]
    assert found[0]["replay"]["new_bank_hours_short"] <= found[0]["replay"]["hours_short"]
    refused = CliRunner().invoke(app, ["replay", str(BORE / "job.toml"), str(kept)])
    assert refused.exit_code == 2 and "Expected [weather]" in refused.stderr


def test_the_staircase_of_hours_goes_down_as_the_total_goes_up(tmp_path: Path) -> None:
    job, steps = write(tmp_path), tmp_path / "s.csv"
    told("afford", str(job), "--most", "hours", "--to", "100", "--csv", str(steps), "--plot", str(tmp_path / "s.svg"))
    rows = [line.split(",") for line in steps.read_text(encoding="utf-8").splitlines()[1:]]
    hours, totals = [int(row[1]) for row in rows], [float(row[3]) for row in rows]
    assert hours == sorted(hours, reverse=True) and len(set(hours)) == len(hours) > 2
    assert totals == sorted(totals) and hours[-1] <= 100 < hours[-2]
    done = CliRunner().invoke(app, ["afford", str(BORE / "job.toml"), "--most", "hours"])
    assert done.exit_code == 2 and "names no weather file" in done.stderr


def test_the_readme_shows_that_staircase(tmp_path: Path) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    shown = re.search(r"```text\n(Hours short in the worst year.*?)```", readme, re.DOTALL)
    assert shown is not None
    said = told("afford", str(write(tmp_path)), "--most", "hours", "--to", "24")
    assert shown[1] in said


SPOILT = (
    ('at = ["6-8"]\n', "", "clock-span"),
    ('at = ["06:00-25:00"]\n', "", "clock-span"),
    ('at = ["06:00-08:61"]\n', "", "clock-span"),
    ('at = ["06:00-06:00"]\n', "", "clock-span"),
    ('at = ["06:00-09:00", "08:00-10:00"]\n', "", "clock-spans-overlap"),
    ('at = ["22:00-02:00", "01:00-03:00"]\n', "", "clock-spans-overlap"),
    ('at = "06:00-08:00"\n', "", "wrong-type"),
    ("drawn = [1, 2, 3]\n", "", "wrong-type"),
    (f"drawn = [{', '.join(['0'] * 24)}]\n", "", "out-of-range"),
    (f"drawn = [{', '.join(['-1'] * 24)}]\n", "", "out-of-range"),
    ("", "\n[replay]\nhours_short = -1\n", "out-of-range"),
    ("", "\n[replay]\nhours_short = 8761\n", "out-of-range"),
    ("", "\n[replay]\nhours_short = 1.5\n", "not-whole"),
    ("", "\n[replay]\narray_losses = 0\n", "out-of-range"),
    ("", '\n[replay]\nbank = "old"\n', "unknown-value"),
    ("", "\n[replay]\nhours = 3\n", "unknown-key"),
)


@pytest.mark.parametrize(("load", "table", "kind"), SPOILT)
def test_what_is_wrong_is_said(tmp_path: Path, load: str, table: str, kind: str) -> None:
    job, problems = check_job(write(tmp_path, table, load))
    assert job is None
    assert [problem.kind.id for problem in problems] == [kind]


def test_what_only_a_replay_reads_needs_a_weather_file(tmp_path: Path) -> None:
    text = (BORE / "job.toml").read_text(encoding="utf-8").replace("[need]", 'at = ["06:00-08:00"]\n\n[need]')
    path = tmp_path / "job.toml"
    path.write_text(text + "\n[replay]\nhours_short = 24\n", encoding="utf-8")
    job, problems = check_job(path)
    assert job is None
    assert [problem.kind.id for problem in problems] == ["needs-weather"] * 2


def test_a_load_runs_when_it_is_said_to(tmp_path: Path) -> None:
    """Twelve hours from ten to ten, over midnight: an even share of the day's energy in each, nothing else."""
    job = read_job(write(tmp_path, "", 'at = ["22:00-10:00"]\n'))
    assert job.weather is not None
    shown = answers.pick(job, read_catalog(CATALOG), 1)
    loads = hourly_loads(job, shown.demand, job.weather.years.noon_h, 0.0)
    first = loads.each_w[0].reshape(365, 24)
    energy = shown.demand.loads[0].energy_wh[0]
    assert np.allclose(first[0, [22, 23, *range(10)]], energy / 12) and not first[0, 10:22].any()


# a pump that waits for the sun ------------------------------------------------------------------------------------


def by_loop(sun: list[float], loads: dict[str, Any], parts: ReplayParts) -> dict[str, Any]:
    """Hour by hour, from the rules in words: the tank first, then the bank; begun full, three times at most."""
    tank, bank = loads["tank_l"], parts.bank_wh
    for _ in range(3):
        begun, rows = tank, []
        for hour in range(HOURS):
            asked = (loads["critical"][hour] + loads["shed"][hour]) / parts.efficiency + parts.idle_w
            left = max(0.0, sun[hour] - asked) * parts.efficiency
            could = min(left, loads["pump_w"]) * loads["l_per_wh"]
            draw = loads["draw"][hour]
            after = tank + could - draw
            lacks = max(0.0, draw - tank - could)
            lifted = could - max(0.0, after - loads["tank_l"])
            tank = min(max(after, 0.0), loads["tank_l"])
            rows.append((lifted, lacks, tank, asked))
        if tank == begun:
            break
    for _ in range(3):
        begun, short, unserved = bank, 0, 0.0
        for hour in range(HOURS):
            lifted, _, _, asked = rows[hour]
            whole = asked + lifted / loads["l_per_wh"] / parts.efficiency
            over = sun[hour] - whole
            if over > 0:
                bank = min(bank + min(over, parts.charge_w) * parts.round_trip, parts.bank_wh)
                continue
            out = min(-over, bank)
            bank -= out
            lacking = -over - out
            unserved += lacking
            shed = loads["shed"][hour] / parts.efficiency
            short += max(0.0, lacking - shed) > max(0.01 * (whole - shed), 1e-6)
        if bank == begun:
            break
    return {
        "lifted": np.array([row[0] for row in rows]), "lacks": np.array([row[1] for row in rows]),
        "tank": np.array([row[2] for row in rows]), "short": short, "unserved": unserved,
    }  # fmt: skip


@by_seeds(range(40), 20)
def test_a_pump_with_a_tank_is_as_a_plain_loop_has_it(seeds: list[int]) -> None:
    for seed in seeds:
        draw = random.Random(seed)
        sun = [max(0.0, np.sin(np.pi * (hour % 24 - 6) / 12)) * draw.choice((100, 900, 2500)) for hour in range(HOURS)]
        of: dict[str, Any] = {
            "critical": [draw.uniform(0, 300) for _ in range(HOURS)],
            "shed": [draw.choice((0.0, draw.uniform(0, 100))) for _ in range(HOURS)],
            "pump_w": draw.uniform(300, 1200), "l_per_wh": draw.uniform(1, 4), "tank_l": draw.uniform(500, 20000),
            "draw": [draw.uniform(0, 400) for _ in range(HOURS)],
        }  # fmt: skip
        parts = ReplayParts(
            draw.uniform(0.8, 0.97), draw.uniform(0, 40), draw.uniform(200, 3000), draw.uniform(0.8, 1),
            draw.uniform(500, 20000),
        )  # fmt: skip
        expected = by_loop(sun, of, parts)
        each = np.array([of["critical"], of["shed"], [0.0] * HOURS])
        pump = WaitingPump("pump", np.full(HOURS, of["pump_w"]), np.full(HOURS, of["l_per_wh"]))
        loads = HourlyLoads(
            ("a", "b", "pump"), each, np.zeros_like(each), np.array([True, False, True]),
            np.array([False, False, True]), (pump,), np.array(of["draw"]), of["tank_l"],
        )  # fmt: skip
        array = ArrayHours(np.array(sun) * 1.1, np.array(sun))
        found = replay(array, loads, parts)
        assert found.water is not None and found.water.level is not None
        assert np.abs(found.water.level - expected["tank"]).max() < CLOSE
        assert np.abs(found.water.lacking - expected["lacks"]).max() < CLOSE
        assert np.abs(found.pumps_w["pump"] * of["l_per_wh"] - expected["lifted"]).max() < CLOSE
        assert abs(int(found.short.sum()) - expected["short"]) <= 1  # one hour may lie on the edge of 1 %
        nan = float("nan")
        zeros, noon = np.zeros((1, HOURS)), np.full(365, 12.0)
        weather = WeatherYears("", 0.0, 0.0, 0.0, (), nan, nan, nan, zeros, zeros, zeros, noon)
        year = replayed(found, loads, weather, parts.bank_wh).worst
        assert year.unserved_wh == pytest.approx(expected["unserved"], abs=1e-3)
        assert year.water is not None
        assert year.water.short_l == pytest.approx(float(expected["lacks"].sum()), abs=1e-3)
        assert year.clipped_share == pytest.approx(0.1 / 1.1)


@by_seeds(range(60), 30)
def test_a_larger_tank_never_leaves_more_for_the_bank(seeds: list[int]) -> None:
    """What bounds a plan by its smallest tanks: hours short fall with the tank, never rise."""
    for seed in seeds:
        draws = np.random.default_rng(seed)
        sun = draws.uniform(0, 2500, HOURS) * (draws.random(HOURS) < 0.35)
        each = np.array([draws.uniform(0, 300, HOURS)])
        parts = ReplayParts(0.9, 20.0, float(draws.uniform(200, 3000)), 0.9, float(draws.uniform(500, 9000)))
        pump = WaitingPump("pump", np.full(HOURS, 900.0), np.full(HOURS, 2.0))
        lacks = []
        for tank_l in sorted(draws.uniform(200, 20000, 3).tolist()):
            loads = HourlyLoads(
                ("a",), each, np.zeros_like(each), np.array([True]), np.array([False]), (pump,),
                np.full(HOURS, 120.0), tank_l,
            )  # fmt: skip
            lacks.append(replay(ArrayHours(sun, sun), loads, parts).lacking)
        assert (lacks[0] <= lacks[1] + CLOSE).all() and (lacks[1] <= lacks[2] + CLOSE).all(), seed
