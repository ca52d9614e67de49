"""Exit codes of every command."""

from __future__ import annotations

ANSWERED = 0  # exit codes of every command
NOTHING_MEETS = 1
WRONG_INPUT = 2
CANNOT_WRITE = WRONG_INPUT  # where the answer was to go is wrong: full, closed, not allowed, or nobody reads it
STOPPED = 3
INTERRUPTED = 130
