"""What a converter, a bank and a panel can be wired as, the subproblem that is left, and the bundle it gives."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from catalog.reader import Name
from catalog.rows import ExtraRow
from optimizer.candidates.converters import Inverter
from optimizer.candidates.rows import TableRows
from optimizer.costs.order_bounds import FreightChoice
from optimizer.milp.subproblem import Failing, PartNeed, PlacedLayout, Subproblem
from optimizer.rules.comparisons import whole_up
from optimizer.rules.extras import Basis, extra_count


@dataclass(frozen=True)
class Triple:
    """A converter, a bank and a panel (row -1: none yet), with what deeper choices need of them. ``tables``: for each
    price list, cents by set of sellers that deeper choices add to. ``rated_w``: of its panels at the least, by the
    hours of the weather file."""

    inverter: Inverter
    battery: int
    series: int
    parallel: int
    need_w: float
    floor_w: float
    panel: int
    tables: Sequence[np.ndarray] = field(repr=False, compare=False)
    rated_w: float = 0.0

    @property
    def option(self) -> tuple[int, int, int]:
        """What makes a bundle distinct: converter, panel and battery (rows)."""
        return (self.inverter.row, self.panel, self.battery)


@dataclass(frozen=True)
class Leaf:
    """A solved subproblem: its triple, rack and exact value in cents, the values of its model's variables, and how
    every order of that value stands to some sellers, as far as it is known."""

    triple: Triple
    rack: int
    cents: int
    values: Mapping[str, int]
    freight_choice: FreightChoice = ()
    failing: tuple[Failing, ...] = ()


def least_needs(left: Subproblem, panels: int) -> list[tuple[str, float]]:
    """(part, pieces) that every solution of a subproblem needs with at least so many panels: what is settled, and what
    the thriftiest layout asks a panel."""
    needs = []
    for asked in left.asked:
        each = min(
            (per / placed.layout.panels for per, placed in zip(asked.per_layout, left.placed, strict=False)),
            default=0.0,
        )
        needs.append((asked.part, float(whole_up(asked.pieces + each * panels))))
    return needs


def part_of(rows: TableRows[Name], row: int) -> str:
    """The part id of a row of any table."""
    return str(rows.table.part[rows.index[row]])


def extras_asked(
    extras: Sequence[ExtraRow], placed: list[PlacedLayout], units: int, series: int, parallel: int
) -> Iterator[PartNeed]:
    """What every extra asks of the model: pieces that are settled, and pieces for each layout."""
    for extra in extras:
        quantity, per, when = float(extra["quantity"]), extra["per"], extra["when"]

        def count(strings: int, panels: int, rows: int, fused: bool, extra: ExtraRow = extra) -> int:
            basis = Basis(
                units, series * parallel, parallel, strings, panels, rows,
                strings * fused, panels * fused, rows * fused,
            )  # fmt: skip
            return extra_count(extra["per"], extra["when"], basis)

        settled = count(0, 0, 0, False)
        whole_system = per in ("system", "converter", "battery", "bank-string")
        each = (0.0,) * len(placed)
        if not whole_system:
            each = tuple(
                quantity * (count(p.layout.parallel, p.layout.panels, p.rows, p.layout.fused) - settled) for p in placed
            )
        if when == "fused" and whole_system:
            once = count(1, 1, 1, True)
            yield PartNeed(str(extra["part"]), 0.0, (), quantity * once)
        else:
            yield PartNeed(str(extra["part"]), quantity * settled, each)
