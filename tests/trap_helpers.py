"""What the tests of traps share: a copy of the shipped catalogue with figures mended, a bundle's parts, its limits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from catalog.reader import Catalog, read_catalog, shipped_catalog
from catalog.rows import BatteryRow, ConverterRow, PanelRow, RackRow, StarterRow
from optimizer.auditor.audit import audit
from optimizer.bundles.bundle import Bundle
from optimizer.inputs.job import Job
from tests.small_files import cells_of, csv_text

Mended = Mapping[str, Mapping[str, str]]  # by part the cells that are changed, by column


def mended_copy(folder: Path, mended: Mended) -> Catalog:
    """The shipped catalogue with some cells of some parts changed."""
    left = set(mended)
    for file in shipped_catalog().glob("*.csv"):
        rows = cells_of(file.read_text(encoding="utf-8"))
        columns = next(row for row in rows if row[0] in ("part", "seller"))
        for row in rows if file.name != "prices.csv" else ():
            for column, cell in mended.get(row[0], {}).items():
                assert row[columns.index(column)] != cell, "nothing to mend"
                row[columns.index(column)] = cell
                left.discard(row[0])
        (folder / file.name).write_text(csv_text(rows), encoding="utf-8", newline="")
    assert not left, "no such part"
    return read_catalog(folder)


def parts_of(bundle: Bundle) -> set[str]:
    """Its models, starters and tanks."""
    return {*bundle.models.values(), *(str(row["part"]) for row in bundle.starters.values()), *bundle.tanks}


def as_in(catalog: Catalog, bundle: Bundle) -> Bundle:
    """The same parts with the figures that ``catalog`` states."""
    converters, panels, batteries = catalog.converters, catalog.panels, catalog.batteries
    converter: ConverterRow = converters.record(converters.place(bundle.converter["part"]))
    panel: PanelRow = panels.record(panels.place(bundle.panel["part"]))
    battery: BatteryRow = batteries.record(batteries.place(bundle.battery["part"]))
    rack: RackRow | None = None
    if bundle.rack is not None:
        rack = catalog.racks.record(catalog.racks.place(bundle.rack["part"]))
    starters: dict[str, StarterRow] = {
        load: catalog.starters.record(catalog.starters.place(row["part"])) for load, row in bundle.starters.items()
    }
    return replace(bundle, converter=converter, panel=panel, battery=battery, rack=rack, starters=starters)


def broken(job: Job, bundle: Bundle, catalog: Catalog) -> set[str]:
    """The limits that a bundle breaks with the parts as ``catalog`` states them."""
    judged = audit(job, as_in(catalog, bundle), catalog)
    assert not judged.not_judged
    return {reading.limit for reading in judged.readings if not reading.holds}
