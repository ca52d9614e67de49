"""What this tool itself may raise besides wrong input: refusals, solver faults, time that ran out."""

from __future__ import annotations


class RefusedError(Exception):
    """The auditor does not pass a bundle that a search found: a fault of this tool, never of the input."""

    def __init__(self, what: str, limits: tuple[str, ...]) -> None:
        self.what, self.limits = what, limits
        super().__init__(f"{what} fails {', '.join(limits)}")


class SolverError(RuntimeError):
    """The solver returned what its own rules forbid; nothing of it is used."""


class OutOfTimeError(Exception):
    """The time limit came before an answer; what is known by then is still true."""


class UnprovenError(RuntimeError):
    """An old bundle passes the audit and costs less than what was proven cheapest: a fault of this tool."""
