"""What a budget buys, against the brute force: every stair is where it is, and nothing is cheaper one step above it.

The cost of a level never falls as the level rises, so a staircase is exact where each stair's total is the least at its
own level and the next stair's total is the least one step above it.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

from catalog.reader import read_catalog
from optimizer import answers
from optimizer.answers.budget_staircase import Staircase, climb
from optimizer.answers.stair_quantity import StairQuantity
from optimizer.auditor.audit import audit
from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS, STOPPED, WRONG_INPUT
from optimizer.explain.resolve import Resolver, Scenario
from optimizer.inputs.job_reader import read_job
from tests.brute.force import cheapest, nodes_of
from tests.brute.instances import write_instance
from tests.brute.parts import Parts, read_parts
from tests.brute.reading import Job as BruteJob
from tests.brute.reading import Load, load_of
from tests.brute.reading import read_job as read_brute_job
from tests.command_line import run
from tests.seeds import by_seeds
from tests.small_files import JOB, write_job

SEEDS = range(330)  # 61 % of them can be met at all
MOST = 4  # stairs held against the brute force, of each quantity of each seed
AUTONOMY, WATER, RESERVE, _ = StairQuantity
STEP = {AUTONOMY: 0.01, WATER: 0.001, RESERVE: 1.0}  # hours have tests of their own (tests/test_hours_short.py)


def at(job: BruteJob, quantity: StairQuantity, level: int) -> BruteJob:
    """The brute force's job with a quantity at a level."""
    value = level * STEP[quantity]
    if quantity == AUTONOMY:
        return replace(job, autonomy_days=max(job.autonomy_days, round(value, 2)))
    if quantity == WATER:
        return replace(job, loads=[watered(load, round(value, 3)) for load in job.loads])
    volts = {"120": "120 V", "120/240": "240 V", "230": "230 V"}[job.supply]
    spare = load_of({
        "name": "spare power", "voltage": volts, "running": f"{max(value, 1e-9):.9f} W", "power_factor": 1.0,
        "starting": "none", "energy_per_day": "0 Wh", "critical": False,
    })  # fmt: skip
    return replace(job, loads=[*job.loads, spare])


def watered(load: Load, share: float) -> Load:
    """A load that pumps a share of its water."""
    if load.water_per_day_l is None:
        return load
    return replace(load, water_per_day_l=tuple(litres * share for litres in load.water_per_day_l))


def over_a_day(job: BruteJob) -> bool:
    """Whether a pump would run for more than a day a day, which no job may ask."""
    return any(
        load.water_per_day_l and max(load.water_per_day_l) > 24 * load.count * (load.flow_l_per_h or 1) * (1 + 1e-9)
        for load in job.loads
    )


def staircases(folder: Path, seed: int) -> Iterator[tuple[StairQuantity, list[tuple[int, int]], bool, Parts, BruteJob]]:
    """(quantity, [(level, cents)], ended, parts, job) of one random instance without its budget."""
    path, job_path = write_instance(folder / str(seed), seed)
    catalog, job = read_catalog(path), read_job(job_path)
    parts, brute = read_parts(path), replace(read_brute_job(job_path), budget_cents=None)
    base = replace(job, need=replace(job.need, budget_cents=None))
    for quantity in STEP:
        if quantity == WATER and not any(load.water_per_day_l for load in job.loads):
            continue
        resolver = Resolver(Scenario(base, catalog))
        stairs, ended = [], True
        for stair, _ in climb(resolver, resolver.base, quantity):
            assert audit(base, stair.bundle, catalog).passes
            stairs.append((stair.level, stair.cents))
            if len(stairs) == MOST:
                ended = False
                break
        yield quantity, stairs, ended, parts, brute


@by_seeds(SEEDS, 30)
def test_every_stair_and_the_step_above_it(tmp_path: Path, seeds: range) -> None:
    for seed in seeds:
        for quantity, stairs, ended, parts, job in staircases(tmp_path, seed):

            def least(
                level: int, quantity: StairQuantity = quantity, parts: Parts = parts, job: BruteJob = job
            ) -> int | None:
                changed = at(job, quantity, level)
                if over_a_day(changed):
                    return None
                best = cheapest(nodes_of(parts, changed))
                return None if best is None else int(best[1].total * 100)

            if not stairs:
                assert cheapest(nodes_of(parts, job)) is None, seed
                continue
            for place, (level, cents) in enumerate(stairs):
                assert least(level) == cents, (seed, quantity, level)
                if place + 1 < len(stairs):
                    assert least(level + 1) == stairs[place + 1][1], (seed, quantity, level)
                elif ended:
                    assert least(level + 1) is None, (seed, quantity, level)


# as a person meets it --------------------------------------------------------------------------------------------


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """The cheapest bundle costs 11,364.00, and has two bt-200; each more is 1,690.00."""
    return write_job(tmp_path, JOB.replace("budget = 9500\n", ""))


def found(
    job: Path, quantity: StairQuantity = AUTONOMY, budget: int | None = None, end: float | None = None
) -> Staircase:
    """The staircase with a budget in cents, up to ``end`` in days, % or W."""
    catalog = read_catalog(job.parent / "catalog")
    return answers.afford(read_job(job), catalog, None if budget is None else budget / 100, quantity, end)


def test_the_budget_buys_a_step(job: Path) -> None:
    stairs = found(job).stairs
    dearer = stairs[1].cents
    exact = found(job, budget=dearer)
    assert exact.bought == 1
    assert found(job, budget=dearer - 1).bought == 0
    said = run("afford", str(job), "--budget", f"{dearer / 100:.2f}")
    assert said.exit_code == ANSWERED
    line = next(line for line in said.stdout.splitlines() if line.startswith("2 "))
    assert f"{dearer / 100:,.2f}" in line
    assert "0.00 is left of" in " ".join(said.stdout.split())


def test_a_budget_that_does_not_buy_the_job(job: Path) -> None:
    """A cent under the cheapest: it buys a little less of either, and the answer says how much. For 1.5 days two bt-280
    at 2,200 stand in place of the two bt-200, which the starts ask even for no day at all."""
    said = run("afford", str(job), "--budget", "11363.99")
    assert said.exit_code == NOTHING_MEETS
    assert "It buys none of it with less of sunless days alone." in " ".join(said.stdout.split())
    job.write_text(job.read_text().replace("autonomy_days = 1.0", "autonomy_days = 1.5"), encoding="utf-8")
    said = run("afford", str(job), "--budget", "12383.99")
    assert said.exit_code == NOTHING_MEETS
    text = " ".join(said.stdout.split())
    assert "the cheapest that meets it costs 12,384.00, 0.01 more" in text
    for quantity in ("the stated water", "sunless days"):
        assert re.search(rf"With less of {quantity} alone it buys [\d.]+", text)


def test_what_a_small_budget_buys_is_the_most_it_buys(job: Path) -> None:
    short = {each.quantity: each.stair for each in found(job, budget=1136399).short}
    water = short[WATER]
    assert water is not None and water.cents <= 1136399
    litres = 9000 * water.level / 1000
    for more, code in ((0, ANSWERED), (9, NOTHING_MEETS)):  # 0.1 % of 9,000 L
        text = job.read_text().replace('"9000 L"', f'"{litres + more:g} L"')
        text = text.replace("[need]", "[need]\nbudget = 11363.99")
        job.with_name(f"more-{more}.toml").write_text(text, encoding="utf-8")
        assert run("pick", str(job.with_name(f"more-{more}.toml")), "--options", "1").exit_code == code


def test_tables_and_drawing(job: Path, tmp_path: Path) -> None:
    told, drawn = tmp_path / "stairs.csv", tmp_path / "stairs.svg"
    said = run("afford", str(job), "--budget", "14000", "--csv", str(told), "--plot", str(drawn))
    assert said.exit_code == ANSWERED
    rows = list(csv.DictReader(io.StringIO(told.read_text())))
    assert rows[0]["total"] == "11364.00"
    levels = [float(row["level"]) for row in rows]
    totals = [float(row["total"]) for row in rows]
    assert levels == sorted(set(levels)) and totals == sorted(set(totals))
    tree = ElementTree.fromstring(drawn.read_text())
    words = " ".join(text for element in tree.iter() for text in [element.text or ""])
    assert "budget 14,000.00" in words
    assert all(row["total"][:-3] in words.replace(",", "") for row in rows)


def test_spare_watts_typed_as_a_load(job: Path) -> None:
    """The watts to spare, written into the job as a load, cost nothing more; one watt more does."""
    said = run("afford", str(job), "--most", "reserve", "--to", "1")
    assert said.exit_code == ANSWERED
    assert "Taken across both legs." in said.stdout
    watts = found(job, RESERVE, end=1.0).stairs[0].level
    assert watts > 100
    for more, same in ((0, True), (1, False)):
        load = f'name = "spare"\nvoltage = "240 V"\nrunning = "{watts + more} W"\npower_factor = 1.0\nstarting = "none"'
        text = f'{job.read_text()}\n[[load]]\n{load}\nenergy_per_day = "0 Wh"\ncritical = false\n'
        path = job.with_name(f"spare-{more}.toml")
        path.write_text(text, encoding="utf-8")
        assert ("$11,364.00 delivered" in run("pick", str(path), "--options", "1").stdout) is same


def test_water_in_the_persons_own_unit(job: Path) -> None:
    said = run("afford", str(job), "--most", "water", "--to", "100")
    assert said.exit_code == ANSWERED
    level = found(job, WATER, end=100).stairs[0].level
    assert f"{9000 * level / 1000:,.0f} L" in said.stdout
    assert f"{level / 10:,.1f} %" in said.stdout


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (("--budget", "10.001"), WRONG_INPUT, "at most two decimals"),
        (("--csv", "nowhere/a.csv"), WRONG_INPUT, "there is no folder"),
        (("--time-limit", "0"), STOPPED, ""),
    ],
)
def test_what_goes_wrong(job: Path, arguments: tuple[str, ...], code: int, words: str) -> None:
    said = run("afford", str(job), *arguments)
    assert said.exit_code == code
    assert words in said.stderr


def test_water_that_nothing_pumps(job: Path) -> None:
    text = job.read_text().replace('water_per_day = "9000 L"\nflow = "38 L/min"\n', 'hours_per_day = "4 h"\n')
    job.write_text(text, encoding="utf-8")
    said = run("afford", str(job), "--most", "water")
    assert said.exit_code == WRONG_INPUT
    assert "water_per_day" in said.stderr
