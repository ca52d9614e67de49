"""Starters and tanks on random instances: what is left out of the enumeration, and what they are drawn for."""

from __future__ import annotations

import itertools
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.brute import force, plans
from tests.brute.force import Best, Node, cheapest, nodes_of
from tests.brute.instances import write_instance
from tests.brute.limits import Limits
from tests.brute.parts import Parts, Tank, read_parts, rows_of, starter
from tests.brute.plans import Tanks, daily_water, stored
from tests.brute.reading import Job, read_job

pytestmark = pytest.mark.thorough
SEEDS = range(220)
OPTIONAL_OF_STARTERS = """makes_phases start_factor start_volts_pct ramp_s efficiency_pct input_power_factor volts_min
    volts_max listed weight_kg"""
Instance = tuple[Path, Path, Parts, Job, dict[Node, Best]]


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> list[Instance]:
    folder = tmp_path_factory.mktemp("instances")
    found = []
    for seed in SEEDS:
        catalog, job_path = write_instance(folder / str(seed), seed, starters=True)
        parts, job = read_parts(catalog), read_job(job_path)
        found.append((catalog, job_path, parts, job, nodes_of(parts, job)))
    return found


def least(parts: Parts, job: Job, **terms: Any) -> float:
    found = cheapest(nodes_of(parts, job, **terms))
    return float("inf") if found is None else float(found[1].total)


def test_an_instance_is_the_same_for_the_same_seed(tmp_path: Path, drawn: list[Instance]) -> None:
    for seed in (3, 41):
        catalog, job_path = write_instance(tmp_path / str(seed), seed, starters=True)
        old_catalog, old_job, *_ = drawn[seed]
        assert job_path.read_bytes() == old_job.read_bytes()
        assert {path.name: path.read_bytes() for path in catalog.iterdir()} == {
            path.name: path.read_bytes() for path in old_catalog.iterdir()
        }


def test_without_the_flag_no_instance_has_any_of_it(tmp_path: Path) -> None:
    for seed in range(20):
        catalog, job_path = write_instance(tmp_path / str(seed), seed)
        assert not (catalog / "starters.csv").exists()
        assert not (catalog / "tanks.csv").exists()
        job = tomllib.loads(job_path.read_text(encoding="utf-8"))
        assert "water" not in job
        assert not any("cable_drop" in load for load in job["load"])


def test_they_are_there_and_of_use(drawn: list[Instance]) -> None:
    feasible = with_starter = with_tank = several = needed = saving = mixed = 0
    reserve = volts = well = 0
    for *_, parts, job, nodes in drawn:
        first = cheapest(nodes)
        for name in ("water-reserve", "start-volts", "well-yield"):
            free = least(parts, job, without=frozenset({name}))
            binds = free < (float("inf") if first is None else float(first[1].total))
            reserve += binds and name == "water-reserve"
            volts += binds and name == "start-volts"
            well += binds and name == "well-yield"
        if first is None:
            continue
        best = first[1]
        feasible += 1
        with_starter += bool(best.starters)
        with_tank += bool(best.tanks)
        mixed += len(best.tanks) > 1
        several += sum(count for _, count in best.tanks) > 1
        bare = least(replace(parts, starters=[], tanks=[]), job)
        needed += bare == float("inf")
        saving += float(best.total) < bare < float("inf")
    assert 0.5 <= feasible / len(drawn) <= 0.8
    assert with_starter >= 12
    assert with_tank >= 25
    assert several >= 20
    assert mixed >= 2
    assert needed >= 25
    assert saving >= 5
    assert min(reserve, volts, well) >= 2
    assert reserve >= 12


def test_rows_make_sense_and_every_key_is_left_out_and_stated(drawn: list[Instance]) -> None:
    stated: dict[str, int] = {}
    rows = 0
    keys: dict[str, int] = {}
    for catalog, job_path, *_ in drawn:
        for row in rows_of(catalog / "starters.csv"):
            rows += 1
            assert row.number("running_a") > 0
            assert 0 < row.number_or("start_factor", 1) <= 1
            one = starter(row)
            assert one.floor_x >= (1 if one.kind == "drive" else 0)
            if one.kind != "drive":
                assert row.text("start_factor")
                assert (one.efficiency, one.input_power_factor, one.makes_phases) == (1, 1, one.phases_in)
            if one.kind == "star-delta":
                assert one.phases_in == 3 and one.motors == frozenset({"three-phase"})
            assert row.number_or("volts_min", 0) <= row.number_or("volts_max", 1000)
            assert {one.strip() for one in row.stated("motors").split(";")} <= {
                "two-wire", "three-wire", "psc", "three-phase"
            }  # fmt: skip
            for column in OPTIONAL_OF_STARTERS.split():
                stated[column] = stated.get(column, 0) + (row.text(column) is not None)
        for row in rows_of(catalog / "tanks.csv"):
            assert row.number("volume_l") > 0
            assert 0 < row.number_or("usable_pct", 95) <= 100
            stated["usable_pct"] = stated.get("usable_pct", 0) + (row.text("usable_pct") is not None)
        job = tomllib.loads(job_path.read_text(encoding="utf-8"))
        for key in job.get("water", {}):
            keys[key] = keys.get(key, 0) + 1
        for key in {key for load in job["load"] for key in load} & {"cable_drop", "start_volts_least"}:
            keys[key] = keys.get(key, 0) + 1
    assert all(20 <= count <= rows - 20 for count in stated.values())
    assert len(stated) == 11
    of_water = {"reserve_days", "tank_on_hand", "daytime_with_tank", "max_tanks", "well_yield"}
    assert set(keys) == of_water | {"cable_drop", "start_volts_least"}
    assert all(20 <= count <= len(drawn) - 20 for count in keys.values())


def every_multiset(
    job: Job, tanks: Sequence[Tank], limits: Limits, must: Mapping[str, int | None], _: Mapping[str, int] | None
) -> list[Tanks]:
    """All multisets of tanks up to one piece more of each model than any use asks for."""
    litres = max(daily_water(job)) * max(1.0, job.reserve_days, job.autonomy_days)
    counts = [range(int(litres / tank.usable_l) + 3) for tank in tanks]
    found = [stored(job, tanks, pieces, limits) for pieces in itertools.product(*counts)]
    return [one for one in found if one is not None]


def test_what_is_left_out_changes_nothing(drawn: list[Instance], monkeypatch: pytest.MonkeyPatch) -> None:
    """Every multiset of tanks with every start plan, none left out: the same nodes with the same order."""
    compared = 0
    for *_, parts, job, nodes in drawn[:100]:
        litres = max(daily_water(job)) * max(1.0, job.reserve_days, job.autonomy_days)
        if sum(litres / tank.usable_l for tank in parts.tanks) > 15:
            continue
        with monkeypatch.context() as patched:
            patched.setattr(plans, "useful_tanks", every_multiset)
            patched.setattr(force, "worth_trying", lambda some, _: list(some))
            everything = nodes_of(parts, job)
        assert {node: best.order for node, best in everything.items()} == {
            node: best.order for node, best in nodes.items()
        }
        compared += any(best.tanks or best.starters for best in nodes.values())
    assert compared > 18


def test_with_it_or_without_it(drawn: list[Instance]) -> None:
    """The cheapest of all is the cheaper of those with a part and those without; so it is by number of pieces."""
    compared = 0
    for *_, parts, job, nodes in drawn[:60]:
        first = cheapest(nodes)
        if first is None:
            continue
        total, needs = float(first[1].total), dict(first[1].needs)
        for part in [row.part for row in parts.starters] + [row.part for row in parts.tanks]:
            without = least(parts, job, never=frozenset({part}))
            assert min(without, least(parts, job, must={part: None})) == total
            if part in needs:
                assert least(parts, job, must={part: needs[part]}) == total
                by_number = [least(parts, job, must={part: count}) for count in range(1, needs[part] + 3)]
                assert min(by_number) == total
                compared += without > total
    assert compared > 15
