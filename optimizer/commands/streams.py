"""Standard output and standard error where they are closed or full, or nobody reads them any more."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import TextIO, cast

STANDARD = (0, 1, 2)  # the system's numbers of input, output and errors


class UnprintableError(Exception):
    """What was to be printed cannot be. ``reason``: why; ``gone``: nobody reads it any more."""

    def __init__(self, reason: str, gone: bool = False) -> None:
        super().__init__(reason)
        self.reason, self.gone = reason, gone


class Guarded:
    """A stream, None where it is closed, that fails once and is still from then on: what it holds would fail again
    when Python ends, with an exit code of Python's own. One that is ``silent`` fails without a word."""

    def __init__(self, stream: TextIO | None, silent: bool = False) -> None:
        self.stream, self.silent, self.spent = stream, silent, False

    def __getattr__(self, name: str) -> object:
        return getattr(self.stream, name)

    def isatty(self) -> bool:
        """Whether it is a terminal."""
        return self.stream is not None and self.stream.isatty()

    def write(self, text: str) -> int:
        """Write a text. Raises UnprintableError, which the command line's library does not take for its own."""
        if not isinstance(text, str):  # as the library of command lines finds out what sort of stream it is
            raise TypeError(text)
        if text and self.stream is None and not (self.spent or self.silent):  # an empty one is such a trial too
            self.spent = True
            raise UnprintableError("it is closed")
        with self._open() as stream:
            if stream is not None and text:
                stream.write(text)
        return len(text)

    def flush(self) -> None:
        """Hand over what was written. Raises UnprintableError likewise."""
        with self._open() as stream:
            if stream is not None:
                stream.flush()

    @contextmanager
    def _open(self) -> Iterator[TextIO | None]:
        """The stream while it works; None when it has failed."""
        try:
            yield None if self.spent else self.stream
        except (OSError, ValueError) as error:  # a ValueError is what Python says of a stream that it closed itself
            self.spent = True
            if not self.silent:
                reason = getattr(error, "strerror", None) or str(error)
                raise UnprintableError(reason, isinstance(error, BrokenPipeError)) from error


@contextmanager
def guarded_streams() -> Iterator[None]:
    """Standard output and standard error guarded, and narrow consoles shown what they cannot show as "?"."""
    _fill_standard()
    before = sys.stdout, sys.stderr
    for stream in before:
        with suppress(AttributeError):  # a stream that was replaced may not know how
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    said, told = Guarded(sys.stdout), Guarded(sys.stderr, silent=True)
    sys.stdout, sys.stderr = cast(TextIO, said), cast(TextIO, told)
    try:
        yield
    finally:
        if not (said.spent or told.spent):
            sys.stdout, sys.stderr = before


def _fill_standard() -> None:
    """Where input, output or errors are closed, the next file that is opened would take their number, and whatever a
    library prints would be written into it."""
    for number in STANDARD:
        try:
            os.fstat(number)
        except OSError:
            with suppress(OSError):
                os.open(os.devnull, os.O_RDWR)
