"""What the hours short that a job accepts cost: the cheapest bundle at other numbers of them, each solved for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from optimizer.bundles.bundle import Bundle
from optimizer.explain.resolve import Resolver
from optimizer.inputs.job_edit import with_key
from optimizer.weather.rows import HOURS

KEY = "replay.hours_short"


@dataclass(frozen=True)
class AtHours:
    """The cheapest bundle where so many hours short are accepted, any number for None; None where none meets that."""

    hours: int | None
    bundle: Bundle | None


def at_other_hours(resolver: Resolver) -> Iterator[AtHours]:
    """At none, half and twice as many hours as the job accepts, and without that limit; of a job that states some."""
    base = resolver.base
    now = base.job.replay.hours_short
    if now is None or base.job.weather is None:
        return
    for hours in sorted({0, now // 2, min(2 * now, HOURS)} - {now}):
        resolver.step(f"{hours} h short accepted")
        yield AtHours(hours, resolver.first(replace(base, job=with_key(base.job, KEY, hours))).bundle)
    resolver.step("any hours short accepted")
    yield AtHours(None, resolver.first(base.left_out("hours-short")).bundle)
