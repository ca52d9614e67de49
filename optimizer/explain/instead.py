"""Why not this part, or this bundle: what it breaks, or how much dearer it is and at what price it would be chosen."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from optimizer.auditor import Reading
from optimizer.bundle import Bundle
from optimizer.explain.again import Again, cents_of, misses
from optimizer.explain.binding import applicable, core
from optimizer.explain.prices import Entering, entering
from optimizer.verdict import Verdict


@dataclass(frozen=True)
class Broken:
    """One limit that a part cannot meet: ``reading`` is that of the cheapest bundle with it that misses nothing else;
    None where every bundle with it misses more."""

    limit: str
    reading: Reading | None


@dataclass(frozen=True)
class PartInstead:
    """A part that is not in the pick. ``bundle``: the cheapest that meets every limit with it, and ``enters`` the price
    at which it would be chosen; or ``broken``: limits that it cannot meet together."""

    part: str
    kind: str
    picked: bool
    bundle: Bundle | None = None
    enters: Entering | None = None
    broken: tuple[Broken, ...] = ()


@dataclass(frozen=True)
class BundleInstead:
    """A bundle that somebody names: what the auditor says, and the pick it is held against."""

    verdict: Verdict


def of_part(again: Again, picked: Bundle, kind: str, part: str) -> PartInstead:
    """Why a converter, panel, battery or rack is not in the pick."""
    if picked.models.get(kind) == part:
        return PartInstead(part, kind, True, picked)
    case = again.base.with_part(kind, part)
    again.step(f"the cheapest bundle with {part}")
    best = again.first(case).bundle
    if best is not None:
        return PartInstead(part, kind, False, best, entering(again, picked, kind, best))
    again.step(f"which limits {part} cannot meet")
    found = core(again, case, inf, frozenset(), frozenset(applicable(case)))
    broken = []
    for limit in found.limits:
        bundle = again.cheapest(case.left_out(limit)).bundle
        reading = None
        if bundle is not None:
            reading = next((r for r in misses(case, bundle) if r.limit == limit), None)
        broken.append(Broken(limit, reading))
    return PartInstead(part, kind, False, broken=tuple(broken))


def dearer(picked: Bundle, other: Bundle) -> int:
    """How many cents more than the pick another bundle costs."""
    return cents_of(other) - cents_of(picked)
