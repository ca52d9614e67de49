"""Ways out of jobs that nothing meets: typed into the job file as printed they do, and one printed step less does not.

The brute force reads the changed file itself. Jobs are the random ones that nothing meets, and others with a budget
that is a little too small.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from catalog.reader import read_catalog
from optimizer.auditor.audit import audit
from optimizer.explain.infeasibility import Conflict, WayOut, conflict
from optimizer.explain.relaxations import Moved
from optimizer.explain.resolve import Resolver, Scenario, cents_of
from optimizer.inputs.job_reader import read_job
from optimizer.rules.limits import LIMITS
from optimizer.search.branch_and_bound import Status, pick
from tests.brute.draw_job import toml
from tests.brute.force import cheapest, enumerate_nodes
from tests.brute.instances import write_instance
from tests.brute.limits import DROPPABLE
from tests.seeds import by_seeds
from tests.test_why_against_brute import ALWAYS_KEPT

SEEDS = range(200)
MINIMAL = 4  # every so many seeds its conflicts are tried too: dropping most limits takes the brute force long
SHARE = 0.93  # of the cheapest total: a budget that does not do


def typed(content: dict[str, Any], key: str, value: Any) -> dict[str, Any]:
    """A job's tables with a dotted key set, or taken out where the value is None."""
    table, _, name = key.partition(".")
    changed = {each: (dict(inner) if isinstance(inner, dict) else inner) for each, inner in content.items()}
    if table == "load":
        load, _, name = name.rpartition(".")
        changed["load"] = [dict(each) for each in content["load"]]
        target = next(each for each in changed["load"] if each["name"] == load)
    else:
        target = changed.setdefault(table, {})
    if value is None:
        target.pop(name, None)
    else:
        target[name] = value
    return changed


def stuck(folder: Path, seed: int) -> tuple[Path, Path]:
    """A catalogue and a job that nothing meets."""
    catalog_dir, job_path = write_instance(folder / str(seed), seed)
    best = cheapest(enumerate_nodes(catalog_dir, job_path))
    if best is not None:
        content = tomllib.loads(job_path.read_text(encoding="utf-8-sig"))
        content = typed(content, "need.budget", round(float(best[1].total) * SHARE, 2))
        job_path.write_text(toml(content), encoding="utf-8")
    return catalog_dir, job_path


def explained(folder: Path, seeds: range) -> Iterator[tuple[int, Path, Path, Conflict]]:
    for seed in seeds:
        catalog_dir, job_path = stuck(folder, seed)
        catalog, job = read_catalog(catalog_dir), read_job(job_path)
        assert pick(catalog, job, 1).status == Status.NONE, seed
        yield seed, catalog_dir, job_path, conflict(Resolver(Scenario(job, catalog)))


def least(catalog_dir: Path, job_path: Path, content: dict[str, Any], changes: list[tuple[str, Any]]) -> int | None:
    """The brute force's least cents of a job with keys typed anew; None where nothing meets it."""
    for key, value in changes:
        content = typed(content, key, value)
    path = job_path.with_name("typed.toml")
    path.write_text(toml(content), encoding="utf-8")
    best = cheapest(enumerate_nodes(catalog_dir, path))
    return None if best is None else int(best[1].total * 100)


def at(change: Moved, less: int = 0) -> tuple[str, Any]:
    """The key and the value to type, at the step or some steps before it."""
    return change.lever.key, change.lever.typed(change.step - less)


def fits(catalog_dir: Path, job_path: Path, without: frozenset[str]) -> bool:
    """Whether the brute force finds a bundle."""
    return bool(enumerate_nodes(catalog_dir, job_path, without=without))


def assert_minimal(seed: int, catalog_dir: Path, job_path: Path, found: Conflict) -> None:
    """With a conflict's limits and those that are always kept alone nothing fits; without any one of them something
    does; no two share a limit."""
    seen: set[str] = set()
    kept = frozenset(ALWAYS_KEPT)
    rest = frozenset(DROPPABLE) - kept
    for clash in found.clashes:
        limits = set(clash.limits)
        assert not limits & (seen | kept), seed
        seen |= limits
        assert not fits(catalog_dir, job_path, rest - limits), (seed, limits)
        for limit in limits:
            assert fits(catalog_dir, job_path, (rest - limits) | {limit}), (seed, limit)


def assert_no_safety_limit(way: WayOut) -> None:
    """What a way out changes is a wish, a measure, or a reserve down to none at the lowest."""
    for change in way.changes:
        lever = change.lever
        assert lever.kind in ("wish", "measure", "reserve")
        if lever.kind == "wish":
            assert "wish" in LIMITS[lever.limit].kinds
        if lever.kind == "reserve":
            assert lever.key in ("reserve.running", "reserve.starting", "reserve.voltage", "reserve.hot_voltage")
            assert lever.typed(change.step) >= 0


def test_a_bank_that_lacks_an_extra_stands_for_no_other(tmp_path: Path) -> None:
    """Two strings of the battery that asks less of the array need five pieces of an extra, in packs of three, of which
    there are five. One string of the other needs none of it: what looks for any bundle finds what the brute force does.
    """
    catalog_dir, job_path = stuck(tmp_path, 196)
    without = frozenset(DROPPABLE) - frozenset(ALWAYS_KEPT) - {"autonomy", "daily-energy", "stock"}
    assert fits(catalog_dir, job_path, without)
    eased = Scenario(read_job(job_path), read_catalog(catalog_dir)).left_out(*without)
    assert Resolver(eased).any(eased).bundle is not None


@by_seeds(SEEDS, 25)
def test_every_way_out_does_and_a_step_less_does_not(tmp_path: Path, seeds: range) -> None:
    for seed, catalog_dir, job_path, found in explained(tmp_path, seeds):
        content = tomllib.loads(job_path.read_text(encoding="utf-8-sig"))
        if seed % MINIMAL == 0:
            assert_minimal(seed, catalog_dir, job_path, found)
        for way in found.ways:
            assert_no_safety_limit(way)
            changes = [at(change) for change in way.changes]
            assert least(catalog_dir, job_path, content, changes) == cents_of(way.bundle), (seed, changes)
            job = read_job(job_path.with_name("typed.toml"))
            assert audit(job, way.bundle, read_catalog(catalog_dir)).passes, (seed, changes)
            for place, change in enumerate(way.changes):
                one_less = changes.copy()
                if change.lever.key == "need.budget":
                    one_less[place] = ("need.budget", round(change.lever.typed(change.step) - 0.01, 2))
                else:
                    one_less[place] = at(change, 1)
                assert least(catalog_dir, job_path, content, one_less) is None, (seed, one_less)
