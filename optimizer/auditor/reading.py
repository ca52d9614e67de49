"""One limit of one bundle as read, and the audit that gathers all readings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from optimizer.bundles.bundle import Bundle
from optimizer.rules import load_figures
from optimizer.rules.comparisons import at_least, at_most
from optimizer.rules.limits import LIMITS
from optimizer.vocabulary.months import MONTHS

if TYPE_CHECKING:
    from optimizer.rules.replayed_year import Replayed

Slot = float | str  # what a limit's working is filled with
BELOW = "below the window"  # where bank-window holds the nominal voltage against the window's lower end


@dataclass(frozen=True)
class Reading:
    """One limit of one bundle: the value it has and the value it may have.

    ``value`` and ``allowed`` are the two sides of the rule, reserves included; ``raw_value`` and ``raw_allowed``
    the same with the reserves at zero. ``slots`` are the figures of the limit's working. ``where``: a tracker, a
    load, a month. ``settled``: met or not without a figure (value 1 or 0 of 1).
    """

    limit: str
    value: float
    allowed: float
    raw_value: float
    raw_allowed: float
    where: str
    slots: Mapping[str, Slot]
    settled: bool = False
    measure: str = ""

    @property
    def sense(self) -> str:
        """ "at most", "at least" or "holds"."""
        return LIMITS[self.limit].sense

    @property
    def unit(self) -> str:
        """The unit of value and allowed: the limit's, or its own where a limit compares several things."""
        return self.measure or LIMITS[self.limit].unit

    @property
    def holds(self) -> bool:
        """Whether the limit with its reserve is met."""
        return self._met(self.value, self.allowed)

    @property
    def raw_holds(self) -> bool:
        """Whether the raw rating is met."""
        return self._met(self.raw_value, self.raw_allowed)

    def _met(self, value: float, allowed: float) -> bool:
        return bool(at_most(value, allowed) if self.sense == "at most" else at_least(value, allowed))

    @property
    def room(self) -> float:
        """Room to the limit as a share of what is asked; negative where it fails; infinite where nothing is asked.

        For "at most" what the bundle asks is ``value``; for "at least" it is ``allowed``. Temperatures have no
        ratio: their room is infinite once met.
        """
        if self.settled or self.unit == "degC":
            return float("inf") if self.holds else -1.0
        asked, has = (self.value, self.allowed) if self.sense == "at most" else (self.allowed, self.value)
        if asked <= 0:
            return float("inf")
        return has / asked - 1


@dataclass(frozen=True)
class Audit:
    """All readings of one bundle, and what the bundle comes to.

    ``autonomy_days``: sunless days the bank carries (infinite where nothing is critical). ``protection_a``: A the
    bank's protection must carry for each converter; ``start_a`` the A of the worst start through the bank.
    ``refill_days``: days until an empty bank is full again, by month, infinite where never. ``charge_setting_a``: the
    charging current to set, None where it cannot be set. ``water_days``: days that the water stored lasts, None
    where nothing is stored or pumped; ``loads`` as they start through the bundle's starters.
    ``not_judged``: limits that nothing is known for, e.g. without a rack. ``months``: daily-energy month by month.
    ``short_circuit_a``: A that the bank drives into a short circuit, None where nothing tells. ``cell_c``: of the
    panels' cells in full heat; ``tracker_w``: usable W of each tracker; ``replay``: the hours of the job's weather
    file, None where it has none.
    """

    bundle: Bundle
    readings: tuple[Reading, ...]
    not_judged: tuple[str, ...]
    autonomy_days: float
    protection_a: float
    start_a: float
    charge_setting_a: float | None
    refill_days: tuple[float, ...]
    legs: Mapping[str, tuple[int, int]]
    water_days: float | None = None
    loads: tuple[load_figures.LoadFigures, ...] = ()
    months: tuple[Reading, ...] = ()
    short_circuit_a: float | None = None
    cell_c: float = 0.0
    tracker_w: tuple[float, ...] = ()
    replay: Replayed | None = None

    @property
    def slowest_refill(self) -> tuple[float, str]:
        """The days in which an empty bank is full again in the month in which it takes longest, and that month."""
        slowest = max(self.refill_days)
        return slowest, MONTHS[self.refill_days.index(slowest)]

    @property
    def passes(self) -> bool:
        """Whether every limit is met."""
        return all(reading.holds for reading in self.readings)

    def reading(self, limit: str) -> Reading:
        """The tightest reading of a limit. Raises KeyError where it was not judged."""
        mine = [reading for reading in self.readings if reading.limit == limit]
        if not mine:
            raise KeyError(limit)
        return min(mine, key=lambda reading: (reading.holds, reading.room))

    def tightest(self) -> tuple[Reading, ...]:
        """One reading a limit, the nearest edge first; failures before all."""
        names = dict.fromkeys(reading.limit for reading in self.readings)
        return tuple(sorted((self.reading(name) for name in names), key=lambda r: (r.holds, r.room)))


def yes(limit: str, held: bool, where: str = "", **slots: Slot) -> Reading:
    """A limit that is met or not, without a figure; "at most" readings carry their failure as 2 of 1."""
    value = 1.0 if held else (2.0 if LIMITS[limit].sense == "at most" else 0.0)
    return Reading(limit, value, 1.0, value, 1.0, where, slots, settled=True)
