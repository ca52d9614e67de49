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

from optimizer.candidates import array_size
from optimizer.candidates.banks import Banks
from optimizer.candidates.banks import banks as banks_of
from optimizer.candidates.converters import Inverter, Inverters
from optimizer.candidates.terms import Setting
from optimizer.costs.tank_bounds import most_tanks
from optimizer.rules.limits import narrowing
from optimizer.search.eligible import bank_limits, few, string_limits, wired_alike
from optimizer.search.lower_bounds import Field


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
        if not _hours_alike(old.setting, new.setting):
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

    @property
    def covers_more_strings(self) -> bool:
        """Whether everything was gone through with these bank strings and with any more of them: what changed is none
        of the banks."""
        return not self._of_banks and bool(self.covered.all())

    @cached_property
    def _place(self) -> np.ndarray:
        """Where each converter of now stood before; -1: it was not there."""
        if self.old.converters is self.new.converters:
            return np.arange(len(self.new.converters))
        before = {entry: place for place, entry in enumerate(_entries(self.old))}
        return np.array([before.get(entry, -1) for entry in _entries(self.new)], dtype=int)

    @cached_property
    def _batteries_there(self) -> np.ndarray:
        return np.isin(self.new.batteries.index, self.old.batteries.index)

    @cached_property
    def _panels_there(self) -> np.ndarray:
        return np.isin(self.new.panels.index, self.old.panels.index)

    # banks --------------------------------------------------------------------------------------------------

    @cached_property
    def _of_banks(self) -> bool:
        if self.old.banks is self.new.banks:
            return False
        return self.changed is None or bool(self.changed & bank_limits())

    @cached_property
    def _all_banks(self) -> np.ndarray | None:
        """:meth:`banks` of every converter and battery; None where that is too large."""
        before, after = self.old.banks.all, self.new.banks.all
        if before is None or after is None or not before.fits.size:
            return None
        battery = np.searchsorted(self.old.batteries.index, self.new.batteries.index)
        rows, columns = self._place[:, None], np.minimum(battery, len(self.old.batteries) - 1)
        earlier = Banks(*(getattr(before, each.name)[rows, columns] for each in fields_of(Banks)))
        same: np.ndarray = self._batteries_there & (self._place >= 0)[:, None] & _alike(earlier, after)
        return same

    def banks(self, inverter: Inverter, chosen: np.ndarray) -> np.ndarray:
        """Which of the batteries at ``chosen`` make the same bank behind a converter as before, that was there."""
        same: np.ndarray = self._batteries_there[chosen]
        if self._place[inverter.position] < 0:
            same = np.zeros(len(chosen), dtype=bool)
        elif self._of_banks and self._all_banks is not None:
            same = same & self._all_banks[inverter.position, chosen]
        elif self._of_banks:
            columns = {name: values[chosen] for name, values in self.new.batteries.columns.items()}
            same = same & _alike(*(banks_of(columns, inverter, f.setting) for f in (self.old, self.new)))
        return same

    def pairs(self, converters: np.ndarray, batteries: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Of pairs of a converter and a battery: which make the same bank as before, and behind which every panel may
        be wired as before, as far as that is quickly seen."""
        there: np.ndarray = self._place[converters] >= 0
        same, wired = there & self._batteries_there[batteries], there & self._panels_there.all()
        if self._of_banks:
            same = same & (False if self._all_banks is None else self._all_banks[converters, batteries])
        if self._of_strings:
            wired = wired & (False if self._all_strings is None else np.all(self._all_strings[converters], axis=1))
        return same, wired

    # strings ------------------------------------------------------------------------------------------------

    @cached_property
    def _of_strings(self) -> bool:
        return self.changed is None or bool(self.changed & (string_limits() | narrowing("array")))

    @cached_property
    def _heats(self) -> list[float]:
        return [float(heat_c) for heat_c in np.unique(self.new.racks["heat_c"])]

    @cached_property
    def _all_strings(self) -> np.ndarray | None:
        """:meth:`panels` of every converter and panel; None where that is too large."""
        alike = self.new.strings.alike(self.old.strings, self._heats)
        if alike is None or self.old.converters.rows is not self.new.converters.rows:
            return None
        entries = self.new.converters
        if not few(entries, self.new.panels):
            return None
        every = np.arange(len(self.new.panels))
        room, there = self._room_alike(Inverters(entries), every), (self._place >= 0)[:, None]
        wired: np.ndarray = alike[entries.row] & room & self._panels_there & there
        return wired

    def panels(self, inverter: Inverter, chosen: np.ndarray) -> np.ndarray:
        """Which of the panels at ``chosen`` may be wired just as before behind a converter, on any rack."""
        same: np.ndarray = self._panels_there[chosen]
        if self._of_strings and self._all_strings is not None:
            same = same & self._all_strings[inverter.position, chosen]
        elif self._of_strings:
            columns = {name: values[chosen] for name, values in self.new.panels.columns.items()}
            for heat_c in self._heats if self.new.strings is not self.old.strings else ():
                same = same & wired_alike(columns, inverter, heat_c, self.old.setting, self.new.setting)
            same = same & self._room_alike(inverter, chosen)
        return same

    def _room_alike(self, inverter: Inverter | Inverters, chosen: np.ndarray) -> np.ndarray:
        """Whether as many panels may stand there; room for more than can be wired changes nothing."""
        if self.changed is not None and not self.changed & narrowing("array"):
            return np.ones(len(chosen), dtype=bool)
        new, old = self.new, self.old
        pmax_w, area_m2 = new.panels["pmax_w"][chosen], new.figures.area_m2[chosen]
        before, after = (array_size.most_panels(pmax_w, area_m2, inverter, f.setting) for f in (old, new))
        wired = inverter.trackers * np.floor(inverter["tracker_max_w"] / pmax_w + 1e-6)
        alike: np.ndarray = np.minimum(before, wired) == np.minimum(after, wired)
        return alike


def _hours_alike(before: Setting, after: Setting) -> bool:
    """Whether the hours of the weather file judge a bundle of a plan alike in both settings, or in neither."""
    if not (before.judges_hours or after.judges_hours):
        return True
    one, other = before.job, after.job
    return (
        before.judges_hours == after.judges_hours
        and before.slack("hours-short") == after.slack("hours-short")
        and one.weather is other.weather
        and (one.replay, one.loads, one.water) == (other.replay, other.loads, other.water)
        and (one.site.sun_hours, one.site.bank_coldest_c) == (other.site.sun_hours, other.site.bank_coldest_c)
        and one.reserve.parallel_share == other.reserve.parallel_share
    )


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
