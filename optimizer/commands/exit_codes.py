"""Exit codes of every command."""

from __future__ import annotations

ANSWERED = 0  # exit codes of every command
NOTHING_MEETS = 1
WRONG_INPUT = 2
STOPPED = 3
INTERRUPTED = 130
