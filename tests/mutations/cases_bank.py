"""Errors in the bank and the day's energy: currents, volts, depth, cold, idle draw, charging."""

from __future__ import annotations

from optimizer.inputs.job import Need
from tests.mutations.change import Case, both, edited, swapped
from tests.mutations.parts import audited, bank_strings, battery, bundle, converter, job, power_needed, pump

AUDITED_BANK = "optimizer.auditor.bank"
AUDITED_FIGURES = "optimizer.auditor.figures"
AUDITED_YEAR = "optimizer.auditor.year"
LEFT_BANKS = "optimizer.candidates.banks"
RULE_BANK = "optimizer.rules.bank"
RULE_ENERGY = "optimizer.rules.energy"

BANK, ENERGY = RULE_BANK, RULE_ENERGY

HALF_DAY = Need(autonomy_days=0.5)  # asks one string where nothing else asks more
BLOCKS = {"class_v": 12.0, "nominal_v": 12.5, "min_v": 11.25, "charge_v": 14.0, "max_series": 4.0}  # four in series
HALF_IN_PHASE = pump(starting_power_factor=0.5)  # 3600 W of 7200 VA
AGM = {"chemistry": "agm", "usable_pct": 50.0, "daily_pct": 25.0, "capacity_pct_per_c": 1.0}
# 50 W of idle draw are part of both: (2812.5 + 50)/45 and (11,250 + 50)/45
RUNNING_A, STARTING_A = 2862.5 / 45, 11_300 / 45

CASES = (
    # (1800 x 1.25/0.8 + 50)/45 = 63.6 A of 1.6 x 35 = 56; 63.6/35 = 1.82 asks 3 strings (2 count as 1.6)
    Case("efficiency dropped from the bank's current",
         lambda: (*audited("discharge-current", job(), bundle(battery=battery(discharge_a=35.0))),
                  bank_strings(job(), battery(discharge_a=35.0))),
         (RUNNING_A, 56.0, False, 3),
         swapped(BANK, "bank_current", lambda w, more, eta, idle, v: (w * (1 + more) + idle) / v)),
    Case("reserve dropped from the bank's current",
         lambda: (*audited("discharge-current", job(), bundle(battery=battery(discharge_a=35.0))),
                  bank_strings(job(), battery(discharge_a=35.0))),
         (RUNNING_A, 56.0, False, 3),
         swapped(BANK, "bank_current", lambda w, more, eta, idle, v: (w / eta + idle) / v)),
    # at 50 V it would be 57.25 A of 1.6 x 36 = 57.6
    Case("nominal for the lowest voltage in the auditor",
         lambda: audited("discharge-current", job(), bundle(battery=battery(discharge_a=36.0))),
         (RUNNING_A, 57.6, False),
         edited(AUDITED_FIGURES, 'bank_series, battery["min_v"],', 'bank_series, battery["nominal_v"],')),
    Case("nominal for the lowest voltage in the search",
         lambda: (bank_strings(job(), battery(discharge_a=36.0)),), (3,),
         edited(LEFT_BANKS, 'series, batteries["min_v"],', 'series, batteries["nominal_v"],')),
    # the converter stops at 48 V: 2862.5/48 = 59.6 A of 1.6 x 37.5 = 60
    Case("converter's lowest voltage forgotten",
         lambda: audited("discharge-current", job(),
                         bundle(battery=battery(discharge_a=37.5), converter=converter(bank_min_v=48.0))),
         (2862.5 / 48, 60.0, True), swapped(BANK, "lowest_voltage", lambda series, min_v, _: series * min_v)),
    Case("parallel strings share evenly in the auditor",
         lambda: audited("discharge-current", job(), bundle(battery=battery(discharge_a=35.0))),
         (RUNNING_A, 56.0, False),
         swapped(BANK, "shared_strings", lambda parallel, _: parallel)),
    Case("parallel strings share evenly in the search",
         lambda: (bank_strings(job(), battery(discharge_a=35.0)),), (3,),
         edited(BANK, "whole_up(shared / parallel_share)", "whole_up(shared)")),
    # half of 7200 VA are 3600 W: (5625 + 50)/45 = 126.1 A of 1.6 x 110 = 176; 126.1/110 = 1.15 asks 2 strings
    Case("VA for W of the start",
         lambda: (*audited("starting-current", job(HALF_IN_PHASE), bundle(battery=battery(peak_a=110.0))),
                  bank_strings(job(HALF_IN_PHASE), battery(peak_a=110.0))),
         (5675 / 45, 176.0, True, 2),
         both(edited(AUDITED_BANK, "drawn(case.w", "drawn(case.va"),
              edited(LEFT_BANKS, "bank.bank_current(case.w", "bank.bank_current(case.va"))),
    # a 10 s start outlasts a 5 s peak: 251.1 A of 1.6 x 150 = 240; 251.1/150 = 1.67 asks 3 strings
    Case("seconds of the peak ignored in the auditor",
         lambda: audited("starting-current", job(pump(start_time_s=10.0)), bundle()), (STARTING_A, 240.0, False),
         edited(AUDITED_BANK, 'at_least(b["peak_s"], case.seconds)', "True")),
    Case("seconds of the peak ignored in the search",
         lambda: (bank_strings(job(pump(start_time_s=10.0))),), (3,),
         edited(LEFT_BANKS, 'np.where(lasts, batteries["peak_a"], batteries["discharge_a"])', 'batteries["peak_a"]')),
    Case("the start does not come out of the bank",
         lambda: (bank_strings(job(), battery(peak_a=150.0)),), (3,),
         edited(LEFT_BANKS, 'if keeps("starting-current"):', "if False:")),
    # 251.1 A through 20 mohm and half as much again, shared by two: 50 - 3.77 = 46.23 V of 45
    Case("sag through one string instead of two",
         lambda: audited("bank-sag", job(), bundle(battery=battery(r_mohm=20.0))),
         (50 - STARTING_A * 0.03 / 2, 45.0, True),
         swapped(BANK, "sagged_voltage", lambda v, a, series, r, _: v - a * series * r * 1.5 / 1000)),
    # four in series of 5 mohm each, 7.5 by age and cold: 251.1 x 4 x 7.5/1000/2 = 3.77 V
    Case("sag of one battery instead of four in series",
         lambda: audited("bank-sag", job(), bundle(battery=battery(**BLOCKS, r_mohm=5.0), series=4)),
         (50 - STARTING_A * 0.03 / 2, 45.0, True),
         swapped(BANK, "sagged_voltage", lambda v, a, _, r, parallel: v - a * r * 1.5 / 1000 / parallel)),
    # one string would lose 7.53 V of the 5 V to spare
    Case("sag forgotten in the search",
         lambda: (bank_strings(job(need=HALF_DAY), battery(r_mohm=20.0)),), (2,),
         edited(LEFT_BANKS, 'if keeps("bank-sag"):', "if False:")),
    # 2 x 100 A from a charger that cannot be set, of 1.6 x 100
    Case("charger of one unit for two",
         lambda: audited("charge-limit", job(), bundle(converter=converter(charge_settable=False), units=2)),
         (200.0, 160.0, False),
         edited(AUDITED_BANK, 'charge_a = u * float(c["charge_a"])', 'charge_a = float(c["charge_a"])')),
    # 6625 Wh into the bank of 1.6 x 20 A x 50 V x 4 h = 6400
    Case("charging shared evenly",
         lambda: audited("charge-rate", job(), bundle(battery=battery(charge_a=20.0))), (6625.0, 6400.0, False),
         edited(AUDITED_YEAR, "rate_wh = f.shared *", "rate_wh = k *")),
    # 5300/0.8 = 6625 Wh of 30 A x 50 V x 4 h = 6000; 1.2 x 11,525/4 = 3457.5 W
    Case("round trip forgotten",
         lambda: (*audited("charger", job(), bundle(converter=converter(charge_a=30.0))), power_needed(job())),
         (6625.0, 6000.0, False, 3457.5),
         swapped(ENERGY, "through_bank", lambda night, round_trip: night + 0 * round_trip)),
    # 3600/0.8 + 50 x 16 = 5300 Wh of 50 x 140 x 0.8 x 0.9 = 5040
    Case("idle draw of the night forgotten",
         lambda: audited("night-energy", job(), bundle(battery=battery(capacity_ah=140.0), parallel=1)),
         (5300.0, 5040.0, False), edited(ENERGY, "night_wh / efficiency + idle_w * units * IDLE_NIGHT_HOURS",
                                         "night_wh / efficiency")),
    Case("efficiency dropped from the night",
         lambda: audited("night-energy", job(), bundle(battery=battery(capacity_ah=140.0), parallel=1)),
         (5300.0, 5040.0, False), edited(ENERGY, "night_wh / efficiency + idle_w", "night_wh + idle_w")),
    # two units idle: 4500 + 2 x 800 = 6100
    Case("idle draw of one unit for two",
         lambda: audited("night-energy", job(), bundle(units=2, battery=battery(capacity_ah=160.0), parallel=1)),
         (6100.0, 5760.0, False), edited(ENERGY, "idle_w * units * IDLE_NIGHT_HOURS", "idle_w * IDLE_NIGHT_HOURS")),
    Case("idle draw of the day forgotten",
         lambda: (*audited("daily-energy", job(), bundle()), power_needed(job())), (5120.0, 3457.5, True, 3457.5),
         edited(ENERGY, "+ idle_w * units * IDLE_DAY_HOURS", "")),
    # 7200 Wh/10,200 Wh = 12/17 day
    Case("idle draw of sunless days forgotten",
         lambda: audited("autonomy", job(need=Need(autonomy_days=0.75)), bundle(parallel=1)), (12 / 17, 0.75, False),
         edited(ENERGY, "critical_wh / efficiency + idle_w * units * (IDLE_DAY_HOURS + IDLE_NIGHT_HOURS)",
                "critical_wh / efficiency")),
    # 10,200/7200 asks 2 strings; at 25 degC 0.75 x 10,200 = 7650 Wh would be within one of 8000
    Case("capacity not reduced in the cold",
         lambda: (*audited("autonomy", job(need=Need(autonomy_days=0.75)), bundle(parallel=1)),
                  bank_strings(job(need=Need(autonomy_days=0.75)))),
         (12 / 17, 0.75, False, 2), swapped(BANK, "cold_capacity", lambda *_: 1.0)),
    # the larger of depth and ageing counts: 50 x 160 x 0.8 x 0.9 = 5760 Wh
    Case("depth times ageing",
         lambda: audited("night-energy", job(), bundle(battery=battery(capacity_ah=160.0), parallel=1)),
         (5300.0, 5760.0, True),
         edited(BANK, "np.minimum(depth_pct, aged_pct) / 100", "depth_pct * aged_pct / 10000")),
    # 90 % deep in a battery that keeps 80 % at its end: 50 x 140 x 0.8 x 0.9 = 5040
    Case("ageing forgotten",
         lambda: audited("night-energy", job(),
                         bundle(battery=battery(capacity_ah=140.0, usable_pct=90.0, daily_pct=90.0), parallel=1)),
         (5300.0, 5040.0, False), edited(BANK, "np.minimum(depth_pct, aged_pct) / 100", "depth_pct / 100")),
    # agm: 25 % a night, and 1 - 0.01 x 20 = 0.8 in the cold: 2 x 50 x 200 x 0.25 x 0.8 = 4000 Wh
    Case("every night down to the deepest in the auditor",
         lambda: audited("night-energy", job(), bundle(battery=battery(**AGM))), (5300.0, 4000.0, False),
         edited(AUDITED_YEAR, 'min(float(b["daily_pct"]), float(b["usable_pct"]))', 'float(b["usable_pct"])')),
    # 5300/2000 asks 3 strings
    Case("every night down to the deepest in the search",
         lambda: (bank_strings(job(need=HALF_DAY), battery(**AGM)),), (3,),
         edited(LEFT_BANKS, 'np.minimum(batteries["daily_pct"], batteries["usable_pct"])', 'batteries["usable_pct"]')),
    # 1.30 x 11,525/4 = 3745.625 W
    Case("array for lead-acid as for lfp",
         lambda: (*audited("daily-energy", job(), bundle(battery=battery(**AGM))), power_needed(job(), battery(**AGM))),
         (5120.0, 3745.625, True, 3745.625), swapped(ENERGY, "ARRAY_TO_LOAD_LEAD_ACID", 1.2)),
    # 16 x 400 x 0.8/50 = 102.4 A from the array, of 2 x 52
    Case("array does not count for the least charge",
         lambda: audited("charge-floor", job(),
                         bundle(battery=battery(**AGM, charge_min_a=52.0), converter=converter(charge_a=200.0))),
         (102.4, 104.0, False), edited(AUDITED_BANK, "min(charge_a, array_a)", "charge_a")),
    Case("nominal volts for the volts of charging",
         lambda: audited("bank-window", job(), bundle(battery=battery(charge_v=61.0))), (61.0, 60.0, False),
         edited(AUDITED_BANK, 'charge_v = s * float(b["charge_v"])', 'charge_v = s * float(b["nominal_v"])')),
    Case("cold of charging forgotten",
         lambda: audited("bank-temperature", job(site={"bank_coldest_c": -5.0}), bundle()), (-5.0, 0.0, False),
         edited(AUDITED_BANK, 'max(float(b["coldest_charge_c"]), float(b["coldest_discharge_c"]))',
                'float(b["coldest_discharge_c"])')),
)  # fmt: skip
