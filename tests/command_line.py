"""The command line for the tests: run in this process, or as a process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from contextlib import chdir
from pathlib import Path

from typer.testing import CliRunner, Result

from optimizer.commands import app

ROOT = Path(__file__).parent.parent
CODE = "from optimizer.commands import main; main()"


def run(*words: object, cwd: Path | None = None) -> Result:
    """The command in this process, as if typed in a folder."""
    with chdir(cwd or Path.cwd()):
        return CliRunner().invoke(app, [str(word) for word in words])


def command(*words: object) -> list[str]:
    """The command as a process of its own."""
    return [sys.executable, "-c", CODE, *map(str, words)]


def environment(**more: str) -> dict[str, str]:
    """Of such a process."""
    return {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8", **more}


def spawned(*words: object, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """Run the command as a process of its own, to its end."""
    return subprocess.run(command(*words), cwd=cwd, env=environment(), capture_output=True, text=True, check=False)
