"""What a store holds hour by hour: a sum that never leaves 0 and its size, s' = min(max(s + step, 0), full).

Two such steps in a row are one of the same form, min(max(s + a, low), high), so that a block of hours is one step, and
all blocks are reckoned at once: √n passes over √n hours in place of n calls. Hours are the last axis.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, sqrt

import numpy as np

from optimizer.rules.figure_types import Array

MOST_ROUNDS = 3  # in which a year that begins with what it ends with is sought


@dataclass(frozen=True)
class Blocks:
    """Hours in blocks, the last filled up with steps of 0. ``steps`` has the hours of a block as its first axis, then
    the blocks, then the further axes; ``add``, ``low`` and ``high`` are each block as one step."""

    steps: Array
    full: Array
    hours: int
    add: Array
    low: Array
    high: Array

    @classmethod
    def of(cls, step: Array, full: Array | float) -> Blocks:
        """Blocks of ``step`` (…, hours); ``full`` of the axes before the hours."""
        hours = step.shape[-1]
        size = ceil(sqrt(hours))
        count = ceil(hours / size)
        padded = np.zeros((*step.shape[:-1], count * size))
        padded[..., :hours] = step
        steps = np.ascontiguousarray(np.moveaxis(padded.reshape(*step.shape[:-1], count, size), (-1, -2), (0, 1)))
        sizes = np.broadcast_to(np.asarray(full, dtype=float), step.shape[:-1])
        add = np.zeros(steps.shape[1:])
        low, high = np.zeros_like(add), np.broadcast_to(sizes, add.shape).copy()
        for each in steps:
            add += each
            for bound in (low, high):
                bound += each
                np.maximum(bound, 0.0, out=bound)
                np.minimum(bound, sizes, out=bound)
        return cls(steps, sizes, hours, add, low, high)

    def begins(self, start: Array) -> tuple[Array, Array]:
        """What the store holds as each block begins, and at the end of all, beginning with ``start``."""
        held = np.array(np.broadcast_to(start, self.full.shape), dtype=float)
        begins = np.empty_like(self.add)
        for place in range(len(self.add)):
            begins[place] = held
            held = np.minimum(np.maximum(held + self.add[place], self.low[place]), self.high[place])
        return begins, held

    def levels(self, start: Array) -> Array:
        """What the store holds after each hour (…, hours)."""
        held = self.begins(start)[0].copy()
        found = np.empty_like(self.steps)
        for place, each in enumerate(self.steps):
            held += each
            np.maximum(held, 0.0, out=held)
            np.minimum(held, self.full, out=held)
            found[place] = held
        whole = np.moveaxis(found, (0, 1), (-1, -2)).reshape(*self.full.shape, -1)
        return whole[..., : self.hours]


def levels(step: Array, full: Array | float, start: Array | float | None = None) -> tuple[Array, Array]:
    """What a store of size ``full`` holds before and after each hour.

    Without ``start`` the hours follow themselves, beginning with what they end with: begun full, they are gone through
    until the two are equal, at most 3 times. What gains over a year or comes to a full or an empty store in it is equal
    after the first or second time; a store that loses a little all year long may not be after the third.
    """
    blocks = Blocks.of(np.asarray(step, dtype=float), full)
    if start is None:
        held = blocks.full
        for _ in range(MOST_ROUNDS):
            ended = blocks.begins(held)[1]
            if np.array_equal(ended, held):
                break
            held = ended
    else:
        held = np.asarray(start, dtype=float)
    after = blocks.levels(held)
    before = np.concatenate((np.broadcast_to(held, blocks.full.shape)[..., None], after[..., :-1]), axis=-1)
    return before, after
