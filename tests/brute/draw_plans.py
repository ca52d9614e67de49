"""Draws what starters and tanks add to an instance: motors on long cables, pumped water, the parts for both.

The rest of the catalogue is then drawn around a demand that now and then counts on them, so that some bundles need a
starter or a tank, some are cheaper with one, and some have no use for any.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from tests.brute.draw_job import Draw, months, number
from tests.brute.draw_needs import Catalogue, Cells, Table
from tests.brute.limits import Limits
from tests.brute.loads import Demand, Figures, demand, figures
from tests.brute.parts import Row, starter
from tests.brute.plans import daily_water, start_plans
from tests.brute.reading import Job, Load, job_of, load_of

KINDS = ["three-phase", "three-wire", "three-wire", "three-wire", "psc", "psc", "two-wire"]
FLOWS = [(1200, "L/h", 1.0), (20, "L/min", 60.0), (0.5, "L/s", 3600.0), (6, "gpm", 227.1), (2, "m^3/h", 1000.0)]
VOLUMES = [("L", 1.0), ("gal", 3.785), ("m^3", 1000.0)]
NO_START = {"starting": "none"}
BATTERY_PER_WH = 0.22  # about what draw_parts.py asks for a bank, so that tanks compete with it


class Added:
    """Motors and water in a job, with rows of starters and tanks for them."""

    def __init__(self, draw: Draw, job: dict[str, Any]) -> None:
        self.draw, self.job = draw, job
        self.starters: Table = []
        self.tanks: Table = []
        self.per_wh = BATTERY_PER_WH * draw.uniform(0.05, 0.9)  # what tanks ask for what a Wh less in the bank saves
        self.value: dict[str, float] = {}
        self.pieces: dict[str, int] = {}
        has_starters, has_tanks = draw.chance(0.75), draw.chance(0.75)
        if has_starters or draw.chance(0.3):
            self.motors(has_starters)
        if has_starters:
            for one in draw.sample("abcdefgh", draw.pick([1, 2, 2, 3])):
                self.starters.append(self.starter(f"st-{one}"))
        if has_tanks or draw.chance(0.3):
            self.pumps()
        if has_tanks:
            self.tanks = [self.tank(f"tk-{one}") for one in draw.sample("abcdefgh", draw.pick([1, 2, 2, 3]))]

    # --- the job -----------------------------------------------------------------------------------

    def motors(self, has_starters: bool) -> None:
        """The first load starts hard, others may; most that do have a kind, some of them a long cable. Few are on three
        phases where there is no drive for it."""
        draw, loads = self.draw, self.job["load"]
        for place, load in enumerate(loads):
            if not self.figures(load).starts and (place == 0 or draw.chance(0.4)):
                for key in ("starting", "rated", "locked_rotor_code"):
                    load.pop(key, None)
                self.hard_start(load)
            if not self.figures(load).starts and not draw.chance(0.15):
                continue
            if draw.chance(0.95 if place == 0 else 0.85):
                load["motor"] = draw.pick(KINDS if has_starters or draw.chance(0.05) else KINDS[1:])
                try:
                    self.figures(load)
                except ValueError:  # on three phases its amps are more VA than its start
                    self.hard_start(load)
            if self.figures(load).starts and draw.chance(0.7):
                low, high = (0.02, 0.3) if draw.chance(0.88) else (0.3, 0.42)
                load["cable_drop"] = round(draw.uniform(low, high), 2)
                if draw.chance(0.5):  # what its maker says
                    load["start_volts_least"] = round(draw.uniform(0.4, 0.9 - load["cable_drop"]), 2)
        hard_units = sum(load.get("count", 1) for load in loads if self.figures(load).starts)
        if hard_units > 1 and "restart" not in self.job["supply"]:
            self.job["supply"]["restart"] = draw.pick(["staggered", "staggered", "together"])

    def hard_start(self, load: dict[str, Any]) -> None:
        """A start some times what the load runs with."""
        one = load_of({key: text for key, text in load.items() if key not in ("rated", "locked_rotor_code")} | NO_START)
        hard = figures(one, self.read.sun_hours).running_va * self.draw.uniform(2.2, 6.0)
        load["starting"] = f"{number(hard / one.voltage_v)} A"
        load.pop("locked_rotor_code", None)

    def figures(self, load: dict[str, Any]) -> Figures:
        return figures(load_of(load), self.read.sun_hours)

    def amps(self, load: Load) -> float:
        """The running amps of one unit."""
        return figures(load, self.read.sun_hours).running_a

    @property
    def read(self) -> Job:
        return job_of(self.job)

    def pumps(self) -> None:
        """One load at least lifts water, and a [water] table says what is to be stored and what there is."""
        draw, loads = self.draw, self.job["load"]
        if not any("water_per_day" in load for load in loads) or draw.chance(0.15):
            load = draw.pick([load for load in loads if "water_per_day" not in load] or loads)
            for key in ("hours_per_day", "energy_per_day"):
                load.pop(key, None)
            hours = min(18.0, draw.uniform(0.8, 6.0) * 350 / self.figures(load | {"energy_per_day": "1 Wh"}).running_w)
            flow, name, litres = draw.pick(FLOWS)
            unit, size = draw.pick(VOLUMES)
            load["flow"] = f"{flow} {name}"
            load["water_per_day"] = months(draw, hours * flow * litres * load.get("count", 1) / size, unit)
            if not {"starting", "rated"} & load.keys():
                load["starting"] = "none"
        self.most_water = max(daily_water(self.read))
        water: dict[str, Any] = {}
        if draw.chance(0.4):
            water["reserve_days"] = draw.pick([round(draw.uniform(0.2, 2.5), 1), 1, 1.0, 2])
        if draw.chance(0.3):
            unit, size = draw.pick(VOLUMES)
            share = draw.pick([draw.uniform(0.1, 1.0), draw.uniform(0.1, 1.0), draw.uniform(1.0, 2.5), 0.0])
            water["tank_on_hand"] = f"{number(share * self.most_water / size, 4)} {unit}"
        if draw.chance(0.4):
            water["daytime_with_tank"] = draw.pick([1.0, round(draw.uniform(0.4, 1.0), 2)])
        if draw.chance(0.85):
            water["max_tanks"] = draw.pick([1, 2, 3, 4, 5, 8, 12] if "reserve_days" not in water else [3, 6, 9, 12, 15])
        if draw.chance(0.3):
            low, high = (1.02, 4.0) if draw.chance(0.9) else (0.8, 0.99)
            per_hour = self.most_water / 24 * draw.uniform(low, high)
            unit, size = draw.pick([("L/h", 1.0), ("L/min", 60.0)])
            water["well_yield"] = f"{number(per_hour / size, 5)} {unit}"
        if water:
            self.job["water"] = water

    # --- the parts ---------------------------------------------------------------------------------

    def starter(self, part: str) -> Cells:
        """Around one of the motors, now and then not quite for it; the first one mostly serves every motor that it
        may. One motor on three phases has the first one made for it."""
        draw = self.draw
        motors = [load_of(one) for one in self.job["load"] if self.figures(one).starts or "motor" in one]
        three = [one for one in motors if one.three_phase]
        if three and not self.starters and draw.chance(0.9):
            motors = three
        first = not self.starters and draw.chance(0.7)
        load = max(motors, key=lambda one: self.amps(one)) if first else draw.pick(motors)
        asked = figures(load, self.read.sun_hours)
        amps = self.amps(load)
        first = first or (not self.starters and bool(three))
        room = draw.uniform(1.0, 2.5) if first or draw.chance(0.85) else draw.uniform(0.7, 0.99)
        kind = draw.pick(["soft", "soft", "soft", "tap", "tap", "resistor", "drive", "drive", "drive", "star-delta"])
        if load.three_phase and draw.chance(0.9):
            kind = "drive"
        kinds = draw.sample(["three-wire", "psc", "three-phase"], draw.randint(1, 3))
        if load.motor is not None and load.motor not in kinds and draw.chance(0.8 if load.motor != "two-wire" else 0.3):
            kinds.append(load.motor)
        if first:
            kinds = ["three-wire", "psc", "three-phase"] + ["two-wire"] * draw.chance(0.4)
        factor = draw.uniform(0.62, 1.0) if draw.chance(0.7) else draw.uniform(0.25, 0.75)
        if kind == "tap":
            factor = draw.pick([0.25, 0.4225, 0.64, 0.64, 0.81])
        low = draw.pick(["", "", "100", number(load.voltage_v * (1.0 if draw.chance(0.7) else 1.02), 4)])
        high = draw.pick(["", "", "250", number(load.voltage_v * (1.0 if draw.chance(0.7) else 0.98), 4)])
        if (low and high and float(low) > float(high)) or (first and load.three_phase):
            low = high = ""
        phases_in = 3 if kind == "star-delta" or draw.chance(0.05) else 1
        own: Cells = {"makes_phases": draw.pick(["", str(phases_in)])}
        floors = ["0.5", "1", "1.2", "1.5", "2", "3"]
        if kind == "star-delta":
            kinds = ["three-phase"]
        if kind == "drive":
            floors = ["1", "1", "1.2", "1.5", "2"]
            if load.three_phase and draw.chance(0.9):
                own["makes_phases"] = "3"
            own["efficiency_pct"] = draw.pick(["", "", "90", "97", "100"])
            own["input_power_factor"] = draw.pick(["", "", "0.6", "0.9", "0.98", "1"])
        elif draw.chance(0.3):
            own["start_volts_pct"] = str(draw.randint(50, 100))
        cells = own | {
            "part": part,
            "kind": kind,
            "phases_in": str(phases_in),
            "running_a": repr(amps) if draw.chance(0.1) else number(amps * room),
            "start_factor": "" if kind == "drive" and draw.chance(0.7) else number(factor, 4 if kind == "tap" else 2),
            "floor_x": draw.pick(floors),
            "ramp_s": draw.pick(["", "", "1", "2", "6"]),
            "motors": draw.pick([";", "; "]).join(kinds),
            "volts_min": low,
            "volts_max": high,
            "listed": draw.pick(["yes", "yes", "yes", "no", ""]),
            "weight_kg": draw.pick(["", "2.5"]),
        }
        self.value[part] = draw.uniform(4, 10 + 0.05 * asked.starting_va)
        self.pieces[part] = load.count
        return cells

    def tank(self, part: str) -> Cells:
        """Some hundredths to a bit more than a day's water; its price about that of the bank that it may save."""
        draw = self.draw
        share = draw.pick([draw.uniform(0.17, 0.5), draw.uniform(0.17, 0.5), draw.uniform(0.3, 1.3)])
        usable = draw.pick(["", "", "90", "98", "100"])
        volume = number(self.most_water * share, 3)
        if draw.chance(0.15):  # a day exactly
            usable, volume = "100", repr(self.most_water / draw.pick([1, 2, 3]))
        pumped_wh = max(
            sum(one.energy_wh[month] for one in demand(self.read).loads if one.pumps) for month in range(12)
        )
        self.value[part] = max(2.0, share * pumped_wh / 0.9 / 0.8 * self.per_wh * draw.uniform(0.75, 1.3))
        self.pieces[part] = math.ceil(draw.pick([1.0, 1.0, 2.0]) / share)
        return {
            "part": part,
            "volume_l": volume,
            "usable_pct": usable,
            "footprint_mm": draw.pick(["", "1200"]),
            "note": draw.pick(["", "black"]),
        }

    # --- the catalogue around it -------------------------------------------------------------------

    def demand(self) -> Demand:
        """The demand that the other parts are drawn around: with or without starters, with or without tanks."""
        draw, job = self.draw, self.read
        rows = [starter(Row(cells)) for cells in self.starters]
        asked = demand(job)
        plans = [demand(job, plan) for plan in start_plans(job, rows, Limits())]
        if draw.chance(0.55) or any(load.three_phase for load in job.loads):
            choices = plans if any(load.three_phase for load in job.loads) and plans else [asked, *plans]
            asked = min(choices, key=lambda one: max((case.va for case in one.cases), default=one.running_va))
        if self.tanks and job.max_tanks > 2 and draw.chance(0.3):
            with_tank = job.daytime_with_tank
            days = [figures(load, job.sun_hours, with_tank).daytime for load in job.loads]
            asked = replace(
                asked,
                loads=[
                    replace(one, daytime=share, critical=one.critical and not one.pumps)
                    for one, share in zip(asked.loads, days, strict=True)
                ],
            )
        return asked

    def put_into(self, catalogue: Catalogue) -> None:
        """The rows, and what draw_prices.py and the wishes ask of each part."""
        for name, rows in (("starters", self.starters), ("tanks", self.tanks)):
            if rows:
                catalogue.tables[name] = rows
        for part, value in self.value.items():
            catalogue.flaw[part] = ""
            catalogue.roomy.add(part)
            catalogue.value[part], catalogue.pieces[part] = value, self.pieces[part]
