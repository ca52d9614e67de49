"""The command line: one short file a command; what a command needs is loaded when it runs."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from optimizer.commands.exit_codes import INTERRUPTED

if TYPE_CHECKING:
    from optimizer.commands.command_line import app as app


def main() -> None:
    """Run the command line. An interrupt is one from here on, also while libraries are being loaded."""
    try:
        from optimizer.commands import interrupts

        interrupts.watch()
        try:
            from optimizer.commands.command_line import run

            code = run()
        except Exception:
            if not interrupts.came():
                raise
            code = INTERRUPTED
    except KeyboardInterrupt:
        code = INTERRUPTED
    sys.exit(code)


def __getattr__(name: str) -> object:
    """The app itself, for who builds on it: it loads the library of command lines."""
    if name != "app":
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from optimizer.commands.command_line import app

    return app
