"""Ways to put an error into the product for the length of one test."""

from __future__ import annotations

import importlib
import inspect
import sys
from collections.abc import Callable
from dataclasses import dataclass
from types import ModuleType
from typing import Any

import pytest

Mutation = Callable[[pytest.MonkeyPatch], None]
Figures = tuple[float | bool | str, ...]


@dataclass(frozen=True)
class Case:
    """One error, and what shows it: ``see`` gives ``expect`` on the true product, and something else once ``mutate``
    has put the error in. ``expect`` is a literal worked by hand.
    """

    name: str
    see: Callable[[], Figures]
    expect: Figures
    mutate: Mutation


def everywhere(patch: pytest.MonkeyPatch, there: ModuleType, name: str, value: Any) -> None:
    """A name of a module, replaced there and, where it is the module's own, wherever product and tests have imported
    it."""
    true = getattr(there, name, value)
    own = getattr(true, "__module__", there.__name__) == there.__name__
    for module in [
        module for key, module in sys.modules.items() if key.partition(".")[0] in ("optimizer", "catalog", "tests")
    ]:
        if own and vars(module).get(name) is true:
            patch.setattr(module, name, value)
    patch.setattr(there, name, value, raising=False)


def swapped(module: str, name: str, value: Any) -> Mutation:
    """A function or a constant of a module, replaced."""

    def apply(patch: pytest.MonkeyPatch) -> None:
        everywhere(patch, importlib.import_module(module), name, value)

    return apply


def edited(module: str, old: str, new: str) -> Mutation:
    """A piece of a module's source, which must stand there exactly once, replaced; for what is no function of its
    own."""

    def apply(patch: pytest.MonkeyPatch) -> None:
        there = importlib.import_module(module)
        source = inspect.getsource(there)
        found = source.count(old)
        assert found == 1, f"the error no longer applies: {module} has {old!r} {found} times; word it anew"
        changed: dict[str, Any] = {"__name__": module, "__file__": there.__file__}
        exec(compile(source.replace(old, new), str(there.__file__), "exec"), changed)
        for name, value in changed.items():
            if not name.startswith("__"):
                everywhere(patch, there, name, value)

    return apply


def both(*mutations: Mutation) -> Mutation:
    """Several changes that make up one error."""

    def apply(patch: pytest.MonkeyPatch) -> None:
        for mutation in mutations:
            mutation(patch)

    return apply
