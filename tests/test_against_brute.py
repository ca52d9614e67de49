"""The search against an independent brute force: equal totals to the cent, and every bound at or below them.

The brute force (tests/brute) reads the files itself and shares no code with the product.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np

from catalog.reader import read_catalog
from optimizer.auditor.audit import audit
from optimizer.candidates import banks, converters
from optimizer.candidates.rows import TableRows
from optimizer.candidates.terms import Setting
from optimizer.inputs.job_reader import read_job
from optimizer.search.branch_and_bound import pick
from optimizer.search.lower_bounds import Field
from optimizer.search.space import SearchSpace
from optimizer.search.triples import Triple
from optimizer.search.wiring import Wiring
from tests.brute.force import best_distinct, enumerate_nodes
from tests.brute.instances import write_instance
from tests.seeds import by_seeds

SEEDS = range(300)
BY_SEEDS = by_seeds(SEEDS, 25)


@BY_SEEDS
def test_first_three_totals_equal_brute_force(tmp_path: Path, seeds: range) -> None:
    """Totals of the first three distinct bundles, their parts and the audit of each."""
    for seed in seeds:
        folder, job_path = write_instance(tmp_path / str(seed), seed)
        expected = best_distinct(enumerate_nodes(folder, job_path), 3)
        catalog, job = read_catalog(folder), read_job(job_path)
        found = pick(catalog, job, 3)
        totals = [Decimal(bundle.order.cents).scaleb(-2) for bundle in found.bundles if bundle.order]
        assert totals == [option.total for option in expected], seed
        models = [tuple(bundle.models[kind] for kind in ("converter", "panel", "battery")) for bundle in found.bundles]
        assert models == [(option.converter, option.panel, option.battery) for option in expected], seed
        assert found.status == ("proven" if expected else "none"), seed
        for bundle in found.bundles:
            assert audit(job, bundle, catalog).passes, seed


def level_bounds(space: SearchSpace) -> Iterator[tuple[tuple[str, ...], tuple[int, ...], float, int]]:
    """(parts, (units, strings), bound, level) for every combination that the search would form, in whatever plan of
    starters and tanks its bound is the least.

    The search forms a plan with the fewest strings that it asks: with more of them it costs no less than with those, so
    that the bound of a number of strings is the least over it and all that are fewer.
    """
    least: dict[tuple[tuple[str, ...], tuple[int, ...], int], float] = {}
    for plan in space.plans:
        for parts, counts, bound, level in plan_bounds(space.fields(plan)[0]):
            key = (parts, counts, level)
            least[key] = min(bound, least.get(key, bound))
    so_far: dict[tuple[tuple[str, ...], tuple[int, ...], int], float] = {}
    for (parts, counts, level), bound in sorted(least.items(), key=lambda item: item[0][1]):
        fewer = (parts, counts[:1], level)
        so_far[fewer] = min(bound, so_far.get(fewer, bound))
        yield parts, counts, so_far[fewer], level


def plan_bounds(field: Field) -> Iterator[tuple[tuple[str, ...], tuple[int, ...], float, int]]:
    """The bounds of one plan."""
    wiring = Wiring((field,), ())
    if not len(field.converters):
        return
    whole, _ = field.converter_bounds()

    def name(rows: TableRows[Any], row: int) -> str:
        return str(rows.table.part[rows.index[row]])

    for position in range(len(field.converters)):
        inverter = field.converters.entry(position)
        converter = name(field.converters.rows, inverter.row)
        units = inverter.units
        yield (converter,), (units,), float(whole[position]), 1
        every = np.arange(len(field.batteries))
        found, table, array = field.pair_tables(inverter, every)
        for battery in np.flatnonzero(found.fits):
            parallel = int(found.parallel[battery])
            key = (converter, name(field.batteries, int(battery)))
            yield key, (units, parallel), float((table + array)[battery].min()), 2
            need_w, floor_w = float(found.need_w[battery]), float(found.floor_w[battery])
            panels = np.arange(len(field.panels))
            by_panel = field.panel_bounds(inverter, need_w, floor_w, table[battery], panels)
            for panel in panels:
                key3 = (*key, name(field.panels, int(panel)))
                yield key3, (units, parallel), float(by_panel[panel]), 3
                if not np.isfinite(by_panel[panel]):
                    continue
                triple = search_triple(inverter, int(battery), found, int(panel), table[int(battery)])
                layouts = wiring.layouts(triple, field.heat_c)
                fewest = wiring.fewest_panels(triple, field.heat_c)
                if fewest is None:
                    continue
                longest = max(layout.series for layout in layouts)
                by_rack = field.rack_bounds(int(panel), fewest, longest, units, parallel, table[battery])
                for rack in range(len(field.racks)):
                    yield (*key3, name(field.racks, rack)), (units, parallel), float(by_rack[rack]), 4


def search_triple(
    inverter: converters.Inverter, battery: int, found: banks.Banks, panel: int, pair: np.ndarray
) -> Triple:
    """A triple as the search makes it."""
    return Triple(
        inverter, battery, int(found.series[battery]), int(found.parallel[battery]), float(found.need_w[battery]),
        float(found.floor_w[battery]), panel, (pair,),
    )  # fmt: skip


def slack(folder: Path, job_path: Path) -> Iterator[tuple[int, float]]:
    """(level, exact total less bound in cents) for every combination that the brute force finds feasible.

    The search forms the fewest bank strings of a plan; the brute force all of every plan. More are never cheaper, so
    that what has fewer strings than a total, with the plan that needs no more, bounds it too.
    """
    nodes = enumerate_nodes(folder, job_path)
    space = SearchSpace((read_catalog(folder),), Setting.of(read_job(job_path)))
    places = {1: (0,), 2: (0, 2), 3: (0, 2, 4), 4: (0, 2, 4, 5)}
    least: dict[tuple[int, object, object], dict[int, int]] = {}  # by bank strings; 0 where they are not chosen yet
    for node, best in nodes.items():
        cents = int(best.total * 100)
        for level, parts in places.items():
            by_strings = least.setdefault((level, tuple(node[i] for i in parts), node.u), {})
            strings = 0 if level == 1 else node.k
            by_strings[strings] = min(cents, by_strings.get(strings, cents))
    bounds: dict[tuple[int, object, object], dict[int, float]] = {}
    for formed, (units, *strings_of), bound, level in level_bounds(space):
        bounds.setdefault((level, formed, units), {})[sum(strings_of)] = bound
    for key, by_strings in least.items():
        for strings, cents in by_strings.items():
            below = [bound for fewer, bound in bounds.get(key, {}).items() if fewer <= strings]
            assert below, f"the search would never form {key} with {strings} bank strings or fewer"
            yield key[0], cents - min(below)


@BY_SEEDS
def test_every_bound_is_at_or_below_the_exact_total(tmp_path: Path, seeds: range) -> None:
    """At all four levels, for every combination that can be met."""
    for seed in seeds:
        for level, above in slack(*write_instance(tmp_path / str(seed), seed)):
            assert above >= -1e-6, (seed, level)


def test_a_bound_raised_by_a_cent_is_caught(tmp_path: Path) -> None:
    """At every level some combination costs exactly its bound, so that one cent more would be wrong."""
    tight: set[int] = set()
    for seed in SEEDS:
        tight |= {level for level, above in slack(*write_instance(tmp_path / str(seed), seed)) if above < 1 - 1e-6}
        if tight == {1, 2, 3, 4}:
            break
    assert tight == {1, 2, 3, 4}
