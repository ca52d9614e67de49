"""The cheapest bundles that pass the hours of a weather file, against going through every bundle of small catalogues,
and each bound of that search against what it bounds."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from catalog.reader import Catalog, read_catalog
from optimizer.auditor.audit import audit
from optimizer.candidates.terms import Setting
from optimizer.inputs.job import Job, Replay, Weather
from optimizer.inputs.job_reader import read_job
from optimizer.search import eligible, replays
from optimizer.search.branch_and_bound import Pick, pick
from optimizer.search.objectives import LeastCost
from optimizer.search.replays import Panel
from optimizer.search.space import SearchSpace
from optimizer.search.wiring import Wiring
from optimizer.weather.plane import Plane
from optimizer.weather.weather_file import WeatherFile
from optimizer.weather.year import WeatherYears
from tests.brute.hours import Year, cheapest_that_pass
from tests.brute.instances import write_instance
from tests.brute.parts import read_parts
from tests.brute.reading import read_job as read_plainly
from tests.seeds import by_seeds

EXAMPLES = Path(__file__).parent.parent / "examples"
SANDS = EXAMPLES / "stock-water-bore" / "sand-flat.epw"
SLOPE = EXAMPLES / "hillside-nursery" / "green-slope.epw"
LOSSES, SHOWN = 0.84, 3
SEEDS = 60


def years_of(seed: int) -> WeatherYears:
    """A year on some plane: one of the two invented ones."""
    draw = random.Random(seed)
    file = WeatherFile(draw.choice((SANDS, SLOPE)))
    return file.on(Plane(draw.choice((20.0, 40.0, 60.0)), file.noon_azimuth_deg, 0.2))


def asking(job: Job, years: WeatherYears, hours_short: int) -> Job:
    """The job with a weather file whose hours decide, and averages only where it states them."""
    weather = Weather("year.epw", 30.0, 180.0, years)
    need = job.need
    if "need.autonomy_days" not in job.stated:
        need = replace(need, autonomy_days=0.0)
    if "need.array_to_load" not in job.stated:
        need = replace(need, array_to_load=1.0)
    return replace(job, weather=weather, replay=Replay(LOSSES, "aged", hours_short), need=need)


def told(found: Pick) -> list[tuple[tuple[str, str, str], int]]:
    """Converter, panel and battery with the total, in cents."""
    kinds = ("converter", "panel", "battery")
    return [
        ((b.models[kinds[0]], b.models[kinds[1]], b.models[kinds[2]]), b.order.cents)
        for b in found.bundles
        if b.order is not None
    ]


def fewer_hours(seed: int, catalog: Catalog, job: Job) -> int:
    """A part of the hours that the cheapest bundle is short for where they do not decide; some, where there is none."""
    found = pick(catalog, replace(job, replay=replace(job.replay, hours_short=None)), 1).bundles
    replayed = audit(job, found[0], catalog).replay if found else None
    hours = 500 if replayed is None else replayed.worst.hours_short
    return int(hours * random.Random(seed).choice((0.95, 0.7, 0.5, 0.3, 0.1, 0.0)))


@by_seeds(range(SEEDS), 10)
def test_the_cheapest_that_pass_are_those_of_going_through_all(tmp_path: Path, seeds: Sequence[int]) -> None:
    """By total and parts; and what is shown passes the auditor's own replay."""
    seen: Counter[str] = Counter()
    for seed in seeds:
        folder, path = write_instance(tmp_path / str(seed), seed, landed=seed % 4 == 3)
        catalog, years = read_catalog(folder), years_of(seed)
        job = asking(read_job(path), years, 0)
        allowed = fewer_hours(seed, catalog, job)
        job = asking(read_job(path), years, allowed)
        plain = replace(read_plainly(path), autonomy_days=job.need.autonomy_days, array_to_load=job.need.array_to_load)
        year = Year(years.plane[0], years.cells[0], years.air[0], years.noon_h)
        expected, failed = cheapest_that_pass(read_parts(folder), plain, year, LOSSES, allowed, SHOWN)
        found = pick(catalog, job, SHOWN)
        assert [total for _, total in told(found)] == [int(each.total * 100) for each in expected], seed
        assert {parts for parts, total in told(found)[:-1]} <= {each.parts for each in expected}, seed
        for bundle in found.bundles:
            assert audit(job, bundle, catalog).passes, seed
        seen["decides" if failed and expected else "none" if not expected else "free"] += 1
    if len(seeds) >= 10:
        assert seen["decides"] >= 2, seen


STEPPED: tuple[tuple[tuple[ModuleType, str, object], ...], ...] = (
    ((eligible, "LARGEST", 0),),
    ((replays, "SIZES", 4.0), (replays, "HALVINGS", 2)),
    ((replays, "STEPS", (1.0, 3.0)), (replays, "COUNTS", (1,)), (replays, "CLOSE", 3.0)),
    ((replays, "STEPS", (1.0,)), (replays, "COUNTS", (1, 50)), (replays, "FINER", 3), (eligible, "LARGEST", 0)),
)


@by_seeds(range(24), 8)
def test_steps_change_speed_only(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, seeds: Sequence[int]) -> None:
    """Where tables are too large to be whole, and however coarse the first bounds are."""
    for seed in seeds:
        folder, path = write_instance(tmp_path / str(seed), seed, starters=seed % 2 == 1, landed=seed % 4 == 2)
        catalog = read_catalog(folder)
        job = asking(read_job(path), years_of(seed), 0)
        job = replace(job, replay=replace(job.replay, hours_short=fewer_hours(seed, catalog, job)))
        plain = told(pick(catalog, job, SHOWN))
        for steps in STEPPED:
            with monkeypatch.context() as patch:
                for module, name, value in steps:
                    patch.setattr(module, name, value)
                assert told(pick(catalog, job, SHOWN)) == plain, (seed, steps)


def test_what_the_hours_ask_is_bounded_from_below(tmp_path: Path) -> None:
    """No bundle that passes has fewer W or panels than the bounds of its bank say."""
    catalog, checked = read_catalog(EXAMPLES.parent / "catalog" / "generic"), 0
    for name, file in (("stock-water-bore", SANDS), ("hillside-nursery", SLOPE), ("mountain-camp", SANDS)):
        weather = WeatherFile(file)
        years = weather.on(Plane(45.0, weather.noon_azimuth_deg, 0.2))
        checked += _bounded(asking(read_job(EXAMPLES / name / "job.toml"), years, 60), catalog)
    assert checked > 100


def _bounded(job: Job, catalog: Catalog) -> int:
    space = SearchSpace((catalog,), Setting.of(job))
    found = pick(catalog, replace(job, replay=replace(job.replay, hours_short=None)), 40)
    checked = 0
    for plan in space.plans[:2]:
        field = space.fields(plan)[0]
        known, wiring = field.replays, Wiring([field], LeastCost(space).tanks([field]))
        by_hours = field.by_hours
        assert known is not None and by_hours is not None and wiring.replays is known
        for bundle in found.bundles:
            for more in (0, 1, 3):
                bank = replace(bundle, bank_parallel=bundle.bank_parallel + more, starters={}, tanks={})
                wired = (bank.bank_series, bank.bank_parallel)
                parts = known.parts(bank.converter, bank.units, bank.battery, *wired)
                cap_w = bank.units * float(bank.converter["array_usable_w"])
                first = known.first_bounds(np.array([parts.bank_wh]))[0]
                exact = known.least_rated_w(parts, cap_w, 0.0)
                row = bank.panel
                panel = Panel(float(row["pmax_w"]), float(row["pmax_pct_per_c"]), float(row["noct_c"]), 0.0)
                least = known.least_panels(panel, parts, cap_w, 1, 60)
                for bound in (first, exact):
                    if bound > 0:
                        some = np.minimum(min(bound * (1 - 1e-6), 1e9) * known._ideal, cap_w)
                        assert not known.passes(some, parts, parts.bank_wh), "less than a bound would do"
                if np.isfinite(least):
                    assert exact <= least * panel.pmax_w
                    made = np.minimum(least * known._panel_w(panel), cap_w)
                    assert known.passes(made, parts, parts.bank_wh)
                    fewer = np.minimum((least - 1) * known._panel_w(panel), cap_w)
                    assert least == 1 or not known.passes(fewer, parts, parts.bank_wh)
                checked += 1
    return checked
