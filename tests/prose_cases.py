"""Tiny catalogues, invented, in each of which one limit alone makes the cheap part lose; and jobs that nothing meets.

One base catalogue with one part a kind and one base job; a case adds a cheaper twin of a part, or changes a few cells
or keys. By hand, for the base: a pump of 960 W (power factor 1) that starts with 3,840 VA for 2 s and uses 4,800 Wh a
day, half of it in daytime; 4.0 sun hours in December; -15 degC and 45 degC; a converter of 80 % and 25 W idle, a
battery of 50 V that gives back 85 %:

- running 960 x 1.25 = 1,200 W; start 3,840 x 1.25 = 4,800 VA
- night 2,400 / 0.8 + 25 x 16 = 3,400 Wh; through the bank 3,400 / 0.85 = 4,000 Wh; day 2,400 / 0.8 + 25 x 8 = 3,200 Wh
- array 1.2 x (3,200 + 4,000) / 4.0 = 2,160 W usable: at 0.8, six panels of 460 W (2,208 W), not five (1,840 W)
- sunless day 4,800 / 0.8 + 25 x 24 = 6,600 Wh, bank 50 V x 200 Ah x 0.8 = 8,000 Wh
- bank lowest 40 V: (1,200 / 0.8 + 25) / 40 = 38.125 A running, (4,800 / 0.8 + 25) / 40 = 150.625 A at the start
- six in series: cold 6 x 50 x 1.12 = 336 V (0.3 % a degree, 40 degrees), of 400 V less 5 % = 380 V; cells at 45 + 24 /
  0.8 = 75 degC: hot 6 x 40 x 0.775 (0.45 % a degree, 50 degrees) = 186 V, less 3 % = 180.42 V, of 170 V; awake 6 x 50
  x 0.85 = 255 V
- seven in series would work at 280 V, over the tracker's 270 V; five at 155 V in heat, below its 170 V
- two strings in parallel 2 x 14 x 1.25 = 35 A, over the tracker's 30 A: six panels it is, and one string

One converter, six panels, one battery, six racks, freight: 1,400 + 6 x 110 + 1,200 + 6 x 30 + 60 = 3,500.00.

``python -m tests.prose_cases`` writes the texts in ``tests/prose`` anew. Read what changed before you commit it: the
figures by hand are in ``tests/test_why_prose.py`` and are not written anew.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path

from catalog.reader import Catalog, read_catalog
from optimizer.answers.answer import Answer, audited
from optimizer.answers.requests import part_named
from optimizer.explain.explanation import beside_pick
from optimizer.explain.resolve import Resolver, Scenario
from optimizer.explain.whole_explanation import explain, part_instead
from optimizer.inputs.job import Job
from optimizer.inputs.job_reader import read_job
from optimizer.search import branch_and_bound
from optimizer.writing.text.pick import page
from optimizer.writing.text.why import why_page
from optimizer.writing.text.why_nothing import why_not_cheaper
from tests.small_files import cells_of, csv_text, write_catalog

FOLDER = Path(__file__).parent / "prose"

CATALOG: Mapping[str, str] = {
    "panels.csv": """\
part,pmax_w,voc_v,vmp_v,isc_a,imp_a,voc_pct_per_c,pmax_pct_per_c,noct_c,length_mm,width_mm,weight_kg,max_system_v,max_fuse_a,listed
pn-a,460,50,40,14,11.5,-0.3,-0.4,44,2000,1000,24,1000,25,yes
""",
    "converters.csv": """\
part,continuous_w,continuous_va,surge_va,surge_s,leg_va,leg_surge_va,efficiency_pct,idle_w,hz,bank_class_v,bank_min_v,bank_max_v,charge_a,charge_settable,trackers,tracker_max_v,tracker_min_v,tracker_top_v,tracker_start_v,tracker_usable_a,tracker_isc_a,tracker_max_w,tracker_usable_w,tracker_strings,array_max_w,max_units,units_120_240,units_230,listed
cv-a,3000,3000,6000,5,,,80,25,50;60,48,40,60,60,yes,1,400,170,270,,30,30,6000,5000,,,1,1,1,yes
""",
    "batteries.csv": """\
part,chemistry,class_v,nominal_v,min_v,charge_v,capacity_ah,usable_pct,daily_pct,aged_pct,round_trip_pct,discharge_a,peak_a,peak_s,charge_a,charge_min_a,r_mohm,max_series,max_parallel,coldest_charge_c,hottest_charge_c,listed
bt-a,lfp,48,50,40,57,200,80,,80,85,100,200,5,50,,20,1,1,0,,yes
""",
    "racks.csv": """\
part,mount,max_width_mm,max_length_mm,max_panel_kg,per_panel,per_row,max_row,listed
rk-a,ground-post,1050,2100,40,1,0,12,yes
""",
    "prices.csv": """\
part,seller,price,currency,stock,as_of
cv-a,depot,1400.00,USD,,2026-10-01
pn-a,depot,110.00,USD,,2026-10-01
bt-a,depot,1200.00,USD,,2026-10-01
rk-a,depot,30.00,USD,,2026-10-01
""",
    "sellers.csv": """\
seller,freight
depot,60.00
mill,40.00
""",
}
FILES = {"cv": "converters.csv", "pn": "panels.csv", "bt": "batteries.csv", "rk": "racks.csv"}

JOB = """\
title = "Paddock well"

[site]
coldest = "-15 degC"
hottest = "45 degC"
sun_hours = [4.6, 5.0, 5.5, 6.0, 6.2, 6.4, 6.5, 6.2, 5.8, 5.2, 4.5, 4.0]
bank_coldest = "25 degC"

[supply]
kind = "230"
hz = 50

[[load]]
name = "pump"
voltage = "230 V"
running = "960 W"
power_factor = 1.0
starting = "3840 VA"
start_time = "2 s"
energy_per_day = "4800 Wh"
daytime = 0.5

[need]
autonomy_days = 1.0
array_to_load = 1.2
"""

# The same energy on a supply of two legs: 3,840 Wh of the pump and 960 Wh of 120 V loads.
TWO_LEGS = (
    JOB.replace('kind = "230"\nhz = 50', 'kind = "120/240"\nhz = 60')
    .replace('"230 V"', '"240 V"')
    .replace('"4800 Wh"', '"3840 Wh"')
)
SMALL_LOAD = """
[[load]]
name = "{name}"
voltage = "120 V"
running = "{watts} W"
power_factor = 1.0
starting = "none"
energy_per_day = "{watt_hours} Wh"
daytime = 0.5
{leg}"""
DARK = JOB.replace("4.5, 4.0]", "4.5, 2.0]")  # December of half the sun: 4,320 W usable asked, twelve panels


def with_loads(job: str, *loads: str) -> str:
    """The job with loads behind its own."""
    return job.replace("\n[need]", "".join(loads) + "\n[need]")


def small_load(name: str, watts: int, watt_hours: int, leg: int | None = None) -> str:
    """A 120 V load."""
    return SMALL_LOAD.format(name=name, watts=watts, watt_hours=watt_hours, leg="" if leg is None else f"leg = {leg}\n")


def with_table(table: str, line: str, job: str = JOB) -> str:
    """The job with a table behind it."""
    return f"{job}\n[{table}]\n{line}\n"


@dataclass(frozen=True)
class Tiny:
    """A tiny catalogue and a job, as texts."""

    files: Mapping[str, str]
    job: str = JOB

    def write(self, folder: Path) -> tuple[Catalog, Job]:
        """Write both and read them back."""
        write_catalog(folder / "catalog", self.files)
        path = folder / "job.toml"
        path.write_text(self.job, encoding="utf-8")
        return read_catalog(folder / "catalog"), read_job(path)

    def priced(self, part: str, price: str) -> Tiny:
        """The same with another price of a part."""
        return Tiny(with_cells(self.files, part, file="prices.csv", price=price), self.job)


def with_cells(files: Mapping[str, str], part: str, file: str = "", **cells: str) -> dict[str, str]:
    """The files with cells of a part's row changed; of its own file where none is named."""
    name = file or FILES[part[:2]]
    rows = cells_of(files[name])
    row = next(row for row in rows if row[0] == part)
    for column, cell in cells.items():
        row[rows[0].index(column)] = cell
    return {**files, name: csv_text(rows)}


def with_twin(
    part: str, price: str, *, files: Mapping[str, str] = CATALOG, seller: str = "depot", stock: str = "", **cells: str
) -> dict[str, str]:
    """The files with a second part of a kind, "cv-b" beside "cv-a": the same but for these cells and its price."""
    name, first = FILES[part[:2]], f"{part[:2]}-a"
    rows = cells_of(files[name])
    own = next(row for row in rows if row[0] == first)
    twin = {**files, name: csv_text([*rows, [part, *own[1:]]])}
    prices = f"{files['prices.csv']}{part},{seller},{price},USD,{stock},2026-10-01\n"
    return {**with_cells(twin, part, **cells), "prices.csv": prices}


# two strings in parallel, which the base's tracker does not survive
TWO_STRINGS = with_cells(CATALOG, "cv-a", tracker_isc_a="40")
# twelve of these stand where six of the others do: as many volts in series, half the power each
HALVES = with_twin("pn-b", "30.00", pmax_w="240", voc_v="25", vmp_v="20", isc_a="15", imp_a="12")

# The base's converter lasts 4,700 VA only, which a starter mends; the pump stands at the end of a long cable.
STARTERS = {
    **with_cells(CATALOG, "cv-a", surge_va="4700"),
    "starters.csv": """\
part,kind,phases_in,running_a,start_factor,floor_x,ramp_s,motors,volts_min,volts_max,listed,weight_kg
st-a,soft,1,20,0.7,1,2,three-wire,,,,2
st-b,soft,1,20,0.6,1,2,three-wire,,,,2
""",
}
STARTERS["prices.csv"] += """\
st-a,depot,90.00,USD,,2026-10-01
st-b,depot,50.00,USD,,2026-10-01
"""
LONG_CABLE = JOB.replace("[need]", 'motor = "three-wire"\ncable_drop = 0.2\n\n[need]')
# 3,000 L at 10 L a minute are the same five hours; a day of them is asked of tanks that give back all they hold
TANKS = {
    **CATALOG,
    "tanks.csv": """\
part,volume_l,usable_pct,footprint_mm
tk-a,2700,100,
""",
}
TANKS["prices.csv"] += """\
tk-a,depot,30.00,USD,,2026-10-01
"""
WATERED = JOB.replace('energy_per_day = "4800 Wh"', 'water_per_day = "3000 L"\nflow = "10 L/min"')

# Each under the limit's name; a second case of one limit has a word behind a point.
LOSES: Mapping[str, Tiny] = {
    "start-volts": Tiny(STARTERS, LONG_CABLE),
    "supply-match": Tiny(with_twin("cv-b", "1100.00", hz="60")),
    "running-power": Tiny(with_twin("cv-b", "1100.00", continuous_w="1150")),
    "running-apparent": Tiny(
        with_twin("cv-b", "1100.00", continuous_w="1250", continuous_va="1450"),
        JOB.replace("power_factor = 1.0", "power_factor = 0.8"),
    ),
    "starting-surge": Tiny(with_twin("cv-b", "1100.00", surge_va="4500")),
    "starting-surge.too-short": Tiny(with_twin("cv-b", "1100.00", surge_s="1.5")),
    "leg-balance": Tiny(
        with_twin("cv-b", "1100.00", leg_surge_va="2800"), with_loads(TWO_LEGS, small_load("kitchen", 400, 960))
    ),
    "charger": Tiny(with_twin("cv-b", "1100.00", charge_a="19")),
    "array-total": Tiny(with_twin("cv-b", "1100.00", array_max_w="2700")),
    "cold-voltage": Tiny(with_twin("cv-b", "1100.00", tracker_max_v="350")),
    "panel-voltage": Tiny(with_twin("pn-b", "90.00", max_system_v="330")),
    "code-voltage": Tiny(
        with_twin("pn-b", "90.00", voc_v="53"), JOB.replace("[supply]", 'array_ceiling = "350 V"\n\n[supply]')
    ),
    "hot-voltage": Tiny(with_twin("cv-b", "1100.00", tracker_min_v="184")),
    "wake-voltage": Tiny(with_twin("cv-b", "1100.00", tracker_start_v="260")),
    "tracker-current": Tiny(with_twin("cv-b", "1100.00", tracker_usable_a="17", tracker_isc_a="17")),
    "tracker-strings": Tiny(with_twin("cv-b", "1100.00", files=TWO_STRINGS, tracker_strings="1"), DARK),
    "fuse-fits": Tiny(with_twin("pn-b", "90.00", files=TWO_STRINGS, max_fuse_a="15"), DARK),
    "bank-series": Tiny(
        with_twin("bt-b", "475.00", class_v="24", nominal_v="25", min_v="20", charge_v="28.5", r_mohm="")
    ),
    "bank-parallel": Tiny(with_twin("bt-b", "475.00", capacity_ah="84")),
    "bank-window": Tiny(with_twin("bt-b", "950.00", charge_v="62")),
    "bank-window.below": Tiny(
        with_twin(
            "bt-b",
            "950.00",
            files=with_cells(with_cells(CATALOG, "cv-a", bank_min_v="48"), "bt-a", r_mohm=""),
            nominal_v="47",
        )  # fmt: skip
    ),
    "bank-temperature": Tiny(
        with_twin("bt-b", "950.00", files=with_cells(CATALOG, "bt-a", coldest_charge_c="-10"), coldest_charge_c="0"),
        JOB.replace("25 degC", "-5 degC"),
    ),
    "bank-freeze": Tiny(
        with_twin(
            "bt-b",
            "950.00",
            files=with_cells(CATALOG, "bt-a", coldest_charge_c="-20"),
            chemistry="agm",
            capacity_ah="400",
            usable_pct="90",
            daily_pct="80",
        ),
        JOB.replace("25 degC", "-9 degC"),
    ),
    "bank-heat": Tiny(with_twin("bt-b", "950.00", hottest_charge_c="40")),
    "discharge-current": Tiny(with_twin("bt-b", "950.00", discharge_a="35")),
    "starting-current": Tiny(with_twin("bt-b", "950.00", peak_a="140")),
    "bank-sag": Tiny(with_twin("bt-b", "950.00", r_mohm="46")),
    "charge-limit": Tiny(with_twin("cv-b", "1100.00", charge_settable="no")),
    "charge-rate": Tiny(with_twin("bt-b", "950.00", charge_a="19")),
    "charge-floor": Tiny(with_twin("bt-b", "950.00", chemistry="flooded", capacity_ah="1000")),
    "night-energy": Tiny(with_twin("bt-b", "950.00", daily_pct="32")),
    "daily-energy": Tiny(with_twin("pn-b", "90.00", pmax_w="440")),
    "autonomy": Tiny(with_twin("bt-b", "950.00", capacity_ah="150")),
    "recovery": Tiny(with_twin("bt-b", "950.00", capacity_ah="300"), JOB + "recover_days = 6\n"),
    "mounting-fit": Tiny(with_twin("rk-b", "22.00", max_width_mm="950")),
    "allowed.chemistry": Tiny(
        with_twin("bt-b", "950.00", chemistry="other"), with_table("allow", 'chemistries = ["lfp"]')
    ),
    "allowed.seller": Tiny(with_twin("bt-b", "900.00", seller="mill"), with_table("allow", 'sellers = ["depot"]')),
    "allowed.mount": Tiny(with_twin("rk-b", "22.00", mount="pole"), with_table("space", 'mounts = ["ground-post"]')),
    "allowed.excluded": Tiny(with_twin("cv-b", "1100.00"), with_table("allow", 'exclude = ["cv-b"]')),
    "space.panels": Tiny(HALVES, with_table("space", "max_panels = 10")),
    "space.area": Tiny(HALVES, with_table("space", 'max_area = "16 m^2"')),
    "water-reserve": Tiny(TANKS, with_table("water", "reserve_days = 1\nmax_tanks = 3", WATERED)),
    "stock": Tiny(with_twin("pn-b", "90.00", stock="5")),
    "listed": Tiny(with_twin("cv-b", "1100.00", listed="no"), with_table("allow", "listed_only = true")),
}

NOTHING: Mapping[str, Tiny] = {
    "budget": Tiny(CATALOG, JOB + "budget = 3400\n"),
    "space": Tiny(with_cells(CATALOG, "cv-a", tracker_min_v="150"), with_table("space", "max_panels = 5")),
    "autonomy": Tiny(CATALOG, JOB.replace("autonomy_days = 1.0", "autonomy_days = 2.0")),
    "leg-balance": Tiny(
        with_cells(CATALOG, "cv-a", leg_va="1000"),
        with_loads(TWO_LEGS, small_load("kitchen", 200, 480, 1), small_load("laundry", 200, 480, 1)),
    ),
    "bank-temperature": Tiny(CATALOG, JOB.replace("25 degC", "-5 degC")),
    "starting-surge": Tiny(with_cells(CATALOG, "cv-a", surge_va="4700")),
    "starting-surge.together": Tiny(
        with_cells(CATALOG, "bt-a", peak_a="210"),
        with_loads(
            JOB.replace("hz = 50", 'hz = 50\nrestart = "together"').replace("4800 Wh", "3840 Wh"),
            small_load("booster", 320, 960).replace("120 V", "230 V").replace('"none"', '"1280 VA"'),
        ),
    ),
    "supply": Tiny(with_cells(CATALOG, "cv-a", units_230="")),
    "phases": Tiny(CATALOG, JOB.replace("[need]", 'motor = "three-phase"\n\n[need]')),
    "well-yield": Tiny(CATALOG, with_table("water", 'well_yield = "2 L/min"', WATERED)),
}

# Two of a kind that both do: prices decide. The second battery comes from a second seller, with freight of its own.
EITHER: Mapping[str, Tiny] = {
    "battery": Tiny(with_twin("bt-b", "1350.00", seller="mill")),
    "panel": Tiny(with_twin("pn-b", "115.00")),
}

# Asked "why --not" of: a part that breaks a limit, one that is dearer, one that is picked.
NOT: Mapping[str, tuple[Tiny, str]] = {
    "breaks-one": (LOSES["starting-surge"], "cv-b"),
    "breaks-two": (Tiny(with_twin("cv-b", "1100.00", surge_va="4500", charge_a="19")), "cv-b"),
    "dearer": (EITHER["battery"], "bt-b"),
    "picked": (EITHER["battery"], "bt-a"),
}


# what the program says ------------------------------------------------------------------------------------------


def explained(catalog: Catalog, job: Job) -> Answer:
    """The answer with its whole explanation."""
    found, resolver = branch_and_bound.pick(catalog, job, 1), Resolver(Scenario(job, catalog))
    return audited(catalog, job, found, explain(resolver, found.bundles[0]))


def beside(catalog: Catalog, job: Job) -> Answer:
    """The answer with what a pick says of itself."""
    found, resolver = branch_and_bound.pick(catalog, job, 1), Resolver(Scenario(job, catalog))
    return audited(catalog, job, found, beside_pick(resolver, found))


def asked_not(catalog: Catalog, job: Job, part: str) -> Answer:
    """The answer to why a part is not in the pick."""
    found, resolver = branch_and_bound.pick(catalog, job, 1), Resolver(Scenario(job, catalog))
    told = part_instead(resolver, found.bundles[0], *part_named(catalog, part))
    return audited(catalog, job, found, told)


def block(text: str, heading: str) -> str:
    """The one block of a page that starts with a heading, up to the next empty line. Raises ValueError."""
    (found,) = [part for part in text.split("\n\n") if part.startswith(heading)]
    return found.rstrip("\n")


def whole_of_losing(pick: Answer, why: Answer) -> str:
    """What is said of a pick beside which something cheaper loses: the blocks, as they are printed."""
    whole = why_page(why)
    parts = [why_not_cheaper(pick), block(whole, "NOTHING UNDER"), block(whole, "WHAT EACH COSTS")]
    return "\n\n".join(parts) + "\n"


def whole_of_nothing(answer: Answer) -> str:
    """From "NO BUNDLE MEETS THIS JOB" to the closing sentence."""
    text = page(answer)
    start, last = text.index("NO BUNDLE MEETS THIS JOB"), "A safety limit is never a way out."
    return text[start : text.index(last) + len(last)] + "\n"


def whole_of_prices(answer: Answer) -> str:
    """What is said of prices."""
    whole = why_page(answer)
    return "\n\n".join([block(whole, "PRICES THAT WOULD CHANGE IT"), block(whole, " not bought")]) + "\n"


def whole_of_not(answer: Answer, part: str) -> str:
    """What is said of a part that is not picked."""
    return block(why_page(answer), f"WHY NOT {part}") + "\n"


def _read(tiny: Tiny) -> tuple[Catalog, Job]:
    with tempfile.TemporaryDirectory() as folder:
        return tiny.write(Path(folder))


@cache
def lost(name: str) -> tuple[Answer, Answer]:
    """The answers of pick and of why in a case in which the cheap part loses."""
    catalog, job = _read(LOSES[name])
    return beside(catalog, job), explained(catalog, job)


@cache
def nothing(name: str) -> Answer:
    """The answer of a case that nothing meets."""
    return beside(*_read(NOTHING[name]))


@cache
def either(name: str) -> Answer:
    """The answer of a case in which prices decide."""
    return explained(*_read(EITHER[name]))


@cache
def refused(name: str) -> Answer:
    """The answer of a case in which a part is asked about."""
    tiny, part = NOT[name]
    return asked_not(*_read(tiny), part)


def _told() -> dict[str, Callable[[], str]]:
    return {
        **{f"loses-{name}.txt": partial(_losing, name) for name in LOSES},
        **{f"nothing-{name}.txt": partial(_nothing, name) for name in NOTHING},
        **{f"prices-{name}.txt": partial(_prices, name) for name in EITHER},
        **{f"not-{name}.txt": partial(_not, name) for name in NOT},
    }


def _losing(name: str) -> str:
    return whole_of_losing(*lost(name))


def _nothing(name: str) -> str:
    return whole_of_nothing(nothing(name))


def _prices(name: str) -> str:
    return whole_of_prices(either(name))


def _not(name: str) -> str:
    return whole_of_not(refused(name), NOT[name][1])


# what the program says in each file of the folder
TEXTS: Mapping[str, Callable[[], str]] = _told()


def main() -> None:
    """Write every text anew."""
    FOLDER.mkdir(exist_ok=True)
    for path in FOLDER.glob("*.txt"):
        if path.name not in TEXTS:
            path.unlink()
    for name, told in TEXTS.items():
        (FOLDER / name).write_text(told(), encoding="utf-8")


if __name__ == "__main__":
    main()
