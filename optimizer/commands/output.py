"""Writing files: whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

from optimizer.commands.failures import refuse

NEIGHBOUR = ".{name}.{process}.part"  # a file that is being written


# outputs ---------------------------------------------------------------------------------------------------------


def check_target(path: Path | None) -> None:
    """Refuse a file that cannot be written, before anything long is begun."""
    if path is not None and str(path) != "-" and not path.parent.is_dir():
        refuse(f"{path}: there is no folder {path.parent}.\n  Make the folder, or name a file in one that is there.")
    if path is not None and path.is_dir():
        refuse(f"{path}: this is a folder.\n  Name a file in it.")


def write_whole(path: Path, text: str) -> None:
    """Write a file whole or not at all; refuse with a plain message where it cannot be."""
    try:
        replace_whole(path, text)
    except OSError as error:
        refuse(f"{path}: the file cannot be written: {error.strerror}.\n  Check the folder and its permissions.")


def replace_whole(path: Path, text: str) -> None:
    """Write a file whole or not at all: a neighbour is written first, is safe on the disk, and then takes its name.

    Raises OSError.
    """
    if path.exists() and not path.is_file():  # a pipe or a device is written to, never replaced
        path.write_text(text, encoding="utf-8")
        return
    target = path.resolve()
    neighbour = target.with_name(NEIGHBOUR.format(name=target.name, process=os.getpid()))
    try:
        with neighbour.open("x", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        neighbour.replace(target)
    except BaseException:
        neighbour.unlink(missing_ok=True)
        raise
