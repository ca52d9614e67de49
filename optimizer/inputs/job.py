"""The job: what is wanted, read from one TOML file into base units, every problem of it at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from optimizer.vocabulary.defaults import default
from optimizer.vocabulary.supplies import SUPPLIES
from optimizer.vocabulary.units import Quantity

if TYPE_CHECKING:
    from optimizer.weather.year import WeatherYears

Months = tuple[float, ...]  # twelve values, January first


@dataclass(frozen=True)
class Site:
    """Where it stands: temperatures in degC, sun in kWh/m2 a day, array ceiling in V, the rest shares."""

    coldest_c: float
    hottest_c: float
    sun_hours: Months
    bank_coldest_c: float
    bank_hottest_c: float
    array_ceiling_v: float = default("site.array_ceiling")
    rear_light: float = default("site.rear_light")
    array_factor: float = default("site.array_factor")


@dataclass(frozen=True)
class Supply:
    """The supply: kind "120", "120/240" or "230"; restart "staggered" or "together"."""

    kind: str
    hz: int
    restart: str = "staggered"

    @property
    def split_phase(self) -> bool:
        """Whether it has two legs."""
        return SUPPLIES[self.kind].split_phase


@dataclass(frozen=True)
class Load:
    """One kind of load. ``running`` and ``starting`` are of one unit, in A, W or VA as their unit says.

    ``water_per_day_l`` and ``energy_per_day_wh`` are of all units; ``hours_per_day`` and ``flow_l_per_h`` of each.
    ``at``: when it runs, as spans of the clock in h; ``drawn``: the shares of a day's water that are drawn in each of
    24 hours. ``index`` is its place among the loads, from 0.
    """

    name: str
    voltage_v: float
    running: Quantity
    count: int = int(default("load.count"))
    power_factor: float | None = None
    starting: Quantity | Literal["none"] | None = None
    locked_rotor_code: str | None = None
    rated_hp: float | None = None
    starting_power_factor: float = default("load.starting_power_factor")
    start_time_s: float = default("load.start_time")
    motor: str | None = None
    water_per_day_l: Months | None = None
    flow_l_per_h: float | None = None
    hours_per_day: Months | None = None
    energy_per_day_wh: Months | None = None
    daytime: float = default("load.daytime")
    critical: bool = True
    leg: int | None = None
    cable_drop: float | None = None
    start_volts_least: float | None = None
    at: tuple[tuple[float, float], ...] | None = None
    drawn: tuple[float, ...] | None = None
    index: int = 0


@dataclass(frozen=True)
class Need:
    """What the person wishes. ``array_to_load`` None takes the rule's default by chemistry."""

    autonomy_days: float = default("need.autonomy_days")
    array_to_load: float | None = None
    budget_cents: int | None = None
    recover_days: float | None = None


@dataclass(frozen=True)
class Reserve:
    """Reserves, as shares."""

    running: float = default("reserve.running")
    starting: float = default("reserve.starting")
    voltage: float = default("reserve.voltage")
    hot_voltage: float = default("reserve.hot_voltage")
    current: float = default("reserve.current")
    parallel_share: float = default("reserve.parallel_share")


@dataclass(frozen=True)
class Space:
    """Room for panels; None is no limit."""

    max_panels: int | None = None
    max_area_m2: float | None = None
    row_max: int | None = None
    mounts: tuple[str, ...] | None = None


@dataclass(frozen=True)
class Allow:
    """What may be used; None is everything."""

    chemistries: tuple[str, ...] | None = None
    sellers: tuple[str, ...] | None = None
    exclude: tuple[str, ...] = ()
    listed_only: bool = False


@dataclass(frozen=True)
class Water:
    """Water storage and the well. Volumes in L, ``well_yield_l_per_h`` in L/h, None where not stated. ``max_tanks``
    None: no tank is chosen unasked."""

    reserve_days: float = default("water.reserve_days")
    tank_on_hand_l: float = default("water.tank_on_hand")
    daytime_with_tank: float = default("water.daytime_with_tank")
    max_tanks: int | None = None
    well_yield_l_per_h: float | None = None


@dataclass(frozen=True)
class Weather:
    """The weather file and the plane of the array: degrees from level and from true north by east; the share of light
    that the ground throws back. ``utc_offset_h`` in h where it puts the file's own right. ``years``: what it holds.
    ``coldest_by_file``: the site leaves its coldest to the file."""

    file: str
    tilt_deg: float
    azimuth_deg: float
    years: WeatherYears = field(compare=False, repr=False)
    ground: float = default("weather.ground")
    utc_offset_h: float | None = None
    gaps: str = "refuse"
    coldest_by_file: bool = False


@dataclass(frozen=True)
class Replay:
    """How the hours of the weather file are gone through: what all but heat, glass and ceilings leaves of the panels'
    power, as a share, and which ``bank``: "aged", or "new" beside it. ``hours_short``: the most hours of any one year
    in which critical loads lack power, None where they are only reported."""

    array_losses: float = default("replay.array_losses")
    bank: str = "aged"
    hours_short: int | None = None


@dataclass(frozen=True)
class Job:
    """A job in base units. ``written`` holds each stated value as text, by dotted key ("load.bore pump.running");
    ``stated`` the dotted keys; ``lines`` their lines in the file.
    """

    path: Path
    title: str
    catalog: str | None
    site: Site
    supply: Supply
    loads: tuple[Load, ...]
    need: Need = Need()
    reserve: Reserve = Reserve()
    space: Space = Space()
    allow: Allow = Allow()
    water: Water = Water()
    weather: Weather | None = None
    replay: Replay = Replay()
    on_hand: Mapping[str, int] = field(default_factory=dict)
    written: Mapping[str, str] = field(default_factory=dict)
    stated: frozenset[str] = frozenset()
    digest: str = ""
    lines: Mapping[str, int | None] = field(default_factory=dict, repr=False)

    @property
    def digests(self) -> dict[str, str]:
        """The digests of the files that it was read from, by what they are."""
        of_weather = {} if self.weather is None else {"weather": self.weather.years.digest}
        return {"job": self.digest, **of_weather}

    def unit_of(self, key: str) -> str:
        """The unit in which a key was written, of the first of several values; "" where it is not stated."""
        first = self.written.get(key, "").strip("[]").split(",")[0]
        return first.lstrip("+-0123456789. ").strip()
