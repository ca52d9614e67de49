"""What a search has still to open, and what it has found: one heap of nodes of any depth, the least bound first."""

from __future__ import annotations

import heapq
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from optimizer.search.triples import Leaf
from optimizer.search.wiring import Wiring

CHUNK = 256  # parts looked at together: speed only
Action = Callable[[float], None]


@dataclass
class NodeQueue:
    """``cutoff``: the most cents that still matter, at first what is asked; with ``options`` bundles found, the last
    one's value. ``first``: the search ends at the first bundle. ``incumbents``: the least leaves of each distinct
    (converter, panel, battery), with the wiring that they come from. ``deepest``: of the nodes that were opened.
    ``gaps``: of each leaf, how far its value is above its bound, as a share."""

    options: int
    cutoff: float
    first: bool = False
    heap: list[tuple[float, int, int, Action]] = field(default_factory=list)
    incumbents: dict[tuple[int, int, int], list[tuple[Leaf, Wiring]]] = field(default_factory=dict)
    gaps: list[float] = field(default_factory=list)
    entered: int = 0
    solved: int = 0
    deepest: int = 0

    def push(self, bound: float, depth: int, action: Action) -> None:
        """Enter a node unless its bound is above the cutoff; the deeper goes first among equal bounds."""
        if bound <= self.cutoff and bound < np.inf:
            self.entered += 1
            heapq.heappush(self.heap, (bound, -depth, self.entered, action))

    def pop(self) -> tuple[float, Action]:
        """The node with the least bound."""
        bound, depth, _, action = heapq.heappop(self.heap)
        self.deepest = max(self.deepest, -depth)
        return bound, action

    @property
    def open(self) -> bool:
        """Whether any node is left whose bound is no more than the cutoff."""
        return bool(self.heap) and self.heap[0][0] <= self.cutoff and not (self.first and self.incumbents)

    def stream(
        self, keys: np.ndarray, base: float, depth: int, open_chunk: Callable[[int, int], None], size: int | None = None
    ) -> None:  # fmt: skip
        """Enter parts that stand in ascending order of ``keys``, ``size`` at a time; ``base`` adds to every key."""

        def chunk(start: int) -> Action:
            def action(_: float) -> None:
                stop = min(start + (size or CHUNK), len(keys))
                open_chunk(start, stop)
                if stop < len(keys):
                    self.push(base + keys[stop], depth, chunk(stop))

            return action

        if len(keys):
            self.push(base + keys[0], depth, chunk(0))

    def fathoms(self, option: tuple[int, int, int], bound: float) -> bool:
        """Whether the incumbent of a distinct combination fathoms a node of this bound."""
        incumbents = self.incumbents.get(option)
        return incumbents is not None and bound > incumbents[0][0].cents

    def found(self, leaf: Leaf, wiring: Wiring, bound: float) -> None:
        """Note a leaf and lower the cutoff by it."""
        self.gaps.append((leaf.cents - bound) / max(leaf.cents, 1))
        if leaf.cents > self.cutoff:
            return
        incumbents = self.incumbents.setdefault(leaf.triple.option, [])
        if not incumbents or leaf.cents < incumbents[0][0].cents:
            self.incumbents[leaf.triple.option] = [(leaf, wiring)]
        elif leaf.cents == incumbents[0][0].cents:
            incumbents.append((leaf, wiring))
        values = sorted(leaves[0][0].cents for leaves in self.incumbents.values())
        if len(values) >= self.options:
            self.cutoff = min(self.cutoff, float(values[self.options - 1]))
