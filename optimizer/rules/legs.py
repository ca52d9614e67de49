"""The legs of a 120/240 V supply and the cases of a start: how 120 V units may be placed and what each leg carries."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import prod

import numpy as np

from optimizer.rules.load_figures import LoadFigures
from optimizer.vocabulary.defaults import MOST_PLACINGS

PLACING_TOLERANCE = 1e-12  # two placings this near are the same: only the order of adding differs


@dataclass(frozen=True)
class LegPlacing:
    """One placing of the 120 V units: ``on_leg_1[i]`` units of placed load i stand on leg 1, the rest on leg 2.

    ``running_va`` is the heavier leg's running VA, ``start_va`` the heaviest leg's VA for each start time in s.
    """

    on_leg_1: tuple[int, ...]
    running_va: float
    start_va: tuple[tuple[float, float], ...]


def placed_loads(loads: tuple[LoadFigures, ...]) -> list[LoadFigures]:
    """The loads whose units sit on one leg."""
    return [load for load in loads if not load.across]


def leg_totals(
    loads: tuple[LoadFigures, ...], on_leg_1: tuple[int, ...], restart: str
) -> tuple[tuple[float, float], tuple[tuple[float, tuple[float, float]], ...]]:
    """VA on leg 1 and leg 2 for one placing: running, and for each start case (its time in s, the two legs)."""
    placed = placed_loads(loads)
    across = [load for load in loads if load.across]
    units = [(on_1, load.count - on_1) for load, on_1 in zip(placed, on_leg_1, strict=True)]
    running = [
        sum(load.count * load.running_va for load in across) / 2
        + sum(load.running_va * on[leg] for load, on in zip(placed, units, strict=True))
        for leg in (0, 1)
    ]
    starting = [load for load in loads if load.starts]
    cases: list[tuple[float, tuple[float, float]]] = []
    if restart == "together" and starting:
        start = [
            sum(load.count * load.start_va for load in across) / 2
            + sum(load.start_va * on[leg] for load, on in zip(placed, units, strict=True))
            for leg in (0, 1)
        ]
        cases.append((max(load.start_s for load in starting), (start[0], start[1])))
    elif starting:
        for load in across:
            if load.starts:
                more = (load.start_va - load.running_va) / 2
                cases.append((load.start_s, (running[0] + more, running[1] + more)))
        for load, on in zip(placed, units, strict=True):
            more = load.start_va - load.running_va
            for leg in (0, 1):
                if load.starts and on[leg]:
                    legs = (running[0] + more * (leg == 0), running[1] + more * (leg == 1))
                    cases.append((load.start_s, legs))
    return (running[0], running[1]), tuple(cases)


def placings(loads: tuple[LoadFigures, ...]) -> int:
    """How many ways there are to place the 120 V units on two legs."""
    return prod(load.count + 1 for load in placed_loads(loads) if load.leg is None)


@lru_cache(maxsize=256)
def leg_plans(loads: tuple[LoadFigures, ...], restart: str) -> tuple[LegPlacing, ...]:
    """Every placing of the 120 V units that no other placing beats on every leg figure.

    A converter takes the loads when one of these fits it, so the placings are enumerated once, not once a
    converter; placings that give the same figures are listed once. Raises ValueError over ``MOST_PLACINGS``.
    """
    if placings(loads) > MOST_PLACINGS:
        raise ValueError(f"{placings(loads)} ways to place the 120 V units; at most {MOST_PLACINGS} are tried")
    placed = placed_loads(loads)
    spans = [
        np.arange(load.count + 1) if load.leg is None else np.array([load.count if load.leg == 1 else 0])
        for load in placed
    ]
    grid = np.array(np.meshgrid(*spans, indexing="ij")).reshape(len(placed), -1) if placed else np.zeros((0, 1))
    times, figures = _leg_figures(loads, placed, grid, restart)
    # the heavier leg's figures; of equal ones the first placing
    _, first = np.unique(np.round(figures, 9), axis=0, return_index=True)
    kept: list[int] = []
    for column in sorted(first, key=lambda i: tuple(figures[i])):
        if not any((figures[k] <= figures[column] * (1 + PLACING_TOLERANCE)).all() for k in kept):
            kept.append(int(column))
    return tuple(
        LegPlacing(
            tuple(int(n) for n in grid[:, column]),
            float(figures[column, 0]),
            tuple((seconds, float(va)) for seconds, va in zip(times, figures[column, 1:], strict=True)),
        )
        for column in kept
    )


def _leg_figures(
    loads: tuple[LoadFigures, ...], placed: list[LoadFigures], grid: np.ndarray, restart: str
) -> tuple[list[float], np.ndarray]:
    """The start times, and for each placing (a column of ``grid``) the heavier leg's running VA and, for each start
    time, the heaviest leg's VA: :func:`leg_totals` over all placings at once."""
    count = np.array([load.count for load in placed])
    units = np.stack([grid, count[:, None] - grid])  # (leg, load, placing)
    va = np.array([load.running_va for load in placed])
    across = [load for load in loads if load.across]
    running = sum(load.count * load.running_va for load in across) / 2 + np.einsum("j,ljp->lp", va, units)
    starting = [load for load in loads if load.starts]
    if restart == "together":
        if not starting:
            return [], running.max(axis=0)[:, None]
        start_va = np.array([load.start_va for load in placed])
        start = sum(load.count * load.start_va for load in across) / 2 + np.einsum("j,ljp->lp", start_va, units)
        seconds = max(load.start_s for load in starting)
        return [seconds], np.stack([running.max(axis=0), start.max(axis=0)], axis=1)
    times = sorted({load.start_s for load in starting})
    columns = [running.max(axis=0)]
    for seconds in times:
        worst = running.max(axis=0)
        for load in starting:
            if load.start_s == seconds:
                more = load.start_va - load.running_va
                if load.across:
                    worst = np.maximum(worst, running.max(axis=0) + more / 2)
                else:
                    on = units[:, [p is load for p in placed].index(True)] > 0
                    worst = np.maximum(worst, np.where(on, running + more, 0.0).max(axis=0))
        columns.append(worst)
    return times, np.stack(columns, axis=1)
