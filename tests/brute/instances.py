"""Small random catalogues and jobs, the same for the same seed; invented throughout, no real product's figures.

An instance is drawn around its own demand. Of each table the first part is mostly sound and dear; the others are
tempting: cheaper, with room everywhere but in a flaw or two, each a limit that bars them or nearly does.
"""

from __future__ import annotations

import csv
import io
import math
import random
from collections.abc import Sequence
from pathlib import Path
from typing import Any, TypeVar

from .force import best_distinct, enumerate_nodes
from .reading import Job, job_of
from .rules import LEAD_ACID, MONTHS, Demand, cold_factor, demand, placings

Cells = dict[str, str]
Table = list[Cells]
T = TypeVar("T")

COLUMNS = {
    "panels": "part pmax_w voc_v vmp_v isc_a imp_a voc_pct_per_c pmax_pct_per_c noct_c bifacial_pct length_mm "
    "width_mm weight_kg max_system_v max_fuse_a listed note",
    "converters": "part continuous_w continuous_va surge_va surge_s leg_va leg_surge_va efficiency_pct idle_w hz "
    "bank_class_v bank_min_v bank_max_v charge_a charge_settable trackers tracker_max_v tracker_min_v "
    "tracker_top_v tracker_start_v tracker_usable_a tracker_isc_a tracker_max_w tracker_usable_w tracker_strings "
    "array_max_w array_usable_w max_units units_120 units_120_240 units_230 listed weight_kg note",
    "batteries": "part chemistry class_v nominal_v min_v charge_v capacity_ah usable_pct aged_pct daily_pct "
    "capacity_pct_per_c round_trip_pct discharge_a peak_a peak_s charge_a charge_min_a r_mohm max_series "
    "max_parallel coldest_charge_c coldest_discharge_c listed weight_kg note",
    "racks": "part mount max_width_mm max_length_mm max_panel_kg per_panel per_row max_row ballast_kg listed "
    "weight_kg note",
    "extras": "part per quantity when weight_kg note",
    "prices": "part seller price currency min_qty pack stock as_of",
    "sellers": "seller freight",
}
OPTIONAL = set(
    "voc_pct_per_c noct_c bifacial_pct listed note continuous_va leg_va leg_surge_va hz tracker_start_v "
    "tracker_strings array_max_w array_usable_w units_120 units_120_240 units_230 weight_kg aged_pct daily_pct "
    "capacity_pct_per_c charge_min_a r_mohm coldest_discharge_c ballast_kg when min_qty pack stock".split()
)
SUPPLY_COLUMN = {"120": "units_120", "120/240": "units_120_240", "230": "units_230"}
PANEL_FLAWS = "panel-voltage fuse-fits mounting-fit listed hot-voltage tracker-current space allowed".split()
CONVERTER_FLAWS = (
    "running-power running-apparent starting-surge starting-surge leg-balance leg-balance charger charger array-total "
    "cold-voltage cold-voltage hot-voltage wake-voltage tracker-range tracker-current tracker-strings tracker-power "
    "tracker-count supply-match service bank-window charge-limit charge-floor listed allowed daily-energy"
).split()
BATTERY_FLAWS = (
    "bank-series bank-parallel bank-window bank-temperature discharge-current starting-current bank-sag bank-sag "
    "charge-limit charge-rate charge-floor charge-floor night-energy autonomy allowed listed"
).split()
RACK_FLAWS = "mounting-fit listed allowed".split()


class Draw(random.Random):
    """A random source with the few draws that are needed."""

    def chance(self, share: float) -> bool:
        return self.random() < share

    def pick(self, choices: Sequence[T]) -> T:
        return self.choice(choices)


def number(value: float, digits: int = 3) -> str:
    """A cell: `digits` significant digits, at least whole units, no exponent."""
    if value == 0:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


# --- the job ---------------------------------------------------------------------------------------


def degrees(draw: Draw, celsius: int) -> str:
    return f"{celsius} degC" if draw.chance(0.7) else f"{number(celsius * 1.8 + 32, 4)} degF"


def months(draw: Draw, value: float, unit: str, digits: int = 3) -> str | list[str]:
    """One quantity, or twelve around it (some of them zero: a load of the season)."""
    if draw.chance(0.7):
        return f"{number(value, digits)} {unit}"
    season = draw.chance(0.3)
    factors = [0.0 if season and draw.chance(0.25) else draw.uniform(0.5, 1.1) for _ in MONTHS]
    return [f"{number(value * factor, digits)} {unit}" for factor in factors]


def draw_start(draw: Draw, load: dict[str, Any], watts: float, va: float, volts: int) -> None:
    """Adds one of the forms of a start to a motor's load."""
    form = draw.pick(
        ["amps", "amps", "amps", "va", "va", "code", "code", "code", "estimate", "none", "nothing", "below"]
    )
    hp = next(one for one in (0.5, 0.6, 0.75, 1.0) if one * 745.7 >= watts * 0.8 or one == 1.0)
    hard = va * draw.uniform(1.6, 5.0)
    if form == "amps":
        load["starting"] = f"{number(hard / volts)} A"
    elif form == "va":
        load["starting"] = f"{number(hard)} VA" if draw.chance(0.5) else f"{number(hard / 1000)} kVA"
    elif form == "code":
        load["locked_rotor_code"] = draw.pick("BDFGHJK")
        load["rated"] = f"{hp} hp" if draw.chance(0.7) else f"{number(hp * 745.7)} W"
    elif form == "estimate":
        load["rated"] = f"{hp} hp"
    elif form == "none":
        load["starting"] = "none"
    elif form == "below" and load["running"].endswith("W"):
        load.pop("power_factor", None)  # between P and P/0.8: the default power factor gives way
        load["starting"] = f"{math.ceil(watts * draw.uniform(1.01, 1.2))} VA"
    if "starting" in load and load["starting"] != "none" and draw.chance(0.5):
        load["starting_power_factor"] = round(draw.uniform(0.4, 1.0), 2)
    if draw.chance(0.5):
        load["start_time"] = draw.pick(["0.5 s", "0.8 s", "1.5 s", "2 s", "3 s", "0.05 min"])
    if draw.chance(0.5):
        load["motor"] = draw.pick(["two-wire", "three-wire", "psc", "three-phase"])


def draw_load(draw: Draw, place: int, supply: str) -> dict[str, Any]:
    names = ["bore pump", "cold room", "lamps", "stock trough", "workshop"]
    volts = {
        "120": [110, 115, 120, 120, 125],
        "230": [220, 230, 230, 240],
        "120/240": [120, 120, 115, 220, 240, 250],
    }[supply]
    volt = draw.pick(volts)
    watts = draw.uniform(120, 650)
    load: dict[str, Any] = {"name": names[place], "voltage": f"{volt} V"}
    if draw.chance(0.35):
        load["count"] = draw.pick([1, 2, 2, 3])
    count = load.get("count", 1)
    form = draw.pick(["A", "A", "W", "kW", "VA", "kVA"])
    if draw.chance(0.4):
        load["power_factor"] = round(draw.uniform(0.6, 1.0), 2)
    va = watts / (load.get("power_factor") or (0.8 if form in ("W", "kW") else 1.0))
    load["running"] = {
        "A": f"{number(va / volt, 2)} A",
        "W": f"{number(watts, 2)} W",
        "kW": f"{number(watts / 1000, 2)} kW",
        "VA": f"{number(va)} VA",
        "kVA": f"{number(va / 1000)} kVA",
    }[form]
    if draw.chance(0.75 if place == 0 else 0.4):
        draw_start(draw, load, watts, va * 1.06, volt)
    hours = draw.uniform(0.4, 6.0) * 350 / watts / count**0.5
    energy = draw.pick(["hours", "hours", "water", "energy"])
    if energy == "hours":
        load["hours_per_day"] = (
            months(draw, hours, "h", 2) if draw.chance(0.7) else months(draw, hours * 60, "min", 2)
        )
    elif energy == "water":
        flow, name = draw.pick(
            [(1200, "L/h"), (20, "L/min"), (0.5, "L/s"), (6, "gpm"), (400, "gph"), (2, "m^3/h")]
        )
        per_hour = (
            flow * {"L/h": 1, "L/min": 60, "L/s": 3600, "gpm": 227.1, "gph": 3.785, "m^3/h": 1000}[name]
        )
        water = hours * per_hour * count
        load["flow"] = f"{flow} {name}"
        unit, size = draw.pick([("L", 1.0), ("gal", 3.785), ("m^3", 1000.0)])
        load["water_per_day"] = months(draw, water / size, unit)
    else:
        load["energy_per_day"] = (
            months(draw, watts * hours * count, "Wh")
            if draw.chance(0.5)
            else months(draw, watts * hours * count / 1000, "kWh")
        )
    if draw.chance(0.5):
        load["daytime"] = round(draw.uniform(0.0, 0.95), 2)
    if draw.chance(0.35):
        load["critical"] = draw.chance(0.35)
    if supply == "120/240" and volt <= 125 and draw.chance(0.25):
        load["leg"] = draw.pick([1, 2])
    return load


def draw_job(draw: Draw) -> dict[str, Any]:
    supply = draw.pick(["120", "120/240", "120/240", "230"])
    coldest = draw.randint(-24, 8) if draw.chance(0.96) else draw.randint(-46, -38)
    site: dict[str, Any] = {
        "coldest": degrees(draw, coldest),
        "hottest": degrees(draw, draw.randint(max(24, coldest + 10), 46)),
    }
    if draw.chance(0.4):
        site["sun_hours"] = round(draw.uniform(2.4, 6.0), 1)
    else:
        middle, swing = draw.uniform(3.6, 5.4), draw.uniform(0.2, 1.6)
        site["sun_hours"] = [
            round(middle - swing * math.cos(math.pi * (month + draw.uniform(0, 1)) / 6), 1)
            for month in MONTHS
        ]
    if draw.chance(0.75 if coldest < 2 else 0.3):
        site["bank_coldest"] = degrees(draw, draw.randint(max(coldest, -5), 20))
    if draw.chance(0.25):
        site["rear_light"] = draw.pick([0.0, 0.2, 0.30])
    if draw.chance(0.3):
        site["array_factor"] = round(draw.uniform(0.70, 0.90), 2)
    job: dict[str, Any] = {"title": f"Trial {draw.randint(1, 999)}", "site": site, "supply": {"kind": supply}}
    if supply == "230":
        job["supply"]["hz"] = draw.pick([50, 50, 60])
    elif draw.chance(0.4):
        job["supply"]["hz"] = draw.pick([50, 60, 60])
    loads = 1 + draw.chance(0.65) + draw.chance(0.35)
    if supply == "120/240":
        loads = max(loads, draw.randint(1, 4))
    job["load"] = [draw_load(draw, place, supply) for place in range(loads)]
    stated = [load for load in job["load"] if load.get("starting", "none") != "none" or "rated" in load]
    if sum(load.get("count", 1) for load in stated) > 1 or draw.chance(0.3):
        job["supply"]["restart"] = draw.pick(["staggered", "staggered", "together"])
    need = {}
    if draw.chance(0.6):
        need["autonomy_days"] = round(draw.uniform(0.2, 2.5), 1)
    if draw.chance(0.35):
        need["array_to_load"] = round(draw.uniform(1.0, 1.5), 2)
    reserves = {
        "running": (0.0, 0.4),
        "starting": (0.0, 0.4),
        "voltage": (0.0, 0.1),
        "hot_voltage": (0.0, 0.06),
        "current": (0.25, 0.4),
        "parallel_share": (0.5, 1.0),
    }
    reserve = {key: round(draw.uniform(*ends), 2) for key, ends in reserves.items() if draw.chance(0.3)}
    return job | ({"need": need} if need else {}) | ({"reserve": reserve} if reserve else {})


def toml(job: dict[str, Any]) -> str:
    """A job as TOML text."""

    def value(one: Any) -> str:
        if isinstance(one, bool):
            return str(one).lower()
        if isinstance(one, list):
            return "[" + ", ".join(value(item) for item in one) + "]"
        return f'"{one}"' if isinstance(one, str) else str(one)

    lines = [
        f"{key} = {value(one)}" for key, one in job.items() if not isinstance(one, dict) and key != "load"
    ]
    tables = [(f"[[{key}]]", table) for key in ("load",) for table in job.get(key, [])]
    tables += [(f"[{key}]", table) for key, table in job.items() if isinstance(table, dict)]
    for heading, table in tables:
        lines += ["", heading]
        for key, one in table.items():
            lines.append(f'"{key}" = {value(one)}' if heading == "[on_hand]" else f"{key} = {value(one)}")
    return "\n".join(lines) + "\n"


# --- the catalogue ---------------------------------------------------------------------------------


class Catalogue:
    """Draws the tables around one job's demand."""

    def __init__(self, draw: Draw, job: Job, asked: Demand) -> None:
        self.draw, self.job, self.asked = draw, job, asked
        self.tables: dict[str, Table] = {name: [] for name in COLUMNS}
        self.value: dict[str, float] = {}  # part -> about what a piece costs
        self.pieces: dict[str, int] = {}  # part -> about how many pieces a bundle needs
        self.flaws: dict[str, set[str]] = {}
        self.sound: set[str] = set()
        self.eta, self.idle_w = 0.90, draw.pick([4.0, 8.0, 15.0, 25.0])
        self.bank_class = draw.pick([12, 24]) if asked.running_w < 700 else draw.pick([24, 48])
        self.soft_charger = draw.chance(0.7)
        through, day = [], []
        for month in MONTHS:
            night = sum(load.energy_wh[month] * (1 - load.daytime[month]) for load in asked.loads)
            through.append((night / self.eta + self.idle_w * 16) / 0.9)
            sun = sum(load.energy_wh[month] * load.daytime[month] for load in asked.loads)
            day.append(sun / self.eta + self.idle_w * 8 + through[-1])
        self.through_w = max(wh / sun for wh, sun in zip(through, job.sun_hours, strict=True))
        self.night_wh = max(through) * 0.9
        self.need_w = 1.25 * max(wh / sun for wh, sun in zip(day, job.sun_hours, strict=True))
        self.autonomy_wh = job.autonomy_days * max(
            sum(load.energy_wh[month] for load in asked.loads if load.critical) / self.eta + self.idle_w * 24
            for month in MONTHS
        )
        self.start_va = max([case.va for case in asked.cases], default=asked.running_va) * (1 + job.starting)
        self.start_w = max([case.w for case in asked.cases], default=asked.running_w) * (1 + job.starting)
        self.start_s = max([case.time_s for case in asked.cases], default=1.0)
        self.run_w, self.run_va = asked.running_w * (1 + job.running), asked.running_va * (1 + job.running)

    def parts(self, stem: str, count: int, flaws: list[str]) -> list[tuple[str, set[str]]]:
        """Part ids with their flaws: the first mostly sound, the others with one or two."""
        draw = self.draw
        ids = [f"{stem}-{letter}" for letter in draw.sample("abcdefgh", count)]
        found = []
        for place, part in enumerate(ids):
            many = 0 if place == 0 and draw.chance(0.9) else draw.pick([0, 1, 1, 1, 1, 2])
            self.flaws[part] = set(draw.sample(flaws, many))
            if place == 0 and not many:
                self.sound.add(part)
            found.append((part, self.flaws[part]))
        return found

    def near(self, part: str, flaw: str, low: float = 1.03, high: float = 1.7) -> float:
        """Rating over need: with room, more of it in a sound part, or, flawed, mostly a little short."""
        if flaw in self.flaws[part]:
            return self.draw.uniform(0.72, 1.03)
        return self.draw.uniform(low + (0.15 if part in self.sound else 0.0), high)

    def priced(self, part: str, cost: float, pieces: int) -> None:
        self.value[part] = cost * (self.draw.uniform(1.15, 1.6) if part in self.sound else self.draw.uniform(0.7, 1.1))
        self.pieces[part] = max(1, pieces)

    def common(self, part: str) -> Cells:
        """Cells that several tables have."""
        draw = self.draw
        flaws = self.flaws[part]
        return {
            "listed": draw.pick(["no", ""])
            if "listed" in flaws
            else draw.pick(["yes", "yes", "yes", "yes", "no"]),
            "weight_kg": number(draw.uniform(5, 40), 2) if draw.chance(0.3) else "",
            "note": draw.pick(["", "", "", "last year's, boxed", 'says "new"']),
        }

    def panels(self) -> None:
        draw, job = self.draw, self.job
        panels_wanted = draw.uniform(3, 10)
        for part, flaws in self.parts("pn", draw.randint(1, 3), PANEL_FLAWS):
            factor = draw.uniform(0.8, 1.3)
            pmax = min(
                470.0, max(45.0, round(factor * self.need_w / job.array_factor / panels_wanted / 5) * 5)
            )
            vmp = draw.uniform(16, 20) if pmax < 140 else draw.uniform(28, 42)
            voc, imp = vmp * draw.uniform(1.16, 1.24), pmax / vmp * draw.uniform(0.985, 1.015)
            isc = imp * draw.uniform(1.04, 1.09)
            area = pmax / draw.uniform(180, 215) * (1.4 if "space" in flaws else 1.0)  # m²
            length = math.sqrt(area * draw.uniform(1.3, 2.1)) * 1000
            bifacial = draw.pick([0, 60, 70, 80]) if draw.chance(0.4) else 0
            isc_rear = isc * (1 + job.rear_light * bifacial / 100)
            fuse = next(one for one in (10, 15, 20, 25, 30, 35, 40) if one >= 1.5625 * isc_rear)
            if "fuse-fits" in flaws:
                fuse = draw.pick([math.ceil(1.3 * isc), fuse - 1])
            system = draw.pick([600, 1000, 1500])
            if "panel-voltage" in flaws:
                system = math.ceil(draw.pick([1, 1, 2, 2, 3]) * voc * draw.uniform(1.1, 1.5))
            coefficient = "" if draw.chance(0.3) else number(-draw.uniform(0.24, 0.34), 2)
            heat = draw.uniform(0.40, 0.52) if "hot-voltage" in flaws else draw.uniform(0.29, 0.42)
            cells = self.common(part) | {
                "part": part,
                "pmax_w": number(pmax),
                "voc_v": number(voc),
                "vmp_v": number(vmp),
                "isc_a": number(isc, 4),
                "imp_a": number(imp, 4),
                "voc_pct_per_c": coefficient,
                "pmax_pct_per_c": number(-heat, 2),
                "noct_c": number(draw.randint(42, 48)) if draw.chance(0.5) else "",
                "bifacial_pct": number(bifacial) if bifacial or draw.chance(0.4) else "",
                "length_mm": number(length, 4),
                "width_mm": number(area / length * 1e9 / 1000, 4),
                "weight_kg": number(area * draw.uniform(10, 12)),
                "max_system_v": str(system),
                "max_fuse_a": str(fuse),
            }
            self.tables["panels"].append(cells)
            self.priced(part, 0.45 * pmax, round(self.need_w / job.array_factor / pmax))

    def converters(self) -> None:
        for part, flaws in self.parts("cv", self.draw.randint(1, 3), CONVERTER_FLAWS):
            self.tables["converters"].append(self.converter(part, flaws))

    def converter(self, part: str, flaws: set[str]) -> Cells:
        draw, job = self.draw, self.job
        group = 1 if draw.chance(0.8) else 2
        u = group if group == 2 or draw.chance(0.75) else 2
        cells = self.common(part) | {"part": part}

        watts = self.run_w / u * self.near(part, "running-power")
        if draw.chance(0.1):
            watts = round(self.run_w / u, 6)  # met exactly
        apparent = max(watts, self.run_va / u * self.near(part, "running-apparent"))
        if draw.chance(0.5):
            watts = apparent = max(watts, apparent)
        surge = max(apparent, self.start_va / u * self.near(part, "starting-surge"))
        surge_s = draw.pick([1, 2, 3, 5, 5, 10])
        short = "starting-surge" in flaws and draw.chance(0.3)
        if not short and surge_s < self.start_s:
            surge_s = math.ceil(self.start_s)
        elif short:
            surge_s = max(0.2, self.start_s - 0.3)
        exact = "." in str(watts) and len(str(watts)) < 14
        cells |= {
            "continuous_w": repr(watts) if exact else number(math.ceil(watts), 5),
            "continuous_va": "" if watts == apparent else number(math.ceil(apparent) + 1, 5),
            "surge_va": number(math.ceil(surge) + 2, 5),
            "surge_s": number(surge_s),
            "efficiency_pct": number(draw.uniform(86, 95)),
            "idle_w": number(self.idle_w * draw.uniform(0.7, 1.3), 2),
            "charge_settable": "yes" if self.soft_charger else "no",
        }
        if "charge-limit" in flaws:
            cells["charge_settable"] = "no"
        self.legs(cells, part, apparent, surge, u)

        hz = ["50;60", "60;50", str(job.hz), ""]
        cells["hz"] = str(110 - job.hz) if "supply-match" in flaws else draw.pick(hz)
        bank_class = self.bank_class if part in self.sound or draw.chance(0.93) else draw.pick([12, 24, 48])
        low, high = draw.uniform(0.80, 0.92), draw.uniform(1.26, 1.4)
        if "bank-window" in flaws:
            low, high = draw.pick([(draw.uniform(1.01, 1.08), high), (low, draw.uniform(1.12, 1.22))])
        through_a = self.through_w / bank_class / u
        charge_a = through_a * self.near(part, "charger", 1.3, 3.0)
        if "charge-floor" in flaws:
            charge_a = through_a * draw.uniform(1.0, 1.2)
        cells |= {
            "bank_class_v": str(bank_class),
            "bank_min_v": number(bank_class * low),
            "bank_max_v": number(bank_class * high),
            "charge_a": number(charge_a),
            "max_units": str(u if draw.chance(0.5) else min(4, u + group)),
        }
        for kind, column in SUPPLY_COLUMN.items():
            cells[column] = draw.pick(["", "1", "2"])
            if kind == job.supply:
                cells[column] = str(group)
                if "service" in flaws:
                    cells[column] = draw.pick(["", str(group + 1)])
        self.trackers(cells, part, u)
        self.priced(part, 250 + 0.25 * apparent, u)
        return cells

    def legs(self, cells: Cells, part: str, apparent: float, surge: float, u: int) -> None:
        """leg_va and leg_surge_va around what the best placing of the loads asks of a leg."""
        draw, job, asked, flaws = self.draw, self.job, self.asked, self.flaws[part]
        even = 0.0  # the most VA on one leg, by the placing that has the least
        if job.supply == "120/240":
            sums = []
            for placing in placings(asked):
                legs = [
                    sum(
                        units[leg] * load.running_va if load.own_leg else load.count * load.running_va / 2
                        for load, units in zip(asked.loads, placing, strict=True)
                    )
                    for leg in (0, 1)
                ]
                sums.append(max(legs))
            even = min(sums) * (1 + job.running) / u
        need = even * self.near(part, "leg-balance", 1.05, 1.4)
        leg = max(need, apparent / 2 * draw.uniform(0.8, 1.3))
        if "leg-balance" in flaws:
            leg = need or apparent / 2
        leg = min(leg, apparent)
        hardest = max(
            (load.starting_va - load.running_va for load in asked.loads if load.own_leg and load.starts),
            default=0.0,
        )
        leg_surge = max(leg, surge / 2, (even / (1 + job.running) + hardest / u) * (1 + job.starting))
        if "leg-balance" in flaws and draw.chance(0.6):
            leg_surge = max(leg, leg_surge * draw.uniform(0.7, 1.0))
        if draw.chance(0.75) or leg > surge / 2:
            cells["leg_va"] = number(math.floor(leg), 5)
            cells["leg_surge_va"] = number(math.ceil(min(leg_surge, surge)), 5)
            if leg <= surge / 2 and draw.chance(0.2):
                cells["leg_surge_va"] = ""

    def trackers(self, cells: Cells, part: str, u: int) -> None:
        """The columns of the trackers, around strings of one of the panels."""
        draw, job, flaws = self.draw, self.job, self.flaws[part]
        panel = self.tables["panels"][0] if part in self.sound else draw.pick(self.tables["panels"])
        pmax, voc, vmp = (float(panel[name]) for name in ("pmax_w", "voc_v", "vmp_v"))
        imp, isc, heat = (float(panel[name]) for name in ("imp_a", "isc_a", "pmax_pct_per_c"))
        isc *= 1 + job.rear_light * float(panel["bifacial_pct"] or 0) / 100
        beta = float(panel["voc_pct_per_c"] or -0.38)
        cold = max(1.0, 1 + beta / 100 * (job.coldest_c - 25))
        hot_c = job.hottest_c + (float(panel["noct_c"] or 45) - 20) * 1.25 - 25
        hot, wake = 1 + heat / 100 * hot_c, 1 + beta / 100 * hot_c

        total = self.need_w / job.array_factor / pmax * draw.uniform(1.0, 1.25)  # panels wanted
        trackers = draw.pick([1, 1, 2, 2, 3]) if u == 1 else draw.pick([1, 1, 2])
        if "tracker-count" in flaws:
            trackers, total = 1, total * 0.8
        each = max(1, math.ceil(total / trackers / u))
        m = draw.pick([1, 1, 1, 2, 2, 3, 4] if each >= 4 else [1, 1, 2])
        n = max(1, math.ceil(each / m))
        top_n = n + (0 if "tracker-range" in flaws else draw.uniform(0.1, 1.4))
        max_v = n * voc * cold / (1 - job.voltage) * draw.uniform(1.03, 1.5)
        if "cold-voltage" in flaws:
            max_v = (n - draw.pick([0.6, 0.3, 0.05, 0.0])) * voc * cold / (1 - job.voltage)
            top_n = n + draw.uniform(0.0, 0.3)
        max_v = max(max_v, 1.05 * vmp)
        top_v = min(max_v, max(vmp * 1.02, top_n * vmp * draw.uniform(1.0, 1.05)))
        low_n = max(1, n - draw.pick([0, 1, 1, 2]))
        min_v = low_n * vmp * hot * (1 - job.hot_voltage) * draw.uniform(0.75, 1.0)
        if "hot-voltage" in flaws:
            min_v = n * vmp * hot * draw.uniform(0.97, 1.06)
        min_v = min(min_v, top_v * 0.93)
        max_w = n * m * pmax * self.near(part, "tracker-power", 1.0, 1.5)
        max_w = max(max_w, pmax * 1.01)
        usable = self.need_w / trackers / u * self.near(part, "daily-energy", 1.0, 1.5)
        usable_a = m * imp * draw.uniform(0.9, 1.7)
        isc_a = m * isc * (1 + job.current) * draw.uniform(1.02, 1.8)
        if "tracker-current" in flaws:
            isc_a = (m - draw.pick([0.5, 0.02, 0.1]) * (m > 1)) * isc * (1.02 if m > 1 else 1.2)
            usable_a = min(usable_a, isc_a * 0.9)
        cells |= {
            "trackers": str(trackers),
            "tracker_max_v": number(max_v, 4),
            "tracker_top_v": number(min(top_v, math.floor(max_v)), 4),
            "tracker_min_v": number(min_v),
            "tracker_usable_a": number(usable_a),
            "tracker_isc_a": number(max(isc_a, usable_a)),
            "tracker_max_w": number(max_w, 4),
            "tracker_usable_w": number(min(usable, max_w), 4),
        }
        if "wake-voltage" in flaws:
            cells["tracker_start_v"] = number(n * voc * wake * draw.uniform(0.97, 1.04))
        elif draw.chance(0.4):
            cells["tracker_start_v"] = number(min(min_v * draw.uniform(1.0, 1.1), low_n * voc * wake))
        if "tracker-strings" in flaws or draw.chance(0.4):
            fewer = "tracker-strings" in flaws or draw.chance(0.1)
            cells["tracker_strings"] = str(max(1, m - 1) if fewer else m + draw.pick([0, 1]))
        if "array-total" in flaws:
            cells["array_max_w"] = number(total * pmax / u * draw.uniform(0.6, 1.0), 4)
        elif draw.chance(0.4):
            cells["array_max_w"] = number(trackers * max_w * draw.uniform(0.9, 1.0), 4)
        if "daily-energy" in flaws or draw.chance(0.4):
            cells["array_usable_w"] = number(
                trackers * min(usable, max_w) * draw.uniform(0.8 if "daily-energy" in flaws else 0.95, 1.0), 4
            )

    def batteries(self) -> None:
        chemistry = self.draw.pick(["lfp", "lfp", "agm", "flooded"])
        for part, flaws in self.parts("bt", self.draw.randint(1, 3), BATTERY_FLAWS):
            self.tables["batteries"].append(self.battery(part, flaws, chemistry))

    def battery(self, part: str, flaws: set[str], usual: str) -> Cells:
        draw, job = self.draw, self.job
        chemistry = usual if draw.chance(0.5) else draw.pick(["lfp", "lfp", "agm", "gel", "flooded", "other"])
        if "charge-floor" in flaws and chemistry not in LEAD_ACID:
            chemistry = draw.pick(LEAD_ACID)
        class_v = draw.pick([one for one in (2, 6, 12, 24, 48) if one <= self.bank_class <= 8 * one])
        if part not in self.sound and draw.chance(0.06):
            class_v = draw.pick([2, 6, 12, 24, 48])
        s = max(1, self.bank_class // class_v)
        lead = chemistry in LEAD_ACID
        nominal = class_v * (1.0 if lead else 16 / 15)
        low, charge = (0.88, draw.uniform(1.18, 1.24)) if lead else (0.88, draw.uniform(1.08, 1.13))
        if "bank-window" in flaws:
            charge *= 1.15
        usable = draw.randint(50, 80) if lead else draw.randint(75, 95)
        aged = draw.randint(70, 90) if draw.chance(0.4) else None
        stated_daily = draw.randint(20, 60) if draw.chance(0.4) else None
        daily = stated_daily or (25 if lead else usable)
        fade = round(draw.uniform(0.2, 1.2), 1) if draw.chance(0.3) else None
        k = draw.pick([1, 1, 2, 2, 3])
        shared = 1.0 if k == 1 else k * job.parallel_share

        loss = (fade if fade is not None else 0.5 if chemistry == "lfp" else 1.0) / 100
        warmth = max(0.2, 1 - loss * max(0.0, 25 - job.bank_coldest_c))
        of_day = min(daily, usable, aged or 80) / 100 * warmth
        of_all = min(usable, aged or 80) / 100 * warmth
        night = self.night_wh / of_day * self.near(part, "night-energy", 1.03, 1.4)
        sunless = self.autonomy_wh / of_all * self.near(part, "autonomy", 1.03, 1.4)
        if "night-energy" in flaws:
            sunless = self.autonomy_wh / of_all * 1.1
            night = max(night, sunless * 0.9)
        capacity = max(night, sunless) / (s * nominal) / k
        if ("autonomy" in flaws or "night-energy" in flaws) and k == 1:
            k = 2
        volts_low = self.eta * s * nominal * low
        run_a = self.run_w / volts_low / shared * self.near(part, "discharge-current", 1.05, 2.0)
        start_a = self.start_w / volts_low / shared * self.near(part, "starting-current", 1.05, 2.0)
        lasts = draw.pick([1, 3, 5, 10])
        if lasts < self.start_s:
            lasts = math.ceil(self.start_s) if "starting-current" not in flaws or draw.chance(0.5) else lasts
        charge_a = self.through_w / (s * nominal) / shared * self.near(part, "charge-rate", 1.1, 3.0)
        charger_a = max(float(one["charge_a"]) * int(one["max_units"]) for one in self.tables["converters"])
        if not lead and "charge-rate" not in flaws:
            charge_a = max(charge_a, charger_a / shared * self.near(part, "charge-limit", 0.9, 1.4))
        elif not self.soft_charger and not flaws:
            charge_a = max(charge_a, charger_a / shared * 1.02)
        cells = self.common(part) | {
            "part": part,
            "chemistry": chemistry,
            "class_v": str(class_v),
            "nominal_v": number(nominal),
            "min_v": number(nominal * low),
            "charge_v": number(nominal * charge),
            "capacity_ah": number(capacity),
            "usable_pct": str(usable),
            "aged_pct": str(aged or ""),
            "daily_pct": str(stated_daily or ""),
            "capacity_pct_per_c": "" if fade is None else str(fade),
            "round_trip_pct": number(draw.uniform(78, 88) if lead else draw.uniform(90, 96)),
            "discharge_a": number(run_a),
            "peak_a": number(max(run_a, start_a) + 1),
            "peak_s": str(lasts),
            "charge_a": number(charge_a),
            "max_series": str(max(1, s - 1) if "bank-series" in flaws else s + draw.pick([0, 0, 1, 2])),
            "max_parallel": str(max(1, k - 1) if "bank-parallel" in flaws else k + draw.pick([0, 0, 1])),
        }
        if lead and "charge-floor" in flaws:
            floor = min(self.need_w / (s * nominal), charger_a) / k
            cells["charge_min_a"] = number(floor * draw.uniform(0.9, 1.3))
        elif draw.chance(0.25):
            cells["charge_min_a"] = number(draw.uniform(0, 0.03) * capacity) if capacity > 1 else "0"
        sag_v = s * nominal * (1 - low)
        if "bank-sag" in flaws or draw.chance(0.35):
            drop = self.start_w / volts_low * s / 1000 / k
            cells["r_mohm"] = number(sag_v / drop * (draw.uniform(0.95, 1.4) if "bank-sag" in flaws else 0.5))
        usual_cold = draw.pick([-20, 0, 0]) if chemistry == "lfp" else draw.pick([-20, -30])
        cold = min(usual_cold, math.floor(job.bank_coldest_c) - draw.randint(0, 6))
        if "bank-temperature" in flaws:
            cold = math.ceil(job.bank_coldest_c) + draw.randint(0, 6)
        cells["coldest_charge_c"] = str(cold)
        if draw.chance(0.4) or job.bank_coldest_c < -20:
            cells["coldest_discharge_c"] = str(min(-20, math.floor(job.bank_coldest_c) - draw.randint(0, 10)))
        self.priced(part, 20 + 0.22 * capacity * nominal, s * k)
        return cells

    def racks(self) -> None:
        draw = self.draw
        panels = self.tables["panels"]
        for part, flaws in self.parts("rk", draw.randint(1, 2), RACK_FLAWS):
            sizes = [
                (float(one["width_mm"]), float(one["length_mm"]), float(one["weight_kg"])) for one in panels
            ]
            most = [max(size[place] for size in sizes) * draw.uniform(1.02, 1.3) for place in range(3)]
            if "mounting-fit" in flaws:
                place = draw.randrange(3)
                middle = sorted(size[place] for size in sizes)[len(sizes) // 2]
                most[place] = middle * draw.pick([0.97, 1.0, 1.01])
            per_panel, per_row = draw.pick([0, 0.5, 1, 1, 1.1, 1.25]), draw.pick([0, 0.6, 1, 1, 2])
            if not per_panel and not per_row:
                per_row = 1
            cells = self.common(part) | {
                "part": part,
                "mount": draw.pick(["ground-ballast", "ground-post", "roof", "pole"]),
                "max_width_mm": number(most[0], 4),
                "max_length_mm": number(most[1], 4),
                "max_panel_kg": number(most[2]),
                "per_panel": str(per_panel),
                "per_row": str(per_row),
                "max_row": str(draw.randint(1, 6)),
                "ballast_kg": str(draw.randint(0, 80)) if draw.chance(0.3) else "",
            }
            self.tables["racks"].append(cells)
            self.priced(part, draw.uniform(12, 45), 6)

    def extras(self) -> None:
        draw = self.draw
        for place in range(draw.randint(0, 3)):
            part = f"ex-{place + 1}"
            cells = {
                "part": part,
                "per": draw.pick(["system", "converter", "battery", "bank-string", "string", "panel", "row"]),
                "quantity": draw.pick(["1", "1", "2", "0.5", "0.25", "1.1"]),
                "when": draw.pick(["", "always", "fused", "fused", "stacked", "paralleled-bank"]),
                "weight_kg": "1.5" if draw.chance(0.2) else "",
                "note": "",
            }
            self.tables["extras"].append(cells)
            self.flaws[part] = set()
            self.priced(part, draw.uniform(3, 50), 3)

    def twin(self) -> None:
        """Now and then a part that looks like another, at nearly its price."""
        draw = self.draw
        table = draw.pick(["panels", "converters", "batteries", "racks"])
        rows = self.tables[table]
        if len(rows) == 3 or not draw.chance(0.2):
            return
        old = draw.pick(rows)
        part = old["part"][:3] + draw.pick("ajz") + "2"
        rows.append(old | {"part": part})
        self.flaws[part] = self.flaws[old["part"]]
        self.value[part], self.pieces[part] = self.value[old["part"]], self.pieces[old["part"]]

    def prices(self) -> list[str]:
        """Fills prices and sellers; returns the sellers."""
        draw = self.draw
        sellers = draw.sample(["north", "east", "harbour", "mill"], draw.randint(2, 3))
        heavy = draw.pick([0.02, 0.05, 0.15])
        worth = sum(self.value.values())
        for seller in sellers:
            if draw.chance(0.9):
                freight = draw.pick([0.0, round(draw.uniform(0.2, 1.8) * heavy * worth, draw.pick([0, 2]))])
                self.tables["sellers"].append({"seller": seller, "freight": number(freight, 6)})
        twins: dict[float, list[Cells]] = {}
        for part, value in self.value.items():
            if value in twins and draw.chance(0.7):  # the twin: the same offers, a cent more or less, or not
                cent = draw.pick([0, 0, 1, -1])
                for row in twins[value]:
                    price = f"{max(0.01, float(row['price']) + cent / 100):.2f}"
                    self.tables["prices"].append(row | {"part": part, "price": price})
                continue
            rows = self.offers(part, value, sellers)
            twins[value] = rows
            self.tables["prices"] += rows
        return sellers

    def offers(self, part: str, value: float, sellers: list[str]) -> list[Cells]:
        draw = self.draw
        if draw.chance(0.10 if self.flaws[part] else 0.015):
            return []  # without a price
        rows = []
        need = self.pieces[part]
        for seller in draw.sample(sellers, draw.randint(1, len(sellers))):
            price = value * draw.uniform(0.85, 1.2)
            stock = str(max(1, round(need * draw.uniform(0.3, 1.6)))) if draw.chance(0.3) else ""
            row = {
                "part": part,
                "seller": seller,
                "price": f"{max(price, 0.01):.{draw.pick([0, 1, 2, 2])}f}",
                "currency": "USD",
                "min_qty": draw.pick(["", "", "", "1", "2", "3"]),
                "pack": draw.pick(["", "", "", "1", "2", "3", "4"]) if need > 1 else draw.pick(["", "1"]),
                "stock": stock,
                "as_of": f"2026-{draw.randint(1, 12):02d}-{draw.randint(1, 28):02d}",
            }
            if float(row["price"]) == 0:
                row["price"] = "0.5"
            rows.append(row)
            if draw.chance(0.3):  # cheaper from some pieces up
                least = max(2, round(need * draw.uniform(0.5, 1.3)))
                cheaper = f"{max(0.01, float(row['price']) * draw.uniform(0.75, 0.98)):.2f}"
                shown = draw.pick([stock, ""])
                rows.append(row | {"price": cheaper, "min_qty": str(least), "stock": shown})
        return rows


def draw_wishes(draw: Draw, job: dict[str, Any], catalogue: Catalogue, sellers: list[str]) -> None:
    """Adds ceiling, space, allow and on_hand, which speak of the parts."""
    tables = catalogue.tables
    by_value = sorted(catalogue.value, key=lambda part: catalogue.value[part])
    if draw.chance(0.3):
        panel = draw.pick(tables["panels"])
        n = draw.pick([1, 2, 2, 3, 4])
        ceiling = n * float(panel["voc_v"]) * draw.uniform(1.12, 1.5)
        job["site"]["array_ceiling"] = f"{max(60, math.ceil(ceiling))} V"
    space: dict[str, Any] = {}
    panel = tables["panels"][0]
    count = catalogue.pieces[panel["part"]]
    area = float(panel["length_mm"]) * float(panel["width_mm"]) / 1e6
    if draw.chance(0.2):
        space["max_panels"] = max(1, math.ceil(count * draw.uniform(1.0, 1.5)))
    if draw.chance(0.25):
        unit, size = draw.pick([("m^2", 1.0), ("ft^2", 0.0929)])
        space["max_area"] = f"{number(count * area * draw.uniform(1.0, 1.5) / size)} {unit}"
    if draw.chance(0.25):
        space["row_max"] = draw.randint(1, 4)
    if draw.chance(0.25):
        space["mounts"] = sorted({tables["racks"][0]["mount"], draw.pick(["roof", "pole", "ground-post"])})
    allow: dict[str, Any] = {}
    if draw.chance(0.2):
        allow["chemistries"] = sorted({tables["batteries"][0]["chemistry"], draw.pick(["lfp", "agm", "gel"])})
    if draw.chance(0.2):
        allow["sellers"] = draw.sample(sellers, len(sellers) - 1)
    barred = [part for part in by_value if "allowed" in catalogue.flaws[part]]
    if draw.chance(0.05):
        barred.append(draw.pick(by_value))
    if barred:
        allow["exclude"] = barred
    if draw.chance(0.2 if not any("listed" in flaws for flaws in catalogue.flaws.values()) else 0.6):
        allow["listed_only"] = draw.chance(0.9)
        if draw.chance(0.75):  # not for want of a listed first part
            for table in ("panels", "converters", "batteries", "racks"):
                tables[table][0]["listed"] = "yes"
    on_hand = {}
    if draw.chance(0.3):
        for part in draw.sample(by_value, min(len(by_value), draw.randint(1, 3))):
            on_hand[part] = max(1, round(catalogue.pieces[part] * draw.uniform(0.3, 1.2)))
    for key, table in (("space", space), ("allow", allow), ("on_hand", on_hand)):
        if table:
            job[key] = table


def write_table(draw: Draw, folder: Path, name: str, rows: Table) -> None:
    """One CSV file; now and then with a byte-order mark, a comment, a column of its own, or without empty columns."""
    columns = [
        column
        for column in COLUMNS[name].split()
        if column not in OPTIONAL or any(row.get(column) for row in rows) or draw.chance(0.5)
    ]
    if draw.chance(0.1):
        columns.append("shelf_code")
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    if draw.chance(0.15):
        writer.writerow(["# invented parts, for trials"])
    writer.writerow(columns)
    for row in rows:
        if draw.chance(0.04):
            writer.writerow(["# one row left out, later perhaps"] + [""] * (len(columns) - 1))
        writer.writerow([row.get(column, "s1" if column == "shelf_code" else "") for column in columns])
    mark = "\ufeff" if draw.chance(0.1) else ""
    (folder / f"{name}.csv").write_text(mark + text.getvalue(), encoding="utf-8", newline="")


def write_instance(folder: Path, seed: int) -> tuple[Path, Path]:
    """Writes a random small catalogue and a job into `folder`; returns (catalogue folder, job file)."""
    draw = Draw(seed)
    job = draw_job(draw)
    read = job_of(job)
    catalogue = Catalogue(draw, read, demand(read))
    catalogue.panels()
    catalogue.converters()
    catalogue.batteries()
    catalogue.racks()
    catalogue.twin()
    catalogue.extras()
    sellers = catalogue.prices()
    draw_wishes(draw, job, catalogue, sellers)

    catalog_dir, job_path = folder / "catalog", folder / "job.toml"
    catalog_dir.mkdir(parents=True, exist_ok=True)
    for name, rows in catalogue.tables.items():
        if name != "sellers" or rows:
            write_table(draw, catalog_dir, name, rows)
    if draw.chance(0.3):
        job = {"title": job["title"], "catalog": draw.pick(["catalog", "./catalog"])} | job
    job_path.write_text(toml(job), encoding="utf-8")
    if draw.chance(0.2):
        job.setdefault("need", {})["budget"] = draw_budget(draw, catalog_dir, job_path)
        job_path.write_text(toml(job), encoding="utf-8")
    return catalog_dir, job_path


def draw_budget(draw: Draw, catalog_dir: Path, job_path: Path) -> float | int:
    """A budget that is just enough, a cent too low, between two options, or ample."""
    options = best_distinct(enumerate_nodes(catalog_dir, job_path))
    if not options:
        return draw.randint(500, 3000)
    least, last = float(options[0].total), float(options[-1].total)
    budget = draw.pick(
        [least, least - 0.01, round((least + last) / 2, 2), last, round(least * 1.5), least * 0.9]
    )
    return round(budget, 2)


def mutate_rows(folder: Path, seed: int) -> None:
    """Shuffles rows and columns of each CSV file of a catalogue folder and ends its lines with CRLF; content same."""
    draw = Draw(seed)
    for path in sorted(folder.glob("*.csv")):
        mark, text = "", path.read_text(encoding="utf-8")
        if text.startswith("\ufeff"):
            mark, text = "\ufeff", text[1:]
        lines = list(csv.reader(io.StringIO(text, newline="")))
        comments = [line for line in lines if line[:1] and line[0].startswith("#")]
        header, *rows = [line for line in lines if line not in comments]
        order = draw.sample(range(len(header)), len(header))
        draw.shuffle(rows)
        new = io.StringIO()
        writer = csv.writer(new, lineterminator="\r\n")
        writer.writerows(comments)
        writer.writerows([[line[place] for place in order] for line in [header, *rows]])
        path.write_text(mark + new.getvalue(), encoding="utf-8", newline="")
