"""What the triples of one plan can be wired as: layouts, fewest panels, subproblems, and the bundle of a solution."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from optimizer.bundles.bundle import Bundle, TrackerStrings
from optimizer.bundles.order import Order
from optimizer.candidates import array_size
from optimizer.candidates.converters import Inverter
from optimizer.candidates.strings import Layout
from optimizer.costs.tank_bounds import TankBound, most_tanks
from optimizer.milp.selection import Selection
from optimizer.milp.subproblem import Failing, PartNeed, PlacedLayout, Subproblem
from optimizer.rules import mounting
from optimizer.rules.comparisons import whole_up
from optimizer.rules.extras import Basis, extra_pieces
from optimizer.search import lower_bounds
from optimizer.search.tracker_program import fewest_panels
from optimizer.search.triples import Leaf, Triple, extras_asked, part_of


class Wiring:
    """Layouts, panels and subproblems of triples of one plan; what was worked out once is kept."""

    def __init__(self, fields: Sequence[lower_bounds.Field], tanks: Sequence[tuple[str, float]]) -> None:
        """``fields``: of the plan, one for each price list; ``tanks``: those to choose from with the L of each."""
        self.fields, self.field, self.setting = fields, fields[0], fields[0].setting
        extras = self.field.market.catalog.extras
        self.extras = [extras.record(row) for row in range(len(extras))]
        pieces = self.setting.plan.pieces(self.setting.job)
        self.starters = [(part, float(pieces[part])) for part in sorted(pieces)]
        self.tanks = [PartNeed(part, 0.0, litres_each=each) for part, each in tanks]
        self.tank_bounds = [TankBound.of(found.setting, found.market) for found in fields]
        self.power_bounds: dict[int, np.ndarray] = {}
        self.replays = self.field.replays

    def heats(self) -> np.ndarray:
        """Every heat_c of the racks, the least first."""
        return np.unique(self.field.racks["heat_c"])

    def layouts(self, triple: Triple, heat_c: float) -> tuple[Layout, ...]:
        """Every layout of the triple's panel on a tracker of its converter, on racks of ``heat_c``."""
        return self.field.strings.layouts(triple.inverter, triple.panel, heat_c)

    def power_bound(self, inverter: Inverter) -> np.ndarray:
        """The most usable W of each panel behind an inverter, infinite where it was not yet worked out."""
        if inverter.position not in self.power_bounds:
            self.power_bounds[inverter.position] = np.full(len(self.field.panels), np.inf)
        return self.power_bounds[inverter.position]

    def fewest_panels(self, triple: Triple, heat_c: float, replayed: bool = False) -> int | None:
        """The fewest panels that the triple's trackers can be wired with for its needs on racks of ``heat_c``; None
        where none will do. Of racks that are hotter no fewer. ``replayed``: by the hours of the weather file too, where
        they are judged."""
        least, most = self.limits_on_panels(triple, heat_c, replayed)
        if least == float("inf"):
            return None
        power = self.field.strings.power(triple.inverter, triple.panel, heat_c, most)
        if heat_c == self.field.heat_c:
            self.power_bound(triple.inverter)[triple.panel] = power.max(initial=0.0)
        return fewest_panels(power, triple.need_w, least)

    def limits_on_panels(self, triple: Triple, heat_c: float, replayed: bool = True) -> tuple[float, float]:
        """Fewest panels by the lead-acid floor on racks of ``heat_c`` and by the hours of the weather file, most by
        space and converters."""
        figures, pmax_w = self.field.strings.figures(heat_c), self.field.panels["pmax_w"][triple.panel]
        offered_w = figures.offered_w[triple.panel]
        least = float(array_size.panels_needed(0.0, offered_w, triple.floor_w, offered_w))
        least = max(least, float(self.setting.count_of("panel") or 0))
        most = float(array_size.most_panels(pmax_w, figures.area_m2[triple.panel], triple.inverter, self.setting))
        least = max(least, float(whole_up(triple.rated_w / pmax_w)))
        by_hours = self.field.by_hours
        if replayed and by_hours is not None and least <= most:
            panel, bank = self.field.panel(triple.panel), (triple.battery, triple.series, triple.parallel)
            least = by_hours.least_panels(panel, heat_c, triple.inverter, *bank, int(least), most)
        return least, most

    def fails(self, bundle: Bundle, placed: Sequence[PlacedLayout]) -> Failing | None:
        """What a bundle whose trackers carry some of ``placed`` rules out by the hours of the weather file; None where
        it passes, or where they are not judged."""
        if self.replays is None or self.replays.holds(bundle, bundle.tanks_l):
            return None
        carried = [(s.series, s.parallel) for s in bundle.strings]
        counts = tuple(carried.count((each.layout.series, each.layout.parallel)) for each in placed)
        smaller = bool(bundle.tanks) and self.replays.holds(bundle, self.replays.least_tanks_l)
        return Failing(counts, bundle.tanks_l if smaller else 0.0)

    def parts(self, triple: Triple) -> dict[str, tuple[str, float]]:
        """Part and settled pieces of converter, panel and battery."""
        found = self.field
        return {
            "converter": (part_of(found.converters.rows, triple.inverter.row), triple.inverter.units),
            "panel": (part_of(found.panels, triple.panel), 0.0),
            "battery": (part_of(found.batteries, triple.battery), triple.series * triple.parallel),
        }

    def least_needs(self, triple: Triple, panels: int) -> list[tuple[str, float]]:
        """(part, pieces) that every bundle of a triple needs with so many panels, racking left out."""
        parts = self.parts(triple)
        parts["panel"] = (parts["panel"][0], panels)
        basis = Basis(triple.inverter.units, triple.series * triple.parallel, triple.parallel, 1, panels, 1, 0, 0, 0)
        extras = [(str(extra["part"]), float(extra_pieces(extra, basis))) for extra in self.extras]
        return [*parts.values(), *extras, *self.starters]

    def subproblem(self, triple: Triple, rack: int) -> Subproblem:
        """What a triple on a rack leaves open."""
        found, job = self.field, self.setting.job
        racks, heat_c = found.racks, float(found.racks["heat_c"][rack])
        row_max = float(racks["max_row"][rack])
        if job.space.row_max is not None:
            row_max = min(row_max, job.space.row_max)
        placed = []
        for layout in self.layouts(triple, heat_c):
            rows = int(mounting.string_rows(layout.series, row_max))
            units = mounting.string_rack_units(layout.series, rows, racks["per_panel"][rack], racks["per_row"][rack])
            placed.append(PlacedLayout(layout, rows * layout.parallel, int(units) * layout.parallel))
        least, most = self.limits_on_panels(triple, heat_c)
        parts, inverter = self.parts(triple), triple.inverter
        asked = [
            PartNeed(*parts["converter"]),
            PartNeed(*parts["panel"], tuple(float(p.layout.panels) for p in placed)),
            PartNeed(*parts["battery"]),
            PartNeed(part_of(racks, rack), 0.0, tuple(float(p.units) for p in placed)),
            *extras_asked(self.extras, placed, inverter.units, triple.series, triple.parallel),
            *(PartNeed(part, pieces) for part, pieces in self.starters),
            *self.tanks,
        ]
        cap = inverter.units * float(inverter["array_usable_w"])
        terms = self.setting.terms
        return Subproblem(
            tuple(asked), tuple(placed), inverter.trackers, triple.need_w, cap, least, most,
            self.setting.count_of("rack"), terms.must.get("extra", ("", None))[0], terms.equal_strings,
            terms.most_sellers, self.setting.plan.tanks_l, most_tanks(self.setting), terms.must.get("tank"),
        )  # fmt: skip

    def wired(self, leaf: Leaf, chosen: Selection, order: Order | None = None) -> Bundle:
        """The bundle that a solution of a leaf's subproblem stands for, with this order or none."""
        carried = [placed.layout for placed, count in chosen.layouts for _ in range(count)]
        wired = tuple(
            TrackerStrings(tracker, layout.parallel, layout.series, layout.fused)
            for tracker, layout in enumerate(carried, start=1)
        )
        triple, found = leaf.triple, self.field
        catalog = found.market.catalog
        tables = catalog.tables
        rows = {
            "converter": int(found.converters.rows.index[triple.inverter.row]),
            "panel": int(found.panels.index[triple.panel]),
            "battery": int(found.batteries.index[triple.battery]),
            "rack": int(found.racks.index[leaf.rack]),
        }
        tanks = dict(chosen.tanks)
        beside = [("starter", part) for part, _ in self.starters] + [("tank", part) for part in tanks]
        places = [*rows.items(), *((kind, tables[kind].place(part)) for kind, part in beside)]
        taken = tuple(
            (str(tables[kind].part[row]), column)
            for kind, row in places
            for column, mask in tables[kind].taken.items()
            if mask[row]
        )
        return Bundle(
            catalog.converters.record(rows["converter"]), catalog.panels.record(rows["panel"]),
            catalog.batteries.record(rows["battery"]), catalog.racks.record(rows["rack"]), triple.inverter.units,
            triple.series, triple.parallel, wired, sum(p.units * count for p, count in chosen.layouts), order,
            defaults_taken=taken,
            starters={load: catalog.starters.record(catalog.starters.place(part)) for load, part in
                      self.setting.plan.starters},
            tanks=tanks,
            tank_records={part: catalog.tanks.record(catalog.tanks.place(part)) for part in tanks},
        )  # fmt: skip
