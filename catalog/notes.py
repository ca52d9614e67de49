"""Which warnings of a catalogue concern an answer: those of what it shows; the others are for `catalog check`."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from catalog.reader import Catalog
from catalog.tables import TABLES
from catalog.unusual import unusual_figures
from optimizer.vocabulary.problems import Place, Problem, in_order

# they say that a row or a part is never used, or dearer than another: no answer rests on it
OF_CHECK_ALONE = (
    "stock-below-minimum", "stocks-below-minimum", "dearer-in-bulk", "many-dearer-in-bulk", "parts-without-price",
    "offers-without-weight",
)  # fmt: skip


def concerning(
    catalog: Catalog, parts: Collection[str], bought: Collection[str], sellers: Collection[str]
) -> tuple[Problem, ...]:
    """The warnings of the catalogue as a whole, of the figures of ``parts``, of the prices of those ``bought`` and of
    the sellers that they are bought from."""
    known = {"part": bought, "seller": sellers}
    told = [
        warning
        for warning in catalog.warnings
        if warning.kind.id not in OF_CHECK_ALONE
        and all(warning.slots[name] in named for name, named in known.items() if name in warning.slots)
    ]
    return in_order([*told, *_unusual(catalog, parts)])


def _unusual(catalog: Catalog, parts: Collection[str]) -> list[Problem]:
    """The unusual figures of these parts."""
    found: list[Problem] = []
    for kind, table in catalog.tables.items():
        rows = [row for part in parts if (row := table.index_of(part)) is not None]
        columns = {name: column[rows] for name, column in table.columns.items()} | {"part": table.part[rows]}
        taken = {name: mask[rows] for name, mask in table.taken.items()}
        file, numbers = TABLES[kind].file, table.row[rows]

        def place(position: int, name: str, cell: str, file: str = file, numbers: np.ndarray = numbers) -> Place:
            return Place(file, int(numbers[position]), None, name, cell)

        found += unusual_figures(TABLES[kind], columns, taken, place)
    return found
