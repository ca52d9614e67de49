"""Inputs that are larger than any that a person keeps by hand, invented by rule from the small catalogue and job."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from tests.refresh_helpers import SMALL_JOB
from tests.small_files import CATALOG, JOB, cells_of, csv_text, write_catalog

PRICES, SELLERS = "prices.csv", "sellers.csv"
_SITE = JOB[: JOB.index("[[load]]")]
_REST = SMALL_JOB[SMALL_JOB.index("[need]") :]


def write(folder: Path, files: Mapping[str, str], job: str = SMALL_JOB) -> Path:
    """A catalogue and a job beside it; the job's file."""
    write_catalog(folder / "catalog", files)
    (folder / "job.toml").write_text(job, encoding="utf-8")
    return folder / "job.toml"


def unknown_parts(count: int) -> dict[str, str]:
    """A price list of another catalogue: so many of its parts are in no table."""
    rows = "".join(f"zz-{number:05d},north,{100 + number}.00,USD,,,,2026-10-01\n" for number in range(count))
    return {**CATALOG, PRICES: CATALOG[PRICES] + rows}


def many_sellers(count: int, listed: bool = True) -> dict[str, str]:
    """So many sellers more, each with a few of the parts; in the file of sellers, or not."""
    rows = cells_of(CATALOG[PRICES])
    more, sellers = list(rows), cells_of(CATALOG[SELLERS])
    for number in range(count):
        seller = f"seller {number:05d}"
        row = list(rows[1 + number % (len(rows) - 1)])
        row[1], row[2] = seller, f"{float(row[2]) * (0.9 + number % 97 / 400):.2f}"
        more.append(row)
        if listed:
            sellers.append([seller, f"{20 + number % 83}.00"])
    return {**CATALOG, PRICES: csv_text(more), SELLERS: csv_text(sellers)}


def all_sell_all(count: int) -> dict[str, str]:
    """So many sellers that each sell everything, with freight by weight, free freight, least orders and tax."""
    rows = cells_of(CATALOG[PRICES])
    prices, sellers = [rows[0]], [["seller", "freight", "freight_per_kg", "free_over", "min_order", "tax_pct"]]
    for number in range(count):
        seller = f"seller {number:02d}"
        for place, row in enumerate(rows[1:]):
            price = float(row[2]) * (0.9 + (number * 37 + place * 53) % 101 / 500)
            prices.append([row[0], seller, f"{price:.2f}", *row[3:]])
        terms = [f"{60 + number * 7}.00", "", "", "", ""]
        terms[1] = "0.35" if number % 3 == 0 else ""
        terms[2] = f"{900 + 130 * number}.00" if number % 2 == 0 else ""
        terms[3] = f"{150 + 50 * number}.00" if number % 4 == 1 else ""
        terms[4] = f"{number % 5 * 2}" if number % 5 else ""
        sellers.append([seller, *terms])
    return {**with_weights(CATALOG), PRICES: csv_text(prices), SELLERS: csv_text(sellers)}


def with_weights(files: Mapping[str, str]) -> dict[str, str]:
    """The same with a weight of every part."""
    weighed = dict(files)
    for name, text in files.items():
        rows = cells_of(text)
        if name not in (PRICES, SELLERS) and "weight_kg" not in rows[0]:
            rows[0].append("weight_kg")
            for place, row in enumerate(rows[1:]):
                row.append(str(3 + 11 * place))
            weighed[name] = csv_text(rows)
    return weighed


def many_motors(count: int, restart: str = "staggered", more: str = "") -> str:
    """A job with so many motors, no two alike, on both voltages of the supply."""
    loads = []
    for number in range(count):
        volts, amps = ("240 V", 4.0 + number * 0.11) if number % 2 else ("120 V", 3.0 + number * 0.07)
        kind = ("three-wire", "psc", "two-wire")[number % 3]
        loads.append(
            f'[[load]]\nname = "motor {number + 1}"\nvoltage = "{volts}"\nrunning = "{amps:.2f} A"\n'
            f'starting = "{amps * (4 + number % 4 * 0.5):.2f} A"\nmotor = "{kind}"\n'
            f'cable_drop = 0.05\nstart_volts_least = 0.4\nhours_per_day = "30 min"\n{more}'
        )
    need = _REST.replace('max_area = "60 m^2"\n', "")
    return _SITE.replace("staggered", restart) + "\n".join(loads) + "\n" + need


def starters_for_all(count: int) -> dict[str, str]:
    """So many starters that fit every motor, none better than another in all; converters and banks for many motors."""
    files = dict(CATALOG)
    files["converters.csv"] = files["converters.csv"].replace(",5000,4000,2,", ",15000,14000,12,")
    files["batteries.csv"] = files["batteries.csv"].replace(",1,8,0", ",1,60,0")
    for number in range(count):
        part, factor = f"st-{number + 2}", f"{0.45 + 0.05 * number:.2f}"
        files["starters.csv"] += f"{part},soft,1,30,{factor},1.5,,three-wire;psc;two-wire,100,250\n"
        files[PRICES] += f"{part},east,{420 - 40 * number}.00,USD,,,,2026-10-01\n"
    return files
