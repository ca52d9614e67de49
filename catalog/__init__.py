"""The catalogue: what can be bought, read from a folder of CSV files."""

from __future__ import annotations

from importlib import import_module
from typing import Any

_HOME = {"read_catalog": "catalog.reader", "Catalog": "catalog.reader"}

__all__ = ["Catalog", "read_catalog"]


def __getattr__(name: str) -> Any:  # whatever the name stands for in its home
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    return __all__
