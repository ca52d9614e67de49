"""What every converter of a field leaves of batteries and panels, worked out for all of them in one pass.

A numpy call costs as much for one converter as for fifty. Where the tables would be too large, each converter is worked
out by itself when it is opened.
"""

from __future__ import annotations

from dataclasses import fields as fields_of
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from optimizer.candidates.banks import Banks, banks
from optimizer.candidates.converters import Inverter, Inverters
from optimizer.candidates.strings import PanelFigures, Strings, panel_figures, string_ranges

if TYPE_CHECKING:
    from optimizer.search.lower_bounds import Field

LARGEST = 30_000  # pairs of a converter with a part up to which all are worked out together: speed only


class Eligible:
    """Banks and strings behind the converters of a field."""

    def __init__(self, field: Field) -> None:
        self.field = field

    # banks --------------------------------------------------------------------------------------------------

    @cached_property
    def all_banks(self) -> Banks | None:
        """Banks of shape (converters, batteries); None where that is too large."""
        found = self.field
        if len(found.converters) * len(found.batteries) > LARGEST:
            return None
        return banks(found.batteries.columns, Inverters(found.converters), found.setting)

    def banks(self, inverter: Inverter, chosen: np.ndarray | None = None) -> Banks:
        """The banks of batteries at ``chosen``, or of all, behind one of the field's converters."""
        every = self.all_banks
        columns = self.field.batteries.columns
        if every is None:
            some = columns if chosen is None else {name: values[chosen] for name, values in columns.items()}
            return banks(some, inverter, self.field.setting)
        where = (inverter.position,) if chosen is None else (inverter.position, chosen)
        return Banks(*(getattr(every, each.name)[where] for each in fields_of(Banks)))

    # strings ------------------------------------------------------------------------------------------------

    def figures(self, heat_c: float) -> PanelFigures:
        """What the site makes of each panel on racks of ``heat_c``."""
        if heat_c not in self._figures:
            self._figures[heat_c] = panel_figures(self.field.panels.columns, self.field.setting, heat_c)
        return self._figures[heat_c]

    @cached_property
    def _figures(self) -> dict[float, PanelFigures]:
        return {}

    @cached_property
    def _strings(self) -> dict[float, Strings | None]:
        return {}

    def all_strings(self, heat_c: float) -> Strings | None:
        """Strings of shape (converters, panels) on racks of ``heat_c``; None where that is too large."""
        found = self.field
        if heat_c not in self._strings:
            large = len(found.converters) * len(found.panels) > LARGEST
            self._strings[heat_c] = None if large else string_ranges(
                found.panels.columns, self.figures(heat_c), Inverters(found.converters), found.setting
            )  # fmt: skip
        return self._strings[heat_c]

    def strings(self, inverter: Inverter, chosen: np.ndarray, heat_c: float) -> Strings:
        """The strings of panels at ``chosen`` behind one of the field's converters."""
        every = self.all_strings(heat_c)
        if every is None:
            columns = {name: values[chosen] for name, values in self.field.panels.columns.items()}
            figures, whole = self.figures(heat_c), fields_of(PanelFigures)
            some = PanelFigures(*(getattr(figures, each.name)[chosen] for each in whole))
            return string_ranges(columns, some, inverter, self.field.setting)
        return Strings(*(getattr(every, each.name)[inverter.position, chosen] for each in fields_of(Strings)))
