"""What an earlier proof has fathomed: choices that a change of the terms does not touch.

An explanation solves again and again with a limit left out or moved. A choice that such a change does not touch was
covered by the proof before it, and need not be gone through again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from dataclasses import fields as fields_of
from functools import cached_property

import numpy as np

from optimizer.candidates import array_size, strings
from optimizer.candidates import banks as bank_candidates
from optimizer.candidates.banks import Banks
from optimizer.candidates.converters import Inverter, Inverters
from optimizer.costs.tank_bounds import most_tanks
from optimizer.rules.limits import narrowing
from optimizer.search.eligible import LARGEST
from optimizer.search.lower_bounds import Field

FIGURES = ("hot_v", "isc_a", "offered_w")  # what layouts take from a panel's figures beside the ranges


@dataclass
class Fathomed:
    """A field in which a search found nothing, seen from another field of the same prices, racks and terms.

    ``changed``: limits that are kept or loosened otherwise now; None where the jobs differ, so that any may be.
    """

    old: Field
    new: Field
    changed: frozenset[str] | None

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
        return cls(old, new, changed)

    @cached_property
    def covered(self) -> np.ndarray:
        """Of which converters everything behind them was gone through, as far as that is quickly seen."""
        there = self._place >= 0
        banks = self._all_banks if self._of_banks else self._batteries_there.all()
        strings = self._all_strings if self._of_strings else self._panels_there.all()
        if banks is None or strings is None:
            return np.zeros(len(there), dtype=bool)
        covered: np.ndarray = there & np.all(banks, axis=-1) & np.all(strings, axis=-1)
        return covered

    @cached_property
    def _place(self) -> np.ndarray:
        """Where each converter of now stood before; -1: it was not there."""
        before = {entry: place for place, entry in enumerate(_entries(self.old))}
        return np.array([before.get(entry, -1) for entry in _entries(self.new)], dtype=int)

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

    # banks --------------------------------------------------------------------------------------------------

    @cached_property
    def _all_banks(self) -> np.ndarray | None:
        """:meth:`banks` of every converter and battery; None where that is too large."""
        before, after = self.old.eligible.all_banks, self.new.eligible.all_banks
        if before is None or after is None:
            return None
        battery = np.searchsorted(self.old.batteries.index, self.new.batteries.index)
        rows, columns = self._place[:, None], np.minimum(battery, len(self.old.batteries) - 1)
        earlier = Banks(*(getattr(before, each.name)[rows, columns] for each in fields_of(Banks)))
        return self._batteries_there & (self._place >= 0)[:, None] & _alike(earlier, after)

    def banks(self, inverter: Inverter, chosen: np.ndarray) -> np.ndarray:
        """Which of the batteries at ``chosen`` make the same bank behind a converter as before, that was there."""
        place = self._place[inverter.position]
        if place < 0:
            return np.zeros(len(chosen), dtype=bool)
        if not self._of_banks:
            return self._batteries_there[chosen]
        if self._all_banks is not None:
            return self._all_banks[inverter.position, chosen]
        columns = {name: values[chosen] for name, values in self.new.batteries.columns.items()}
        before, after = (bank_candidates.banks(columns, inverter, f.setting) for f in (self.old, self.new))
        return self._batteries_there[chosen] & _alike(before, after)

    # strings ------------------------------------------------------------------------------------------------

    @cached_property
    def _all_strings(self) -> np.ndarray | None:
        """:meth:`panels` of every converter and panel; None where that is too large."""
        if len(self.new.converters) * len(self.new.panels) > LARGEST:
            return None
        every = np.arange(len(self.new.panels))
        return (self._place >= 0)[:, None] & self._wired_alike(Inverters(self.new.converters), every)

    def panels(self, inverter: Inverter, chosen: np.ndarray) -> np.ndarray:
        """Which of the panels at ``chosen`` may be wired just as before behind a converter, on any rack."""
        if not self._of_strings:
            return self._panels_there[chosen]
        if self._all_strings is not None:
            return self._all_strings[inverter.position, chosen]
        return self._wired_alike(inverter, chosen)

    def _wired_alike(self, inverter: Inverter | Inverters, chosen: np.ndarray) -> np.ndarray:
        same = self._panels_there[chosen]
        for heat_c in np.unique(self.new.racks["heat_c"]):
            same = same & self._wired_alike_at(inverter, chosen, float(heat_c))
        return same

    def _wired_alike_at(self, inverter: Inverter | Inverters, chosen: np.ndarray, heat_c: float) -> np.ndarray:
        """The same on racks of ``heat_c``."""
        columns = {name: values[chosen] for name, values in self.new.panels.columns.items()}
        before, after = (strings.panel_figures(columns, f.setting, heat_c) for f in (self.old, self.new))
        same: np.ndarray = np.ones(len(chosen), dtype=bool)
        for name in FIGURES:
            same &= getattr(before, name) == getattr(after, name)
        pairs = ((before, self.old.setting), (after, self.new.setting))
        old, new = (strings.string_ranges(columns, figures, inverter, setting) for figures, setting in pairs)
        barred = (old.shortest > old.longest) & (new.shortest > new.longest)
        equal = (old.shortest == new.shortest) & (old.longest == new.longest) & (old.parallel == new.parallel)
        most = [
            array_size.most_panels(columns["pmax_w"], figures.area_m2, inverter, setting) for figures, setting in pairs
        ]
        largest = np.floor(np.minimum(new.longest * new.parallel, inverter["tracker_max_w"] / columns["pmax_w"] + 1e-6))
        wired = inverter.trackers * largest  # room for more panels than can be wired changes nothing
        equal &= np.minimum(most[0], wired) == np.minimum(most[1], wired)
        result: np.ndarray = same & (barred | equal)
        return result


def _alike(before: Banks, after: Banks) -> np.ndarray:
    """Which banks are the same, or fit neither before nor now."""
    equal = before.fits & after.fits
    for name in ("series", "parallel", "need_w", "floor_w"):
        equal &= getattr(before, name) == getattr(after, name)
    alike: np.ndarray = equal | (~before.fits & ~after.fits)
    return alike


def _entries(found: Field) -> list[tuple[int, int]]:
    """The converters of a field, by their row in the catalogue and their units."""
    return list(
        zip(found.converters.rows.index[found.converters.row].tolist(), found.converters.units.tolist(), strict=True)
    )
