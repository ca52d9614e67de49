"""A small catalogue and a job for the tests, invented, as text: every test writes its own changed copy."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from pathlib import Path

CATALOG: Mapping[str, str] = {
    "panels.csv": """\
part,pmax_w,voc_v,vmp_v,isc_a,imp_a,voc_pct_per_c,pmax_pct_per_c,noct_c,bifacial_pct,length_mm,width_mm,weight_kg,max_system_v,max_fuse_a,listed,note
pn-410,410,37.4,31.2,13.9,13.14,-0.27,-0.34,44,,1722,1134,21.5,1000,25,yes,"one, two"
pn-550,550,49.8,41.8,14.0,13.16,,-0.35,,70,2278,1134,28,1500,30,,
pn-300,300,40.1,33.0,9.6,9.10,-0.29,-0.38,45,0,1650,992,18,1000,15,no,
""",
    "converters.csv": """\
part,continuous_w,continuous_va,surge_va,surge_s,leg_va,efficiency_pct,idle_w,hz,bank_class_v,bank_min_v,bank_max_v,charge_a,charge_settable,trackers,tracker_max_v,tracker_min_v,tracker_top_v,tracker_usable_a,tracker_isc_a,tracker_max_w,tracker_usable_w,max_units,units_120,units_120_240,units_230,listed
cv-6k,6000,,13000,3,,92,60,60,48,42,60,120,yes,2,500,120,450,16,22,5000,4000,2,,1,,yes
cv-8k,8000,8000,16000,5,4500,93,70,50;60,48,42,62,160,yes,2,500,120,480,18,26,6000,5000,3,1,1,1,
cv-3k,3000,3300,6000,3,,90,25,50,24,21,31,80,no,1,150,40,140,60,70,4000,2500,1,,,1,
""",
    "batteries.csv": """\
part,chemistry,class_v,nominal_v,min_v,charge_v,capacity_ah,usable_pct,round_trip_pct,discharge_a,peak_a,peak_s,charge_a,r_mohm,max_series,max_parallel,coldest_charge_c
bt-200,lfp,48,51.2,44.8,57.6,200,90,95,160,320,5,100,,1,8,0
bt-280,lfp,48,51.2,44.8,57.6,280,90,95,200,400,5,140,12,1,8,0
bt-agm,agm,12,12,10.5,14.8,200,50,85,100,600,5,40,3,4,3,-20
""",
    "racks.csv": """\
part,mount,max_width_mm,max_length_mm,max_panel_kg,per_panel,per_row,max_row
rk-a,ground-ballast,1200,2400,40,1,1,12
rk-b,roof,1150,2300,30,0.5,2,6
""",
    "extras.csv": """\
part,per,quantity,when
cb-1,string,2,
fu-1,string,2,fused
""",
    "starters.csv": """\
part,kind,phases_in,running_a,start_factor,floor_x,ramp_s,motors,volts_min,volts_max
st-1,soft,1,16,0.5,1.5,,three-wire;psc,200,250
""",
    "tanks.csv": """\
part,volume_l,usable_pct,footprint_mm
tk-5,5000,,1800
""",
    "prices.csv": """\
part,seller,price,currency,min_qty,pack,stock,as_of
pn-410,north,139.00,USD,1,1,,2026-10-01
pn-550,north,199,USD,,,40,2026-10-01
pn-550,north,189,USD,10,,,2026-10-01
pn-300,south,88.50,USD,2,2,,2026-10-03
cv-6k,east,1480,USD,,,,2026-11-02
cv-8k,east,2050,USD,,,4,2026-11-02
cv-3k,south,640,USD,,,,2026-11-02
bt-200,east,1690,USD,,,,2026-11-02
bt-280,east,2200,USD,,,,2026-11-02
bt-agm,south,310,USD,,,12,2026-11-02
rk-a,north,62,USD,,,,2026-11-02
rk-b,north,71.25,USD,,,,2026-11-02
cb-1,north,48,USD,,,,2026-11-02
fu-1,north,9.90,USD,,,,2026-11-02
""",
    "sellers.csv": """\
seller,freight
north,95
east,210.00
south,0
""",
}

JOB = """\
title = "Nursery borehole"

[site]
coldest = "14 degF"
hottest = "37 degC"
sun_hours = [3.1, 3.9, 4.8, 5.4, 5.9, 6.3, 6.4, 6.1, 5.3, 4.3, 3.3, 2.8]
bank_coldest = "5 degC"

[supply]
kind = "120/240"
hz = 60
restart = "staggered"

[[load]]
name = "bore pump"
voltage = "240 V"
running = "8.1 A"
starting = "41 A"
motor = "three-wire"
water_per_day = "9000 L"
flow = "38 L/min"
daytime = 0.8

[[load]]
name = "booster"
voltage = "120 V"
running = "600 W"
rated = "0.75 hp"
hours_per_day = "90 min"
leg = 1

[[load]]
name = "lights"
voltage = "120 V"
running = "300 W"
starting = "none"
energy_per_day = "1.1 kWh"
critical = false

[need]
autonomy_days = 1.0
array_to_load = 1.2
budget = 9500

[reserve]
current = 0.25

[space]
max_area = "60 m^2"
mounts = ["ground-ballast"]

[on_hand]
"pn-410" = 4
"""


def write_catalog(folder: Path, files: Mapping[str, str] = CATALOG) -> Path:
    """Write the files into a folder, which is made."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
    return folder


def write_job(folder: Path, text: str = JOB) -> Path:
    """Write the catalogue and a job beside it; the job's file."""
    write_catalog(folder / "catalog")
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return path


def cells_of(text: str) -> list[list[str]]:
    """A CSV text as a list of rows, the headings first."""
    return list(csv.reader(io.StringIO(text)))


def csv_text(rows: list[list[str]]) -> str:
    """Rows as CSV text."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()


def changed(file: str, part: str, column: str, cell: str) -> dict[str, str]:
    """The catalogue with one cell changed, in the first row of that part (or seller)."""
    rows = cells_of(CATALOG[file])
    row = next(row for row in rows if row[0] == part)
    row[rows[0].index(column)] = cell
    return {**CATALOG, file: csv_text(rows)}
