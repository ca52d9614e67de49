"""What the hours short that a job accepts cost: the cheapest bundle at other numbers of them, each solved for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from optimizer.auditor.audit import audit
from optimizer.bundles.bundle import Bundle
from optimizer.explain.resolve import Resolver, Scenario
from optimizer.inputs.job_edit import with_key
from optimizer.weather.rows import HOURS

KEY = "replay.hours_short"


@dataclass(frozen=True)
class AtHours:
    """The cheapest bundle where so many hours short are accepted, any number for None, and the hours that it is short
    in the worst year; None where none meets that."""

    hours: int | None
    bundle: Bundle | None
    short: int | None = None


def at_other_hours(resolver: Resolver) -> Iterator[AtHours]:
    """At none, half and twice as many hours as the job accepts, and without that limit; of a job that states some."""
    base = resolver.base
    now = base.job.replay.hours_short
    if now is None or base.job.weather is None:
        return
    for hours in sorted({0, now // 2, min(2 * now, HOURS)} - {now}):
        resolver.step(f"{hours} h short accepted")
        yield _at(hours, replace(base, job=with_key(base.job, KEY, hours)), resolver)
    resolver.step("any hours short accepted")
    yield _at(None, base.left_out("hours-short"), resolver)


def _at(hours: int | None, scenario: Scenario, resolver: Resolver) -> AtHours:
    bundle = resolver.first(scenario).bundle
    replayed = None if bundle is None else audit(scenario.job, bundle, scenario.catalog).replay
    return AtHours(hours, bundle, None if replayed is None else replayed.worst.hours_short)
