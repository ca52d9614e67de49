"""The part of a small model that prices do not touch: layouts on trackers, fuses, tanks, and the order among equals."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import highspy  # noqa: F401 - before pulp, which takes an interrupt of this for a solver that is not there
import pulp

from optimizer.costs.market import Market
from optimizer.milp.subproblem import Subproblem
from optimizer.rules.tolerance import TOLERANCE, whole_up

NEED_SCALE = 1e4
SCATTER, SCATTERED = 48_271, 1_048_573  # powers of a number modulo a prime: sums of a few of them hardly ever meet


@dataclass(frozen=True)
class Objective:
    """One step of the order among bundles: a whole-number expression to be made least."""

    name: str
    expression: pulp.LpAffineExpression


@dataclass(frozen=True)
class WiringRows:
    """What a bundle of a node is, whatever is paid for it: layouts, whether any string has fuses, and tanks."""

    problem: pulp.LpProblem
    node: Subproblem
    counts: tuple[pulp.LpVariable, ...]
    fused: pulp.LpVariable | None
    tanks: Mapping[str, pulp.LpVariable]


def total(terms: Iterable[tuple[pulp.LpVariable, float]]) -> pulp.LpAffineExpression:
    """A sum of coefficients times variables, each variable once; far quicker than adding up products."""
    return pulp.LpAffineExpression([(variable, coefficient) for variable, coefficient in terms if coefficient])


def new_variable(problem: pulp.LpProblem, name: str, most: float) -> pulp.LpVariable:
    """A whole-number variable from 0 to ``most``; its name says nothing of the part it stands for."""
    return problem.add_variable(name, 0, most, pulp.LpInteger)


def wiring_rows(node: Subproblem, markets: Sequence[Market]) -> WiringRows:
    """The part of a node's model that prices do not touch; ``markets``: those that it is to be bought in."""
    problem = pulp.LpProblem("node", pulp.LpMinimize)
    counts = tuple(new_variable(problem, f"layout{i}", node.trackers) for i in range(len(node.placed)))
    fused = None
    if any(placed.layout.fused for placed in node.placed) and any(asked.if_fused for asked in node.asked):
        fused = new_variable(problem, "fused", 1)
        for placed, count in zip(node.placed, counts, strict=True):
            if placed.layout.fused:
                problem += total([(count, 1), (fused, -node.trackers)]) <= 0
    if node.placed:
        _array_rows(problem, node, counts)
    return WiringRows(problem, node, counts, fused, _tank_rows(problem, node, markets))


def _array_rows(problem: pulp.LpProblem, node: Subproblem, counts: Sequence[pulp.LpVariable]) -> None:
    pairs = list(zip(node.placed, counts, strict=True))
    panels = [(count, placed.layout.panels) for placed, count in pairs]
    problem += total((count, 1) for count in counts) <= node.trackers
    problem += total(panels) >= max(1.0, node.least_panels)
    if node.most_panels != float("inf"):
        problem += total(panels) <= node.most_panels
    if node.rack_units is not None:
        problem += total((count, placed.units) for placed, count in pairs) == node.rack_units
    if node.equal_strings:
        lengths = sorted({placed.layout.series for placed in node.placed})
        chosen = {series: new_variable(problem, f"length{i}", 1) for i, series in enumerate(lengths)}
        problem += total((variable, 1) for variable in chosen.values()) <= 1
        for placed, count in pairs:
            problem += total([(count, 1), (chosen[placed.layout.series], -node.trackers)]) <= 0
    if node.need_w > 0:
        # the need stands as a large number, so that the solver's tolerance is far below the comparison's own
        scale = NEED_SCALE / node.need_w
        problem += total((c, placed.layout.usable_w * scale) for placed, c in pairs) >= NEED_SCALE * (1 - TOLERANCE)


def _tank_rows(problem: pulp.LpProblem, node: Subproblem, markets: Sequence[Market]) -> dict[str, pulp.LpVariable]:
    """How many of each tank: together they hold what is asked, and are no more than there is room for. Where an order
    may be worth making up, one more than is on hand may be had for that."""
    counts: dict[str, pulp.LpVariable] = {}
    for asked in node.tanks:
        enough = max(float(whole_up(node.tanks_l / asked.litres_each)), 0.0)
        exact = node.must_tank[1] if node.must_tank is not None and node.must_tank[0] == asked.part else 0
        spare = 1 + max(market.on_hand(asked.part) if market.makes_up(asked.part) else 0 for market in markets)
        counts[asked.part] = new_variable(problem, f"tanks{len(counts)}", max(enough, exact or 0, spare))
    if node.tanks_l > 0:
        # as with power, the need stands as a large number
        scale = NEED_SCALE / node.tanks_l
        held = total((counts[asked.part], asked.litres_each * scale) for asked in node.tanks)
        problem += held >= NEED_SCALE * (1 - TOLERANCE)
    if counts and node.most_tanks != float("inf"):
        problem += total((variable, 1) for variable in counts.values()) <= node.most_tanks
    if node.must_tank is not None:
        part, pieces = node.must_tank
        chosen = counts[part] if part in counts else new_variable(problem, "no_tank", 0)
        wanted = total([(chosen, 1)])
        problem += wanted >= 1 if pieces is None else wanted == pieces
    return counts


def array_ties(shape: WiringRows) -> tuple[list[Objective], list[Objective]]:
    """The order among equal totals as far as it is of the array: what comes before the sellers, and what after."""
    problem, node = shape.problem, shape.node
    pairs = list(zip(node.placed, shape.counts, strict=True))
    if not pairs:
        return [], []
    power = new_variable(problem, "power", node.cap_milliwatts)
    problem += total([*((count, placed.milliwatts) for placed, count in pairs), (power, -1)]) >= 0
    kinds: list[pulp.LpVariable] = []
    for _, count in pairs:
        kinds.append(new_variable(problem, f"kind{len(kinds)}", 1))
        problem += total([(count, 1), (kinds[-1], -node.trackers)]) <= 0
    most_strings = node.trackers * max(placed.layout.parallel for placed in node.placed) + 1
    most_kinds = len(pairs) + 1
    # one number orders panels, then strings, then how many different layouts
    worth = [
        (count, (placed.layout.panels * most_strings + placed.layout.parallel) * most_kinds) for placed, count in pairs
    ]
    even = [(count, placed.layout.series**2 * placed.layout.parallel) for placed, count in pairs]
    return [
        Objective("usable power", total([(power, -1)])),
        Objective("panels, strings, equal strings", total([*worth, *((kind, 1) for kind in kinds)])),
    ], [Objective("strings of like length", total(even)), scattered("layouts", shape.counts)]


def scattered(name: str, counts: Iterable[pulp.LpVariable]) -> Objective:
    """Where nothing is left to choose by: scattered weights tell any two choices apart."""
    return Objective(name, total((c, pow(SCATTER, i + 1, SCATTERED)) for i, c in enumerate(counts)))
