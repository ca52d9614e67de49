"""Stopped by the clock or by Ctrl-C: what is said is true, what is not proven is not called so, no file is half there.

No test here asserts how long anything takes. Where the moment matters, the clock of the search is one that ticks once
each time it is read.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from itertools import count
from pathlib import Path

import pytest
from typer.testing import CliRunner

from catalog.reader import read_catalog
from optimizer.answers.answer import audited
from optimizer.candidates.terms import PLAIN, Setting
from optimizer.commands import app
from optimizer.commands.exit_codes import ANSWERED, INTERRUPTED, STOPPED
from optimizer.inputs.job_reader import read_job
from optimizer.search import branch_and_bound, objectives
from optimizer.search.branch_and_bound import Pick, pick
from optimizer.search.cache import SearchCache
from optimizer.search.space import SearchSpace
from optimizer.writing.data.answer_json import document
from optimizer.writing.text.pick import page
from tests.benchmarks.generate import write_catalog
from tests.brute.instances import write_instance
from tests.seeds import seed_groups

ROOT = Path(__file__).parent.parent
JOB = ROOT / "examples" / "hillside-nursery" / "job.toml"
THIN = Path(__file__).parent / "data" / "thin" / "job.toml"
PARTS = 2_000
SEVERAL = 3


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A generated catalogue of 2,000 parts."""
    return write_catalog(tmp_path_factory.mktemp("large"), PARTS)


def totals(found: Pick) -> list[int]:
    return [bundle.order.cents for bundle in found.bundles if bundle.order is not None]


def assert_honest(stopped: Pick, full: Pick) -> None:
    """What a stopped search claims, against what the whole search found."""
    best, so_far = totals(full), totals(stopped)
    assert stopped.status in ("stopped", full.status)
    if stopped.status != "stopped":
        assert so_far == best
        return
    assert so_far == sorted(so_far) and len(so_far) <= len(best)
    for here, there in zip(so_far, best, strict=False):
        assert here >= there  # the r-th found is never below the r-th there is
    for place, (total, proven) in enumerate(zip(so_far, stopped.proven, strict=True)):
        assert not proven or total == best[place]
    bound = stopped.proof.next_bound
    shown = {tuple(bundle.models.values())[:3] for bundle in stopped.bundles}
    for bundle, total in zip(full.bundles, best, strict=True):
        if tuple(bundle.models.values())[:3] not in shown:
            assert bound is not None and bound <= total  # nothing that is not shown may cost less
    if so_far and not stopped.proven[0]:
        assert bound is not None and bound <= best[0]
        assert stopped.proof.gap >= (so_far[0] - best[0]) / so_far[0]
        assert 0 < stopped.proof.gap < 1


def ticking(monkeypatch: pytest.MonkeyPatch) -> None:
    """A clock that goes on by one each time it is read: the search reads it once for each choice it opens."""
    ticks = count()
    monkeypatch.setattr(branch_and_bound, "monotonic", lambda: float(next(ticks)))


def instants(most: int) -> Iterator[int]:
    """Each of the first moments, then ever wider apart, and the last."""
    tick = 0
    while tick < most:
        yield tick
        tick += max(1, tick // 8)
    yield most


@pytest.mark.parametrize(
    ("landed", "seeds"),
    [*seed_groups(range(2, 26), 8, False), *seed_groups(range(2, 10), 8, True, label=" on sellers' terms")],
)
def test_stopped_at_any_moment_on_small_catalogues(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, seeds: range, landed: bool
) -> None:  # fmt: skip
    seen = set()
    for seed in seeds:
        folder, job_path = write_instance(tmp_path / str(seed), seed, landed=landed)
        catalog, job = read_catalog(folder), read_job(job_path)
        full = pick(catalog, job, SEVERAL)
        for tick in instants(full.proof.opened):
            with monkeypatch.context() as patch:
                ticking(patch)
                stopped = pick(catalog, job, SEVERAL, time_limit=tick)
            assert_honest(stopped, full)
            seen.add((stopped.status, bool(stopped.bundles), stopped.proven[:1]))
    assert ("stopped", False, ()) in seen and ("proven", True, (True,)) in seen
    assert ("stopped", True, (False,)) in seen or ("stopped", True, (True,)) in seen


@pytest.mark.thorough
def test_stopped_at_any_moment_on_a_large_catalogue(large: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And the page and the JSON say what the search says."""
    catalog, job = read_catalog(large), read_job(JOB)
    full = pick(catalog, job, SEVERAL)
    kinds = set()
    for tick in range(0, full.proof.opened, 1 + full.proof.opened // 24):
        with monkeypatch.context() as patch:
            ticking(patch)
            stopped = pick(catalog, job, SEVERAL, time_limit=tick)
        assert_honest(stopped, full)
        answer = audited(catalog, job, stopped)
        told, shown = json.loads(document(answer)), " ".join(page(answer).split())
        assert told["status"] == stopped.status
        assert [bundle["proven"] for bundle in told["bundles"]] == list(stopped.proven)
        bound = stopped.proof.next_bound
        assert told["proof"]["next_bound"] == (None if bound is None else f"{bound / 100:.2f}")
        if stopped.status == "stopped":
            assert "Stopped by the time limit" in shown
            assert ("Proven cheapest" in shown) == (stopped.proven[:1] == (True,))
            if stopped.proven[:1] != (True,) and bound is not None:
                assert f"{bound / 100:,.2f}" in shown
            if stopped.proven[:1] == (False,):
                assert "not proven" in shown and "the gap is" in shown
        kinds.add((stopped.status, stopped.proven[:1]))
    assert ("stopped", ()) in kinds and ("stopped", (True,)) in kinds


@pytest.mark.parametrize("solver", ["highs", "cbc"])
def test_a_subproblem_is_not_solved_beyond_the_time_limit(monkeypatch: pytest.MonkeyPatch, solver: str) -> None:
    """A single model could take minutes: the limit holds inside it, and what it would have found counts as open."""
    catalog, job = read_catalog(THIN.parent / "catalog"), read_job(THIN)
    full = pick(catalog, job, SEVERAL, solver=solver)
    monkeypatch.setattr(objectives.Objective, "left", lambda self: 0.0)
    stopped = pick(catalog, job, SEVERAL, solver=solver, time_limit=1000)
    assert (stopped.status, stopped.bundles) == ("stopped", ())
    assert stopped.proof.next_bound is not None and stopped.proof.next_bound <= totals(full)[0]


def test_equal_totals_are_put_in_order_only_while_there_is_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there is none left the bundle stands as it was found, at the same total."""
    catalog, job = read_catalog(THIN.parent / "catalog"), read_job(THIN)
    full = pick(catalog, job, 1)
    monkeypatch.setattr(objectives, "ORDERED_WITHIN_S", 0.0)
    search = branch_and_bound.Search(
        objectives.LeastCost(SearchSpace((catalog,), Setting.of(job, PLAIN), SearchCache())), 1, 1000
    )
    status = search.run()
    search.objective.within(0.0)
    assert totals(search.answer(status)) == totals(full)


def test_an_unproven_best_is_told_with_its_bound_and_gap(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The moment between the first bundle and its proof, on whichever small catalogue has one."""
    for seed in range(60):
        folder, job_path = write_instance(tmp_path / str(seed), seed)
        catalog, job = read_catalog(folder), read_job(job_path)
        for tick in range(pick(catalog, job, 1).proof.opened):
            with monkeypatch.context() as patch:
                ticking(patch)
                stopped = pick(catalog, job, 1, time_limit=tick)
            if stopped.proven == (False,):
                answer = audited(catalog, job, stopped)
                shown = " ".join(page(answer).split())
                bound = stopped.proof.next_bound
                assert bound is not None and bound < totals(stopped)[0]
                assert "Stopped by the time limit, not proven." in shown
                assert f"{bound / 100:,.2f}: the gap is " in shown
                assert json.loads(document(answer))["bundles"][0]["proven"] is False
                return
    pytest.fail("no moment was met at which the best bundle is not proven")


@pytest.mark.thorough
def test_one_second_on_a_large_catalogue(large: Path, tmp_path: Path) -> None:
    """The real clock, through the command line: whatever it came to, it is told."""
    target = tmp_path / "a.json"
    result = CliRunner().invoke(
        app, ["pick", str(JOB), "--catalog", str(large), "--time-limit", "1", "--json", str(target)]
    )
    told = json.loads(target.read_text())
    assert told["status"] in ("stopped", "proven")
    assert result.exit_code == (ANSWERED if told["bundles"] else STOPPED)
    if told["status"] == "stopped":
        assert "Stopped by the time limit" in result.stdout
    else:
        assert all(bundle["proven"] for bundle in told["bundles"])
        assert "Stopped" not in result.stdout


@pytest.mark.parametrize("job", [JOB, THIN], ids=["large", "thin"])
def test_no_time_at_all_claims_nothing(large: Path, tmp_path: Path, job: Path) -> None:
    target, list_path = tmp_path / "a.json", tmp_path / "a.csv"
    catalog = ["--catalog", str(large)] if job == JOB else []
    result = CliRunner().invoke(
        app,
        ["pick", str(job), *catalog, "--time-limit", "0", "--json", str(target), "--shopping", str(list_path)],
    )
    assert result.exit_code == STOPPED
    told = json.loads(target.read_text())
    assert (told["status"], told["bundles"], told["why"]) == ("stopped", [], {})
    assert "Stopped by the time limit before any bundle was found" in " ".join(result.stdout.split())
    for word in ("Proven", "OPTION", "NO BUNDLE"):
        assert word not in result.stdout
    assert not list_path.exists()


# Ctrl-C ------------------------------------------------------------------------------------------------------------

OLD = "what stood here before\n"
# tells when it is ready, then runs the command line; with PLACE and NUMBER it interrupts itself at that call of PLACE
CHILD = """
import os, signal, sys
from importlib import import_module
from pathlib import Path
from optimizer.commands import main

home, place, number = sys.argv[1], sys.argv[2].split("."), int(sys.argv[3])
del sys.argv[1:4]

def interrupt():
    os.kill(os.getpid(), signal.SIGINT)

if home == "half":  # between the halves of a file
    whole = Path.open
    def halved(self, *given, **named):
        file = whole(self, *given, **named)
        write = file.write
        def twice(text):
            write(text[: len(text) // 2])
            file.flush()
            interrupt()
            return write(text[len(text) // 2 :])
        file.write = twice
        return file
    Path.open = halved
elif home != "-":
    owner = import_module(home)
    for name in place[:-1]:
        owner = getattr(owner, name)
    original, calls = getattr(owner, place[-1]), iter(range(1, 1_000_000))
    def counted(*given, **named):
        if next(calls) == number:
            interrupt()
        return original(*given, **named)
    setattr(owner, place[-1], counted)
print("ready", file=sys.stderr, flush=True)
main()
"""
PLACES = (
    ("catalog.reader", "read_catalog", 1),
    ("optimizer.inputs.job_reader", "check_job", 1),
    ("optimizer.costs.market", "Market.of", 1),
    ("optimizer.search.node_queue", "NodeQueue.push", 1),
    ("optimizer.search.node_queue", "NodeQueue.push", 40),
    ("optimizer.milp.solver", "least", 1),
    ("optimizer.search.objectives", "first_of", 1),
    ("optimizer.search.branch_and_bound", "Search.answer", 1),
    ("optimizer.answers.answer", "audited", 1),
    ("optimizer.writing.data.answer_json", "document", 1),
    ("half", "-", 1),
    ("pathlib", "Path.replace", 1),
    ("optimizer.writing.data.shopping_csv", "shopping_list", 1),
    ("pathlib", "Path.replace", 2),
    ("optimizer.writing.text.pick", "page", 1),
)
DELAYS = (0.0, 0.1, 0.3, 0.6, 0.9, 1.2, 1.6)  # s after the start; whatever is going on then is interrupted


def begin(folder: Path, catalog: Path, *at: str) -> subprocess.Popen[str]:
    """A pick in another process that will write two files, of which older ones are there."""
    for name in ("a.json", "a.csv"):
        (folder / name).write_text(OLD)
    return subprocess.Popen(
        [sys.executable, "-c", CHILD, *at, "pick", str(JOB), "--catalog", str(catalog),
         "--json", str(folder / "a.json"), "--shopping", str(folder / "a.csv")],
        cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def assert_nothing_is_half_there(folder: Path) -> dict[str, bool]:
    """Each file is whole: the old one or the new one, and no other file lies beside them. Says which are new."""
    assert sorted(path.name for path in folder.iterdir()) == ["a.csv", "a.json"]
    new = {}
    for name in ("a.json", "a.csv"):
        text = (folder / name).read_text()
        new[name] = text != OLD
        if text != OLD:
            assert text.endswith("\n")
            if name == "a.json":
                assert json.loads(text)["bundles"]
            else:
                assert text.startswith("seller,part,quantity")
    return new


@pytest.mark.skipif(os.name != "posix", reason="another system sends Ctrl-C in another way")
@pytest.mark.parametrize("place", PLACES, ids=lambda place: f"{place[0]}.{place[1]}-{place[2]}")
@pytest.mark.thorough
def test_interrupted_at_a_place(tmp_path: Path, large: Path, place: tuple[str, str, int]) -> None:
    child = begin(tmp_path, large, *map(str, place))
    out, said = child.communicate()
    assert child.returncode == INTERRUPTED, said
    assert "Traceback" not in said and "Interrupted" in said
    assert out == "" or out.endswith("life support.\n")  # it is printed whole before anything is written
    new = assert_nothing_is_half_there(tmp_path)
    if "nothing was written" in said:
        assert not any(new.values())


# interrupts itself once, where the solver's library is about to be loaded
LOADING = """
import sys

class Interrupted:
    def find_spec(self, name, path=None, target=None):
        if name == "highspy._core":
            sys.meta_path.remove(self)
            raise KeyboardInterrupt

sys.meta_path.insert(0, Interrupted())
import optimizer.milp.solver
"""


def test_interrupted_while_the_solver_is_loaded() -> None:
    """Its library may swallow an interrupt, and then says that there is no solver."""
    child = subprocess.run([sys.executable, "-c", LOADING], capture_output=True, text=True, check=False)
    assert child.returncode != 0 and child.stderr.rstrip().endswith("KeyboardInterrupt")


@pytest.mark.skipif(os.name != "posix", reason="another system sends Ctrl-C in another way")
@pytest.mark.parametrize("delay", DELAYS)
@pytest.mark.thorough
def test_interrupted_at_a_moment(tmp_path: Path, large: Path, delay: float) -> None:
    child = begin(tmp_path, large, "-", "-", "0")
    assert child.stderr is not None and child.stderr.readline() == "ready\n"
    time.sleep(delay)
    child.send_signal(signal.SIGINT)
    _, said = child.communicate()
    new = assert_nothing_is_half_there(tmp_path)
    assert "Traceback" not in said
    # it may have been done already: Python itself then ends by the signal once it has begun to leave
    done = (ANSWERED, -signal.SIGINT)
    assert child.returncode in (INTERRUPTED, *done), said
    if child.returncode in done:
        assert all(new.values())
    elif "nothing was written" in said:
        assert not any(new.values())
