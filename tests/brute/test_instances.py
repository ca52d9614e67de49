"""The random instances against what an instance must be, and what must hold of the brute force on them."""

from __future__ import annotations

import itertools
import math
import operator
import shutil
import tomllib
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.brute.arrays import Shape, most_panels, wirings
from tests.brute.force import best_distinct, enumerate_nodes, nodes_of
from tests.brute.instances import COLUMNS, OPTIONAL, mutate_rows, write_instance
from tests.brute.limits import DROPPABLE, Limits
from tests.brute.parts import Row, battery, converter, read_parts, rows_of
from tests.brute.reading import read_job
from tests.brute.rules import layouts, rack_units, rows_of_string

ALL_LIMITS = Limits()

pytestmark = pytest.mark.thorough
SEEDS = range(300)
LOAD_KEYS = """count power_factor starting locked_rotor_code rated starting_power_factor start_time motor
    water_per_day flow hours_per_day energy_per_day daytime critical leg"""
OTHER_KEYS = """catalog. site.bank_coldest site.bank_hottest site.array_ceiling site.rear_light site.array_factor
    supply.hz supply.restart need.autonomy_days need.array_to_load need.budget reserve.running
    reserve.starting reserve.voltage reserve.hot_voltage reserve.current reserve.parallel_share
    space.max_panels space.max_area space.row_max space.mounts allow.chemistries allow.sellers
    allow.exclude allow.listed_only"""


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Path, Path]]:
    folder = tmp_path_factory.mktemp("instances")
    return [write_instance(folder / str(seed), seed) for seed in SEEDS]


def test_an_instance_is_the_same_for_the_same_seed(tmp_path: Path, drawn: list[tuple[Path, Path]]) -> None:
    for seed in (0, 17, 203):
        catalog, job = write_instance(tmp_path / str(seed), seed)
        old_catalog, old_job = drawn[seed]
        assert job.read_bytes() == old_job.read_bytes()
        names = sorted(path.name for path in catalog.iterdir())
        assert names == sorted(path.name for path in old_catalog.iterdir())
        assert all((catalog / name).read_bytes() == (old_catalog / name).read_bytes() for name in names)


def test_shuffled_rows_and_columns_change_nothing(tmp_path: Path, drawn: list[tuple[Path, Path]]) -> None:
    changed = 0
    for seed in SEEDS[:40]:
        catalog, job = drawn[seed]
        before = enumerate_nodes(catalog, job)
        shuffled = tmp_path / str(seed)
        shutil.copytree(catalog, shuffled)
        mutate_rows(shuffled, seed)
        content = (catalog / "converters.csv").read_bytes()
        changed += content.replace(b"\n", b"\r\n") != (shuffled / "converters.csv").read_bytes()
        assert b"\r\n" in (shuffled / "prices.csv").read_bytes()
        after = enumerate_nodes(shuffled, job)
        assert {node: best.order for node, best in after.items()} == {n: one.order for n, one in before.items()}
        assert [one[:5] for one in best_distinct(after, 9)] == [one[:5] for one in best_distinct(before, 9)]
    assert changed > 30


def test_six_or_more_of_ten_instances_have_a_bundle(drawn: list[tuple[Path, Path]]) -> None:
    feasible = sum(bool(enumerate_nodes(*one)) for one in drawn)
    assert 0.58 <= feasible / len(drawn) <= 0.76


def test_more_bank_strings_are_never_cheaper(drawn: list[tuple[Path, Path]]) -> None:
    """Of nodes that differ in bank strings only, the fewest are the cheapest."""
    compared = 0
    for catalog, job in drawn:
        totals: dict[tuple[str, ...], list[Decimal]] = {}
        for node, best in sorted(enumerate_nodes(catalog, job).items()):
            totals.setdefault(tuple(str(one) for one in node._replace(k=0)), []).append(best.total)
        for by_k in totals.values():
            assert by_k == sorted(by_k)
            compared += len(by_k) > 1
    assert compared > 100


def every_wiring(choices: list[Any], trackers: int, most: float) -> Iterator[tuple[Any, ...]]:
    """Every handful of up to `trackers` layouts, one after the other."""
    for used in range(trackers + 1):
        for chosen in itertools.combinations_with_replacement(choices, used):
            if sum(one.series * one.parallel for one in chosen) <= most:
                yield chosen


def test_merged_wirings_are_all_wirings(drawn: list[tuple[Path, Path]]) -> None:
    """Against every handful of layouts written out: the same shapes, and the most power of each."""
    compared = 0
    for catalog, job_path in drawn[:150]:
        parts, job = read_parts(catalog), read_job(job_path)
        for one, module, stand in itertools.product(parts.converters, parts.panels, parts.racks):
            choices = layouts(job, one, module, ALL_LIMITS)
            trackers = one.trackers * one.max_units
            if math.comb(len(choices) + trackers, trackers) > 2000:
                continue
            most = most_panels(job, module, one.max_units * one.array_max_w, ALL_LIMITS)
            best: dict[tuple[int, int, Shape], float] = {}
            for chosen in every_wiring(choices, trackers, most):
                sums = Shape(0, 0, 0, 0, 0, 0, 0)
                for layout in chosen:
                    n, m, fused = layout.series, layout.parallel, layout.parallel if layout.fused else 0
                    rows = rows_of_string(job, stand, n)
                    add = (n * m, m, m * rows, m * rack_units(stand, n, rows), fused, fused * n, fused * rows)
                    sums = Shape(*map(operator.add, sums, add))
                key = (len(chosen), len(set(chosen)), sums)
                best[key] = max(best.get(key, 0.0), sum(layout.usable_w for layout in chosen))
            found = wirings(job, stand, choices, trackers, most)
            assert {key: wired.usable_w for key, wired in found.items()} == pytest.approx(best)
            compared += len(best) > 5
    assert compared > 60


def test_a_looser_limit_never_costs_more(drawn: list[tuple[Path, Path]]) -> None:
    """Leaving out any limit keeps every node and makes none dearer."""
    for catalog, job_path in drawn[:12]:
        parts, job = read_parts(catalog), read_job(job_path)
        nodes = nodes_of(parts, job)
        for name in DROPPABLE:
            loose = nodes_of(parts, job, frozenset({name}))
            assert all(node in loose and loose[node].total <= best.total for node, best in nodes.items()), name


def number(row: Row, column: str, default: float | None = None) -> float:
    value = row.maybe(column)
    if value is None:
        assert default is not None
        return default
    return value


def test_rows_make_sense(drawn: list[tuple[Path, Path]]) -> None:
    """What a reader may ask of every row, whatever else it asks."""
    for catalog, _ in drawn:
        ids: list[str] = []
        for row in rows_of(catalog / "panels.csv"):
            ids.append(row.stated("part"))
            pmax, voc, vmp, isc, imp = (number(row, name) for name in ("pmax_w", "voc_v", "vmp_v", "isc_a", "imp_a"))
            assert vmp < voc
            assert imp < isc
            assert abs(pmax / (vmp * imp) - 1) < 0.05
            assert 0.60 <= pmax / (voc * isc) <= 0.88
            assert -0.6 <= number(row, "voc_pct_per_c", -0.3) < 0
            assert -0.6 <= number(row, "pmax_pct_per_c") < 0
            assert -0.7 <= number(row, "vmp_pct_per_c", -0.3) <= -0.05
        for row in rows_of(catalog / "converters.csv"):
            ids.append(row.stated("part"))
            one = converter(row)
            assert one.tracker_min_v < one.tracker_top_v <= one.tracker_max_v
            assert one.surge_va >= one.continuous_va >= one.continuous_w
            assert one.leg_va <= one.continuous_va
            assert one.leg_va <= one.leg_surge_va <= one.surge_va
            assert one.bank_class_v in (12, 24, 48)
            assert one.bank_min_v < one.bank_max_v
            assert one.tracker_usable_a <= one.tracker_isc_a
            assert one.tracker_usable_w <= one.tracker_max_w
            assert all(count >= 1 for count in one.units.values())
        for row in rows_of(catalog / "batteries.csv"):
            ids.append(row.stated("part"))
            bank = battery(row)
            assert bank.min_v < bank.nominal_v < bank.charge_v
            assert bank.peak_a >= bank.discharge_a
            assert 0 < bank.usable_pct <= 100
            assert 0 < bank.round_trip <= 1
            assert number(row, "daily_pct", 20) <= bank.usable_pct
            assert number(row, "charge_min_a", 0) <= bank.charge_a
            assert bank.class_v in (2, 6, 12, 24, 48)
        for row in rows_of(catalog / "racks.csv"):
            ids.append(row.stated("part"))
            assert number(row, "per_panel") + number(row, "per_row") > 0
        ids += [row.stated("part") for row in rows_of(catalog / "extras.csv")]
        assert len(ids) == len(set(ids))
        parts = read_parts(catalog)
        assert all(offer.cents > 0 for offer in parts.offers)
        stocks: dict[tuple[str, str], set[int]] = {}
        for offer in parts.offers:
            if offer.stock is not None:
                stocks.setdefault((offer.part, offer.seller), set()).add(offer.stock)
        assert all(len(one) == 1 for one in stocks.values())


def test_every_optional_column_and_key_is_left_out_and_stated(drawn: list[tuple[Path, Path]]) -> None:
    keys: dict[str, int] = {}
    stated: dict[str, int] = {}
    empty: dict[str, int] = {}
    loads = 0
    for catalog, job_path in drawn:
        for path in catalog.glob("*.csv"):
            for row in rows_of(path):
                for column in COLUMNS[path.stem].split():
                    where = stated if row.text(column) else empty
                    where[column] = where.get(column, 0) + 1
        job = tomllib.loads(job_path.read_text(encoding="utf-8"))
        loads += len(job["load"])
        for name, table in job.items():
            for one in table if isinstance(table, list) else [table]:
                for key in one if isinstance(one, dict) else [""]:
                    keys[f"{name}.{key}"] = keys.get(f"{name}.{key}", 0) + 1
    assert all(stated[column] >= 20 and empty[column] >= 20 for column in OPTIONAL.split())
    assert all(20 <= keys[f"load.{key}"] <= loads - 20 for key in LOAD_KEYS.split())
    assert all(15 <= keys[key] <= len(drawn) - 15 for key in OTHER_KEYS.split())
