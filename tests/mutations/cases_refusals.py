"""Errors in what is refused as wrong input: a start that is no start, a motor without one, more than a day's energy."""

from __future__ import annotations

import tempfile
from pathlib import Path

from optimizer.inputs.job_reader import check_job
from tests.mutations.change import Case, edited, swapped

JOB_CHECKS = "optimizer.inputs.job_checks"

HEAD = """\
[site]
coldest = "-15 degC"
hottest = "40 degC"
sun_hours = [4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4]

[supply]
kind = "230"
hz = 50
restart = "staggered"

[[load]]
name = "pump"
voltage = "225 V"
"""
AMPS, HOURS = 'running = "8 A"', 'hours_per_day = "4 h"'  # 225 V x 8 A = 1800 VA
SHORT_START = 'starting = "8 A"'
HARD_START = 'starting = "32 A"'
MOTOR, THREE_PHASE = 'motor = "psc"', 'motor = "three-phase"'
IN_WATTS = 'running = "1800 W"'  # 24 h of it are 43.2 kWh
FACTOR = "power_factor = 0.8"
WATER, FLOW, SLOW = 'water_per_day = "4000 L"', 'flow = "1000 L/h"', 'flow = "160 L/h"'


def refused(problem: str, *lines: str) -> bool:
    """Whether a job whose one load says this is refused, for that problem ("key: kind") alone."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "job.toml"
        file.write_text(HEAD + "\n".join(lines) + "\n", encoding="utf-8")
        _, problems = check_job(file)
    found = [f"{str(each.place.name).rpartition('.')[2]}: {each.kind.id}" for each in problems]
    assert found in ([], [problem]), found
    return bool(found)


def low(key: str, *lines: str) -> bool:
    """Whether a start is refused as no more than running."""
    return refused(f"{key}: start-below-running", *lines, HOURS)


def startless(*lines: str) -> bool:
    """Whether a start figure is asked of a load."""
    return refused("starting: motor-without-start", *lines)


def too_much(energy: str, *lines: str) -> bool:
    """Whether a day's energy is refused as more than 24 hours of its load."""
    return refused("energy_per_day: energy-over-day", *lines, f"energy_per_day = {energy}")


def too_long(*lines: str) -> bool:
    """Whether a day's water is refused as more than 24 hours of pumping."""
    return refused("water_per_day: hours-over-day", AMPS, HARD_START, WATER, *lines)


CASES = (
    # 8 A are no start of what runs at 8 A, 8.1 A are one
    Case("a start that is no more than running taken for one",
         lambda: (low("starting", AMPS, SHORT_START), low("starting", AMPS, 'starting = "8.1 A"')), (True, False),
         edited(JOB_CHECKS, "starting_va and starting_va <= just_above(running_va):",
                "starting_va and starting_va < running_va:")),
    # letter A ends at 3.14 kVA/hp: 1/2 hp starts at 1570 VA, below 1800; 3/4 hp at 2355
    Case("start by a code letter not held against running",
         lambda: (low("locked_rotor_code", AMPS, 'locked_rotor_code = "A"', 'rated = "0.5 hp"'),
                  low("locked_rotor_code", AMPS, 'locked_rotor_code = "A"', 'rated = "0.75 hp"')),
         (True, False), edited(JOB_CHECKS, "start = locked_rotor_va(code, rated.value)", "start = None")),
    # 1/2 hp: 4.9 A x 6 = 29.4 A, below 30 and above 29
    Case("estimated start not held against running",
         lambda: (low("rated", 'running = "30 A"', 'rated = "0.5 hp"'),
                  low("rated", 'running = "29 A"', 'rated = "0.5 hp"')),
         (True, False),
         edited(JOB_CHECKS, "start = estimated_start_va(rated.value, volts.value, _three_phase(load))",
                "start = None")),
    # three phases: 225 V x 8 A x root 3 = 3117.7 VA, above 3000; by one phase it would be 1800
    Case("start of three phases held against running of one",
         lambda: (low("starting", AMPS, THREE_PHASE, 'starting = "3000 VA"'),
                  low("starting", AMPS, THREE_PHASE, 'starting = "3200 VA"')),
         (True, False),
         edited(JOB_CHECKS, "return apparent_power(volts.value, quantity.value, _three_phase(load)) if volts else None",
                "return apparent_power(volts.value, quantity.value, False) if volts else None")),
    # 1800 W/0.8 = 2250 VA, above 2200
    Case("start in VA held against running in W",
         lambda: (low("starting", IN_WATTS, FACTOR, 'starting = "2200 VA"'),
                  low("starting", IN_WATTS, FACTOR, 'starting = "2300 VA"')),
         (True, False), edited(JOB_CHECKS, "return (va, va / factor) if", "return (va, va) if")),
    # by the usual 0.7 of a motor 1800 W would be 2571 VA: what is assumed makes no start of 1900 VA too small
    Case("a start refused by a power factor that is assumed",
         lambda: (low("starting", IN_WATTS, 'starting = "1800 VA"'), low("starting", IN_WATTS, 'starting = "1900 VA"')),
         (True, False), edited(JOB_CHECKS, 'load.get("power_factor") or 1.0', 'load.get("power_factor") or 0.7')),
    # what names its motor or lifts water is one; what says neither is none
    Case("a motor that names its kind left without a start",
         lambda: (startless(AMPS, MOTOR, HOURS), startless(AMPS, HOURS)), (True, False),
         swapped(JOB_CHECKS, "OF_MOTORS", ("flow", "water_per_day"))),
    Case("what lifts water left without a start", lambda: (startless(AMPS, WATER, FLOW),), (True,),
         swapped(JOB_CHECKS, "OF_MOTORS", ("motor",))),
    Case("a start asked of what is no motor", lambda: (startless(AMPS, HOURS),), (False,),
         swapped(JOB_CHECKS, "OF_MOTORS", ("motor", "flow", "water_per_day", "running"))),
    # a size alone is a start figure, and so is the word that there is none
    Case("the size of a motor taken for no start figure",
         lambda: (startless(AMPS, MOTOR, 'rated = "2 hp"', HOURS),), (False,),
         edited(JOB_CHECKS, "if of_motor and not load.there & set(START_WAYS):",
                'if of_motor and "starting" not in load.there:')),
    Case("a motor that is stated to have no start refused",
         lambda: (startless(AMPS, MOTOR, 'starting = "none"', HOURS),), (False,),
         edited(JOB_CHECKS, "if of_motor and not load.there & set(START_WAYS):",
                'if of_motor and (starting == "none" or not load.there & set(START_WAYS)):')),
    # 1800 W x 24 h = 43,200 Wh
    Case("more energy than a day of its load",
         lambda: (too_much('"43.3 kWh"', IN_WATTS, HARD_START), too_much('"43.2 kWh"', IN_WATTS, HARD_START)),
         (True, False), edited(JOB_CHECKS, "if energy and watts and (", "if False and (")),
    # 1800 W x 24 h x 2 = 86,400 Wh
    Case("energy of all units held against one",
         lambda: (too_much('"86.5 kWh"', IN_WATTS, HARD_START, "count = 2"),
                  too_much('"86.4 kWh"', IN_WATTS, HARD_START, "count = 2")),
         (True, False),
         edited(JOB_CHECKS, 'max(energy) / (watts * (load.get("count") or 1))', "max(energy) / watts")),
    # eleven months of 7.2 kWh and one of 44: 10.3 kWh in the mean
    Case("energy of the mean month held against the day",
         lambda: (too_much("[" + '"7.2 kWh", ' * 11 + '"44 kWh"]', IN_WATTS, HARD_START),), (True,),
         edited(JOB_CHECKS, "max(energy) / (watts", "sum(energy) / 12 / (watts")),
    # 1800 VA x 0.8 x 24 h = 34,560 Wh; by VA it would be 43,200
    Case("energy held against a day of VA",
         lambda: (too_much('"34.6 kWh"', AMPS, FACTOR, HARD_START), too_much('"34.5 kWh"', AMPS, FACTOR, HARD_START)),
         (True, False), edited(JOB_CHECKS, "else (va * factor, va)", "else (va, va)")),
    # 4000 L at 160 L/h take 25 h, two pumps 12.5
    Case("more water than a day of pumping", lambda: (too_long(SLOW), too_long(SLOW, "count = 2")), (True, False),
         edited(JOB_CHECKS, "if water and flow and (", "if False and (")),
    Case("water of all units held against one", lambda: (too_long(SLOW), too_long(SLOW, "count = 2")), (True, False),
         edited(JOB_CHECKS, 'max(water) / (flow.value * (load.get("count") or 1))', "max(water) / flow.value")),
)  # fmt: skip
