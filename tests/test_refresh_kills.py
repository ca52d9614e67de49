"""Refreshes cut off at any instant: every file is whole or as it was, and the next run ends as if nothing had been."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from optimizer.commands.exit_codes import ANSWERED, INTERRUPTED
from tests.command_line import ROOT, command, environment, run, spawned
from tests.refresh_helpers import answers, write_jobs

pytestmark = [
    pytest.mark.thorough,
    pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="looks for processes where Linux has them"),
]
RUNS = 200
MANY = tuple(f"job-{number}" for number in range(40))
PATIENCE_S = 60.0


def test_two_hundred_cuts_at_random_instants(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tests.refresh_kills", str(tmp_path), str(RUNS)], cwd=ROOT,
        env=environment(OPENBLAS_NUM_THREADS="1"), capture_output=True, text=True, check=True,
    )  # fmt: skip
    seen = json.loads(done.stdout)
    assert seen["undisturbed"] == [ANSWERED, ANSWERED]
    assert len(seen["codes"]) == RUNS
    assert seen["faults"] == []
    assert {tuple(pair) for pair in seen["codes"]} <= {
        ("SIGINT", INTERRUPTED), ("SIGKILL", -signal.SIGKILL), ("SIGINT", ANSWERED), ("SIGKILL", ANSWERED),
    }  # fmt: skip
    assert sum(code != ANSWERED for _, code in seen["codes"]) > RUNS / 2  # most were cut, and some in the middle
    assert sum(0 < finished < seen["jobs"] for finished in seen["finished"]) > RUNS / 10
    assert seen["torn"] == []
    assert seen["resumed"] == [ANSWERED] * RUNS
    assert seen["unequal"] == []


def test_killed_while_an_answer_is_being_written(tmp_path: Path) -> None:
    """The process dies at the worst instant: the text is written, and has not yet its name."""
    folder = write_jobs(tmp_path, ("nursery",))
    words = ["refresh", str(folder), "--catalog", str(tmp_path / "parts")]
    die = "import os, signal\nos.fsync = lambda file: os.kill(os.getpid(), signal.SIGKILL)\n"
    code = f"{die}import sys\nsys.argv = ['borewatt', *{words}]\nfrom optimizer.commands import main\nmain()"
    done = subprocess.run([sys.executable, "-c", code], env=environment(), capture_output=True, check=False)
    assert done.returncode == -signal.SIGKILL
    assert [Path(name).suffix for name in answers(folder)] == [".part"]
    assert run(*words).exit_code == ANSWERED
    assert list(answers(folder)) == ["nursery/job.answer.json"]


LOSES_IT = """
import os, signal, sys
from optimizer.search import branch_and_bound

def lost(*asked, **more):
    try:
        os.kill(os.getpid(), signal.SIGINT)
        while True:
            pass
    except KeyboardInterrupt:
        raise TypeError("incompatible arguments") from None

branch_and_bound.pick = lost
from optimizer.commands import main
main()
"""


@pytest.mark.parametrize("words", [("refresh", "{folder}"), ("pick", "{folder}/nursery/job.toml")], ids=lambda w: w[0])
def test_an_interrupt_that_comes_out_as_another_error(tmp_path: Path, words: tuple[str, str]) -> None:
    """As it was seen to do of a library's compiled code: it is an interrupt still, and no fault of the tool."""
    folder = write_jobs(tmp_path, ("nursery", "orchard"))
    asked = [word.format(folder=folder) for word in words] + ["--catalog", str(tmp_path / "parts")]
    done = subprocess.run(
        [sys.executable, "-c", LOSES_IT, *asked], env=environment(), capture_output=True, text=True, check=False
    )
    assert done.returncode == INTERRUPTED
    assert "nterrupted" in done.stderr and "fault" not in done.stdout + done.stderr
    assert answers(folder) == {}


# processes of its own ----------------------------------------------------------------------------------------------


def workers_of(process: int) -> list[int]:
    """The processes that a process started, those without a life of their own left out."""
    try:
        found = Path(f"/proc/{process}/task/{process}/children").read_text().split()
    except OSError:
        return []
    return [int(child) for child in found if b"spawn_main" in Path(f"/proc/{child}/cmdline").read_bytes()]


def alive(process: int) -> bool:
    """Whether a process runs: one that has ended and was not asked for yet does not."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def soon(what: str) -> Iterator[None]:
    """Turns of waiting until something is so; an error where it is never."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        yield
        time.sleep(0.02)
    raise AssertionError(f"waited in vain until {what}")


@pytest.mark.parametrize("killer", [signal.SIGINT, signal.SIGKILL])
def test_workers_end_with_the_process_that_started_them(tmp_path: Path, killer: signal.Signals) -> None:
    """Cut off in the middle of forty jobs; an interrupt goes to workers too, as from a terminal."""
    folder = write_jobs(tmp_path, MANY)
    words = ("refresh", folder, "--catalog", tmp_path / "parts", "--workers", "2")
    process = subprocess.Popen(command(*words), env=environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                               text=True, start_new_session=True)  # fmt: skip
    for _ in soon("some jobs are answered"):
        if len(list(folder.rglob("*.answer.json"))) >= 3:  # a file that is being written ends otherwise
            break
    workers = workers_of(process.pid)
    if killer == signal.SIGINT:
        os.killpg(process.pid, killer)
    else:
        process.kill()
    printed, said = process.communicate(timeout=PATIENCE_S)
    assert len(workers) == 2
    for _ in soon("the workers have ended"):
        if not any(map(alive, workers)):
            break
    left = {name: data for name, data in answers(folder).items() if not name.endswith(".part")}
    assert 3 <= len(left) < len(MANY)
    assert all(data.endswith(b"}\n") for data in left.values())
    if killer == signal.SIGINT:
        assert process.returncode == INTERRUPTED
        assert said.strip() == "Interrupted. What was finished is kept; run it again to go on."
        assert "not looked at" in printed
    assert spawned(*words[:-2]).returncode == ANSWERED
    assert {Path(name).name for name in answers(folder)} == {"job.answer.json"}
    assert len(answers(folder)) == len(MANY)


def test_the_same_bytes_from_any_number_of_processes(tmp_path: Path) -> None:
    pages, kept = [], []
    for workers in ("1", "2"):
        write_jobs(tmp_path / workers, MANY[:6])
        (tmp_path / workers / "jobs" / MANY[3] / "job.toml").write_text("[site]\n[[load]]\n")
        words = ("refresh", "jobs", "--catalog", "parts", "--workers", workers, "--json", "report.json", "--page",
                 "table.html")  # fmt: skip
        done = subprocess.run(
            command(*words), cwd=tmp_path / workers, env=environment(), capture_output=True, check=False
        )
        assert done.returncode == 2
        assert done.stderr == b""
        pages.append(done.stdout)
        told = [(tmp_path / workers / name).read_bytes() for name in ("report.json", "table.html")]
        kept.append((answers(tmp_path / workers / "jobs"), told))
    assert pages[0] == pages[1]
    assert kept[0] == kept[1]
    assert len(kept[0][0]) == 5 + 5  # an answer and a page each


def test_a_worker_that_dies_is_said_and_the_rest_is_kept(tmp_path: Path) -> None:
    folder = write_jobs(tmp_path, MANY)
    words = ("refresh", folder, "--catalog", tmp_path / "parts", "--workers", "2")
    process = subprocess.Popen(command(*words), env=environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                               text=True)  # fmt: skip
    for _ in soon("some jobs are answered"):
        if len(list(folder.rglob("*.answer.json"))) >= 3:
            break
    os.kill(workers_of(process.pid)[0], signal.SIGKILL)
    printed, said = process.communicate(timeout=PATIENCE_S)
    assert process.returncode == 3
    assert said.startswith("A worker process ended before its time; perhaps there is too little memory.")
    assert "Traceback" not in said
    assert "not looked at" in printed
    assert 3 <= len(answers(folder)) < len(MANY)
