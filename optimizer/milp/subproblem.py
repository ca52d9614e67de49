"""A subproblem: what a leaf of the search tree leaves open, and what it must buy."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.candidates.strings import Layout

MILLIWATTS = 1000


@dataclass(frozen=True)
class PlacedLayout:
    """A layout with what its strings take of racking: ``rows`` and ``units`` of all its strings."""

    layout: Layout
    rows: int
    units: int

    @property
    def milliwatts(self) -> int:
        """Usable power in whole mW: finer than any rating, and exact to add up."""
        return round(self.layout.usable_w * MILLIWATTS)


@dataclass(frozen=True)
class PartNeed:
    """What a model must buy of one part: ``pieces`` and ``per_layout`` more for each tracker with that layout;
    ``if_fused`` more once if any tracker's strings are fused. Real numbers; whole pieces cover them. A tank holds
    ``litres_each``: the model chooses how many."""

    part: str
    pieces: float
    per_layout: tuple[float, ...] = ()
    if_fused: float = 0.0
    litres_each: float = 0.0


@dataclass(frozen=True)
class Failing:
    """A wiring that is known to fail: on how many trackers each layout is. So does every wiring that it covers: tracker
    by tracker as many strings of the same length, or more. ``from_l``: with tanks that hold so many L together or
    more."""

    counts: tuple[int, ...]
    from_l: float = 0.0


@dataclass(frozen=True)
class Subproblem:
    """One (converter, units, battery, bank strings, panel, rack) with everything but layouts and orders fixed.

    ``need_w`` usable W at least; ``least_panels`` and ``most_panels`` in all; at most ``trackers`` layouts.
    ``usable_cap_w`` is where more usable power counts for no more. ``rack_units`` exactly, where a number is asked
    for; at least one piece of the extra ``required``; ``equal_strings`` of one length; at most ``most_sellers``; tanks
    that hold ``tanks_l`` together, at most ``most_tanks``, with the part and pieces (None: any) of ``must_tank``; none
    that a ``failing`` one covers.
    """

    asked: tuple[PartNeed, ...]
    placed: tuple[PlacedLayout, ...] = ()
    trackers: int = 0
    need_w: float = 0.0
    usable_cap_w: float = 0.0
    least_panels: float = 0.0
    most_panels: float = float("inf")
    rack_units: int | None = None
    required: str = ""
    equal_strings: bool = False
    most_sellers: int | None = None
    tanks_l: float = 0.0
    most_tanks: float = float("inf")
    must_tank: tuple[str, int | None] | None = None
    failing: tuple[Failing, ...] = ()

    @property
    def tanks(self) -> tuple[PartNeed, ...]:
        """The tanks to choose from."""
        return tuple(asked for asked in self.asked if asked.litres_each > 0)

    @property
    def cap_milliwatts(self) -> int:
        """The cap in whole mW."""
        return round(self.usable_cap_w * MILLIWATTS)
