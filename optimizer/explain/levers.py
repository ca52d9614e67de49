"""What can be moved, step by step: a limit in its own unit, or a key of the job as a person would type it.

A lever only ever gives way: what does at one step does at every further one. So the least step that does is found by
halving, and by solving at the step that a found bundle needs and at the one before it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil, inf

from optimizer.bundle import Bundle
from optimizer.explain.again import Again, Case, Outcome, miss, misses

# the least step of a figure in each unit: as fine as it is printed
STEP = {"V": 0.1, "A": 0.1, "d": 0.01, "degC": 0.1}
WHOLE = 1.0  # of any other unit


@dataclass(frozen=True)
class Lever:
    """Something that can be moved from 0 to ``steps``. ``at`` is the case at a step, ``text`` the value there as a
    person writes it, ``value`` the same as a figure (None where it is none).

    ``limit`` is what gives way, ``key`` the dotted key of the job that is changed; "" where it is in thought only.
    """

    limit: str
    key: str
    kind: str
    steps: int
    at: Callable[[int], Case]
    text: Callable[[int], str]
    value: Callable[[int], float | None]


@dataclass(frozen=True)
class Moved:
    """The least step of a lever at which a bundle of at most so many cents exists, and the cheapest there.

    One step less was solved too, and had none.
    """

    lever: Lever
    step: int
    bundle: Bundle


def slack_lever(case: Case, limit: str, unit: str, most: float) -> Lever:
    """A limit loosened in thought by up to ``most`` of its unit."""
    size = STEP.get(unit, WHOLE)

    def amount(step: int) -> float:
        return round(step * size, 6)

    return Lever(
        limit, "", "part", max(1, ceil(most / size - 1e-6)), lambda step: case.loosened(limit, amount(step)),
        lambda step: f"{amount(step):g}", amount,
    )  # fmt: skip


def needed(lever: Lever, bundle: Bundle, most: int) -> int:
    """The least step, up to ``most`` where it does, at which a bundle meets every limit."""
    low, high = -1, most
    while high - low > 1:
        middle = (low + high) // 2
        if misses(lever.at(middle), bundle):
            low = middle
        else:
            high = middle
    return high


def least_step(
    again: Again, lever: Lever, below: float = inf, known: Outcome | None = None, seen: Bundle | None = None
) -> Moved | None:
    """The least step at which a bundle of at most ``below`` cents exists; None where no step does.

    ``known`` found nothing where the lever stands at 0; ``seen`` is a bundle that does at its last step.
    """
    solve = again.cheapest if below < inf else again.any
    bundle = seen or solve(lever.at(lever.steps), below, known).bundle
    if bundle is None:
        return None
    low, high = 0, max(1, needed(lever, bundle, lever.steps))
    while high - low > 1:
        middle = (low + high) // 2
        outcome = solve(lever.at(middle), below, known)
        if outcome.bundle is None:
            low, known = middle, outcome
        else:
            high = min(middle, max(1, needed(lever, outcome.bundle, middle)))
    final = again.first(lever.at(high), below, known).bundle
    assert final is not None  # what was found before still does
    return Moved(lever, high, final)


def reading_miss(case: Case, limit: str, bundle: Bundle) -> float:
    """By how much a bundle misses a limit; 0 where it meets it."""
    return max((miss(reading) for reading in misses(case, bundle) if reading.limit == limit), default=0.0)
