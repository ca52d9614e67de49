"""Facts of the trade: common practice, no source.

Each is a round figure that a practitioner works with; the tolerance is the rounding of that figure.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from optimizer.bundles import needs
from optimizer.inputs.job import Job, Need, Reserve
from optimizer.rules.landed_cost import money
from optimizer.rules.load_figures import load_figures
from optimizer.rules.mounting import string_rack_units
from optimizer.vocabulary.motor_tables import estimated_start_va
from tests.mutations.parts import (
    PRICES,
    amps,
    audited,
    bundle,
    catalog,
    converter,
    job,
    months,
    panel,
    picked,
    pump,
    rack,
    units_left,
)  # fmt: skip

MOTOR = pump(voltage_v=240.0, running=amps(7.3), starting=amps(35.46))
PANEL_49 = panel(pmax_w=450.0, voc_v=49.05, vmp_v=41.0, isc_a=11.6, imp_a=10.98, voc_pct_per_c=-0.27)


def starts(amps_240: float, job: Job) -> bool:
    """Whether auditor and search both take a converter that starts so many amps at 240 V."""
    part = converter(surge_va=amps_240 * 240.0)
    audit_says = audited("starting-surge", job, bundle(converter=part))[2]
    assert audit_says == (1 in units_left(job, part))
    return audit_says


def test_motor_of_7_3_amps_runs_just_under_1800_watts() -> None:
    """7.3 A x 240 V = 1752 W: a round 1800 is 3 % above."""
    figures = load_figures(MOTOR, months(4.0))
    assert figures.running_w == pytest.approx(1752.0, abs=0.5)
    assert 0.97 * 1800 < figures.running_w < 1800


def test_inrush_of_35_46_amps_needs_36_and_prefers_room() -> None:
    """Without a reserve 36 A start it and 35 A do not; with the usual quarter 36 A are too few and 50 A enough."""
    bare = job(MOTOR, reserve=Reserve(starting=0.0))
    assert (starts(35.0, bare), starts(36.0, bare), starts(50.0, bare)) == (False, True, True)
    assert (starts(36.0, job(MOTOR)), starts(50.0, job(MOTOR))) == (False, True)


def test_six_panels_make_294_volts_and_carry_the_current_of_one() -> None:
    """6 x 49.05 V = 294.3 V at 25 degC; 11.6 A x 1.25 = 14.5 A, as for one panel alone."""
    warm = job(site={"coldest_c": 25.0})
    six, one = (bundle(panel=PANEL_49, strings=((n, 1),)) for n in (6, 1))
    assert audited("cold-voltage", warm, six)[0] == pytest.approx(294.0, abs=0.5)
    assert audited("tracker-current", warm, six)[0] == pytest.approx(14.5, abs=0.001)
    assert audited("tracker-current", warm, one)[0] == pytest.approx(14.5, abs=0.001)


def test_the_string_reads_more_in_cold_and_the_coefficient_decides() -> None:
    """At -10 degC 294.3 V become 294.3 x 1.0945 = 322.1 V with -0.27 %/K and 294.3 x 1.1225 = 330.4 V with -0.35:
    a tracker of 345 V, which may see 327.75, takes the one and not the other."""
    cold, tracker = job(site={"coldest_c": -10.0}), converter(tracker_max_v=345.0)
    mild, steep = (
        audited("cold-voltage", cold, bundle(panel={**PANEL_49, "voc_pct_per_c": pct}, converter=tracker,
                                             strings=((6, 1),)))
        for pct in (-0.27, -0.35)
    )  # fmt: skip
    assert [mild[0], steep[0]] == pytest.approx([322.1, 330.4], abs=0.05)
    assert (mild[2], steep[2]) == (True, False)
    assert min(mild[0], steep[0]) > 294.3


def test_two_rows_of_six_on_shared_supports_need_fourteen() -> None:
    """A support between every two panels and one at each end: seven a row."""
    shared = rack(per_panel=1.0, per_row=1.0)
    wired = bundle(panel=PANEL_49, rack=shared, strings=((6, 1), (6, 1)))
    assert needs.pieces_needed(wired, job(), catalog(racks=(shared,)))["rack"] == 14


def test_row_of_ten_on_shared_supports_needs_eleven() -> None:
    """N + 1 supports (from memory)."""
    assert int(string_rack_units(10, 1, 1.0, 1.0)) == 11


def test_twelve_panels_of_450_watts_at_41_cents() -> None:
    """5400 W, and 12 x 450 x 0.41 = 2214.00. The worked job at 1.45 times its day asks 1.45 x 11,525/4 = 4178 W, and
    12 panels of 450 x 0.8 = 360 W are the fewest that give it."""
    prices = tuple(("panel", "north", 450 * 41, 1, 1, -1) if row[0] == "panel" else row for row in PRICES)
    asked = job(need=Need(array_to_load=1.45))
    found = picked(asked, catalog(panels=(PANEL_49,), prices=prices))
    assert found.order is not None
    cost = {purchase.part: purchase.cents for purchase in found.order.purchases}["panel"]
    assert audited("array-total", asked, found)[0] == 5400.0
    assert money(cost) == Decimal("2214.00")


def test_start_of_an_unread_motor_is_six_to_eight_times_its_running_amps() -> None:
    """The range that pump installers expect across the line: 60 to 80 A for 10 A (1.5 hp at 230 V)."""
    assert 60.0 <= round(estimated_start_va(1.5, 230.0) / 230.0, 9) <= 80.0
