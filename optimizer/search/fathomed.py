"""What an earlier proof has fathomed: choices that a change of the terms does not touch.

An explanation solves again and again with a limit left out or moved. A choice that such a change does not touch was
covered by the proof before it, and need not be gone through again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from optimizer.candidates import array_size, strings
from optimizer.candidates import banks as bank_candidates
from optimizer.candidates.converters import Inverter
from optimizer.costs.tank_bounds import most_tanks
from optimizer.rules.limits import narrowing
from optimizer.search.lower_bounds import Field

FEW = 300  # parts of a kind up to which all are looked at behind a converter before any is opened: speed only
FIGURES = ("hot_v", "isc_a", "offered_w")  # what layouts take from a panel's figures beside the ranges


@dataclass
class Fathomed:
    """A field in which a search found nothing, seen from another field of the same prices, racks and terms.

    ``changed``: limits that are kept or loosened otherwise now; None where the jobs differ, so that any may be.
    """

    old: Field
    new: Field
    changed: frozenset[str] | None
    entries: frozenset[tuple[int, int]]

    @classmethod
    def of(cls, earlier: Sequence[Field], later: Sequence[Field]) -> Fathomed | None:
        """Of the fields of one plan by price list; None where they cannot be compared: everything is gone through."""
        if len(earlier) != len(later):
            return None
        if any(a.market is not b.market or a.shared is not b.shared for a, b in zip(earlier, later, strict=True)):
            return None
        old, new = earlier[0], later[0]
        if old.setting.plan != new.setting.plan:
            return None
        before, after = old.setting.terms, new.setting.terms
        same_wishes = (before.must, before.equal_strings) == (after.must, after.equal_strings)
        if not same_wishes or old.setting.keeps("mounting-fit") != new.setting.keeps("mounting-fit"):
            return None
        if most_tanks(old.setting) != most_tanks(new.setting):
            return None
        changed = None
        if old.setting.job is new.setting.job:
            moved = {name for name in {*before.slack, *after.slack} if before.slack.get(name) != after.slack.get(name)}
            changed = frozenset((before.without ^ after.without) | moved)
        there = old.converters
        entries = zip(there.rows.index[there.row].tolist(), there.units.tolist(), strict=True)
        return cls(old, new, changed, frozenset(entries))

    def covers(self, inverter: Inverter) -> bool:
        """Whether everything behind a converter was gone through, as far as that is quickly seen."""
        few = max(len(self.new.batteries), len(self.new.panels)) <= FEW
        if not self._there(inverter) or (not few and (self._of_banks or self._of_strings)):
            return False
        every_battery, every_panel = np.arange(len(self.new.batteries)), np.arange(len(self.new.panels))
        return bool(self.banks(inverter, every_battery).all() and self.panels(inverter, every_panel).all())

    def _there(self, inverter: Inverter) -> bool:
        return (int(self.new.converters.rows.index[inverter.row]), inverter.units) in self.entries

    @cached_property
    def _of_banks(self) -> bool:
        return self.changed is None or bool(self.changed & narrowing("bank"))

    @cached_property
    def _of_strings(self) -> bool:
        return self.changed is None or bool(self.changed & narrowing("string", "array"))

    @cached_property
    def _batteries_there(self) -> np.ndarray:
        return np.isin(self.new.batteries.index, self.old.batteries.index)

    @cached_property
    def _panels_there(self) -> np.ndarray:
        return np.isin(self.new.panels.index, self.old.panels.index)

    def banks(self, inverter: Inverter, chosen: np.ndarray) -> np.ndarray:
        """Which of the batteries at ``chosen`` make the same bank behind a converter as before, that was there."""
        if not self._there(inverter):
            return np.zeros(len(chosen), dtype=bool)
        same: np.ndarray = self._batteries_there[chosen]
        if not self._of_banks:
            return same
        columns = {name: values[chosen] for name, values in self.new.batteries.columns.items()}
        before, after = (bank_candidates.banks(columns, inverter, f.setting) for f in (self.old, self.new))
        alike = ~before.fits & ~after.fits
        equal = before.fits & after.fits
        for name in ("series", "parallel", "need_w", "floor_w"):
            equal &= getattr(before, name) == getattr(after, name)
        result: np.ndarray = same & (alike | equal)
        return result

    def panels(self, inverter: Inverter, chosen: np.ndarray) -> np.ndarray:
        """Which of the panels at ``chosen`` may be wired just as before behind a converter, on any rack."""
        same: np.ndarray = self._panels_there[chosen]
        if self._of_strings:
            for heat_c in np.unique(self.new.racks["heat_c"]):
                same = same & self._wired_alike(inverter, chosen, float(heat_c))
        return same

    def _wired_alike(self, inverter: Inverter, chosen: np.ndarray, heat_c: float) -> np.ndarray:
        """The same on racks of ``heat_c``."""
        columns = {name: values[chosen] for name, values in self.new.panels.columns.items()}
        before, after = (strings.panel_figures(columns, f.setting, heat_c) for f in (self.old, self.new))
        same: np.ndarray = np.ones(len(chosen), dtype=bool)
        for name in FIGURES:
            same &= getattr(before, name) == getattr(after, name)
        pairs = ((before, self.old.setting), (after, self.new.setting))
        old, new = (strings.string_ranges(columns, figures, inverter, setting) for figures, setting in pairs)
        barred = (old.shortest > old.longest) & (new.shortest > new.longest)
        equal = np.ones(len(chosen), dtype=bool)
        for name in ("shortest", "longest", "parallel"):
            equal &= getattr(old, name) == getattr(new, name)
        most = [
            array_size.most_panels(columns["pmax_w"], figures.area_m2, inverter, setting) for figures, setting in pairs
        ]
        largest = np.floor(np.minimum(new.longest * new.parallel, inverter["tracker_max_w"] / columns["pmax_w"] + 1e-6))
        wired = inverter.trackers * largest  # room for more panels than can be wired changes nothing
        equal &= np.minimum(most[0], wired) == np.minimum(most[1], wired)
        result: np.ndarray = same & (barred | equal)
        return result
