"""What the loads ask: running, each start, energy and daytime share."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from tests.brute.limits import at_most
from tests.brute.parts import Starter
from tests.brute.reading import Job, Load, Months

# Upper end of each letter's range, kVA per hp: NEC 430.7(B), from memory. V has no upper end.
LOCKED_ROTOR_KVA_PER_HP = {
    "A": 3.14,
    "B": 3.54,
    "C": 3.99,
    "D": 4.49,
    "E": 4.99,
    "F": 5.59,
    "G": 6.29,
    "H": 7.09,
    "J": 7.99,
    "K": 8.99,
    "L": 9.99,
    "M": 11.19,
    "N": 12.49,
    "P": 13.99,
    "R": 15.99,
    "S": 17.99,
    "T": 19.99,
    "U": 22.39,
}
# hp, full-load A at 115 V, at 230 V: NEC 430.248.
FULL_LOAD_A = [
    (1 / 2, 9.8, 4.9),
    (3 / 4, 13.8, 6.9),
    (1, 16, 8),
    (1.5, 20, 10),
    (2, 24, 12),
    (3, 34, 17),
    (5, 56, 28),
    (7.5, 80, 40),
    (10, 100, 50),
]
LOCKED_ROTOR_TIMES_FULL_LOAD = 6  # NEC 430.251(A)
# hp, kVA at the start of a three-phase motor, designs B to D: NEC Table 430.251(B).
THREE_PHASE_START_KVA = [
    (1 / 2, 7.97),
    (3 / 4, 9.96),
    (1, 11.95),
    (1.5, 15.93),
    (2, 19.92),
    (3, 25.50),
    (5, 36.65),
    (7.5, 50.59),
    (10, 64.54),
]
ROOT_3 = math.sqrt(3)
# Where a load is stated in W and no power factor is; common practice, no source.
POWER_FACTORS = {"psc": 0.9, "three-phase": 0.8}
OF_ANY_OTHER_MOTOR = 0.7
OF_NO_MOTOR = 1.0


@dataclass(frozen=True)
class Figures:
    """What one load asks; figures of one unit, energies of all units."""

    name: str
    count: int
    running_w: float
    running_va: float
    starting_va: float
    starting_w: float
    start_time_s: float
    energy_wh: Months
    daytime: Months
    critical: bool
    own_leg: bool  # sits on one leg of a 120/240 V supply, not across both
    leg: int | None
    pumps: bool  # its energy is that of the water it lifts
    running_a: float  # of one unit, before a drive

    @property
    def starts(self) -> bool:
        return not at_most(self.starting_va, self.running_va)


@dataclass(frozen=True)
class Case:
    """A start: what is asked while it lasts; `place` is that of the load, None for all together."""

    va: float
    w: float
    time_s: float
    place: int | None


def full_load_a(rated_hp: float, voltage_v: float) -> float:
    """Of a motor on one phase; between two rows the larger, under the first the first."""
    for hp, at_115, at_230 in FULL_LOAD_A:
        if at_most(rated_hp, hp):
            return at_115 if 110 <= voltage_v <= 125 else at_230
    raise ValueError(f"{rated_hp} hp: over 10 hp there is no estimate")


def three_phase_start_va(rated_hp: float) -> float:
    for hp, kva in THREE_PHASE_START_KVA:
        if at_most(rated_hp, hp):
            return kva * 1000
    raise ValueError(f"{rated_hp} hp: over 10 hp there is no estimate")


def volt_amperes(load: Load, amps: float) -> float:
    """What `amps` of a load are in VA; the volts of a three-phase one are those between phases."""
    return (ROOT_3 if load.three_phase else 1.0) * load.voltage_v * amps


def starting_va(load: Load) -> float | None:
    """The start in VA, the first figure that is given; None where it is as the running."""
    if load.starting_kind == "none":
        if load.locked_rotor_code is not None:
            raise ValueError(f"{load.name}: starts no harder than it runs, and a locked-rotor code besides")
        return None
    if load.starting is not None:
        return volt_amperes(load, load.starting) if load.starting_kind == "current" else load.starting
    if load.locked_rotor_code is not None and load.rated_hp is not None:
        return LOCKED_ROTOR_KVA_PER_HP[load.locked_rotor_code] * 1000 * load.rated_hp
    if load.locked_rotor_code is not None:
        raise ValueError(f"{load.name}: a locked-rotor code without the rated power")
    if load.rated_hp is not None and load.three_phase:
        return three_phase_start_va(load.rated_hp)
    if load.rated_hp is not None:
        return LOCKED_ROTOR_TIMES_FULL_LOAD * full_load_a(load.rated_hp, load.voltage_v) * load.voltage_v
    if load.is_motor:
        raise ValueError(f"{load.name}: a motor without a start figure")
    return None


def power_factor(load: Load) -> float:
    """The power factor of a load in W, stated or by default."""
    if load.power_factor is not None:
        return load.power_factor
    if not load.is_motor:
        return OF_NO_MOTOR
    return POWER_FACTORS.get(load.motor or "", OF_ANY_OTHER_MOTOR)


def figures(load: Load, sun_hours: Months, with_tank: float = 0.0) -> Figures:
    """What a load asks; `with_tank` is the daytime share that a pumping one may rise to."""
    start = starting_va(load)
    if load.running_kind == "power":
        running_w = load.running
        running_va = running_w / power_factor(load)
        assumed = load.power_factor is None
        if assumed and start is not None:  # only the default would put the running above the start
            running_va = max(running_w, min(running_va, start))
    else:
        running_va = volt_amperes(load, load.running) if load.running_kind == "current" else load.running
        running_w = running_va * (1.0 if load.power_factor is None else load.power_factor)
        assumed = False
    if start is None:
        start = running_va
    elif not at_most(running_w, start) if assumed else at_most(start, running_va):
        raise ValueError(f"{load.name}: starts with no more than it runs with")

    starting_w = running_w
    if not at_most(start, running_va):
        starting_w = max(start * load.starting_power_factor, running_w)

    hours = load.hours_per_day
    share = load.daytime
    if load.water_per_day_l is not None:
        assert load.flow_l_per_h is not None
        flow = load.count * load.flow_l_per_h
        hours = tuple(water / flow for water in load.water_per_day_l)
        share = max(share, with_tank)
    if hours is None:
        assert load.energy_per_day_wh is not None
        energy: Months = load.energy_per_day_wh
        if not all(at_most(one, running_w * load.count * 24) for one in energy):
            raise ValueError(f"{load.name}: more than 24 h a day")
        daytime: Months = (share,) * 12
    else:
        if not all(at_most(one, 24.0) for one in hours):
            raise ValueError(f"{load.name}: more than 24 h a day")
        energy = tuple(running_w * one * load.count for one in hours)
        daytime = tuple(min(share, sun / one) if one > 0 else share for sun, one in zip(sun_hours, hours, strict=True))
    return Figures(
        name=load.name,
        count=load.count,
        running_w=running_w,
        running_va=running_va,
        starting_va=start,
        starting_w=starting_w,
        start_time_s=load.start_time_s,
        energy_wh=energy,
        daytime=daytime,
        critical=load.critical,
        own_leg=110 <= load.voltage_v <= 125,
        leg=load.leg,
        pumps=load.water_per_day_l is not None,
        running_a=running_va / volt_amperes(load, 1.0),
    )


@dataclass(frozen=True)
class Demand:
    loads: list[Figures]
    running_w: float
    running_va: float
    cases: list[Case]
    pumps_rest: bool = False  # the bank need not carry the pumping loads through sunless days


def driven(one: Figures, starter: Starter) -> Figures:
    """A load behind a drive: its losses and the VA that it takes stand for the motor's, and the start is its own."""
    watts = one.running_w / starter.efficiency
    va = watts / starter.input_power_factor
    floor = max(1.0, starter.floor_x)
    return replace(
        one,
        running_w=watts,
        running_va=va,
        starting_va=floor * va,
        starting_w=floor * watts,
        start_time_s=max(one.start_time_s, starter.ramp_s),
        energy_wh=tuple(wh / starter.efficiency for wh in one.energy_wh),
    )


def softened(one: Figures, load: Load, starter: Starter) -> Figures:
    """A load that starts through a starter: Z' = max(start_factor·Z, floor_x·S), never below S."""
    if starter.kind == "drive":
        return driven(one, starter)
    start = max(starter.start_factor * one.starting_va, starter.floor_x * one.running_va, one.running_va)
    power = one.running_w
    if not at_most(start, one.running_va):
        power = max(start * load.starting_power_factor, one.running_w)
    return replace(one, starting_va=start, starting_w=power, start_time_s=max(one.start_time_s, starter.ramp_s))


def demand(
    job: Job, starters: Sequence[Starter | None] = (), *, with_tank: float = 0.0, pumps_rest: bool = False
) -> Demand:
    """All loads of a job together: all run at once, and each start case.

    `starters` has one entry for each load (none: no load has one); `with_tank` as in `figures`.
    """
    loads = [figures(load, job.sun_hours, with_tank) for load in job.loads]
    if job.restart is None and sum(load.count for load in loads if load.starts) > 1:
        raise ValueError("restart is not stated and two or more units start harder than they run")
    if starters:
        loads = [
            one if starter is None else softened(one, load, starter)
            for one, load, starter in zip(loads, job.loads, starters, strict=True)
        ]
    running_w = sum(load.count * load.running_w for load in loads)
    running_va = sum(load.count * load.running_va for load in loads)
    hard = [place for place, load in enumerate(loads) if load.starts]
    cases = [
        Case(
            running_va + loads[place].starting_va - loads[place].running_va,
            running_w + loads[place].starting_w - loads[place].running_w,
            loads[place].start_time_s,
            place,
        )
        for place in hard
    ]
    if hard and job.restart == "together":
        cases = [
            Case(
                sum(load.count * load.starting_va for load in loads),
                sum(load.count * load.starting_w for load in loads),
                max(loads[place].start_time_s for place in hard),
                None,
            )
        ]
    return Demand(loads, running_w, running_va, cases, pumps_rest)
