"""Draws the tables of a random small catalogue around one job's demand; no real product's figures."""

from __future__ import annotations

import math

from tests.brute.draw_job import number
from tests.brute.draw_needs import Catalogue, Cells
from tests.brute.rules import AGED_COLD_RESISTANCE, FUSES_A, FUSES_A_AT_50_HZ, LEAD_ACID, freezing_c, placings

SUPPLY_COLUMN = {"120": "units_120", "120/240": "units_120_240", "230": "units_230"}


class Drawn(Catalogue):
    """Fills the tables: panels, converters, batteries, racks, then twin and extras."""

    # --- panels ------------------------------------------------------------------------------------

    def panels(self) -> None:
        for part in self.parts("panels", "pn", self.draw.pick([1, 2, 3, 3])):
            self.tables["panels"].append(self.panel(part))

    def panel(self, part: str) -> Cells:
        draw, job, flaw = self.draw, self.job, self.flaw[part]
        nameplate_w = draw.uniform(0.85, 1.25) * self.need_w / job.array_factor / self.panels_wanted
        pmax = min(470.0, max(45.0, round(nameplate_w / 5) * 5))
        vmp = draw.uniform(16, 20) if pmax < 140 else draw.uniform(28, 42)
        if flaw and self.tables["panels"]:  # much like the first, which the roomy converters are drawn around
            first = self.tables["panels"][0]
            pmax, vmp = float(first["pmax_w"]), float(first["vmp_v"]) * draw.uniform(0.99, 1.02)
        voc, imp = vmp * draw.uniform(1.16, 1.24), pmax / vmp * draw.uniform(0.985, 1.015)
        isc = imp * draw.uniform(1.04, 1.09)
        area = pmax / draw.uniform(180, 215) * (1.4 if flaw == "space" else 1.0)  # m²
        length = math.sqrt(area * draw.uniform(1.3, 2.1)) * 1000
        bifacial = draw.pick([0, 60, 70, 80]) if draw.chance(0.4) else 0
        least_fuse = 1.5625 * isc * (1 + job.rear_light * bifacial / 100)
        fuse = next(one for one in (FUSES_A_AT_50_HZ if job.hz == 50 else FUSES_A) if one >= least_fuse)
        if flaw == "fuse-fits":
            fuse = draw.pick([math.ceil(1.3 * isc), math.ceil(least_fuse) - 1, fuse - 1])
        elif draw.chance(0.3):  # as it may be where fuses follow the other list
            fuse = max(fuse, next(one for one in sorted({*FUSES_A, *FUSES_A_AT_50_HZ}) if one >= least_fuse))
        coefficient = "" if draw.chance(0.3) else number(-draw.uniform(0.24, 0.34), 2)
        system = draw.pick([600, 1000, 1500])
        if flaw == "panel-voltage":
            cold = 1 + float(coefficient or -0.39) / 100 * min(0, job.coldest_c - 25)
            system = max(math.ceil(1.05 * voc), math.floor((self.series - draw.uniform(0.02, 0.5)) * voc * cold))
        self.priced(part, 0.45 * pmax, round(self.need_w / job.array_factor / pmax))
        heat = -draw.uniform(0.29, 0.42)
        return self.common(part) | {
            "pmax_w": number(pmax),
            "voc_v": number(voc),
            "vmp_v": number(vmp),
            "isc_a": number(isc, 4),
            "imp_a": number(imp, 4),
            "voc_pct_per_c": coefficient,
            "pmax_pct_per_c": number(heat, 2),
            "vmp_pct_per_c": number(heat + draw.uniform(-0.1, 0.1), 2) if draw.chance(0.4) else "",
            "noct_c": number(draw.randint(42, 48)) if draw.chance(0.5) else "",
            "bifacial_pct": number(bifacial) if bifacial or draw.chance(0.4) else "",
            "length_mm": number(length, 4),
            "width_mm": number(area / length * 1e6, 4),
            "weight_kg": number(area * draw.uniform(10, 12)),
            "max_system_v": str(system),
            "max_fuse_a": str(fuse),
        }

    # --- converters --------------------------------------------------------------------------------

    def converters(self) -> None:
        for part in self.parts("converters", "cv", self.draw.pick([1, 2, 3, 3, 3])):
            self.tables["converters"].append(self.converter(part))

    def converter(self, part: str) -> Cells:
        draw, job, flaw = self.draw, self.job, self.flaw[part]
        group = 1 if draw.chance(0.8) else 2
        u = group if group == 2 or draw.chance(0.75) else 2
        watts = self.run_w / u * self.near(part, "running-power")
        exact = flaw != "running-power" and draw.chance(0.1)  # met exactly
        if exact:
            watts = round(self.run_w / u, 6)
        apparent = self.run_va / u * self.near(part, "running-apparent")
        if flaw == "running-apparent":
            watts = min(watts, max(apparent, self.run_w / u))
        apparent = max(watts, apparent)
        apparent = max(apparent, self.start_va / u / 12)  # a surge of twenty times is a slip
        if not flaw.startswith("running") and not exact and draw.chance(0.5):
            watts = apparent
        surge = max(apparent, self.start_va / u * self.near(part, "starting-surge"))
        surge_s = max(draw.pick([1.0, 2, 3, 5, 5, 10]), math.ceil(self.start_s))
        if flaw == "starting-surge" and draw.chance(0.3):
            surge_s = max(0.2, self.start_s - 0.3)
        settable = "yes" if self.soft_charger and flaw != "charge-limit" else "no"
        low, high = draw.uniform(0.80, 0.92), draw.uniform(1.26, 1.4)
        if flaw == "bank-window":
            low, high = draw.pick([(draw.uniform(1.01, 1.08), high), (low, draw.uniform(1.12, 1.22))])
        odd_class = part not in self.roomy and draw.chance(0.15)
        bank_class = draw.pick([12, 24, 48]) if odd_class else self.bank_class
        charge_a = self.through_w / bank_class / u * self.near(part, "charger", 1.3, 2.5)
        if flaw == "charge-limit":
            charge_a *= draw.uniform(1.5, 3)
        frequencies = draw.pick(["50;60", "60;50", str(job.hz), ""])
        cells = self.common(part) | {
            "continuous_w": repr(watts) if exact else number(math.ceil(watts), 5),
            "continuous_va": "" if watts == apparent else number(math.ceil(apparent), 5),
            "surge_va": number(math.ceil(surge) + 1, 5),
            "surge_s": number(surge_s),
            "efficiency_pct": number(draw.uniform(86, 95)),
            "idle_w": number(self.idle_w * draw.uniform(0.7, 1.3), 2),
            "hz": str(110 - job.hz) if flaw == "supply-match" else frequencies,
            "bank_class_v": str(bank_class),
            "bank_min_v": number(bank_class * low),
            "bank_max_v": number(bank_class * high),
            "charge_a": number(charge_a),
            "charge_settable": settable,
            "max_units": str(u if draw.chance(0.6) else min(4, u + group)),
        }
        for kind, column in SUPPLY_COLUMN.items():
            cells[column] = draw.pick(["", "1", "2"])
            if kind == job.supply:
                cells[column] = draw.pick(["", str(u + 3)]) if flaw == "service" else str(group)
        self.legs(part, cells, apparent, surge, u)
        self.trackers(part, cells, u)
        self.priced(part, 250 + 0.25 * apparent, u)
        return cells

    def legs(self, part: str, cells: Cells, apparent: float, surge: float, u: int) -> None:
        """leg_va and leg_surge_va around what the best placing of the loads asks of a leg."""
        draw, job, asked, flaw = self.draw, self.job, self.asked, self.flaw[part]
        even = 0.0  # the most VA on one leg, by the placing that has the least
        if job.supply == "120/240":
            even = min(
                max(
                    sum(
                        units[leg] * load.running_va if load.own_leg else load.count * load.running_va / 2
                        for load, units in zip(asked.loads, placing, strict=True)
                    )
                    for leg in (0, 1)
                )
                for placing in placings(asked)
            )
        leg = min(apparent, max(even * (1 + job.running) / u * self.near(part, "leg-balance"), apparent / 2))
        on_one_leg = [load.starting_va - load.running_va for load in asked.loads if load.own_leg and load.starts]
        leg_start = (even + max(on_one_leg, default=0.0)) / u * (1 + job.starting)
        leg_surge = min(surge, max(leg, surge / 2, leg_start))
        if part in self.roomy and flaw != "leg-balance" and draw.chance(0.95):
            leg, leg_surge = apparent, surge  # one leg may carry it all
        if flaw == "leg-balance":
            if draw.chance(0.5):
                leg = min(leg, max(0.3 * apparent, even * (1 + job.running) / u * draw.uniform(0.75, 0.99)))
            else:
                leg_surge = max(leg, leg_start * draw.uniform(0.7, 0.97))
        leg, leg_surge = max(leg, 0.11 * apparent), max(leg_surge, 0.11 * surge)  # less is a slip
        if flaw == "leg-balance" or draw.chance(0.75) or leg > surge / 2:
            cells["leg_va"] = number(math.floor(leg), 5)
            cells["leg_surge_va"] = number(math.ceil(min(leg_surge, surge)), 5)
            if flaw != "leg-balance" and leg <= surge / 2 and draw.chance(0.2):
                cells["leg_surge_va"] = ""

    def trackers(self, part: str, cells: Cells, u: int) -> None:
        """The columns of the trackers, around strings of one of the panels."""
        draw, job, flaw = self.draw, self.job, self.flaw[part]
        roomy = part in self.roomy
        panel = self.tables["panels"][0] if roomy else draw.pick(self.tables["panels"])
        pmax, voc, vmp = (float(panel[name]) for name in ("pmax_w", "voc_v", "vmp_v"))
        imp, isc, loss = (float(panel[name]) for name in ("imp_a", "isc_a", "pmax_pct_per_c"))
        heat = float(panel["vmp_pct_per_c"] or loss - 0.05)
        isc *= 1 + job.rear_light * float(panel["bifacial_pct"] or 0) / 100
        beta = float(panel["voc_pct_per_c"] or -0.39)
        cold = max(1.0, 1 + beta / 100 * (job.coldest_c - 25))
        hot_c = job.hottest_c + (float(panel["noct_c"] or 45) - 20) * 1.25 - 25 + self.heat_c
        hot, wake = 1 + heat / 100 * hot_c, 1 + beta / 100 * hot_c

        warm = 1 + loss / 100 * self.heat_c
        total = self.need_w / job.array_factor / warm / pmax * draw.uniform(1.1, 1.3)  # panels wanted
        count = max(1, round(self.tracker_count / u)) if draw.chance(0.8) else draw.pick([1, 2])
        m = self.parallel if draw.chance(0.8) else draw.pick([1, 1, 2, 3])
        n = max(1, math.ceil(total / count / u / m - 0.15))
        max_v = n * voc * cold / (1 - job.voltage) * draw.uniform(1.03, 1.4)
        top_v = (n + draw.uniform(0.02, 1.3)) * vmp
        if flaw == "cold-voltage":
            max_v = (n - draw.pick([0.5, 0.2, 0.02])) * voc * cold / (1 - job.voltage)
        if flaw == "tracker-strings":  # and no longer strings in place of more
            top_v = (n + 0.02) * vmp
        max_v = max(max_v, 1.1 * vmp)
        top_v = min(max_v * 0.99, top_v)
        low_n = n if draw.chance(0.4) else max(1, n - draw.pick([1, 1, 2]))
        min_v = low_n * vmp * hot * (1 - job.hot_voltage) * draw.uniform(0.8, 1.0)
        if flaw == "hot-voltage":
            min_v = n * vmp * hot * (1 - job.hot_voltage) * draw.uniform(1.005, 1.08)
        min_v = min(min_v, top_v * 0.93)
        max_w = max(pmax, n * m * pmax * self.near(part, "tracker-power", 1.0, 1.5))
        usable = min(max_w, self.need_w / count / u * self.near(part, "daily-energy", 1.0, 1.5))
        usable_a = m * imp * draw.uniform(1.0, 1.7)
        isc_a = m * isc * (1 + job.current) * self.near(part, "tracker-current")
        if flaw == "tracker-current":
            usable_a = min(usable_a, isc_a)
        cells |= {
            "trackers": str(count),
            "tracker_max_v": number(max_v, 4),
            "tracker_top_v": number(min(top_v, max_v), 4),
            "tracker_min_v": number(min_v),
            "tracker_usable_a": number(usable_a),
            "tracker_isc_a": number(max(isc_a, usable_a)),
            "tracker_max_w": number(max_w, 4),
            "tracker_usable_w": number(usable, 4),
        }
        if flaw == "wake-voltage":
            cells["tracker_start_v"] = number(min(n * voc * wake * draw.uniform(1.005, 1.05), top_v * 0.99))
        elif draw.chance(0.4):
            cells["tracker_start_v"] = number(min(min_v * draw.uniform(1.0, 1.1), low_n * voc * wake))
        if flaw == "tracker-strings":
            cells["tracker_strings"] = str(max(1, m - 1))
        elif draw.chance(0.4):
            cells["tracker_strings"] = str(m + draw.pick([0, 1]))
        if flaw == "array-total":
            cells["array_max_w"] = number(total * pmax / u * draw.uniform(0.5, 0.8), 4)
        elif draw.chance(0.4):
            cells["array_max_w"] = number(count * max_w * draw.uniform(0.92 if roomy else 0.75, 1.0), 4)
        if flaw == "daily-energy" or draw.chance(0.4):
            cells["array_usable_w"] = number(count * usable * draw.uniform(0.93, 1.0), 4)

    # --- batteries ---------------------------------------------------------------------------------

    def batteries(self) -> None:
        chemistry = self.draw.pick(["lfp", "lfp", "agm", "flooded"])
        for part in self.parts("batteries", "bt", self.draw.pick([1, 2, 3, 3])):
            self.tables["batteries"].append(self.battery(part, chemistry))

    def battery(self, part: str, usual: str) -> Cells:
        draw, job, flaw = self.draw, self.job, self.flaw[part]
        chemistry = usual if draw.chance(0.5) else draw.pick(["lfp", "lfp", "agm", "gel", "flooded", "other"])
        if flaw in ("charge-floor", "bank-freeze", "cold-fade") and chemistry not in LEAD_ACID:
            chemistry = draw.pick(LEAD_ACID)
        lead = chemistry in LEAD_ACID
        classes = [one for one in (2, 6, 12, 24, 48) if one <= self.bank_class <= 8 * one]
        if flaw == "bank-series":
            classes = [one for one in classes if one < self.bank_class]
        class_v = draw.pick(classes)
        if part not in self.roomy and draw.chance(0.15):
            class_v = draw.pick([2, 6, 12, 24, 48])
        s = max(1, self.bank_class // class_v)
        nominal = class_v * (1.0 if lead else 16 / 15)
        low = draw.uniform(0.86, 0.91)
        charge = (draw.uniform(1.18, 1.24) if lead else draw.uniform(1.08, 1.13)) + 0.2 * (flaw == "bank-window")
        usable = draw.randint(50, 80) if lead else draw.randint(75, 95)
        if lead and flaw == "bank-freeze":
            usable = next(one for one in (51, 76, 81) if freezing_c(one) > job.bank_coldest_c) + draw.randint(0, 4)
        elif lead and freezing_c(usable) > job.bank_coldest_c and (part in self.roomy or draw.chance(0.5)):
            usable = next((one for one in (75, 50, 25) if freezing_c(one) <= job.bank_coldest_c), 25)
        aged = draw.randint(70, 90) if draw.chance(0.4) else None
        stated_daily = draw.randint(20, min(60, usable)) if draw.chance(0.4) else None
        fade = round(draw.uniform(0.2, 1.2), 1) if draw.chance(0.3) else None
        if flaw == "cold-fade":
            fade = None
        k = draw.pick([1, 1, 2, 2, 3])
        shared = 1.0 if k == 1 else k * job.parallel_share

        loss = (fade if fade is not None else 1.2 if lead else 0.5 if chemistry == "lfp" else 1.0) / 100
        warmth = max(0.2, 1 - loss * max(0.0, 25 - job.bank_coldest_c))
        of_day = min(stated_daily or (25 if lead else usable), usable, aged or 80) / 100 * warmth
        of_all = min(usable, aged or 80) / 100 * warmth
        night = self.night_wh / of_day * self.near(part, "night-energy", 1.03, 1.4)
        sunless = self.autonomy_wh / of_all * self.near(part, "autonomy", 1.03, 1.4)
        if flaw == "night-energy" and sunless > night:  # the flaw would not show: the bank is cycled less deep
            stated_daily = max(5, math.floor(100 * self.night_wh / sunless / warmth * draw.uniform(0.8, 0.98)))
        if flaw == "autonomy" and night > sunless:
            night = sunless
            stated_daily = min(usable, 95)
        capacity = max(night, sunless) / (s * nominal) / k
        if flaw == "cold-fade":  # the margin that the slope of 1.2 takes away
            whole = max(self.night_wh / of_day, self.autonomy_wh / of_all) / (s * nominal) / k
            capacity = whole * draw.uniform(warmth / (1 - 0.01 * max(0.0, 25 - job.bank_coldest_c)), 1.0)
        volts_low = self.eta * s * nominal * low
        run_a = self.run_w / volts_low / shared * self.near(part, "discharge-current", 1.05, 1.8)
        start_a = self.start_w / volts_low / shared * self.near(part, "starting-current", 1.05, 1.8)
        if flaw == "discharge-current":
            start_a = max(start_a, self.start_w / volts_low / shared * 1.2)
        if flaw == "idle-current":  # of the first converter, which draws it whatever it gives
            first = self.tables["converters"][0]
            lowest = max(s * nominal * low, float(first["bank_min_v"]))
            idle_w = float(first["idle_w"]) * draw.uniform(0.05, 0.95)
            run_a = (self.run_w / float(first["efficiency_pct"]) * 100 + idle_w) / lowest / shared
        if not lead:  # a capacity of more than twenty times the amps is one in Wh
            run_a = max(run_a, 0.052 * capacity)
        lasts = draw.pick([1, 3, 5, 10])
        if lasts < self.start_s and not (flaw == "starting-current" and draw.chance(0.5)):
            lasts = math.ceil(self.start_s)
        fixed = [one for one in self.tables["converters"] if one["charge_settable"] == "no"]
        charge_a = self.through_w / (s * nominal) / shared * self.near(part, "charge-rate", 1.2, 2.5)
        if fixed and flaw != "charge-rate":
            charger = fixed[0] if flaw == "charge-limit" or part in self.roomy else draw.pick(fixed)
            most_a = float(charger["charge_a"]) * int(charger["max_units"])
            charge_a = max(charge_a, most_a / shared * self.near(part, "charge-limit", 0.95, 1.4))
        cells = self.common(part) | {
            "chemistry": chemistry,
            "class_v": str(class_v),
            "nominal_v": number(nominal),
            "min_v": number(nominal * low),
            "charge_v": number(nominal * charge),
            "capacity_ah": number(capacity),
            "usable_pct": str(usable),
            "aged_pct": str(aged or ""),
            "daily_pct": str(min(stated_daily, usable) if stated_daily else ""),  # more would contradict usable_pct
            "capacity_pct_per_c": "" if fade is None else str(fade),
            "round_trip_pct": number(draw.uniform(80, 88) if lead else draw.uniform(90, 96)),
            "discharge_a": number(run_a),
            "peak_a": number(max(run_a, start_a) * 1.01),
            "peak_s": str(lasts),
            "charge_a": number(charge_a),
            "max_series": str(max(1, s - 1) if flaw == "bank-series" else s + draw.pick([0, 0, 1, 2])),
            "max_parallel": str(max(1, k - 1) if flaw == "bank-parallel" else k + draw.pick([0, 0, 1])),
        }
        charger_a = float(self.tables["converters"][0]["charge_a"])
        if flaw == "charge-floor":
            floor_a = min(self.need_w / (s * nominal), charger_a) / k
            cells["charge_min_a"] = number(min(floor_a * draw.uniform(0.95, 1.3), 0.95 * charge_a))
        elif draw.chance(0.25):
            cells["charge_min_a"] = number(min(draw.uniform(0, 0.03) * capacity, 0.95 * charge_a))
        elif lead and part in self.roomy and 0.05 * capacity * k > 0.8 * charger_a and draw.chance(0.8):
            cells["charge_min_a"] = number(min(draw.uniform(0.4, 0.8) * charger_a / k, 0.95 * charge_a))
        if flaw == "bank-sag" or draw.chance(0.35):
            room_v = s * nominal * (1 - low) if s * nominal * (1 - low) > 0 else 1.0
            whole_mohm = room_v / (self.start_w / volts_low * s / 1000 / k) / AGED_COLD_RESISTANCE
            cells["r_mohm"] = number(whole_mohm * (draw.uniform(1.02, 1.4) if flaw == "bank-sag" else 0.5))
        bank_c = job.bank_coldest_c
        usual_c = draw.pick([-20, 0, 0]) if chemistry == "lfp" else draw.pick([-20, -30])
        cold_c = min(usual_c, math.floor(bank_c) - draw.randint(0, 6))
        if flaw == "bank-temperature":
            cold_c = math.floor(bank_c) + draw.randint(1, 6)
        cells["coldest_charge_c"] = str(cold_c)
        hot_c = math.ceil(job.bank_hottest_c)
        for column in ("hottest_charge_c", "hottest_discharge_c"):
            if draw.chance(0.3) or (hot_c > 50 and part in self.roomy):
                cells[column] = str(max(45, hot_c + draw.pick([0, 1, 5])))
        if flaw == "bank-heat":
            cells[draw.pick(["hottest_charge_c", "hottest_discharge_c"])] = str(hot_c - draw.randint(1, 8))
        if draw.chance(0.4) or bank_c < -20:
            cells["coldest_discharge_c"] = str(min(-20, math.floor(bank_c) - draw.randint(0, 10)))
        self.priced(part, 20 + 0.22 * capacity * nominal, s * k)
        return cells

    # --- racks, extras, twin -----------------------------------------------------------------------

    def racks(self) -> None:
        draw = self.draw
        panels = self.tables["panels"]
        for part in self.parts("racks", "rk", draw.pick([1, 2, 2])):
            sizes = {
                column: [float(panel[column]) for panel in panels] for column in ("width_mm", "length_mm", "weight_kg")
            }
            most = {column: max(values) * draw.uniform(1.02, 1.3) for column, values in sizes.items()}
            if self.flaw[part] == "mounting-fit":
                column = draw.pick(list(sizes))
                # One panel fits exactly or not at all; another may.
                most[column] = draw.pick(sizes[column]) * draw.pick([0.97, 1.0, 0.99])
            per_panel, per_row = draw.pick([0, 0.5, 1, 1, 1.1, 1.25]), draw.pick([0, 0.6, 1, 1, 2])
            mount = draw.pick(["ground-ballast", "ground-post", "roof", "pole"])
            heat = self.heat_c if part in self.roomy or draw.chance(0.6) else draw.pick([0, 5, 10, 15])
            if self.flaw[part] == "heat":
                mount = draw.pick([mount, "roof"])
                heat = draw.pick([15, 15, 8, 19, 25]) if self.heat_c < 15 else 25
            usual = heat == (15 if mount == "roof" else 0)
            cells = self.common(part) | {
                "mount": mount,
                "heat_c": "" if usual and draw.chance(0.8) else str(heat),
                "max_width_mm": number(most["width_mm"], 4),
                "max_length_mm": number(most["length_mm"], 4),
                "max_panel_kg": number(most["weight_kg"]),
                "per_panel": str(per_panel),
                "per_row": str(per_row if per_panel else per_row or 1),
                "max_row": str(draw.randint(1, 6)),
                "ballast_kg": str(draw.randint(0, 80)) if draw.chance(0.3) else "",
            }
            self.tables["racks"].append(cells)
            self.priced(part, draw.uniform(12, 45), self.pieces[panels[0]["part"]])

    def extras(self) -> None:
        draw = self.draw
        for place in range(draw.randint(0, 3)):
            part = f"ex-{place + 1}"
            cells = {
                "part": part,
                "per": draw.pick(["system", "converter", "battery", "bank-string", "string", "panel", "row"]),
                "quantity": draw.pick(["1", "1", "2", "0.5", "0.25", "1.1"]),
                "when": draw.pick(["", "always", "fused", "fused", "stacked", "paralleled-bank"]),
                "weight_kg": "1.5" if draw.chance(0.2) else "",
                "note": "",
            }
            self.tables["extras"].append(cells)
            self.flaw[part] = ""
            self.roomy.add(part)
            self.priced(part, draw.uniform(3, 40), 3)

    def twin(self) -> None:
        """Now and then a part that looks like another, at nearly its price."""
        draw = self.draw
        rows = self.tables[draw.pick(["panels", "converters", "batteries", "racks"])]
        if len(rows) == 3 or not draw.chance(0.25):
            return
        old = draw.pick(rows)
        part = old["part"][:3] + draw.pick("ajz") + "2"
        rows.append(old | {"part": part})
        self.flaw[part], self.value[part] = self.flaw[old["part"]], self.value[old["part"]]
        self.pieces[part] = self.pieces[old["part"]]
        if old["part"] in self.roomy:
            self.roomy.add(part)
