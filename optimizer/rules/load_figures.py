"""One load: what it runs at, what it starts at and for how long, by nameplate, clamp meter or estimate."""

from __future__ import annotations

from dataclasses import dataclass

from catalog.rows import StarterRow
from optimizer.inputs.job import Load
from optimizer.rules.soft_start import drive_input, is_drive, softened_va
from optimizer.vocabulary.defaults import MOTOR_POWER_FACTOR, MOTOR_POWER_FACTORS
from optimizer.vocabulary.motor_tables import apparent_power, estimated_start_va, locked_rotor_va, motor_phases
from optimizer.vocabulary.supplies import HOUSE_BAND
from optimizer.vocabulary.tolerance import just_above


@dataclass(frozen=True)
class LoadFigures:
    """The figures of one unit of a load, and of all its units in a day of each month.

    ``start_source`` says where the start comes from: "stated", "code letter", "estimate" (six times the table's
    full-load amps, or the table's locked-rotor kVA), "none" (stated to have none) or "not stated" (none counted).
    ``direct_va``: what it starts at without the ``starter`` (part id, "" for none) that it has, ``motor_va`` what the
    motor itself runs at; ``power_factor`` is the motor's. Behind a drive the running figures are the drive's.
    """

    name: str
    count: int
    voltage_v: float
    running_w: float
    running_va: float
    start_va: float
    start_w: float
    start_s: float
    start_source: str
    power_factor: float
    power_factor_assumed: bool
    hours: tuple[float, ...] | None
    energy_wh: tuple[float, ...]
    daytime: tuple[float, ...]
    critical: bool
    leg: int | None
    direct_va: float = 0.0
    starter: str = ""
    pumps: bool = False
    motor_va: float = 0.0
    phases: int = 1
    driven: bool = False

    @property
    def starts(self) -> bool:
        """Whether it starts harder than it runs."""
        return starts_harder(self.start_va, self.running_va)

    @property
    def starts_hard(self) -> bool:
        """The same without its starter."""
        return starts_harder(self.direct_va, self.motor_va)

    @property
    def supply_a(self) -> tuple[float, float]:
        """A from the supply, running and starting: of a drive's input, which has one phase, else of the motor."""
        per_a = apparent_power(self.voltage_v, 1.0, self.phases == 3 and not self.driven)
        return self.running_va / per_a, self.start_va / per_a

    @property
    def motor_a(self) -> float:
        """A of the motor itself while it runs."""
        return self.motor_va / apparent_power(self.voltage_v, 1.0, self.phases == 3)

    @property
    def across(self) -> bool:
        """Whether it stands across both legs of a 120/240 V supply."""
        return self.voltage_v > HOUSE_BAND[1]


def starts_harder(start_va: float, running_va: float) -> bool:
    """Whether a start asks more VA than running does, beyond the rounding of adding up."""
    return start_va > just_above(running_va)


def is_motor(load: Load) -> bool:
    """A load that pumps, has a motor's figure, or starts harder than it runs (common practice, no source)."""
    stated_start = load.starting is not None and load.starting != "none"
    figures = (load.rated_hp, load.motor, load.locked_rotor_code, load.flow_l_per_h, load.water_per_day_l)
    return stated_start or any(figure is not None for figure in figures)


def needs_volts(load: Load, figures: LoadFigures) -> bool:
    """Whether a load must have volts enough to start: every motor, and whatever starts harder than it runs."""
    return figures.starts_hard or is_motor(load)


def default_power_factor(load: Load) -> float:
    """The power factor of a load that states none, by its kind of motor (common practice, no source)."""
    return MOTOR_POWER_FACTORS.get(load.motor or "", MOTOR_POWER_FACTOR) if is_motor(load) else 1.0


def load_figures(
    load: Load, sun_hours: tuple[float, ...], starter: StarterRow | None = None, daytime: float = 0.0
) -> LoadFigures:
    """The figures of one load; ``sun_hours`` are the site's twelve values in h a day. ``starter``: the catalogue row
    of the one it starts through; ``daytime``: the share of its energy used in the sun at the least."""
    running, unit = load.running.value, load.running.unit
    three_phase = motor_phases(load.motor) == 3
    assumed = load.power_factor is None
    in_watts = unit in ("W", "kW")
    factor = load.power_factor
    if factor is None:
        factor = default_power_factor(load) if in_watts else 1.0
    if in_watts:
        watts, va = running, running / factor
    else:
        va = apparent_power(load.voltage_v, running, three_phase) if unit in ("A", "mA") else running
        watts = va * factor

    start, source = start_figure(load)
    if start is not None and in_watts and assumed:
        va = max(watts, min(va, start))  # only the assumed power factor would put running above the start
    motor_va, motor_w = va, watts
    direct_va = start_va = va if start is None else max(start, va)
    seconds = load.start_time_s
    if starter is not None:
        seconds = max(seconds, float(starter["ramp_s"]))
    if starter is not None and is_drive(starter):
        watts, va = drive_input(watts, starter["efficiency_pct"], starter["input_power_factor"])
        start_va, start_w = float(starter["floor_x"]) * va, float(starter["floor_x"]) * watts
    else:
        if starter is not None:
            start_va = float(softened_va(starter["start_factor"], direct_va, starter["floor_x"], va))
        start_w = max(start_va * load.starting_power_factor, watts) if starts_harder(start_va, va) else watts

    hours: tuple[float, ...] | None = load.hours_per_day
    if load.water_per_day_l is not None and load.flow_l_per_h is not None:
        hours = tuple(litres / (load.count * load.flow_l_per_h) for litres in load.water_per_day_l)
    if load.energy_per_day_wh is None:
        energy = tuple(watts * h * load.count for h in hours or (0.0,) * 12)
    else:  # what a drive loses comes on top of what was measured of the motor
        energy = tuple(wh * (watts / motor_w) for wh in load.energy_per_day_wh)
    share = max(load.daytime, daytime)
    in_sun: tuple[float, ...] = (share,) * 12
    if hours is not None:
        in_sun = tuple(min(share, sun / h) if h > 0 else share for sun, h in zip(sun_hours, hours, strict=True))
    return LoadFigures(
        load.name, load.count, load.voltage_v, watts, va, start_va, start_w, seconds, source, factor,
        assumed, hours, energy, in_sun, load.critical, load.leg, direct_va,
        "" if starter is None else str(starter["part"]), load.water_per_day_l is not None, motor_va,
        3 if three_phase else 1, is_drive(starter),
    )  # fmt: skip


def start_figure(load: Load) -> tuple[float | None, str]:
    """The starting VA of one unit, from the first figure that is given, and where it came from."""
    if load.starting == "none":
        return None, "none"
    if load.starting is not None:
        if load.starting.unit in ("A", "mA"):
            return apparent_power(load.voltage_v, load.starting.value, motor_phases(load.motor) == 3), "stated"
        return load.starting.value, "stated"
    if load.locked_rotor_code is not None and load.rated_hp is not None:
        return locked_rotor_va(load.locked_rotor_code, load.rated_hp), "code letter"
    if load.rated_hp is not None:
        return estimated_start_va(load.rated_hp, load.voltage_v, motor_phases(load.motor) == 3), "estimate"
    return None, "not stated"
