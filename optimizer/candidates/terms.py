"""What a search is asked: the job with its demand, a plan, and terms beyond the job.

The other modules of this package narrow the catalogue by it. They call the rule functions that the auditor calls, on
arrays of parts instead of one part. ``without`` names limits that are left out hypothetically; the choice itself never
leaves one out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from optimizer.candidates.plan import DIRECT, Plan
from optimizer.inputs.job import Job
from optimizer.rules import demand as demand_rules
from optimizer.rules.limits import droppable, named


@dataclass(frozen=True)
class SearchTerms:
    """What a search is asked beyond the job.

    ``without`` and ``slack`` are hypothetical: limits left out, and limits loosened by so much of their own unit.
    ``must`` names one part a kind that the bundle has, with the exact number of pieces or None for any; ``never``
    parts that it has not. ``equal_strings``: all strings as long as each other; ``most_sellers`` to buy from.
    """

    without: frozenset[str] = frozenset()
    slack: Mapping[str, float] = field(default_factory=dict)
    must: Mapping[str, tuple[str, int | None]] = field(default_factory=dict)
    never: frozenset[str] = frozenset()
    equal_strings: bool = False
    most_sellers: int | None = None


PLAIN = SearchTerms()


@dataclass(frozen=True)
class Setting:
    """A job, its demand under a plan, and the terms of a search: what every eligibility function needs to know.
    ``more_strings``: bank strings beyond the least that every other limit allows."""

    job: Job
    demand: demand_rules.Demand
    terms: SearchTerms = PLAIN
    plan: Plan = DIRECT
    more_strings: int = 0

    @classmethod
    def of(cls, job: Job, terms: SearchTerms = PLAIN) -> Setting:
        """Work out the demand without starters and tanks. Raises ValueError where a limit cannot be left out or
        loosened."""
        wrong = terms.without - droppable()
        if wrong:
            raise ValueError(f"cannot be left out: {', '.join(sorted(wrong))}")
        if stiff := set(terms.slack) - named(lambda limit: limit.slack):
            raise ValueError(f"cannot be loosened by a figure: {', '.join(sorted(stiff))}")
        return cls(job, demand_rules.demand(job), terms)

    def keeps(self, limit: str) -> bool:
        """Whether the limit is in force."""
        return limit not in self.terms.without

    def slack(self, limit: str) -> float:
        """How much more than allowed, in the limit's unit, may be hypothetically."""
        return self.terms.slack.get(limit, 0.0)

    def count_of(self, kind: str) -> int | None:
        """The exact pieces of a kind that are asked for, if they are."""
        return self.terms.must.get(kind, ("", None))[1]

    @property
    def judges_hours(self) -> bool:
        """Whether the hours of the job's weather file decide."""
        stated = self.job.weather is not None and self.job.replay.hours_short is not None
        return stated and self.keeps("hours-short")

    @property
    def array_to_load(self) -> float | None:
        """The ratio the job states, if it does."""
        return self.job.need.array_to_load
