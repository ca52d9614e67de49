"""The names of the limits, which of them are in force, and how figures are compared."""

from __future__ import annotations

import math
from dataclasses import dataclass

TOLERANCE = 1e-9  # relative: a limit met exactly is met
MONTHS = range(12)

LIMITS = """
    supply-match service tracker-count running-power running-apparent starting-surge leg-balance charger
    array-total cold-voltage panel-voltage code-voltage hot-voltage wake-voltage tracker-range tracker-current
    tracker-strings tracker-power fuse-fits bank-voltage bank-series bank-parallel bank-window
    bank-temperature discharge-current starting-current bank-sag charge-limit charge-rate charge-floor
    night-energy autonomy daily-energy mounting-fit allowed space stock priced listed budget
""".split()  # noqa: SIM905 one name after the other reads best
# Without one of these the number of units, strings or panels has no end, or a part has no cost.
NEVER_LEFT_OUT = {"service", "tracker-range", "tracker-power", "bank-voltage", "bank-parallel", "priced"}
DROPPABLE = tuple(name for name in LIMITS if name not in NEVER_LEFT_OUT)


def at_most(value: float, allowed: float) -> bool:
    return value <= allowed or value - allowed <= TOLERANCE * max(abs(value), abs(allowed))


def rounded_up(value: float) -> int:
    """The least whole number not below `value`, a whole number reached but for rounding being reached."""
    return math.ceil(value - TOLERANCE * abs(value))


@dataclass(frozen=True)
class Limits:
    """Which limits are in force."""

    without: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        wrong = self.without - set(DROPPABLE)
        if wrong:
            raise ValueError(f"cannot be left out: {sorted(wrong)}")

    def on(self, name: str) -> bool:
        return name not in self.without

    def keeps(self, name: str, value: float, allowed: float) -> bool:
        """`value` is at most `allowed`, or the limit is left out."""
        return name in self.without or at_most(value, allowed)
