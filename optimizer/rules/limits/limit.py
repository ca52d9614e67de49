"""What a limit is: every fact of one limit family as a field of its entry in the registry.

Nothing else knows a fact of a limit. Its two computing places, the auditor's reading and the candidates that it
narrows, know its name; whatever is said, loosened, offered or left out reads the fields.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, Protocol

if TYPE_CHECKING:
    from optimizer.inputs.job import Job
    from optimizer.rules.demand import Demand

LimitKind = Literal["definition", "safety", "reserve", "wish"]
Sense = Literal["at most", "at least", "holds"]
Narrows = Literal["part", "converter", "string", "array", "bank", "rack", ""]
WorkingSays = Literal["sum", "words", "lead", "asked"]
Cure = tuple[Literal["series", "parallel", "bank"], Literal[-1, 1]]

COMMON = "common practice, no source"


class Judged(Protocol):
    """What a limit may ask of a bundle to know whether it concerns it at all."""

    @property
    def demand(self) -> Demand:
        """What the loads ask through the bundle's starters."""

    @property
    def fuses(self) -> bool:
        """Whether a string has fuses or needs them."""

    @property
    def tracker_strings(self) -> float:
        """Most strings on a tracker, infinite where the converter states none."""

    @property
    def charge_settable(self) -> bool:
        """Whether the charging amps can be set."""

    @property
    def r_mohm(self) -> float:
        """The battery's inner resistance in mohm, NaN where it is not stated."""

    @property
    def lead_acid(self) -> bool:
        """Whether the bank holds acid."""

    @property
    def starts_on_cable(self) -> bool:
        """Whether a load that starts harder than it runs states its cable."""


def always(_: object) -> bool:
    """Of a limit that concerns every job, or every bundle."""
    return True


@dataclass(frozen=True, kw_only=True)
class Limit:
    """One limit family.

    What it is
        ``kinds``: a definition is never loosened; a safety limit is judged against the raw rating and never offered
        as a way out; a reserve is what lies between the raw rating and the limit; a wish is the person's to change.
        ``reserve`` names the reserve of the job that widens it. ``working`` is the rule as a line with named slots,
        each with the unit to print it in; ``formula`` the same in the names of catalogue and job. ``applies``: to a
        job; ``concerns``: a bundle, where it applies to the job.
    Where it stands in the search
        ``narrows``: the choice that it narrows (``part``: the rows of every table). ``of_starts``: it falls with the
        starts. ``essential``: left out, the choice would be without bounds or a bundle without meaning, so it is never
        left out; ``kept``: what a part is or fits, so that proofs and conflicts always keep it, as they do what is
        essential, and never count it as theirs; ``bounds_count``: left out, a number has no other bound.
        ``behind_ideal``: of a limit of banks,
        whether the most favourable converter of a class (highest efficiency, least idle draw, highest stop voltage)
        makes it no harder, so that a lower bound on the bank alone may keep it. ``on_total``: it is a limit on the
        objective. ``by_placing``: it is read for each placing of the 120 V units.
    How it is loosened
        ``slack``: by a figure in its unit, hypothetically. ``keys``: by these keys of the job, as they would be typed.
        ``helped_by``: keys of measures and reserves that help against it.
    What is said of it
        ``mend`` says what cures a bundle that fails it; ``cure``: the count that moves it, and which way it must go
        (each limit is monotone in its count). ``offer``: what another part would have to offer where a limit that is
        never loosened costs money. ``need``: what it asks of a part; None: its meaning is said, "": nothing.
        ``missed``: what is said where it is not met and has no figure. ``short``: a value above what is allowed is
        said as a part that gives too little. ``fixed``: it goes in whole steps, or holds one data sheet against
        another: neither weather, age nor load moves it, so having little room there is no edge. ``refuses_unseen``:
        its reading on the pick says little of what it refuses. ``working_says``: the working comes to the value
        ("sum"), says it in words ("words"), leads to it ("lead"), or is that of the value asked ("asked").
    """

    name: str
    meaning: str
    unit: str
    sense: Sense
    kinds: tuple[LimitKind, ...]
    source: str
    mend: str
    working: str
    formula: str
    reserve: str | None = None
    applies: Callable[[Job], bool] = always
    concerns: Callable[[Judged], bool] = always
    narrows: Narrows = ""
    of_starts: bool = False
    essential: bool = False
    kept: bool = False
    bounds_count: bool = False
    behind_ideal: bool = False
    on_total: bool = False
    by_placing: bool = False
    slack: bool = False
    keys: tuple[str, ...] = ()
    helped_by: tuple[str, ...] = ()
    cure: Cure | None = None
    offer: str = ""
    need: str | None = None
    missed: str = ""
    short: bool = False
    fixed: bool = False
    refuses_unseen: bool = False
    working_says: WorkingSays = "sum"
