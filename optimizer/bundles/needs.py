"""The pieces of every part that a bundle needs."""

from __future__ import annotations

from catalog.reader import Catalog
from optimizer.bundles.bundle import Bundle
from optimizer.inputs.job import Job
from optimizer.rules import mounting
from optimizer.rules.extras import extra_pieces


def pieces_needed(bundle: Bundle, job: Job, catalog: Catalog) -> dict[str, int]:
    """Pieces of every part that a bundle needs, extras included; without the rack where it has none."""
    # of racks their own rule says how many
    needs = {part: bundle.counts[kind] for kind, part in bundle.models.items() if kind != "rack"}
    for rows in bundle.each_load.values():
        for load in job.loads:
            if load.name in rows:
                part = rows[load.name]["part"]
                needs[part] = needs.get(part, 0) + load.count
    for pool in bundle.pools.values():
        needs |= pool
    basis = bundle.basis(job.space.row_max)
    if bundle.rack is not None:
        most, rack = bundle.row_max(job.space.row_max), bundle.rack
        needs[str(rack["part"])] = sum(
            s.parallel
            * int(mounting.string_rack_units(
                s.series, mounting.string_rows(s.series, most), rack["per_panel"], rack["per_row"]))
            for s in bundle.strings
        )  # fmt: skip
        extras = catalog.extras
        for row in range(len(extras)):
            extra = extras.record(row)
            pieces = extra_pieces(extra, basis)
            if pieces:
                needs[str(extra["part"])] = pieces
    return needs
