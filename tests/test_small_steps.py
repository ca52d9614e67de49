"""Step sizes and thresholds change speed only: with all of them at their smallest the answers are the same.

Small catalogues never fill a chunk, meet a grid twice or have sellers to fold, so the code for large ones would run in
no other test.
"""

from __future__ import annotations

import ast
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from types import ModuleType

import pytest

from catalog.reader import Catalog, read_catalog
from optimizer.answers.answer import audited
from optimizer.candidates import array_size
from optimizer.candidates.terms import Setting
from optimizer.costs import market, order_bounds
from optimizer.inputs.job import Job
from optimizer.inputs.job_reader import read_job
from optimizer.search import branch_and_bound, branching, eligible, lower_bounds, node_queue
from optimizer.search.branch_and_bound import Pick, Search, pick
from optimizer.search.objectives import LeastCost
from optimizer.search.space import SearchSpace
from optimizer.writing.data.answer_json import document
from tests.brute.instances import write_instance
from tests.seeds import by_seeds
from tests.test_constructed import PARTS, write

ROOT = Path(__file__).parent.parent
SEVERAL = 3

Steps = dict[tuple[ModuleType, str], float]
Stepped = Callable[..., object]  # catalogue, job, steps and how many options → what is told

CHUNK = (node_queue, "CHUNK")
PATIENCE = (branch_and_bound, "PATIENCE")
GRID = (lower_bounds, "GRID")
COARSE = (lower_bounds, "COARSE")
CLIPPED = (array_size, "CLIPPED_STEPS")
APART = (order_bounds, "MOST_SELLERS_APART")
TOLD = (order_bounds, "MOST_TOLD")
COLUMNS = (order_bounds, "CHUNK")
LARGEST = (eligible, "LARGEST")
KEPT = (eligible, "KEPT")
FEW = (branching, "FEW")
FEW_PLANS = (branch_and_bound, "FEW_PLANS")
GROUPED = (market, "MOST_SELLER_GROUPS")

SMALLEST: Steps = {
    CHUNK: 1,
    PATIENCE: 1,
    GRID: 1.0001,
    COARSE: 1,
    CLIPPED: 0,
    APART: 1,
    TOLD: 0,
    COLUMNS: 1,
    LARGEST: 0,
    KEPT: 1,
    FEW: 1,
    FEW_PLANS: 0,
    GROUPED: 1,
}
SETTINGS: dict[str, Steps] = {
    "all at their smallest": SMALLEST,
    "all at their smallest, a grid as wide as octaves": {**SMALLEST, GRID: 2.0},
    "all at their largest": {
        CHUNK: 100_000, PATIENCE: 10**9, GRID: 1.5, COARSE: 1_000, CLIPPED: 1_000, APART: 12, TOLD: 12, COLUMNS: 10_000,
        LARGEST: 10**9, KEPT: 10**9, FEW: 100_000, FEW_PLANS: 10**9, GROUPED: 12,
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
    "each converter by itself": {LARGEST: 0},
    "each converter by itself, one at a time": {LARGEST: 0, FEW: 1},
    "no table is kept": {KEPT: 1},
}

TERMS: dict[str, Steps] = {
    "no seller told apart": {TOLD: 0},
    "one seller told apart": {TOLD: 1},
    "no seller apart but those that are told": {APART: 0},
    "one column at a time": {COLUMNS: 1},
}


def told(catalog: Catalog, job: Job, found: Pick) -> object:
    """What an answer tells but for how the search went: status, and every bundle with all its figures."""
    answer = json.loads(document(audited(catalog, job, found)))
    return {key: answer[key] for key in ("status", "bundles", "conditions", "taken_as")}


@pytest.fixture
def stepped(monkeypatch: pytest.MonkeyPatch) -> Stepped:
    """Sets step sizes; they are set back after each use."""

    def picked(catalog: Catalog, job: Job, steps: Steps, options: int = SEVERAL) -> object:
        with monkeypatch.context() as patch:
            for (module, name), value in steps.items():
                patch.setattr(module, name, value)
            return told(catalog, job, pick(catalog, job, options))

    return picked


@pytest.mark.parametrize("name", SETTINGS)
@by_seeds(range(60), 15)
def test_all_together(tmp_path: Path, stepped: Stepped, seeds: range, name: str) -> None:
    for seed in seeds:
        folder, job_path = write_instance(tmp_path / str(seed), seed)
        catalog, job = read_catalog(folder), read_job(job_path)
        assert stepped(catalog, job, SETTINGS[name]) == told(catalog, job, pick(catalog, job, SEVERAL)), seed


@by_seeds(range(60, 68), 8)
@pytest.mark.parametrize("name", ALONE)
def test_each_alone(tmp_path: Path, stepped: Stepped, name: str, seeds: range) -> None:
    for seed in seeds:
        folder, job_path = write_instance(tmp_path / str(seed), seed)
        catalog, job = read_catalog(folder), read_job(job_path)
        assert stepped(catalog, job, ALONE[name]) == told(catalog, job, pick(catalog, job, SEVERAL)), seed


@pytest.mark.parametrize("name", ["all at their smallest", "all at their largest", *TERMS])
@by_seeds(range(12), 12)
def test_terms_of_sellers(tmp_path: Path, stepped: Stepped, seeds: range, name: str) -> None:
    """Where an order may be worth making up: sellers told apart or not, one column at a time or all."""
    for seed in seeds:
        folder, job_path = write_instance(tmp_path / str(seed), seed, landed=True)
        catalog, job = read_catalog(folder), read_job(job_path)
        steps = SETTINGS.get(name) or TERMS[name]
        assert stepped(catalog, job, steps) == told(catalog, job, pick(catalog, job, SEVERAL)), seed


@pytest.mark.parametrize("example", ["hillside-nursery", "mountain-camp", "stock-water-bore"])
@pytest.mark.thorough
def test_the_shipped_catalogue(shipped: Catalog, stepped: Stepped, example: str) -> None:
    """A catalogue of a real size, with the steps that would not make it slow: no chunk holds a whole table."""
    job = read_job(ROOT / "examples" / example / "job.toml")
    steps: Steps = {CHUNK: 3, PATIENCE: 2, GRID: 1.3, COARSE: 2, CLIPPED: 1, APART: 1, GROUPED: 2}
    assert stepped(shipped, job, steps, 5) == told(shipped, job, pick(shipped, job, 5))


@pytest.mark.parametrize("module", [lower_bounds, node_queue, market, branch_and_bound, branching, eligible])
def test_steps_are_read_from_their_own_module_each_time(module: ModuleType) -> None:
    """A step size imported by name, or bound as a default, would not follow a test that sets it."""
    tree = ast.parse(Path(str(module.__file__)).read_text(encoding="utf-8"))
    names = {name for _, name in SMALLEST}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            assert not names & {alias.name for alias in node.names}
        elif isinstance(node, ast.FunctionDef):
            defaults = [*node.args.defaults, *(one for one in node.args.kw_defaults if one)]
            assert not names & {each.id for one in defaults for each in ast.walk(one) if isinstance(each, ast.Name)}


def drawn(folder: Path, seeds: range) -> Iterator[tuple[Catalog, Job]]:
    for seed in seeds:
        catalog, job = write_instance(folder / str(seed), seed)
        yield read_catalog(catalog), read_job(job)


def clipped(folder: Path) -> tuple[Catalog, Job]:
    """A tracker of 1,500 W of which 1,897.5 W usable are asked: six panels would do without it, eight do with it."""
    converter = {**PARTS["converter"], "tracker_usable_w": 1500, "array_usable_w": 4000, "tracker_max_v": 500}
    parts = {kind: [{"part": kind, **figures}] for kind, figures in {**PARTS, "converter": converter}.items()}
    return write(folder / "clipped", parts, [(kind, "shop", 100, 1, 1, None) for kind in parts], {"shop": 0})


def test_a_clipped_array_is_bounded_by_what_it_needs(tmp_path: Path, stepped: Stepped) -> None:
    catalog, job = clipped(tmp_path)
    assert [bundle.panels for bundle in pick(catalog, job, 1).bundles] == [8]
    for steps in (*SETTINGS.values(), *ALONE.values()):
        assert stepped(catalog, job, steps) == told(catalog, job, pick(catalog, job, SEVERAL))


@dataclass
class Watched(node_queue.NodeQueue):
    """A node queue that keeps what is entered: bound and depth."""

    entries: list[tuple[float, int]] = field(default_factory=list)

    def push(self, bound: float, depth: int, action: Callable[[float], None]) -> None:
        self.entries.append((bound, depth))
        super().push(bound, depth, action)


@pytest.mark.parametrize(
    ("step", "value"),
    [(CHUNK, 1), (GRID, 2.0), (COARSE, 10**6), (CLIPPED, 0), (APART, 0), (GROUPED, 0), (LARGEST, 0), (FEW, 1)],
    ids=lambda one: one[1] if isinstance(one, tuple) else "",
)  # fmt: skip
def test_the_steps_are_walked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: tuple[ModuleType, str], value: float
) -> None:
    """On some instance the step changes how the search goes: which choices it enters, and with which bounds."""
    if step == COARSE:  # converters are looked at before their batteries only where there are many
        monkeypatch.setattr(*LARGEST, 0)

    def way(catalog: Catalog, job: Job) -> list[tuple[float, int]]:
        going = Search(LeastCost(SearchSpace((catalog,), Setting.of(job))), SEVERAL)
        going.queue = watched = Watched(SEVERAL, going.queue.cutoff)
        going.run()
        return watched.entries

    for catalog, job in (clipped(tmp_path), *drawn(tmp_path, range(30))):
        before = way(catalog, job)
        with monkeypatch.context() as patch:
            patch.setattr(*step, value)
            if way(catalog, job) != before:
                return
    pytest.fail(f"{step[1]} changes nothing on any instance")
