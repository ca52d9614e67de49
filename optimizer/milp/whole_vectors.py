"""Every vector of whole numbers within bounds on sums over it, as long as they are not too many."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class BoundedSum:
    """A sum over a vector that must be from ``low`` to ``high``: what each place adds is in ``by_count``, by its number
    from 0 up, and is never negative."""

    by_count: Sequence[np.ndarray]
    low: float = 0.0
    high: float = np.inf

    def beyond(self) -> list[float]:
        """The most that the places from each on add for each one of their numbers."""
        most = [0.0]
        for values in reversed(self.by_count):
            most.append(max(most[-1], float((values[1:] / np.arange(1, len(values))).max(initial=0.0))))
        return most[::-1]


def linear(weights: Sequence[float], most: Sequence[int], low: float = 0.0, high: float = np.inf) -> BoundedSum:
    """The sum to which each place adds its number times a weight, where numbers go up to ``most``."""
    return BoundedSum([each * np.arange(few + 1) for each, few in zip(weights, most, strict=True)], low, high)


def vectors(
    least: Sequence[int], most: Sequence[int], together: float, sums: Sequence[BoundedSum], enough: int
) -> np.ndarray | None:
    """Every vector from ``least`` to ``most`` whose numbers come to no more than ``together``, within the bounds of the
    sums, (vectors, places); None where that means to look at more than ``enough`` together.

    Place after place: what is over a bound already, or could not reach one by whatever comes after, ends there.
    """
    found, reached = np.zeros((1, 0), dtype=np.int64), [np.zeros(1) for _ in sums]
    beyond = [each.beyond() for each in sums]
    for place, (few, many) in enumerate(zip(least, most, strict=True)):
        numbers = np.arange(few, many + 1)
        if len(found) * len(numbers) > enough:
            return None
        found = np.hstack([found.repeat(len(numbers), axis=0), np.tile(numbers, len(found))[:, None]])
        left = together - found.sum(axis=1)
        fits = left >= sum(least[place + 1 :])
        for number, each in enumerate(sums):
            reached[number] = (reached[number][:, None] + each.by_count[place][numbers]).ravel()
            each_more = beyond[number][place + 1]
            more = np.zeros(len(left))  # none left adds nothing, not even where a number is out of reach (infinite)
            if each_more:
                np.multiply(left, each_more, out=more, where=left > 0)
            fits &= (reached[number] <= each.high) & (reached[number] + more >= each.low)
        found, reached = found[fits], [column[fits] for column in reached]
    return found
