"""Progress of a search on standard error."""

from __future__ import annotations

import sys
from time import monotonic
from types import TracebackType

from optimizer.commands import interrupts
from optimizer.vocabulary.control_signs import plain

PATIENCE_S = 2.0  # a search shorter than this shows no progress
STEP_S = 0.2  # between two lines of progress
LINE = 79  # columns of a line of progress


class Progress:
    """Progress of a search on standard error, where that is a terminal and the search takes its time."""

    def __init__(self) -> None:
        self.started = self.last = monotonic()
        self.wanted, self.shown = sys.stderr.isatty(), 0

    def __enter__(self) -> Progress:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.end()

    def __call__(self, opened: int, solved: int) -> None:
        """Called by the search with the choices opened and the small models solved."""
        interrupts.heed()
        now = monotonic()
        if not self.wanted or now - self.started < PATIENCE_S or now - self.last < STEP_S:
            return
        self._show(f"searching: {opened:,} choices opened, {solved:,} models solved, {now - self.started:.0f} s")

    def say(self, words: str) -> None:
        """Called by an explanation with what is being worked out."""
        interrupts.heed()
        now = monotonic()
        if self.wanted and now - self.started >= PATIENCE_S:
            self._show(f"working out {words}, {now - self.started:.0f} s")

    def bar(self, text: str) -> None:
        """Called by what goes through many jobs with a bar and its counts."""
        now = monotonic()
        if self.wanted and now - self.started >= PATIENCE_S and now - self.last >= STEP_S:
            self._show(text)

    def _show(self, text: str) -> None:
        self.last = monotonic()
        text = plain(text.replace("\n", " "))[:LINE]
        sys.stderr.write("\r" + text.ljust(self.shown))
        sys.stderr.flush()
        self.shown = len(text)

    def end(self) -> None:
        """Wipe the line of progress."""
        if self.shown:
            sys.stderr.write("\r" + " " * self.shown + "\r")
            sys.stderr.flush()
            self.shown = 0
