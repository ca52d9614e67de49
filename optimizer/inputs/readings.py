"""What may be at hand for a load: each reading with its option, its range and how to find it; how one is read."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from optimizer.inputs.job_schema import KEYS, Key
from optimizer.inputs.job_values import Value, read_value
from optimizer.vocabulary.defaults import COMMON, DefaultFigure
from optimizer.vocabulary.problems import Fault, Place
from optimizer.vocabulary.units import Quantity

SMALLEST = 1e-6  # in base units; nothing that is read is smaller, and no quotient of two readings is out of bounds

# What stands where nothing is stated. None of it decides about damage; the page says which were taken.
TAKEN: Mapping[str, DefaultFigure] = {
    figure.name: figure
    for figure in (
        DefaultFigure("pipe_roughness", 150.0, "", "Hazen-Williams C of new plastic pipe",
               "EPA, EPANET 2 Users Manual, 140 to 150 for plastic; from memory"),
        DefaultFigure("pump_efficiency", 0.50, "share", "small submersible pump, 0.35 to 0.65",
               f"{COMMON}; from memory"),
        DefaultFigure("motor_efficiency", 0.70, "share", "single-phase motor, 0.60 to 0.78", f"{COMMON}; from memory"),
    )
}  # fmt: skip


def _length(meaning: str, example: str, how: str, bounds: str) -> Key:
    return Key("quantity", meaning, f'"{example}"', how, bounds, "length")


_LOAD = KEYS["load"]
_START = replace(_LOAD["starting"], words=())
_SHEET = "Read it on the data sheet, or leave it out to take a usual one."

# each reading by the name of its option, in the order in which they are asked for
OPTIONS: Mapping[str, Key] = {
    "name": _LOAD["name"],
    "voltage": _LOAD["voltage"],
    "running": _LOAD["running"],
    "inrush": replace(_START, meaning="the inrush at the start, read with a clamp meter",
                      how="Take the highest of several starts, with a meter that holds the inrush; another reads far "
                          "too little."),
    "locked_rotor": replace(_START, meaning="the locked-rotor amps or VA on the nameplate", example='"39 A"',
                            how="Read it on the nameplate or in the motor's papers."),
    "code_letter": _LOAD["locked_rotor_code"],
    "rated": _LOAD["rated"],
    "power_factor": _LOAD["power_factor"],
    "motor": _LOAD["motor"],
    "container": Key("quantity", "the container that was filled", '"20 L"', "Weigh or measure what it holds.",
                     "[0.01,1e6]", "volume"),
    "seconds": Key("quantity", "how long the container took to fill", '"32 s"',
                   "Fill it several times by a stopwatch, once the flow is steady, and take the mean.", "[0.1,1e5]",
                   "time"),
    "flow": _LOAD["flow"],
    "water_per_day": replace(_LOAD["water_per_day"], monthly=False),
    "level": _length("the water in the well below ground, while the pump runs", "60 m",
                     "Sound it after an hour of pumping, or take the pumping level of the driller's test; the level at "
                     "rest is higher.", "[0,5000]"),
    "rise": _length("the outlet above ground at the well", "5 m", "Level it, or read it off a map's contours.",
                    "[-2000,2000]"),
    "pressure": Key("quantity", "the pressure that is kept at the outlet", '"250 kPa"',
                    "Read the gauge while the pump runs; leave it out where water runs out freely.", "[0,1e5]",
                    "pressure"),
    "pipe_length": _length("all pipe from the pump to the outlet", "75 m",
                           "Add the drop pipe to the pipe in the ground.", "(0,1e5]"),
    "pipe_inside": _length("the inside diameter of the pipe", "32 mm", "Measure it, or read it off the pipe's marking.",
                           "[0.001,5]"),
    "pipe_roughness": Key("number", "Hazen-Williams C of the pipe", "150",
                          "Leave it out for new plastic; old steel is about 100.", "[40,160]"),
    "pump_efficiency": Key("number", "the pump's efficiency as a share", "0.50", _SHEET, "(0,1]"),
    "motor_efficiency": Key("number", "the motor's efficiency as a share", "0.70", _SHEET, "(0,1]"),
}  # fmt: skip

_NUMBER = re.compile(r"\s*[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)\s*")


def option_of(name: str) -> str:
    """The option of a reading: ``--pipe-length``."""
    return f"--{name.replace('_', '-')}"


@dataclass(frozen=True)
class Readings:
    """What is at hand, as the person wrote it; None where it was not given."""

    name: str = "pump"
    voltage: Quantity | None = None
    running: Quantity | None = None
    inrush: Quantity | None = None
    locked_rotor: Quantity | None = None
    code_letter: str | None = None
    rated: Quantity | None = None
    power_factor: float | None = None
    motor: str | None = None
    container: Quantity | None = None
    seconds: Quantity | None = None
    flow: Quantity | None = None
    water_per_day: Quantity | None = None
    level: Quantity | None = None
    rise: Quantity | None = None
    pressure: Quantity | None = None
    pipe_length: Quantity | None = None
    pipe_inside: Quantity | None = None
    pipe_roughness: float | None = None
    pump_efficiency: float | None = None
    motor_efficiency: float | None = None

    def number(self, name: str) -> float:
        """A reading that has a usual value, or that."""
        stated: float | None = getattr(self, name)
        return TAKEN[name].value if stated is None else stated


def place_of(name: str, text: str | None) -> Place:
    """Where a problem of an option stands: ``--flow: "38 lpm"``."""
    return Place(option_of(name), cell=text)


def read_option(text: str, key: Key) -> Value | Fault:
    """One reading; a number comes as text, and a quantity's text is kept without stray blanks."""
    number = key.holds == "number" and _NUMBER.fullmatch(text)
    value = read_value(float(text) if number else text, key)
    size = abs(value.value) if isinstance(value, Quantity) else value
    if isinstance(size, float) and 0 < size < SMALLEST:
        return Fault("out-of-range", {"range": f"at least {SMALLEST:g}", "meaning": key.meaning, "perhaps": ""})
    return replace(value, text=" ".join(value.text.split())) if isinstance(value, Quantity) else value
