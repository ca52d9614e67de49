"""Where answers go: targets that are inputs, links, pipes, full or shut; standard output closed, full or unread."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from optimizer.commands import output
from optimizer.commands.exit_codes import ANSWERED, WRONG_INPUT
from optimizer.search import branch_and_bound
from tests.command_line import ROOT, command, environment, run

THIN = ROOT / "tests" / "data" / "thin"
LONG = "x" * 300
posix = pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs the devices of Linux")


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A folder with a job and its catalogue, and one beside it."""
    home = tmp_path / "home"
    (home / "catalog").mkdir(parents=True)
    for path in (THIN / "catalog").iterdir():
        (home / "catalog" / path.name).write_bytes(path.read_bytes())
    (home / "job.toml").write_bytes((THIN / "job.toml").read_bytes())
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "victim").write_text("mine")
    return home


@pytest.fixture
def unsolved(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing may be solved."""

    def fail(*_: object, **__: object) -> None:
        raise AssertionError("solved before the targets were checked")

    monkeypatch.setattr(branch_and_bound, "pick", fail)


def refused(home: Path, *words: object, why: str) -> None:
    """The command is refused for a reason, and every file is as it was."""
    before = {path: path.read_bytes() for path in home.parent.rglob("*") if path.is_file()}
    result = run(*words, cwd=home)
    assert result.exit_code == WRONG_INPUT, result.output
    assert why in " ".join(result.stderr.split())
    assert result.stdout == ""
    assert {path: path.read_bytes() for path in home.parent.rglob("*") if path.is_file()} == before


# inputs and other outputs ------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("unsolved")
@pytest.mark.parametrize("target", ["job.toml", "catalog/panels.csv", "catalog/../catalog/prices.csv", "dear.csv"])
@pytest.mark.parametrize("option", ["--json", "--shopping", "--page"])
def test_pick_writes_over_nothing_that_it_reads(home: Path, option: str, target: str) -> None:
    (home / "dear.csv").write_bytes((home / "catalog/prices.csv").read_bytes())
    refused(home, "pick", "job.toml", "--prices", "dear.csv", option, target, why="this file is read here")


@pytest.mark.usefixtures("unsolved")
def test_by_a_link_or_another_name_it_is_the_same_file(home: Path) -> None:
    (home / "soft.json").symlink_to("job.toml")
    (home / "hard.json").hardlink_to(home / "job.toml")
    for name in ("soft.json", "hard.json"):
        refused(home, "pick", "job.toml", "--json", name, why="this file is read here")


def test_the_other_commands_neither(home: Path) -> None:
    run("pick", "job.toml", "--json", "offer.json", cwd=home)
    (home / "lists").mkdir()
    for name in ("one.csv", "two.csv"):
        (home / "lists" / name).write_bytes((home / "catalog/prices.csv").read_bytes())
    prices, why = "catalog/prices.csv", "this file is read here"
    refused(home, "why", "job.toml", "--json", "job.toml", why=why)
    refused(home, "why", "job.toml", "--not", "offer.json", "--json", "offer.json", why=why)
    refused(home, "audit", "job.toml", "offer.json#1", "--page", "offer.json", why=why)
    refused(home, "afford", "job.toml", "--csv", prices, why=why)
    refused(home, "afford", "job.toml", "--plot", "catalog/racks.csv", why=why)
    refused(home, "prices", prices, "lists/one.csv", "--json", "lists/one.csv", why=why)
    refused(home, "prices", prices, prices, "--jobs", ".", "--json", "job.toml", why=why)
    refused(home, "prices", "--lists", "lists", "job.toml", "--json", "lists/two.csv", why=why)
    refused(home, "prices", "--lists", "lists", "job.toml", "--json", "job.toml", why=why)
    refused(home, "refresh", ".", "--json", "job.toml", why=why)
    refused(home, "refresh", ".", "--json", "job.answer.json", why=why)
    refused(home, "refresh", ".", "--page", "catalog/panels.csv", why=why)
    refused(home, "refresh", ".", "--prices", "lists/one.csv", "--json", "lists/one.csv", why=why)


@pytest.mark.usefixtures("unsolved")
def test_two_answers_over_each_other(home: Path) -> None:
    (home / "there").write_text("")
    (home / "link").symlink_to("there")
    for words in (("--json", "x", "--page", "x"), ("--json", "x", "--shopping", "./catalog/../x"),
                  ("--page", "there", "--json", "link")):  # fmt: skip
        refused(home, "pick", "job.toml", *words, why="two answers would be written over each other")
    refused(home, "refresh", ".", "--page", "x", "--json", "x", why="two answers would be written over each other")


# links and places --------------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("unsolved")
def test_not_through_a_link_out_of_the_folder(home: Path) -> None:
    (home / "out.json").symlink_to("../elsewhere/victim")
    (home / "new.json").symlink_to("../elsewhere/new")
    (home / "loop.json").symlink_to("loop.json")
    refused(home, "pick", "job.toml", "--json", "out.json", why="a link that leads out of its folder")
    refused(home, "pick", "job.toml", "--page", "new.json", why="a link that leads out of its folder")
    refused(home, "pick", "job.toml", "--json", "loop.json", why="Too many levels of symbolic links")


def test_a_link_within_the_folder_is_kept(home: Path) -> None:
    (home / "link.json").symlink_to("catalog/answer.json")
    assert run("pick", "job.toml", "--json", "link.json", cwd=home).exit_code == ANSWERED
    assert (home / "link.json").is_symlink()
    assert (home / "catalog/answer.json").read_bytes().endswith(b"}\n")


@pytest.mark.usefixtures("unsolved")
@posix
def test_places_that_cannot_be_written(home: Path) -> None:
    for target, why in ((LONG, "File name too long"), ("/proc/x.json", "cannot be written"), ("catalog", "is a folder"),
                        ("nowhere/x", "there is no folder"), (f"{LONG}/x", "File name too long"),
                        ("job.toml/x", "Not a directory")):  # fmt: skip
        refused(home, "pick", "job.toml", "--json", target, why=why)


def test_the_longest_name_that_there_is(home: Path) -> None:
    name = "x" * 250 + ".json"
    assert run("pick", "job.toml", "--json", name, cwd=home).exit_code == ANSWERED
    assert sorted(path.name for path in home.iterdir()) == ["catalog", "job.toml", name]


def test_a_name_that_is_not_utf8(home: Path) -> None:
    name = os.fsdecode(b"caf\xe9.json")
    assert run("pick", "job.toml", "--json", name, cwd=home).exit_code == ANSWERED
    assert (home / name).is_file()


# the answer is printed all the same --------------------------------------------------------------------------------


@posix
@pytest.mark.parametrize(
    "words",
    [("pick", "job.toml", "--json"), ("pick", "job.toml", "--shopping"), ("pick", "job.toml", "--page"),
     ("why", "job.toml", "--json"), ("afford", "job.toml", "--csv"), ("afford", "job.toml", "--plot"),
     ("afford", "job.toml", "--page"), ("prices", "catalog/prices.csv", "catalog/prices.csv", "--json"),
     ("refresh", ".", "--dry-run", "--json"), ("refresh", ".", "--dry-run", "--page")],
    ids=" ".join,
)  # fmt: skip
def test_a_solved_answer_is_printed_where_writing_fails(home: Path, words: tuple[str, ...]) -> None:
    bare = run(*words[:-1], cwd=home)
    result = run(*words, "/dev/full", cwd=home)
    assert bare.stdout
    assert result.stdout == bare.stdout
    assert result.exit_code == WRONG_INPUT
    assert "/dev/full: the file cannot be written: No space left on device." in result.stderr


@posix
def test_one_file_that_fails_hinders_no_other(home: Path) -> None:
    result = run("pick", "job.toml", "--json", "/dev/full", "--shopping", "list.csv", "--page", "page.html", cwd=home)
    assert result.exit_code == WRONG_INPUT
    assert (home / "list.csv").is_file()
    assert (home / "page.html").is_file()


@posix
def test_a_pipe_that_nobody_reads_is_not_waited_at(home: Path) -> None:
    os.mkfifo(home / "pipe")
    result = subprocess.run(
        command("pick", "job.toml", "--json", "pipe"), cwd=home, env=environment(), capture_output=True, text=True,
        timeout=60, check=False,
    )  # fmt: skip
    assert result.returncode == WRONG_INPUT
    assert "thin-panel" in result.stdout
    assert "pipe: the file cannot be written: nobody reads this pipe." in result.stderr


def test_a_pipe_that_is_read_gets_the_answer(home: Path) -> None:
    os.mkfifo(home / "pipe")
    with subprocess.Popen(["cat", "pipe"], cwd=home, stdout=subprocess.PIPE) as reader:
        time.sleep(0.2)
        assert run("pick", "job.toml", "--json", "pipe", cwd=home).exit_code == ANSWERED
        assert reader.communicate(timeout=30)[0].startswith(b'{\n "schema": 1')


def test_what_a_run_of_the_same_number_left_hinders_nothing(home: Path) -> None:
    left = home / f".answer.json.{os.getpid()}.part"
    left.write_text("half")
    assert run("pick", "job.toml", "--json", "answer.json", cwd=home).exit_code == ANSWERED
    assert (home / "answer.json").read_bytes().endswith(b"}\n")


def test_a_file_whose_writing_another_run_took_for_a_leftover(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    replace = Path.replace
    taken: list[Path] = []

    def cleared(self: Path, target: Path) -> Path:
        if len(taken) < 2:
            taken.append(self)
            self.unlink()
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", cleared)
    output.replace_whole(home / "x", "whole")
    assert (home / "x").read_text() == "whole"
    assert len(set(taken)) == 2


# standard output ---------------------------------------------------------------------------------------------------


def shell(home: Path, words: str, tail: str) -> subprocess.CompletedProcess[str]:
    """A command as typed in a shell, with what is done to its output behind it; its code is that of the command."""
    code = "from optimizer.commands import main; main()"
    line = f'set -o pipefail; "{sys.executable}" -c "{code}" {words} {tail}'
    return subprocess.run(
        ["bash", "-c", line], cwd=home, env=environment(), capture_output=True, text=True, timeout=60, check=False
    )


@posix
@pytest.mark.parametrize("words", ["pick job.toml --json -", "limits", "--help", "new there", "refresh . --dry-run"])
@pytest.mark.parametrize(
    ("tail", "why"),
    [(">/dev/full", "No space left on device"), (">&-", "it is closed"), ("| true", "nobody reads it any more")],
)
def test_an_answer_that_cannot_be_printed(home: Path, words: str, tail: str, why: str) -> None:
    done = shell(home, words, tail)
    assert done.stderr.startswith("Standard output: ")
    assert why in done.stderr
    assert len(done.stderr.splitlines()) <= 2
    assert done.returncode == WRONG_INPUT


@posix
def test_files_are_written_where_printing_fails(home: Path) -> None:
    done = shell(home, "pick job.toml --json answer.json", ">/dev/full")
    assert done.returncode == WRONG_INPUT
    assert (home / "answer.json").read_bytes().endswith(b"}\n")


@posix
@pytest.mark.parametrize("tail", ["2>/dev/full", "2>&-", "2>&- <&-"])
def test_an_error_that_cannot_be_said_keeps_its_code(home: Path, tail: str) -> None:
    assert shell(home, "pick nowhere.toml", tail).returncode == WRONG_INPUT
    done = shell(home, "pick job.toml", tail)
    assert done.returncode == ANSWERED
    assert "thin-panel" in done.stdout


@posix
def test_no_file_takes_the_place_of_a_closed_stream(home: Path) -> None:
    """What a library prints would else be written into the first file that is opened."""
    done = shell(home, "pick job.toml --json answer.json", "<&- >&- 2>&-")
    assert done.returncode == WRONG_INPUT
    assert (home / "answer.json").read_bytes().startswith(b'{\n "schema": 1')
    assert (home / "answer.json").read_bytes().endswith(b"}\n")
