"""Slips that people make with data sheets: each ends in an error or a warning that says what is likely meant.

A case is a part of the shipped catalogue with some cells changed. Impossible rows are one error; unusual ones are read
and called out by ``catalog check``.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog.reader import check_catalog, read_catalog, shipped_catalog
from optimizer.vocabulary.problems import Problem
from optimizer.writing.words.problems import warning_text
from tests.small_files import cells_of, csv_text, write_catalog

Case = tuple[str, str, str, str]  # part, cells as "column=cell column=cell", kind of the problem, words in it
ERROR, ODD, RANGE = "columns-disagree", "unusual-figure", "out-of-range"

PANEL, SMALL = "pn-410-a", "pn-100-s"
PANELS: tuple[Case, ...] = (
    (PANEL, "pmax_w=0.41", ERROR, "0.41 reads like kW: write 410"),
    (PANEL, "pmax_w=4100", RANGE, "pmax_w <= 2000"),
    (PANEL, "pmax_w=450", ERROR, "within 5 %"),
    (PANEL, "voc_v=31.4 vmp_v=37.4", ERROR, "vmp_v < voc_v"),
    (PANEL, "isc_a=13.06 imp_a=13.9", ERROR, "imp_a < isc_a"),
    (PANEL, "isc_a=13900", RANGE, "13900 reads like mA: write 13.9"),
    (PANEL, "voc_pct_per_c=0.27", RANGE, "0.27 reads like a figure that lost its sign: write -0.27"),
    (PANEL, "voc_pct_per_c=-0.0027", RANGE, "-0.0027 reads like a share: write -0.27"),
    (PANEL, "voc_pct_per_c=-0.101", ERROR, "-0.101 reads like V for each degC: write -0.27"),
    (PANEL, "voc_pct_per_c=-101", RANGE, "-101 reads like mV for each degC: write -0.27"),
    (PANEL, "voc_pct_per_c=-0.55", ODD, "usually -0.45 to -0.2"),
    (PANEL, "voc_pct_per_c=-0.19", ODD, "voc_pct_per_c is usually -0.45 to -0.2"),
    (PANEL, "voc_pct_per_c=-0.34 pmax_pct_per_c=-0.27", ODD, "share of pmax_pct_per_c"),
    (PANEL, "pmax_pct_per_c=-0.0034", RANGE, "-0.0034 reads like a share: write -0.34"),
    (PANEL, "pmax_pct_per_c=0.34", RANGE, "lost its sign: write -0.34"),
    (PANEL, "pmax_pct_per_c=-1.4", RANGE, "-1.4 reads like W for each degC: write -0.34"),
    (PANEL, "vmp_pct_per_c=-0.0039", RANGE, "-0.0039 reads like a share: write -0.39"),
    (PANEL, "vmp_pct_per_c=-0.12", ODD, "vmp_pct_per_c is usually"),
    (PANEL, "noct_c=113", RANGE, "113 reads like degF: write 45"),
    (PANEL, "noct_c=25", ODD, "noct_c is usually 40 to 55 degC; here it is 25 degC"),
    (PANEL, "bifacial_pct=0.75", ERROR, "0.75 reads like a share: write 75"),
    (PANEL, "bifacial_pct=5", ODD, "usually 40 to 100 %"),
    (PANEL, "length_mm=1.726", RANGE, "1.726 reads like m: write 1726"),
    (PANEL, "length_mm=68", RANGE, "68 reads like cm: write 680"),
    (PANEL, "length_mm=172.6 width_mm=113.6", ERROR, "at most 300 W for each m2"),
    (PANEL, "width_mm=113.6", ERROR, "113.6 reads like cm: write 1136"),
    (PANEL, "length_mm=1136 width_mm=1726", ODD, "length_mm by width_mm is usually 0.95 to 5"),
    (PANEL, "weight_kg=21300", RANGE, "21300 reads like g: write 21.3"),
    (PANEL, "weight_kg=47", ODD, "47 reads like lb: write 21.32"),
    (PANEL, "weight_kg=2.1", ODD, "kg/m2"),
    (PANEL, "weight_kg=213", ERROR, "at most 60 kg for each m2"),
    (PANEL, "max_system_v=1.5", ERROR, "1.5 reads like kV: write 1500"),
    (PANEL, "max_system_v=30", ERROR, "max_system_v >= voc_v"),
    (PANEL, "max_system_v=2500", ODD, "max_system_v is usually 50 to 1500 V"),
    (PANEL, "max_fuse_a=10", ERROR, "max_fuse_a >= isc_a"),
    (PANEL, "max_fuse_a=150", ODD, "max_fuse_a by isc_a is usually 1.25 to 5"),
    (PANEL, "max_fuse_a=25000", RANGE, "25000 reads like mA: write 25"),
    (SMALL, "length_mm=3016 width_mm=1558", ODD, "usually 60 to 250 W/m2"),
)  # fmt: skip

CONVERTER, DOUBLE, SIMPLE = "cv-6k-split-b", "cv-6k5-split", "cv-5k-230"
CONVERTERS: tuple[Case, ...] = (
    (CONVERTER, "continuous_w=6", RANGE, "6 reads like kW: write 6000"),
    (CONVERTER, "continuous_w=60000", ERROR, "surge_va >= continuous_va"),
    (CONVERTER, "continuous_va=5000", ERROR, "continuous_va >= continuous_w"),
    (CONVERTER, "continuous_va=6", RANGE, "6 reads like kVA: write 6000"),
    (CONVERTER, "continuous_va=12000", ODD, "continuous_w by continuous_va is usually 0.7 to 1 W/VA"),
    (CONVERTER, "surge_va=18", RANGE, "18 reads like kVA"),
    (CONVERTER, "surge_va=5000", ERROR, "surge_va >= continuous_va"),
    (CONVERTER, "surge_va=180000", ERROR, "at most 20 x continuous_va"),
    (CONVERTER, "surge_va=60000", ODD, "surge_va by continuous_va is usually 1 to 5; here it is 10"),
    (CONVERTER, "surge_s=5000", RANGE, "5000 reads like ms: write 5"),
    (CONVERTER, "surge_s=20", ODD, "twice the rating or more is usually 0.01 to 15 s; here it is 20 s"),
    (CONVERTER, "surge_s=500", ODD, "500 reads like ms: write 0.5"),
    (CONVERTER, "leg_va=4.5", ERROR, "4.5 reads like kVA: write 4500"),
    (CONVERTER, "leg_va=9000", ERROR, "leg_va <= continuous_va"),
    (DOUBLE, "leg_surge_va=4000", ERROR, "leg_surge_va >= leg_va"),
    (DOUBLE, "leg_surge_va=20000", ERROR, "leg_surge_va <= surge_va"),
    (DOUBLE, "leg_va=1000", ODD, "leg_va by continuous_va"),
    (CONVERTER, "efficiency_pct=0.93", RANGE, "0.93 reads like a share: write 93"),
    (CONVERTER, "efficiency_pct=65", ODD, "efficiency_pct is usually 80 to 99 %"),
    (CONVERTER, "efficiency_pct=100", ODD, "efficiency_pct is usually 80 to 99 %"),
    (CONVERTER, "idle_w=0.044", ODD, "0.044 reads like kW: write 44"),
    (CONVERTER, "idle_w=0", ODD, "idle_w by continuous_w"),
    (CONVERTER, "idle_w=6500", ERROR, "idle_w < continuous_w"),
    (CONVERTER, "hz=60;600", "unknown-value", "50, 60"),
    (CONVERTER, "bank_class_v=12", ERROR, "bank_class_v within bank_min_v and bank_max_v"),
    (CONVERTER, "bank_min_v=21 bank_max_v=31", ERROR, "bank_max_v 31"),
    (CONVERTER, "bank_min_v=56", ERROR, "bank-holds-class"),
    (CONVERTER, "bank_min_v=50", ODD, "bank_min_v by bank_class_v is usually 0.75 to 1"),
    (CONVERTER, "bank_min_v=64 bank_max_v=42", ERROR, "bank_min_v < bank_max_v"),
    (CONVERTER, "bank_max_v=80", ODD, "bank_max_v by bank_class_v is usually 1.15 to 1.45"),
    (CONVERTER, "bank_max_v=50", ODD, "bank_max_v by bank_class_v"),
    (CONVERTER, "charge_a=6000", ERROR, "6000 reads like W: write 125"),
    (CONVERTER, "charge_a=1200", ODD, "charge_a x bank_class_v by continuous_w"),
    (CONVERTER, "charge_a=1", ODD, "charge_a x bank_class_v by continuous_w is usually 0.1 to 2.5"),
    (CONVERTER, "trackers=2.5", "not-whole", "whole"),
    (CONVERTER, "trackers=40", ODD, "trackers is usually 1 to 12"),
    (CONVERTER, "tracker_max_v=0.45", ERROR, "0.45 reads like kV: write 450"),
    (CONVERTER, "tracker_top_v=500", ERROR, "tracker_top_v <= tracker_max_v"),
    (CONVERTER, "tracker_min_v=420", ERROR, "tracker_min_v < tracker_top_v"),
    (CONVERTER, "tracker_start_v=430", ERROR, "tracker_start_v <= tracker_top_v"),
    (CONVERTER, "tracker_start_v=12", ODD, "tracker_start_v by tracker_min_v"),
    (CONVERTER, "tracker_usable_a=24 tracker_isc_a=16", ERROR, "tracker_usable_a <= tracker_isc_a"),
    (CONVERTER, "tracker_isc_a=200", ODD, "tracker_isc_a by tracker_usable_a is usually 1 to 2.5"),
    (CONVERTER, "tracker_usable_w=5200", ERROR, "tracker_usable_w <= tracker_max_w"),
    (CONVERTER, "tracker_max_w=4.5 tracker_usable_w=3.9", RANGE, "3.9 reads like kW: write 3900|4.5 reads like kW"),
    (CONVERTER, "tracker_usable_w=39", ODD, "tracker_usable_w"),
    (CONVERTER, "tracker_usable_a=1.6", ODD, "tracker_usable_a is usually 3 to 200 A"),
    (CONVERTER, "array_max_w=8.5", ERROR, "8.5 reads like kW: write 8500"),
    (CONVERTER, "array_max_w=9", ERROR, "9 reads like kW: write 9000"),
    (CONVERTER, "array_max_w=90000", ODD, "array_max_w by trackers x tracker_max_w"),
    (CONVERTER, "array_usable_w=7.5", ERROR, "7.5 reads like kW: write 7500"),
    (CONVERTER, "array_usable_w=70000", ODD, "array_usable_w by trackers x tracker_usable_w"),
    (CONVERTER, "max_units=1 units_120_240=2", ODD, "max_units by units_120_240 is usually at least 1"),
    (CONVERTER, "max_units=300", ODD, "max_units is usually 1 to 20"),
    (CONVERTER, "weight_kg=45000", RANGE, "45000 reads like g: write 45"),
    (CONVERTER, "weight_kg=4500", ODD, "W/kg"),
    (SIMPLE, "continuous_w=100 surge_va=200 charge_a=2", ODD, "continuous_w is usually 150 to 30000 W"),
)  # fmt: skip

LFP, AGM, SALT = "bt-48-100-lfp", "bt-12-110-agm", "bt-48-100-na"
BATTERIES: tuple[Case, ...] = (
    (LFP, "chemistry=li", "unknown-value", "lfp, agm"),
    (LFP, "class_v=12", ERROR, "nominal_v from 0.8 to 1.3 x class_v"),
    (LFP, "class_v=24", ERROR, "nominal_v 51.2"),
    (AGM, "class_v=48", ERROR, "nominal-of-class"),
    (LFP, "nominal_v=57.6 charge_v=60", ODD, "nominal_v by class_v is usually 0.95 to 1.1"),
    (LFP, "min_v=2.8", ERROR, "min_v at least half of nominal_v"),
    (LFP, "min_v=30", ODD, "min_v by nominal_v"),
    (LFP, "min_v=53", ERROR, "min_v < nominal_v"),
    (LFP, "charge_v=3.6", ERROR, "nominal_v < charge_v"),
    (LFP, "charge_v=115.2", ERROR, "charge_v at most 1.6 x nominal_v"),
    (LFP, "charge_v=72", ODD, "charge_v by nominal_v is usually 1.05 to 1.35"),
    (LFP, "capacity_ah=5120", ERROR, "5120 reads like Wh: write 100"),
    (SALT, "capacity_ah=4960", ERROR, "4960 reads like Wh: write 100"),
    (AGM, "capacity_ah=1320", ODD, "1320 reads like Wh: write 110"),
    (LFP, "capacity_ah=5.12", ERROR, "5.12 reads like kWh: write 100"),
    (LFP, "capacity_ah=100000", ODD, "reads like mAh: write 100"),
    (LFP, "usable_pct=0.8", RANGE, "0.8 reads like a share: write 80"),
    (LFP, "usable_pct=20", ODD, "usable_pct of lfp, other is usually 50 to 100 %"),
    (AGM, "usable_pct=100", ODD, "usable_pct of agm, gel, flooded is usually 20 to 80 %"),
    (LFP, "aged_pct=0.8", RANGE, "0.8 reads like a share: write 80"),
    (LFP, "aged_pct=20", ODD, "aged_pct is usually 50 to 95 %"),
    (LFP, "daily_pct=0.5", RANGE, "0.5 reads like a share: write 50"),
    (AGM, "daily_pct=75", ERROR, "daily_pct <= usable_pct"),
    (LFP, "daily_pct=3", ODD, "daily_pct is usually 10 to 100 %"),
    (LFP, "capacity_pct_per_c=0.005", ODD, "0.005 reads like a share: write 0.5"),
    (LFP, "round_trip_pct=0.95", RANGE, "0.95 reads like a share: write 95"),
    (LFP, "round_trip_pct=60", ODD, "round_trip_pct of lfp"),
    (AGM, "round_trip_pct=99", ODD, "round_trip_pct of agm, gel, flooded is usually 65 to 92 %"),
    (LFP, "discharge_a=100000", ERROR, "100000 reads like mA: write 100"),
    (AGM, "discharge_a=1", ODD, "discharge_a by capacity_ah"),
    (LFP, "peak_a=80", ERROR, "peak_a >= discharge_a"),
    (LFP, "peak_a=20000", ODD, "peak_a by discharge_a is usually 1 to 12"),
    (LFP, "peak_s=5000", RANGE, "5000 reads like ms: write 5"),
    (LFP, "peak_s=500", ODD, "500 reads like ms: write 0.5"),
    (LFP, "charge_a=60000", ERROR, "60000 reads like mA: write 60"),
    (LFP, "charge_a=1", ODD, "charge_a by capacity_ah is usually 0.03 to 2 A/Ah"),
    (AGM, "charge_min_a=30", ERROR, "charge_min_a <= charge_a"),
    (AGM, "charge_min_a=0.05", ODD, "charge_min_a by capacity_ah"),
    (LFP, "r_mohm=0.004", ODD, "0.004 reads like ohm: write 4"),
    (LFP, "r_mohm=0", ERROR, "r_mohm above 0"),
    (LFP, "r_mohm=4000", ERROR, "4000 reads like microohm: write 4"),
    (LFP, "short_circuit_a=20", ODD, "short_circuit_a by peak_a"),
    (LFP, "max_series=16", ODD, "max_series x class_v is usually 2 to 120 V; here it is 768 V"),
    (LFP, "max_parallel=500", ODD, "max_parallel is usually 1 to 32"),
    (LFP, "coldest_charge_c=-20", ODD, "write 0, or say in its note that it warms itself"),
    (LFP, "coldest_charge_c=-60", ERROR, "coldest_charge_c of lfp at least -40 degC"),
    (LFP, "coldest_charge_c=32", ODD, "32 reads like degF: write 0"),
    (LFP, "coldest_discharge_c=14", ODD, "14 reads like degF: write -10"),
    (LFP, "coldest_discharge_c=5", ODD, "coldest_charge_c above coldest_discharge_c"),
    (LFP, "hottest_charge_c=113", ODD, "113 reads like degF: write 45"),
    (LFP, "hottest_discharge_c=20", ODD, "hottest_discharge_c is usually 40 to 75 degC"),
    (LFP, "weight_kg=43000", RANGE, "43000 reads like g: write 43"),
    (LFP, "weight_kg=95", ODD, "95 reads like lb: write 43.09"),
    (AGM, "weight_kg=3.2", ODD, "of agm, gel, flooded is usually 20 to 60 Wh/kg"),
)  # fmt: skip

RACK = "rk-roof-m"
OTHERS: tuple[Case, ...] = (
    (RACK, "max_width_mm=1.15", RANGE, "1.15 reads like m: write 1150"),
    (RACK, "max_length_mm=180", ODD, "180 reads like cm: write 1800"),
    (RACK, "max_length_mm=70.9", RANGE, "70.9 reads like cm: write 709"),
    (RACK, "max_width_mm=1800 max_length_mm=1150", ODD, "max_length_mm by max_width_mm"),
    (RACK, "max_panel_kg=25000", RANGE, "25000 reads like g: write 25"),
    (RACK, "max_panel_kg=250", ODD, "max_panel_kg is usually 3 to 60 kg"),
    (RACK, "per_panel=0 per_row=0", ERROR, "not both 0"),
    (RACK, "per_panel=50", ODD, "per_panel is usually 0 to 6"),
    (RACK, "per_row=100", ODD, "per_row is usually 0 to 20"),
    (RACK, "max_row=1000", ODD, "max_row is usually 1 to 60"),
    (RACK, "ballast_kg=15000", ODD, "15000 reads like g: write 15"),
    (RACK, "heat_c=59", ODD, "59 reads like degF: write 15"),
    (RACK, "weight_kg=3100", ODD, "3100 reads like g: write 3.1"),
    (RACK, "mount=Roof", "unknown-value", "ground-ballast"),
    ("ex-cable-array", "quantity=2500", ODD, "quantity is usually 0.05 to 100"),
    ("ex-cable-array", "quantity=0", RANGE, "0 < quantity"),
    ("ex-cable-array", "weight_kg=4500", ODD, "4500 reads like g: write 4.5"),
    ("st-soft-12", "running_a=12000", RANGE, "12000 reads like mA: write 12"),
    ("st-soft-12", "running_a=0.012", ODD, "0.012 reads like kA: write 12"),
    ("st-soft-12", "start_factor=58", RANGE, "58 reads like a percent: write 0.58"),
    ("st-soft-12", "start_factor=1", ODD, "start_factor is usually 0.08 to 0.95"),
    ("st-soft-12", "start_factor=0.01", ODD, "start_factor is usually"),
    ("st-soft-12", "start_volts_pct=0.58", ODD, "0.58 reads like a share: write 58"),
    ("st-soft-12", "floor_x=200", RANGE, "200 reads like a percent: write 2"),
    ("st-soft-12", "floor_x=0", ODD, "floor_x is usually 0.8 to 6"),
    ("st-soft-12", "ramp_s=2000", RANGE, "2000 reads like ms: write 2"),
    ("st-soft-12", "ramp_s=500", ODD, "500 reads like ms: write 0.5"),
    ("st-soft-12", "volts_min=0.22", ODD, "0.22 reads like kV: write 220"),
    ("st-soft-12", "volts_min=240 volts_max=220", ERROR, "volts_min <= volts_max"),
    ("st-soft-12", "volts_min=22", ODD, "volts_min is usually"),
    ("st-drive-10", "efficiency_pct=0.95", RANGE, "0.95 reads like a share: write 95"),
    ("tk-5000", "volume_l=5", ERROR, "5 reads like m3: write 5000"),
    ("tk-5000", "volume_l=5000000", ERROR, "reads like mL: write 5000"),
    ("tk-5000", "volume_l=50000", ODD, "height of volume_l on footprint_mm is usually 150 to 6000 mm"),
    ("tk-5000", "footprint_mm=1.92", ERROR, "1.92 reads like m: write 1920"),
    ("tk-5000", "footprint_mm=192", ERROR, "192 reads like cm: write 1920"),
    ("tk-5000", "footprint_mm= volume_l=5", ODD, "5 reads like m3: write 5000"),
    ("tk-5000", "usable_pct=0.95", RANGE, "0.95 reads like a share: write 95"),
    ("tk-5000", "usable_pct=20", ODD, "usable_pct is usually 50 to 100 %"),
    ("tk-5000", "weight_kg=115000", RANGE, "115000 reads like g: write 115"),
    ("tk-5000", "weight_kg=5000", ODD, "weight_kg by volume_l"),
)  # fmt: skip

FILES = {path.name: cells_of(path.read_text(encoding="utf-8")) for path in shipped_catalog().glob("*.csv")}


def changed(part: str, cells: str) -> dict[str, str]:
    """The shipped files with cells of one part changed; a column that its file leaves out is added."""
    file = next(name for name, rows in FILES.items() if name != "prices.csv" and any(row[0] == part for row in rows))
    rows = [list(row) for row in FILES[file]]
    head = next(row for row in rows if row[0] == "part")
    place = next(place for place, row in enumerate(rows) if row[0] == part)
    for name, _, cell in (pair.partition("=") for pair in cells.split()):
        if name not in head:
            head.append(name)
            for row in rows:
                if len(row) == len(head) - 1:
                    row.append("")
        rows[place][head.index(name)] = cell
    return {name: csv_text(rows if name == file else FILES[name]) for name in FILES}


def found(folder: Path) -> tuple[list[Problem], list[Problem]]:
    """The problems and the warnings of a folder."""
    problems, warnings = check_catalog(folder)
    return list(problems), list(warnings)


def labelled(cases: tuple[Case, ...]) -> list[object]:
    return [pytest.param(*case, id=f"{case[0]}:{case[1]}".replace(" ", ",")) for case in cases]


@pytest.mark.parametrize(("part", "cells", "kind", "words"), labelled(PANELS + CONVERTERS + BATTERIES + OTHERS))
def test_a_slip_is_told_with_what_is_likely_meant(part: str, cells: str, kind: str, words: str, tmp_path: Path) -> None:
    problems, warnings = found(write_catalog(tmp_path / "c", changed(part, cells)))
    odd = [warning_text(problem) for problem in warnings if problem.kind.id == ODD]
    if kind == ODD:
        assert problems == []
        assert any(words in text for text in odd), odd
        assert all(warning.slots["part"] == part for warning in warnings)
    else:
        assert {problem.kind.id for problem in problems} == {kind}
        texts = [warning_text(problem) for problem in problems]
        assert all(any(word in text for text in texts) for word in words.split("|")), texts


def test_the_shipped_catalogue_has_nothing_unusual() -> None:
    assert found(shipped_catalog()) == ([], [])


def test_there_are_enough_cases() -> None:
    cases = PANELS + CONVERTERS + BATTERIES + OTHERS
    assert len({case[:2] for case in cases}) == len(cases) > 150


def test_a_battery_that_warms_itself_may_say_so(tmp_path: Path) -> None:
    files = changed(LFP, "coldest_charge_c=-20 note=warms-itself")
    assert found(write_catalog(tmp_path / "c", files)) == ([], [])


def test_an_unusual_part_is_read_as_it_stands(tmp_path: Path) -> None:
    catalog = read_catalog(write_catalog(tmp_path / "c", changed(PANEL, "noct_c=25")))
    assert catalog.panels.record(catalog.panels.place(PANEL))["noct_c"] == 25
    assert catalog.warnings == ()
