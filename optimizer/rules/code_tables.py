"""The published tables that the rules look up: small, cited, replaceable.

Single factors are facts; the tables belong to their publishers (the National Electrical Code, NEC, to the NFPA).
All are from memory of the named source and of tables that agree with it: confirm against the edition in force.
"""

from __future__ import annotations

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
