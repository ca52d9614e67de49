"""Refreshes that are interrupted and killed at random instants, from a process that is kept for it.

``python -m tests.refresh_kills FOLDER RUNS`` forks a refresh for each instant, so that no time goes into starting
Python, and prints as JSON what it saw. It never solves itself: a fork then starts from a clean solver.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import sys
import time
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

# loaded before the first fork; the order of the imports says nothing
import highspy  # noqa: F401
import jinja2  # noqa: F401
import pulp  # noqa: F401
import tabulate  # noqa: F401

import optimizer.commands.workers  # noqa: F401
from optimizer.commands import main as command
from optimizer.commands.failures import FAULT
from optimizer.commands.job_folder import Catalogs, given, jobs_below
from tests.command_line import ROOT
from tests.refresh_helpers import answers

THIN = ROOT / "tests" / "data" / "thin"  # one part of each kind: the smallest that there is to solve
NAMES = ("camp", "dam", "mill", "orchard", "spring")
SEED = 7
EARLIEST, LATEST = 0.2, 1.0  # of the time that an undisturbed run takes; before, it only reads
LONGEST_S = 60  # a fork that hangs is ended, and seen by its code


def forked(*words: str, said: str = os.devnull) -> int:
    """Start a refresh in a fork of this process; its process number."""
    child = os.fork()
    if child:
        return child
    signal.alarm(LONGEST_S)
    os._exit(refreshed(*words, said=said))


def refreshed(*words: str, said: str = os.devnull) -> int:
    """The command in this process, silently; its exit code. ``said``: the file that what it says goes to."""
    signal.signal(signal.SIGINT, signal.default_int_handler)
    sys.argv = ["borewatt", "refresh", *words]
    with Path(said).open("w", encoding="utf-8") as sink, redirect_stdout(sink), redirect_stderr(sink):
        try:
            command()
        except SystemExit as end:
            return int(end.code or 0)
    return FAULT


def ended(child: int) -> int:
    """The exit code of a fork, negative for the signal that killed it."""
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def main() -> None:
    """Kill and resume, run after run, and tell."""
    folder, runs = Path(sys.argv[1]), int(sys.argv[2])
    draw, said = random.Random(SEED), folder / "said.txt"
    before, parts, new = folder / "before", THIN / "catalog", folder / "new.csv"
    for name in NAMES:
        (before / name).mkdir(parents=True)
        text = (THIN / "job.toml").read_text(encoding="utf-8").replace("Thin orchard", name)
        (before / name / "job.toml").write_text(text, encoding="utf-8")
    new.write_text((parts / "prices.csv").read_text(encoding="utf-8").replace("139.00", "141.00"), encoding="utf-8")
    words = ("--catalog", str(parts), "--prices", str(new), "--page", str(folder / "table.html"))
    refreshed(str(folder / "nowhere"))  # what is only loaded and made once is there before the first fork
    for file in jobs_below(before).jobs:
        given(file, Catalogs(parts, new, None), 1)
    first = ended(forked(str(before), "--catalog", str(parts), "--page", str(folder / "table.html")))
    for name in NAMES[:2]:  # jobs without a kept answer among those with one
        (before / name / "job.answer.json").unlink()
    for name in NAMES[3:]:
        (before / name / "job.answer.html").unlink()
    old = answers(before)
    whole = folder / "whole"
    shutil.copytree(before, whole)
    began = time.monotonic()
    second = ended(forked(str(whole), *words))
    takes = time.monotonic() - began
    wanted = answers(whole)
    names = ("codes", "faults", "torn", "unequal", "finished", "resumed")
    seen: dict[str, list[object]] = {name: [] for name in names}
    for number in range(runs):
        target = folder / f"run-{number}"
        shutil.copytree(before, target)
        killer = signal.SIGKILL if number % 2 else signal.SIGINT
        child = forked(str(target), *words, said=str(said))
        time.sleep(draw.uniform(EARLIEST, LATEST) * takes)
        os.kill(child, killer)
        code = ended(child)
        seen["codes"].append([killer.name, code])
        if code == FAULT:
            seen["faults"].append(said.read_text(encoding="utf-8"))
        left = answers(target)
        kept = {name: data for name, data in left.items() if not name.endswith(".part")}
        seen["torn"] += [f"{number} {name}" for name, data in kept.items() if data not in (old.get(name), wanted[name])]
        seen["finished"].append(sum(data == wanted[name] for name, data in kept.items()))
        seen["resumed"].append(ended(forked(str(target), *words)))
        if answers(target) != wanted:
            seen["unequal"].append(number)
        shutil.rmtree(target)
    print(json.dumps({"undisturbed": [first, second], "jobs": len(wanted), **seen}))


if __name__ == "__main__":
    main()
