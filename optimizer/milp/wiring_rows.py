"""The part of a model that prices do not touch: layouts on trackers, fuses, tanks, and the order among equals."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import highspy  # noqa: F401 - before pulp, which takes an interrupt of this for a solver that is not there
import pulp

from optimizer.costs.market import Market
from optimizer.milp.subproblem import Failing, Subproblem
from optimizer.rules.comparisons import whole_up
from optimizer.vocabulary.tolerance import just_below

NEED_SCALE = 1e4
SCATTER, SCATTERED = 48_271, 1_048_573  # powers of a number modulo a prime: sums of a few of them hardly ever meet


@dataclass(frozen=True)
class LinearObjective:
    """One step of the order among bundles: a whole-number expression to be made least."""

    name: str
    expression: pulp.LpAffineExpression


@dataclass(frozen=True)
class WiringRows:
    """What a bundle of a subproblem is, whatever is paid for it: layouts, whether any string has fuses, and tanks."""

    problem: pulp.LpProblem
    subproblem: Subproblem
    counts: tuple[pulp.LpVariable, ...]
    fused: pulp.LpVariable | None
    tanks: Mapping[str, pulp.LpVariable]


def total(terms: Iterable[tuple[pulp.LpVariable, float]]) -> pulp.LpAffineExpression:
    """A sum of coefficients times variables, each variable once; far quicker than adding up products."""
    return pulp.LpAffineExpression([(variable, coefficient) for variable, coefficient in terms if coefficient])


def new_variable(problem: pulp.LpProblem, name: str, most: float) -> pulp.LpVariable:
    """A whole-number variable from 0 to ``most``; its name says nothing of the part it stands for."""
    return problem.add_variable(name, 0, most, pulp.LpInteger)


def wiring_rows(subproblem: Subproblem, markets: Sequence[Market]) -> WiringRows:
    """The part of a subproblem's model that prices do not touch; ``markets``: those that it is to be bought in."""
    problem = pulp.LpProblem("subproblem", pulp.LpMinimize)
    counts = tuple(new_variable(problem, f"layout{i}", subproblem.trackers) for i in range(len(subproblem.placed)))
    fused = None
    if any(placed.layout.fused for placed in subproblem.placed) and any(asked.if_fused for asked in subproblem.asked):
        fused = new_variable(problem, "fused", 1)
        for placed, count in zip(subproblem.placed, counts, strict=True):
            if placed.layout.fused:
                problem += total([(count, 1), (fused, -subproblem.trackers)]) <= 0
    if subproblem.placed:
        _array_rows(problem, subproblem, counts)
    tanks = _tank_rows(problem, subproblem, markets)
    for place, failing in enumerate(subproblem.failing):
        _rule_out(problem, subproblem, counts, tanks, failing, place)
    return WiringRows(problem, subproblem, counts, fused, tanks)


def _rule_out(
    problem: pulp.LpProblem, subproblem: Subproblem, counts: Sequence[pulp.LpVariable],
    tanks: Mapping[str, pulp.LpVariable], failing: Failing, place: int,
) -> None:  # fmt: skip
    """Nothing that a failing wiring covers: for some length, more trackers with so many strings of it or more; or,
    where they matter, tanks that hold less.

    Strings of one length are a chain, so one wiring covers another just where for every length and number it has as
    many trackers with at least so many strings.
    """
    layouts = [placed.layout for placed in subproblem.placed]
    ways: list[pulp.LpVariable] = []

    def way() -> pulp.LpVariable:
        ways.append(new_variable(problem, f"beyond{place}_{len(ways)}", 1))
        return ways[-1]

    for series, parallel in sorted({(layout.series, layout.parallel) for layout in layouts}):
        mine = [n for n, layout in enumerate(layouts) if layout.series == series and layout.parallel >= parallel]
        asked = sum(failing.counts[n] for n in mine) + 1
        if asked <= subproblem.trackers:
            problem += total([*((counts[n], 1) for n in mine), (way(), -asked)]) >= 0
    less_l = _next_less(subproblem, tanks, failing.from_l)
    if less_l is not None:  # half-way between the two, so that no tolerance of the solver decides
        most_l = sum(asked.litres_each * tanks[asked.part].upBound for asked in subproblem.tanks)
        between, scale = (failing.from_l + less_l) / 2, NEED_SCALE / failing.from_l
        held = [(tanks[asked.part], asked.litres_each * scale) for asked in subproblem.tanks]
        problem += total([*held, (way(), (most_l - between) * scale)]) <= most_l * scale
    problem += total((each, 1) for each in ways or [new_variable(problem, f"beyond{place}", 0)]) >= 1


def _next_less(subproblem: Subproblem, tanks: Mapping[str, pulp.LpVariable], litres: float) -> float | None:
    """The most L below ``litres`` that whole tanks hold together, no less than what is asked; None where there are
    none."""
    below, sums = just_below(litres), {0.0}
    for asked in subproblem.tanks:
        pieces = range(int(tanks[asked.part].upBound) + 1)
        more = {round(held + count * asked.litres_each, 6) for held in sums for count in pieces}
        sums = {held for held in more if held < below}
    return max((held for held in sums if held >= just_below(subproblem.tanks_l)), default=None)


def _array_rows(problem: pulp.LpProblem, subproblem: Subproblem, counts: Sequence[pulp.LpVariable]) -> None:
    pairs = list(zip(subproblem.placed, counts, strict=True))
    panels = [(count, placed.layout.panels) for placed, count in pairs]
    problem += total((count, 1) for count in counts) <= subproblem.trackers
    problem += total(panels) >= max(1.0, subproblem.least_panels)
    if subproblem.most_panels != float("inf"):
        problem += total(panels) <= subproblem.most_panels
    if subproblem.rack_units is not None:
        problem += total((count, placed.units) for placed, count in pairs) == subproblem.rack_units
    if subproblem.equal_strings:
        lengths = sorted({placed.layout.series for placed in subproblem.placed})
        chosen = {series: new_variable(problem, f"length{i}", 1) for i, series in enumerate(lengths)}
        problem += total((variable, 1) for variable in chosen.values()) <= 1
        for placed, count in pairs:
            problem += total([(count, 1), (chosen[placed.layout.series], -subproblem.trackers)]) <= 0
    if subproblem.need_w > 0:
        # the need stands as a large number, so that the solver's tolerance is far below the comparison's own
        scale = NEED_SCALE / subproblem.need_w
        problem += total((c, placed.layout.usable_w * scale) for placed, c in pairs) >= just_below(NEED_SCALE)


def most_of_tanks(subproblem: Subproblem, markets: Sequence[Market]) -> dict[str, int]:
    """The most pieces of each tank. Where an order may be worth making up, one more than is on hand may be had for
    that."""
    most = {}
    for asked in subproblem.tanks:
        enough = int(max(float(whole_up(subproblem.tanks_l / asked.litres_each)), 0.0))
        part, exact = subproblem.must_tank or ("", None)
        spare = 1 + max(market.on_hand(asked.part) if market.makes_up(asked.part) else 0 for market in markets)
        most[asked.part] = max(enough, (exact or 0) if part == asked.part else 0, spare)
    return most


def _tank_rows(
    problem: pulp.LpProblem, subproblem: Subproblem, markets: Sequence[Market]
) -> dict[str, pulp.LpVariable]:
    """How many of each tank: together they hold what is asked, and are no more than there is room for."""
    most = most_of_tanks(subproblem, markets)
    counts = {part: new_variable(problem, f"tanks{place}", pieces) for place, (part, pieces) in enumerate(most.items())}
    if subproblem.tanks_l > 0:
        # as with power, the need stands as a large number
        scale = NEED_SCALE / subproblem.tanks_l
        held = total((counts[asked.part], asked.litres_each * scale) for asked in subproblem.tanks)
        problem += held >= just_below(NEED_SCALE)
    if counts and subproblem.most_tanks != float("inf"):
        problem += total((variable, 1) for variable in counts.values()) <= subproblem.most_tanks
    if subproblem.must_tank is not None:
        part, pieces = subproblem.must_tank
        chosen = counts[part] if part in counts else new_variable(problem, "no_tank", 0)
        wanted = total([(chosen, 1)])
        problem += wanted >= 1 if pieces is None else wanted == pieces
    return counts


@dataclass(frozen=True)
class TieWeights:
    """The order among equal totals as far as it is of the array, as whole numbers for each layout: usable mW, which
    count up to the cap; panels before strings before kinds of layout, in one number to which each kind in use adds one;
    the squares of the lengths of its strings, least where they are alike; and ``scatter``."""

    milliwatts: tuple[int, ...]
    worth: tuple[int, ...]
    even: tuple[int, ...]
    scatter: tuple[int, ...]

    @classmethod
    def of(cls, subproblem: Subproblem) -> TieWeights:
        """Those of a subproblem."""
        placed = subproblem.placed
        most_strings = subproblem.trackers * max((each.layout.parallel for each in placed), default=0) + 1
        most_kinds = len(placed) + 1
        return cls(
            tuple(each.milliwatts for each in placed),
            tuple((each.layout.panels * most_strings + each.layout.parallel) * most_kinds for each in placed),
            tuple(each.layout.series**2 * each.layout.parallel for each in placed),
            tuple(map(scatter, range(len(placed)))),
        )


def array_ties(shape: WiringRows) -> tuple[list[LinearObjective], list[LinearObjective]]:
    """The order among equal totals as far as it is of the array: what comes before the sellers, and what after."""
    problem, subproblem, counts = shape.problem, shape.subproblem, shape.counts
    if not counts:
        return [], []
    weights = TieWeights.of(subproblem)
    power = new_variable(problem, "power", subproblem.cap_milliwatts)
    problem += total([*zip(counts, weights.milliwatts, strict=True), (power, -1)]) >= 0
    kinds: list[pulp.LpVariable] = []
    for count in counts:
        kinds.append(new_variable(problem, f"kind{len(kinds)}", 1))
        problem += total([(count, 1), (kinds[-1], -subproblem.trackers)]) <= 0
    worth = [*zip(counts, weights.worth, strict=True), *((kind, 1) for kind in kinds)]
    return [
        LinearObjective("usable power", total([(power, -1)])),
        LinearObjective("panels, strings, equal strings", total(worth)),
    ], [
        LinearObjective("strings of like length", total(zip(counts, weights.even, strict=True))),
        LinearObjective("layouts", total(zip(counts, weights.scatter, strict=True))),
    ]


def tank_ties(shape: WiringRows) -> list[LinearObjective]:
    """The order among what is the same but for tanks: fewer pieces, then a fixed one."""
    tanks = list(shape.tanks.values())
    return (
        [LinearObjective("fewest tanks", total((tank, 1) for tank in tanks)), scattered("tanks", tanks)]
        if tanks
        else []
    )


def scatter(place: int) -> int:
    """Where nothing is left to choose by: scattered weights tell any two choices apart."""
    return pow(SCATTER, place + 1, SCATTERED)


def scattered(
    name: str, counts: Iterable[pulp.LpVariable], places: Iterable[int] | None = None
) -> LinearObjective:  # fmt: skip
    """A step of :func:`scatter`, by ``places`` or one after the other."""
    numbered = enumerate(counts) if places is None else zip(places, counts, strict=True)
    return LinearObjective(name, total((count, scatter(place)) for place, count in numbered))
