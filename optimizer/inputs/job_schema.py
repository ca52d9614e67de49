"""The keys of a job file: what each one holds, its range and how to find it; how one value is read; where it stands."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import product

from catalog.tables import CHEMISTRIES, MOTORS, MOUNTS
from optimizer.vocabulary.control_signs import one_line
from optimizer.vocabulary.months import MONTHS
from optimizer.vocabulary.problems import LONGEST_CELL, ONE_SLIP, Fault, perhaps
from optimizer.vocabulary.supplies import SUPPLIES
from optimizer.vocabulary.units import UNITS, Quantity, parse_quantity, to_unit

INF = float("inf")
TO_DO = "?"
FROM_FILE = "file"  # a coldest that the weather file is to state
BY_FILE = ("hottest", "sun_hours")  # of the site, where a weather file states them
USUAL_SUN = 9.0  # kWh/m2 a day; no month of any place is sunnier on the best tilt (common practice, no source)
HUGE = 10**18  # nothing in a job is larger


@dataclass(frozen=True)
class Key:
    """One key. ``holds``: text, number, whole, money, yes-no, choice, texts, or quantity; ``unit`` is the field kind
    of a quantity; ``monthly`` allows one value or twelve. ``bounds`` is an interval as mathematicians write it, in
    base units. ``words`` are texts that stand beside the quantities ("none"). ``how`` says how to find the value.
    """

    holds: str
    meaning: str
    example: str
    how: str
    bounds: str = "(-inf,inf)"
    unit: str = ""
    required: bool = False
    monthly: bool = False
    choices: tuple[str, ...] = ()
    words: tuple[str, ...] = ()

    def fault_of(self, value: float, written_in: str = "") -> Fault | None:
        """What the range says against a number in base units, in the unit that it was written in."""
        low, high = (float(end) for end in self.bounds[1:-1].split(","))
        low_open, high_open = self.bounds[0] == "(", self.bounds[-1] == ")"
        below = value <= low if low_open else value < low
        beyond = value >= high if high_open else value > high
        if not (below or beyond):
            return None
        unit = written_in or (next(iter(UNITS[self.unit])) if self.unit else "")
        low_said, high_said = (f"{_end(end, unit, self.unit):g} {unit}".rstrip() for end in (low, high))
        ends = []
        if low > -INF:
            ends.append(f"{'above' if low_open else 'at least'} {low_said}")
        if high < INF:
            ends.append(f"{'below' if high_open else 'at most'} {high_said}")
        perhaps = self.likely_slip(value, written_in) if beyond else ""
        return Fault("out-of-range", {"range": " and ".join(ends), "meaning": self.meaning, "perhaps": perhaps})

    def likely_slip(self, value: float, written_in: str) -> str:
        """The tail of a mend that names what a figure above the range was probably meant as; "" where nothing is."""
        if self.monthly and self.holds == "number":  # sun: a day's MJ/m2, a month's kWh/m2, or Wh/m2
            for read_as, factor in (("MJ/m2 a day", 1 / 3.6), ("a month's total", 12 / 365), ("Wh/m2", 1e-3)):
                if value * factor <= USUAL_SUN:
                    return f"; {value:g} reads like {read_as}: write {value * factor:.3g}"
        if written_in == "degC":
            return f'; perhaps it is meant in degF: write "{value:g} degF"'
        if self.holds == "number" and float(self.bounds[1:-1].split(",")[1]) <= 20 and not self.fault_of(value / 100):
            return f"; {value:g} reads like a percent: write {value / 100:g}"
        return ""


def _end(end: float, unit: str, field_kind: str) -> float:
    """The end of a range in a unit."""
    return to_unit(end, unit, field_kind) if unit and abs(end) < INF else end


def _quantity(unit: str, meaning: str, example: str, how: str, bounds: str, required: bool = False,
              monthly: bool = False, words: tuple[str, ...] = ()) -> Key:  # fmt: skip
    return Key("quantity", meaning, f'"{example}"', how, bounds, unit, required, monthly, (), words)


_PLATE = "Read it on the nameplate."
_OUT = "Leave the key out to take its default."
_LIMIT = "Leave the key out where there is no such limit."


CABLE_DROP = (
    "Start amps x ohms there and back / volts: the ohms by the length to the motor and the gauge of the cable; or have "
    "the volts at the motor read while it starts."
)


def _share(meaning: str, example: str, bounds: str = "[0,1]", how: str = _OUT) -> Key:
    return Key("number", meaning, example, how, bounds)


KEYS: Mapping[str, Mapping[str, Key]] = {
    "": {
        "title": Key("text", "a title", '"Nursery borehole"', "Choose one."),
        "catalog": Key("text", "the catalogue folder, relative to this file", '"../parts"', _OUT),
    },
    "site": {
        "coldest": _quantity("temperature", "the lowest temperature at dawn", "-9 degC",
                             "Take the record low of the nearest weather station, not the average.", "[-90,60]", True,
                             words=(FROM_FILE,)),
        "hottest": _quantity("temperature", "the highest air temperature", "37 degC",
                             "Take the record high of the nearest weather station.", "[-60,70]", True),
        "sun_hours": Key("number", "kWh/m2 a day on the array plane, one value or twelve from January",
                         "[3.1, 3.9, 4.8, 5.4, 5.9, 6.3, 6.4, 6.1, 5.3, 4.3, 3.3, 2.8]",
                         "Look up the monthly sun on a plane of your tilt in a public solar atlas.", "(0,15]",
                         required=True, monthly=True),
        "bank_coldest": _quantity("temperature", "the lowest temperature where the bank stands", "5 degC",
                                  "Put a thermometer there in winter, or leave it out to take coldest.", "[-90,60]"),
        "bank_hottest": _quantity("temperature", "the highest temperature where the bank stands", "35 degC",
                                  "Put a thermometer there in summer, or leave it out to take hottest.", "[-60,90]"),
        "array_ceiling": _quantity("voltage", "the highest array voltage the code allows", "600 V", _OUT, "(0,1500]"),
        "rear_light": _share("light on the rear of a panel as a share", "0.135"),
        "array_factor": _share("what soiling, mismatch, wiring, heat and tracker leave", "0.80", "(0,1]"),
    },
    "weather": {
        "file": Key("text", "a year of weather, hour by hour, relative to this file", '"sand-flat.epw"',
                    "Download a typical year of your place as EPW, TMY3 or PVGIS.", required=True),
        "tilt": _quantity("angle", "the plane of the panels, from level", "55 deg", "Measure it, or choose it: "
                          "borewatt sun FILE shows which tilt serves the darkest month best.", "[0,90]", True),
        "azimuth": _quantity("angle", "the way the panels look, from true north by east", "180 deg",
                             "Take it from a map: 90 deg is east, 180 deg south, 270 deg west.", "[0,360]"),
        "ground": _share("share of light that the ground throws back", "0.20"),
        "utc_offset": _quantity("hours", "the zone of the file's rows, where its own is wrong", "5.5 h", _OUT,
                                "[-14,14]"),
        "gaps": Key("choice", "what becomes of hours without light under a high sun", '"refuse"', _OUT,
                    choices=("refuse", "fill")),
    },
    "supply": {
        "kind": Key("choice", "the supply the loads need", '"120/240"', "Read the voltages on the loads' nameplates.",
                    required=True, choices=tuple(sorted(SUPPLIES))),
        "hz": Key("whole", "the frequency in Hz", "60", _PLATE, choices=("50", "60")),
        "restart": Key("choice", "how loads come back after an outage", '"staggered"',
                       "Look whether a delay keeps motors from starting together; if nobody knows: \"together\".",
                       choices=("staggered", "together")),
    },
    "load": {
        "name": Key("text", "a name of its own", '"bore pump"', "Choose one.", required=True),
        "voltage": _quantity("voltage", "the voltage it runs on", "240 V", _PLATE, "(0,1000]", True),
        "count": Key("whole", "how many of them there are", "1", "Count them.", "[1,1000]"),
        "running": _quantity("running", "what one of them takes while it runs", "8.1 A",
                             "Measure it with a clamp meter, or read the nameplate.", "(0,1e7]", True),
        "power_factor": _share("power factor while running", "0.8", "(0,1]",
                               "Read it on the nameplate, or leave it out."),
        "starting": _quantity("starting", "what one of them takes while it starts, or \"none\"", "41 A",
                              "Measure it with a clamp meter that holds the inrush; or give locked_rotor_code with "
                              "rated, or rated alone.", "(0,1e8]", words=("none",)),
        "locked_rotor_code": Key("text", "the code letter of the motor", '"H"', _PLATE),
        "rated": _quantity("motor", "the motor's rated power", "2 hp", _PLATE, "(0,1000]"),
        "starting_power_factor": _share("power factor while starting", "1.0", "(0,1]"),
        "start_time": _quantity("time", "how long it starts", "1 s", _OUT, "(0,600]"),
        "motor": Key("choice", "the kind of motor", '"three-wire"', "Read it on the nameplate, or leave it out.",
                     choices=MOTORS),
        "water_per_day": _quantity("volume", "water all of them pump in a day", "9000 L",
                                   "Read a water meter, or multiply people, animals and area by what each takes.",
                                   "[0,1e9]", monthly=True),
        "flow": _quantity("flow", "what one of them pumps", "38 L/min", "Time how long it fills a drum.", "(0,1e7]"),
        "hours_per_day": _quantity("hours", "how long each of them runs in a day", "4 h", "Watch it for a week.",
                                   "[0,24]", monthly=True),
        "energy_per_day": _quantity("energy", "what all of them use in a day", "1.1 kWh",
                                    "Put a plug-in meter before it for a week.", "[0,1e9]", monthly=True),
        "daytime": _share("share of its energy used while the sun is on the array", "0.35"),
        "critical": Key("yes-no", "whether it is carried through sunless days", "true", _OUT),
        "leg": Key("whole", "the leg it is wired to", "1", _LIMIT, choices=("1", "2")),
        "cable_drop": _share("share of its volts lost in its cable at the amps of its direct start", "0.12", "(0,1)",
                             CABLE_DROP),
        "start_volts_least": _share("share of its rated volts at which its maker says it starts", "0.60", "[0.4,0.9]",
                                    "Ask the motor's maker, or leave the key out."),
    },
    "need": {
        "autonomy_days": Key("number", "days without sun that the bank carries", "1.0", _OUT, "[0,100]"),
        "array_to_load": Key("number", "how much more the array gives than is used", "1.2", _OUT, "[1,20]"),
        "budget": Key("money", "the most it may cost, in the catalogue's currency", "9500", _LIMIT, "(0,1e12]"),
        "recover_days": Key("number", "days in which an empty bank is full again", "10", _LIMIT, "(0,366]"),
    },
    "reserve": {
        "running": _share("reserve for running", "0.25", "[0,10]"),
        "starting": _share("reserve for starting", "0.25", "[0,10]"),
        "voltage": _share("reserve for cold voltage", "0.05", "[0,1)"),
        "hot_voltage": _share("reserve for hot voltage", "0.03", "[0,1)"),
        "current": _share("reserve for array current, which the code does not let below 0.25", "0.25", "[0.25,10]"),
        "parallel_share": _share("what paralleled bank strings share evenly", "0.80", "[0.5,1]"),
    },
    "space": {
        "max_panels": Key("whole", "the most panels", "24", _LIMIT, "[1,1e6]"),
        "max_area": _quantity("area", "the most area for panels", "60 m^2", _LIMIT, "(0,1e8]"),
        "row_max": Key("whole", "the most panels in a row", "8", _LIMIT, "[1,1e6]"),
        "mounts": Key("texts", "mounts that may be used", '["ground-ballast"]',
                      "Choose where the panels may stand; leave the key out where all will do.", choices=MOUNTS),
    },
    "allow": {
        "chemistries": Key("texts", "chemistries that may be used", '["lfp"]', _LIMIT, choices=CHEMISTRIES),
        "sellers": Key("texts", "sellers to buy from", '["north"]', _LIMIT),
        "exclude": Key("texts", "part ids not to use", '["part-id"]', _LIMIT),
        "listed_only": Key("yes-no", "whether only listed parts may be used", "false", _OUT),
    },
    "water": {
        "reserve_days": Key("number", "days of water to be stored", "2", _OUT, "[0,366]"),
        "tank_on_hand": _quantity("volume", "water storage already there", "0 L", _OUT, "[0,1e9]"),
        "daytime_with_tank": _share("share pumped in the sun where a tank holds a day of water", "0.9"),
        "max_tanks": Key("whole", "the most tanks; none unless it is stated", "2",
                         "Count those that there is room for.", "[0,1e6]"),
        "well_yield": _quantity("flow", "what the well gives", "30 L/min",
                                "Take it from the driller's pumping test.", "(0,1e7]"),
    },
}  # fmt: skip

ON_HAND = Key("whole", "how many are owned already", "4", "Count them.", "[0,1e9]")
TABLES = (*(name for name in KEYS if name), "on_hand")


Value = str | float | int | bool | Quantity | tuple[str, ...] | tuple[float, ...]


def written(value: object, depth: int = 3) -> str:
    """A TOML value as a person would have written it; what is nested deeper than ``depth`` is left out."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list | dict):
        return f"[{', '.join(written(item, depth - 1) for item in value)}]" if depth else "[...]"
    if isinstance(value, int) and abs(value) > HUGE:
        return f"{value:#x}"  # a hexadecimal number may have more digits than can be printed as a decimal
    return str(value)


def _is_to_do(value: object) -> bool:
    return isinstance(value, str) and value.strip() == TO_DO


def read_value(value: object, key: Key, own: str = "") -> Value | Fault:
    """One value as the key says, in base units: a monthly one as twelve floats, texts as a tuple.

    What is wrong is handed back and not raised: the checks between keys go on with the values that could be read. Of a
    list the fault's slot ``item`` has what is wrong of it. ``own``: the unit in which the person writes such figures.
    """
    if _is_to_do(value):
        return Fault("to-do", _to_do(key))
    if key.monthly:
        return _read_months(value, key, own)
    if key.holds == "texts":
        return _read_texts(value, key)
    return _read_one(value, key, own)


def _read_months(value: object, key: Key, own: str) -> tuple[float, ...] | Fault:
    items = value if isinstance(value, list) else [value]
    if len(items) not in (1, len(MONTHS)):
        return Fault("twelve-values", {"found": str(len(items))})
    figures = []
    for item, month in zip(items, MONTHS, strict=False):
        read = Fault("to-do", _to_do(key)) if _is_to_do(item) else _read_one(item, key, own)
        if isinstance(read, Fault):
            return replace(read, slots={**read.slots, "item": f"{written(item)}, {month}"}) if len(items) > 1 else read
        figures.append(read.value if isinstance(read, Quantity) else float(str(read)))
    return tuple(figures * len(MONTHS) if len(figures) == 1 else figures)


def _to_do(key: Key) -> dict[str, str]:
    return {"meaning": key.meaning, "how": key.how}


def _wrong_type(expected: str, key: Key) -> Fault:
    return Fault("wrong-type", {"expected": f"{expected}: {key.meaning}", "example": key.example})


def _read_texts(value: object, key: Key) -> tuple[str, ...] | Fault:
    if not isinstance(value, list) or not value or not all(isinstance(item, str) for item in value):
        return _wrong_type("a list of texts with at least one in it", key)
    for item in value:
        fault = Fault("to-do", _to_do(key)) if _is_to_do(item) else _text_fault(item, key)
        if fault is not None:
            return replace(fault, slots={**fault.slots, "item": item})
    return tuple(map(one_line, value))


def _text_fault(text: str, key: Key) -> Fault | None:
    if len(text) > LONGEST_CELL:
        return Fault("long-cell", {"most": str(LONGEST_CELL), "length": str(len(text))})
    if key.choices and text not in key.choices:
        near = perhaps(text, key.choices, ONE_SLIP)
        return Fault("unknown-value", {"choices": ", ".join(key.choices), "perhaps": near})
    return None


def _read_one(value: object, key: Key, own: str = "") -> Value | Fault:
    match key.holds:
        case "quantity":
            if value in key.words:
                return str(value)
            quantity = parse_quantity(value, key.unit, own)
            if isinstance(quantity, Fault):
                return quantity
            return key.fault_of(quantity.value, quantity.unit) or quantity
        case "yes-no":
            return value if isinstance(value, bool) else _wrong_type("true or false", key)
        case "text" | "choice":
            if not isinstance(value, str) or not value.strip():
                return _wrong_type("a text in quotes", key)
            return _text_fault(value, key) or one_line(value.strip())
        case _:
            return _read_number(value, key)


def _read_number(value: object, key: Key) -> float | int | Fault:
    if isinstance(value, bool) or not isinstance(value, int | float):
        if isinstance(value, str) and re.fullmatch(r"[+-]?[0-9.]*,[0-9.]*", value):
            return Fault("decimal-comma", {"pointed": value.replace(",", ".")})
        return _wrong_type("a plain number without quotes or unit", key)
    if not abs(value) < float("inf"):
        return Fault("not-finite", {"meaning": key.meaning})
    if abs(value) > HUGE:
        return Fault("out-of-range", {"range": f"below {HUGE:g}", "meaning": key.meaning, "perhaps": ""})
    if key.holds == "whole" and value != int(value):
        return Fault("not-whole", {"meaning": key.meaning})
    if key.choices and str(int(value)) not in key.choices:
        return Fault("unknown-value", {"choices": ", ".join(key.choices), "perhaps": ""})
    if fault := key.fault_of(value):
        return fault
    if key.holds == "money" and abs(value * 100 - round(value * 100)) > 1e-6:
        return Fault("not-cents")
    return int(value) if key.holds == "whole" else float(value)


def missing_key(name: str, key: Key, own: str = "") -> Fault:
    """The fault of a key that is not there, with what to write, in the person's ``own`` unit where it is known."""
    example = f"{name} = {_in_unit(key, own)}, with the right value."
    return Fault("missing-key", {"key": name, "meaning": key.meaning, "example": example})


def _in_unit(key: Key, own: str) -> str:
    """The example of a key in another unit, to three digits."""
    read = parse_quantity(key.example.strip('"'), key.unit) if own and key.holds == "quantity" else None
    if not isinstance(read, Quantity) or UNITS[key.unit][read.unit] != UNITS[key.unit][own]:
        return key.example
    return f'"{to_unit(read.value, own, key.unit):.3g} {own}"'


def own_units(content: Mapping[str, object]) -> dict[str, str]:
    """By field kind the unit in which a file's first readable figure of it stands: what hints follow."""
    found: dict[str, str] = {}
    for name, keys in KEYS.items():
        stated = content.get(name) if name else content
        tables = [table for table in (stated if isinstance(stated, list) else [stated]) if isinstance(table, dict)]
        for table, (field, key) in product(tables, keys.items()):
            value = table.get(field)
            first = value[0] if isinstance(value, list) and value else value
            read = parse_quantity(first, key.unit) if key.holds == "quantity" and isinstance(first, str) else None
            if isinstance(read, Quantity):
                found.setdefault(key.unit, read.unit)
    return found
