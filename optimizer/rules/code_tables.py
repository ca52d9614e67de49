"""The published tables that the rules look up: small, cited, replaceable.

Single factors are facts; the tables belong to their publishers (the National Electrical Code, NEC, to the NFPA).
All are from memory of the named source and of tables that agree with it: confirm against the edition in force.
"""

from __future__ import annotations

# NEC 430.7(B): the upper end of each code letter's locked-rotor kVA per horsepower. V has no upper end.
LOCKED_ROTOR_KVA_PER_HP = {
    "A": 3.14, "B": 3.54, "C": 3.99, "D": 4.49, "E": 4.99, "F": 5.59, "G": 6.29, "H": 7.09, "J": 7.99, "K": 8.99,
    "L": 9.99, "M": 11.19, "N": 12.49, "P": 13.99, "R": 15.99, "S": 17.99, "T": 19.99, "U": 22.39,
}  # fmt: skip

# NEC 430.248: full-load amps of single-phase motors; (hp, A at 115 V, A at 230 V).
FULL_LOAD_AMPS = (
    (1 / 6, 4.4, 2.2), (0.25, 5.8, 2.9), (1 / 3, 7.2, 3.6), (0.5, 9.8, 4.9), (0.75, 13.8, 6.9), (1.0, 16.0, 8.0),
    (1.5, 20.0, 10.0), (2.0, 24.0, 12.0), (3.0, 34.0, 17.0), (5.0, 56.0, 28.0), (7.5, 80.0, 40.0), (10.0, 100.0, 50.0),
)  # fmt: skip

# NEC 430.251(A): locked-rotor current of single-phase motors as a multiple of full-load current.
LOCKED_ROTOR_MULTIPLE = 6.0

# NEC Table 430.251(B), designs B to D, 230 V: (hp, kVA that a three-phase motor draws with its rotor locked).
THREE_PHASE_START_KVA = (
    (0.5, 7.97), (0.75, 9.96), (1.0, 11.95), (1.5, 15.93), (2.0, 19.92), (3.0, 25.50), (5.0, 36.65), (7.5, 50.59),
    (10.0, 64.54),
)  # fmt: skip

# NEC Table 690.7(A), crystalline silicon: (coldest whole degree C of the band, factor on open-circuit volts).
# Between two bands the colder one counts; there is no entry below -40 °C.
COLD_FACTORS = (
    (25.0, 1.00), (20.0, 1.02), (15.0, 1.04), (10.0, 1.06), (5.0, 1.08), (0.0, 1.10), (-5.0, 1.12), (-10.0, 1.14),
    (-15.0, 1.16), (-20.0, 1.18), (-25.0, 1.20), (-30.0, 1.21), (-35.0, 1.23), (-40.0, 1.25),
)  # fmt: skip

# NEC 240.6(A): standard ampere ratings of fuses up to 60 A.
FUSE_RATINGS = (1.0, 3.0, 6.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 60.0)

# IEC 60269: the same up to 63 A, where supplies have 50 Hz.
IEC_FUSE_RATINGS = (1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0, 32.0, 40.0, 50.0, 63.0)

# Freezing points of the acid of lead batteries: (discharged to % of capacity at the most, degC). By specific gravity,
# 1.265 full and 1.12 empty: US Army TM 5-1185 and makers' tables.
ACID_FREEZES = ((25.0, -35.0), (50.0, -22.0), (75.0, -15.0), (80.0, -13.0), (100.0, -8.0))
