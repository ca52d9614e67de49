"""The README's transcripts are run and their output compared; its test command is a pytest command."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.command_line import ROOT, spawned

README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```console\n(.*?)```", README, re.DOTALL)


@pytest.mark.thorough
def test_the_transcripts_are_what_the_commands_print() -> None:
    compared = 0
    for block in BLOCKS:
        command, _, printed = block.partition("\n")
        if "borewatt " not in command or not printed:
            continue
        words = command.split("borewatt ", 1)[1].split()
        done = spawned(*words, cwd=ROOT)
        assert done.stdout + done.stderr == printed, command
        compared += 1
    assert compared >= 2


def test_one_command_runs_the_tests() -> None:
    assert [block for block in BLOCKS if block.startswith("$ ") and "-m pytest" in block]


def test_the_files_it_names_are_there() -> None:
    for name in re.findall(r"\]\((?!http)([^)#]+)\)", README):
        assert (ROOT / Path(name)).exists(), name


def test_the_python_of_the_readme_runs() -> None:
    blocks = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
    assert blocks
    for block in blocks:
        done = subprocess.run([sys.executable, "-c", block], cwd=ROOT, check=True, capture_output=True, text=True)
        said = re.findall(r"^print\(.*\)  # (.*)$", block, re.MULTILINE)
        assert said and done.stdout.splitlines() == said, "what stands beside a print is what it prints"
