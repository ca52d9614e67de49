"""Paths that cannot be looked at, and pipes, devices, loops and names of every length where files are expected: each is
said for what it is, within a second, and is never a fault of the tool."""

from __future__ import annotations

import ctypes
import os
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from optimizer.commands.exit_codes import WRONG_INPUT
from tests.command_line import ROOT, command, environment, run
from tests.small_files import JOB, write_job

pytestmark = pytest.mark.skipif(not Path("/dev/zero").exists(), reason="needs the devices of Linux")
WAIT_S = 60  # a reader that waits, or reads for ever, is ended


def pipe(path: Path) -> None:
    os.mkfifo(path)


def endless(path: Path) -> None:
    path.symlink_to("/dev/zero")


def loop(path: Path) -> None:
    path.symlink_to(path.name)


def folder(path: Path) -> None:
    path.mkdir()


THINGS: dict[str, tuple[Callable[[Path], None], str]] = {
    "pipe": (pipe, "not-a-file"), "endless": (endless, "not-a-file"), "loop": (loop, "Too many levels"),
    "folder": (folder, "Is a directory"),
}  # fmt: skip


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return write_job(tmp_path / "home")


def said(*words: object, cwd: Path | None = None) -> str:
    """What a command refuses with, as one line; as a process of its own, since it may wait."""
    done = subprocess.run(
        command(*words), cwd=cwd, env=environment(), capture_output=True, text=True, timeout=WAIT_S, check=False,
        stdin=subprocess.DEVNULL,
    )  # fmt: skip
    assert done.returncode == WRONG_INPUT, done.stderr
    assert "Traceback" not in done.stderr
    return " ".join((done.stdout + done.stderr).split())


@pytest.mark.parametrize("thing", THINGS)
def test_instead_of_a_job_a_price_list_or_an_offer(job: Path, thing: str) -> None:
    make, why = THINGS[thing]
    odd = job.parent / "odd"
    make(odd)
    prices = job.parent / "catalog" / "prices.csv"
    assert why in said("pick", odd)
    assert why in said("pick", job, "--prices", odd)
    assert why in said("audit", job, odd)
    assert why in said("prices", odd, prices)


@pytest.mark.parametrize("thing", THINGS)
@pytest.mark.parametrize("table", ["panels.csv", "prices.csv", "sellers.csv"])
def test_instead_of_a_table(job: Path, thing: str, table: str) -> None:
    make, why = THINGS[thing]
    (job.parent / "catalog" / table).unlink()
    make(job.parent / "catalog" / table)
    text = said("pick", job)
    assert why in text
    assert table in text


@pytest.mark.parametrize("thing", ["pipe", "loop"])
def test_instead_of_a_folder(job: Path, thing: str) -> None:
    odd = job.parent / "odd"
    THINGS[thing][0](odd)
    for words in (("pick", job, "--catalog", odd), ("catalog", "check", odd), ("refresh", odd), ("new", odd),
                  ("prices", "--lists", odd, job)):  # fmt: skip
        said(*words)
    assert os.path.lexists(odd)


LONG, DEEP = "y" * 300, "/".join(["y" * 200] * 30)


@pytest.mark.parametrize("name", [LONG, DEEP], ids=["long", "deep"])
def test_names_that_no_system_takes(job: Path, name: str) -> None:
    prices = job.parent / "catalog" / "prices.csv"
    why = "File name too long"
    for words in (("pick", name), ("pick", job, "--prices", name), ("pick", job, "--catalog", name),
                  ("audit", job, name), ("catalog", "check", name), ("refresh", name), ("prices", name, prices),
                  ("prices", "--lists", name, job), ("prices", prices, prices, "--jobs", name),
                  ("new", name)):  # fmt: skip
        result = run(*words, cwd=job.parent)
        assert result.exit_code == WRONG_INPUT, (words, result.output)
        assert why in " ".join(result.output.split()), words
    assert run("why", job, "--not", name).exit_code == WRONG_INPUT


@pytest.mark.parametrize(
    ("named", "why"),
    [(LONG, "File name too long"), ("a\\u0000b", "Invalid argument"), ("loop", "Too many levels"),
     ("/dev/zero", "missing-folder"), ("a\\u001b[31m", "a\\x1b[31m")],
    ids=["long", "zero-byte", "loop", "device", "escape"],
)  # fmt: skip
def test_a_catalogue_that_the_job_names(job: Path, named: str, why: str) -> None:
    loop(job.parent / "loop")
    job.write_text(f'catalog = "{named}"\n{JOB}')
    result = run("pick", job)
    assert result.exit_code == WRONG_INPUT, result.output
    assert "".join(why.split()) in "".join(result.stderr.split())  # a long path may be folded anywhere


def test_a_name_that_is_not_utf8(job: Path) -> None:
    odd = job.with_name(os.fsdecode(b"caf\xe9.toml"))
    job.rename(odd)
    for words in (("pick", odd), ("pick", odd, "--json", "-"), ("pick", odd, "--page", job.parent / "page.html")):
        assert run(*words).exit_code in (0, 1)
    assert "caf\\x" in "".join(run("pick", odd.with_name(os.fsdecode(b"caf\xe8.toml"))).stderr.split())


def test_a_file_that_is_too_large(job: Path) -> None:
    job.write_text("# " + "x" * 1_000_001)
    assert "Expected at most 1000000 bytes" in run("pick", job).stderr


def test_a_file_that_grows_while_it_is_read(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is read is bounded, not only the size that the system told before."""
    from optimizer.vocabulary import bounded_files

    assert bounded_files.read_bounded(job, 10_000) == job.read_bytes()
    with pytest.raises(bounded_files.TooLargeError):
        bounded_files.read_bounded(job, 10)
    assert bounded_files.read_start(job, 10) == job.read_bytes()[:10]
    assert bounded_files.read_bounded("/proc/self/status", 100_000)  # a file of size 0 that has bytes


# no permission -----------------------------------------------------------------------------------------------------


def as_anyone() -> None:
    """Before a child starts: take the right of the superuser to read and write everything away from it."""
    if os.geteuid() == 0:
        library = ctypes.CDLL(None)
        for right in (1, 2):  # CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH
            library.prctl(24, right, 0, 0, 0)  # PR_CAPBSET_DROP


def test_what_may_not_be_looked_at(job: Path, tmp_path: Path) -> None:
    shut = tmp_path / "shut"
    write_job(shut)
    offer, prices = shut / "offer.json", shut / "catalog" / "prices.csv"
    offer.write_text("{}")
    shut.chmod(0)
    try:
        for words in (("pick", shut / "job.toml"), ("pick", job, "--catalog", shut / "catalog"),
                      ("pick", job, "--prices", prices), ("audit", job, offer), ("catalog", "check", shut / "catalog"),
                      ("pick", job, "--json", shut / "x.json"), ("prices", prices, prices),
                      ("prices", "--lists", shut / "catalog", job), ("new", shut / "new"),
                      ("refresh", shut / "in")):  # fmt: skip
            done = subprocess.run(command(*words), env=environment(), capture_output=True, text=True, timeout=WAIT_S,
                                  check=False, preexec_fn=as_anyone)  # noqa: PLW1509  # fmt: skip
            assert done.returncode == WRONG_INPUT, (words, done.stderr)
            assert "Permission denied" in " ".join((done.stdout + done.stderr).split()), words
    finally:
        shut.chmod(0o700)


def test_a_catalogue_beside_the_job_that_is_shut_is_not_passed_over(job: Path) -> None:
    """The shipped parts would be taken in its place without a word."""
    (job.parent / "catalog").chmod(0)
    try:
        done = subprocess.run(command("pick", job), env=environment(), capture_output=True, text=True, check=False,
                              preexec_fn=as_anyone)  # noqa: PLW1509  # fmt: skip
        assert done.returncode == WRONG_INPUT, done.stdout
        assert "Permission denied" in " ".join(done.stderr.split())
    finally:
        (job.parent / "catalog").chmod(0o700)


def test_the_root_of_the_project_is_readable() -> None:
    """These tests take rights away from their children, and these must still find the code."""
    done = subprocess.run(command("limits"), env=environment(), capture_output=True, check=False, cwd=ROOT,
                          preexec_fn=as_anyone)  # noqa: PLW1509  # fmt: skip
    assert done.returncode == 0
