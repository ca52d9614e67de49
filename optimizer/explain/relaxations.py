"""What can be moved, step by step: a limit in its own unit, or a key of the job as a person would type it.

A lever only ever gives way: what does at one step does at every further one. So the least step that does is found by
halving, and by solving at the step that a found bundle needs and at the one before it.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor, inf

from optimizer.bundles.bundle import Bundle
from optimizer.explain.resolve import Outcome, Resolver, Scenario, first_where, misses
from optimizer.inputs.job import Job
from optimizer.inputs.job_edit import KeyValue, key_of, with_key
from optimizer.inputs.job_values import written as as_written
from optimizer.rules import energy, mounting
from optimizer.rules.limits import LIMITS, of_reserve
from optimizer.vocabulary.units import UNITS, to_unit

# the least step of a figure in each unit: as fine as it is printed
STEP = {"V": 0.1, "A": 0.1, "d": 0.01, "degC": 0.1}
WHOLE = 1.0  # of any other unit
DAY_STEP, LONG_DAYS = 0.1, 60.0  # of recover_days: how it is typed, and how far it may be let go
YEAR_H = 8760  # of hours_short
NOT_STATED = "not stated"
RATIO_STEP = 0.01  # of array_to_load and of reserves
AREA_STEP = 0.1  # of the person's unit of area
MOST_PANELS = 1000  # where nothing is known of the bundle that would do
MOST_TANKS = 100  # likewise
WARM_C = 25.0  # no bank asks for a warmer place: capacity is rated there
RESERVES = ("running", "starting", "voltage", "hot_voltage")  # that a way out may name: the code's own never go


@dataclass(frozen=True)
class Lever:
    """Something that can be moved from 0 to ``steps``. ``at`` is the case at a step, ``text`` the value there as a
    person writes it.

    ``limit`` is what gives way. ``key`` is the dotted key of the job that is changed, and ``typed`` its value as it
    stands in the file; where it is "" the limit gives way only hypothetically, by ``value`` of its unit.
    """

    limit: str
    key: str
    kind: str
    steps: int
    at: Callable[[int], Scenario]
    text: Callable[[int], str]
    value: Callable[[int], float | None] = lambda _: None
    typed: Callable[[int], KeyValue] = lambda _: None


@dataclass(frozen=True)
class Moved:
    """The least step of a lever at which a bundle of at most so many cents exists, and the cheapest there.

    One step less was solved too, and had none.
    """

    lever: Lever
    step: int
    bundle: Bundle


def slack_lever(scenario: Scenario, limit: str, unit: str, most: float) -> Lever:
    """A limit loosened hypothetically by up to ``most`` of its unit."""
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


def key_lever(
    scenario: Scenario, limit: str, key: str, kind: str, values: Sequence[KeyValue], start: KeyValue = None
) -> Lever:
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

    def typed(step: int) -> KeyValue:
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


KeyValues = tuple[str, Sequence[KeyValue], KeyValue]  # a key, the values to type one after the other, its value now


def key_levers(scenario: Scenario, limit: str, bundle: Bundle | None = None) -> list[Lever]:
    """The keys of the job that loosen a limit, as the registry lists them. ``bundle`` meets every other limit: how far
    they may have to go."""
    return [
        key_lever(scenario, limit, key, MEASURES.get(name, "wish"), values, start)
        for name in LIMITS[limit].keys
        if name in VALUES
        for key, values, start in VALUES[name](scenario, bundle)
        if values
    ]


def _autonomy_days(scenario: Scenario, _: Bundle | None) -> Iterator[KeyValues]:
    days = scenario.job.need.autonomy_days
    yield "need.autonomy_days", falling(days, 0.0, STEP["d"]), days


def _critical(scenario: Scenario, _: Bundle | None) -> Iterator[KeyValues]:
    for load in scenario.job.loads:
        if load.critical and len(scenario.job.loads) > 1:
            yield f"load.{load.name}.critical", [False], True


def _recover_days(scenario: Scenario, _: Bundle | None) -> Iterator[KeyValues]:
    days = scenario.job.need.recover_days
    if days is not None:
        yield "need.recover_days", rising(days, max(LONG_DAYS, 2 * days), DAY_STEP), days


def _hours_short(scenario: Scenario, _: Bundle | None) -> Iterator[KeyValues]:
    hours = scenario.job.replay.hours_short
    if hours is not None:
        yield "replay.hours_short", list(range(hours + 1, YEAR_H + 1)), hours


def _reserve_days(scenario: Scenario, _: Bundle | None) -> Iterator[KeyValues]:
    days = scenario.job.water.reserve_days
    yield "water.reserve_days", falling(days, 0.0, DAY_STEP), days


def _array_to_load(scenario: Scenario, _: Bundle | None) -> Iterator[KeyValues]:
    ratio = scenario.job.need.array_to_load
    # where it is not stated its default hangs on the chemistry: typed, one figure holds for all
    largest = energy.ARRAY_TO_LOAD_LEAD_ACID if ratio is None else ratio
    yield "need.array_to_load", falling(largest, 1.0, RATIO_STEP), NOT_STATED if ratio is None else ratio


def _max_tanks(scenario: Scenario, bundle: Bundle | None) -> Iterator[KeyValues]:
    tanks = scenario.job.water.max_tanks
    if tanks is not None:
        most = sum(bundle.tanks.values()) if bundle is not None else MOST_TANKS
        yield "water.max_tanks", list(range(tanks + 1, most + 1)), tanks


def _max_panels(scenario: Scenario, bundle: Bundle | None) -> Iterator[KeyValues]:
    now = scenario.job.space.max_panels
    if now is not None:
        most = bundle.panels if bundle is not None else MOST_PANELS
        yield "space.max_panels", list(range(now + 1, most + 1)), now


def _max_area(scenario: Scenario, bundle: Bundle | None) -> Iterator[KeyValues]:
    job, area_m2 = scenario.job, scenario.job.space.max_area_m2
    if area_m2 is None:
        return
    unit = written_unit(job, "space.max_area")
    now = to_unit(area_m2, unit)
    panels, each = MOST_PANELS, 3.0
    if bundle is not None:
        panels, each = bundle.panels, mounting.panel_area(bundle.panel["length_mm"], bundle.panel["width_mm"])
    values = rising(now, to_unit(panels * each, unit) + 1.0, AREA_STEP)
    yield "space.max_area", [f"{value:g} {unit}" for value in values], f"{now:g} {unit}"


def _listed_only(_: Scenario, __: Bundle | None) -> Iterator[KeyValues]:
    yield "allow.listed_only", [False], True


def _exclude(scenario: Scenario, _: Bundle | None) -> Iterator[KeyValues]:
    shut = scenario.job.allow.exclude
    for part in shut:
        yield "allow.exclude", [[other for other in shut if other != part] or None], list(shut)


def _one_more(key: str, now: Sequence[str] | None, there: Iterable[object]) -> Iterator[KeyValues]:
    """Lists that each allow one thing more of what there is; none where the job names nothing."""
    if now is not None:
        for other in sorted(set(map(str, there)) - set(now)):
            yield key, [[*now, other]], list(now)


def _chemistries(scenario: Scenario, _: Bundle | None) -> Iterator[KeyValues]:
    return _one_more("allow.chemistries", scenario.job.allow.chemistries, scenario.catalog.batteries["chemistry"])


def _mounts(scenario: Scenario, _: Bundle | None) -> Iterator[KeyValues]:
    return _one_more("space.mounts", scenario.job.space.mounts, scenario.catalog.racks["mount"])


def _sellers(scenario: Scenario, _: Bundle | None) -> Iterator[KeyValues]:
    return _one_more("allow.sellers", scenario.job.allow.sellers, scenario.catalog.offers.seller)


def _bank_coldest(scenario: Scenario, _: Bundle | None) -> Iterator[KeyValues]:
    job = scenario.job
    unit = written_unit(job, "site.bank_coldest", written_unit(job, "site.coldest"))
    now = to_unit(job.site.bank_coldest_c, unit)
    warm = rising(now, to_unit(WARM_C, unit), 1.0)
    yield "site.bank_coldest", [f"{value:g} {unit}" for value in warm], f"{now:g} {unit}"


def _bank_hottest(scenario: Scenario, _: Bundle | None) -> Iterator[KeyValues]:
    job = scenario.job
    unit = written_unit(job, "site.bank_hottest", written_unit(job, "site.hottest"))
    now = to_unit(job.site.bank_hottest_c, unit)
    cool = falling(now, to_unit(WARM_C, unit), 1.0)
    yield "site.bank_hottest", [f"{value:g} {unit}" for value in cool], f"{now:g} {unit}"


def _restart(scenario: Scenario, _: Bundle | None) -> Iterator[KeyValues]:
    if scenario.job.supply.restart == "together":
        yield "supply.restart", ["staggered"], "together"


def _leg(scenario: Scenario, _: Bundle | None) -> Iterator[KeyValues]:
    for load in scenario.job.loads:
        if load.leg is not None:
            yield f"load.{load.name}.leg", [3 - load.leg], load.leg


# what may be typed for a key of the job, each value giving way more than the one before
VALUES: Mapping[str, Callable[[Scenario, Bundle | None], Iterator[KeyValues]]] = {
    "need.autonomy_days": _autonomy_days, "load.critical": _critical, "need.recover_days": _recover_days,
    "replay.hours_short": _hours_short,
    "water.reserve_days": _reserve_days, "need.array_to_load": _array_to_load, "water.max_tanks": _max_tanks,
    "space.max_panels": _max_panels, "space.max_area": _max_area, "allow.listed_only": _listed_only,
    "allow.exclude": _exclude, "allow.chemistries": _chemistries, "space.mounts": _mounts, "allow.sellers": _sellers,
    "site.bank_coldest": _bank_coldest, "site.bank_hottest": _bank_hottest, "supply.restart": _restart,
    "load.leg": _leg,
}  # fmt: skip
# measures: to house the bank, to restart one at a time, to wire a load to the other leg
MEASURES = dict.fromkeys(("site.bank_coldest", "site.bank_hottest", "supply.restart", "load.leg"), "measure")


def measure_levers(scenario: Scenario) -> list[Lever]:
    """Every measure, each against the first limit of the registry that it helps."""
    return [
        key_lever(scenario, limit, key, kind, values, start)
        for name, kind in MEASURES.items()
        for key, values, start in VALUES[name](scenario, None)
        if values and (limit := helped(name)[0])
    ]


def reserve_levers(scenario: Scenario) -> list[Lever]:
    """Reserves that a way out may name: down to none, never below the bare ratings."""
    return [
        key_lever(scenario, of_reserve(name), f"reserve.{name}", "reserve", falling(now, 0.0, RATIO_STEP), now)
        for name in RESERVES
        if (now := getattr(scenario.job.reserve, name)) > 0
    ]


def helped(key: str) -> list[str]:
    """The limits that a measure or a reserve can help against, in the order of the registry."""
    return [name for name, limit in LIMITS.items() if key in limit.helped_by]


def written_unit(job: Job, key: str, default: str = "") -> str:
    """The unit in which a person wrote a key; ``default``, or the key's first unit, where it is not stated."""
    return job.unit_of(key) or default or next(iter(UNITS[key_of(job, key).unit]))
