"""The job file to start from: every figure that decides about damage is a "?", with how to find it beside it."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from string import Template


class Units(StrEnum):
    """In which units the comments speak; the file may be filled in with any that a key knows."""

    metric = "metric"
    us = "us"


# How each kind of quantity is spelt in the comments: the form of a value, never a value to keep.
SPELT: Mapping[Units, Mapping[str, str]] = {
    Units.metric: {"degrees": "degC", "volume": "L", "flow": "L/min", "area": "m^2", "rated": "kW"},
    Units.us: {"degrees": "degF", "volume": "gal", "flow": "gpm", "area": "ft^2", "rated": "hp"},
}
JOB_NAME = "job.toml"

_JOB = """\
# A job: what is to run, where, and what is wished for.
#
# Every "?" decides whether something is damaged, or whether the plan works at
# all, so nothing is assumed for it. Replace each; then
#     borewatt pick job.toml
# answers, or lists what is still open. A key behind # may stay as it is: the
# value shown is what is taken then, unless its comment says otherwise.
# Quantities are text with their unit, in quotes.
#
# BEFORE YOU MEASURE ANYTHING ELECTRICAL
# - Read the nameplate first: no box need be opened for it, and it is enough.
# - A clamp reading means an open box with live parts. It is for a qualified
#   person in protective gear, with a meter rated for the place, working with
#   one hand; covers go back on before anyone else comes near.
# - Before any cover comes off or a wire is touched: switch off, lock out, and
#   prove it dead. A start capacitor may hold its charge after that.
# - One insulated conductor through the clamp, not the whole cable: two of them
#   cancel and the meter reads nothing.
# - Water and metal pipe make every shock worse. If in doubt, do not open it.

title = "My well"
#catalog = "catalog"    # folder of parts and prices, seen from this file

[site]
# The lowest temperature at dawn. Cold panels give more volts, and a string that
# is too high for the converter destroys it on the first clear cold morning.
# Take the record low of the nearest weather station, not an average.
coldest = "?"           # as in "__ $degrees"
# The highest air temperature: the record high of the same station. Hot panels
# give fewer volts, and a string that is too low does not start.
hottest = "?"           # as in "__ $degrees"
# Sun on the plane of the panels in kWh/m2 a day, an average day of each month,
# January first. A public solar atlas gives it for your place and tilt; or get a
# year of weather, hour by hour: borewatt sun FILE prints what to write here.
sun_hours = "?"         # twelve numbers as in [_, _, _, _, _, _, _, _, _, _, _, _]
# The lowest temperature where the batteries stand. Many must not be charged
# below freezing. Hang a thermometer there that keeps its lowest, for a winter;
# if they are to stand outdoors it is the same as coldest.
bank_coldest = "?"      # as in "__ $degrees"
# The highest temperature where the batteries stand: heat ends them early, and
# many must not be charged in it. Not stated it is the same as hottest.
#bank_hottest = "?"     # as in "__ $degrees"; no default but hottest
#array_ceiling = "600 V" # highest array volts the code allows; other buildings than dwellings "1000 V"
#rear_light = 0.135     # light on the back of two-sided panels; 0.30 over snow, white roofs, pale sand
#array_factor = 0.80    # what dirt, mismatch, wiring, heat and tracker leave of the panels' power

[supply]
# "120", "120/240" (120 V and 240 V loads together) or "230". Read the volts on
# the nameplates of all loads: a load on the wrong supply is destroyed.
kind = "?"
# 50 or 60, without quotes, from the nameplates: on the other one a motor runs
# hot or at the wrong speed.
hz = "?"
# After an outage: "staggered" where a delay keeps motors from starting at the
# same moment, "together" where nothing does, or nobody knows.
restart = "?"

# One block [[load]] for each load; copy the block for the next one.
[[load]]
name = "pump"           # any name, each once
voltage = "?"           # from the nameplate, as in "___ V"
# What it takes while it runs. Best first: the largest running amps on the
# nameplate (a pump motor often has a service-factor figure above the rated
# one: take that); or a clamp reading at full work, after the cautions above.
running = "?"           # as in "__ A", "___ W" or "___ VA"
# What it takes while it starts: several times the running figure, for about a
# second, and the figure most often forgotten. The first of these you can get:
#  1. locked-rotor or starting amps on the nameplate or in the motor's papers;
#     or a reading of a clamp meter that holds the inrush, several starts, the
#     highest of them, after the cautions above. A meter without that function
#     reads far too little.
#  2. the code letter on the nameplate (A to U) with the rated power: take out
#     starting, and write both lines below.
#  3. the rated power alone: an estimate, six times the full-load amps of a
#     table; every answer will say so, and a measurement may change the pick.
#  For a load without a motor: starting = "none".
starting = "?"          # as in "__ A", "___ VA" or "none"
#locked_rotor_code = "?" # no default
#rated = "?"            # as in "__ $rated"; no default
#starting_power_factor = 1.0
#start_time = "1 s"     # how long the start lasts; longer with a soft starter or a long ramp
#power_factor = 1.0     # while running; for running in W a motor is taken as 0.7 (psc 0.9, three-phase 0.8)
#motor = "three-wire"   # two-wire, three-wire, psc or three-phase; no default
# The share of its volts that its cable loses while it starts: start amps x ohms
# of the cable there and back / volts. The ohms go by the length from the
# converter down to the motor and the gauge: as 2 x length x ohms per length of
# that gauge from a wire table. With too few volts it does not start; and no
# starter but a drive is chosen for a motor whose cable nobody knows.
cable_drop = "?"        # as in 0.08 for 8 %
#start_volts_least = "?" # share of its volts at which its maker says it starts; no default
# How much it works, one value or twelve from January, in one of three ways.
# Water: a meter, or what people, animals and ground need; flow: time how long
# a drum of known volume takes to fill.
water_per_day = "?"     # of all of them together, as in "____ $volume"
flow = "?"              # of one, as in "__ $flow"
#hours_per_day = "?"    # of each, as in "_ h"; in place of water_per_day and flow
#energy_per_day = "?"   # of all together, as in "___ Wh"; in place of water_per_day and flow
#daytime = 0.35         # share of its energy used while the sun is on the panels; with a timer more
#critical = true        # false: not carried through days without sun
#count = 1              # how many equal ones
#leg = 1                # 1 or 2: pins a 120 V load to a leg of a 120/240 supply; no default

[need]
#autonomy_days = 1.0    # days without sun that the batteries carry
#array_to_load = 1.2    # how much more the panels give than is used; 1.3 for lead-acid
#budget = 10000         # most it may cost, in the catalogue's currency; no default

[reserve]               # shares kept free; a smaller one is yours to answer for
#running = 0.25         # running power of converter and batteries
#starting = 0.25        # starting power of converter and batteries
#voltage = 0.05         # cold volts below what the tracker survives
#hot_voltage = 0.03     # hot volts above what the tracker works at
#current = 0.25         # short-circuit amps of the panels; the code allows no less
#parallel_share = 0.80  # what batteries side by side share evenly

[space]                 # no default: no limit
#max_panels = 24
#max_area = "60 $area"
#row_max = 8            # panels in a row
# Where the panels may stand: one or more of "ground-ballast", "ground-post",
# "roof" and "pole". Nobody wants holes in a roof that he did not ask for.
mounts = "?"            # as in ["ground-ballast", "ground-post"]

[allow]                 # no default: everything
#chemistries = ["lfp", "agm", "gel", "flooded", "other"] # those that may be used
#sellers = ["a seller"]
#exclude = ["part-id"]
#listed_only = false    # true: only parts that a recognised laboratory lists

[water]                 # only for a job that pumps
#max_tanks = 0          # tanks that may be chosen: a day of water stored lets pumping wait for the sun
#tank_on_hand = "0 L"   # what tanks that are there already hold
#reserve_days = 0       # days of water to be stored

[on_hand]               # parts you own already: pieces by part id; they cost nothing
#"part-id" = 4
"""

DONE = """\
Made {folder}: {job} and {files} files of parts and prices in {catalog}.
Next:
  1. Replace every "?" in the job. Beside each stands how to find it; read the
     cautions at the top before you measure anything.
  2. borewatt pick {path}
     lists what is still open, or answers.
The parts and prices in {catalog} are INVENTED: put your own in their place,
and look them over with: borewatt catalog check {catalog_path}"""


def job_template(units: Units = Units.metric) -> str:
    """The text of a job file that is all to-dos, its comments in these units."""
    return Template(_JOB).substitute(SPELT[units])
