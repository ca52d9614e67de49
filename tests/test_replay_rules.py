"""The rules of the replay's hours, against a plain loop over hours that is written from the rules in words and shares
nothing with them; and by hand."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import Any

import numpy as np
import pytest

from optimizer.rules import bounded_sum, hours, load_hours
from tests.seeds import by_seeds

YEAR = 8760
CLOSE_WH = 1e-6


def drawn_year(random: Random) -> dict[str, Any]:
    """A year of light, air and loads, and a bundle for it; anything from an empty bank to one of many days."""
    light, air, loads, shed = [], [], [], []
    for day in range(YEAR // 24):
        clear = random.choice((0.05, 0.3, 0.7, 1.0)) * (0.7 + 0.3 * np.cos(2 * np.pi * day / 365))
        for hour in range(24):
            up = max(0.0, np.sin(np.pi * (hour - 6) / 12))
            light.append(1000 * clear * up)
            air.append(15 + 10 * up + random.uniform(-5, 5))
            loads.append(random.uniform(0, 900))
            shed.append(random.choice((0.0, random.uniform(0, 400))))
    full = random.choice((0.0, random.uniform(100, 3e3), random.uniform(3e3, 6e4)))
    return {
        "light": light, "air": air, "critical": loads, "shed": shed, "full": full, "panels": random.randint(1, 14),
        "pmax": random.uniform(200, 700), "per_c": random.uniform(-0.5, -0.2), "noct": random.uniform(40, 50),
        "heat": random.choice((0.0, 15.0)), "losses": random.uniform(0.7, 1.0), "usable_w": random.uniform(500, 9000),
        "usable_a": random.uniform(8, 40), "vmp": random.uniform(30, 50), "array_w": random.uniform(500, 9000),
        "efficiency": random.uniform(0.8, 0.97), "idle": random.uniform(0, 60), "charge": random.uniform(50, 6000),
        "trip": random.uniform(0.75, 0.98),
    }  # fmt: skip


def by_loop(year: dict[str, Any], start: float | None = None) -> tuple[list[dict[str, float]], float]:
    """Every hour one after the other, and what the bank holds at the end; begun full, at most three times."""
    held = year["full"] if start is None else start
    for _ in range(3 if start is None else 1):
        begun, rows = held, []
        for hour in range(YEAR):
            cell = year["air"][hour] + (year["noct"] - 20) / 800 * year["light"][hour] + year["heat"]
            hot = 1 + year["per_c"] / 100 * (cell - 25)
            panel = max(0.0, year["pmax"] * year["light"][hour] / 1000 * hot * year["losses"])
            offered = panel * year["panels"]
            given = min(offered, year["usable_w"], year["usable_a"] * max(0.0, year["vmp"] * year["panels"] * hot))
            sun = min(given, year["array_w"])
            asked = (year["critical"][hour] + year["shed"][hour]) / year["efficiency"] + year["idle"]
            before, direct, charging, out, unserved = held, min(sun, asked), 0.0, 0.0, 0.0
            if sun > asked:
                charging = min(sun - asked, year["charge"], (year["full"] - held) / year["trip"])
                held += charging * year["trip"]
            else:
                out = min(asked - sun, held)
                held -= out
                unserved = asked - sun - out
            shed = year["shed"][hour] / year["efficiency"]
            lacking = max(0.0, unserved - shed)
            rows.append({
                "offered": offered, "sun": sun, "asked": asked, "direct": direct, "charging": charging, "drawn": out,
                "curtailed": sun - direct - charging, "unserved": unserved, "before": before, "level": held,
                "lacking": lacking, "short": lacking > max(0.01 * (asked - shed), 1e-6),
            })  # fmt: skip
        if held == begun:
            break
    return rows, held


def by_rules(year: dict[str, Any]) -> dict[str, np.ndarray]:
    """The same by the rules."""
    light, air, critical, shed = (np.array(year[name]) for name in ("light", "air", "critical", "shed"))
    cell = hours.cell_temperature(air, light, year["noct"], year["heat"])
    panel = hours.offered_power(year["pmax"], light, year["per_c"], cell, year["losses"])
    string = panel * year["panels"]
    volts = year["vmp"] * year["panels"] * hours.heat_factor(year["per_c"], cell)
    sun = np.minimum(hours.handed_on(string, 1, year["usable_w"], year["usable_a"], volts), year["array_w"])
    asked = hours.asked_power(critical + shed, year["efficiency"], year["idle"], 1)
    step = hours.bank_step(sun, asked, year["charge"], year["trip"])
    before, level = bounded_sum.levels(step, year["full"])
    found = hours.flows(sun, asked, year["trip"], before, level)
    shed_w = shed / year["efficiency"]
    lacking = hours.critical_unserved(found.unserved, shed_w)
    return {
        "offered": string, "sun": sun, "asked": asked, "direct": found.direct, "charging": found.charging,
        "drawn": found.drawn, "curtailed": found.curtailed, "unserved": found.unserved, "before": before,
        "level": level, "lacking": lacking, "short": hours.is_short(lacking, asked - shed_w), "stored": found.stored,
    }  # fmt: skip


@by_seeds(range(200), 50)
def test_every_hour_is_as_a_plain_loop_has_it(seeds: Sequence[int]) -> None:
    """A bundle and a year each seed, to 1e-6 Wh; and every W is counted once."""
    for seed in seeds:
        year = drawn_year(Random(seed))
        rows, _ = by_loop(year)
        found = by_rules(year)
        for name in rows[0]:
            expected = np.array([row[name] for row in rows])
            if name == "short":  # a comparison: what lies at its edge may fall to either side
                edge = np.abs(found["lacking"] - 0.01 * np.array(year["critical"]) / year["efficiency"]) < 1.0
                assert np.array_equal(found[name][~edge], expected[~edge].astype(bool))
            else:
                assert np.abs(found[name] - expected).max() < CLOSE_WH, (seed, name)
        made = found["direct"] + found["stored"] + found["charging"] * (1 - year["trip"]) + found["curtailed"]
        assert np.abs(made - found["sun"]).max() < CLOSE_WH
        assert np.abs(found["direct"] + found["drawn"] + found["unserved"] - found["asked"]).max() < CLOSE_WH
        assert np.abs(found["level"] - found["before"] - found["stored"] + found["drawn"]).max() < CLOSE_WH
        assert (found["offered"] >= found["sun"]).all(), "what is over a ceiling is clipped"


def test_the_drawn_years_have_hours_of_every_sort() -> None:
    """Short, full, empty, clipped and curtailed ones."""
    found = [by_rules(drawn_year(Random(seed))) for seed in range(12)]
    assert sum(each["short"].sum() for each in found) > 1000
    for name in ("charging", "drawn", "curtailed", "lacking", "level"):
        assert any((each[name] > 0).any() and (each[name] == 0).any() for each in found), name
    assert any((each["offered"] > each["sun"] + 1).any() for each in found)


@by_seeds(range(1000), 250)
def test_more_never_hurts(seeds: Sequence[int]) -> None:
    """No hour lacks more where any hour's sun, the bank or its charging is more: a pair a seed."""
    for seed in seeds:
        random, draws = Random(seed), np.random.default_rng(seed)
        size = random.choice((24, 240, 1000))
        sun, asked = draws.uniform(0, 900, size) * (draws.random(size) < 0.5), draws.uniform(0, 500, size)
        full, charge, trip = random.uniform(0, 4000), random.uniform(10, 900), random.uniform(0.7, 1.0)
        more = sun + draws.uniform(0, 300, size) * (draws.random(size) < random.random())
        fuller, faster = full + random.choice((0, 500)), charge + random.choice((0, 300))
        lacks = []
        for light, bank, most in ((sun, full, charge), (more, fuller, faster)):
            before, level = bounded_sum.levels(hours.bank_step(light, asked, most, trip), bank, bank)
            lacks.append(hours.flows(light, asked, trip, before, level).unserved)
        assert (lacks[1] <= lacks[0] + CLOSE_WH).all(), seed


@by_seeds(range(100), 50)
def test_a_store_of_any_size_over_any_hours(seeds: Sequence[int]) -> None:
    """Several stores at once, each as one alone, and as hour by hour; also where the hours fill no whole block."""
    for seed in seeds:
        draws = np.random.default_rng(seed)
        for size in (1, 2, 3, 24, 99, 100, 101, 500):
            step = draws.normal(draws.uniform(-1, 1), 3, (4, size))
            full, share = draws.uniform(0, 12, 4), draws.uniform(0, 1, 4)
            full[0] = 0.0
            before, after = bounded_sum.levels(step, full, share * full)
            for store in range(4):
                held, expected = share[store] * full[store], []
                for each in step[store]:
                    held = min(max(held + each, 0.0), full[store])
                    expected.append(held)
                assert after[store] == pytest.approx(expected, abs=1e-9)
                assert before[store].tolist() == [share[store] * full[store], *after[store][:-1]]
                alone = bounded_sum.levels(step[store], full[store], share[store] * full[store])[1]
                assert np.array_equal(alone, after[store])


def test_a_year_follows_itself() -> None:
    """By hand, full 10: +3, -8, +2 begun full are 10, 2, 4; then 7, 0, 2; then 5, 0, 2: it begins with 2."""
    before, after = bounded_sum.levels(np.array([3.0, -8.0, 2.0]), 10.0)
    assert (before.tolist(), after.tolist()) == ([2.0, 5.0, 0.0], [5.0, 0.0, 2.0])
    assert bounded_sum.levels(np.array([-1.0, 5.0]), 4.0)[0][0] == 4.0  # what gains stays full
    assert bounded_sum.levels(np.array([-1.0]), 10.0)[0][0] == 7.0  # three times at most, begun full


def test_a_panel_by_hand() -> None:
    """1000 W/m2, 30 degC, NOCT 45: 61.25 degC (Ross). pvlib's pvwatts_dc(900, 30, 100, -0.003): 88.65 W."""
    one = np.array([1.0])
    assert hours.cell_temperature(30 * one, 1000 * one, 45.0, 0.0)[0] == 61.25
    assert hours.offered_power(100.0, 900 * one, -0.3, 30 * one, 1.0)[0] == pytest.approx(88.65)
    assert hours.offered_power(100.0, 900 * one, -0.5, 300 * one, 1.0)[0] == 0.0


def test_a_tracker_hands_on_what_its_ceilings_let_through() -> None:
    """Two strings of 3 kW: all of it below 7 kW; at 20 A of 250 V 5 kW; the tracker's own 4.5 kW."""
    one = np.array([3000.0])
    assert hours.handed_on(one, 2, 7000.0, 40.0, np.array([250.0]))[0] == 6000.0
    assert hours.handed_on(one, 2, 7000.0, 20.0, np.array([250.0]))[0] == 5000.0
    assert hours.handed_on(one, 2, 4500.0, 20.0, np.array([250.0]))[0] == 4500.0


def test_a_tank_by_hand() -> None:
    """100 L, begun with 50: 80 could be pumped, 10 are drawn: full after 60. Then 130 are drawn: 30 lack."""
    pump, drawn = np.array([80.0, 0.0]), np.array([10.0, 130.0])
    before, level = bounded_sum.levels(pump - drawn, 100.0, 50.0)
    pumped, lacking = hours.tank_flows(pump, drawn, before, level)
    assert (level.tolist(), pumped.tolist(), lacking.tolist()) == ([100.0, 0.0], [60.0, 0.0], [0.0, 30.0])


def test_a_lack_of_a_hundredth_is_none() -> None:
    """Of 500 W critical: 5 W lacking are 1 %, a hair more is short. What is not critical goes first."""
    lacking = hours.critical_unserved(np.array([105.0, 105.1, 90.0]), np.array([100.0, 100.0, 100.0]))
    assert hours.is_short(lacking, np.full(3, 500.0)).tolist() == [False, True, False]


# when a load runs --------------------------------------------------------------------------------------------------


def test_a_load_of_four_hours_round_a_noon_at_half_past_twelve() -> None:
    """By hand: 10:30 to 14:30, so half of the hour from 10, and of that from 14; a quarter of it in each whole hour."""
    shares = load_hours.sunny_shares(12.5, 4.0)
    assert shares[9:16].tolist() == [0.0, 0.125, 0.25, 0.25, 0.25, 0.125, 0.0]
    assert shares.sum() == pytest.approx(1.0)
    assert np.array_equal(load_hours.sunny_shares(12.5, 24.0), load_hours.sunny_shares(12.5, 8.0))


def test_the_rest_is_spread_over_sixteen_hours() -> None:
    """Noon at 12: none from 8 to 16, a sixteenth in each other hour."""
    assert load_hours.other_shares(12.0).tolist() == [1 / 16] * 8 + [0.0] * 8 + [1 / 16] * 8


def test_a_day_is_whole_wherever_noon_stands() -> None:
    """Of a load that runs all day with 8 of 24 h in the sun every hour is alike; noon may stand near midnight where a
    clock is not that of its place."""
    assert load_hours.day_shares(12.0, 24.0, 8 / 24) == pytest.approx(np.full(24, 1 / 24))
    noons = np.array([0.2, 5.0, 12.7, 23.9])
    shares = load_hours.day_shares(noons, np.array([3.0, 24.0, 0.5, 8.0]), np.array([0.9, 0.35, 1.0, 0.0]))
    assert shares.shape == (4, 24) and (shares >= 0).all()
    assert shares.sum(axis=-1) == pytest.approx(np.ones(4))


def test_stated_hours_may_go_over_midnight() -> None:
    shares = load_hours.stated_shares([(6.0, 8.0), (22.5, 0.5)])
    assert shares[[0, 6, 7, 22, 23]].tolist() == [0.125, 0.25, 0.25, 0.125, 0.25] and shares.sum() == 1.0


def test_runs_of_hours_go_round_the_years_end() -> None:
    def of(text: str) -> list[tuple[int, int]]:
        return load_hours.runs(np.array([sign == "x" for sign in text]))

    assert of("..xx.x..") == [(2, 2), (5, 1)]
    assert of("x..xx..x") == [(3, 2), (7, 2)]
    assert (of("xxxx"), of("...."), of("x..."), of("...x")) == ([(0, 4)], [], [(0, 1)], [(3, 1)])
