"""Warnings of figures outside their usual span.

A catalogue is read for every answer, and looked over as a whole only where that is asked for: an answer judges the
rows of the parts that it shows.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping

import numpy as np

from catalog.schema import Columns, TableSpec
from catalog.slips import likely_slip, of_one_row
from catalog.usual import USUAL, Usual, makes_sense
from optimizer.vocabulary.problems import Fault, Place, Problem

PlaceOf = Callable[[int, str, str], Place]  # of a row's position, a column and its cell


def unusual_figures(
    spec: TableSpec, columns: Columns, taken: Mapping[str, np.ndarray], place: PlaceOf
) -> Iterator[Problem]:
    """Every stated figure of rows without fault that lies outside its usual span. ``columns`` holds the key too."""
    judged = [usual for usual in USUAL[spec.kind] if all(name in columns for name in usual.columns)]
    for usual in judged if len(columns[spec.key]) else ():
        outside = usual.outside(columns)
        first = usual.columns[0]
        if first in taken:
            outside = outside & ~taken[first]
        for position in np.flatnonzero(outside):
            one = {name: array[position : position + 1] for name, array in columns.items()}
            defaults = {name for name, mask in taken.items() if mask[position]}
            yield _fault(spec, usual, one, defaults).at(place(int(position), first, f"{one[first][0]:g}"))


def _fault(spec: TableSpec, usual: Usual, one: Columns, defaults: Collection[str]) -> Fault:
    """What is unusual in one row, and the likely slip of a unit that would make it usual."""

    def would_do(name: str, meant: float) -> bool:
        return makes_sense(spec.kind, {**one, name: np.array([meant])}, defaults, name)

    suspects = [spec.by_name[name] for name in usual.columns if name not in defaults and spec.by_name[name].numeric]
    unit = f" {usual.unit}" if usual.unit else ""
    return Fault("unusual-figure", {
        "what": usual.words, "span": usual.span, "value": f"{usual.figures(one)[0]:.4g}{unit}", "mend": usual.mend,
        "perhaps": likely_slip(suspects, of_one_row(one, 0), would_do), spec.key: str(one[spec.key][0]),
    })  # fmt: skip
