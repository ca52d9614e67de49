"""Rows of one table of the catalogue as arrays, and those that a job allows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Generic

import numpy as np

from catalog.part_kinds import ONE_MODEL
from catalog.reader import AnyTable, Name, Row, Table
from catalog.rows import RackColumn
from optimizer.candidates.terms import Setting


@dataclass(frozen=True)
class TableRows(Generic[Name]):
    """Some rows of one catalogue table: the columns as arrays, and where the rows stand in the table."""

    table: Table[object, Name]
    index: np.ndarray
    columns: Mapping[Name, np.ndarray]

    def __len__(self) -> int:
        return len(self.index)

    def __getitem__(self, column: Name) -> np.ndarray:
        return self.columns[column]

    @cached_property
    def _without_texts(self) -> Mapping[Name, np.ndarray]:
        return {name: values for name, values in self.columns.items() if values.dtype != object}

    def figures(self, row: int) -> dict[Name, float]:
        """The figures of one row by column, yes-no among them; texts are none."""
        return {name: values[row] for name, values in self._without_texts.items()}

    def take(self, rows: np.ndarray) -> TableRows[Name]:
        """The rows at these positions, or under this mask."""
        return TableRows(self.table, self.index[rows], {name: values[rows] for name, values in self.columns.items()})

    @classmethod
    def of(cls, table: Table[Row, Name]) -> TableRows[Name]:
        """All rows of a table."""
        return cls(table, np.arange(len(table)), table.columns)


def allowed_rows(table: Table[Row, Name], setting: Setting) -> TableRows[Name]:
    """The rows that the job allows: chemistry, mount, exclusions, and listed parts where only those may be."""
    allow, space = setting.job.allow, setting.job.space
    keep = np.ones(len(table), dtype=bool)
    any_table: AnyTable = table  # its kind says below which columns it has
    if setting.keeps("allowed"):
        keep &= ~np.isin(table.part, list(allow.exclude))
        if table.kind == "battery" and allow.chemistries is not None:
            keep &= np.isin(any_table["chemistry"], list(allow.chemistries))
        if table.kind == "rack" and space.mounts is not None:
            keep &= np.isin(any_table["mount"], list(space.mounts))
    if setting.keeps("listed") and allow.listed_only and "listed" in table.columns:
        keep &= any_table["listed"]
    keep &= ~np.isin(table.part, list(setting.terms.never))
    if table.kind in ONE_MODEL and table.kind in setting.terms.must:
        keep &= table.part == setting.terms.must[table.kind][0]
    return TableRows.of(table).take(np.flatnonzero(keep))


def least_heat(racks: TableRows[RackColumn]) -> float:
    """The least heat_c of some racks, 0 of none: what a panel's figures are at their best."""
    heats = racks["heat_c"]
    return float(heats.min()) if len(heats) else 0.0
