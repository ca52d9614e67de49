"""Seeds of drawn instances in groups that are one test each: two seeds by default, the whole range where thorough."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

QUICK = 2  # seeds of the group that runs by default


def name_of(seeds: Sequence[int]) -> str:
    """The name of a group in a test's id."""
    return f"{seeds[0]}-{seeds[-1]}"


def seed_groups(seeds: Sequence[int], size: int, *case: object, label: str = "") -> list[pytest.ParameterSet]:
    """Parameters ``(*case, seeds)``: the first two seeds, and marked thorough all of them in groups of ``size``."""
    quick = pytest.param(*case, seeds[:QUICK], id=name_of(seeds[:QUICK]) + label)
    groups = [seeds[start : start + size] for start in range(0, len(seeds), size)]
    return [
        quick, *(pytest.param(*case, group, id=name_of(group) + label, marks=pytest.mark.thorough) for group in groups)
    ]  # fmt: skip


def by_seeds(seeds: Sequence[int], size: int) -> pytest.MarkDecorator:
    """A test of ``seeds`` alone."""
    return pytest.mark.parametrize("seeds", seed_groups(seeds, size))
