"""Refusing wrong input, and turning whatever a command may raise into a plain message and an exit code."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import NoReturn

import typer

from optimizer.commands import interrupts
from optimizer.commands.exit_codes import CANNOT_WRITE, INTERRUPTED, WRONG_INPUT
from optimizer.commands.streams import UnprintableError
from optimizer.vocabulary.control_signs import plain
from optimizer.vocabulary.faults import RefusedError, SolverError
from optimizer.vocabulary.problems import InputError, Problem

FAULT = 70  # a fault of this tool itself (EX_SOFTWARE of the system's own list of exit codes)
CUT = "\nInterrupted; no file is half written."


def complain(text: str) -> None:
    """Say something on standard error."""
    typer.echo(plain(text.rstrip("\n")), err=True)


def refuse(text: str, code: int = WRONG_INPUT) -> NoReturn:
    """Say what is wrong on standard error, and end with ``code``."""
    complain(text)
    raise typer.Exit(code)


def refuse_problems(problems: Iterable[Problem], files_read: int = 0) -> NoReturn:
    """Print all problems, of so many files that were read, and end with the exit code of wrong input."""
    from optimizer.writing.words.problems import problems_text

    refuse(problems_text(problems, files_read))


@contextmanager
def guarded() -> Iterator[None]:
    """Turn what a command may raise into a plain message and an exit code."""
    try:
        yield
    except typer.Exit:
        raise
    except KeyboardInterrupt:
        refuse(CUT, INTERRUPTED)
    except Exception as error:
        if interrupts.came():
            refuse(CUT, INTERRUPTED)
        _explain(error)
        raise


def _explain(error: Exception) -> None:
    """End with a plain message where ``error`` is one that has a meaning to a person."""
    if isinstance(error, InputError):
        refuse_problems(error.problems)
    if isinstance(error, UnprintableError):
        refuse(unprintable_words(error), CANNOT_WRITE)
    if isinstance(error, RefusedError):
        refuse(
            f"A fault of this tool: its auditor refuses {error.what}.\n"
            f"  It fails {', '.join(error.limits)}. Nothing is shown or written.\n"
            "  Please report it with the job and the catalogue; the other solver (--solver) may do.",
            FAULT,
        )
    if isinstance(error, SolverError):
        refuse(
            f"A fault of the solver: {error}.\n  Nothing is shown or written; the other solver (--solver) may do.",
            FAULT,
        )


def unprintable_words(error: UnprintableError) -> str:
    """That the answer could not be printed."""
    if error.gone:
        return "Standard output: nobody reads it any more; the rest of the answer is not printed."
    return (
        f"Standard output: the answer cannot be printed: {error.reason}.\n"
        "  Send it to a terminal, or to a file that has room for it."
    )


def fault_words(error: BaseException) -> str:
    """What went wrong inside this tool, and where, on one line."""
    trace = error.__traceback__
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    where = f"in {trace.tb_frame.f_globals.get('__name__')} line {trace.tb_lineno}, " if trace is not None else ""
    return f"{where}{type(error).__name__}: {error}"


def fault_report(error: Exception) -> int:
    """Say on standard error what went wrong inside this tool, and where. Returns the exit code."""
    complain(
        f"A fault of this tool, not of your input:\n  {fault_words(error)}\n"
        "  Please report it with the job and the catalogue."
    )
    return FAULT
