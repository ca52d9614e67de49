"""A folder of jobs in which anything may lie, two runs in it at once, and commands that are killed or interrupted at
their worst instants: nothing is lost, every sound job gets its answer, and the next run goes on."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from catalog.reader import Catalog, read_catalog, shipped_catalog
from optimizer.commands import job_folder
from optimizer.commands.exit_codes import ANSWERED, INTERRUPTED, WRONG_INPUT
from optimizer.commands.failures import FAULT
from tests.command_line import command, environment, run
from tests.refresh_helpers import answers, prices, told, write_jobs
from tests.small_files import write_catalog

WAIT_S = 120


def kept(folder: Path, job: str) -> Path:
    return folder / job / "job.answer.json"


def name_catalog(folder: Path, job: str, named: str) -> None:
    """Have a job name its own catalogue."""
    path = folder / job / "job.toml"
    path.write_text(f'catalog = "{named}"\n{path.read_text(encoding="utf-8")}', encoding="utf-8")


# one bad thing ends nothing ----------------------------------------------------------------------------------------


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="needs the devices of Linux")
def test_no_bad_catalogue_ends_a_refresh(tmp_path: Path) -> None:
    names = ("pipe", "endless", "loop", "long", "zero", "shut", "sound")
    folder = write_jobs(tmp_path, names)
    for name in ("pipe", "endless", "shut"):
        write_catalog(tmp_path / name)
        name_catalog(folder, name, f"../../{name}")
    (tmp_path / "pipe" / "panels.csv").unlink()
    os.mkfifo(tmp_path / "pipe" / "panels.csv")
    (tmp_path / "endless" / "prices.csv").unlink()
    (tmp_path / "endless" / "prices.csv").symlink_to("/dev/zero")
    (tmp_path / "shut" / "racks.csv").write_bytes(b"\xff\xfe\x00")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    name_catalog(folder, "loop", "../../loop")
    name_catalog(folder, "long", "x" * 300)
    name_catalog(folder, "zero", "a\\u0000b")
    name_catalog(folder, "sound", "../../parts")
    done = subprocess.run(command("refresh", folder, "--json", "-"), env=environment(), capture_output=True, text=True,
                          timeout=WAIT_S, check=False)  # fmt: skip
    assert done.returncode == WRONG_INPUT, done.stderr
    statuses = {job["job"].split("/")[0]: job["status"] for job in json.loads(done.stdout)["jobs"]}
    assert statuses == dict.fromkeys(names, "wrong") | {"sound": "new"}


def spoilt(text: str, number: int) -> bytes:
    """A kept answer as nobody would write it."""
    draw, content = random.Random(number), json.loads(text)
    bundle: dict[str, Any] = content["bundles"][0]
    odd: list[Any] = ["\x1b[2J\ud800", -1, 10**30, 1e308, None, [], {}, True, "1e999999999", "x\n" * 50, [[1]]]
    for _ in range(draw.randint(1, 6)):
        owner = draw.choice([content, bundle, bundle["bank"], bundle["counts"], bundle["models"], content["inputs"],
                             *bundle["strings"], *bundle["purchases"], *bundle["freight"]])  # fmt: skip
        if owner:
            owner[draw.choice(list(owner))] = draw.choice(odd)
        if not (isinstance(content.get("bundles"), list) and all(isinstance(bundle[key], kind) for key, kind in KINDS)):
            break
    return json.dumps(content).encode()


KINDS = (("bank", dict), ("counts", dict), ("models", dict), ("strings", list), ("purchases", list), ("freight", list))
RAW = [b"", b"\0", b"[" * 100_000, b'{"inputs":' + b'{"a":' * 900 + b"1" + b"}" * 901, b"\xff\xfe", b"1" * 10_000,
       b'{"bundles": [1], "inputs": {"answer": 1}}', b'"', b"NaN", b'{"inputs": {}, "why": ' + b"9" * 5000 + b"}",
       ]  # fmt: skip


def test_no_spoilt_answer_ends_a_refresh(tmp_path: Path) -> None:
    names = tuple(f"j{number:02d}" for number in range(40))
    folder = write_jobs(tmp_path, names)
    first = run("refresh", folder / names[0], "--catalog", tmp_path / "parts")
    assert first.exit_code == ANSWERED
    whole = kept(folder, names[0]).read_text(encoding="utf-8")
    for number, name in enumerate(names[1:]):
        kept(folder, name).write_bytes(RAW[number] if number < len(RAW) else spoilt(whole, number))
    result = run("refresh", folder, "--catalog", tmp_path / "parts", "--page", tmp_path / "table.html")
    assert result.exit_code == ANSWERED, result.output
    written = {kept(folder, name).read_bytes() for name in names}
    assert len(written) == len({json.loads(text)["job"] for text in written}) == len(names)
    assert all(json.loads(text)["bundles"][0]["total"] == "7883.00" for text in written)


def test_no_odd_name_and_no_odd_thing_ends_a_refresh(tmp_path: Path) -> None:
    folder = write_jobs(tmp_path, ("camp", "dam", "mill", "orchard", "spring", "well"))
    text = (folder / "camp" / "job.toml").read_text(encoding="utf-8")
    outside = tmp_path / "victim"
    outside.write_text("mine")
    os.mkfifo(kept(folder, "camp"))
    kept(folder, "dam").mkdir()
    kept(folder, "mill").symlink_to(kept(folder, "mill"))
    kept(folder, "orchard").symlink_to(outside)
    kept(folder, "spring").symlink_to("job.toml")
    odd = folder / "well"
    os.mkfifo(odd / "pipe.toml")
    (odd / "gone.toml").symlink_to("nowhere")
    for name in (os.fsdecode(b"caf\xe9"), "y" * 246, "z\x1b[31m\u202e\n", "#1", "a b"):
        (odd / f"{name}.toml").write_text(text, encoding="utf-8")
    done = subprocess.run(
        command("refresh", folder, "--catalog", tmp_path / "parts", "--json", "-", "--page", tmp_path / "table.html"),
        env=environment(), capture_output=True, text=True, timeout=WAIT_S, check=False,
    )  # fmt: skip
    assert done.returncode == WRONG_INPUT, done.stderr
    statuses = {job["job"]: job["status"] for job in json.loads(done.stdout)["jobs"]}
    wrong = {name for name, status in statuses.items() if status == "wrong"}
    assert wrong == {*(f"{name}/job.toml" for name in ("camp", "dam", "mill", "orchard", "spring")),
                     "well/pipe.toml", "well/gone.toml", f"well/{'y' * 246}.toml"}  # fmt: skip
    assert statuses["well/caf\udce9.toml"] == statuses["well/job.toml"] == statuses["well/#1.toml"] == "new"
    assert outside.read_text() == "mine"
    assert (folder / "spring" / "job.toml").read_text(encoding="utf-8").startswith("title")


def test_a_fault_while_a_job_is_looked_at_stops_no_other(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = write_jobs(tmp_path, ("camp", "dam"))
    name_catalog(folder, "camp", "../../other")

    def failing(where: str, listed: Path | None) -> Catalog:
        if where.endswith("other"):
            raise ZeroDivisionError("a wheel came off")
        return read_catalog(where, listed)

    monkeypatch.setattr(job_folder, "read_catalog", failing)
    name_catalog(folder, "dam", "../../parts")
    result = run("refresh", folder)
    assert result.exit_code == FAULT
    assert "a wheel came off" in " ".join(result.stdout.split())
    assert list(answers(folder)) == ["dam/job.answer.json"]


def test_targets_are_tried_before_anything_is_solved(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = write_jobs(tmp_path, ("camp",))
    kept(folder, "camp").symlink_to("../../parts/prices.csv")
    monkeypatch.setattr("optimizer.commands.workers.solved", lambda *_: pytest.fail("solved"))
    before = (tmp_path / "parts" / "prices.csv").read_bytes()
    assert told(folder, "--catalog", tmp_path / "parts")["jobs"]["camp"]["status"] == "wrong"
    assert (tmp_path / "parts" / "prices.csv").read_bytes() == before


# two runs, and what killed ones left -------------------------------------------------------------------------------


def test_two_refreshes_in_one_folder(tmp_path: Path) -> None:
    names = tuple(f"j{number}" for number in range(12))
    folder = write_jobs(tmp_path, names)
    words = command("refresh", folder, "--catalog", tmp_path / "parts", "--page", tmp_path / "table.html")
    both = [subprocess.Popen(words, env=environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
            for _ in range(2)]  # fmt: skip
    for process in both:
        printed, complained = process.communicate(timeout=WAIT_S)
        assert process.returncode == ANSWERED, printed + complained
        assert complained == ""
    there = answers(folder)
    assert len(there) == 2 * len(names)
    assert not [name for name in there if name.endswith(".part")]
    again = run("refresh", folder, "--catalog", tmp_path / "parts", "--page", tmp_path / "table.html")
    assert again.stdout.count("up to date") == len(names)
    assert answers(folder) == there


def test_one_run_clears_away_what_another_is_writing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = write_jobs(tmp_path, ("camp",))
    replace = Path.replace
    cleared: list[Path] = []

    def between(self: Path, target: Path) -> Path:
        if not cleared:
            found = job_folder.jobs_below(folder)
            cleared.extend(found.leftovers)
            job_folder.clear(found)
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", between)
    assert run("refresh", folder, "--catalog", tmp_path / "parts").exit_code == ANSWERED
    assert cleared
    assert list(answers(folder)) == ["camp/job.answer.json"]


@pytest.mark.parametrize("name", [".job.answer.json.{pid}.part", ".job.answer.html.1-abc.part"])
def test_leftovers_of_the_same_process_number(tmp_path: Path, name: str) -> None:
    folder = write_jobs(tmp_path, ("camp",))
    left = folder / "camp" / name.format(pid=os.getpid())
    left.write_text("half an ans")
    assert run("refresh", folder, "--catalog", tmp_path / "parts").exit_code == ANSWERED
    assert list(answers(folder)) == ["camp/job.answer.json"]


# a new folder ------------------------------------------------------------------------------------------------------

DIES = """
import os, signal, sys
from pathlib import Path
import shutil
left = int(sys.argv.pop())
def counted(call):
    def instead(*more, **named):
        global left
        left -= 1
        if left < 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return call(*more, **named)
    return instead
for name in ("mkdir", "write_text", "write_bytes", "rename", "rmdir"):
    setattr(Path, name, counted(getattr(Path, name)))
shutil.rmtree = counted(shutil.rmtree)
from optimizer.commands import main
main()
"""


def test_new_killed_at_every_step_goes_on(tmp_path: Path) -> None:
    """Before each thing that it does to the disk."""
    whole = tmp_path / "whole"
    assert run("new", whole).exit_code == 0
    wanted = {path.relative_to(whole): path.read_bytes() for path in whole.rglob("*") if path.is_file()}
    killed = 0
    for steps in range(40):
        folder = tmp_path / f"run-{steps}"
        done = subprocess.run([sys.executable, "-c", DIES, "new", folder, str(steps)], env=environment(), check=False,
                              capture_output=True, text=True)  # fmt: skip
        killed += done.returncode == -signal.SIGKILL
        if done.returncode != -signal.SIGKILL:
            assert done.returncode == 0, done.stderr
            break
        if (folder / "catalog").is_dir():  # what was made is anybody's, and kept
            (folder / "catalog" / "mine.txt").write_text("mine")
        again = run("new", folder)
        assert again.exit_code == 0, (steps, again.output)
        there = {path.relative_to(folder): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
        mine = there.pop(Path("catalog/mine.txt"), b"mine")
        assert mine == b"mine"
        assert there == wanted
    assert killed >= 10
    assert len(wanted) > len(list(shipped_catalog().glob("*.csv")))


def test_what_looks_like_a_killed_new_but_holds_more_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "a" / ".unfinished").mkdir(parents=True)
    (tmp_path / "a" / "letter.txt").write_text("mine")
    result = run("new", tmp_path / "a")
    assert result.exit_code == WRONG_INPUT
    assert "not empty" in result.stderr
    assert (tmp_path / "a" / "letter.txt").read_text() == "mine"


def test_new_interrupted_takes_away_only_what_it_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "a"
    (folder / ".unfinished").mkdir(parents=True)
    (folder / "catalog").mkdir()
    (folder / "catalog" / "mine.csv").write_text("mine")

    def interrupt(self: Path, target: Path) -> Path:
        raise KeyboardInterrupt

    monkeypatch.setattr(Path, "rename", interrupt)
    assert run("new", folder).exit_code == INTERRUPTED
    assert (folder / "catalog" / "mine.csv").read_text() == "mine"


# an interrupt while libraries load ---------------------------------------------------------------------------------

INTERRUPTS = """
import os, signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)
name = sys.argv.pop()
class Finder:
    def find_spec(self, wanted, path=None, target=None):
        if wanted == name:
            sys.meta_path.remove(self)
            os.kill(os.getpid(), signal.SIGINT)
sys.meta_path.insert(0, Finder())
from optimizer.commands import main
main()
"""


@pytest.mark.parametrize(
    "module",
    ["optimizer.commands.command_line", "typer", "catalog.reader", "numpy", "numpy.linalg", "pulp", "highspy",
     "optimizer.search.branch_and_bound", "tabulate", "optimizer.writing.text.pick"],
)  # fmt: skip
def test_an_interrupt_while_libraries_load(tmp_path: Path, module: str) -> None:
    write_jobs(tmp_path, ("camp",))
    words = ("pick", tmp_path / "jobs/camp/job.toml", "--catalog", tmp_path / "parts", "--json", tmp_path / "a.json")
    done = subprocess.run([sys.executable, "-c", INTERRUPTS, *map(str, words), module], env=environment(), check=False,
                          capture_output=True, text=True)  # fmt: skip
    assert "Traceback" not in done.stderr, done.stderr
    assert "fault" not in done.stderr
    assert done.returncode == INTERRUPTED, done.stderr
    assert not (tmp_path / "a.json").exists()


LOSES_ONE = """
import gc, os, signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)
from optimizer.search import branch_and_bound
pick = branch_and_bound.pick
class Tidy:
    def __del__(self):
        os.kill(os.getpid(), signal.SIGINT)
        for _ in range(1000):
            pass
def losing(*asked, **more):
    Tidy()
    return pick(*asked, **more)
branch_and_bound.pick = losing
from optimizer.commands import main
main()
"""


def test_an_interrupt_that_python_throws_away(tmp_path: Path) -> None:
    """One that comes while Python tidies an object up is printed with a traceback and forgotten; it is heeded still."""
    write_jobs(tmp_path, ("camp",))
    words = ("pick", tmp_path / "jobs/camp/job.toml", "--catalog", tmp_path / "parts")
    done = subprocess.run([sys.executable, "-c", LOSES_ONE, *map(str, words)], env=environment(), check=False,
                          capture_output=True, text=True)  # fmt: skip
    assert "Traceback" not in done.stderr, done.stderr
    assert done.returncode == INTERRUPTED, done.stderr


@pytest.mark.thorough
def test_interrupts_at_two_hundred_instants_of_a_pick(tmp_path: Path) -> None:
    """From the moment that the command has begun, whatever is being loaded, solved or written then."""
    write_jobs(tmp_path, ("camp",))
    target = tmp_path / "a.json"
    words = ("pick", tmp_path / "jobs/camp/job.toml", "--catalog", tmp_path / "parts", "--json", target)
    began = ("import signal, sys\nsignal.signal(signal.SIGINT, signal.default_int_handler)\n"
             "from optimizer.commands import interrupts\nwatch = interrupts.watch\n"
             "def told():\n    watch()\n    sys.stdout.write('.')\n    sys.stdout.flush()\n"
             "interrupts.watch = told\nfrom optimizer.commands import main\nmain()")  # fmt: skip
    start = time.monotonic()
    subprocess.run([sys.executable, "-c", began, *map(str, words)], env=environment(), check=True, capture_output=True)
    takes, draw, codes = time.monotonic() - start, random.Random(3), []
    whole = target.read_bytes()
    for _ in range(200):
        target.unlink(missing_ok=True)
        process = subprocess.Popen([sys.executable, "-c", began, *map(str, words)], env=environment(),
                                   stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)  # fmt: skip
        assert process.stdout is not None
        process.stdout.read(1)
        time.sleep(draw.uniform(0, takes))
        process.send_signal(signal.SIGINT)
        _, complained = process.communicate(timeout=WAIT_S)
        codes.append(process.returncode)
        assert "Traceback" not in complained, complained
        assert "fault" not in complained, complained
        assert not target.exists() or target.read_bytes() == whole
        assert not list(tmp_path.glob(".*.part"))
    # one that comes while Python itself ends is the system's, with nothing left to be done
    assert set(codes) <= {ANSWERED, INTERRUPTED, -signal.SIGINT}
    assert codes.count(INTERRUPTED) > 100


def test_new_prices_after_all_that(tmp_path: Path) -> None:
    """A run that was cut off between an answer and its page goes on with the page."""
    folder = write_jobs(tmp_path, ("camp",))
    words = ("refresh", folder, "--catalog", tmp_path / "parts")
    run(*words, "--prices", prices(tmp_path, "new.csv", {("rk-a", "62"): "63"}))
    assert run(*words, "--page", tmp_path / "table.html").exit_code == ANSWERED
    assert set(answers(folder)) == {"camp/job.answer.json", "camp/job.answer.html"}
