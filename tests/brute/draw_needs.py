"""About what a job's demand asks of each rating, and the flaws that the parts of a catalogue are given.

Of each table the first part is mostly sound: dear, with room in every limit. The others are tempting (cheap,
with room in every limit but the one that is their flaw) or ordinary (no flaw meant, but little room).
"""

from __future__ import annotations

import math

from tests.brute.draw_job import Draw, number
from tests.brute.limits import MONTHS
from tests.brute.loads import Demand
from tests.brute.reading import Job

Cells = dict[str, str]
Table = list[Cells]

TABLES = ("panels", "converters", "batteries", "racks", "extras", "prices", "sellers")
# A limit named more than once is drawn more often: it would bind too seldom otherwise. `heat` is a rack that makes its
# panels hotter than the others do, `idle-current` a battery short of what the converter draws for itself,
# `cold-fade` one that would be large enough if lead-acid lost 1 % a degree in the cold.
FLAWS = {
    "panels": "panel-voltage fuse-fits fuse-fits mounting-fit space listed allowed",
    "converters": """running-power running-power running-power running-apparent running-apparent
        starting-surge starting-surge starting-surge starting-surge leg-balance leg-balance
        charger charger charger array-total array-total tracker-current tracker-current
        cold-voltage hot-voltage wake-voltage wake-voltage wake-voltage tracker-strings
        tracker-strings tracker-strings supply-match supply-match charge-limit charge-limit
        bank-window daily-energy service listed allowed""",
    "batteries": """bank-series bank-temperature bank-freeze bank-freeze bank-freeze bank-freeze bank-freeze bank-freeze
        bank-freeze bank-freeze bank-freeze bank-freeze bank-freeze bank-freeze bank-freeze bank-freeze
        bank-heat bank-heat bank-heat idle-current idle-current idle-current cold-fade cold-fade cold-fade
        discharge-current starting-current starting-current bank-sag bank-sag bank-sag bank-sag bank-window
        charge-limit charge-limit charge-rate charge-rate charge-floor charge-floor charge-floor
        night-energy autonomy autonomy bank-parallel allowed listed""",
    "racks": "mounting-fit mounting-fit heat heat heat listed allowed",
}


class Catalogue:
    """The tables of a catalogue, still empty, and about what the demand asks of its parts."""

    def __init__(self, draw: Draw, job: Job, asked: Demand) -> None:
        self.draw, self.job, self.asked = draw, job, asked
        self.tables: dict[str, Table] = {name: [] for name in TABLES}
        self.value: dict[str, float] = {}  # part -> about what a piece costs
        self.pieces: dict[str, int] = {}  # part -> about how many pieces a bundle needs
        self.flaw: dict[str, str] = {}  # part -> the limit it is to break, or ""
        self.roomy: set[str] = set()  # parts with room in every limit but their flaw
        self.eta, self.idle_w = 0.90, draw.pick([4.0, 8.0, 15.0, 25.0])
        self.bank_class = draw.pick([12, 24]) if asked.running_w < 700 else draw.pick([24, 48])
        self.soft_charger = draw.chance(0.7)

        through, day = [], []
        for month in MONTHS:
            night = sum(load.energy_wh[month] * (1 - load.daytime[month]) for load in asked.loads)
            through.append((night / self.eta + self.idle_w * 20) / 0.9)
            sun = sum(load.energy_wh[month] * load.daytime[month] for load in asked.loads)
            day.append(sun / self.eta + self.idle_w * 10 + through[-1])
        self.through_w = max(wh / sun for wh, sun in zip(through, job.sun_hours, strict=True))
        self.night_wh = max(through) * 0.9
        hardest = max(wh / sun for wh, sun in zip(day, job.sun_hours, strict=True))
        self.need_w = (job.array_to_load or 1.25) * 1.03 * hardest
        self.autonomy_wh = job.autonomy_days * max(
            sum(load.energy_wh[month] for load in asked.loads if load.critical) / self.eta + self.idle_w * 30
            for month in MONTHS
        )
        self.start_va = max([case.va for case in asked.cases], default=asked.running_va) * (1 + job.starting)
        self.start_w = max([case.w for case in asked.cases], default=asked.running_w) * (1 + job.starting)
        self.start_s = max([case.time_s for case in asked.cases], default=1.0)
        self.run_w, self.run_va = asked.running_w * (1 + job.running), asked.running_va * (1 + job.running)

        # What the racks of the roomy parts add to the cells' heat, °C.
        self.heat_c = draw.pick([0, 0, 0, 0, 6, 12, 15])
        # The array that the roomy parts are drawn around: trackers, strings on each, panels in each.
        self.panels_wanted = draw.uniform(3, 11)
        self.tracker_count = draw.pick([1, 1, 2, 2, 3])
        self.parallel = draw.pick([1, 1, 1, 2, 2])
        if draw.chance(0.35):  # many short strings on one tracker, so that fuses are asked for
            self.tracker_count, self.parallel, self.panels_wanted = (
                1,
                draw.pick([3, 4, 5]),
                draw.uniform(4, 10),
            )
        self.series = max(1, math.ceil(self.panels_wanted / self.tracker_count / self.parallel))

    def parts(self, table: str, stem: str, count: int) -> list[str]:
        """Part ids with their flaws: the first mostly sound."""
        draw = self.draw
        flaws = FLAWS[table].split()
        if self.job.supply != "120/240":
            flaws = [flaw for flaw in flaws if flaw != "leg-balance"]
        if self.parallel < 3:
            flaws = [flaw for flaw in flaws if flaw != "fuse-fits"]
        if self.job.bank_coldest_c > 12:
            flaws = [flaw for flaw in flaws if flaw != "cold-fade"]
        if self.job.bank_coldest_c >= -8:  # nothing freezes
            flaws = [flaw for flaw in flaws if flaw != "bank-freeze"]
        if not self.asked.cases:
            flaws = [flaw for flaw in flaws if flaw not in ("starting-surge", "starting-current", "bank-sag")]
        ids = [f"{stem}-{letter}" for letter in draw.sample("abcdefgh", count)]
        for place, part in enumerate(ids):
            first = place == 0 and draw.chance(0.9)
            self.flaw[part] = draw.pick(flaws) if not first and draw.chance(0.75) else ""
            if first or self.flaw[part]:
                self.roomy.add(part)
        return ids

    def near(self, part: str, flaw: str, low: float = 1.03, high: float = 1.6) -> float:
        """Rating over need: with room (little of it in an ordinary part); short where that is the flaw."""
        if flaw == self.flaw[part]:
            return self.draw.uniform(0.75, 0.99)
        return self.draw.uniform(low + (0.15 if part in self.roomy else 0.0), high)

    def priced(self, part: str, cost: float, pieces: int) -> None:
        factor = (1.0, 1.5)
        if self.flaw[part]:
            factor = (0.5, 0.85)
        elif part not in self.roomy:
            factor = (0.7, 1.2)
        self.value[part] = cost * self.draw.uniform(*factor)
        self.pieces[part] = max(1, pieces)

    def common(self, part: str) -> Cells:
        """Cells that several tables have."""
        draw = self.draw
        listed = (
            draw.pick(["no", ""])
            if self.flaw[part] == "listed"
            else draw.pick(["yes"] * (20 if part in self.roomy else 4) + ["no", ""])
        )
        return {
            "part": part,
            "listed": listed,
            "weight_kg": number(draw.uniform(5, 40), 2) if draw.chance(0.3) else "",
            "note": draw.pick(["", "", "", "last year's, boxed", 'says "new"']),
        }
