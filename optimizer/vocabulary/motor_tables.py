"""What published tables say of motors: amps at full load, kVA with the rotor locked, power factors.

Single factors are facts; the tables belong to their publisher (the National Electrical Code, NEC, to the NFPA). All are
from memory of the named source and of tables that agree with it: confirm against the edition in force.
"""

from __future__ import annotations

from math import sqrt

from optimizer.vocabulary.supplies import HOUSE_BAND
from optimizer.vocabulary.tolerance import just_above

# NEC 430.7(B): the upper end of each code letter's locked-rotor kVA per horsepower. V has no upper end.
LOCKED_ROTOR_KVA_PER_HP = {
    "A": 3.14, "B": 3.54, "C": 3.99, "D": 4.49, "E": 4.99, "F": 5.59, "G": 6.29, "H": 7.09, "J": 7.99, "K": 8.99,
    "L": 9.99, "M": 11.19, "N": 12.49, "P": 13.99, "R": 15.99, "S": 17.99, "T": 19.99, "U": 22.39,
}  # fmt: skip

# NEC 430.248: full-load amps of single-phase motors; (hp, A at 115 V, A at 230 V).
# Smaller motors count as one of 1/2 hp: an estimate errs to the hard side.
FULL_LOAD_AMPS = (
    (0.5, 9.8, 4.9), (0.75, 13.8, 6.9), (1.0, 16.0, 8.0),
    (1.5, 20.0, 10.0), (2.0, 24.0, 12.0), (3.0, 34.0, 17.0), (5.0, 56.0, 28.0), (7.5, 80.0, 40.0), (10.0, 100.0, 50.0),
)  # fmt: skip

# NEC 430.251(A): locked-rotor current of single-phase motors as a multiple of full-load current.
LOCKED_ROTOR_MULTIPLE = 6.0

# NEC Table 430.251(B), designs B to D, 230 V: (hp, kVA that a three-phase motor draws with its rotor locked).
THREE_PHASE_START_KVA = (
    (0.5, 7.97), (0.75, 9.96), (1.0, 11.95), (1.5, 15.93), (2.0, 19.92), (3.0, 25.50), (5.0, 36.65), (7.5, 50.59),
    (10.0, 64.54),
)  # fmt: skip

TABLE_END_HP = FULL_LOAD_AMPS[-1][0]  # both tables of estimates end there

# times its running amps that a motor's start usually draws: common practice, no source
USUAL_START = (2.0, 12.0)


def motor_phases(motor: str | None) -> int:
    """Phases that a motor of this kind needs."""
    return 3 if motor == "three-phase" else 1


def apparent_power(volts: float, amps: float, three_phase: bool) -> float:
    """VA of ``amps`` at ``volts``, between phases where there are three (circuit theory)."""
    return volts * amps * (sqrt(3) if three_phase else 1.0)


def full_load_amps(hp: float, volts: float) -> float:
    """Full-load A of a single-phase motor of ``hp`` (NEC 430.248): between rows the larger row counts.

    Raises ValueError over 10 hp, where the table ends.
    """
    for row_hp, amps_115, amps_230 in FULL_LOAD_AMPS:
        if hp <= just_above(row_hp):
            return amps_115 if volts <= HOUSE_BAND[1] else amps_230
    raise ValueError(f"no full-load amps for {hp} hp: the table ends at 10 hp")


def locked_rotor_va(letter: str, hp: float) -> float:
    """Starting VA of a motor from its code letter, at the upper end of the letter's range (NEC 430.7(B))."""
    return LOCKED_ROTOR_KVA_PER_HP[letter] * 1000 * hp


def three_phase_start_va(hp: float) -> float:
    """Starting VA of a three-phase motor where only hp is known (NEC Table 430.251(B), designs B to D): between rows
    the larger row counts; an estimate. Raises ValueError over 10 hp, where the table ends."""
    for row_hp, kva in THREE_PHASE_START_KVA:
        if hp <= just_above(row_hp):
            return kva * 1000
    raise ValueError(f"no locked-rotor kVA for {hp} hp: the table ends at 10 hp")


def estimated_start_va(hp: float, volts: float, three_phase: bool = False) -> float:
    """Starting VA where only hp is known, an estimate: six times full-load amps × V (NEC 430.248, 430.251(A)), of three
    phases the table's kVA. Raises ValueError over 10 hp, where the tables end."""
    if three_phase:
        return three_phase_start_va(hp)
    return LOCKED_ROTOR_MULTIPLE * full_load_amps(hp, volts) * volts
