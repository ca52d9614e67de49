"""A refresh on a real Dask cluster: a scheduler and workers, each a process of its own, some of them killed.

The jobs are generated and stand on the shipped catalogue; one process answers the same ones to compare.
"""

from __future__ import annotations

import json
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import distributed
import pytest

from catalog.reader import read_catalog, shipped_catalog
from optimizer.auditor.audit import audit
from optimizer.bundles.bundle_file import read_bundle
from optimizer.commands import workers as solvers
from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS, STOPPED, WRONG_INPUT
from optimizer.inputs.job_reader import read_job
from tests.benchmarks.jobs import write_job
from tests.brute.money import Market
from tests.brute.parts import read_parts
from tests.brute.reading import read_job as read_brute_job
from tests.command_line import command, environment, run
from tests.refresh_helpers import answers, write_jobs
from tests.small_files import cells_of, csv_text

pytestmark = pytest.mark.thorough
SEEDS = (0, 1, 2, 3, 6, 7, 10, 11, 12, 14, 17, 22)  # quick ones of the first two dozen; 22 has too small a budget
HELD = 3  # unfinished jobs that a worker holds at the least when it is killed
PATIENCE_S = 90.0
# jobs are dealt out at once, so that a worker holds many: by default all but a few wait on the scheduler
DEALT = {"DASK_DISTRIBUTED__SCHEDULER__WORKER_SATURATION": "inf"}


def write_generated(folder: Path) -> Path:
    for seed in SEEDS:
        write_job(folder / f"{seed:02d}", seed)
    return folder


def moved_prices(path: Path) -> Path:
    """The shipped prices, each moved by up to a quarter."""
    lines = (shipped_catalog() / "prices.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    rows = cells_of("".join(line for line in lines if not line.startswith("#")))
    price = rows[0].index("price")
    draw = random.Random(5)
    for row in rows[1:]:
        row[price] = f"{float(row[price]) * draw.uniform(0.75, 1.25):.2f}"
    path.write_text(csv_text(rows), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """``before``: jobs with answers at the shipped prices; ``after``: the same answered anew by one process at those of
    ``moved.csv``, which tells of it in ``report.json``. No test writes here."""
    home = tmp_path_factory.mktemp("generated")
    assert run("refresh", write_generated(home / "before")).exit_code == NOTHING_MEETS
    shutil.copytree(home / "before", home / "after")
    words = ("--prices", moved_prices(home / "moved.csv"), "--json", home / "report.json")
    assert run("refresh", home / "after", *words).exit_code == NOTHING_MEETS
    return home


class Cluster:
    """A scheduler and two workers with one thread each, and their process numbers."""

    def __init__(self, folder: Path) -> None:
        self.processes: list[subprocess.Popen[bytes]] = []
        noted = folder / "scheduler.json"
        self.scheduler = self.start("scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard",
                                    "--scheduler-file", str(noted))  # fmt: skip
        self.noted = noted
        for _ in soon("the scheduler has written where it is"):
            if noted.exists() and noted.read_text().strip().endswith("}"):
                break
        self.client = distributed.Client(scheduler_file=str(noted), set_as_default=False)
        self.address: str = self.client.scheduler.address

    def start(self, *words: str) -> subprocess.Popen[bytes]:
        code = f"from distributed.cli.dask_{words[0]} import main; main()"
        process = subprocess.Popen(
            [sys.executable, "-c", code, *words[1:]], env=environment(**DEALT),
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        self.processes.append(process)
        return process

    def add_workers(self, count: int) -> None:
        for number in range(count):
            self.start("worker", "--scheduler-file", str(self.noted), "--no-nanny", "--nthreads", "1", "--no-dashboard",
                       "--name", str(number))  # fmt: skip
        self.client.wait_for_workers(count, timeout=PATIENCE_S)

    def workers(self) -> dict[str, int]:
        """The process of each worker, by its address."""
        return self.client.run(os.getpid)  # type: ignore[no-any-return]

    def held(self, address: str) -> int:
        """Jobs that a worker was given and has not finished."""
        return sum("solved" in str(key) for key in self.client.processing().get(address, ()))

    def end(self) -> None:
        self.client.close()
        for process in self.processes:
            process.kill()
            process.wait()


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[Cluster]:
    started = Cluster(tmp_path)
    try:
        yield started
    finally:
        started.end()


def soon(what: str) -> Iterator[None]:
    """Turns of waiting until something is so; an error where it is never."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        yield
        time.sleep(0.01)
    raise AssertionError(f"waited in vain until {what}")


def refreshing(folder: Path, cluster: Cluster, home: Path) -> subprocess.Popen[str]:
    words = ("refresh", folder.name, "--prices", "moved.csv", "--scheduler", cluster.address, "--json", "report.json")
    shutil.copy(home / "moved.csv", folder.parent)
    return subprocess.Popen(command(*words), cwd=folder.parent, env=environment(), stdout=subprocess.PIPE,
                            stderr=subprocess.PIPE, text=True)  # fmt: skip


def kill_while_it_holds(cluster: Cluster, address: str, process: int) -> int:
    """Stop a worker, so that it can finish nothing, see what it holds, and kill it. How many jobs it held."""
    for _ in soon("a worker holds some jobs"):
        if cluster.held(address) > HELD:
            break
    os.kill(process, signal.SIGSTOP)
    time.sleep(0.2)  # what it had said before has come in
    held = cluster.held(address)
    os.kill(process, signal.SIGKILL)
    return held


def test_a_worker_killed_with_jobs_in_hand_changes_nothing(home: Path, tmp_path: Path, cluster: Cluster) -> None:
    cluster.add_workers(2)
    folder = tmp_path / "after"
    shutil.copytree(home / "before", folder)
    process = refreshing(folder, cluster, home)
    address, victim = next(iter(cluster.workers().items()))
    assert kill_while_it_holds(cluster, address, victim) >= HELD
    printed, said = process.communicate(timeout=PATIENCE_S)
    assert said == ""
    assert process.returncode == NOTHING_MEETS
    assert address not in cluster.workers()
    assert answers(folder) == answers(home / "after")
    assert len(answers(folder)) == len(SEEDS)
    # the whole report too: no line tells who solved what
    resolver = tmp_path / "alone"
    shutil.copytree(home / "before", resolver / "after")
    shutil.copy(home / "moved.csv", resolver)
    page = run("refresh", "after", "--prices", "moved.csv", "--json", "report.json", cwd=resolver).stdout
    assert printed == page
    assert (tmp_path / "report.json").read_bytes() == (resolver / "report.json").read_bytes()


def test_a_scheduler_that_goes_away_is_said_and_what_was_finished_is_kept(
    home: Path, tmp_path: Path, cluster: Cluster
) -> None:
    cluster.add_workers(1)
    folder = tmp_path / "after"
    shutil.copytree(home / "before", folder)
    before = answers(folder)
    process = refreshing(folder, cluster, home)
    for _ in soon("an answer is new"):
        if answers(folder) != before:
            break
    cluster.scheduler.kill()
    printed, said = process.communicate(timeout=PATIENCE_S)
    assert process.returncode == STOPPED
    assert said.startswith(f"The scheduler at {cluster.address} went away. What was finished is kept; run it again")
    assert "not looked at" in printed
    assert "Traceback" not in said
    new = answers(folder)
    done = {name for name in new if new[name] != before[name]}
    assert 0 < len(done) < len(SEEDS)
    assert run("refresh", folder, "--prices", home / "moved.csv").exit_code == NOTHING_MEETS
    assert answers(folder) == answers(home / "after")


def test_a_job_that_loses_its_workers_again_and_again_is_given_up(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The scheduler is told to give a job up with the first worker that it loses."""
    monkeypatch.setitem(DEALT, "DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES", "0")
    cluster = Cluster(tmp_path)
    try:
        cluster.add_workers(2)
        folder = tmp_path / "after"
        shutil.copytree(home / "before", folder)
        process = refreshing(folder, cluster, home)
        address, victim = next(iter(cluster.workers().items()))
        kill_while_it_holds(cluster, address, victim)
        printed, said = process.communicate(timeout=PATIENCE_S)
    finally:
        cluster.end()
    assert process.returncode == STOPPED
    assert re.match(r"Workers of the cluster were lost over \d+ of the jobs again and again", said)
    assert "Traceback" not in said
    left = re.search(r"(\d+) not looked at", printed)
    assert left is not None
    assert 0 < int(left.group(1)) < len(SEEDS)
    assert "a fault of this tool" not in printed


def test_pages_of_a_cluster_are_the_same_bytes(tmp_path: Path, cluster: Cluster) -> None:
    cluster.add_workers(2)
    folder = write_jobs(tmp_path, ("camp", "dam", "mill"))
    words = ("refresh", "jobs", "--catalog", "parts", "--page", "table.html")
    assert run(*words, "--scheduler", cluster.address, cwd=tmp_path).exit_code == ANSWERED
    there, table = answers(folder), (tmp_path / "table.html").read_bytes()
    for name in there:
        (folder / name).unlink()
    assert run(*words, cwd=tmp_path).exit_code == ANSWERED
    assert answers(folder) == there
    assert len(there) == 3 + 3
    assert (tmp_path / "table.html").read_bytes() == table


def test_no_scheduler_there(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(solvers, "ANSWERS_WITHIN_S", 0.5)
    for address in ("tcp://127.0.0.1:9", "nonsense://x"):
        result = run("refresh", home / "before", "--options", "2", "--scheduler", address)
        assert result.exit_code == WRONG_INPUT
        assert f"--scheduler {address}: no scheduler answers there" in result.stderr


def test_no_worker_there(home: Path, cluster: Cluster, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(solvers, "ANSWERS_WITHIN_S", 2)
    result = run("refresh", home / "before", "--options", "2", "--scheduler", cluster.address)
    assert result.exit_code == WRONG_INPUT
    assert "no worker is there to solve" in result.stderr


def test_without_the_extra(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    result = run("refresh", home / "before", "--options", "2", "--scheduler", "tcp://127.0.0.1:9")
    assert result.exit_code == WRONG_INPUT
    assert "which is not installed" in result.stderr
    assert "borewatt[cluster]" in result.stderr


# what keeping the old bundle comes to ------------------------------------------------------------------------------


def test_keeping_is_what_the_auditor_and_another_pricing_say(home: Path) -> None:
    """Every bundle that was swapped: bought again with the brute force's market, and audited at the new prices."""
    parts = read_parts(shipped_catalog(), home / "moved.csv")
    catalog = read_catalog(shipped_catalog(), home / "moved.csv")
    seen = 0
    for job in json.loads((home / "report.json").read_text(encoding="utf-8"))["jobs"]:
        if job["status"] != "changed":
            continue
        path = home / "before" / job["job"]
        kept = path.with_name(f"{path.stem}.answer.json")
        brute, mine = read_brute_job(path), read_job(path)
        bundle = read_bundle(kept, mine, catalog)
        assert bundle.order is not None
        needs = tuple((bought.part, bought.needed) for bought in bundle.order.purchases)
        market = Market(parts.offers, parts.freight, brute.on_hand, brute.sellers)
        cheapest = market.cost(needs)
        assert cheapest is not None
        keeping = job["keeping"]
        assert Decimal(keeping["total"]) * 100 == cheapest[0]
        bought_anew = replace(bundle, order=None, quoted_cents=cheapest[0])
        assert keeping["passes"] == audit(mine, bought_anew, catalog).passes
        assert Decimal(keeping["total"]) >= Decimal(job["total"])
        seen += 1
    assert seen >= 3
