"""Small random catalogues and jobs, the same for the same seed; invented, no real product's figures."""

from __future__ import annotations

import csv
import io
import math
from pathlib import Path
from typing import Any

from tests.brute.draw_job import Draw, draw_job, number, toml
from tests.brute.draw_landed import draw_landed
from tests.brute.draw_needs import Catalogue, Table
from tests.brute.draw_parts import Drawn
from tests.brute.draw_plans import Added
from tests.brute.draw_prices import draw_prices
from tests.brute.force import best_distinct, enumerate_nodes
from tests.brute.loads import demand
from tests.brute.reading import job_of

COLUMNS = {
    "panels": """part pmax_w voc_v vmp_v isc_a imp_a voc_pct_per_c pmax_pct_per_c vmp_pct_per_c noct_c
        bifacial_pct length_mm width_mm weight_kg max_system_v max_fuse_a listed note""",
    "converters": """part continuous_w continuous_va surge_va surge_s leg_va leg_surge_va efficiency_pct
        idle_w hz bank_class_v bank_min_v bank_max_v charge_a charge_settable trackers
        tracker_max_v tracker_min_v tracker_top_v tracker_start_v tracker_usable_a tracker_isc_a
        tracker_max_w tracker_usable_w tracker_strings array_max_w array_usable_w max_units
        units_120 units_120_240 units_230 listed weight_kg note""",
    "batteries": """part chemistry class_v nominal_v min_v charge_v capacity_ah usable_pct aged_pct
        daily_pct capacity_pct_per_c round_trip_pct discharge_a peak_a peak_s charge_a
        charge_min_a r_mohm max_series max_parallel coldest_charge_c coldest_discharge_c
        hottest_charge_c hottest_discharge_c listed weight_kg note""",
    "racks": """part mount max_width_mm max_length_mm max_panel_kg per_panel per_row max_row ballast_kg
        heat_c listed weight_kg note""",
    "extras": "part per quantity when weight_kg note",
    "starters": """part kind phases_in makes_phases running_a start_factor start_volts_pct floor_x ramp_s efficiency_pct
        input_power_factor motors volts_min volts_max listed weight_kg note""",
    "tanks": "part volume_l usable_pct footprint_mm note",
    "prices": "part seller price currency min_qty pack stock as_of",
    "sellers": "seller freight",
}
OPTIONAL = """voc_pct_per_c vmp_pct_per_c noct_c bifacial_pct listed note continuous_va leg_va leg_surge_va hz
        tracker_start_v tracker_strings array_max_w array_usable_w units_120 units_120_240
        units_230 weight_kg aged_pct daily_pct capacity_pct_per_c charge_min_a r_mohm
        coldest_discharge_c hottest_charge_c hottest_discharge_c ballast_kg heat_c when min_qty pack stock"""
OPTIONAL_OF_PLANS = """makes_phases start_factor start_volts_pct ramp_s efficiency_pct input_power_factor volts_min
        volts_max usable_pct footprint_mm"""  # batteries always state theirs
LANDED = {"sellers": "freight_per_kg free_over min_order tax_pct", "tanks": "weight_kg"}  # columns


def draw_wishes(draw: Draw, job: dict[str, Any], catalogue: Catalogue, sellers: list[str]) -> None:
    """Adds ceiling, space, allow and on_hand, which speak of the parts."""
    tables, flaw = catalogue.tables, catalogue.flaw
    by_value = sorted(catalogue.value, key=lambda part: catalogue.value[part])
    panel = tables["panels"][0]
    if draw.chance(0.25):  # about the cold volts of the strings that the parts are drawn around
        volts = catalogue.series * float(panel["voc_v"]) * draw.pick([0.9, 1.0, 1.13, 1.17, 1.3, 1.6])
        job["site"]["array_ceiling"] = f"{max(50, math.ceil(volts))} V"
    space: dict[str, Any] = {}
    count = catalogue.pieces[panel["part"]]
    area = float(panel["length_mm"]) * float(panel["width_mm"]) / 1e6
    if draw.chance(0.2):
        space["max_panels"] = max(1, math.ceil(count * draw.uniform(1.0, 1.6)))
    if draw.chance(0.75 if "space" in flaw.values() else 0.2):
        unit, size = draw.pick([("m^2", 1.0), ("ft^2", 0.0929)])
        space["max_area"] = f"{number(count * area * draw.uniform(1.1, 1.7) / size)} {unit}"
    if draw.chance(0.25):
        space["row_max"] = draw.randint(1, 4)
    if draw.chance(0.25):
        space["mounts"] = sorted({tables["racks"][0]["mount"], draw.pick(["roof", "pole", "ground-post"])})
    allow: dict[str, Any] = {}
    if draw.chance(0.2):
        allow["chemistries"] = sorted({tables["batteries"][0]["chemistry"], draw.pick(["lfp", "agm", "gel"])})
    if draw.chance(0.2):
        allow["sellers"] = draw.sample(sellers, len(sellers) - draw.pick([0, 0, 1]))
    barred = [part for part in by_value if flaw[part] == "allowed"]
    if draw.chance(0.05):
        barred.append(draw.pick([part for part in by_value if part not in barred]))
    if barred:
        allow["exclude"] = barred
    if draw.chance(0.8 if "listed" in flaw.values() else 0.1):
        allow["listed_only"] = draw.chance(0.85)
        for name in ("panels", "converters", "batteries", "racks"):
            if draw.chance(0.9):  # not for want of a listed first part
                tables[name][0]["listed"] = "yes"
    on_hand: dict[str, int] = {}
    if draw.chance(0.3):
        for part in draw.sample(by_value, min(len(by_value), draw.randint(1, 3))):
            on_hand[part] = max(1, round(catalogue.pieces[part] * draw.uniform(0.3, 1.2)))
    job |= {name: table for name, table in (("space", space), ("allow", allow), ("on_hand", on_hand)) if table}


def write_table(draw: Draw, folder: Path, name: str, rows: Table, more: str = "") -> None:
    """One CSV file, with `more` columns; now and then with a byte-order mark, a comment, one column more, or fewer
    columns."""
    optional = OPTIONAL.split() + OPTIONAL_OF_PLANS.split() + " ".join(LANDED.values()).split()
    columns = [
        column
        for column in COLUMNS[name].split() + more.split()
        if column not in optional or any(row.get(column) for row in rows) or draw.chance(0.5)
    ]
    if draw.chance(0.1):
        columns.append("shelf_code")
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    if draw.chance(0.15):
        writer.writerow(["# invented parts, for trials"])
    writer.writerow(columns)
    for row in rows:
        if draw.chance(0.04):
            writer.writerow(["# one row left out, later perhaps"] + [""] * (len(columns) - 1))
        writer.writerow([row.get(column, "s1" if column == "shelf_code" else "") for column in columns])
    mark = "\ufeff" if draw.chance(0.1) else ""
    (folder / f"{name}.csv").write_text(mark + text.getvalue(), encoding="utf-8", newline="")


def write_instance(folder: Path, seed: int, *, starters: bool = False, landed: bool = False) -> tuple[Path, Path]:
    """Writes a random small catalogue and a job into `folder`; returns (catalogue folder, job file).

    With `starters` most of them have motors with starters, pumped water with tanks, or both; with `landed` most
    sellers have terms beside their freight. Without them none has, and what a seed draws is what it always was.
    With `landed` some seeds take long (a floor far off, many cheap parts to fill it up with): limit the time of each.
    """
    draw = Draw(seed)
    job = draw_job(draw)
    added = Added(Draw(f"starters {seed}"), job) if starters else None
    read = job_of(job)
    catalogue = Drawn(draw, read, added.demand() if added else demand(read))
    catalogue.panels()
    catalogue.converters()
    catalogue.batteries()
    catalogue.racks()
    catalogue.twin()
    catalogue.extras()
    if added:
        added.put_into(catalogue)
    sellers = draw_prices(draw, catalogue)
    draw_wishes(draw, job, catalogue, sellers)
    if landed:
        draw_landed(Draw(f"landed {seed}"), catalogue, sellers)

    catalog_dir, job_path = folder / "catalog", folder / "job.toml"
    catalog_dir.mkdir(parents=True, exist_ok=True)
    for name, rows in catalogue.tables.items():
        if name != "sellers" or rows:
            write_table(draw, catalog_dir, name, rows, LANDED.get(name, "") if landed else "")
    if draw.chance(0.3):
        job = {"title": job["title"], "catalog": draw.pick(["catalog", "./catalog"])} | job
    job_path.write_text(toml(job), encoding="utf-8")
    if draw.chance(0.2):
        job.setdefault("need", {})["budget"] = draw_budget(draw, catalog_dir, job_path)
        job_path.write_text(toml(job), encoding="utf-8")
    return catalog_dir, job_path


def draw_budget(draw: Draw, catalog_dir: Path, job_path: Path) -> float | int:
    """A budget that is just enough, between two options, ample, a cent too low, or far too low."""
    options = best_distinct(enumerate_nodes(catalog_dir, job_path))
    if not options:
        return draw.randint(500, 3000)
    least, last = float(options[0].total), float(options[-1].total)
    enough = [least, least, (least + last) / 2, last, math.ceil(last), math.ceil(least * 1.5)]
    budgets = [*enough, least - 0.01, least * 0.9]
    budget = round(draw.pick(budgets), 2)
    return int(budget) if budget == int(budget) else budget


def mutate_rows(folder: Path, seed: int) -> None:
    """Shuffles rows and columns of each CSV file of a catalogue folder and ends its lines with CRLF."""
    draw = Draw(seed)
    for path in sorted(folder.glob("*.csv")):
        mark, text = "", path.read_text(encoding="utf-8")
        if text.startswith("\ufeff"):
            mark, text = "\ufeff", text[1:]
        lines = list(csv.reader(io.StringIO(text, newline="")))
        comments = [line for line in lines if line[0].startswith("#")]
        header, *rows = (line for line in lines if not line[0].startswith("#"))
        order = draw.sample(range(len(header)), len(header))
        draw.shuffle(rows)
        new = io.StringIO()
        writer = csv.writer(new, lineterminator="\r\n")
        writer.writerows(comments)
        writer.writerows([[line[place] for place in order] for line in [header, *rows]])
        path.write_text(mark + new.getvalue(), encoding="utf-8", newline="")
