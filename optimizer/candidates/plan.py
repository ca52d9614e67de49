"""What stands beside array and bank: starters and stored water; and when one plan makes another needless."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from optimizer.inputs.job import Job
from optimizer.rules.comparisons import at_most
from optimizer.rules.demand import Demand


@dataclass(frozen=True)
class Plan:
    """A starter (part) for each load that has one, by load name, and the L that the tanks must hold together."""

    starters: tuple[tuple[str, str], ...] = ()
    tanks_l: float = 0.0

    def pieces(self, job: Job) -> Counter[str]:
        """Pieces of each starter: one for each unit of its loads."""
        of_load, units = dict(self.starters), Counter[str]()
        for load in job.loads:
            if load.name in of_load:
                units[of_load[load.name]] += load.count
        return units


DIRECT = Plan()


def covers(easier: Demand, harder: Demand) -> bool:
    """Whether whatever carries the loads of ``harder``, running and at every start, carries those of ``easier``; of the
    same loads, with the same water.

    What runs asks no more, in W, in VA and in energy of any month. Each start asks of converter and bank no more than
    some start of the other does, for no longer; and for each placing of the 120 V units one is found that asks no more
    of the heavier leg.
    """
    if not (at_most(easier.running_w, harder.running_w) and at_most(easier.running_va, harder.running_va)):
        return False
    pairs = (
        (easier.day_wh, harder.day_wh), (easier.night_wh, harder.night_wh), (easier.critical_wh, harder.critical_wh),
        (easier.unpumped_wh, harder.unpumped_wh),
    )  # fmt: skip
    if not all(at_most(mine, its).all() for mine, its in pairs):
        return False
    for case in easier.cases:
        if not any(
            at_most(case.va, other.va) and at_most(case.w, other.w) and case.seconds <= other.seconds
            for other in harder.cases
        ):
            return False
    return all(
        any(
            at_most(mine.running_va, plan.running_va)
            and all(
                any(seconds <= longer and at_most(va, more) for longer, more in plan.start_va)
                for seconds, va in mine.start_va
            )
            for mine in easier.leg_plans
        )
        for plan in harder.leg_plans
    )
