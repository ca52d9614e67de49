"""Reduced-voltage starting: what it leaves of line current, torque and volts.

From memory: textbooks of electrical machines (autotransformer taps; torque with the square of volts), NFPA 70 (NEC)
430.7(B), 430.248 and 430.251(A) for the start that is softened, NEC Chapter 9 Table 8 for the cable, makers'
handbooks and generator tables for the ranges of starters and the volts that a motor needs. Common practice, no
source: a start cut from 600 % to 300 % of running amps has a quarter of its torque. Products of round shares are
exact; a figure that is printed with so many digits asks half of the last one.
"""

from __future__ import annotations

import re
from typing import cast

import numpy as np
import pytest

from catalog.reader import Catalog, Table
from catalog.rows import StarterColumn, StarterRow
from catalog.sheet import read_row
from catalog.tables import STARTERS
from optimizer.rules.comparisons import at_least
from optimizer.rules.soft_start import (
    LEAST_VOLTS_DIRECT,
    LEAST_VOLTS_STARTER,
    drive_input,
    softened_va,
    start_volts_share,
    volts_left,
)
from optimizer.vocabulary.motor_tables import estimated_start_va, full_load_amps, locked_rotor_va

Starters = Table[StarterRow, StarterColumn]
TAPS = [(0.50, 0.25), (0.65, 0.42), (0.80, 0.64)]  # tap and share of line current and torque
OHM_PER_KFT = 1.24  # 10 AWG copper, stranded, 75 degC: NEC Chapter 9 Table 8
RUNNING_VA = 2300.0  # 10 A at 230 V: 1.5 hp by NEC 430.248
DIRECT_VA = 13800.0  # six times it: NEC 430.251(A)
TIMES_RUNNING = (6.0, 8.0)  # starts across the line: common practice, no source (drillers' trade press)


@pytest.fixture(scope="module")
def starters(shipped: Catalog) -> Starters:
    """The starters of the shipped catalogue: invented, and yet within what is published of their sort."""
    return shipped.starters


def drop_of(feet: float, amps: float, volts: float) -> float:
    """Share of volts lost in a pair of 10 AWG wires, there and back: Ohm's law."""
    return 2 * feet / 1000 * OHM_PER_KFT * amps / volts


# line current ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("tap", "line"), TAPS)
def test_an_autotransformer_draws_the_square_of_its_tap(tap: float, line: float) -> None:
    """Textbook, from memory: volts x tap, motor amps x tap, and the turns make it tap x tap on the line."""
    motor_amps = 60.0 * tap
    line_va = 230.0 * tap * motor_amps
    assert line_va / DIRECT_VA == pytest.approx(line, abs=0.005)
    assert softened_va(line, DIRECT_VA, 0.0, RUNNING_VA) == pytest.approx(line_va, rel=0.01)


def test_the_three_taps_at_once() -> None:
    """Arrays as well as floats: a quarter of 13.8 kVA is 3.45 kVA, 0.42 of it 5.796, 0.64 of it 8.832."""
    shares = np.array([line for _, line in TAPS])
    assert softened_va(shares, DIRECT_VA, 0.0, RUNNING_VA) == pytest.approx([3450.0, 5796.0, 8832.0])


def test_the_tapped_starters_of_the_catalogue(starters: Starters) -> None:
    """Their start_factor is the square of the tap that the note names."""
    taps = {
        part: int(found[1]) / 100
        for part, note in zip(starters.part, starters["note"], strict=True)
        if (found := re.search(r"(\d+) % tap", note))
    }
    assert taps
    for part, tap in taps.items():
        factor = starters["start_factor"][starters.index_of(part)]
        assert factor == pytest.approx(tap**2, abs=0.005), part


def test_a_soft_starter_leaves_40_to_60_percent(starters: Starters) -> None:
    """Electronic soft starters: 0.40 to 0.60 of the direct amps (makers' handbooks, from memory)."""
    soft = np.char.startswith(starters.part.astype(str), "st-soft")
    assert soft.sum() >= 5
    for times in TIMES_RUNNING:
        left = softened_va(starters["start_factor"][soft], times, starters["floor_x"][soft], 1.0) / times
        assert ((left >= 0.40 - 1e-9) & (left <= 0.60 + 1e-9)).all()


def test_a_drive_starts_at_1_to_1_5_times_the_running_amps(starters: Starters) -> None:
    """Drives (makers' handbooks, from memory): the floor of each, whatever the direct start is."""
    drives = starters["kind"] == "drive"
    assert drives.sum() >= 2
    assert ((starters["floor_x"][drives] >= 1.0) & (starters["floor_x"][drives] <= 1.5)).all()


def test_no_starter_goes_below_its_floor_or_the_running_va() -> None:
    """1.5 hp: 15 % of 13.8 kVA is 2070 VA, less than it takes to run; a floor of 1.3 asks 2990 VA, of 2.2 5060 VA."""
    assert softened_va(0.15, DIRECT_VA, 0.0, RUNNING_VA) == 2300.0
    assert softened_va(0.15, DIRECT_VA, 1.3, RUNNING_VA) == pytest.approx(2990.0)
    assert softened_va(0.15, DIRECT_VA, 2.2, RUNNING_VA) == pytest.approx(5060.0)


def test_only_the_one_row_that_says_so_starts_a_two_wire_motor(starters: Starters) -> None:
    """Makers of two-wire motors allow no soft start (from memory): the one exception calls itself invented."""
    may = [place for place, kinds in enumerate(starters["motors"]) if "two-wire" in kinds.split(";")]
    assert len(may) == 1
    assert "invented data" in starters["note"][may[0]]


# the start that is softened ----------------------------------------------------------------------------------------


def test_from_six_times_the_full_load_amps() -> None:
    """1.5 hp at 230 V: 10 A, 60 A locked (NEC 430.248 and 430.251(A), from memory); 0.55 leaves 33 A, 7.59 kVA."""
    left = softened_va(0.55, estimated_start_va(1.5, 230.0), 2.0, full_load_amps(1.5, 230.0) * 230.0)
    assert left == pytest.approx(7590.0, abs=0.5)
    assert left / 230.0 == pytest.approx(33.0, abs=0.05)


def test_from_a_code_letter() -> None:
    """1.5 hp, letter K, to 8.99 kVA/hp (NEC 430.7(B), from memory): 13.485 kVA; a half leaves 29.3 A at 230 V."""
    left = softened_va(0.50, locked_rotor_va("K", 1.5), 2.2, RUNNING_VA)
    assert left / 230.0 == pytest.approx(29.3, abs=0.05)


def test_from_a_code_letter_through_a_tap() -> None:
    """20 hp, letter G: 157.9 A locked at 460 V and three phases (27 A to run, NEC 430.250, from memory). The 65 % tap
    leaves 0.4225 of it, 66.7 A on the line."""
    left = softened_va(0.65**2, locked_rotor_va("G", 20.0), 1.0, 27.0 * 460.0 * 3**0.5)
    assert left / (460.0 * 3**0.5) == pytest.approx(66.7, abs=0.05)


# torque ------------------------------------------------------------------------------------------------------------


def test_half_the_amps_have_a_quarter_of_the_torque() -> None:
    """600 % cut to 300 % leaves 25 % (common practice, no source: torque goes with the square of current)."""
    cut = softened_va(0.50, 6.0, 2.0, 1.0)
    assert cut == pytest.approx(3.0)
    assert (cut / 6.0) ** 2 == pytest.approx(0.25)


@pytest.mark.parametrize(("tap", "torque"), TAPS)
def test_for_equal_torque_a_soft_starter_draws_more_than_a_tap(tap: float, torque: float) -> None:
    """Textbook, from memory: torque goes with volts squared, so both give tap x tap of it; the soft starter lets the
    motor's own amps through to the line, 1 / tap times those of the autotransformer."""
    soft, tapped = (softened_va(factor, DIRECT_VA, 0.0, RUNNING_VA) for factor in (tap, torque))
    assert (soft / DIRECT_VA) ** 2 == pytest.approx(torque, abs=0.005)
    assert soft / tapped == pytest.approx(1 / tap, rel=0.01)


@pytest.mark.parametrize(("least", "torque"), [(LEAST_VOLTS_DIRECT, 0.42), (LEAST_VOLTS_STARTER, 0.30)])
def test_torque_at_the_least_volts(least: float, torque: float) -> None:
    """Volts squared: as on the 65 % tap without a starter, and three tenths with one (from memory)."""
    assert least**2 == pytest.approx(torque, abs=0.005)


# volts at the end of the cable -------------------------------------------------------------------------------------


def test_volts_at_the_end_of_400_feet() -> None:
    """72 A through 400 ft of 10 AWG lose 2 x 0.4 x 1.24 x 72 = 71.4 V of 230 V: 0.689 is left, enough to start."""
    drop = drop_of(400.0, 72.0, 230.0)
    assert drop * 230.0 == pytest.approx(71.4, abs=0.05)
    assert volts_left(drop, 1.0) == pytest.approx(0.689, abs=0.0005)
    assert at_least(volts_left(drop, 1.0), LEAST_VOLTS_DIRECT)


def test_500_feet_are_too_many() -> None:
    """89.3 V are lost, 0.612 is left: below 0.65."""
    left = volts_left(drop_of(500.0, 72.0, 230.0), 1.0)
    assert left == pytest.approx(0.612, abs=0.0005)
    assert not at_least(left, LEAST_VOLTS_DIRECT)


def test_a_starter_asks_for_a_shorter_cable() -> None:
    """72 A lose 17.9 V in 100 ft and 35.7 V in 200 ft, of 230 V: 0.9224 and 0.8447 are left. Behind a soft starter of
    0.6 the motor draws 0.6 of the amps and loses 0.6 of the drop: 0.6 x 0.9224 = 0.553 is above 0.55, 0.507 below."""
    near, far = (volts_left(drop_of(feet, 72.0, 230.0), 0.60) for feet in (100.0, 200.0))
    assert (near, far) == pytest.approx((0.553, 0.507), abs=0.0005)
    assert at_least(near, LEAST_VOLTS_STARTER) and not at_least(far, LEAST_VOLTS_STARTER)


def test_without_a_cable_a_starter_leaves_its_share() -> None:
    """A starter that cuts to 0.55 just starts a motor beside it; one of 0.50 does not."""
    left = volts_left(0.0, np.array([0.50, 0.55, 0.60, 1.0]))
    assert left == pytest.approx([0.50, 0.55, 0.60, 1.0])
    assert np.asarray(at_least(left, LEAST_VOLTS_STARTER)).tolist() == [False, True, True, True]


@pytest.mark.parametrize("feet", [50.0, 150.0, 250.0, 400.0])
def test_the_rule_is_below_the_divider_of_cable_and_rotor(feet: float) -> None:
    """Ohm's law: cable and locked rotor (230 V / 72 A) in series share the volts; the amps then fall, which the rule
    does not count. It is on the safe side, and by less than the square of the drop."""
    rotor, cable = 230.0 / 72.0, 2 * feet / 1000 * OHM_PER_KFT
    divided = rotor / (rotor + cable)
    assert divided - (cable / rotor) ** 2 < volts_left(drop_of(feet, 72.0, 230.0), 1.0) < divided


# volts at the motor, the share that each kind of starter leaves ------------------------------------------------------


def starter(kind: str, **cells: float) -> StarterRow:
    """A starter of some kind, read as a row of a bundle file is, its other cells left to their defaults."""
    row = {"part": "st", "kind": kind, "phases_in": "3" if kind == "star-delta" else "1", "running_a": "20",
           "floor_x": "1", "motors": "three-phase", **{name: str(value) for name, value in cells.items()}}  # fmt: skip
    sheet, problems = read_row(STARTERS, "offer.toml", row)
    assert not problems
    return cast(StarterRow, {name: column[0] for name, column in sheet.columns.items()})


@pytest.mark.parametrize(
    ("row", "share"),
    [(None, 0.80), (("soft", 0.60), 0.48), (("resistor", 0.60), 0.48), (("tap", 0.4225), 0.52), (("tap", 0.64), 0.64),
     (("star-delta", 1 / 3), 0.8 * 3**-0.5)],
)  # fmt: skip
def test_volts_at_the_motor_by_kind(row: tuple[str, float] | None, share: float) -> None:
    """A cable that loses 0.20 at direct amps. Textbook (torque with the square of volts): direct 0.80; a soft start of
    0.60, 0.48; the 65 % tap (line share 0.4225) 0.52; the 80 % tap (0.64) 0.64; star-delta the root of a third."""
    kind = None if row is None else starter(row[0], start_factor=row[1])
    assert float(volts_left(0.20, start_volts_share(kind))) == pytest.approx(share, abs=0.0001)


def test_a_motor_behind_a_tap_draws_the_square_of_it_from_the_supply() -> None:
    """65 % tap, direct 13.8 kVA: 5.83 kVA at the supply (textbook)."""
    assert softened_va(0.65**2, 13800.0, 1.0, RUNNING_VA) / 1000 == pytest.approx(5.83, abs=0.01)


def test_star_delta_leaves_a_phase_of_the_line() -> None:
    """Volts 0.577 and line amps 0.333 of direct starting (textbook)."""
    row = starter("star-delta", start_factor=1 / 3)
    assert start_volts_share(row) == pytest.approx(0.577, abs=0.001)
    assert softened_va(row["start_factor"], 1.0, 0.0, 0.0) == pytest.approx(0.333, abs=0.001)


def test_what_a_drive_takes_on_one_phase() -> None:
    """Motor 1,900 W, drive 95 %, input power factor 0.65: 3,077 VA (formula; the power factor from memory)."""
    row = starter("drive")
    watts, va = drive_input(1900.0, row["efficiency_pct"], row["input_power_factor"])
    assert (watts, va) == pytest.approx((2000.0, 3076.9), abs=0.5)
