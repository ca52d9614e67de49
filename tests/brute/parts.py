"""Reads a catalogue folder into plain frozen rows: the units of their columns, defaults filled in."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path

from tests.brute.reading import INFINITE, cents_of

VMP_FALLS_FASTER = 0.05  # %/°C: Vmp falls faster than Pmax, for Imp rises; of a panel that states no coefficient
LEAD_ACID_FADE = 1.2  # %/°C of capacity below 25 °C: no row of IEEE 485's table falls faster down to -7 °C, from memory
ROOF_HEAT_C = 15.0  # common practice, no source


@dataclass(frozen=True)
class Panel:
    part: str
    pmax_w: float
    voc_v: float
    vmp_v: float
    isc_a: float
    voc_pct_per_c: float | None
    pmax_pct_per_c: float
    vmp_pct_per_c: float
    noct_c: float
    bifacial_pct: float
    length_mm: float
    width_mm: float
    weight_kg: float
    max_system_v: float
    max_fuse_a: float
    listed: bool


@dataclass(frozen=True)
class Converter:
    part: str
    continuous_w: float
    continuous_va: float
    surge_va: float
    surge_s: float
    leg_va: float
    leg_surge_va: float
    efficiency: float  # a share, 0 to 1
    idle_w: float
    hz: frozenset[int]  # empty: not stated
    bank_class_v: float
    bank_min_v: float
    bank_max_v: float
    charge_a: float
    charge_settable: bool
    trackers: int
    tracker_max_v: float
    tracker_min_v: float
    tracker_top_v: float
    tracker_start_v: float
    tracker_usable_a: float
    tracker_isc_a: float
    tracker_max_w: float
    tracker_usable_w: float
    tracker_strings: float
    array_max_w: float
    array_usable_w: float
    max_units: int
    units: dict[str, int]  # supply -> how many units make it; a supply that is absent cannot be made
    listed: bool


@dataclass(frozen=True)
class Battery:
    part: str
    chemistry: str
    class_v: float
    nominal_v: float
    min_v: float
    charge_v: float
    capacity_ah: float
    usable_pct: float
    aged_pct: float
    daily_pct: float
    capacity_pct_per_c: float
    round_trip: float  # a share, 0 to 1
    discharge_a: float
    peak_a: float
    peak_s: float
    charge_a: float
    charge_min_a: float
    r_mohm: float | None
    max_series: int
    max_parallel: int
    coldest_charge_c: float
    coldest_discharge_c: float
    hottest_charge_c: float
    hottest_discharge_c: float
    listed: bool


@dataclass(frozen=True)
class Rack:
    part: str
    mount: str
    max_width_mm: float
    max_length_mm: float
    max_panel_kg: float
    per_panel: float
    per_row: float
    max_row: int
    heat_c: float  # by how much the cells of its panels are hotter than those of panels in the open
    listed: bool


@dataclass(frozen=True)
class Extra:
    part: str
    per: str
    quantity: float
    when: str


@dataclass(frozen=True)
class Starter:
    part: str
    kind: str
    phases_in: int
    makes_phases: int
    running_a: float
    start_factor: float  # share of direct starting amps left; infinite of a drive that states none
    start_volts: float  # share of the supply's volts that the motor has while its amps peak
    efficiency: float  # a share, 0 to 1
    input_power_factor: float
    floor_x: float  # never less than this multiple of the running amps
    ramp_s: float
    motors: frozenset[str]
    volts_min: float
    volts_max: float
    listed: bool


@dataclass(frozen=True)
class Tank:
    part: str
    usable_l: float


@dataclass(frozen=True)
class Offer:
    part: str
    seller: str
    cents: int
    min_qty: int
    pack: int
    stock: int | None  # None: this row states none


@dataclass(frozen=True)
class Terms:
    """What a seller asks beside the price and the fixed freight."""

    per_kg: Fraction = Fraction(0)  # cents of freight a kg
    free_over: int | None = None  # cents of goods from which on there is no freight
    min_order: int = 0  # cents of goods
    tax: Fraction = Fraction(0)  # a share of goods and freight


@dataclass(frozen=True)
class Parts:
    panels: list[Panel]
    converters: list[Converter]
    batteries: list[Battery]
    racks: list[Rack]
    extras: list[Extra]
    offers: list[Offer]
    freight: dict[str, int]  # cents
    starters: list[Starter] = field(default_factory=list)
    tanks: list[Tank] = field(default_factory=list)
    terms: dict[str, Terms] = field(default_factory=dict)  # only the sellers that state some
    weights: dict[str, Fraction] = field(default_factory=dict)  # kg a piece; only the parts that state one


class Row:
    """One CSV line by column name; an empty or missing cell is None."""

    def __init__(self, cells: dict[str, str]) -> None:
        self.cells = cells

    def text(self, column: str) -> str | None:
        return self.cells.get(column, "").strip() or None

    def stated(self, column: str) -> str:
        text = self.text(column)
        if text is None:
            raise ValueError(f"{column} is missing in {self.cells}")
        return text

    def number(self, column: str) -> float:
        return float(self.stated(column))

    def maybe(self, column: str) -> float | None:
        text = self.text(column)
        return None if text is None else float(text)

    def number_or(self, column: str, default: float) -> float:
        value = self.maybe(column)
        return default if value is None else value

    def yes(self, column: str) -> bool:
        return self.text(column) == "yes"


def rows_of(path: Path) -> list[Row]:
    """The data rows of a CSV file; comment lines and blank lines are skipped, a missing file has none."""
    if not path.exists():
        return []
    with path.open(encoding="utf-8-sig", newline="") as file:
        lines = [line for line in csv.reader(file) if any(line) and not line[0].lstrip().startswith("#")]
    header = [name.strip() for name in lines[0]]
    return [Row(dict(zip(header, line, strict=False))) for line in lines[1:]]


def panel(row: Row) -> Panel:
    pmax_pct_per_c = row.number("pmax_pct_per_c")
    return Panel(
        part=row.stated("part"),
        pmax_w=row.number("pmax_w"),
        voc_v=row.number("voc_v"),
        vmp_v=row.number("vmp_v"),
        isc_a=row.number("isc_a"),
        voc_pct_per_c=row.maybe("voc_pct_per_c"),
        pmax_pct_per_c=pmax_pct_per_c,
        vmp_pct_per_c=row.number_or("vmp_pct_per_c", pmax_pct_per_c - VMP_FALLS_FASTER),
        noct_c=row.number_or("noct_c", 45.0),
        bifacial_pct=row.number_or("bifacial_pct", 0.0),
        length_mm=row.number("length_mm"),
        width_mm=row.number("width_mm"),
        weight_kg=row.number("weight_kg"),
        max_system_v=row.number("max_system_v"),
        max_fuse_a=row.number("max_fuse_a"),
        listed=row.yes("listed"),
    )


def converter(row: Row) -> Converter:
    continuous_w = row.number("continuous_w")
    continuous_va = row.number_or("continuous_va", continuous_w)
    surge_va = row.number("surge_va")
    trackers = int(row.number("trackers"))
    tracker_min_v = row.number("tracker_min_v")
    tracker_max_w = row.number("tracker_max_w")
    tracker_usable_w = row.number("tracker_usable_w")
    columns = {"120": "units_120", "120/240": "units_120_240", "230": "units_230"}
    counts = {supply: row.maybe(column) for supply, column in columns.items()}
    return Converter(
        part=row.stated("part"),
        continuous_w=continuous_w,
        continuous_va=continuous_va,
        surge_va=surge_va,
        surge_s=row.number("surge_s"),
        leg_va=row.number_or("leg_va", continuous_va / 2),
        leg_surge_va=row.number_or("leg_surge_va", surge_va / 2),
        efficiency=row.number("efficiency_pct") / 100,
        idle_w=row.number("idle_w"),
        hz=frozenset(int(one) for one in (row.text("hz") or "").split(";") if one.strip()),
        bank_class_v=row.number("bank_class_v"),
        bank_min_v=row.number("bank_min_v"),
        bank_max_v=row.number("bank_max_v"),
        charge_a=row.number("charge_a"),
        charge_settable=row.yes("charge_settable"),
        trackers=trackers,
        tracker_max_v=row.number("tracker_max_v"),
        tracker_min_v=tracker_min_v,
        tracker_top_v=row.number("tracker_top_v"),
        tracker_start_v=row.number_or("tracker_start_v", tracker_min_v),
        tracker_usable_a=row.number("tracker_usable_a"),
        tracker_isc_a=row.number("tracker_isc_a"),
        tracker_max_w=tracker_max_w,
        tracker_usable_w=tracker_usable_w,
        tracker_strings=row.number_or("tracker_strings", INFINITE),
        array_max_w=row.number_or("array_max_w", trackers * tracker_max_w),
        array_usable_w=row.number_or("array_usable_w", trackers * tracker_usable_w),
        max_units=int(row.number("max_units")),
        units={supply: int(count) for supply, count in counts.items() if count is not None},
        listed=row.yes("listed"),
    )


def battery(row: Row) -> Battery:
    chemistry = row.stated("chemistry")
    lead = chemistry in ("agm", "gel", "flooded")
    usable_pct = row.number("usable_pct")
    capacity_ah = row.number("capacity_ah")
    return Battery(
        part=row.stated("part"),
        chemistry=chemistry,
        class_v=row.number("class_v"),
        nominal_v=row.number("nominal_v"),
        min_v=row.number("min_v"),
        charge_v=row.number("charge_v"),
        capacity_ah=capacity_ah,
        usable_pct=usable_pct,
        aged_pct=row.number_or("aged_pct", 80.0),
        daily_pct=row.number_or("daily_pct", 25.0 if lead else usable_pct),
        capacity_pct_per_c=row.number_or(
            "capacity_pct_per_c", LEAD_ACID_FADE if lead else 0.5 if chemistry == "lfp" else 1.0
        ),
        round_trip=row.number("round_trip_pct") / 100,
        discharge_a=row.number("discharge_a"),
        peak_a=row.number("peak_a"),
        peak_s=row.number("peak_s"),
        charge_a=row.number("charge_a"),
        charge_min_a=row.number_or("charge_min_a", 0.05 * capacity_ah if lead else 0.0),
        r_mohm=row.maybe("r_mohm"),
        max_series=int(row.number("max_series")),
        max_parallel=int(row.number("max_parallel")),
        coldest_charge_c=row.number("coldest_charge_c"),
        coldest_discharge_c=row.number_or("coldest_discharge_c", -40.0 if lead else -20.0),
        hottest_charge_c=row.number_or("hottest_charge_c", 50.0),
        hottest_discharge_c=row.number_or("hottest_discharge_c", 55.0 if chemistry == "lfp" else 50.0),
        listed=row.yes("listed"),
    )


def rack(row: Row) -> Rack:
    mount = row.stated("mount")
    return Rack(
        part=row.stated("part"),
        mount=mount,
        max_width_mm=row.number("max_width_mm"),
        max_length_mm=row.number("max_length_mm"),
        max_panel_kg=row.number("max_panel_kg"),
        per_panel=row.number("per_panel"),
        per_row=row.number("per_row"),
        max_row=int(row.number("max_row")),
        heat_c=row.number_or("heat_c", ROOF_HEAT_C if mount == "roof" else 0.0),
        listed=row.yes("listed"),
    )


def share_of_volts(row: Row, kind: str) -> float:
    """What a starter leaves of the volts while the motor's amps peak; a drive raises them with the hertz."""
    stated = row.maybe("start_volts_pct")
    if stated is not None:
        return stated / 100
    if kind == "drive":
        return 1.0
    if kind == "star-delta":
        return math.sqrt(1 / 3)
    factor = row.number("start_factor")
    return math.sqrt(factor) if kind == "tap" else factor


def starter(row: Row) -> Starter:
    kind, phases_in = row.stated("kind"), int(row.number("phases_in"))
    drive = kind == "drive"
    return Starter(
        part=row.stated("part"),
        kind=kind,
        phases_in=phases_in,
        makes_phases=int(row.number_or("makes_phases", phases_in)),
        running_a=row.number("running_a"),
        start_factor=row.number_or("start_factor", INFINITE) if drive else row.number("start_factor"),
        start_volts=share_of_volts(row, kind),
        efficiency=row.number_or("efficiency_pct", 95.0 if drive else 100.0) / 100,
        input_power_factor=row.number_or("input_power_factor", 1.0 if not drive else 0.65 if phases_in == 1 else 0.90),
        floor_x=row.number("floor_x"),
        ramp_s=row.number_or("ramp_s", 3.0),
        motors=frozenset(kind.strip() for kind in row.stated("motors").split(";") if kind.strip()),
        volts_min=row.number_or("volts_min", 0.0),
        volts_max=row.number_or("volts_max", INFINITE),
        listed=row.yes("listed"),
    )


def tank(row: Row) -> Tank:
    return Tank(row.stated("part"), row.number("volume_l") * row.number_or("usable_pct", 95.0) / 100)


def offer(row: Row) -> Offer:
    stock = row.maybe("stock")
    return Offer(
        part=row.stated("part"),
        seller=row.stated("seller"),
        cents=cents_of(row.stated("price")),
        min_qty=int(row.number_or("min_qty", 1)),
        pack=int(row.number_or("pack", 1)),
        stock=None if stock is None else int(stock),
    )


def terms(row: Row) -> Terms:
    free_over = row.text("free_over")
    return Terms(
        per_kg=Fraction(row.text("freight_per_kg") or 0) * 100,
        free_over=None if free_over is None else cents_of(free_over),
        min_order=cents_of(row.text("min_order") or "0"),
        tax=Fraction(row.text("tax_pct") or 0) / 100,
    )


def read_parts(folder: Path, prices: Path | None = None) -> Parts:
    """The catalogue in `folder`; `prices` is a price list that takes the place of its prices.csv."""
    sellers = rows_of(folder / "sellers.csv")
    return Parts(
        panels=[panel(row) for row in rows_of(folder / "panels.csv")],
        converters=[converter(row) for row in rows_of(folder / "converters.csv")],
        batteries=[battery(row) for row in rows_of(folder / "batteries.csv")],
        racks=[rack(row) for row in rows_of(folder / "racks.csv")],
        extras=[
            Extra(row.stated("part"), row.stated("per"), row.number("quantity"), row.text("when") or "always")
            for row in rows_of(folder / "extras.csv")
        ],
        offers=[offer(row) for row in rows_of(prices or folder / "prices.csv")],
        freight={row.stated("seller"): cents_of(row.stated("freight")) for row in sellers},
        starters=[starter(row) for row in rows_of(folder / "starters.csv")],
        tanks=[tank(row) for row in rows_of(folder / "tanks.csv")],
        terms={row.stated("seller"): terms(row) for row in sellers if terms(row) != Terms()},
        weights={
            row.stated("part"): Fraction(row.stated("weight_kg"))
            for name in ("panels", "converters", "batteries", "racks", "extras", "starters", "tanks")
            for row in rows_of(folder / f"{name}.csv")
            if row.text("weight_kg")
        },
    )


def with_prices(parts: Parts, change: Callable[[str, str, int], int]) -> Parts:
    """The same parts, each offer at `change(part, seller, cents)` cents a piece."""
    offers = [replace(one, cents=change(one.part, one.seller, one.cents)) for one in parts.offers]
    for one in offers:
        if one.cents < 0:
            raise ValueError(f"{one.part} of {one.seller}: {one.cents} cents, expected 0 or more")
    return replace(parts, offers=offers)
