"""What the hours of the weather file ask of the banks and arrays of a field, before any bundle is gone through."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from catalog.rows import BatteryColumn, ConverterColumn, PanelColumn
from optimizer.candidates.banks import Banks
from optimizer.candidates.converters import Inverter
from optimizer.candidates.rows import TableRows
from optimizer.candidates.terms import Setting
from optimizer.rules import bank
from optimizer.rules.comparisons import whole_down
from optimizer.rules.replay import ReplayParts
from optimizer.search.replays import Panel, Replays

MOST_STRINGS = 63  # beyond the least; no bank is built of more (common practice, no source)


class ReplayBounds:
    """Bounds on the rated W and the panels of bundles that pass; of one plan's batteries."""

    def __init__(
        self, replays: Replays, setting: Setting, batteries: TableRows[BatteryColumn], least_offered: float
    ) -> None:  # fmt: skip
        """``least_offered``: W that each rated W of any panel offers at the least, on racks of the least heat."""
        self.replays, self.setting, self.batteries, self.least_offered = replays, setting, batteries, least_offered

    @property
    def most_more_strings(self) -> int:
        """Bank strings beyond the least that may be worth having: as many as any battery allows."""
        if self.setting.count_of("battery") is not None or not len(self.batteries):
            return 0
        if not self.setting.keeps("bank-parallel"):
            return MOST_STRINGS
        most = self.batteries["max_parallel"] + self.setting.slack("bank-parallel")
        return min(max(int(whole_down(most).max()) - 1, 0), MOST_STRINGS)

    def rated_w(self, found: Banks, batteries: np.ndarray) -> np.ndarray:
        """Rated W at the least that banks of the batteries at ``batteries`` ask, behind the most favourable converter
        and battery; infinite where no array will do."""
        rows = self.batteries.take(batteries)
        string_wh = bank.usable_energy(
            found.series * rows["nominal_v"], rows["capacity_ah"], rows["usable_pct"], rows["aged_pct"],
            rows["capacity_pct_per_c"], self.setting.job.site.bank_coldest_c,
        )  # fmt: skip
        return self.replays.first_bounds(np.where(found.fits, found.parallel * string_wh, np.inf))

    def parts(self, inverter: Inverter, battery: int, series: int, parallel: int) -> ReplayParts:
        """What the hours ask to know of a converter and a bank of the battery in row ``battery``."""
        figures: Mapping[ConverterColumn, float] = inverter.figures
        return self.replays.parts(figures, inverter.units, self.batteries.figures(battery), series, parallel)

    def exact_rated_w(self, inverter: Inverter, battery: int, series: int, parallel: int, known_w: float) -> float:
        """Rated W at the least behind this very converter with this very bank; ``known_w``: a bound that is known."""
        parts = self.parts(inverter, battery, series, parallel)
        return self.replays.least_rated_w(parts, ceiling_w(inverter), known_w)

    def fails_at(self, inverter: Inverter, battery: int, series: int, parallel: int, rated_w: float) -> bool:
        """Whether every array of ``rated_w`` fails there."""
        return self.replays.fails_at(self.parts(inverter, battery, series, parallel), ceiling_w(inverter), rated_w)

    def least_panels(
        self, panel: Mapping[PanelColumn, float], heat_c: float, inverter: Inverter, battery: int, series: int,
        parallel: int, fewest: int, most: float,
    ) -> float:  # fmt: skip
        """Panels of one model on racks of ``heat_c`` at the least, from ``fewest`` to ``most``; infinite where so many
        will not do."""
        of_panel = Panel(float(panel["pmax_w"]), float(panel["pmax_pct_per_c"]), float(panel["noct_c"]), heat_c)
        parts = self.parts(inverter, battery, series, parallel)
        return self.replays.least_panels(of_panel, parts, ceiling_w(inverter), fewest, most)


def ceiling_w(inverter: Inverter) -> float:
    """W that all of the converters make use of."""
    return inverter.units * float(inverter["array_usable_w"])
