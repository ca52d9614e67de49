"""When a load takes its energy: shares of a day by the hour of the clock (the last axis), and runs of hours.

A day is split as elsewhere (see :mod:`optimizer.rules.demand`): a share in the sun, round its noon, and the rest in the
hours that are not.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from optimizer.rules.energy import IDLE_DAY_HOURS, IDLE_NIGHT_HOURS
from optimizer.rules.figure_types import Array

DAY_H = 24


def overlap(first_h: Array | float, end_h: Array | float) -> Array:
    """h of each hour of the clock that lie from ``first_h`` to ``end_h``, which may reach beyond midnight to either
    side; the span is at most a day long."""
    hour = np.arange(DAY_H)
    first, end = np.asarray(first_h, dtype=float)[..., None], np.asarray(end_h, dtype=float)[..., None]
    found = np.zeros(np.broadcast_shapes(first.shape, end.shape)[:-1] + (DAY_H,))
    for day in (-DAY_H, 0, DAY_H):
        found += np.clip(np.minimum(end, hour + 1 + day) - np.maximum(first, hour + day), 0.0, 1.0)
    return found


def sunny_shares(noon_h: Array | float, hours: Array | float) -> Array:
    """Shares of what a load takes in the sun: evenly over the ``hours`` that it runs in a day, at most 8, centred on
    the sun's noon by the clock."""
    width = np.minimum(np.asarray(hours, dtype=float), IDLE_DAY_HOURS)
    shares: Array = overlap(noon_h - width / 2, noon_h + width / 2) / width[..., None]
    return shares


def other_shares(noon_h: Array | float) -> Array:
    """Shares of what a load takes at other times: evenly over the 16 h outside the 8 h round the sun's noon."""
    sunny = overlap(np.asarray(noon_h) - IDLE_DAY_HOURS / 2, np.asarray(noon_h) + IDLE_DAY_HOURS / 2)
    return (1.0 - sunny) / IDLE_NIGHT_HOURS


def day_shares(noon_h: Array | float, hours: Array | float, daytime: Array | float) -> Array:
    """Shares of a load's day by the hour, ``daytime`` of it in the sun; they come to 1."""
    sun = np.asarray(daytime, dtype=float)[..., None]
    shares: Array = sun * sunny_shares(noon_h, hours) + (1.0 - sun) * other_shares(noon_h)
    return shares


def stated_hours(spans: Sequence[tuple[float, float]]) -> Array:
    """h of each hour of the clock that lie in spans, in h: (18.0, 22.0); (22.0, 6.0) goes over midnight."""
    hours = np.zeros(DAY_H)
    for first, end in spans:
        hours += overlap(first, end if end > first else end + DAY_H)
    return hours


def stated_shares(spans: Sequence[tuple[float, float]]) -> Array:
    """Shares of a load's day that runs evenly in spans of the clock (:func:`stated_hours`). They come to 1."""
    hours = stated_hours(spans)
    shares: Array = hours / hours.sum()
    return shares


def runs(met: np.ndarray) -> list[tuple[int, int]]:
    """Where something is met for hours in a row: the first hour of each run and how many there are, in order.

    A run goes round the end of the year into its beginning; all year long is one run from the first hour.
    """
    if met.all():
        return [(0, len(met))] if len(met) else []
    turned = int(np.argmin(met))  # begin where it is not met, so that no run is cut
    ring = np.concatenate((np.roll(met, -turned), [False]))
    edges = np.flatnonzero(ring[1:] != ring[:-1]).reshape(-1, 2)
    found = [(int(first + 1 + turned) % len(met), int(end - first)) for first, end in edges]
    return sorted(found)
