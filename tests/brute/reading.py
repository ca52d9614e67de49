"""Reads a job file; knows only the standard library.

Every figure of a job is in V, A, W, VA, Wh, degC, h, L, L/h, s, hp or m². Nothing is checked beyond what
the rules need: the inputs are ours. A ValueError says what could not be read.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

INFINITE = float("inf")
Months = tuple[float, ...]

# unit -> (what it measures, how many base units it is). Inch-pound factors are exact by definition
# (1 ft = 0.3048 m, 1 US gallon = 231 in³, 1 hp = 550 ft·lbf/s).
GALLON_L = Fraction("3.785411784")
HORSEPOWER_W = 550 * Fraction("0.3048") * Fraction("0.45359237") * Fraction("9.80665")
UNITS: dict[str, tuple[str, Fraction]] = {
    "V": ("voltage", Fraction(1)),
    "kV": ("voltage", Fraction(1000)),
    "A": ("current", Fraction(1)),
    "mA": ("current", Fraction(1, 1000)),
    "W": ("power", Fraction(1)),
    "kW": ("power", Fraction(1000)),
    "hp": ("power", HORSEPOWER_W),
    "VA": ("apparent", Fraction(1)),
    "kVA": ("apparent", Fraction(1000)),
    "Wh": ("energy", Fraction(1)),
    "kWh": ("energy", Fraction(1000)),
    "s": ("time", Fraction(1)),
    "min": ("time", Fraction(60)),
    "h": ("time", Fraction(3600)),
    "L": ("volume", Fraction(1)),
    "m^3": ("volume", Fraction(1000)),
    "gal": ("volume", GALLON_L),
    "L/h": ("flow", Fraction(1)),
    "L/min": ("flow", Fraction(60)),
    "L/s": ("flow", Fraction(3600)),
    "m^3/h": ("flow", Fraction(1000)),
    "gpm": ("flow", 60 * GALLON_L),
    "gph": ("flow", GALLON_L),
    "m^2": ("area", Fraction(1)),
    "ft^2": ("area", Fraction("0.3048") ** 2),
    "degC": ("temperature", Fraction(1)),
    "degF": ("temperature", Fraction(5, 9)),
}
QUANTITY = re.compile(r"([+-]?(?:\d+(?:\.\d+)?|\.\d+))\s*([A-Za-z][A-Za-z/^0-9]*)")


def quantity(text: str, *kinds: str) -> tuple[Fraction, str]:
    """A text such as "8.1 A" as (value in the base unit, what it measures); exact, so 14 degF is -10 degC."""
    match = QUANTITY.fullmatch(text.strip())
    if match is None or match[2] not in UNITS or UNITS[match[2]][0] not in kinds:
        raise ValueError(f"{text!r} is not a quantity of {' or '.join(kinds)}")
    kind, factor = UNITS[match[2]]
    value = Fraction(match[1])
    if match[2] == "degF":
        value -= 32
    return value * factor, kind


def amount(text: str, kind: str, base: Fraction = Fraction(1)) -> float:
    """A quantity of one kind as a float; `base` is the size of the unit wanted (3600 for hours)."""
    return float(quantity(text, kind)[0] / base)


HOUR = Fraction(3600)


def cents_of(text: str) -> int:
    """Money as whole cents; more than two decimals is an error."""
    cents = Decimal(text) * 100
    if cents != int(cents):
        raise ValueError(f"{text!r} is not whole cents")
    return int(cents)


@dataclass(frozen=True)
class Load:
    """One [[load]] as it is written, in base units; None where a key is left out."""

    name: str
    voltage_v: float
    count: int
    running: float
    running_kind: str  # current, power or apparent
    power_factor: float | None
    starting: float | None
    starting_kind: str | None  # current, apparent, or "none" where that is what the job says
    locked_rotor_code: str | None
    rated_hp: float | None
    starting_power_factor: float
    start_time_s: float
    motor: str | None
    water_per_day_l: Months | None
    flow_l_per_h: float | None
    hours_per_day: Months | None
    energy_per_day_wh: Months | None
    daytime: float
    critical: bool
    leg: int | None
    cable_drop: float | None = None  # share of the volts lost at the amps of its direct start
    start_volts_least: float | None = None  # share of the volts at which its maker says that it starts

    @property
    def three_phase(self) -> bool:
        return self.motor == "three-phase"

    @property
    def is_motor(self) -> bool:
        """Whether the load says anything that only a motor has."""
        return (
            any(one is not None for one in (self.motor, self.rated_hp, self.locked_rotor_code, self.flow_l_per_h))
            or self.water_per_day_l is not None
            or self.starting is not None
        )


@dataclass(frozen=True)
class Job:
    coldest_c: float
    hottest_c: float
    sun_hours: Months
    bank_coldest_c: float
    bank_hottest_c: float
    array_ceiling_v: float
    rear_light: float
    array_factor: float
    supply: str
    hz: int
    restart: str | None
    loads: list[Load]
    autonomy_days: float
    array_to_load: float | None
    budget_cents: int | None
    running: float
    starting: float
    voltage: float
    hot_voltage: float
    current: float
    parallel_share: float
    max_panels: float = INFINITE
    max_area_m2: float = INFINITE
    row_max: float = INFINITE
    mounts: list[str] | None = None
    chemistries: list[str] | None = None
    sellers: list[str] | None = None
    exclude: list[str] = field(default_factory=list)
    listed_only: bool = False
    on_hand: dict[str, int] = field(default_factory=dict)
    recover_days: float = INFINITE
    reserve_days: float = 0.0
    tank_on_hand_l: float = 0.0
    daytime_with_tank: float = 0.9
    max_tanks: int = 0
    well_yield_l_per_h: float = INFINITE


def monthly(value: Any, kind: str, base: Fraction = Fraction(1)) -> Months | None:
    """One quantity or twelve of them, as twelve floats; None stays None."""
    if value is None:
        return None
    if isinstance(value, list):
        return tuple(amount(text, kind, base) for text in value)
    return (amount(value, kind, base),) * 12


def load_of(table: dict[str, Any]) -> Load:
    running, running_kind = quantity(table["running"], "current", "power", "apparent")
    starting: float | None = None
    starting_kind: str | None = None
    if table.get("starting") == "none":
        starting_kind = "none"
    elif "starting" in table:
        exact, starting_kind = quantity(table["starting"], "current", "apparent")
        starting = float(exact)
    return Load(
        name=table["name"],
        voltage_v=amount(table["voltage"], "voltage"),
        count=table.get("count", 1),
        running=float(running),
        running_kind=running_kind,
        power_factor=table.get("power_factor"),
        starting=starting,
        starting_kind=starting_kind,
        locked_rotor_code=table.get("locked_rotor_code"),
        rated_hp=amount(table["rated"], "power", HORSEPOWER_W) if "rated" in table else None,
        starting_power_factor=table.get("starting_power_factor", 1.0),
        start_time_s=amount(table.get("start_time", "1 s"), "time"),
        motor=table.get("motor"),
        water_per_day_l=monthly(table.get("water_per_day"), "volume"),
        flow_l_per_h=amount(table["flow"], "flow") if "flow" in table else None,
        hours_per_day=monthly(table.get("hours_per_day"), "time", HOUR),
        energy_per_day_wh=monthly(table.get("energy_per_day"), "energy"),
        daytime=table.get("daytime", 0.35),
        critical=table.get("critical", True),
        leg=table.get("leg"),
        cable_drop=table.get("cable_drop"),
        start_volts_least=table.get("start_volts_least"),
    )


def read_job(path: Path) -> Job:
    """The job in a TOML file."""
    return job_of(tomllib.loads(path.read_text(encoding="utf-8-sig")))


def job_of(job: dict[str, Any]) -> Job:
    """A job from its TOML tables, defaults filled in; a KeyError or ValueError where it is not a job."""
    site, supply, need = job["site"], job["supply"], job.get("need", {})
    reserve, space, allow = job.get("reserve", {}), job.get("space", {}), job.get("allow", {})
    water = job.get("water", {})
    sun = site["sun_hours"]
    coldest_c, hottest_c = (amount(site[key], "temperature") for key in ("coldest", "hottest"))
    budget = need.get("budget")
    return Job(
        coldest_c=coldest_c,
        hottest_c=hottest_c,
        sun_hours=tuple(float(one) for one in sun) if isinstance(sun, list) else (float(sun),) * 12,
        bank_coldest_c=amount(site["bank_coldest"], "temperature") if "bank_coldest" in site else coldest_c,
        bank_hottest_c=amount(site["bank_hottest"], "temperature") if "bank_hottest" in site else hottest_c,
        array_ceiling_v=amount(site.get("array_ceiling", "600 V"), "voltage"),
        rear_light=site.get("rear_light", 0.135),
        array_factor=site.get("array_factor", 0.80),
        supply=supply["kind"],
        hz=supply["hz"] if supply["kind"] == "230" else supply.get("hz", 60),
        restart=supply.get("restart"),
        loads=[load_of(table) for table in job["load"]],
        autonomy_days=need.get("autonomy_days", 1.0),
        array_to_load=need.get("array_to_load"),
        budget_cents=None if budget is None else cents_of(str(budget)),
        running=reserve.get("running", 0.25),
        starting=reserve.get("starting", 0.25),
        voltage=reserve.get("voltage", 0.05),
        hot_voltage=reserve.get("hot_voltage", 0.03),
        current=reserve.get("current", 0.25),
        parallel_share=reserve.get("parallel_share", 0.80),
        max_panels=space.get("max_panels", INFINITE),
        max_area_m2=amount(space["max_area"], "area") if "max_area" in space else INFINITE,
        row_max=space.get("row_max", INFINITE),
        mounts=space.get("mounts"),
        chemistries=allow.get("chemistries"),
        sellers=allow.get("sellers"),
        exclude=allow.get("exclude", []),
        listed_only=allow.get("listed_only", False),
        on_hand=job.get("on_hand", {}),
        recover_days=need.get("recover_days", INFINITE),
        reserve_days=water.get("reserve_days", 0.0),
        tank_on_hand_l=amount(water.get("tank_on_hand", "0 L"), "volume"),
        daytime_with_tank=water.get("daytime_with_tank", 0.9),
        max_tanks=water.get("max_tanks", 0),
        well_yield_l_per_h=amount(water["well_yield"], "flow") if "well_yield" in water else INFINITE,
    )
