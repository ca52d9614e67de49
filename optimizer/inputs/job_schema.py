"""The keys of a job file: what each one holds, its range and how to find it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from catalog.tables import CHEMISTRIES, MOTORS, MOUNTS
from optimizer.vocabulary.problems import Fault
from optimizer.vocabulary.supplies import SUPPLIES
from optimizer.vocabulary.units import UNITS, to_unit

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
        "at": Key("spans", "when it runs by the clock of the weather file, without summer time",
                  '["06:00-08:00", "18:00-22:00"]', "Watch it for a week, or leave the key out: the replay "
                  "then spreads it by its daytime share."),
        "drawn": Key("day", "how much of a day's water is drawn in each of 24 hours, midnight first",
                     "[0, 0, 0, 0, 0, 1, 2, 2, 1, 1, 1, 1, 1, 1, 1, 1, 1, 2, 2, 1, 1, 0, 0, 0]",
                     "Watch the meter for a day, or leave the key out: it is then drawn evenly."),
    },
    "need": {
        "autonomy_days": Key("number", "days without sun that the bank carries", "1.0", _OUT, "[0,100]"),
        "array_to_load": Key("number", "how much more the array gives than is used", "1.2", _OUT, "[1,20]"),
        "budget": Key("money", "the most it may cost, in the catalogue's currency", "9500", _LIMIT, "(0,1e12]"),
        "recover_days": Key("number", "days in which an empty bank is full again", "10", _LIMIT, "(0,366]"),
    },
    "replay": {
        "hours_short": Key("whole", "the most hours of any one year in which critical loads lack power", "24",
                           "Leave the key out to have them reported only.", "[0,8760]"),
        "array_losses": _share("what dirt, mismatch, wiring and tracker leave of the panels' power", "0.84", "(0,1]"),
        "bank": Key("choice", "the bank that the hours are gone through with, or a new one beside it", '"aged"', _OUT,
                    choices=("aged", "new")),
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
