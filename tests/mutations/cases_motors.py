"""Errors in motors on one phase and three, in what starters and drives make of them, and in the volts that are left."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

import numpy as np

from catalog.rows import StarterRow
from optimizer.inputs.job import Load
from optimizer.rules import load_figures, soft_start
from optimizer.search import tracker_program
from tests.mutations.change import Case, Figures, edited, swapped
from tests.mutations.parts import UNSTATED, months, pump, watts

DEFAULTS = "optimizer.vocabulary.defaults"
MOTOR_TABLES = "optimizer.vocabulary.motor_tables"
RULE_LOAD_FIGURES = "optimizer.rules.load_figures"
RULE_SOFT_START = "optimizer.rules.soft_start"
TRACKER_PROGRAM = "optimizer.search.tracker_program"

SOFT: Mapping[str, Any] = {
    "part": "starter", "kind": "soft", "phases_in": 1.0, "makes_phases": 1.0, "running_a": 20.0, "start_factor": 0.6,
    "start_volts_pct": 60.0, "floor_x": 1.2, "ramp_s": 3.0, "efficiency_pct": 100.0, "input_power_factor": 1.0,
    "motors": "three-wire;three-phase", "volts_min": UNSTATED, "volts_max": UNSTATED, "listed": True,
}  # fmt: skip
DRIVE: Mapping[str, Any] = {
    **SOFT, "kind": "drive", "makes_phases": 3.0, "start_factor": UNSTATED, "start_volts_pct": UNSTATED,
    "floor_x": 1.5, "efficiency_pct": 95.0, "input_power_factor": 0.65,
}  # fmt: skip
ROOT_3 = 1.7320508075688772
THREE_PHASE = pump(motor="three-phase")  # 225 V x 8 A x root 3 = 3117.7 VA


def row(starter: Mapping[str, Any] | None, **changes: Any) -> StarterRow | None:
    """A catalogue row."""
    return None if starter is None else cast(StarterRow, {**starter, **changes})


def asked(load: Load, starter: Mapping[str, Any] | None = None) -> Figures:
    """W and VA running, VA and W starting, s of the start, Wh of a day."""
    one = load_figures.load_figures(load, months(4.0), row(starter))
    return one.running_w, one.running_va, one.start_va, one.start_w, one.start_s, one.energy_wh[0]


def starts(starter: Mapping[str, Any] | None, drop: float | None, least: float | None = None, **cells: Any) -> bool:
    """Whether a motor has volts enough as it starts."""
    return soft_start.starts_motor(row(starter, **cells), drop, least)


def served(starter: Mapping[str, Any], motor: str | None, drop: float | None = 0.1) -> bool:
    """Whether a starter may serve a motor of 8 A at 225 V."""
    return soft_start.serves(cast(StarterRow, starter), motor, 8.0, 225.0, drop)


CASES = (
    # 225 V between phases x 8 A x root 3, and four times that
    Case("root 3 of three phases forgotten", lambda: asked(THREE_PHASE)[1:3], (1800 * ROOT_3, 7200 * ROOT_3),
         edited(MOTOR_TABLES, "volts * amps * (sqrt(3) if three_phase else 1.0)", "volts * amps")),
    # NEC Table 430.251(B): 2 hp 19.92 kVA; by six times the 12 A of one phase it would be 16.2 kVA
    Case("start of three phases by the table of one", lambda: asked(pump(motor="three-phase", starting=None,
                                                                         rated_hp=2.0))[2:3], (19_920.0,),
         edited(MOTOR_TABLES, "if three_phase:\n        return three_phase_start_va(hp)", "if False:\n        pass")),
    # 2.1 hp takes the row of 3 hp
    Case("smaller row between two rows of locked-rotor kVA",
         lambda: asked(pump(motor="three-phase", starting=None, rated_hp=2.1))[2:3], (25_500.0,),
         edited(MOTOR_TABLES, "if hp <= just_above(row_hp):\n            return kva * 1000",
                "if hp <= row_hp * 1.2:\n            return kva * 1000")),
    # 1800 W of a psc motor are 2000 VA at 0.9, of one on three phases 2250 VA at 0.8
    Case("power factors by kind of motor forgotten",
         lambda: (*asked(pump(running=watts(1800.0), motor="psc"))[1:2],
                  *asked(pump(running=watts(1800.0), motor="three-phase"))[1:2]),
         (2000.0, 2250.0), swapped(DEFAULTS, "MOTOR_POWER_FACTORS", {})),
    # 1400 W of a pump that starts no harder than it runs: a motor at 0.7
    Case("what lifts water taken for no motor",
         lambda: asked(pump(running=watts(1400.0), starting="none", hours_per_day=None,
                            water_per_day_l=months(4000.0), flow_l_per_h=1000.0))[1:2],
         (2000.0,),
         edited(RULE_LOAD_FIGURES, "load.locked_rotor_code, load.flow_l_per_h, load.water_per_day_l)",
                "load.locked_rotor_code)")),
    # 1800 W behind a drive of 95 %: 1894.7 W, at 0.65 2915 VA; 4 h of it are 7578.9 Wh
    Case("losses of a drive forgotten", lambda: asked(pump(), DRIVE)[:2] + asked(pump(), DRIVE)[5:],
         (1800 / 0.95, 1800 / 0.95 / 0.65, 7200 / 0.95),
         edited(RULE_SOFT_START, "watts = running_w / (efficiency_pct / 100)", "watts = running_w")),
    Case("power factor of a drive forgotten", lambda: asked(pump(), DRIVE)[1:2], (1800 / 0.95 / 0.65,),
         edited(RULE_SOFT_START, "return watts, watts / input_power_factor", "return watts, watts")),
    # half as much again as it runs with, for 3 s; the motor's own 7200 VA do not show
    Case("start of the motor behind its drive", lambda: asked(pump(), DRIVE)[2:5],
         (1.5 * 1800 / 0.95 / 0.65, 1.5 * 1800 / 0.95, 3.0),
         edited(RULE_LOAD_FIGURES, 'float(starter["floor_x"]) * va, float(starter["floor_x"]) * watts',
                "direct_va, direct_va")),
    # 1900 Wh of the motor are 2000 Wh
    Case("stated energy taken for the drive's",
         lambda: asked(pump(hours_per_day=None, energy_per_day_wh=months(1900.0)), DRIVE)[5:], (2000.0,),
         edited(RULE_LOAD_FIGURES, "tuple(wh * (watts / motor_w) for wh in load.energy_per_day_wh)",
                "load.energy_per_day_wh")),
    # 0.6 of the volts, of which a cable leaves 80 %: 0.48; by amps alone it would be 0.528
    Case("drop of a cable by the share of the amps", lambda: (starts(SOFT, 0.2, 0.5), starts(SOFT, 0.2, 0.48)),
         (False, True),
         edited(RULE_SOFT_START, "return share * (1 - cable_drop)", "return share * (1 - cable_drop * share)")),
    # direct 0.6 of the volts, of which 0.65 are asked; a starter that leaves them all would pass at 0.55
    Case("a starter thought to mend a weak direct start", lambda: (starts(SOFT, 0.4, start_volts_pct=100.0),), (False,),
         edited(RULE_SOFT_START, "each = (None,) if starter is None else (None, starter)", "each = (starter,)")),
    Case("a drive judged by its cable", lambda: (starts(DRIVE, 0.5),), (True,),
         edited(RULE_SOFT_START, "if cable_drop is None or is_drive(starter):", "if cable_drop is None:")),
    # the maker says 0.5 direct and soft; 0.9 where the motor needs more than is usual
    Case("least volts of the maker ignored",
         lambda: (starts(None, 0.45, 0.5), starts(None, 0.2, 0.9), starts(SOFT, 0.1, 0.5)), (True, False, True),
         edited(RULE_SOFT_START, "    if stated is not None:\n        return stated", "    pass")),
    Case("a starter on a motor whose cable is not stated",
         lambda: (served(SOFT, "three-wire", None), served({**DRIVE, "makes_phases": 1.0}, "three-wire", None)),
         (False, True),
         edited(RULE_SOFT_START, "if cable_drop is None and not is_drive(starter):", "if False:")),
    # what makes as many phases as it takes serves no motor of three, and what makes three none of one
    Case("phases of a starter ignored",
         lambda: (served(SOFT, "three-phase"), served(DRIVE, "three-phase"), served(DRIVE, "three-wire"),
                  served({**DRIVE, "phases_in": 3.0}, "three-phase")),
         (False, True, False, False),
         edited(RULE_SOFT_START,
                'return bool(starter["phases_in"] == 1 and starter["makes_phases"] == motor_phases(motor))',
                "return True")),
    Case("a motor on three phases run from one", lambda: (soft_start.fits_phases(None, "three-phase"),), (False,),
         edited(RULE_SOFT_START, "return motor_phases(motor) == 1", "return True")),
    # of three phases 8 A are 3117.7 VA, and by one they would be 13.9 A
    Case("amps of three phases as of one",
         lambda: (load_figures.load_figures(THREE_PHASE, months(4.0)).motor_a,), (8.0,),
         edited(RULE_LOAD_FIGURES, "return self.motor_va / apparent_power(self.voltage_v, 1.0, self.phases == 3)",
                "return self.motor_va / self.voltage_v")),
    # nothing is asked of the array: one panel still is an array, none is not
    Case("an array of no panels", lambda: (tracker_program.fewest_panels(np.array([0.0, 320.0]), 0.0, 0.0) or 0,), (1,),
         edited(TRACKER_PROGRAM, "max(1.0, whole_up(least))", "max(0.0, whole_up(least))")),
)  # fmt: skip
