"""Errors in strings and array: cold and heat, currents, fuses, clipping."""

from __future__ import annotations

import numpy as np

from optimizer.inputs.job import Supply
from optimizer.rules import comparisons, strings
from tests.mutations.change import Case, both, edited, swapped
from tests.mutations.parts import (
    PANEL,
    UNSTATED,
    audited,
    bundle,
    converter,
    job,
    layouts_left,
    met,
    panel,
    strings_left,
    units_left,
)

AUDITED_FIGURES = "optimizer.auditor.figures"
AUDITED_READING = "optimizer.auditor.reading"
AUDITED_STRINGS = "optimizer.auditor.strings"
LEFT_CONVERTERS = "optimizer.candidates.converters"
LEFT_STRINGS = "optimizer.candidates.strings"
RULE_STRINGS = "optimizer.rules.strings"

ONE = ((10, 1),)  # one string of ten panels: 262.4 V hot, 4000 W
HALF = 0.6575733718138602  # 1 - sqrt(3)/2 + pi/6: what a half-sine day keeps under a ceiling at half its peak


REAR = panel(isc_a=10.0, bifacial_pct=70.0)


def fused_of_five(
    fuse_a: float, tracker_isc_a: float, tracker_max_w: float, supply: Supply | None = None, **cells: float
) -> tuple[bool, ...]:
    """Whether 1, 2, … parallel strings of five panels are fused."""
    found = layouts_left(job(supply=supply), panel(max_fuse_a=fuse_a, **cells),
                         converter(tracker_isc_a=tracker_isc_a, tracker_max_w=tracker_max_w))  # fmt: skip
    return tuple(layout.fused for layout in found if layout.series == 5)


CASES = (
    # 11 x 40 V x 1.10 = 484 V of 475; the search stops at 10 (440 V)
    Case("25 degC for the cold",
         lambda: (*audited("cold-voltage", job(), bundle(strings=((11, 1),))), *strings_left(job())),
         (484.0, 475.0, False, 5, 10, 1), swapped(RULE_STRINGS, "cold_factor", lambda pct, _: np.ones_like(pct))),
    # 35 degC at the coldest: never below what the panel states, 11 x 40 = 440 V
    Case("cold volts below the stated",
         lambda: audited("cold-voltage", job(site={"coldest_c": 35.0}), bundle(strings=((11, 1),))),
         (440.0, 475.0, True), edited(RULE_STRINGS, "stated = np.maximum(1.0, 1 +", "stated = np.maximum(0.0, 1 +")),
    Case("voltage reserve dropped in the auditor",
         lambda: audited("cold-voltage", job(), bundle(strings=((11, 1),))), (484.0, 475.0, False),
         edited(AUDITED_STRINGS, "cold_v, top * (1 - job.reserve.voltage)", "cold_v, top")),
    Case("voltage reserve dropped in the search",
         lambda: strings_left(job()), (5, 10, 1),
         edited(LEFT_STRINGS, 'inverter["tracker_max_v"] * (1 - job.reserve.voltage)', 'inverter["tracker_max_v"]')),
    # -20.5 degC lies between two bands: the colder one, 1.20: 10 x 40 x 1.20 = 480 V
    Case("milder band of the table",
         lambda: audited("cold-voltage", job(site={"coldest_c": -20.5}),
                         bundle(panel=panel(voc_pct_per_c=UNSTATED), strings=ONE)),
         (480.0, 475.0, False), edited(RULE_STRINGS, "if coldest_c >= band_c:", "if coldest_c >= band_c - 1:")),
    # a panel without coefficient at -15 degC takes 1.16: 11 x 46.4 = 510.4 V
    Case("coefficient that is not stated taken as none",
         lambda: audited("cold-voltage", job(), bundle(panel=panel(voc_pct_per_c=UNSTATED), strings=((11, 1),))),
         (510.4, 475.0, False), swapped(RULE_STRINGS, "table_cold_factor", lambda _: 1.0)),
    # 400/44 = 9.09
    Case("panel's own highest voltage forgotten",
         lambda: strings_left(job(), panel(max_system_v=400.0)), (5, 9, 1),
         edited(LEFT_STRINGS, '("panel-voltage", panels["max_system_v"]),', "")),
    Case("site's ceiling forgotten",
         lambda: strings_left(job(site={"array_ceiling_v": 400.0})), (5, 9, 1),
         edited(LEFT_STRINGS, '("code-voltage", job.site.array_ceiling_v),', "")),
    # 5 x 26.24 x 0.97 = 127.264 V of 130
    Case("hot reserve dropped in the auditor",
         lambda: audited("hot-voltage", job(), bundle(converter=converter(tracker_min_v=130.0), strings=((5, 1),))),
         (127.264, 130.0, False), edited(AUDITED_STRINGS, "hot_v * less, c", "hot_v, c")),
    # 130/(26.24 x 0.97) = 5.11: six; without the reserve 4.95: five
    Case("hot reserve dropped in the search",
         lambda: strings_left(job(), converter=converter(tracker_min_v=130.0)), (6, 10, 1),
         edited(LEFT_STRINGS, "figures.hot_v * (1 - job.reserve.hot_voltage)", "figures.hot_v")),
    # cells at the air's 40 degC would give 0.94: 5 x 32 x 0.94 x 0.97 = 145.9 V
    Case("NOCT forgotten",
         lambda: (*audited("hot-voltage", job(), bundle(converter=converter(tracker_min_v=130.0), strings=((5, 1),))),
                  *strings_left(job(), converter=converter(tracker_min_v=130.0))),
         (127.264, 130.0, False, 6, 10, 1),
         swapped(RULE_STRINGS, "cell_temperature", lambda air, noct, heat: air + heat + 0 * noct)),
    # open-circuit volts fall less: 0.8875 would give 137.7 V
    Case("coefficient of Voc for the hot Vmp",
         lambda: (*audited("hot-voltage", job(), bundle(converter=converter(tracker_min_v=130.0), strings=((5, 1),))),
                  *strings_left(job(), converter=converter(tracker_min_v=130.0))),
         (127.264, 130.0, False, 6, 10, 1),
         both(edited(AUDITED_FIGURES, 'hot_factor(panel["vmp_pct_per_c"]',
                     'hot_factor(panel["voc_pct_per_c"]'),
              edited(LEFT_STRINGS, 'hot_factor(panels["vmp_pct_per_c"]', 'hot_factor(panels["voc_pct_per_c"]'))),
    # 4 x 35.5 = 142 V of 145
    Case("tracker woken by volts at 25 degC",
         lambda: (*audited("wake-voltage", job(),
                           bundle(converter=converter(tracker_start_v=145.0), strings=((4, 1),))),
                  *strings_left(job(), converter=converter(tracker_start_v=145.0, tracker_min_v=90.0))),
         (142.0, 145.0, False, 5, 10, 1), swapped(RULE_STRINGS, "wake_factor", lambda pct, _: np.ones_like(pct))),
    # 12.8 A x (1 + 0.135 x 0.7) = 14.0096 A, x 1.25 = 17.512 of 17
    Case("rear light forgotten",
         lambda: (*audited("tracker-current", job(),
                           bundle(panel=panel(bifacial_pct=70.0), converter=converter(tracker_isc_a=17.0))),
                  *strings_left(job(), panel(bifacial_pct=70.0), converter(tracker_isc_a=17.0))),
         (17.512, 17.0, False, 5, 0, 0), swapped(RULE_STRINGS, "short_circuit_current", lambda isc, *_: isc)),
    # 12.8 x 1.25 = 16 A of 15
    Case("1.25 of the short-circuit current dropped in the auditor",
         lambda: audited("tracker-current", job(), bundle(converter=converter(tracker_isc_a=15.0))),
         (16.0, 15.0, False), edited(AUDITED_STRINGS, "amps * (1 + job.reserve.current), c", "amps, c")),
    Case("1.25 of the short-circuit current dropped in the search",
         lambda: strings_left(job(), converter=converter(tracker_isc_a=15.0)), (5, 0, 0),
         edited(LEFT_STRINGS, "(figures.isc_a * (1 + job.reserve.current))", "figures.isc_a")),
    # two strings: 32 A of 20
    Case("current of one string for two",
         lambda: audited("tracker-current", job(), bundle(strings=((5, 2),))), (32.0, 20.0, False),
         edited(AUDITED_STRINGS, "amps, code = m * f.isc_a", "amps, code = f.isc_a")),
    # two strings of 8 panels: 6400 W of 5000
    Case("power of one string for two",
         lambda: audited("tracker-power", job(), bundle(strings=((8, 2),))), (6400.0, 5000.0, False),
         edited(AUDITED_STRINGS, 'watts = n * m * float(p["pmax_w"])', 'watts = n * float(p["pmax_w"])')),
    # of two strings one can push back 16 A, which 25 A of fuse need not fear
    Case("a string feeds back into itself",
         lambda: fused_of_five(25.0, 40.0, 5000.0), (False, False),
         swapped(RULE_STRINGS, "back_feed", lambda parallel, isc: parallel * 1.25 * isc)),
    # of three strings two push back 2 x 1.25 x 12.8 = 32 A, over 30; without the 1.25 it would be 25.6
    Case("1.25 of the back-feed dropped",
         lambda: fused_of_five(30.0, 48.0, 6000.0), (False, False, True), swapped(RULE_STRINGS, "CONTINUOUS", 1.0)),
    # Isc 10 A at 60 Hz: 15.625 A asks a 20 A fuse, which 15 A panels do not bear; one factor alone would ask 15 A
    Case("one of the two 1.25 of a fuse dropped",
         lambda: audited("fuse-fits", job(supply=Supply("230", 60)),
                         bundle(panel=panel(isc_a=10.0, max_fuse_a=15.0), strings=((5, 3),), fused=True)),
         (20.0, 15.0, False), edited(RULE_STRINGS, "least = CONTINUOUS * CONTINUOUS *", "least = CONTINUOUS *")),
    # two strings push 32 A back into the third, which bears 25 A, and the bundle has no fuses
    Case("fuses that are missing not missed",
         lambda: (met("fuse-fits", job(), bundle(strings=((5, 3),), fused=False)),), (False,),
         edited(AUDITED_STRINGS, "if f.needs_fuses(s) and not s.fused:", "if False:")),
    # Isc 10 A: 15.625 A take a fuse of 16 A at 50 Hz, which the panel bears; at 60 Hz it would be 20 A, and no third
    # string
    Case("fuses of 60 Hz at every frequency in the search",
         lambda: fused_of_five(16.0, 48.0, 6000.0, isc_a=10.0), (False, False, True),
         edited(LEFT_STRINGS, "strings.fuse_rating(figures.isc_a, job.supply.hz)",
                "strings.fuse_rating(figures.isc_a, 60)")),
    # 9.5 A: 14.84 A take 15 A at 60 Hz, of the other list 16 A
    Case("fuses of 50 Hz at every frequency",
         lambda: (*audited("fuse-fits", job(supply=Supply("230", 60)),
                           bundle(panel=panel(isc_a=9.5, max_fuse_a=15.0), strings=((5, 3),), fused=True)),
                  *fused_of_five(15.0, 48.0, 6000.0, Supply("230", 60), isc_a=9.5)),
         (15.0, 15.0, True, False, False, True),
         edited(RULE_STRINGS, "IEC_FUSE_RATINGS if hz == IEC_HZ else FUSE_RATINGS", "IEC_FUSE_RATINGS")),
    # 50 Hz at 120 V: 16 A all the same
    Case("fuses by the kind of the supply",
         lambda: audited("fuse-fits", job(supply=Supply("120", 50)),
                         bundle(panel=panel(isc_a=10.0), strings=((5, 3),), fused=True)),
         (16.0, 25.0, True),
         edited(AUDITED_STRINGS, "strings.fuse_rating(f.isc_a, job.supply.hz)",
                'strings.fuse_rating(f.isc_a, 50 if job.supply.kind == "230" else 60)')),
    # 7 A x 1.5625 = 10.94, 10 A 15.625, 15 A 23.44, 19 A 29.69, 25 A 39.06, 39 A 60.94
    Case("fuses of 50 Hz that are not in the list of 60 Hz",
         lambda: tuple(float(strings.fuse_rating(np.array(isc_a), 50))
                       for isc_a in (7.0, 10.0, 15.0, 19.0, 25.0, 39.0)),
         (12.0, 16.0, 25.0, 32.0, 40.0, 63.0),
         swapped(RULE_STRINGS, "IEC_FUSE_RATINGS", (1.0, 6.0, 10.0, 20.0, 25.0, 40.0, 50.0))),
    # 10 A x (1 + 0.135 x 0.7) = 10.945 A, x 1.5625 = 17.10: 20 A, without the light on the rear 16
    Case("rear light left out of the fuse in the auditor",
         lambda: audited("fuse-fits", job(), bundle(panel=REAR, strings=((5, 3),), fused=True)), (20.0, 25.0, True),
         edited(AUDITED_STRINGS, "strings.fuse_rating(f.isc_a,", 'strings.fuse_rating(float(p["isc_a"]),')),
    # a panel that bears 16 A takes no fuse of 20, and two strings at the most
    Case("rear light left out of the fuse in the search",
         lambda: fused_of_five(16.0, 48.0, 6000.0, isc_a=10.0, bifacial_pct=70.0), (False, False),
         edited(LEFT_STRINGS, "strings.fuse_rating(figures.isc_a,", 'strings.fuse_rating(panels["isc_a"],')),
    # of three strings two push back 2 x 1.25 x 10.945 = 27.4 A, over 25; by 10 A just 25
    Case("rear light left out of the back-feed in the auditor",
         lambda: (met("fuse-fits", job(), bundle(panel=REAR, strings=((5, 3),), fused=False)),), (False,),
         edited(AUDITED_FIGURES, "is_fused(s.parallel, self.isc_a,", 'is_fused(s.parallel, self.panel["isc_a"],')),
    Case("rear light left out of the back-feed in the search",
         lambda: fused_of_five(25.0, 48.0, 6000.0, isc_a=10.0, bifacial_pct=70.0), (False, False, True),
         edited(LEFT_STRINGS, "is_fused(parallel, figures.isc_a[row],", 'is_fused(parallel, panel["isc_a"],')),
    # Isc 13 A: 20.3 A take 25 A at 50 Hz, which the panel of 20 A does not bear
    Case("a fuse too large for its panel in the search",
         lambda: fused_of_five(20.0, 60.0, 6000.0, isc_a=13.0), (False, False),
         edited(LEFT_STRINGS, "np.where(no_fuse, np.minimum(parallel, bare), parallel)", "parallel")),
    # 10 x 400 x 0.8 = 3200 W under 1600 W
    Case("clipping forgotten",
         lambda: audited("daily-energy", job(), bundle(converter=converter(tracker_usable_w=1600.0), strings=ONE)),
         (3200 * HALF, 3457.5, False), swapped(RULE_STRINGS, "usable_power", lambda array_w, _: array_w)),
    Case("clipped flat at the ceiling",
         lambda: audited("daily-energy", job(), bundle(converter=converter(tracker_usable_w=1600.0), strings=ONE)),
         (3200 * HALF, 3457.5, False), swapped(RULE_STRINGS, "usable_power", np.minimum)),
    # 5 A x 262.4 V = 1312 W, half of 4000 x 0.656 = 2624 W
    Case("tracker's amps forgotten in the auditor",
         lambda: audited("daily-energy", job(site={"array_factor": 0.656}),
                         bundle(converter=converter(tracker_usable_a=5.0), strings=ONE)),
         (2624 * HALF, 3457.5, False),
         edited(AUDITED_FIGURES, 'self.converter["tracker_usable_a"], hot_v', 'float("inf"), hot_v')),
    Case("tracker's amps forgotten in the search",
         lambda: (layouts_left(job(site={"array_factor": 0.656}), PANEL, converter(tracker_usable_a=5.0))[0].usable_w,),
         (2624 * HALF,),
         edited(LEFT_STRINGS, 'inverter["tracker_usable_a"], series *', 'float("inf"), series *')),
    # 2 x 3200 W, but the converter passes on no more than 6000
    Case("converter's most solar power forgotten",
         lambda: audited("daily-energy", job(), bundle(strings=((10, 1), (10, 1)))), (6000.0, 3457.5, True),
         edited(AUDITED_FIGURES, 'min(total, self.units * float(self.converter["array_usable_w"]))', "total")),
    Case("array factor dropped",
         lambda: audited("daily-energy", job(), bundle()), (5120.0, 3457.5, True),
         edited(RULE_STRINGS, "return pmax_w * array_factor * (1", "return pmax_w * (1")),
    Case("at least for at most in the auditor",
         lambda: audited("running-power", job(), bundle()), (2250.0, 5000.0, True),
         swapped(AUDITED_READING, "at_most", comparisons.at_least)),
    Case("at most for at least in the auditor",
         lambda: audited("hot-voltage", job(), bundle()), (203.6224, 120.0, True),
         swapped(AUDITED_READING, "at_least", comparisons.at_most)),
    Case("at least for at most in the search",
         lambda: units_left(job(), converter(continuous_w=2000.0)), (2,),
         swapped(LEFT_CONVERTERS, "at_most", comparisons.at_least)),
)  # fmt: skip
