"""What a column and a table of the catalogue are: name, type, unit, range, default, and the rules of a row."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

import numpy as np

Columns = Mapping[str, np.ndarray]  # of any table, by name: the dictionary itself knows no other
Values = TypeVar("Values", float, np.ndarray)
INF = float("inf")
NUMERIC = ("number", "whole", "money")
CENTS = 2  # decimals of money
WHOLE = 1e-6  # a figure times a power of ten is whole within this


@dataclass(frozen=True)
class Default:
    """What an empty cell is taken as: ``words`` say it, ``fill`` works it out from the columns in ``needs``."""

    words: str
    fill: Callable[[Columns], float | str | np.ndarray]
    needs: tuple[str, ...] = ()


@dataclass(frozen=True)
class Column:
    """One column. ``type``: number, whole, money, text, part, choice, yes-no, list, date, currency.

    ``low`` and ``high`` bound a number; an open bound is itself outside. ``choices`` name all values of a choice, of
    a list's items, or of a number that takes only these.
    """

    name: str
    type: str
    unit: str
    meaning: str
    low: float = -INF
    high: float = INF
    low_open: bool = False
    high_open: bool = False
    required: bool = False
    default: Default | None = None
    choices: tuple[str, ...] = ()
    decimals: int | None = None  # most that a number may have

    @property
    def numeric(self) -> bool:
        """Whether its values are kept as numbers."""
        return self.type in NUMERIC

    @property
    def range_text(self) -> str:
        """The range as a chain, such as ``0 < voc_v <= 500``."""
        low = f"{self.low:g} {'<' if self.low_open else '<='} " if self.low > -INF else ""
        high = f" {'<' if self.high_open else '<='} {self.high:g}" if self.high < INF else ""
        return f"{low}{self.name}{high}"

    def outside(self, values: Values) -> Values:
        """Where a value is out of range, for one value or an array; not where it is NaN."""
        below: Values = values <= self.low if self.low_open else values < self.low
        above: Values = values >= self.high if self.high_open else values > self.high
        outside: Values = np.logical_or(below, above)
        return outside

    def too_fine(self, values: Values) -> Values:
        """Where a value has more decimals than it may, for one value or an array; not where it is NaN."""
        scaled = values * 10.0 ** (self.decimals or 0)
        off = np.abs(scaled - np.rint(scaled))
        # beside its own size the tolerance would let through what rounds to nothing: a price of 1e-9 is no price
        fine: Values = ((off > WHOLE) | ((np.rint(scaled) == 0) & (off > 0))) & (self.decimals is not None)
        return fine


@dataclass(frozen=True)
class RowRule:
    """Something that must hold within a row. ``broken`` gives True where it does not; NaN breaks nothing.

    ``columns`` are those it involves; a problem is placed at the first. It judges only rows that state all of
    ``stated``: what is taken for an empty cell contradicts nothing there.
    """

    name: str
    meaning: str
    columns: tuple[str, ...]
    broken: Callable[[Columns], np.ndarray]
    stated: tuple[str, ...] = ()

    def breaks(self, columns: Columns, taken: Mapping[str, np.ndarray]) -> np.ndarray:
        """Where it does not hold; ``taken`` says where a default stands for an empty cell."""
        with np.errstate(all="ignore"):
            wrong = self.broken(columns)
        for name in self.stated:
            wrong = wrong & ~taken[name]
        return wrong


@dataclass(frozen=True)
class TableSpec:
    """One file of the catalogue. ``kind`` is the kind of part, or "price" and "seller"."""

    kind: str
    file: str
    meaning: str
    needed: bool
    columns: tuple[Column, ...]
    rules: tuple[RowRule, ...] = ()

    def column(self, name: str) -> Column:
        """The column of that name. Raises KeyError."""
        return self.by_name[name]

    @cached_property
    def by_name(self) -> Mapping[str, Column]:
        """The columns by name."""
        return {column.name: column for column in self.columns}

    @property
    def key(self) -> str:
        """The column that identifies a row: the part, or the seller in sellers.csv."""
        return "seller" if self.kind == "seller" else "part"


def value(figure: float | str) -> Default:
    """A default that is the same in every row."""
    words = "no limit" if figure == INF else f"{figure:g}" if isinstance(figure, float) else figure
    return Default(words, lambda columns: figure)


def number(name: str, unit: str, meaning: str, bounds: str, *, need: bool = False, 
           default: Default | None = None, of_type: str = "number",
           choices: tuple[str, ...] = (), decimals: int | None = None) -> Column:  # fmt: skip
    """A numeric column; ``bounds`` as mathematicians write them: ``(0,500]`` excludes 0 and includes 500."""
    low, high = bounds[1:-1].split(",")
    return Column(name, of_type, unit, meaning, float(low), float(high), bounds[0] == "(", bounds[-1] == ")",
                  need, default, choices, CENTS if of_type == "money" else decimals)  # fmt: skip


def whole(
    name: str, unit: str, meaning: str, bounds: str, *, need: bool = False, default: Default | None = None
) -> Column:
    """A numeric column of whole numbers."""
    return number(name, unit, meaning, bounds, need=need, default=default, of_type="whole")
