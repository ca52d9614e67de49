"""Draws a random job: loads of a few hundred watts, every key of a job left out and stated."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from typing import Any, TypeVar

from tests.brute.limits import MONTHS

T = TypeVar("T")


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
    form = draw.pick(["amps", "amps", "amps", "va", "va", "code", "code", "code", "estimate", "none", "none", "below"])
    hp = next(one for one in (0.5, 0.6, 0.75, 1.0) if one * 745.7 >= watts * 0.8 or one == 1.0)
    hard = va * draw.uniform(1.6, 5.0)
    if form == "amps":
        load["starting"] = f"{number(hard / volts)} A"
    elif form == "va":
        load["starting"] = f"{number(hard)} VA" if draw.chance(0.5) else f"{number(hard / 1000)} kVA"
    elif form == "code":
        load["locked_rotor_code"] = draw.pick("BDFGHJK")
        load["rated"] = f"{hp} hp" if draw.chance(0.7) else f"{number(hp * 745.7)} W"
    elif form == "estimate" and watts > 140:  # for less, half a horsepower would be a slip
        load["rated"] = f"{hp} hp"
    elif form == "none":
        load["starting"] = "none"
        if draw.chance(0.3):
            load["rated"] = f"{hp} hp"  # says how large the motor is
    elif form == "below" and load["running"].endswith("W"):
        load.pop("power_factor", None)  # between P and P/0.7: the default power factor gives way
        load["starting"] = f"{math.ceil(watts * draw.uniform(1.06, 1.38))} VA"
    else:
        load["starting"] = f"{number(hard / volts)} A"
    if form in ("amps", "va") and draw.chance(0.15):
        load["rated"] = f"{hp} hp"  # the stated start goes before it
    if "starting" in load and load["starting"] != "none" and draw.chance(0.5):
        load["starting_power_factor"] = round(draw.uniform(0.4, 1.0), 2)
    if draw.chance(0.5):
        load["start_time"] = draw.pick(["0.5 s", "0.8 s", "1.5 s", "2 s", "3 s", "0.05 min"])
    if draw.chance(0.5):
        load["motor"] = draw.pick(["two-wire", "three-wire", "psc"])  # of three phases: draw_plans.py, with drives


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
    if draw.chance(0.5):
        load["power_factor"] = round(draw.uniform(0.55, 1.0), 2)
    va = watts / (load.get("power_factor") or (0.7 if form in ("W", "kW") else 1.0))
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
        load["hours_per_day"] = months(draw, hours, "h", 2) if draw.chance(0.7) else months(draw, hours * 60, "min", 2)
    elif energy == "water":
        flow, name = draw.pick([(1200, "L/h"), (20, "L/min"), (0.5, "L/s"), (6, "gpm"), (400, "gph"), (2, "m^3/h")])
        per_hour = flow * {"L/h": 1, "L/min": 60, "L/s": 3600, "gpm": 227.1, "gph": 3.785, "m^3/h": 1000}[name]
        water = hours * per_hour * count
        load["flow"] = f"{flow} {name}"
        unit, size = draw.pick([("L", 1.0), ("gal", 3.785), ("m^3", 1000.0)])
        load["water_per_day"] = months(draw, water / size, unit)
        if not {"starting", "rated"} & load.keys():  # what lifts water is a motor and says how it starts
            load["starting"] = draw.pick(["none", f"{number(va * draw.uniform(1.8, 4.0))} VA"])
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
            round(middle - swing * math.cos(math.pi * (month + draw.uniform(0, 1)) / 6), 1) for month in MONTHS
        ]
    bank_coldest = coldest
    if draw.chance(0.75 if coldest < 2 else 0.3):
        bank_coldest = draw.randint(max(coldest, -5), 20) if draw.chance(0.6) else max(coldest, draw.randint(-20, -4))
        site["bank_coldest"] = degrees(draw, bank_coldest)
    if draw.chance(0.4):
        site["bank_hottest"] = degrees(draw, draw.randint(max(20, bank_coldest), 48 if draw.chance(0.7) else 56))
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

    lines = [f"{key} = {value(one)}" for key, one in job.items() if not isinstance(one, dict) and key != "load"]
    tables: list[tuple[str, dict[str, Any]]] = [("[[load]]", table) for table in job["load"]]
    tables += [(f"[{key}]", table) for key, table in job.items() if isinstance(table, dict)]
    for heading, table in tables:
        lines += ["", heading]
        quote = '"' if heading == "[on_hand]" else ""
        lines += [f"{quote}{key}{quote} = {value(one)}" for key, one in table.items()]
    return "\n".join(lines) + "\n"
