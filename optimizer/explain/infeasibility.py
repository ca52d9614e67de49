"""Why nothing meets a job: what each limit rules out, the smallest sets that cannot hold together, and ways out.

Ways out come in the order of the trouble they are: wishes, then measures, then reserves with what they risk. Each is
the smallest change of one key that lets a bundle through, solved and audited. A safety limit is never one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf

from optimizer.auditor.reading import Reading
from optimizer.bundles.bundle import Bundle
from optimizer.candidates import banks, converters, strings
from optimizer.candidates.rows import TableRows, allowed_rows, least_heat
from optimizer.candidates.terms import Setting
from optimizer.explain.irreducible_set import IrreducibleSet, irreducible_set
from optimizer.explain.near_misses import applicable, members
from optimizer.explain.rejections import Rejection, rejections
from optimizer.explain.relaxations import (  # fmt: skip
    Lever,
    Moved,
    helped,
    key_lever,
    key_levers,
    least_step,
    measure_levers,
    reserve_levers,
    slack_lever,
)
from optimizer.explain.resolve import Resolver, Scenario, cents_of, has_figure, missed_of, misses, most_missed
from optimizer.inputs.job_edit import with_key
from optimizer.rules.limits import LIMITS, always_kept, droppable, in_order, named, narrowing
from optimizer.rules.soft_start import serves
from optimizer.vocabulary.faults import OutOfTimeError
from optimizer.vocabulary.motor_tables import motor_phases

MOST_CONFLICTS = 3
ORDER = {"wish": 0, "measure": 1, "reserve": 2}  # least trouble first


@dataclass(frozen=True)
class ConflictingLimit:
    """One limit of a conflict, and what the bundle that misses it by the least asks and has: it misses nothing but it
    where ``alone``, else nothing but it of this conflict. None where no bundle shows it. ``likewise``: others that
    leave nothing by themselves either, where it does."""

    limit: str
    reading: Reading | None
    alone: bool
    likewise: tuple[str, ...] = ()


@dataclass(frozen=True)
class ConflictSet:
    """Limits that cannot all hold, none of them needlessly where ``proven``; those that are always kept stand beside
    them. ``missing``: the kind of part that the catalogue lacks, where these limits alone rule out every one of a kind;
    "" otherwise. ``kept``: where there are none, limits of those always kept that leave nothing, as far as it is them.
    """

    stands: tuple[ConflictingLimit, ...]
    proven: bool
    missing: str
    kept: tuple[str, ...] = ()

    @property
    def limits(self) -> tuple[str, ...]:
        """The limits' names."""
        return tuple(each.limit for each in self.stands)


@dataclass(frozen=True)
class WayOut:
    """Changes of the job's keys after which a bundle meets it; several only where no single one will do."""

    changes: tuple[Moved, ...]
    bundle: Bundle

    @property
    def cents(self) -> int:
        """The total that then results."""
        return cents_of(self.bundle)

    @property
    def trouble(self) -> int:
        """How much trouble the worst of the changes is."""
        return max(ORDER[change.lever.kind] for change in self.changes)


@dataclass(frozen=True)
class Conflict:
    """What bars every bundle, and what would let one through. ``unfinished``: what the time limit cut short."""

    rejected: tuple[Rejection, ...]
    clashes: tuple[ConflictSet, ...]
    ways: tuple[WayOut, ...]
    solves: int
    unfinished: tuple[str, ...] = ()


def conflict(resolver: Resolver) -> Conflict:
    """Explain a job that no bundle meets."""
    scenario = resolver.base
    resolver.step("what each limit rules out")
    rejected = rejections(scenario.catalog, scenario.job)
    clashes: list[ConflictSet] = []
    ways: list[WayOut] = []
    unfinished = []
    try:
        clashes.extend(_clashes(resolver))  # what was found before the time limit stays
    except OutOfTimeError:
        unfinished.append("conflict")
    try:
        ways.extend(_ways(resolver, clashes))
    except OutOfTimeError:
        unfinished.append("ways out")
    else:
        if unfinished and not clashes:
            unfinished.append("ways out")  # nothing was tried: what bars every bundle is not known
    ways.sort(key=lambda way: (way.trouble, way.cents, [(c.lever.key, c.lever.text(c.step)) for c in way.changes]))
    return Conflict(rejected, tuple(clashes), tuple(ways), resolver.solves, tuple(unfinished))


def _unserved(scenario: Scenario) -> bool:
    """Whether a three-phase motor has no starter that may serve it: then there is no start plan at all."""
    setting, starters = Setting.of(scenario.job, scenario.terms), scenario.catalog.starters
    there = [starters.record(int(row)) for row in allowed_rows(starters, setting).index]
    pairs = zip(scenario.job.loads, setting.demand.loads, strict=True)
    return any(
        motor_phases(load.motor) == 3
        and not any(serves(row, load.motor, f.motor_a, f.voltage_v, load.cable_drop) for row in there)
        for load, f in pairs
    )


# what cannot hold together ----------------------------------------------------------------------------------------


def _clashes(resolver: Resolver) -> Iterator[ConflictSet]:
    """Up to three sets of limits that share none."""
    scenario = resolver.base
    among = members(scenario)
    for number in range(MOST_CONFLICTS):
        resolver.step("which limits cannot hold together" if not number else "whether others cannot either")
        rest = scenario.left_out(*(droppable() - among - always_kept()))
        if number and resolver.any(rest).bundle is not None:
            return
        found = irreducible_set(resolver, scenario, inf, frozenset(), among)
        if not found.limits:
            yield _of_kept(resolver, scenario)
            return
        yield ConflictSet(tuple(_stands(resolver, found)), found.proven, _missing(scenario, frozenset(found.limits)))
        among -= set(found.limits)


def _of_kept(resolver: Resolver, scenario: Scenario) -> ConflictSet:
    """Where what is always kept leaves nothing by itself: which of it, as far as it can be left out in thought."""
    bare = scenario.left_out(*droppable())
    if resolver.any(bare).bundle is None:
        return ConflictSet((), True, _missing(bare, frozenset()))
    kept = frozenset(applicable(scenario)) & always_kept()
    return ConflictSet((), True, "", irreducible_set(resolver, scenario, inf, frozenset(), kept).limits)


def _stands(resolver: Resolver, found: IrreducibleSet) -> Iterator[ConflictingLimit]:
    """Each limit of a conflict with the figures of the bundle that misses it by the least, and nothing else."""
    others = members(resolver.base) - set(found.limits)
    for limit in found.limits:
        resolver.step(f"how far {limit} is missed")
        scenario = resolver.base
        alone = resolver.any(scenario.left_out(limit)).bundle is not None
        if not alone:  # other sets of limits bar everything too: only this one is looked at
            scenario = scenario.left_out(*others)
        # where a limit is loosened by a figure, any bundle shows how far at the most; else the cheapest is shown
        eased = scenario.left_out(limit)
        bundle = (resolver.any(eased) if LIMITS[limit].slack else resolver.first(eased)).bundle
        likewise: tuple[str, ...] = ()
        if bundle is not None and not alone and len(found.limits) == 1:
            likewise = tuple(_likewise(resolver, bundle, others))
        reading = None if bundle is None else missed_of(scenario, limit, bundle)
        if bundle is not None and reading is not None:
            nearest = _nearest(resolver, scenario, limit, bundle, reading)
            reading = reading if nearest is None else missed_of(scenario, limit, nearest)
        yield ConflictingLimit(limit, reading, alone, likewise)


def _nearest(
    resolver: Resolver, scenario: Scenario, limit: str, bundle: Bundle, reading: Reading
) -> Bundle | None:  # fmt: skip
    """The bundle that misses a limit by the least, where a figure or a key of the job moves it; ``bundle`` misses it by
    its ``reading``. None where that one is shown."""
    if not has_figure(reading):
        return resolver.first(scenario.left_out(limit)).bundle if LIMITS[limit].slack else None
    if LIMITS[limit].slack:
        lever = slack_lever(scenario, limit, reading.unit, most_missed(scenario, limit, bundle))
        moved = least_step(resolver, lever, seen=bundle)
    elif LIMITS[limit].on_total:
        return None
    else:
        steps = (least_step(resolver, lever) for lever in key_levers(scenario, limit, bundle))
        moved = next((step for step in steps if step is not None), None)
    return None if moved is None else moved.bundle


def _likewise(resolver: Resolver, bundle: Bundle, others: frozenset[str]) -> Iterator[str]:
    """Which of the limits that a bundle fails leave nothing by themselves: all that do fail there."""
    every = members(resolver.base)
    for other in in_order(others & {reading.limit for reading in misses(resolver.base, bundle)}):
        resolver.step(f"whether {other} leaves nothing by itself")
        if resolver.any(resolver.base.left_out(*(every - {other}))).bundle is None:
            yield other


def _missing(scenario: Scenario, limits: frozenset[str]) -> str:
    """The kind of which these limits, and what is always kept, leave no part; "" where every kind has some left."""
    if not limits and _unserved(scenario):
        return "drive"
    out = scenario.terms.without | (droppable() - limits - always_kept())
    setting = Setting.of(scenario.job, replace(scenario.terms, without=out))
    catalog = scenario.catalog
    entries = converters.converter_entries(TableRows.of(catalog.converters), setting)
    if limits <= narrowing("converter") and not len(entries):
        return "converter"
    behind = [entries.entry(position) for position in range(len(entries))]
    if limits <= narrowing("bank"):
        batteries = catalog.batteries.columns
        if not any(banks.banks(batteries, each, setting).fits.any() for each in behind):
            return "battery"
    if limits <= narrowing("string", "array"):
        panels = catalog.panels.columns
        figures = strings.panel_figures(panels, setting, least_heat(TableRows.of(catalog.racks)))
        ranges = (strings.string_ranges(panels, figures, each, setting) for each in behind)
        if not any((r.shortest <= r.longest).any() for r in ranges):
            return "panel"
    return "rack" if limits and limits <= narrowing("rack") else ""


# ways out ---------------------------------------------------------------------------------------------------------


def _ways(resolver: Resolver, clashes: list[ConflictSet]) -> Iterator[WayOut]:
    """Every single change that lets a bundle through, at its smallest; several together only where none does."""
    scenario = resolver.base
    barring = [set(clash.limits) for clash in clashes if clash.limits]
    if not barring:
        return
    some = False
    for lever in _levers(scenario):
        helps = {lever.limit, *helped(lever.key)}
        if not all(helps & limits for limits in barring):
            continue  # what it leaves standing bars everything still
        resolver.step(f"whether {lever.key} would help")
        found = least_step(resolver, lever)
        if found is not None:
            some = True
            yield WayOut((found,), found.bundle)
    if all(any(LIMITS[limit].on_total for limit in limits) for limits in barring):
        found = _budget(resolver, scenario)
        if found is not None:
            some = True
            yield WayOut((found,), found.bundle)
    if not some:
        way = _together(resolver)
        if way is not None:
            yield way


def _levers(scenario: Scenario) -> Iterator[Lever]:
    """Every change of one key that may be a way out, but for the budget."""
    for limit in applicable(scenario):
        if "wish" in LIMITS[limit].kinds:
            yield from key_levers(scenario, limit)
    yield from measure_levers(scenario)
    yield from reserve_levers(scenario)


def _budget(resolver: Resolver, scenario: Scenario) -> Moved | None:
    """The least budget that lets a bundle through: what the cheapest costs."""
    resolver.step("what it costs at the least")
    cheapest = resolver.first(replace(scenario, job=with_key(scenario.job, "need.budget", None))).bundle
    if cheapest is None:
        return None
    now, then = (cents / 100 for cents in (scenario.job.need.budget_cents or 0, cents_of(cheapest)))
    (limit,) = named(lambda limit: limit.on_total)
    return Moved(key_lever(scenario, limit, "need.budget", "wish", [then], now), 1, cheapest)


# what is given up last stands first: the smallest set of changes keeps what stands last, if it can
KEYS_TOGETHER = (
    "reserve.voltage", "reserve.hot_voltage", "reserve.starting", "reserve.running", "supply.restart",
    "site.bank_coldest", "site.bank_hottest", "allow.listed_only", "need.autonomy_days", "need.array_to_load",
    "space.max_area", "space.max_panels", "need.budget",
)  # fmt: skip


def _together(resolver: Resolver) -> WayOut | None:
    """Several changes at once: as few as will do, each as small as the ones before it leave it."""
    scenario = resolver.base
    troubles = {lever.key: ORDER[lever.kind] for lever in _levers(scenario)}
    if scenario.job.need.budget_cents:
        troubles["need.budget"] = ORDER["wish"]
    chosen: list[str] = []
    for trouble in ORDER.values():
        chosen = [key for key in KEYS_TOGETHER if key in troubles and troubles[key] <= trouble]
        resolver.step("whether several changes would help together")
        if resolver.any(_loosened(scenario, chosen)).bundle is not None:
            break
    else:
        return None
    for key in tuple(chosen):
        fewer = [other for other in chosen if other != key]
        if resolver.any(_loosened(scenario, fewer)).bundle is not None:
            chosen = fewer
    changes: list[Moved] = []
    now = scenario
    for place, key in enumerate(chosen):
        rest = _loosened(now, chosen[place + 1 :])
        resolver.step(f"how far {key} must go")
        lever = _lever(rest, key)
        moved = _budget(resolver, rest) if lever is None else least_step(resolver, lever)
        if moved is None:
            return None
        changes.append(moved)
        value = moved.lever.typed(moved.step)
        now = replace(now, job=with_key(now.job, key, value))
    bundle = resolver.first(now).bundle
    return None if bundle is None else WayOut(tuple(changes), bundle)


def _lever(scenario: Scenario, key: str) -> Lever | None:
    return next((lever for lever in _levers(scenario) if lever.key == key), None)


def _loosened(scenario: Scenario, keys: Sequence[str]) -> Scenario:
    """The case with keys as far as each may go."""
    for key in keys:
        lever = _lever(scenario, key)
        scenario = (
            lever.at(lever.steps) if lever is not None else replace(scenario, job=with_key(scenario.job, key, None))
        )
    return scenario
