"""What a command says and writes: the answer first, then its files, each whole or not at all."""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Iterable
from pathlib import Path

import typer

from optimizer.commands.exit_codes import CANNOT_WRITE
from optimizer.commands.failures import refuse, unprintable_words
from optimizer.commands.streams import UnprintableError
from optimizer.vocabulary.bounded_files import is_folder, is_there, look
from optimizer.vocabulary.control_signs import plain
from optimizer.vocabulary.problems import Fault

NEIGHBOUR = ".{name}.{process}.part"  # a file that is being written
NAME = 50  # characters of a file's name in that of its neighbour: with them no name is too long for a system
TRIES = 3  # another run may take the neighbour for what a killed one left


class LinkedOutError(OSError):
    """A link where a file is to be written leads out of its folder."""


# what is printed -------------------------------------------------------------------------------------------------


def say(text: str) -> None:
    """Print an answer; where it cannot be printed, say so and end."""
    try:
        _print(text)
    except UnprintableError as error:
        refuse(unprintable_words(error), CANNOT_WRITE)


def _print(text: str) -> None:
    typer.echo(plain(text), nl=False)


# what is written -------------------------------------------------------------------------------------------------


class Outputs:
    """The files that a command writes beside what it prints.

    All are checked before anything long is begun; what fails at the end is said after everything else is done, so that
    no solved answer is lost. ``json`` is None, and ``bare`` true, where the JSON is asked for in place of the text.
    """

    def __init__(self, *paths: Path | None, json: Path | None = None) -> None:
        self.bare = str(json) == "-"
        self.json = None if self.bare else json
        self.paths = [path for path in (self.json, *paths) if path is not None]
        self._failed: list[str] = []
        for place, path in enumerate(self.paths):
            check_target(path)
            if any(_same(path, other) for other in self.paths[:place]):
                refuse(f"{path}: two answers would be written over each other.\n  Name a file for each.")

    def spare(self, inputs: Iterable[str | Path]) -> None:
        """Refuse to write over what is read."""
        read = list(inputs)
        for path in self.paths:
            if any(_same(path, other) for other in read):
                refuse(f"{path}: this file is read here, and would be lost.\n  Name another file to write to.")

    def say(self, text: str) -> None:
        """Print the answer."""
        try:
            _print(text)
        except UnprintableError as error:
            self._failed.append(unprintable_words(error))

    def write(self, path: Path | None, text: str) -> None:
        """Write a file, where one is asked for."""
        try:
            if path is not None:
                replace_whole(path, text)
        except OSError as error:
            self._failed.append(_unwritable(path, error))

    def end(self) -> None:
        """Say what could not be printed or written, and end with its exit code; nothing where all was."""
        if self._failed:
            refuse("\n".join(self._failed), CANNOT_WRITE)


def _unwritable(path: Path | None, error: OSError) -> str:
    mend = "Remove the link, or name another file" if isinstance(error, LinkedOutError) else "Check the folder and its"
    mend += "." if isinstance(error, LinkedOutError) else " permissions."
    return f"{path}: the file cannot be written: {error.strerror}.\n  {mend}"


def check_target(path: Path | None) -> None:
    """Refuse a file that cannot be written, before anything long is begun."""
    if path is None:
        return
    if not is_folder(path.parent) and not is_there(path.parent):
        refuse(f"{path}: there is no folder {path.parent}.\n  Make the folder, or name a file in one that is there.")
    if is_folder(path):
        refuse(f"{path}: this is a folder.\n  Name a file in it.")
    try:
        check_place(path)
    except OSError as error:
        refuse(_unwritable(path, error))


def check_place(path: Path, folder: Path | None = None) -> None:
    """See whether a file can be written, by writing beside it what is taken away again.

    ``folder``: where a link must not lead out of, the file's own unless it is named. Raises OSError.
    """
    if _is_stream(path):
        return
    with_links = _target(path, folder or path.parent)
    neighbour = _neighbour(with_links)
    try:
        neighbour.open("x").close()
    finally:
        neighbour.unlink(missing_ok=True)


def _is_stream(path: Path) -> bool:
    """Whether a pipe or a device is there; such is written to, never replaced. Raises OSError."""
    try:
        mode = look(path).st_mode
    except FileNotFoundError:
        return False
    return not (stat.S_ISREG(mode) or stat.S_ISDIR(mode))


def _target(path: Path, folder: Path) -> Path:
    """The file that a path leads to. Raises :class:`LinkedOutError` where a link leads out of ``folder``."""
    inside, target = Path(os.path.realpath(folder)), Path(os.path.realpath(path))
    if inside not in target.parents:
        raise LinkedOutError(errno.EPERM, f"it is a link that leads out of its folder, to {target}")
    return target


def _same(path: str | Path, other: str | Path) -> bool:
    """Whether two paths are one file."""
    try:
        if _is_stream(Path(path)):
            return False
        if os.path.realpath(path) == os.path.realpath(other):
            return True
        return os.path.samestat(look(path), look(other))
    except (OSError, ValueError):
        return False


def _neighbour(target: Path) -> Path:
    """A name of its own for each attempt: a killed process may have left its own, and had the same number."""
    mark = f"{os.getpid()}-{os.urandom(4).hex()}"
    return target.with_name(NEIGHBOUR.format(name=target.name[-NAME:], process=mark))


def replace_whole(path: Path, text: str, folder: Path | None = None) -> None:
    """Write a file whole or not at all: a neighbour is written first, is safe on the disk, and then takes its name.

    ``folder``: where a link must not lead out of, the file's own unless it is named. Raises OSError.
    """
    if _is_stream(path):
        _write_through(path, text)
        return
    target = _target(path, folder or path.parent)
    for left in reversed(range(TRIES)):
        try:
            _replace(target, text)
        except FileNotFoundError:
            if not left:
                raise
        else:
            return


def _replace(target: Path, text: str) -> None:
    neighbour = _neighbour(target)
    try:
        with neighbour.open("x", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        neighbour.replace(target)
    except BaseException:
        neighbour.unlink(missing_ok=True)
        raise


def _write_through(path: Path, text: str) -> None:
    """Write to a pipe or a device; a pipe without a reader is not waited at."""
    try:
        opened = os.open(path, os.O_WRONLY | getattr(os, "O_NONBLOCK", 0))
    except OSError as error:
        if error.errno == errno.ENXIO:
            raise OSError(errno.ENXIO, "nobody reads this pipe") from error
        raise
    os.set_blocking(opened, True)
    with os.fdopen(opened, "w", encoding="utf-8", newline="") as file:
        file.write(text)


def unwritable_fault(error: OSError) -> Fault:
    """Why a file could not be written."""
    if isinstance(error, LinkedOutError):
        return Fault("linked-file")
    return Fault("unwritable-file", {"reason": error.strerror or "no reason"})
