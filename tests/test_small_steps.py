"""Step sizes and thresholds change speed only: with all of them at their smallest the answers are the same.

Small catalogues never fill a chunk, meet a grid twice or have sellers to fold, so the code for large ones would run in
no other test.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from catalog.reader import Catalog, read_catalog, shipped_catalog
from optimizer import bounds, market, search
from optimizer.answer import audited
from optimizer.job import Job, read_job
from optimizer.search import Pick, pick
from optimizer.writing.document import document
from tests.brute.instances import write_instance

ROOT = Path(__file__).parent.parent
GROUPS = [range(start, start + 15) for start in range(0, 60, 15)]
SEVERAL = 3

Steps = dict[tuple[object, str], float]

CHUNK = (search, "CHUNK")
PATIENCE = (search, "PATIENCE")
GRID = (bounds, "GRID")
COARSE = (bounds, "COARSE")
CLIPPED = (bounds, "CLIPPED_STEPS")
APART = (bounds, "MOST_SELLERS_APART")
GROUPED = (market, "MOST_SELLER_GROUPS")

SMALLEST: Steps = {CHUNK: 1, PATIENCE: 1, GRID: 1.0001, COARSE: 1, CLIPPED: 0, APART: 1, GROUPED: 1}
SETTINGS: dict[str, Steps] = {
    "all at their smallest": SMALLEST,
    "all at their smallest, a grid as wide as octaves": {**SMALLEST, GRID: 2.0},
    "all at their largest": {
        CHUNK: 100_000, PATIENCE: 10**9, GRID: 1.5, COARSE: 1_000, CLIPPED: 1_000, APART: 12, GROUPED: 12,
    },
}  # fmt: skip
ALONE: dict[str, Steps] = {
    "one part at a time": {CHUNK: 1},
    "two parts at a time": {CHUNK: 2},
    "asks at once whether there is any bundle": {PATIENCE: 1},
    "asks soon whether there is any bundle": {PATIENCE: 4},
    "a fine grid": {GRID: 1.0001},
    "a wide grid": {GRID: 2.0},
    "every grid point is looked at": {COARSE: 1},
    "one grid point for all": {COARSE: 10**6},
    "no panel is added one by one": {CLIPPED: 0},
    "sellers share their freight": {APART: 1},
    "no seller apart": {APART: 0},
    "sellers in one group": {GROUPED: 1},
    "one group of all sellers": {GROUPED: 0},
}


def told(catalog: Catalog, job: Job, found: Pick) -> object:
    """What an answer tells but for how the search went: status, and every bundle with all its figures."""
    answer = json.loads(document(audited(catalog, job, found)))
    return {key: answer[key] for key in ("status", "bundles", "conditions", "taken_as")}


@pytest.fixture
def stepped(monkeypatch: pytest.MonkeyPatch) -> Iterator[object]:
    """Sets step sizes; they are set back after each use."""

    def picked(catalog: Catalog, job: Job, steps: Steps, options: int = SEVERAL) -> object:
        with monkeypatch.context() as patch:
            for (module, name), value in steps.items():
                patch.setattr(module, name, value)
            return told(catalog, job, pick(catalog, job, options))

    yield picked


@pytest.mark.parametrize("name", SETTINGS)
@pytest.mark.parametrize("seeds", GROUPS, ids=lambda seeds: f"{seeds.start}-{seeds.stop - 1}")
def test_all_together(tmp_path: Path, stepped, seeds: range, name: str) -> None:  # type: ignore[no-untyped-def]
    for seed in seeds:
        folder, job_path = write_instance(tmp_path / str(seed), seed)
        catalog, job = read_catalog(folder), read_job(job_path)
        assert stepped(catalog, job, SETTINGS[name]) == told(catalog, job, pick(catalog, job, SEVERAL)), seed


@pytest.mark.parametrize("name", ALONE)
def test_each_alone(tmp_path: Path, stepped, name: str) -> None:  # type: ignore[no-untyped-def]
    for seed in range(60, 68):
        folder, job_path = write_instance(tmp_path / str(seed), seed)
        catalog, job = read_catalog(folder), read_job(job_path)
        assert stepped(catalog, job, ALONE[name]) == told(catalog, job, pick(catalog, job, SEVERAL)), seed


@pytest.mark.parametrize("example", ["hillside-nursery", "mountain-camp", "stock-water-bore"])
def test_the_shipped_catalogue(stepped, example: str) -> None:  # type: ignore[no-untyped-def]
    """A catalogue of a real size, with the steps that would not make it slow: no chunk holds a whole table."""
    catalog, job = read_catalog(shipped_catalog()), read_job(ROOT / "examples" / example / "job.toml")
    steps: Steps = {CHUNK: 3, PATIENCE: 2, GRID: 1.3, COARSE: 2, CLIPPED: 1, APART: 1, GROUPED: 2}
    assert stepped(catalog, job, steps, 5) == told(catalog, job, pick(catalog, job, 5))


def test_the_names_are_read_where_they_are_used() -> None:
    """A step size that was renamed, or read before a test could set it, would be tested no more."""
    for module, name in {*SMALLEST}:
        assert hasattr(module, name)
    for module in (bounds, market, search):
        text = Path(str(module.__file__)).read_text(encoding="utf-8")
        for owner, name in SMALLEST:
            if owner is not module:
                assert name not in text, f"{module.__name__} takes {name} from elsewhere"


@pytest.mark.parametrize("name", ["CHUNK", "GRID", "COARSE", "CLIPPED_STEPS", "MOST_SELLERS_APART"])
def test_the_steps_are_walked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    """The smallest step changes how the search goes on some instance: how much it opens or how close its bounds are."""
    for seed in range(40):
        folder, job_path = write_instance(tmp_path / str(seed), seed)
        catalog, job = read_catalog(folder), read_job(job_path)
        before = pick(catalog, job, SEVERAL).proof
        with monkeypatch.context() as patch:
            for (module, each), value in SETTINGS["all at their smallest, a grid as wide as octaves"].items():
                if each == name:
                    patch.setattr(module, each, value)
            after = pick(catalog, job, SEVERAL).proof
        if (before.opened, before.bound_gaps) != (after.opened, after.bound_gaps):
            return
    pytest.fail(f"{name} changes nothing on any instance")
