"""Slips of the unit: what a figure may have been meant as, where it makes no sense as it stands."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from catalog.schema import Column, Columns

Figures = Mapping[str, float]  # of one row, by column
HELD_AGAINST = ("bank_class_v", "nominal_v", "voc_v", "pmax_w")  # columns that a slip of another may be worked out by


@dataclass(frozen=True)
class Slip:
    """One slip: ``read_as`` says what the figure looks like, ``meant`` turns it into the column's unit."""

    read_as: str
    meant: Callable[[float, Figures], float]


def _times(read_as: str, factor: float) -> Slip:
    return Slip(read_as, lambda figure, row: figure * factor)


def _of(read_as: str, column: str, factor: float) -> Slip:
    """A figure that is to be held against another column of its row."""
    return Slip(read_as, lambda figure, row: factor * figure / (row.get(column) or np.nan))


# by a column's unit, the likeliest first; lb, in and degF as NIST Special Publication 811, appendix B defines them
SLIPS: Mapping[str, tuple[Slip, ...]] = {
    "W": (_times("kW", 1e3), _times("mW", 1e-3)),
    "VA": (_times("kVA", 1e3),),
    "V": (_times("kV", 1e3), _times("mV", 1e-3)),
    "A": (_times("mA", 1e-3), _of("W", "bank_class_v", 1.0), _times("kA", 1e3)),
    "Ah": (_of("Wh", "nominal_v", 1.0), _of("kWh", "nominal_v", 1e3), _times("mAh", 1e-3)),
    "mohm": (_times("ohm", 1e3), _times("microohm", 1e-3)),
    "s": (_times("ms", 1e-3), _times("min", 60.0)),
    "mm": (_times("m", 1e3), _times("cm", 10.0), _times("in", 25.4)),
    "kg": (_times("g", 1e-3), _times("lb", 0.45359237), _times("t", 1e3)),
    "L": (_times("m3", 1e3), _times("mL", 1e-3)),
    "degC": (Slip("degF", lambda figure, row: (figure - 32) / 1.8),),
    "%": (_times("a share", 1e2),),
    "%/degC": (
        _times("a figure that lost its sign", -1.0), _times("a share", 1e2), _of("V for each degC", "voc_v", 1e2),
        _of("mV for each degC", "voc_v", 0.1), _of("W for each degC", "pmax_w", 1e2),
    ),
    "": (_times("a percent", 1e-2),),
}  # fmt: skip


def likely_slip(columns: Sequence[Column], row: Figures, makes_sense: Callable[[str, float], bool]) -> str:
    """The tail of a mend that names the likely slip, as "; 0.92 reads like a share: write 92"; "" where none is likely.

    ``columns`` may each hold it; ``makes_sense`` says of a column's name and another figure whether that is right.
    """
    for column in columns:
        figure = row.get(column.name, np.nan)
        for slip in SLIPS.get(column.unit, ()) if figure == figure else ():
            meant = slip.meant(figure, row)
            if meant == meant != figure and not column.outside(meant) and makes_sense(column.name, meant):
                name = f"{column.name} " if len(columns) > 1 else ""
                return f"; {name}{figure:g} reads like {slip.read_as}: write {meant:.4g}"
    return ""


def of_one_row(columns: Columns, position: int) -> dict[str, float]:
    """The numbers of one row, by column."""
    return {name: float(array[position]) for name, array in columns.items() if array.dtype.kind == "f"}
