"""What an explanation says of limits, against an independent brute force: which of them bind and what each costs, the
least changes that pay, the smallest proof, and the near misses.

The brute force (tests/brute) reads the files itself and shares no code with the product. A key of the job is typed
into its file for it; a limit loosened in thought is loosened there by the same amount.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from typing import Any

from optimizer.auditor.audit import audit
from optimizer.auditor.reading import Reading
from optimizer.explain.binding_limits import Cost, costs
from optimizer.explain.irreducible_set import IrreducibleSet, proof
from optimizer.explain.near_misses import ENOUGH, LINES, NearMiss, applicable, near_misses
from optimizer.explain.resolve import cents_of
from tests.brute.limits import DROPPABLE, SLACK_UNITS
from tests.seeds import by_seeds
from tests.why_helpers import Instance, instances

BY_SEEDS = by_seeds(range(335), 25)  # 205 of them have a bundle
PROOFS = range(100)  # with most limits left out the brute force takes long
NEAR = range(60)
# what a part is or fits: proofs and conflicts keep it and are not made of it
ALWAYS_KEPT = [
    "supply-match",
    "phases",
    "service",
    "tracker-count",
    "tracker-strings",
    "tracker-power",
    "tracker-range",
    "bank-voltage",
    "bank-series",
    "bank-parallel",
    "priced",
]
SMALL = 3  # limits of a proof of which every subset is tried
# limits that the brute force could leave out and the explanation never does, and the other way round
KEPT, LEFT = {"tracker-count"}, {"bank-parallel"}
# limits that a job loosens by its keys alone: no figure of theirs moves
KEYED = {"autonomy", "bank-temperature", "bank-freeze", "bank-heat"}


def checked(limits: list[str]) -> list[str]:
    """The limits that may bind; the brute force can leave out each (`Instance.below` says how two of them)."""
    assert set(limits) <= set(DROPPABLE) - KEPT | LEFT
    return [limit for limit in limits if limit != "budget"]  # what is cheaper is within it too


@BY_SEEDS
def test_limits(tmp_path: Path, seeds: range) -> None:
    """Everything said of limits, in the order in which an explanation asks for it."""
    wrong: list[Any] = []
    for one in instances(tmp_path, seeds):
        if one.seed in NEAR:
            near = near_misses(one.resolver, one.picked)
            wrong += [(one.seed, "near miss", *each) for each in wrong_near(one, near)]
        paying = costs(one.resolver, one.picked)
        wrong += [(one.seed, "cost", *each) for each in wrong_costs(one, paying)]
        wrong += [(one.seed, "move", *each) for each in wrong_moves(one, paying)]
        wrong += [(one.seed, "missing move", *each) for each in missing_moves(one, paying)]
        if one.seed in PROOFS:
            core = proof(one.resolver, one.picked, paying)
            wrong += [(one.seed, "proof", *each) for each in wrong_proof(one, core)]
    assert not wrong


def wrong_costs(one: Instance, paying: tuple[Cost, ...]) -> Iterator[tuple[Any, ...]]:
    """Those limits are reported without which something is cheaper, with the least totals, the dearest first."""
    limits = checked(applicable(one.resolver.base))
    least = one.alone(limits)
    found = {cost.limit: cents_of(cost.dropped) for cost in paying}
    for limit in limits:
        if found.get(limit, float("inf")) != least[limit]:
            yield limit, "without it", least[limit], "reported", found.get(limit)
    if list(found.items()) != sorted(found.items(), key=lambda item: (item[1], item[0])):
        yield "order", found


def wrong_moves(one: Instance, paying: tuple[Cost, ...]) -> Iterator[tuple[Any, ...]]:
    """At each reported step the least total is as reported and below the optimum; one step before nothing is."""
    for cost in paying:
        for move in cost.moves:
            lever = move.lever

            def at(step: int, cost: Cost = cost, lever: Any = lever) -> float:
                if lever.key:
                    return one.below(job=one.retyped((lever.key, lever.typed(step))))
                return one.below(slack={cost.limit: lever.value(step)})

            here, before = at(move.step), at(move.step - 1)
            if here != cents_of(move.bundle):
                yield cost.limit, lever.key, lever.text(move.step), here, "reported", cents_of(move.bundle)
            if before < one.optimum:
                yield cost.limit, lever.key, lever.text(move.step), "and before", lever.text(move.step - 1), before


def missing_moves(one: Instance, paying: tuple[Cost, ...]) -> Iterator[tuple[Any, ...]]:
    """Of a limit that binds every change that pays at its farthest is reported, and no other: of a key, of one thing
    more that is allowed, of the limit's own figure."""

    def pays(change: tuple[str, Any]) -> bool:
        return one.below(job=one.retyped(change)) < one.optimum

    for cost in paying:
        reported = [(move.lever.key, move.lever.typed(move.step)) for move in cost.moves]
        if cost.limit == "allowed":
            paid = [change for change in single_choices(one) if pays(change)]
        else:
            paid = [change for change in far_ends(one, cost.limit) if pays(change)]
            if cost.limit in SLACK_UNITS.keys() - KEYED and not cost.asked.settled:
                paid.append(("", None))
            reported, paid = ([(key, ...) for key, _ in side] for side in (reported, paid))
        if sorted(map(repr, paid)) != sorted(map(repr, reported)):
            yield cost.limit, paid, "pay, reported", reported


def far_ends(one: Instance, limit: str) -> Iterator[tuple[str, Any]]:
    """The keys of the job's file that loosen a limit, each as loose as it can be typed."""
    if limit == "autonomy":
        yield "need.autonomy_days", 0.0
        loads = one.asked.loads if len(one.asked.loads) > 1 else []
        yield from ((f"load.{load.name}.critical", False) for load in loads if load.critical)
    elif limit == "daily-energy":
        yield "need.array_to_load", 1.0
    elif limit == "space":
        stated = one.tables["space"]
        if "max_panels" in stated:
            yield "space.max_panels", 10**6
        if "max_area" in stated:
            yield "space.max_area", "1000000 m^2"
    elif limit == "listed":
        yield "allow.listed_only", False
    elif limit in ("bank-temperature", "bank-freeze"):
        yield "site.bank_coldest", "25 degC"
    elif limit == "bank-heat":
        yield "site.bank_hottest", "25 degC"


def single_choices(one: Instance) -> Iterator[tuple[str, Any]]:
    """Every change of the job's file that allows one thing more."""
    allow, space, parts = one.tables.get("allow", {}), one.tables.get("space", {}), one.parts
    barred = allow.get("exclude", [])
    yield from (("allow.exclude", [part for part in barred if part != free] or None) for free in barred)
    for key, named, there in (
        ("allow.chemistries", allow.get("chemistries"), {row.chemistry for row in parts.batteries}),
        ("space.mounts", space.get("mounts"), {row.mount for row in parts.racks}),
        ("allow.sellers", allow.get("sellers"), {offer.seller for offer in parts.offers}),
    ):
        if named is not None:
            yield from ((key, [*named, other]) for other in sorted(there - set(named)))


def wrong_proof(one: Instance, core: IrreducibleSet) -> Iterator[tuple[Any, ...]]:
    """The limits of the proof, with those that are always kept, leave nothing below the optimum, and no fewer do."""
    limits = [limit for limit in checked(applicable(one.resolver.base)) if limit not in ALWAYS_KEPT]

    def below(kept: tuple[str, ...]) -> float:
        return one.below("budget", *(limit for limit in limits if limit not in kept))

    if not set(core.limits) <= set(limits) or not core.proven:
        yield core.limits, "of", limits
    if below(core.limits) < one.optimum:
        yield core.limits, "do not prove it", below(core.limits)
    smallest = 0 if len(core.limits) <= SMALL else len(core.limits) - 1
    for size in range(smallest, len(core.limits)):
        for fewer in combinations(core.limits, size):
            if below(fewer) >= one.optimum:
                yield core.limits, "where fewer do", fewer


def wrong_near(one: Instance, near: tuple[NearMiss, ...]) -> Iterator[tuple[Any, ...]]:
    """Each near miss is cheaper, fails one limit alone, and exists without it; those that miss by the least first."""
    least = one.alone(checked(applicable(one.resolver.base)))
    bound = {limit for limit in least if least[limit] < one.optimum}
    named = [each.reading.limit for each in near]
    if len(set(named)) != len(named) or not set(named) <= bound:
        yield named, "of", bound
    if not min(len(bound), ENOUGH) <= len(named) <= LINES:
        yield len(named), "of", len(bound)
    for each in near:
        bundle = each.bundle
        failing = {reading.limit for reading in audit(one.job, bundle, one.catalog).readings if not reading.holds}
        if failing != {each.reading.limit} or each.reading.holds:
            yield each.reading.limit, "named, and it fails", failing
        pieces = {
            bundle.models["converter"]: bundle.units, bundle.models["panel"]: bundle.panels,
            bundle.models["battery"]: bundle.batteries, bundle.models["rack"]: bundle.rack_units,
        }  # fmt: skip
        if not one.below(each.reading.limit, must=pieces) <= each.cents < one.optimum:
            yield each.reading.limit, each.cents, "not below", one.optimum, "or cannot be had"
    ranks = [(share_missed(each.reading), each.cents, each.reading.limit) for each in near]
    if ranks != sorted(ranks):
        yield "order", ranks


def share_missed(reading: Reading) -> float:
    """How much of what is asked is missing; a limit without a figure is missed in full."""
    if reading.settled:
        return float("inf")
    asked, had = (
        (reading.value, reading.allowed) if reading.sense == "at most" else (reading.allowed, reading.value)
    )  # fmt: skip
    return (asked - had) / abs(asked) if asked else float("inf")
