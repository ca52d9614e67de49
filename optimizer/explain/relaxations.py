"""What can be moved, step by step: a limit in its own unit, or a key of the job as a person would type it.

A lever only ever gives way: what does at one step does at every further one. So the least step that does is found by
halving, and by solving at the step that a found bundle needs and at the one before it.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor, inf
from typing import Any

from optimizer.bundles.bundle import Bundle
from optimizer.explain.resolve import Outcome, Resolver, Scenario, first_where, misses
from optimizer.inputs.job import Job
from optimizer.inputs.job_edit import key_of, with_key
from optimizer.inputs.job_schema import written as as_written
from optimizer.rules import energy, mounting
from optimizer.vocabulary.units import UNITS, to_unit

# the least step of a figure in each unit: as fine as it is printed
STEP = {"V": 0.1, "A": 0.1, "d": 0.01, "degC": 0.1}
WHOLE = 1.0  # of any other unit
DAY_STEP, LONG_DAYS = 0.1, 60.0  # of recover_days: how it is typed, and how far it may be let go
NOT_STATED = "not stated"
RATIO_STEP = 0.01  # of array_to_load and of reserves
AREA_STEP = 0.1  # of the person's unit of area
MOST_PANELS = 1000  # where nothing is known of the bundle that would do
MOST_TANKS = 100  # likewise
WARM_C = 25.0  # no bank asks for a warmer place: capacity is rated there
# the limit that each reserve is first met in
RESERVES = {"running": "running-power", "starting": "starting-surge", "voltage": "cold-voltage",
            "hot_voltage": "hot-voltage"}  # fmt: skip


@dataclass(frozen=True)
class Lever:
    """Something that can be moved from 0 to ``steps``. ``at`` is the case at a step, ``text`` the value there as a
    person writes it.

    ``limit`` is what gives way. ``key`` is the dotted key of the job that is changed, and ``typed`` its value as it
    stands in the file; where it is "" the limit gives way in thought only, by ``value`` of its unit.
    """

    limit: str
    key: str
    kind: str
    steps: int
    at: Callable[[int], Scenario]
    text: Callable[[int], str]
    value: Callable[[int], float | None] = lambda _: None
    typed: Callable[[int], Any] = lambda _: None


@dataclass(frozen=True)
class Moved:
    """The least step of a lever at which a bundle of at most so many cents exists, and the cheapest there.

    One step less was solved too, and had none.
    """

    lever: Lever
    step: int
    bundle: Bundle


def slack_lever(scenario: Scenario, limit: str, unit: str, most: float) -> Lever:
    """A limit loosened in thought by up to ``most`` of its unit."""
    size = STEP.get(unit, WHOLE)

    def amount(step: int) -> float:
        return round(step * size, 6)

    return Lever(
        limit, "", "part", max(1, ceil(most / size - 1e-6)), lambda step: scenario.loosened(limit, amount(step)),
        lambda step: f"{amount(step):g}", amount,
    )  # fmt: skip


def needed(lever: Lever, bundle: Bundle, most: int) -> int:
    """The least step, up to ``most`` where it does, at which a bundle meets every limit."""
    return first_where(-1, most, lambda step: not misses(lever.at(step), bundle))


def least_step(
    resolver: Resolver, lever: Lever, below: float = inf, known: Outcome | None = None, seen: Bundle | None = None
) -> Moved | None:
    """The least step at which a bundle of at most ``below`` cents exists; None where no step does.

    ``known`` found nothing where the lever stands at 0; ``seen`` is a bundle that does at its last step.
    """
    solve = resolver.cheapest if below < inf else resolver.any
    bundle = seen or solve(lever.at(lever.steps), below, known).bundle
    if bundle is None:
        return None
    low, high = 0, max(1, needed(lever, bundle, lever.steps))
    while high - low > 1:
        middle = (low + high) // 2
        outcome = solve(lever.at(middle), below, known)
        if outcome.bundle is None:
            low, known = middle, outcome
        else:
            high = min(middle, max(1, needed(lever, outcome.bundle, middle)))
    final = resolver.first(lever.at(high), below, known).bundle
    assert final is not None  # what was found before still does
    return Moved(lever, high, final)


# keys of the job ---------------------------------------------------------------------------------------------------


def key_lever(scenario: Scenario, limit: str, key: str, kind: str, values: Sequence[Any], start: Any = None) -> Lever:
    """A key of the job that is typed anew: ``values`` one after the other as they stand in a file, ``start`` now.

    Values must give way more and more. Raises ValueError where one is not allowed there.
    """
    jobs: dict[int, Job] = {}

    def at(step: int) -> Scenario:
        if step not in jobs:
            jobs[step] = scenario.job if step == 0 else with_key(scenario.job, key, values[step - 1])
        return replace(scenario, job=jobs[step])

    def text(step: int) -> str:
        value = start if step == 0 else values[step - 1]
        if (factor := getattr(value, "factor", None)) is not None:
            return f"x {factor:g}"
        if value is None:
            return "taken out"
        if isinstance(value, list) and all(isinstance(each, str) for each in value):
            return f"[{', '.join(json.dumps(each, ensure_ascii=False) for each in value)}]"  # as TOML has it too
        return value if isinstance(value, str) else as_written(value)

    def typed(step: int) -> Any:
        if step:
            return values[step - 1]
        return None if start == NOT_STATED else start  # a key that is not there is typed by leaving it out

    return Lever(limit, key, kind, len(values), at, text, typed=typed)


def falling(start: float, end: float, step: float) -> list[float]:
    """From just below ``start`` down to ``end``, whole steps only."""
    first = ceil(round(start / step, 6)) - 1
    return [round(n * step, 6) for n in range(first, ceil(round(end / step, 6)) - 1, -1)]


def rising(start: float, end: float, step: float) -> list[float]:
    """From just above ``start`` up to ``end``, whole steps only."""
    first = floor(round(start / step, 6)) + 1
    return [round(n * step, 6) for n in range(first, floor(round(end / step, 6)) + 1)]


def wish_levers(scenario: Scenario, limit: str, bundle: Bundle | None = None) -> list[Lever]:
    """The keys of the job that loosen a wish. ``bundle`` meets every other limit: how far they may have to go."""
    job, levers = scenario.job, []

    def add(key: str, values: Sequence[Any], start: Any) -> None:
        if values:
            levers.append(key_lever(scenario, limit, key, "wish", values, start))

    if limit == "autonomy":
        days = job.need.autonomy_days
        add("need.autonomy_days", falling(days, 0.0, STEP["d"]), days)
        for load in job.loads:
            if load.critical and len(job.loads) > 1:
                add(f"load.{load.name}.critical", [False], True)
    elif limit == "recovery" and job.need.recover_days is not None:
        days = job.need.recover_days
        add("need.recover_days", rising(days, max(LONG_DAYS, 2 * days), DAY_STEP), days)
    elif limit == "water-reserve":
        days = job.water.reserve_days
        add("water.reserve_days", falling(days, 0.0, DAY_STEP), days)
    elif limit == "daily-energy":
        ratio = job.need.array_to_load
        # where it is not stated its default hangs on the chemistry: typed, one figure holds for all
        largest = energy.ARRAY_TO_LOAD_LEAD_ACID if ratio is None else ratio
        add("need.array_to_load", falling(largest, 1.0, RATIO_STEP), NOT_STATED if ratio is None else ratio)
    elif limit == "space":
        room, tanks = job.space, job.water.max_tanks
        panels = bundle.panels if bundle is not None else MOST_PANELS
        if tanks is not None:
            most = sum(bundle.tanks.values()) if bundle is not None else MOST_TANKS
            add("water.max_tanks", list(range(tanks + 1, most + 1)), tanks)
        if room.max_panels is not None:
            add("space.max_panels", list(range(room.max_panels + 1, panels + 1)), room.max_panels)
        if room.max_area_m2 is not None:
            unit = written_unit(job, "space.max_area")
            now = to_unit(room.max_area_m2, unit)
            each = (
                mounting.panel_area(bundle.panel["length_mm"], bundle.panel["width_mm"]) if bundle is not None else 3.0
            )
            values = rising(now, to_unit(panels * each, unit) + 1.0, AREA_STEP)
            add("space.max_area", [f"{value:g} {unit}" for value in values], f"{now:g} {unit}")
    elif limit == "listed":
        add("allow.listed_only", [False], True)
    elif limit == "allowed":
        for key, named, others in allowances(scenario):
            for other in others:
                add(key, [other], list(named))
    return levers


def allowances(scenario: Scenario) -> Iterator[tuple[str, tuple[str, ...], list[Any]]]:
    """(key, its value now, values that each allow one thing more) of what the job allows."""
    job, catalog = scenario.job, scenario.catalog
    if job.allow.exclude:
        shut = job.allow.exclude
        yield "allow.exclude", shut, [[p for p in shut if p != part] or None for part in shut]
    every = {
        "allow.chemistries": (job.allow.chemistries, catalog.batteries["chemistry"]),
        "space.mounts": (job.space.mounts, catalog.racks["mount"]),
        "allow.sellers": (job.allow.sellers, catalog.offers.seller),
    }
    for key, (now, there) in every.items():
        if now is not None:
            yield key, now, [[*now, other] for other in sorted(set(map(str, there)) - set(now))]


def measure_levers(scenario: Scenario) -> list[Lever]:
    """Measures: to house the bank, to restart one at a time, to wire a load to the other leg."""
    job, levers = scenario.job, []
    unit = written_unit(job, "site.bank_coldest", written_unit(job, "site.coldest"))
    now = to_unit(job.site.bank_coldest_c, unit)
    warm = rising(now, to_unit(WARM_C, unit), 1.0)
    if warm:
        levers.append(
            key_lever(scenario, "bank-temperature", "site.bank_coldest", "measure", [f"{v:g} {unit}" for v in warm],
                      f"{now:g} {unit}")
        )  # fmt: skip
    if job.supply.restart == "together":
        levers.append(key_lever(scenario, "starting-surge", "supply.restart", "measure", ["staggered"], "together"))
    levers += [
        key_lever(scenario, "leg-balance", f"load.{load.name}.leg", "measure", [3 - load.leg], load.leg)
        for load in job.loads
        if load.leg is not None
    ]
    return levers


def reserve_levers(scenario: Scenario) -> list[Lever]:
    """Reserves that a way out may name: down to none, never below the bare ratings."""
    return [
        key_lever(scenario, limit, f"reserve.{name}", "reserve", falling(now, 0.0, RATIO_STEP), now)
        for name, limit in RESERVES.items()
        if (now := getattr(scenario.job.reserve, name)) > 0
    ]


def written_unit(job: Job, key: str, default: str = "") -> str:
    """The unit in which a person wrote a key; ``default``, or the key's first unit, where it is not stated."""
    return job.unit_of(key) or default or next(iter(UNITS[key_of(job, key).unit]))
