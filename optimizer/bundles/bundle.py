"""A bundle: one choice of parts, their counts and their wiring. Frozen; it comes from the search or from a file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from catalog.rows import BatteryRow, ConverterRow, PanelRow, PartRow, RackRow, StarterRow, TankRow
from optimizer.bundles.order import Order
from optimizer.rules.extras import Basis
from optimizer.rules.mounting import string_rows
from optimizer.rules.water import usable_volume


@dataclass(frozen=True, order=True)
class TrackerStrings:
    """What one tracker carries: ``parallel`` equal strings of ``series`` panels."""

    tracker: int
    parallel: int
    series: int
    fused: bool

    @property
    def panels(self) -> int:
        """Panels on this tracker."""
        return self.parallel * self.series


@dataclass(frozen=True)
class Bundle:
    """Parts, counts and wiring.

    ``rack`` and ``order`` may be missing where a bundle comes from a file: then they are not judged.
    ``legs`` places each unit of a 120 V load, by load name, as (units on leg 1, units on leg 2).
    ``defaults_taken`` lists the (part, column) pairs whose cell was empty. ``quoted_cents``: a price asked for
    the whole of an offer. ``starters``: the catalogue row of each load's starter, by load name; ``tanks`` pieces by
    part, ``tank_records`` their rows.
    """

    converter: ConverterRow
    panel: PanelRow
    battery: BatteryRow
    rack: RackRow | None
    units: int
    bank_series: int
    bank_parallel: int
    strings: tuple[TrackerStrings, ...]
    rack_units: int | None = None
    order: Order | None = None
    legs: Mapping[str, tuple[int, int]] | None = None
    defaults_taken: tuple[tuple[str, str], ...] = ()
    quoted_cents: int | None = None
    name: str = ""
    starters: Mapping[str, StarterRow] = field(default_factory=dict)
    tanks: Mapping[str, int] = field(default_factory=dict)
    tank_records: Mapping[str, TankRow] = field(default_factory=dict)

    @property
    def tanks_l(self) -> float:
        """L that can be drawn from the tanks."""
        rows = self.tank_records
        return sum(
            pieces * float(usable_volume(rows[part]["volume_l"], rows[part]["usable_pct"]))
            for part, pieces in self.tanks.items()
        )

    @property
    def panels(self) -> int:
        """All panels."""
        return sum(strings.panels for strings in self.strings)

    @property
    def string_count(self) -> int:
        """All strings."""
        return sum(strings.parallel for strings in self.strings)

    @property
    def batteries(self) -> int:
        """All batteries."""
        return self.bank_series * self.bank_parallel

    @property
    def rows_of_models(self) -> dict[str, PartRow]:
        """The row of each kind of which there is one model."""
        rows: dict[str, PartRow] = {"converter": self.converter, "panel": self.panel, "battery": self.battery}
        return rows if self.rack is None else {**rows, "rack": self.rack}

    @property
    def each_load(self) -> dict[str, Mapping[str, PartRow]]:
        """By kind the row that each load has, by load name."""
        return {"starter": self.starters}

    @property
    def pools(self) -> dict[str, Mapping[str, int]]:
        """By kind the pieces of each part."""
        return {"tank": self.tanks}

    @property
    def rows(self) -> dict[str, PartRow]:
        """The row of every part that was chosen, by part id; extras follow by rule."""
        every = [*self.rows_of_models.values(), *(row for rows in self.each_load.values() for row in rows.values())]
        return {row["part"]: row for row in (*every, *self.tank_records.values())}

    @property
    def models(self) -> dict[str, str]:
        """The part id of each kind of which there is one model."""
        return {kind: row["part"] for kind, row in self.rows_of_models.items()}

    @property
    def counts(self) -> dict[str, int]:
        """The pieces of each kind; racks where their number is known."""
        counts = {"converter": self.units, "panel": self.panels, "battery": self.batteries}
        return counts if self.rack_units is None else {**counts, "rack": self.rack_units}

    def row_max(self, job_row_max: int | None) -> int:
        """Most panels in a row: the rack's, or the job's where that is less."""
        most = int(self.rack["max_row"]) if self.rack is not None else self.panels or 1
        return min(most, job_row_max) if job_row_max else most

    def basis(self, job_row_max: int | None) -> Basis:
        """What the extras are counted from."""
        most = self.row_max(job_row_max)
        rows = {s: s.parallel * int(string_rows(s.series, most)) for s in self.strings}
        fused = [s for s in self.strings if s.fused]
        return Basis(
            converters=self.units,
            batteries=self.batteries,
            bank_strings=self.bank_parallel,
            strings=self.string_count,
            panels=self.panels,
            rows=sum(rows.values()),
            fused_strings=sum(s.parallel for s in fused),
            fused_panels=sum(s.panels for s in fused),
            fused_rows=sum(rows[s] for s in fused),
        )
