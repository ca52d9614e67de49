"""The names of the limits, which of them are in force, and how figures are compared."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

TOLERANCE = 1e-9  # relative: a limit met exactly is met
MONTHS = range(12)

LIMITS = """
    supply-match phases service tracker-count running-power running-apparent starting-surge leg-balance charger
    array-total cold-voltage panel-voltage code-voltage hot-voltage wake-voltage tracker-range tracker-current
    tracker-strings tracker-power fuse-fits bank-voltage bank-series bank-parallel bank-window
    bank-temperature bank-freeze bank-heat discharge-current starting-current bank-sag charge-limit charge-rate
    charge-floor night-energy autonomy daily-energy recovery mounting-fit allowed space stock priced listed budget
    start-volts well-yield water-reserve
""".split()  # noqa: SIM905 one name after the other reads best
# Without one of these the number of units, strings or panels has no end, or a part has no cost.
NEVER_LEFT_OUT = {"service", "tracker-range", "tracker-power", "bank-voltage", "bank-parallel", "priced"}
DROPPABLE = tuple(name for name in LIMITS if name not in NEVER_LEFT_OUT)
# The limits that may be loosened by an absolute amount, and the unit of that amount.
SLACK_UNITS = {
    "running-power": "W",
    "running-apparent": "VA",
    "starting-surge": "VA",
    "leg-balance": "VA",
    "charger": "Wh",
    "array-total": "W",
    "cold-voltage": "V",
    "panel-voltage": "V",
    "code-voltage": "V",
    "hot-voltage": "V",
    "wake-voltage": "V",
    "tracker-current": "A",
    "tracker-strings": "strings",
    "fuse-fits": "A",
    "bank-series": "batteries",
    "bank-parallel": "strings",
    "bank-window": "V",
    "bank-temperature": "degC",
    "bank-freeze": "degC",
    "bank-heat": "degC",
    "discharge-current": "A",
    "starting-current": "A",
    "bank-sag": "V",
    "charge-limit": "A",
    "charge-rate": "Wh",
    "charge-floor": "A",
    "night-energy": "Wh",
    "autonomy": "d",
    "stock": "pieces",
    "water-reserve": "d",
}


def at_most(value: float, allowed: float) -> bool:
    return value <= allowed or value - allowed <= TOLERANCE * max(abs(value), abs(allowed))


def rounded_up(value: float) -> int:
    """The least whole number not below `value`, a whole number reached but for rounding being reached."""
    return math.ceil(value - TOLERANCE * abs(value))


@dataclass(frozen=True)
class Limits:
    """Which limits are in force, and by how much each is loosened (in the unit of SLACK_UNITS)."""

    without: frozenset[str] = frozenset()
    slack: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        wrong = self.without - set(DROPPABLE)
        if wrong:
            raise ValueError(f"cannot be left out: {sorted(wrong)}")
        if not self.slack.keys() <= SLACK_UNITS.keys():
            raise ValueError(f"cannot be loosened: {sorted(self.slack.keys() - SLACK_UNITS.keys())}")
        for name, slack in self.slack.items():
            if not slack >= 0:
                raise ValueError(f"{name} cannot be loosened by {slack}: expected 0 or more")
        if math.isinf(self.more("bank-parallel")):
            raise ValueError("bank-parallel loosened without end: the bank strings would have none")

    def on(self, name: str) -> bool:
        return name not in self.without

    def more(self, name: str) -> float:
        """By how much the limit is loosened; 0 where it is not."""
        return self.slack.get(name, 0.0)

    def keeps(self, name: str, value: float, allowed: float) -> bool:
        """`value` is at most `allowed` and the slack of the limit, or the limit is left out.

        A limit that asks for a least figure gives what it asks as `value` and what there is as `allowed`: that
        `asked - slack` is reached says the same.
        """
        return name in self.without or at_most(value, allowed + self.more(name))
