"""Tables of lower bounds that one search leaves to the next: one side of a bundle alone, and what hangs on prices,
panels and racks."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field

import numpy as np


@dataclass(frozen=True)
class SideBounds:
    """One side alone, the array at a grid point of usable power or the bank of a class: the rows of its panels or
    batteries in ascending order of ``key``, their cents at the least, and the least of them all by set of sellers."""

    order: np.ndarray
    key: np.ndarray
    by_set: np.ndarray

    def by_row(self, rows: int) -> np.ndarray:
        """The key of each of so many rows, infinite where it has none."""
        keys = np.full(rows, np.inf)
        keys[self.order] = self.key
        return keys


@dataclass
class Shared:
    """Tables of bounds that hang on prices, panels and racks alone: the same for every setting that leaves those be."""

    array: dict[int, SideBounds] = field(default_factory=dict)
    rack: dict[int, np.ndarray] = field(default_factory=dict)
    fixed: dict[tuple[int, int, int], np.ndarray] = field(default_factory=dict)
    array_extras: dict[tuple[int, ...], np.ndarray] = field(default_factory=dict)
    racked: dict[tuple[int, ...], np.ndarray] = field(default_factory=dict)
    apart: dict[Hashable, float] = field(default_factory=dict)
