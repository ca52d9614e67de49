"""Whether a person has interrupted. Inside compiled code of a library a KeyboardInterrupt was seen to come out as
another error (numpy's comparisons, the solver's arguments), which would be taken for a fault."""

from __future__ import annotations

import signal
import sys
import threading
from types import FrameType

_seen = threading.Event()


def watch() -> None:
    """From now on note an interrupt, and raise it as ever. Where interrupts are ignored they stay so."""
    _seen.clear()
    mine = threading.current_thread() is threading.main_thread()
    if mine and signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _note)
        sys.unraisablehook = _lost


def _lost(unraisable: sys.UnraisableHookArgs) -> None:
    """An interrupt that comes while Python tidies up is noted all the same, and needs no traceback."""
    if not (came() and unraisable.exc_type is KeyboardInterrupt):
        sys.__unraisablehook__(unraisable)


def _note(number: int, frame: FrameType | None) -> None:
    _seen.set()
    signal.default_int_handler(number, frame)


def came() -> bool:
    """Whether an interrupt came, whatever became of it."""
    return _seen.is_set()


def heed() -> None:
    """Raise KeyboardInterrupt where one came."""
    if came():
        raise KeyboardInterrupt
