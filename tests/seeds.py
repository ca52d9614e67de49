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

    def group(some: Sequence[int], *marks: pytest.MarkDecorator) -> pytest.ParameterSet:
        return pytest.param(*case, some, id=name_of(some) + label, marks=marks)

    starts = range(0, len(seeds), size) if len(seeds) > QUICK else ()
    return [group(seeds[:QUICK]), *(group(seeds[start : start + size], pytest.mark.thorough) for start in starts)]


def by_seeds(seeds: Sequence[int], size: int) -> pytest.MarkDecorator:
    """A test of ``seeds`` alone."""
    return pytest.mark.parametrize("seeds", seed_groups(seeds, size))
