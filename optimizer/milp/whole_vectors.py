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
    found, reached = np.zeros((1, 0), dtype=np.int64), np.zeros((1, len(sums)))
    beyond = [each.beyond() for each in sums]
    for place, (few, many) in enumerate(zip(least, most, strict=True)):
        numbers = np.arange(few, many + 1)
        if len(found) * len(numbers) > enough:
            return None
        found = np.hstack([found.repeat(len(numbers), axis=0), np.tile(numbers, len(found))[:, None]])
        left = together - found.sum(axis=1)
        fits = left >= sum(least[place + 1 :])
        columns = []
        for number, each in enumerate(sums):
            column = (reached[:, number, None] + each.by_count[place][numbers]).ravel()
            with np.errstate(invalid="ignore"):  # without a bound on all of it, nothing that adds nothing helps
                more = np.nan_to_num(left * beyond[number][place + 1], nan=0.0, posinf=np.inf)
            fits &= (column <= each.high) & (column + more >= each.low)
            columns.append(column)
        found, reached = found[fits], np.array(columns).reshape(len(sums), -1).T[fits]
    return found
