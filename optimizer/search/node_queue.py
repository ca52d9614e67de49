"""What a search has still to open, and what it has found: one heap over all levels, the least bound first."""

from __future__ import annotations

import heapq
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from optimizer.search.cache import SearchCache
from optimizer.search.triples import Leaf, Wiring

CHUNK = 256  # parts looked at together: speed only
Action = Callable[[float], None]


@dataclass
class NodeQueue:
    """``cutoff``: the most cents that still matter, at first what is asked; with ``options`` bundles found, the last
    one's total. ``first``: the search ends at the first bundle. ``incumbents``: the cheapest solved nodes of each
    distinct (converter, panel, battery), with the wiring that they come from."""

    cache: SearchCache
    solver: str
    options: int
    cutoff: float
    first: bool = False
    heap: list[tuple[float, int, int, Action]] = field(default_factory=list)
    incumbents: dict[tuple[int, int, int], list[tuple[Leaf, Wiring]]] = field(default_factory=dict)
    gaps: list[float] = field(default_factory=list)
    entered: int = 0
    solved: int = 0

    def push(self, bound: float, level: int, action: Action) -> None:
        """Enter a choice; deeper levels go first among equal bounds."""
        if bound <= self.cutoff and bound < np.inf:
            self.entered += 1
            heapq.heappush(self.heap, (bound, -level, self.entered, action))

    def pop(self) -> tuple[float, Action]:
        """The choice with the least bound."""
        bound, _, _, action = heapq.heappop(self.heap)
        return bound, action

    @property
    def open(self) -> bool:
        """Whether anything is left that could matter."""
        return bool(self.heap) and self.heap[0][0] <= self.cutoff and not (self.first and self.incumbents)

    def stream(self, keys: np.ndarray, base: float, level: int, open_chunk: Callable[[int, int], None]) -> None:
        """Enter parts that stand in ascending order of ``keys``, a chunk at a time; ``base`` adds to every key."""

        def chunk(start: int) -> Action:
            def action(_: float) -> None:
                stop = min(start + CHUNK, len(keys))
                open_chunk(start, stop)
                if stop < len(keys):
                    self.push(base + keys[stop], level, chunk(stop))

            return action

        if len(keys):
            self.push(base + keys[0], level, chunk(0))

    def beaten(self, option: tuple[int, int, int], bound: float) -> bool:
        """Whether something cheaper than ``bound`` is known of a distinct combination."""
        known = self.incumbents.get(option)
        return known is not None and bound > known[0][0].cents

    def found(self, leaf: Leaf, wiring: Wiring, bound: float) -> None:
        """Note a solved node and lower the cutoff by it."""
        self.gaps.append((leaf.cents - bound) / max(leaf.cents, 1))
        if leaf.cents > self.cutoff:
            return
        known = self.incumbents.setdefault(leaf.triple.option, [])
        if not known or leaf.cents < known[0][0].cents:
            self.incumbents[leaf.triple.option] = [(leaf, wiring)]
        elif leaf.cents == known[0][0].cents:
            known.append((leaf, wiring))
        totals = sorted(leaves[0][0].cents for leaves in self.incumbents.values())
        if len(totals) >= self.options:
            self.cutoff = min(self.cutoff, float(totals[self.options - 1]))
