"""How many parts of each kind one limit alone rules out: often the whole answer to why nothing meets a job."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from catalog.part_kinds import ONE_MODEL
from catalog.reader import Catalog
from catalog.rows import BatteryColumn, PanelColumn
from optimizer.candidates import banks, converters, rows, strings
from optimizer.candidates.converters import Converters
from optimizer.candidates.rows import TableRows, least_heat
from optimizer.candidates.terms import SearchTerms, Setting
from optimizer.costs.market import Market, rows_with_price
from optimizer.inputs.job import Job
from optimizer.rules.comparisons import at_most
from optimizer.rules.limits import droppable, in_order, named, narrowing
from optimizer.search.eligible import fits_some_rack
from optimizer.search.plans import easiest


@dataclass(frozen=True)
class Rejection:
    """``count`` of the ``of`` parts of one kind can be in no bundle because of one limit, whatever the others."""

    limit: str
    kind: str
    count: int
    of: int


def rejections(catalog: Catalog, job: Job) -> tuple[Rejection, ...]:
    """How many parts each limit rules out on its own, every other limit that can be left out being left out; those
    that rule out most first."""
    found = _rejections(catalog, job)
    return tuple(sorted(found, key=lambda r: (-r.count / r.of, r.limit, r.kind)))


def _rejections(catalog: Catalog, job: Job) -> list[Rejection]:
    found: list[Rejection] = []
    direct = Setting.of(job)
    base = replace(direct, demand=easiest(direct, catalog))  # whatever starters and tanks a bundle has
    free = without(base, droppable())
    panels, every_converter = TableRows.of(catalog.panels), TableRows.of(catalog.converters)

    def note(limit: str, kind: str, left: int) -> None:
        of = len(catalog.tables[kind])
        if left < of:
            found.append(Rejection(limit, kind, of - left, of))

    for limit in in_order(narrowing("part")):
        setting = without(base, droppable() - {limit})
        for kind in ONE_MODEL:
            note(limit, kind, len(rows.allowed_rows(catalog.tables[kind], setting)))
    market = Market.of(catalog, free)
    for kind in ONE_MODEL:
        note("priced", kind, len(rows_with_price(TableRows.of(catalog.tables[kind]), market)))
    note("mounting-fit", "panel", int(fits_some_rack(panels, TableRows.of(catalog.racks)).sum()))
    every = converters.converter_entries(every_converter, free)
    note("service", "converter", len(np.unique(every.row)))
    makes = len(np.unique(every.row))
    for limit in in_order(narrowing("converter")):
        entries = converters.converter_entries(every_converter, without(base, droppable() - {limit}))
        left = len(np.unique(entries.row))
        if left < makes:
            note(limit, "converter", left + len(every_converter) - makes)
    _of_strings(found, base, panels, every, least_heat(rows.allowed_rows(catalog.racks, direct)))
    _of_banks(found, base, TableRows.of(catalog.batteries), every)
    return found


def without(base: Setting, out: frozenset[str]) -> Setting:
    """A setting with limits left out."""
    return replace(base, terms=SearchTerms(out))


def _of_strings(
    found: list[Rejection], base: Setting, panels: TableRows[PanelColumn], every: Converters, heat_c: float
) -> None:
    """Panels that form no string on any converter that makes the supply, because of one limit of strings, on racks of
    ``heat_c`` or more."""
    _, first = np.unique(every.row, return_index=True)
    inverters = [every.entry(int(position)) for position in first]
    if inverters:
        # one panel alone is over the tracker's range, or its power: these two are never left out
        over = {
            "tracker-range": ~at_most(panels["vmp_v"], max(each["tracker_top_v"] for each in inverters)),
            "tracker-power": ~at_most(panels["pmax_w"], max(each["tracker_max_w"] for each in inverters)),
        }
        found += [Rejection(name, "panel", int(bars.sum()), len(panels)) for name, bars in over.items() if bars.any()]
    before = None
    for limit in (None, *in_order(narrowing("string"))):
        setting = without(base, droppable() - {limit})
        figures = strings.panel_figures(panels.columns, setting, heat_c)
        fits = np.zeros(len(panels), dtype=bool)
        for inverter in inverters:
            ranges = strings.string_ranges(panels.columns, figures, inverter, setting)
            fits |= ranges.shortest <= ranges.longest
            if fits.all():
                break
        if before is None:
            before = fits
        elif (lost := int((before & ~fits).sum())) and limit is not None:
            found.append(Rejection(limit, "panel", lost, len(panels)))


def _of_banks(
    found: list[Rejection], base: Setting, batteries: TableRows[BatteryColumn], every: Converters
) -> None:  # fmt: skip
    """Batteries that make no bank behind any converter that makes the supply, because of one limit of banks."""
    inverters = [every.entry(position) for position in range(len(every))]
    classes = {each["bank_class_v"] for each in inverters}
    whole = [any(most >= volts and most % volts == 0 for most in classes) for volts in batteries["class_v"]]
    if inverters and not all(whole):
        found.append(Rejection("bank-voltage", "battery", whole.count(False), len(batteries)))
    before = None
    kept = named(lambda limit: limit.bounds_count)  # without a bound on its number every battery makes a bank
    for limit in (None, *in_order(narrowing("bank") - kept)):
        out = droppable() - kept
        setting = without(base, out if limit is None else out - {limit})
        fits = np.zeros(len(batteries), dtype=bool)
        for inverter in inverters:
            fits |= banks.banks(batteries.columns, inverter, setting).fits
            if fits.all():
                break
        if before is None:
            before = fits
        elif (lost := int((before & ~fits).sum())) and limit is not None:
            found.append(Rejection(limit, "battery", lost, len(batteries)))
