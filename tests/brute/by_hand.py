"""A catalogue of one panel, converter, battery and rack, and a job for it, whose figures are worked by hand.

The job runs 500 W of lamps for 4 h a day, half of it in the sun, at a site of 25 °C and 4 sun hours. With the
usual reserves the cheapest bundle is 1550.50: one converter, two bank strings of two batteries, three panels in
one string (test_force.test_the_whole_by_hand).
"""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

from tests.brute.draw_job import toml
from tests.brute.force import cheapest, nodes_of
from tests.brute.instances import COLUMNS
from tests.brute.parts import (
    Battery,
    Converter,
    Extra,
    Offer,
    Panel,
    Parts,
    Rack,
    Row,
    Starter,
    Tank,
    battery,
    converter,
    panel,
    rack,
    starter,
    tank,
)
from tests.brute.reading import Job, Load, job_of, load_of

PANEL = {
    "part": "pn",
    "pmax_w": "400",
    "voc_v": "50",
    "vmp_v": "40",
    "isc_a": "10.6",
    "imp_a": "10",
    "voc_pct_per_c": "-0.3",
    "pmax_pct_per_c": "-0.4",
    "length_mm": "1700",
    "width_mm": "1130",
    "weight_kg": "21",
    "max_system_v": "1000",
    "max_fuse_a": "20",
}
CONVERTER = {
    "part": "cv",
    "continuous_w": "1000",
    "surge_va": "2000",
    "surge_s": "5",
    "efficiency_pct": "80",
    "idle_w": "10",
    "bank_class_v": "24",
    "bank_min_v": "20",
    "bank_max_v": "32",
    "charge_a": "60",
    "charge_settable": "yes",
    "trackers": "1",
    "tracker_max_v": "500",
    "tracker_min_v": "30",
    "tracker_top_v": "130",
    "tracker_usable_a": "40",
    "tracker_isc_a": "60",
    "tracker_max_w": "1200",
    "tracker_usable_w": "1200",
    "max_units": "1",
    "units_120": "1",
    "units_120_240": "1",
    "units_230": "1",
}
BATTERY = {
    "part": "bt",
    "chemistry": "lfp",
    "class_v": "12",
    "nominal_v": "12.8",
    "min_v": "10",
    "charge_v": "14.4",
    "capacity_ah": "100",
    "usable_pct": "80",
    "round_trip_pct": "80",
    "discharge_a": "50",
    "peak_a": "100",
    "peak_s": "5",
    "charge_a": "50",
    "max_series": "2",
    "max_parallel": "3",
    "coldest_charge_c": "0",
}
RACK = {
    "part": "rk",
    "mount": "ground-ballast",
    "max_width_mm": "1200",
    "max_length_mm": "2000",
    "max_panel_kg": "30",
    "per_panel": "1",
    "per_row": "1",
    "max_row": "2",
}
STARTER = {
    "part": "st",
    "kind": "soft",
    "phases_in": "1",
    "running_a": "3",
    "start_factor": "0.5",
    "start_volts_pct": "100",
    "floor_x": "1.2",
    "motors": "three-wire",
}
DRIVE = {
    "part": "dr",
    "kind": "drive",
    "phases_in": "1",
    "running_a": "3",
    "floor_x": "1",
    "motors": "three-wire;three-phase",
}
TANK = {"part": "ta", "volume_l": "1000", "usable_pct": "100"}
JOB: dict[str, Any] = {
    "title": "by hand",
    "site": {"coldest": "25 degC", "hottest": "25 degC", "sun_hours": 4},
    "supply": {"kind": "230", "hz": 60},
    "load": [{"name": "lamps", "voltage": "230 V", "running": "500 W", "hours_per_day": "4 h", "daytime": 0.5}],
}
# The same energy, pumped: 4000 L at 1000 L/h.
PUMP: dict[str, Any] = {
    "name": "bore pump",
    "voltage": "230 V",
    "running": "500 VA",
    "starting": "none",
    "water_per_day": "4000 L",
    "flow": "1000 L/h",
    "daytime": 0.5,
}


def a_panel(**cells: str) -> Panel:
    return panel(Row(PANEL | cells))


def a_converter(**cells: str) -> Converter:
    return converter(Row(CONVERTER | cells))


def a_battery(**cells: str) -> Battery:
    return battery(Row(BATTERY | cells))


def a_rack(**cells: str) -> Rack:
    return rack(Row(RACK | cells))


def a_starter(**cells: str) -> Starter:
    return starter(Row(STARTER | cells))


def a_tank(**cells: str) -> Tank:
    return tank(Row(TANK | cells))


def a_load(**keys: Any) -> Load:
    return load_of({"name": "one", "voltage": "230 V", "running": "500 W", "energy_per_day": "1 kWh"} | keys)


def a_job(*loads: Mapping[str, Any], kind: str = "120/240", **supply: Any) -> Job:
    job = {"site": JOB["site"], "supply": {"kind": kind, "hz": 60} | supply}
    return job_of(job | {"load": [{"energy_per_day": "1 kWh", **load} for load in loads]})


def write_table(folder: Path, name: str, rows: list[dict[str, str]]) -> None:
    columns = COLUMNS[name].split()
    with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, restval="")
        writer.writeheader()
        writer.writerows(rows)


def price(part: str, cost: str, **cells: str) -> dict[str, str]:
    return {"part": part, "seller": "north", "price": cost, "currency": "USD", "as_of": "2026-01-01"} | cells


PRICES = [price("pn", "100"), price("cv", "300.50"), price("bt", "200"), price("rk", "20")]


def write_whole(folder: Path, job: dict[str, Any], prices: list[dict[str, str]], **parts: dict[str, str]) -> Path:
    """Writes job.toml and a catalogue; `rack` changes cells, `extra`, `starter` and `tank` are one row each."""
    catalog = folder / "catalog"
    catalog.mkdir(exist_ok=True)
    for name, rows in (
        ("panels", [PANEL]),
        ("converters", [CONVERTER]),
        ("batteries", [BATTERY]),
        ("racks", [RACK | parts.get("rack", {})]),
        ("extras", [parts["extra"]] if "extra" in parts else []),
        ("prices", prices),
        ("sellers", [{"seller": "north", "freight": "50"}, {"seller": "east", "freight": "5"}]),
        ("starters", [parts["starter"]] if "starter" in parts else []),
        ("tanks", [parts["tank"]] if "tank" in parts else []),
    ):
        if rows or name not in ("starters", "tanks"):
            write_table(catalog, name, rows)
    (folder / "job.toml").write_text(toml(job), encoding="utf-8")
    return catalog


BASE = Decimal("1550.50")
OFFERS = [
    Offer("pn", "north", 10_000, 1, 1, None),
    Offer("cv", "north", 30_050, 1, 1, None),
    Offer("bt", "north", 20_000, 1, 1, None),
    Offer("rk", "north", 2_000, 1, 1, None),
]
FREIGHT = {"north": 5_000, "east": 500}


def in_memory(
    tables: Mapping[str, Any] = {},
    panel: Mapping[str, str] = {},
    converter: Mapping[str, str] = {},
    battery: Mapping[str, str] = {},
    offers: Sequence[Offer] = OFFERS,
    extras: Sequence[Extra] = (),
    more_panels: Sequence[Panel] = (),
    starters: Sequence[Starter] = (),
    tanks: Sequence[Tank] = (),
) -> tuple[Parts, Job]:
    """The parts and the job with some cells and tables changed."""
    parts = Parts(
        panels=[a_panel(**panel), *more_panels],
        converters=[a_converter(**converter)],
        batteries=[a_battery(**battery)],
        racks=[a_rack()],
        extras=list(extras),
        offers=list(offers),
        freight=FREIGHT,
        starters=list(starters),
        tanks=list(tanks),
    )
    return parts, job_of({**JOB, **tables})


def least(parts_and_job: tuple[Parts, Job], **options: Any) -> Decimal | None:
    """The least total with the terms of `nodes_of`; None where there is no bundle."""
    found = cheapest(nodes_of(*parts_and_job, **options))
    return found and found[1].total
