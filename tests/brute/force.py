"""Every compliant bundle of a small catalogue, node by node, and the cheapest of each node.

A node is (converter, units, battery, bank strings, panel, rack); within a node the strings are free.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple, TypeVar

from tests.brute.arrays import Shape, Ways, Wired, extra_needs, most_panels, wirings, wirings_of_equal_strings
from tests.brute.limits import Limits
from tests.brute.money import Market, Needs
from tests.brute.parts import Battery, Converter, Panel, Parts, Rack, read_parts
from tests.brute.plans import Plan, every_plan, worth_trying
from tests.brute.reading import INFINITE, Job, read_job
from tests.brute.rules import (
    Layout,
    bank_strings,
    converter_holds,
    layouts,
    panels_to_charge,
    rack_holds,
    refills,
    series_count,
    unit_counts,
    usable_power_needed,
)

PartRow = TypeVar("PartRow", Converter, Panel, Battery, Rack)
POWER_DECIMALS = 6  # W; two usable powers that differ by less are equal


class Node(NamedTuple):
    converter: str
    u: int
    battery: str
    k: int
    panel: str
    rack: str


@dataclass(frozen=True)
class Best:
    """The cheapest of a node; of equal totals the first by the tie rules."""

    total: Decimal
    usable_w: float  # min(usable power of the trackers, units × array_usable_w)
    panels: int
    strings: int
    kinds: int  # different (series, parallel) layouts
    sellers: tuple[str, ...]
    layouts: tuple[tuple[int, int, int], ...]  # (series, parallel, trackers wired so), sorted
    rack_units: int
    needs: tuple[tuple[str, int], ...]  # every part and how many pieces of it are needed
    starters: tuple[tuple[str, str], ...] = ()  # load and part
    tanks: tuple[tuple[str, int], ...] = ()  # part and pieces
    water_days: float = 0.0  # days of water stored; infinite where some is stored and none is asked

    @property
    def order(self) -> tuple[Decimal, float, int, int, int, int, int]:
        """Section 9: the total, then the tie rules as far as they are not part ids. Of equal totals and arrays
        fewer starters and tanks go first, then fewer sellers."""
        power = -round(self.usable_w, POWER_DECIMALS)
        named = {part for _, part in self.starters} | {part for part, _ in self.tanks}
        added = sum(pieces for part, pieces in self.needs if part in named)
        return self.total, power, self.panels, self.strings, self.kinds, added, len(self.sellers)


class Distinct(NamedTuple):
    converter: str
    panel: str
    battery: str
    total: Decimal
    node: Node
    best: Best


def enumerate_nodes(
    catalog_dir: Path,
    job_path: Path,
    prices: Path | None = None,
    without: frozenset[str] = frozenset(),
    *,
    slack: Mapping[str, float] = {},
    must: Mapping[str, int | None] = {},
    never: frozenset[str] = frozenset(),
    equal_strings: bool = False,
    most_sellers: int | None = None,
) -> dict[Node, Best]:
    """Every node with a compliant bundle and the best bundle of it.

    `prices` is a price list in place of the catalogue's.

    - `without` names limits of limits.DROPPABLE that are left out (where tracker-count is, array-total or a stated
      space must stay). An array of no panels is no layout, even without daily-energy.
    - `slack` loosens limits of limits.SLACK_UNITS by an absolute amount in the unit stated there: each comparison
      of the limit by the same amount, whatever the units, strings or months it is of. What it does not touch:
      whether strings are fused, and that a panel without a factor for the cold is not eligible.
    - `must` names parts, no extras, that the bundle has a piece of at least; with a number it needs exactly so many.
    - `never` names parts that the bundle does not have, extras too, whether `allowed` is left out or not; what is
      on hand of them does not count, and no node names them.
    - `equal_strings`: all strings of the bundle have the same number of panels in series.
    - `most_sellers`: at most so many sellers are bought from.

    A ValueError says which name cannot be meant.
    """
    return nodes_of(
        read_parts(catalog_dir, prices),
        read_job(job_path),
        without,
        slack=slack,
        must=must,
        never=never,
        equal_strings=equal_strings,
        most_sellers=most_sellers,
    )


def check_names(parts: Parts, must: Mapping[str, int | None], never: frozenset[str]) -> None:
    """A ValueError where `must` or `never` names no part of the catalogue, or a count below one."""
    kinds = {row.part for row in parts.converters} | {row.part for row in parts.panels}
    kinds |= {row.part for row in parts.batteries} | {row.part for row in parts.racks}
    kinds |= {row.part for row in parts.starters} | {row.part for row in parts.tanks}
    if not must.keys() <= kinds:
        raise ValueError(f"no converter, panel, battery, rack, starter or tank: {sorted(must.keys() - kinds)}")
    unknown = never - kinds - {extra.part for extra in parts.extras}
    if unknown:
        raise ValueError(f"no part of the catalogue: {sorted(unknown)}")
    for part, count in must.items():
        if count is not None and count < 1:
            raise ValueError(f"{part}: {count} pieces, expected 1 or more")


def has_all(must: Mapping[str, int | None], needs: Needs) -> bool:
    """The bundle with these needs has every part of `must`, in the number that is stated."""
    pieces = dict(needs)
    return all(
        pieces.get(part, 0) >= 1 if count is None else pieces.get(part, 0) == count for part, count in must.items()
    )


def nodes_of(
    parts: Parts,
    job: Job,
    without: frozenset[str] = frozenset(),
    *,
    slack: Mapping[str, float] = {},
    must: Mapping[str, int | None] = {},
    never: frozenset[str] = frozenset(),
    equal_strings: bool = False,
    most_sellers: int | None = None,
) -> dict[Node, Best]:
    """enumerate_nodes on what is already read."""
    limits = Limits(without, slack)
    check_names(parts, must, never)

    def open_to_choice(rows: list[PartRow]) -> list[PartRow]:
        """Only for speed, `must` leaves out the others of a kind: has_all decides."""
        asked_for = must.keys() & {row.part for row in rows}
        return [row for row in rows if row.part not in never and (not asked_for or row.part in asked_for)]

    parts = replace(
        parts,
        converters=open_to_choice(parts.converters),
        panels=open_to_choice(parts.panels),
        batteries=open_to_choice(parts.batteries),
        racks=open_to_choice(parts.racks),
    )
    market = market_of(parts, job, limits, never, most_sellers)
    found: dict[Node, Best] = {}
    ways_of = wirings_of_equal_strings if equal_strings else wirings
    for node, bundles in every_candidate(parts, job, limits, market.has_floors, must, never, ways_of):
        best = cheapest_of(job, market, limits, bundles)
        if best is not None:
            found[node] = best
    return found


def market_of(
    parts: Parts,
    job: Job,
    limits: Limits = Limits(),  # noqa: B008 - never changed
    never: frozenset[str] = frozenset(),
    most_sellers: int | None = None,
) -> Market:
    """Where a job may buy."""
    # Whether an excluded extra is needed depends on the bundle: it is taken off the market and off the shelf.
    excluded = {extra.part for extra in parts.extras if limits.on("allowed") and extra.part in job.exclude}
    shut = excluded | never
    return Market(
        [offer for offer in parts.offers if offer.part not in shut],
        parts.freight,
        {part: pieces for part, pieces in job.on_hand.items() if part not in shut},
        job.sellers if limits.on("allowed") else None,
        limits.on("stock"),
        limits.more("stock"),
        most_sellers,
        parts.terms,
        parts.weights,
    )


def every_candidate(
    parts: Parts,
    job: Job,
    limits: Limits,
    has_floors: bool,
    must: Mapping[str, int | None] = {},
    never: frozenset[str] = frozenset(),
    ways_of: Callable[[Job, Rack, list[Layout], int, float], Ways] = wirings,
) -> Iterator[tuple[Node, list[Candidate]]]:
    """Every node with its bundles, whatever they cost. `has_floors`: some seller has a sum to be reached."""
    on_hand = job.on_hand if has_floors else None
    added = {row.part for row in parts.starters} | {row.part for row in parts.tanks}
    added_must = {part: count for part, count in must.items() if part in added}
    plans = [
        plan for plan in every_plan(job, parts, limits, added_must, never, on_hand) if has_all(added_must, plan.needs)
    ]
    for converter in parts.converters:
        banks = [
            (u, battery, k, fit)
            for u in unit_counts(job, converter)
            for battery, k, fit in banks_of(job, parts, limits, converter, u, plans, on_hand)
        ]
        if not banks:
            continue
        for panel in parts.panels:
            for rack in parts.racks:
                if rack_holds(job, panel, rack, limits):
                    choices = layouts(job, converter, panel, limits, rack.heat_c)
                    yield from candidates(job, parts, limits, converter, banks, panel, rack, choices, must, ways_of)


def banks_of(
    job: Job,
    parts: Parts,
    limits: Limits,
    converter: Converter,
    u: int,
    plans: list[Plan],
    on_hand: Mapping[str, int] | None,
) -> Iterator[tuple[Battery, int, list[Plan]]]:
    """Every battery and number of bank strings, with the plans that they and `u` converters meet the limits under."""
    asked = {id(plan.asked): plan.asked for plan in plans}  # many plans of tanks ask the same
    holds = {one: converter_holds(job, demand, converter, u, limits) for one, demand in asked.items()}
    held = [plan for plan in plans if holds[id(plan.asked)]]
    for battery in parts.batteries:
        counts = {
            one: bank_strings(job, demand, converter, u, battery, limits) for one, demand in asked.items() if holds[one]
        }
        for k in sorted({k for some in counts.values() for k in some}):
            yield battery, k, worth_trying([plan for plan in held if k in counts[id(plan.asked)]], on_hand)


def cheapest_of(job: Job, market: Market, limits: Limits, bundles: Iterable[Candidate]) -> Best | None:
    """The cheapest bundle of a node; of equal totals the first by the tie rules."""
    best: Best | None = None
    priced = sorted(((market.at_least(one.needs), one) for one in bundles), key=lambda pair: pair[0])
    for least_cents, (needs, plan, shape, wired) in priced:
        if best is not None and least_cents > best.total * 100:
            break
        bought = market.cost(needs)
        if bought is None:
            continue
        cents, sellers = bought
        if limits.on("budget") and job.budget_cents is not None and cents > job.budget_cents:
            continue
        if best is not None and cents > best.total * 100:
            continue
        new = Best(
            total=Decimal(cents) / 100,
            usable_w=wired.usable_w,
            panels=shape.panels,
            strings=shape.strings,
            kinds=wired.kinds,
            sellers=sellers,
            layouts=tuple(sorted(wired.layouts)),
            rack_units=shape.rack_units,
            needs=needs,
            starters=plan.starters,
            tanks=plan.tanks,
            water_days=plan.water_days,
        )
        if best is None or new.order < best.order:
            best = new
    return best


class Candidate(NamedTuple):
    """A bundle that meets every limit but those of money and stock."""

    needs: Needs
    plan: Plan
    shape: Shape
    wired: Wired


def candidates(
    job: Job,
    parts: Parts,
    limits: Limits,
    converter: Converter,
    banks: list[tuple[int, Battery, int, list[Plan]]],
    panel: Panel,
    rack: Rack,
    choices: list[Layout],
    must: Mapping[str, int | None],
    ways_of: Callable[[Job, Rack, list[Layout], int, float], Ways],
) -> Iterator[tuple[Node, list[Candidate]]]:
    """The nodes of one converter, panel and rack, with their bundles whatever they cost."""
    counts = sorted({u for u, *_ in banks})
    by_units: dict[int, list[tuple[Shape, Wired]]] = {}
    widest = most_panels(job, panel, counts[-1] * converter.array_max_w, limits)
    trackers = counts[-1] * converter.trackers
    if not limits.on("tracker-count"):
        if widest == INFINITE:
            raise ValueError("without tracker-count, array-total or a stated space must stay")
        trackers = int(widest)  # each tracker that is used carries a panel
    ways = ways_of(job, rack, choices, trackers, widest)
    for u in counts:
        here = most_panels(job, panel, u * converter.array_max_w, limits)
        best_of: dict[Shape, Wired] = {}
        for (used, _, shape), wired in ways.items():
            if (
                shape.panels == 0
                or shape.panels > here
                or (limits.on("tracker-count") and used > u * converter.trackers)
            ):
                continue
            capped = wired._replace(usable_w=min(wired.usable_w, u * converter.array_usable_w))
            # Of one shape the money is one, and more power is within every limit that less is within: the tie
            # rules alone choose.
            old = best_of.get(shape)
            if old is None or tie(capped) < tie(old):
                best_of[shape] = capped
        by_units[u] = list(best_of.items())

    for u, battery, k, plans in banks:
        s = series_count(converter, battery)
        assert s is not None
        arrays = [
            (shape, wired, extra_needs(parts.extras, u, s * k, k, shape))
            for shape, wired in by_units[u]
            if not limits.on("charge-floor")
            or panels_to_charge(
                job,
                converter,
                battery,
                panel,
                k,
                shape.panels,
                slack_a=limits.more("charge-floor"),
                heat_c=rack.heat_c,
            )
        ]
        needed_w = [usable_power_needed(job, plan.asked, converter, u, battery) for plan in plans]
        found: list[Candidate] = []
        for (plan, least_w), (shape, wired, extras) in itertools.product(zip(plans, needed_w, strict=True), arrays):
            if not limits.keeps("daily-energy", least_w, wired.usable_w):
                continue
            if (
                limits.on("recovery")
                and job.recover_days < INFINITE
                and not refills(job, plan.asked, converter, u, battery, k, wired.usable_w)
            ):
                continue
            needs = (
                (converter.part, u),
                (battery.part, s * k),
                (panel.part, shape.panels),
                (rack.part, shape.rack_units),
                *extras,
                *plan.needs,
            )
            if has_all(must, needs):
                found.append(Candidate(needs, plan, shape, wired))
        yield Node(converter.part, u, battery.part, k, panel.part, rack.part), found


def tie(wired: Wired) -> tuple[float, int]:
    return -round(wired.usable_w, POWER_DECIMALS), wired.kinds


def full_order(item: tuple[Node, Best]) -> tuple[object, ...]:
    """Section 9: the total, the tie rules, then part ids, and of one set of parts the smaller numbers."""
    node, best = item
    return (*best.order, node.converter, node.panel, node.battery, node.rack, node.u, node.k)


def cheapest(nodes: Mapping[Node, Best]) -> tuple[Node, Best] | None:
    """The first of all nodes in the full order of section 9; None where there is no node."""
    return min(nodes.items(), key=full_order, default=None)


def best_distinct(nodes: Mapping[Node, Best], count: int = 3) -> list[Distinct]:
    """The first `count` distinct (converter, panel, battery), by its cheapest node, in order (section 9)."""
    chosen: dict[tuple[str, str, str], Distinct] = {}
    for node, best in sorted(nodes.items(), key=full_order):
        key = (node.converter, node.panel, node.battery)
        if key not in chosen:
            chosen[key] = Distinct(*key, best.total, node, best)
    return list(chosen.values())[:count]
