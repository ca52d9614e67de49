"""Random complete job files for the tests and benchmarks: realistic wells, houses and sites, all invented.

Everything is drawn from a seed, the same file for the same seed. About six jobs in seven can be met from the
shipped catalogue.
"""

from __future__ import annotations

import json
import math
import random
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

MONTHS = 12
LITRES_A_GALLON = 3.785411784
Range = tuple[float, float]
Table = dict[str, Any]


@dataclass(frozen=True)
class Climate:
    """A kind of site: ranges of the lowest and highest air temperature (degC), mean sun hours and their swing."""

    coldest_c: Range
    hottest_c: Range
    sun: Range
    swing: Range


CLIMATES = {
    "desert": Climate((-6, 2), (42, 48), (6.0, 6.6), (0.7, 1.1)),
    "plain": Climate((-18, -8), (34, 40), (4.4, 5.0), (0.9, 1.2)),
    "mountain": Climate((-33, -20), (28, 34), (4.6, 5.3), (0.8, 1.4)),
    "north": Climate((-28, -12), (27, 33), (3.4, 3.9), (1.6, 2.0)),
    "coast": Climate((-4, 3), (29, 37), (4.3, 5.1), (0.9, 1.4)),
    "tropics": Climate((12, 18), (33, 39), (4.7, 5.5), (0.1, 0.4)),
}


@dataclass(frozen=True)
class Appliance:
    """A kind of house or farm load: W while it runs, start as a multiple of its running VA, hours a day, daytime."""

    watts: Range
    hours: Range
    daytime: float
    start: Range | None = None
    critical: bool = True


APPLIANCES = {
    "lights": Appliance((40, 250), (3, 6), 0.0),
    "fridge": Appliance((90, 190), (7, 11), 0.4, (3.0, 6.0)),
    "freezer": Appliance((120, 240), (8, 12), 0.4, (3.0, 5.5)),
    "phones and radio": Appliance((20, 80), (4, 10), 0.3),
    "kettle": Appliance((900, 1500), (0.2, 0.6), 0.5, None, False),
    "washer": Appliance((350, 600), (0.4, 1.0), 0.9, (2.0, 3.5), False),
    "workshop tools": Appliance((500, 1400), (0.5, 2.0), 0.9, (2.0, 3.5), False),
    "cool room": Appliance((300, 700), (5, 9), 0.45, (3.0, 5.0)),
    "milk cooler": Appliance((500, 1100), (2, 5), 0.5, (3.0, 4.5)),
    "fans": Appliance((50, 200), (5, 10), 0.6),
}

HORSEPOWER = {0.25: "0.25 hp", 0.5: "0.5 hp", 0.75: "0.75 hp", 1.0: "1 hp", 1.5: "1.5 hp", 2.0: "2 hp", 3.0: "3 hp"}
WATTS_A_HP = 1150.0  # what a small pump takes from the supply for each rated hp
LEAST_WH = 1000.0  # a day
LARGEST_TANK_L = 20_000.0  # usable, well within the largest of the shipped catalogue
MOST_STORED_L = 60_000.0  # nobody with a larger pump wants days of it stored


class Draw(random.Random):
    """A random source with the draws that are needed."""

    def chance(self, share: float) -> bool:
        """True in that share of the draws."""
        return self.random() < share

    def within(self, bounds: Range) -> float:
        """A number between two bounds."""
        return self.uniform(*bounds)


def figure(value: float, digits: int = 2) -> float | int:
    """A value with so many significant digits, a whole number where it is one."""
    places = digits - 1 - math.floor(math.log10(abs(value))) if value else 0
    rounded = round(value, places)
    return int(rounded) if rounded == int(rounded) else rounded


def degrees(celsius: float, us: bool) -> str:
    """A temperature in the units of the job, in whole degrees."""
    return f"{round(celsius * 1.8 + 32)} degF" if us else f"{round(celsius)} degC"


def draw_site(draw: Draw, climate: Climate, us: bool) -> Table:
    """Temperatures and sun of one site, on either side of the equator."""
    coldest = draw.within(climate.coldest_c)
    mean, swing, midsummer = draw.within(climate.sun), draw.within(climate.swing), draw.choice((5, 5, 5, 11))
    sun = [mean + swing * math.cos(2 * math.pi * (month - midsummer) / MONTHS) for month in range(MONTHS)]
    site: Table = {
        "coldest": degrees(coldest, us),
        "hottest": degrees(draw.within(climate.hottest_c), us),
        "sun_hours": [round(hours * draw.uniform(0.95, 1.05), 1) for hours in sun],
    }
    if draw.chance(0.65):  # most banks stand in a shed or a cellar
        site["bank_coldest"] = degrees(max(coldest, draw.choice((2, 5, 8, 12, 16))), us)
    if coldest < 0 and draw.chance(0.15):
        site["rear_light"] = 0.30
    return site


def add_start(draw: Draw, load: Table, volts: int, va: float, watts: float, multiple: Range) -> None:
    """One way of stating a start: amps of an inrush reading, a code letter, or the rated power alone."""
    rated = [hp for hp in HORSEPOWER if hp <= watts / WATTS_A_HP * 1.15]
    way = draw.choice(("amps", "amps", "amps", "letter", "rated")) if rated else "amps"
    if way == "amps":
        load["starting"] = f"{figure(va * draw.within(multiple) / volts, 3)} A"
        if draw.chance(0.2):
            load["starting_power_factor"] = draw.choice((0.6, 0.7, 0.8))
    else:
        load["rated"] = HORSEPOWER[rated[-1]]
        if way == "letter":
            load["locked_rotor_code"] = draw.choice("EFGHJKL")
    if draw.chance(0.4):
        load["start_time"] = draw.choice(("0.5 s", "0.8 s", "1.5 s", "2 s"))


def by_month(draw: Draw, value: float, unit: str, site: Table, digits: int = 2) -> str | list[str]:
    """A daily figure: one value, or twelve that follow the sun."""
    if draw.chance(0.65):
        return f"{figure(value, digits)} {unit}"
    most = max(site["sun_hours"])
    return [f"{figure(value * (0.4 + 0.6 * sun / most), digits)} {unit}" for sun in site["sun_hours"]]


def draw_pump(draw: Draw, volts: int, watts: float, site: Table, us: bool) -> Table:
    """A pump, or two alike; ``watts`` are what all of them take while they run."""
    count = 2 if watts > 2500 and draw.chance(0.4) else 1
    each = watts / count
    load: Table = {"name": draw.choice(("well pump", "bore pump", "irrigation pump")), "voltage": f"{volts} V"}
    factor = 1.0
    if draw.chance(0.6):
        load["running"] = f"{figure(each / volts, 3)} A"
        if draw.chance(0.4):
            factor = load["power_factor"] = draw.choice((0.8, 0.85, 0.9))
            load["running"] = f"{figure(each / factor / volts, 3)} A"
    else:
        factor = load["power_factor"] = draw.choice((0.8, 0.9))
        load["running"] = f"{figure(each, 3)} W"
    if count > 1:
        load["count"] = count
    add_start(draw, load, volts, each / factor, each, (1.3, 3.0) if each > 2500 else (2.5, 6.0))
    hours = max(draw.uniform(1.5, 6.0), LEAST_WH / watts)
    way = draw.choice(("water", "water", "hours", "energy"))
    if way == "water":
        lift_m = draw.uniform(15, 80)
        litres_a_minute = each * 0.45 / (9.81 * lift_m) * 60  # pump and motor together give 45 % as lifted water
        litres = litres_a_minute * 60 * hours * count
        if us:
            load["flow"] = f"{figure(litres_a_minute / LITRES_A_GALLON)} gpm"
            load["water_per_day"] = by_month(draw, litres / LITRES_A_GALLON, "gal", site)
        else:
            load["flow"] = f"{figure(litres_a_minute)} L/min"
            load["water_per_day"] = by_month(draw, litres, "L", site)
    elif way == "hours":
        load["hours_per_day"] = by_month(draw, hours, "h", site)
    else:
        load["energy_per_day"] = by_month(draw, watts * hours / 1000, "kWh", site)
    load["daytime"] = draw.choice((0.4, 0.6, 0.8, 0.9))
    return load


def draw_appliance(draw: Draw, name: str, kind: str, site: Table) -> Table:
    """A house or farm load on the lower voltage of the supply."""
    appliance, volts = APPLIANCES[name], 230 if kind == "230" else 120
    watts = draw.within(appliance.watts)
    load: Table = {"name": name, "voltage": f"{volts} V", "running": f"{figure(watts)} W"}
    count = 1
    if appliance.start is not None:
        load["power_factor"] = 0.85
        load["starting"] = f"{figure(watts / 0.85 * draw.within(appliance.start) / volts, 3)} A"
    elif draw.chance(0.5):
        load["starting"] = "none"
    if watts < 300 and draw.chance(0.2):
        load["count"] = count = 2
    hours = draw.within(appliance.hours)
    if draw.chance(0.5):
        load["energy_per_day"] = by_month(draw, watts * hours * count / 1000, "kWh", site)
    else:
        load["hours_per_day"] = f"{figure(hours)} h"
    load["daytime"] = appliance.daytime
    if not appliance.critical:
        load["critical"] = False
    if kind == "120/240" and draw.chance(0.1):
        load["leg"] = draw.choice((1, 2))
    return load


def draw_loads(draw: Draw, kind: str, site: Table, us: bool) -> list[Table]:
    """A pump of 300 W to 7 kW, and up to three other loads."""
    size: Range = draw.choice(((300, 700), (700, 1500), (700, 1500), (1200, 2500), (2000, 3500), (3500, 7000)))
    volts = {"120": 120, "120/240": 240, "230": 230}[kind]
    watts = min(draw.within(size), 2200.0) if kind == "120" else draw.within(size)
    names = draw.sample(sorted(APPLIANCES), draw.choice((0, 0, 1, 2, 3)))
    return [draw_pump(draw, volts, watts, site, us), *(draw_appliance(draw, name, kind, site) for name in names)]


def motors(loads: list[Table]) -> int:
    """Units that start harder than they run."""
    hard = [load for load in loads if load.get("starting", "none") != "none" or "rated" in load]
    return sum(load.get("count", 1) for load in hard)


def add_motor(draw: Draw, load: Table, kind: str) -> None:
    """The kind of motor of a load that starts harder than it runs, and the voltage that its cable loses then.

    Up to 0.35 a motor starts through its cable as it is; with 0.37 only where its maker says that it starts at less.
    """
    if draw.chance(0.6):
        three = ("three-phase",) if kind == "230" else ()
        load["motor"] = draw.choice(("two-wire", "three-wire", "three-wire", "three-wire", "psc", "psc", *three))
        if draw.chance(0.7):
            load["cable_drop"] = draw.choice((0.02, 0.04, 0.05, 0.06, 0.08, 0.08, 0.12, 0.12, 0.2, 0.3, 0.37))
            if load["cable_drop"] > 0.35:
                load["start_volts_least"] = 0.6


def draw_water(draw: Draw, pump: Table, us: bool) -> Table:
    """Water storage of a job whose pump states its water; a number of tanks that can hold what is asked, a few where
    nothing is asked."""
    unit, litres = ("gal", LITRES_A_GALLON) if us else ("L", 1.0)
    asked = pump["water_per_day"]
    daily = max(float(text.split()[0]) for text in (asked if isinstance(asked, list) else [asked]))
    days = draw.choice((0, 1, 1, 2, 3))
    water: Table = {}
    if days and days * daily * litres <= MOST_STORED_L:
        water["reserve_days"] = days
        spare = draw.choice((0, 1, 3)) if draw.chance(0.2) else 9
        water["max_tanks"] = math.ceil(days * daily * litres / LARGEST_TANK_L) + spare
    else:
        water["max_tanks"] = 4
    if draw.chance(0.3):
        water["tank_on_hand"] = f"{figure(daily * draw.uniform(0.1, 1.5))} {unit}"
    if draw.chance(0.2):
        water["daytime_with_tank"] = draw.choice((0.8, 0.95))
    if draw.chance(0.3):
        flow, flow_unit = pump["flow"].split()
        water["well_yield"] = f"{figure(float(flow) * pump.get('count', 1) * draw.choice((0.7, 1.2, 2.0)))} {flow_unit}"
    return water


def draw_wishes(draw: Draw, us: bool) -> dict[str, Table]:
    """What the person wants besides: most jobs leave most of it open."""
    need: Table = {"autonomy_days": draw.choice((0.5, 1.0, 1.0, 1.0, 1.5, 2.0, 3.0))}
    if draw.chance(0.1):
        need["array_to_load"] = draw.choice((1.1, 1.3, 1.5))
    if draw.chance(0.15):
        need["budget"] = draw.choice((3000, 4500, 7000, 10000))
    space: Table = {}
    if draw.chance(0.15):
        space["max_panels"] = draw.choice((6, 10, 16, 24))
    if draw.chance(0.1):
        area_m2 = draw.choice((12, 20, 35, 60))
        space["max_area"] = f"{figure(area_m2 * 10.764)} ft^2" if us else f"{area_m2} m^2"
    if draw.chance(0.1):
        space["row_max"] = draw.choice((3, 4, 6, 8))
    if draw.chance(0.45):
        space["mounts"] = draw.choice(
            (["ground-ballast"], ["ground-post"], ["roof"], ["pole"], ["roof", "pole"], ["ground-ballast", "roof"])
        )
    allow: Table = {}
    if draw.chance(0.22):
        allow["chemistries"] = draw.choice((["lfp"], ["agm"], ["agm", "gel"], ["flooded"], ["gel"], ["lfp", "other"]))
    if draw.chance(0.15):
        allow["listed_only"] = True
    return {"need": need, "space": space, "allow": allow}


def job_text(title: str, tables: Mapping[str, Table], loads: list[Table]) -> str:
    """The job as TOML; a text, a number, a truth value and a list are written as in JSON."""
    lines = ["# An invented job.", f"title = {json.dumps(title)}"]

    def add(heading: str, table: Table) -> None:
        lines.extend(["", heading, *(f"{key} = {json.dumps(value)}" for key, value in table.items())])

    for name in ("site", "supply"):
        add(f"[{name}]", tables[name])
    for load in loads:
        add("[[load]]", load)
    for name, table in tables.items():
        if name not in ("site", "supply") and table:
            add(f"[{name}]", table)
    return "\n".join(lines) + "\n"


def write_job(folder: Path, seed: int) -> Path:
    """Write one random job, ``job-SEED.toml``, into ``folder`` and return its path; the same for the same seed."""
    draw = Draw(seed)
    kind = draw.choice(("120", "120/240", "120/240", "230", "230"))
    us = draw.chance(0.15 if kind == "230" else 0.8)
    place = draw.choice(sorted(CLIMATES))
    site = draw_site(draw, CLIMATES[place], us)
    loads = draw_loads(draw, kind, site, us)
    supply: Table = {"kind": kind}
    if kind == "230":
        supply["hz"] = draw.choice((50, 50, 50, 60))
    if motors(loads) > 1:
        supply["restart"] = draw.choice(("staggered", "staggered", "staggered", "together"))
    tables = {"site": site, "supply": supply, **draw_wishes(draw, us)}
    besides = Draw(f"{seed} motors and water")  # its own draws: all that stands above stays the same for a seed
    for load in loads:
        if motors([load]):
            add_motor(besides, load, kind)
    if "water_per_day" in loads[0] and besides.chance(0.6):
        tables["water"] = draw_water(besides, loads[0], us)
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"job-{seed}.toml"
    path.write_text(job_text(f"Invented {place} job {seed}", tables, loads), encoding="utf-8")
    return path
