"""What people call things elsewhere: other names of keys and values, each with what it is here and why.

Only to offer, never to read. A name that may mean several things says what decides between them, and offers none.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple


class OtherName(NamedTuple):
    """What is meant by a name used elsewhere, and why it is that. ``name`` "" where it may be several, ``among`` which:
    then ``why`` says what decides."""

    name: str
    why: str
    among: tuple[str, ...] = ()


_START = OtherName("starting", "what one of them takes while it starts, with its unit, A or VA")
_RUN = OtherName("running", "what one of them takes while it runs, with its unit, A, W or VA")
_VOLTS = OtherName("voltage", "the volts on the load's nameplate, with the unit V")
_KIND = OtherName("kind", 'the supply that the loads need, in quotes, as in "120/240"')
_POWER = OtherName("rated", "the motor's power on its nameplate, with its unit, hp or kW")
_LETTER = OtherName("locked_rotor_code", "the code letter on the motor's nameplate")
_HOURS = OtherName("hours_per_day", "how long each of them runs in a day")
_ENERGY = OtherName("energy_per_day", "what all of them use in a day, with its unit, Wh or kWh")
_WATER = OtherName("water_per_day", "the water that all of them pump in a day")
_FLOW = OtherName("flow", "what one of them pumps, with its unit")
_DAYS = OtherName("autonomy_days", "the days without sun that the bank carries")
_COLD = OtherName("coldest", "the record low at dawn, not an average")
_HOT = OtherName("hottest", "the record high of the air")
_SUN = OtherName("sun_hours", "kWh/m2 a day on the plane of the array")
_LFP = OtherName("lfp", "lithium iron phosphate; another lithium battery is other")
_OTHER = OtherName("other", "a lithium battery that is not lithium iron phosphate")
_LEAD = OtherName("", "which of agm, gel and flooded it is stands on the battery", ("agm", "gel", "flooded"))
_WET = OtherName("flooded", "lead-acid with liquid acid")
_TWO, _THREE = (OtherName(name, f"the leads of the motor, {n} and the earth") for name, n in
                (("two-wire", "two"), ("three-wire", "three")))  # fmt: skip
_PHASES = OtherName("three-phase", "a motor on three phases; not three-wire, which is a motor on one phase")
_ONE_PHASE = OtherName(
    "",
    "a motor on one phase is two-wire, three-wire or psc; its nameplate or its maker says which",
    ("two-wire", "three-wire", "psc"),
)
_PSC = OtherName("psc", "permanent split capacitor")
_HOUSE = OtherName("", "\"120/240\" has two legs of 120 V and 240 V across them, \"230\" one circuit of 220 to 240 V "
                   "and no legs: a load for the one may be destroyed by the other", ("120/240", "230"))  # fmt: skip
_LOW = OtherName("120", "a supply for loads of 110 to 125 V")

# in small letters, words joined by "_"
OTHER_NAMES: Mapping[str, tuple[OtherName, ...]] = {
    **dict.fromkeys(
        ("inrush", "inrush_amps", "inrush_current", "lra", "locked_rotor", "locked_rotor_amps", "locked_rotor_current",
         "surge", "surge_amps", "surge_current", "surge_va", "start", "start_amps", "start_current", "starting_amps",
         "starting_current", "startup", "startup_amps", "peak", "peak_amps", "peak_current"), (_START,)),
    **dict.fromkeys(
        ("amps", "amp", "amperes", "current", "running_amps", "running_current", "running_watts", "run_amps",
         "full_load_amps", "full_load_current", "rla", "watts", "watt", "wattage", "power", "nameplate_amps"), (_RUN,)),
    **dict.fromkeys(("volts", "volt", "v", "vac", "voltage"), (_VOLTS, _KIND)),
    **dict.fromkeys(("hp", "horsepower", "horse_power", "rated_power", "power_rating", "motor_power"), (_POWER,)),
    **dict.fromkeys(("code", "code_letter", "kva_code", "nema_code"), (_LETTER,)),
    **dict.fromkeys(("quantity", "qty", "units", "pieces"), (OtherName("count", "how many of them there are"),)),
    **dict.fromkeys(("pf", "cos_phi", "cosphi"), (OtherName("power_factor", "the power factor while it runs"),)),
    **dict.fromkeys(("hours", "runtime", "run_hours", "hours_run", "run_time"), (_HOURS,)),
    **dict.fromkeys(("kwh", "wh", "daily_energy", "energy", "kwh_per_day", "wh_per_day", "daily_kwh"), (_ENERGY,)),
    **dict.fromkeys(("daily_water", "water", "gallons_per_day", "litres_per_day", "liters_per_day"), (_WATER,)),
    **dict.fromkeys(("flow_rate", "gpm", "flowrate", "pump_rate"), (_FLOW,)),
    **dict.fromkeys(("days", "autonomy", "days_of_autonomy", "backup_days", "sunless_days"), (_DAYS,)),
    **dict.fromkeys(("min_temp", "min_temperature", "record_low", "lowest", "coldest_temp", "low_temp"), (_COLD,)),
    **dict.fromkeys(("max_temp", "max_temperature", "record_high", "highest", "hottest_temp", "high_temp"), (_HOT,)),
    **dict.fromkeys(("psh", "peak_sun_hours", "sun", "insolation", "irradiation", "sunhours", "peak_sun"), (_SUN,)),
    **dict.fromkeys(("frequency", "hertz"), (OtherName("hz", "the frequency of the supply"),)),
    **dict.fromkeys(("lithium", "lifepo4", "lifepo", "life_po4", "lithium_iron_phosphate", "lfp4"), (_LFP,)),
    **dict.fromkeys(("nmc", "li_ion", "lithium_ion", "nca", "lto"), (_OTHER,)),
    **dict.fromkeys(("lead_acid", "lead", "sla", "vrla", "sealed"), (_LEAD,)),
    **dict.fromkeys(("wet", "opzs"), (_WET,)), "fla": (_RUN, _WET),
    **dict.fromkeys(("2_wire", "2wire", "two_wires", "2w"), (_TWO,)),
    **dict.fromkeys(("3_wire", "3wire", "three_wires", "3w"), (_THREE,)),
    **dict.fromkeys(("3_phase", "3phase", "3ph", "three_phases", "3_ph", "tri_phase"), (_PHASES,)),
    **dict.fromkeys(("1_phase", "single_phase", "1ph", "one_phase", "capacitor", "capacitor_start"), (_ONE_PHASE,)),
    **dict.fromkeys(("permanent_split_capacitor", "permanent_capacitor"), (_PSC,)),
    **dict.fromkeys(("240", "220", "240v", "220v", "split", "split_phase", "220_240", "230_240"), (_HOUSE,)),
    **dict.fromkeys(("110", "115", "125", "110v", "115v", "120v", "127"), (_LOW,)),
}  # fmt: skip


def other_name(word: str, known: Sequence[str]) -> OtherName | None:
    """What a word that people use elsewhere means among ``known``; None where it means nothing there."""
    joined = re.sub(r"[\s_\-/]+", "_", word.strip().lower())
    for meant in OTHER_NAMES.get(joined, ()):
        if all(name in known for name in meant.among or (meant.name,)):
            return meant
    return None
