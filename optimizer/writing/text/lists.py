"""Lists to look things up in: the limits, the columns, the parts of a catalogue, and what is wrong with one."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from optimizer.rules.limits import LIMITS
from optimizer.writing.words import sentences
from optimizer.writing.words.figures import plain_money
from optimizer.writing.words.problems import problems_text, warning_text
from optimizer.writing.words.tables import paragraph, table

if TYPE_CHECKING:
    from catalog.reader import AnyTable, Catalog
    from optimizer.vocabulary.problems import Problem

LOWEST = "from"  # heading of the lowest price of a piece


def limits_list() -> str:
    """The registry of limits: name, meaning, kinds, source."""
    rows = [[limit.name, limit.meaning, ", ".join(limit.kinds), limit.source] for limit in LIMITS.values()]
    kinds = (
        "definition: never loosened. safety: judged against the raw rating, and never a way out. "
        "reserve: lies between the rating and the limit. wish: yours to change."
    )
    return f"{table(rows, ['limit', 'meaning', 'kind', 'source'], indent=0)}\n\n{paragraph(kinds, indent=0)}\n"


def columns_list() -> str:
    """The dictionary of the catalogue's columns, a table for each file."""
    from catalog.tables import TABLES

    blocks = []
    for spec in TABLES.values():
        rows = [
            [
                column.name + ("*" if column.required else ""),
                column.unit,
                ", ".join(column.choices) or (column.range_text.replace(column.name, "x") if column.numeric else ""),
                column.default.words if column.default else "",
                column.meaning,
            ]
            for column in spec.columns
        ]
        need = "" if spec.needed else " (optional)"
        head = paragraph(f"{spec.file}{need}: {spec.meaning}", indent=0)
        blocks.append(f"{head}\n{table(rows, ['column', 'unit', 'range x', 'default', 'meaning'])}")
        if spec.rules:
            blocks[-1] += "\n" + paragraph(f"In each row {'; '.join(rule.meaning for rule in spec.rules)}.")
    blocks.append("* required. An empty cell is not stated; it is never zero.")
    return "\n\n".join(blocks) + "\n"


def parts_list(catalog: Catalog, kind: str | None = None) -> str:
    """The parts of a catalogue, of one kind or of all: what tells them apart, and the lowest price of a piece."""
    blocks = [sentences.source_line(catalog)]
    lowest = lowest_prices(catalog)
    from catalog.part_kinds import PART_KINDS

    for each in [kind] if kind else [each for each, parts in catalog.tables.items() if len(parts)]:
        part_table = catalog.tables[each]
        heading = f"{len(part_table)} in {each}s.csv" if each != "battery" else f"{len(part_table)} in batteries.csv"
        drawn = _parts(part_table, PART_KINDS[each].telling, lowest, catalog.currency) if len(part_table) else ""
        blocks.append(f"{heading}\n{drawn}".rstrip())
    return "\n\n".join(blocks) + "\n"


def lowest_prices(catalog: Catalog) -> dict[str, int]:
    """The lowest price of a piece of each part in cents, whatever the quantity it is asked for."""
    lowest: dict[str, int] = {}
    for part, cents in zip(catalog.offers.part, catalog.offers.cents, strict=True):
        lowest[str(part)] = min(int(cents), lowest.get(str(part), int(cents)))
    return lowest


def _parts(parts: AnyTable, columns: Sequence[str], lowest: dict[str, int], currency: str) -> str:
    rows = []
    for position in range(len(parts)):
        record = parts.record(position)
        price = "-" if record["part"] not in lowest else plain_money(lowest[record["part"]])
        rows.append([record["part"], *(_cell(record[column]) for column in columns), price])
    numeric = "".join("r" if parts.columns[column].dtype.kind == "f" else "l" for column in columns)
    return table(rows, ["part", *columns, f"{LOWEST} {currency}"], f"l{numeric}r")


def _cell(value: Any) -> str:  # a cell of any column
    if isinstance(value, float) and value != value:
        return ""
    return sentences.cell(value)


def check_report(folder: Path, files: Sequence[str], problems: Sequence[Problem], warnings: Sequence[Problem]) -> str:
    """What is wrong in a catalogue folder of which ``files`` were read, or that nothing is."""
    noted = [paragraph(warning_text(warning), label="NOTE") for warning in warnings]
    if problems:
        return "\n".join([problems_text(problems, len(files)), *noted]) + "\n"
    from catalog.reader import shipped_catalog

    name = sentences.SHIPPED if folder.resolve() == shipped_catalog().resolve() else str(folder)
    return "\n".join([paragraph(f"No problem in {name}: {', '.join(files)}.", indent=0), *noted]) + "\n"
