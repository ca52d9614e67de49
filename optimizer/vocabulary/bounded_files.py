"""Looking at paths and reading files: bounded in bytes, never waiting, and with a plain reason where it cannot be."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

from optimizer.vocabulary.problems import Fault

LARGEST_TABLE = 200_000_000  # bytes; some millions of prices
NEVER_WAIT = getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)  # not every system has them


class NotAFileError(OSError):
    """What is named is a pipe or a device: it may have no end, or nothing in it yet."""


class TooLargeError(OSError):
    """There are more bytes than may be read. ``most``: how many; ``size``: how many there are, in words."""

    def __init__(self, most: int, size: str) -> None:
        super().__init__(errno.EFBIG, os.strerror(errno.EFBIG))
        self.most, self.size = most, size


def look(path: str | Path) -> os.stat_result:
    """What the system says of a path, links followed. Raises OSError; for a name that no file can have, too."""
    try:
        return Path(path).stat()
    except ValueError as error:  # a zero byte, or half a letter
        raise OSError(errno.EINVAL, os.strerror(errno.EINVAL), str(path)) from error


def is_there(path: str | Path) -> bool:
    """Whether something of this name is there; also where nobody can say: whoever reads it learns why not."""
    try:
        look(path)
    except (FileNotFoundError, NotADirectoryError):
        return False
    except OSError:
        return True
    return True


def is_file(path: str | Path) -> bool:
    """Whether an ordinary file is seen to be there."""
    try:
        return stat.S_ISREG(look(path).st_mode)
    except OSError:
        return False


def is_folder(path: str | Path) -> bool:
    """Whether a folder is seen to be there."""
    try:
        return stat.S_ISDIR(look(path).st_mode)
    except OSError:
        return False


def read_start(path: str | Path, most: int) -> bytes:
    """The first ``most`` bytes of a file. Raises OSError, :class:`NotAFileError` for what is none."""
    mode = look(path).st_mode
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    if not stat.S_ISREG(mode):
        raise NotAFileError(errno.EINVAL, os.strerror(errno.EINVAL), str(path))
    with os.fdopen(os.open(path, os.O_RDONLY | NEVER_WAIT), "rb") as file:  # it may have become a pipe meanwhile
        return file.read(most)


def read_bounded(path: str | Path, most: int) -> bytes:
    """All bytes of a file that has at most ``most``. Raises OSError, :class:`TooLargeError` for a larger one."""
    data = read_start(path, most + 1)
    if len(data) > most:
        raise TooLargeError(most, str(max(look(path).st_size, len(data))))
    return data


def file_fault(error: OSError) -> Fault:
    """Why a file could not be read."""
    if isinstance(error, NotAFileError):
        return Fault("not-a-file")
    if isinstance(error, TooLargeError):
        return Fault("too-large", {"most": str(error.most), "size": error.size})
    return Fault("unreadable-file", {"reason": error.strerror or "no reason"})
