"""Errors in cold and heat: acid that freezes, banks that are hot, racks that heat, Vmp's own slope; aged batteries."""

from __future__ import annotations

from optimizer.inputs.job import Need
from tests.mutations.change import Case, both, edited, swapped
from tests.mutations.parts import (
    audited,
    bank_strings,
    battery,
    best,
    bundle,
    catalog,
    converter,
    job,
    met,
    panel,
    rack,
    strings_left,
)

AUDITED_BANK = "optimizer.auditor.bank"
AUDITED_FIGURES = "optimizer.auditor.figures"
CODE_TABLES = "optimizer.rules.code_tables"
LEFT_BANKS = "optimizer.candidates.banks"
LEFT_STRINGS = "optimizer.candidates.strings"
RULE_BANK = "optimizer.rules.bank"
RULE_STRINGS = "optimizer.rules.strings"
WIRING = "optimizer.search.wiring"

# drained to 80 % its acid freezes at -13 degC; at -14 degC 0.805 of the capacity is left
ACID = battery(chemistry="agm", coldest_charge_c=-40.0, coldest_discharge_c=-40.0)
FROST = job(site={"bank_coldest_c": -14.0}, need=Need(autonomy_days=0.5))
MIXED = battery(charge_min_a=49.0)  # A that each string asks at the least
HOT_ROOF = rack(mount="roof", heat_c=15.0)  # cells of 85 degC, 60 above 25

CASES = (
    # (1800 x 1.25/0.8 + 50)/45 = 63.6 A: 39.5 A in each of two strings, which count as 1.6, are 63.2 A
    Case("idle draw left out of the bank's amps",
         lambda: (*audited("discharge-current", job(), bundle(battery=battery(discharge_a=39.5))),
                  bank_strings(job(), battery(discharge_a=39.5))),
         (2862.5 / 45, 63.2, False, 3),
         edited(RULE_BANK, "return (watts * (1 + reserve) / efficiency + idle_w) / lowest_v",
                "return watts * (1 + reserve) / efficiency / lowest_v")),
    # two units draw 100 W: (2812.5 + 100)/45
    Case("idle draw of one unit for all in the search",
         lambda: (audited("discharge-current", job(), bundle(units=2))[0],), (2912.5 / 45,),
         edited(AUDITED_FIGURES, 'idle_w=units * float(', 'idle_w=float(')),
    # 251.1 A through 20 mohm and half as much again, in two strings: 50 V sag by 3.767 V
    Case("resistance of a new and warm battery",
         lambda: audited("bank-sag", job(), bundle(battery=battery(r_mohm=20.0))),
         (50 - 11300 / 45 * 0.03 / 2, 45.0, True), swapped(RULE_BANK, "AGED_AND_COLD", 1.0)),
    Case("acid taken for full whatever is drained",
         lambda: (*audited("bank-freeze", FROST, bundle(battery=ACID)), bank_strings(FROST, ACID)),
         (-14.0, -13.0, False, 0), swapped(CODE_TABLES, "ACID_FREEZES", ((100.0, -35.0),))),
    Case("frost forgotten in the auditor", lambda: (met("bank-freeze", FROST, bundle(battery=ACID)),), (False,),
         edited(AUDITED_BANK, "if f.lead_acid:", "if False:")),
    Case("frost forgotten in the search", lambda: (bank_strings(FROST, ACID),), (0,),
         edited(LEFT_BANKS, 'if keeps("bank-freeze"):', "if False:")),
    # 40 degC at the hottest; this one is to be discharged at no more than 39
    Case("heat judged by charging alone in the auditor",
         lambda: audited("bank-heat", job(), bundle(battery=battery(hottest_discharge_c=39.0))), (40.0, 39.0, False),
         edited(AUDITED_BANK, 'min(float(b["hottest_charge_c"]), float(b["hottest_discharge_c"]))',
                'float(b["hottest_charge_c"])')),
    Case("heat judged by charging alone in the search",
         lambda: (bank_strings(job(), battery(hottest_discharge_c=39.0)),), (0,),
         edited(LEFT_BANKS, '(batteries["hottest_charge_c"], batteries["hottest_discharge_c"])',
                '(batteries["hottest_charge_c"],)')),
    # 8 x 32 V x (1 - 0.004 x 60) = 194.56 V, less 3 %
    Case("heat of the rack left out of the cells'",
         lambda: audited("hot-voltage", job(), bundle(rack=HOT_ROOF))[:1], (194.56 * 0.97,),
         edited(RULE_STRINGS, "/ NOCT_IRRADIANCE * FULL_IRRADIANCE + heat_c", "/ NOCT_IRRADIANCE * FULL_IRRADIANCE")),
    # 16 x 320 W less 0.4 % x 15
    Case("heat of the rack left out of the usable power",
         lambda: audited("daily-energy", job(), bundle(rack=HOT_ROOF))[:1], (5120 * 0.94,),
         edited(RULE_STRINGS, "return pmax_w * array_factor * (1 + pmax_pct_per_c / 100 * heat_c)",
                "return pmax_w * array_factor")),
    # 16 x 320 W x 0.94/50 V = 96.256 A from the array, of 2 x 49; in the open 102.4
    Case("least charge by panels in the open in the auditor",
         lambda: audited("charge-floor", job(),
                         bundle(battery=MIXED, converter=converter(charge_a=200.0), rack=HOT_ROOF)),
         (96.256, 98.0, False),
         edited(AUDITED_BANK, "bundle.panels * f.offered_w / f.bank_v",
                'bundle.panels * float(f.panel["pmax_w"]) * job.site.array_factor / f.bank_v')),
    # 2 x 49 A x 50 V = 4900 W of 300.8 W a panel: 17, in the open 16; 9 + 8 of them on ceil(5.5) + 5 = 11 racks:
    # 1000 + 1700 + 1600 + 220 + 95
    Case("least charge by panels in the open in the search",
         lambda: best(job(), catalog(batteries=(MIXED,), converters=(converter(charge_a=200.0),), racks=(HOT_ROOF,))),
         (461_500, 17, 11, True),
         edited(WIRING, "offered_w = figures.offered_w[", "offered_w = self.field.strings.figures(0.0).offered_w[")),
    # -0.5 %: 24.8 V a panel, 24.056 V with 3 % kept: 150 V take seven, and six by Pmax's -0.4 %
    Case("slope of Pmax for that of Vmp",
         lambda: (audited("hot-voltage", job(), bundle(panel=panel(vmp_pct_per_c=-0.5)))[0],
                  strings_left(job(), panel(vmp_pct_per_c=-0.5), converter(tracker_min_v=150.0))[0]),
         (8 * 24.8 * 0.97, 7),
         both(edited(AUDITED_FIGURES, 'panel["vmp_pct_per_c"]', 'panel["pmax_pct_per_c"]'),
              edited(LEFT_STRINGS, 'panels["vmp_pct_per_c"]', 'panels["pmax_pct_per_c"]'))),
    # 1.5625 x 10 = 15.6 A: at 50 Hz a fuse of 16 A, at 60 Hz of 20 A
    Case("fuses of one list at every frequency",
         lambda: audited("fuse-fits", job(), bundle(panel=panel(isc_a=10.0), strings=((5, 4),), fused=True)),
         (16.0, 25.0, True),
         edited(RULE_STRINGS, "IEC_FUSE_RATINGS if hz == IEC_HZ else FUSE_RATINGS", "FUSE_RATINGS")),
)  # fmt: skip
