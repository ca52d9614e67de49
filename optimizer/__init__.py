"""Choose the cheapest compliant bundle of solar array, storage and converter for loads that start hard.

The public names are loaded when they are first asked for, so that a help page does not wait for the numbers.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

_HOME = {
    "read_catalog": "catalog.reader",
    "read_job": "optimizer.inputs.job_reader",
    "pick": "optimizer.search.branch_and_bound",
    "audit": "optimizer.auditor.audit",
    "InputError": "optimizer.vocabulary.problems",
}

__all__ = ["InputError", "audit", "pick", "read_catalog", "read_job"]


def __getattr__(name: str) -> Any:  # whatever the name stands for in its home
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    return __all__
