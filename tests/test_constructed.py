"""Catalogues built around a bundle that is known to be the best, its total worked out by hand.

A pump of 1,000 W (power factor 1) that starts with 4,000 VA for 2 s; reserves of 0.25; 4 kWh a day, half of it in
daytime; 4 sun hours; -15 degC and 45 degC. By hand, with a converter of 80 % and 25 W idle and a battery of 50 V that
gives back 80 %:

- running 1,000 x 1.25 = 1,250 W; start 4,000 x 1.25 = 5,000 VA
- night 2,000 / 0.8 + 25 x 16 = 2,900 Wh; through the bank 2,900 / 0.8 = 3,625 Wh; day 2,000 / 0.8 + 25 x 8 = 2,700 Wh
- array 1.2 x (2,700 + 3,625) / 4 = 1,897.5 W usable: at 0.8, six panels of 400 W (1,920 W), not five (1,600 W)
- sunless day 4,000 / 0.8 + 25 x 24 = 5,600 Wh; bank lowest 40 V: (1,250 / 0.8 + 25) / 40 = 39.6875 A and
  (5,000 / 0.8 + 25) / 40 = 156.875 A
- six in series: cold 6 x 50 x 1.16 = 348 V (0.4 % a degree, 40 degrees); cells at 45 + 24 / 0.8 = 75 degC: hot
  6 x 42 x 0.775 = 195.3 V (0.45 % a degree, 50 degrees), awake 6 x 50 x 0.8 = 240 V

One of each, six panels, six racks: 1,000 + 6 x 100 + 1,500 + 6 x 20 + freight 75 = 3,295.00.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from catalog.reader import Catalog, read_catalog
from optimizer.auditor.audit import audit
from optimizer.bundles.bundle import Bundle
from optimizer.inputs.job import Job
from optimizer.inputs.job_reader import read_job
from optimizer.search.branch_and_bound import Status, pick

TOTAL = 329_500  # cents, as above
MISSED = 1e-6  # a part in a million

Row = dict[str, object]

PARTS: Mapping[str, Row] = {
    "converter": {
        "continuous_w": 5000, "continuous_va": 5000, "surge_va": 10000, "surge_s": 5, "efficiency_pct": 80,
        "idle_w": 25, "hz": "50;60", "bank_class_v": 48, "bank_min_v": 40, "bank_max_v": 64, "charge_a": 100,
        "charge_settable": "yes", "trackers": 1, "tracker_max_v": 480, "tracker_min_v": 170, "tracker_top_v": 400,
        "tracker_start_v": 180, "tracker_usable_a": 15, "tracker_isc_a": 30, "tracker_max_w": 5000,
        "tracker_usable_w": 2390, "max_units": 2, "units_230": 1, "units_120_240": 1,
    },
    "panel": {
        "pmax_w": 400, "voc_v": 50, "vmp_v": 42, "isc_a": 10, "imp_a": 9.5, "voc_pct_per_c": -0.4,
        "pmax_pct_per_c": -0.4, "noct_c": 44, "length_mm": 2000, "width_mm": 1100, "weight_kg": 22,
        "max_system_v": 1000, "max_fuse_a": 25,
    },
    "battery": {
        "chemistry": "lfp", "class_v": 48, "nominal_v": 50, "min_v": 40, "charge_v": 57, "capacity_ah": 200,
        "usable_pct": 80, "daily_pct": 80, "aged_pct": 80, "round_trip_pct": 80, "discharge_a": 100, "peak_a": 400,
        "peak_s": 5, "charge_a": 100, "charge_min_a": 0, "max_series": 1, "max_parallel": 4, "coldest_charge_c": 0,
    },
    "rack": {
        "mount": "ground-post", "max_width_mm": 1300, "max_length_mm": 2400, "max_panel_kg": 40, "per_panel": 1,
        "per_row": 0, "max_row": 12,
    },
}  # fmt: skip
FILES = {"converter": "converters", "panel": "panels", "battery": "batteries", "rack": "racks"}
PRICE = {"converter": 100_000, "panel": 10_000, "battery": 150_000, "rack": 2_000}  # cents
PIECES = {"converter": 1, "panel": 6, "battery": 1, "rack": 6}  # of the known bundle

JOB: Mapping[str, Row] = {
    "site": {
        "coldest": "-15 degC", "hottest": "45 degC", "sun_hours": 4.0, "bank_coldest": "25 degC", "rear_light": 0.0,
        "array_factor": 0.8,
    },
    "supply": {"kind": "230", "hz": 50},
    "load": {
        "name": "pump", "voltage": "230 V", "running": "1000 W", "power_factor": 1.0, "starting": "4000 VA",
        "start_time": "2 s", "energy_per_day": "4000 Wh", "daytime": 0.5,
    },
    "need": {"autonomy_days": 1.0, "array_to_load": 1.2},
    "reserve": {"running": 0.25, "starting": 0.25, "voltage": 0.04, "hot_voltage": 0.04},
    "space": {},
    "allow": {},
}  # fmt: skip

Offers = Sequence[tuple[str, str, int, int, int, int | None]]  # part, seller, cents, least quantity, pack, stock


def csv_of(rows: Sequence[Mapping[str, object]]) -> str:
    """Rows as CSV text with every column that any of them has."""
    columns = list(dict.fromkeys(name for row in rows for name in row))
    lines = [columns, *([str(row.get(name, "")) for name in columns] for row in rows)]
    return "\n".join(map(",".join, lines))


def write(
    folder: Path, parts: Mapping[str, Sequence[Row]], offers: Offers, freight: Mapping[str, int],
    job: Mapping[str, Row] = JOB, extras: Sequence[Row] = (),
) -> tuple[Catalog, Job]:  # fmt: skip
    """Write a catalogue and a job and read them back; ``freight`` in cents."""
    catalog = folder / "catalog"
    catalog.mkdir(parents=True)
    for kind, rows in parts.items():
        (catalog / f"{FILES[kind]}.csv").write_text(csv_of(rows))
    if extras:
        (catalog / "extras.csv").write_text(csv_of(extras))
    prices = [
        {"part": part, "seller": seller, "price": f"{cents / 100:.2f}", "currency": "USD", "min_qty": least,
         "pack": pack, "stock": "" if stock is None else stock, "as_of": "2026-10-01"}
        for part, seller, cents, least, pack, stock in offers
    ]  # fmt: skip
    (catalog / "prices.csv").write_text(csv_of(prices))
    sellers = [{"seller": seller, "freight": f"{cents / 100:.2f}"} for seller, cents in freight.items()]
    (catalog / "sellers.csv").write_text(csv_of(sellers))
    text = ['title = "Constructed"']
    for table, keys in job.items():
        text.append(f"[[{table}]]" if table == "load" else f"[{table}]")
        text += [f"{key} = {toml(value)}" for key, value in keys.items()]
    (folder / "job.toml").write_text("\n".join(text))
    return read_catalog(catalog), read_job(folder / "job.toml")


def toml(value: object) -> str:
    if isinstance(value, str):
        return f'"{value}"'
    return str(value).lower() if isinstance(value, bool) else str(value)


def changed_job(changes: Mapping[str, Row]) -> dict[str, Row]:
    return {table: {**keys, **changes.get(table, {})} for table, keys in JOB.items()}


def only(catalog: Catalog, job: Job) -> Bundle:
    """The cheapest bundle, proven and audited."""
    found = pick(catalog, job, 1)
    assert found.status == Status.PROVEN and found.proven == (True,)
    assert audit(job, found.bundles[0], catalog).passes
    return found.bundles[0]


def cents_of(bundle: Bundle) -> int:
    assert bundle.order is not None
    return bundle.order.cents


# decoys that miss one limit by a part in a million ---------------------------------------------------------------


@dataclass(frozen=True)
class Edge:
    """The known part meets ``limit`` exactly by ``exact`` in ``column``; ``more`` where more of it would miss."""

    limit: str
    kind: str
    column: str
    exact: float
    more: bool = False
    parts: Mapping[str, Row] = field(default_factory=dict)  # what stands otherwise in every part of a kind
    job: Mapping[str, Row] = field(default_factory=dict)

    @property
    def missed(self) -> float:
        """Just beyond the limit, on the wrong side."""
        return self.exact * (1 + MISSED if self.more else 1 - MISSED)


LEAD: Row = {"chemistry": "agm"}
LEGS: Mapping[str, Row] = {"supply": {"kind": "120/240", "hz": 60}, "load": {"voltage": "240 V"}}
# two in series, so three strings on the one tracker
THREE_STRINGS: Mapping[str, Row] = {
    "converter": {"tracker_min_v": 60, "tracker_start_v": 60, "tracker_top_v": 100, "tracker_max_v": 125,
                  "tracker_usable_a": 40, "tracker_isc_a": 60},
}  # fmt: skip

EDGES = (
    Edge("running-power", "converter", "continuous_w", 1250, parts={"converter": {"continuous_va": 2000}}),
    Edge("running-apparent", "converter", "continuous_va", 1562.5, parts={"converter": {"continuous_w": 1300}},
         job={"load": {"power_factor": 0.8}}),
    Edge("starting-surge", "converter", "surge_va", 5000, parts={"converter": {"continuous_va": 4000,
                                                                            "continuous_w": 4000}}),
    Edge("starting-surge", "converter", "surge_s", 2, parts={"converter": {"continuous_va": 4000,
                                                                        "continuous_w": 4000}}),
    # half of a load across is on each leg: 1,250 / 2 and 5,000 / 2 VA
    Edge("leg-balance", "converter", "leg_va", 625, parts={"converter": {"leg_surge_va": 2600}}, job=LEGS),
    Edge("leg-balance", "converter", "leg_surge_va", 2500, parts={"converter": {"leg_va": 2000}}, job=LEGS),
    Edge("charger", "converter", "charge_a", 18.125),  # 3,625 Wh / (50 V x 4 h)
    Edge("array-total", "converter", "array_max_w", 2400),
    Edge("cold-voltage", "converter", "tracker_max_v", 362.5, parts={"converter": {"tracker_top_v": 300}}),  # 348/0.96
    Edge("panel-voltage", "panel", "max_system_v", 348),
    Edge("code-voltage", "panel", "voc_v", 50, more=True, job={"site": {"array_ceiling": "348 V"}}),
    Edge("hot-voltage", "converter", "tracker_min_v", 187.488, more=True,
         parts={"converter": {"tracker_start_v": 200}}),  # 195.3 x 0.96
    Edge("wake-voltage", "converter", "tracker_start_v", 240, more=True),
    Edge("tracker-range", "converter", "tracker_top_v", 252),
    Edge("tracker-current", "converter", "tracker_isc_a", 12.5,
         parts={"converter": {"tracker_usable_a": 12}}),  # 10 x 1.25
    Edge("tracker-power", "converter", "tracker_max_w", 2400),
    # three strings of 10 A on one tracker are fused: 1.25 x 1.25 x 10 = 15.625, so 16 A, and where supplies have 60 Hz
    # 20 A
    Edge("fuse-fits", "panel", "max_fuse_a", 16, parts=THREE_STRINGS),
    Edge("fuse-fits", "panel", "max_fuse_a", 20, parts=THREE_STRINGS, job={"supply": {"hz": 60}}),
    Edge("bank-window", "battery", "charge_v", 64, more=True),
    Edge("bank-window", "converter", "bank_min_v", 50, more=True),
    Edge("bank-temperature", "battery", "coldest_charge_c", 25, more=True),
    # drained to 80 % its acid freezes at -13 degC, deeper at -8; 50 V x 300 Ah x 0.8 x (1 - 0.012 x 38) = 6,528 Wh
    Edge("bank-freeze", "battery", "usable_pct", 80, more=True,
         parts={"battery": {**LEAD, "capacity_ah": 300, "coldest_charge_c": -20}},
         job={"site": {"bank_coldest": "-13 degC"}}),
    Edge("bank-heat", "battery", "hottest_charge_c", 45),
    Edge("bank-heat", "battery", "hottest_discharge_c", 30, job={"site": {"bank_hottest": "30 degC"}}),
    Edge("discharge-current", "battery", "discharge_a", 39.6875),
    Edge("starting-current", "battery", "peak_a", 156.875),
    Edge("starting-current", "battery", "peak_s", 2),
    # 50 V - 156.875 A x 1.5 x r = 40 V
    Edge("bank-sag", "battery", "r_mohm", 10_000 / (156.875 * 1.5), more=True),
    Edge("charge-limit", "battery", "charge_a", 100, parts={"converter": {"charge_settable": "no"}}),
    Edge("charge-rate", "battery", "charge_a", 18.125),
    Edge("charge-floor", "converter", "charge_a", 20, parts={"battery": {**LEAD, "charge_min_a": 20}}),
    Edge("charge-floor", "battery", "charge_min_a", 38.4, more=True, parts={"battery": LEAD}),  # 1,920 W / 50 V
    Edge("night-energy", "battery", "daily_pct", 29),  # 2,900 of 10,000 Wh
    Edge("autonomy", "battery", "capacity_ah", 140),  # 5,600 Wh / (50 V x 0.8)
    Edge("daily-energy", "panel", "pmax_w", 395.3125),  # 1,897.5 W / 6 / 0.8
    Edge("daily-energy", "converter", "array_usable_w", 1897.5),
    Edge("mounting-fit", "rack", "max_width_mm", 1100),
    Edge("mounting-fit", "rack", "max_length_mm", 2000),
    Edge("mounting-fit", "rack", "max_panel_kg", 22),
    Edge("space", "panel", "width_mm", 1100, more=True, job={"space": {"max_area": "13.2 m^2"}}),
)  # fmt: skip
# columns of which a reading has no figure: seconds and fuses go in steps, and a bank's window is read at its upper end
STEPS = {"surge_s", "peak_s", "max_fuse_a", "bank_min_v"}
BY_EDGE = pytest.mark.parametrize("edge", EDGES, ids=lambda edge: f"{edge.limit}-{edge.column}")


def at_an_edge(folder: Path, edge: Edge, decoy: float) -> tuple[Catalog, Job]:
    """The known part meets the limit exactly; a decoy, a cent cheaper a piece, has ``decoy`` in that column."""
    parts: dict[str, list[Row]] = {}
    offers = []
    for kind, figures in PARTS.items():
        row = {"part": f"{kind}-known", **figures, **edge.parts.get(kind, {})}
        if kind == edge.kind:
            row[edge.column] = edge.exact
        parts[kind] = [row]
        offers.append((f"{kind}-known", "shop", PRICE[kind], 1, 1, None))
    parts[edge.kind].append({**parts[edge.kind][0], "part": "a-decoy", edge.column: repr(decoy)})
    offers.append(("a-decoy", "shop", PRICE[edge.kind] - 1, 1, 1, None))
    return write(folder, parts, offers, {"shop": 7_500}, changed_job(edge.job))


@BY_EDGE
def test_a_cheaper_part_that_misses_a_limit_by_a_millionth_is_not_taken(tmp_path: Path, edge: Edge) -> None:
    catalog, job = at_an_edge(tmp_path, edge, edge.missed)
    bundle = only(catalog, job)
    assert bundle.models == {kind: f"{kind}-known" for kind in PARTS}
    assert cents_of(bundle) == TOTAL
    reading = audit(job, bundle, catalog).reading(edge.limit)
    if edge.column not in STEPS:
        assert reading.value == pytest.approx(reading.allowed, rel=1e-9)  # the known bundle meets it exactly


@BY_EDGE
def test_the_same_part_is_taken_once_it_meets_the_limit_exactly(tmp_path: Path, edge: Edge) -> None:
    """So it is this limit, and nothing else, that keeps the decoy out."""
    bundle = only(*at_an_edge(tmp_path, edge, edge.exact))
    assert bundle.models[edge.kind] == "a-decoy"
    assert cents_of(bundle) == TOTAL - PIECES[edge.kind]


# equal parts, one of them cheaper ----------------------------------------------------------------------------------


@pytest.mark.parametrize("place", [0, 7, 19])
@pytest.mark.parametrize("kind", list(PARTS))
def test_one_of_twenty_equal_parts_is_cheaper_by_a_cent(tmp_path: Path, kind: str, place: int) -> None:
    parts: dict[str, list[Row]] = {each: [{"part": f"{each}-known", **PARTS[each]}] for each in PARTS}
    parts[kind] = [{"part": f"{kind}-{number:02}", **PARTS[kind]} for number in range(20)]
    offers = [
        (str(row["part"]), "shop", PRICE[each] - (each == kind and number == place), 1, 1, None)
        for each, rows in parts.items()
        for number, row in enumerate(rows)
    ]
    bundle = only(*write(tmp_path, parts, offers, {"shop": 7_500}))
    assert bundle.models[kind] == f"{kind}-{place:02}"
    assert cents_of(bundle) == TOTAL - PIECES[kind]


def test_each_kind_has_one_cheaper_among_many(tmp_path: Path) -> None:
    """Fifteen of each kind, so 50,625 combinations of equal parts; a cent less a piece in one of each."""
    best = {"converter": 11, "panel": 3, "battery": 14, "rack": 6}
    parts: dict[str, list[Row]] = {
        kind: [{"part": f"{kind}-{number:02}", **PARTS[kind]} for number in range(15)] for kind in PARTS
    }
    offers = [
        (str(row["part"]), "shop", PRICE[kind] - (number == best[kind]), 1, 1, None)
        for kind, rows in parts.items()
        for number, row in enumerate(rows)
    ]
    bundle = only(*write(tmp_path, parts, offers, {"shop": 7_500}))
    assert bundle.models == {kind: f"{kind}-{number:02}" for kind, number in best.items()}
    assert cents_of(bundle) == TOTAL - 14


# money -------------------------------------------------------------------------------------------------------------


def plain(panel: Offers) -> Iterator[tuple[str, str, int, int, int, int | None]]:
    """The known bundle's offers, with these of the panel."""
    for kind in PARTS:
        if kind != "panel":
            yield (f"{kind}-known", "shop", PRICE[kind], 1, 1, None)
    yield from panel


KNOWN = "panel-known"
MONEY: Mapping[str, tuple[Offers, Mapping[str, int], int, dict[str, int]]] = {
    # ten at 59.99 cost a cent a piece less than six at 100.00, so ten are bought
    "more than needed, from a number up": (
        [(KNOWN, "shop", 10_000, 1, 1, None), (KNOWN, "shop", 5_999, 10, 1, None)], {}, TOTAL - 10, {"shop": 10},
    ),
    "not quite cheap enough from a number up": (
        [(KNOWN, "shop", 10_000, 1, 1, None), (KNOWN, "shop", 6_001, 10, 1, None)], {}, TOTAL, {"shop": 6},
    ),
    # two packs of four at 74.99 a piece: 599.92
    "whole packs": ([(KNOWN, "shop", 7_499, 1, 4, None)], {}, TOTAL - 8, {"shop": 8}),
    # four in a pack at 90.00 and two single: 560.00
    "a pack and single ones": (
        [(KNOWN, "shop", 10_000, 1, 1, None), (KNOWN, "shop", 9_000, 1, 4, None)], {}, TOTAL - 4_000, {"shop": 6},
    ),
    # six at 90.00 and freight 59.99
    "another seller's freight pays": (
        [(KNOWN, "shop", 10_000, 1, 1, None), (KNOWN, "barn", 9_000, 1, 1, None)], {"barn": 5_999}, TOTAL - 1,
        {"barn": 6},
    ),
    "another seller's freight does not pay": (
        [(KNOWN, "shop", 10_000, 1, 1, None), (KNOWN, "barn", 9_000, 1, 1, None)], {"barn": 6_001}, TOTAL, {"shop": 6},
    ),
    # four in stock at 80.00, two more elsewhere: 320.00 + 200.00 + freight 10.00
    "a stock that runs out": (
        [(KNOWN, "shop", 10_000, 1, 1, None), (KNOWN, "barn", 8_000, 1, 1, 4)], {"barn": 1_000}, TOTAL - 7_000,
        {"barn": 4, "shop": 2},
    ),
    # three rows of one seller share a stock of six: the price from seven up can never be had
    "a stock shared by two rows": (
        [(KNOWN, "shop", 10_000, 1, 1, 6), (KNOWN, "shop", 9_999, 6, 1, 6), (KNOWN, "shop", 1_000, 7, 1, 6)], {},
        TOTAL - 6, {"shop": 6},
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", MONEY)
def test_the_cheapest_way_to_buy_six_panels(tmp_path: Path, name: str) -> None:
    panel, freight, total, bought = MONEY[name]
    parts = {kind: [{"part": f"{kind}-known", **figures}] for kind, figures in PARTS.items()}
    bundle = only(*write(tmp_path, parts, list(plain(panel)), {"shop": 7_500, **freight}))
    assert cents_of(bundle) == total
    assert bundle.order is not None
    quantities: Counter[str] = Counter()
    for purchase in bundle.order.purchases:
        if purchase.part == KNOWN:
            for line in purchase.lines:
                quantities[line.seller] += line.quantity
    assert quantities == bought


def test_what_is_on_hand_outweighs_a_cheaper_part(tmp_path: Path) -> None:
    """Five panels are there: the sixth costs 100.00; six of the decoy at 20.00 would be 120.00."""
    parts: dict[str, list[Row]] = {kind: [{"part": f"{kind}-known", **figures}] for kind, figures in PARTS.items()}
    parts["panel"].append({"part": "a-decoy", **PARTS["panel"]})
    offers = list(plain([(KNOWN, "shop", 10_000, 1, 1, None), ("a-decoy", "shop", 2_000, 1, 1, None)]))
    job: dict[str, Row] = {**changed_job({}), "on_hand": {KNOWN: 5}}
    bundle = only(*write(tmp_path, parts, offers, {"shop": 7_500}, job))
    assert bundle.models["panel"] == KNOWN
    assert cents_of(bundle) == TOTAL - 50_000


def test_extras_decide_between_equal_parts(tmp_path: Path) -> None:
    """Two blocks of 24 V cost 2.00 less than one of 48 V, but each battery takes a lug of 2.01."""
    parts: dict[str, list[Row]] = {kind: [{"part": f"{kind}-known", **figures}] for kind, figures in PARTS.items()}
    half = {**PARTS["battery"], "class_v": 24, "nominal_v": 25, "min_v": 20, "charge_v": 28.5, "max_series": 2}
    parts["battery"].append({"part": "a-block", **half})
    offers = [
        *plain([(KNOWN, "shop", 10_000, 1, 1, None)]), ("a-block", "shop", 74_900, 1, 1, None),
        ("lug", "shop", 201, 1, 1, None),
    ]  # fmt: skip
    extras: list[Row] = [{"part": "lug", "per": "battery", "quantity": 1, "when": "always"}]
    bundle = only(*write(tmp_path / "dear", parts, offers, {"shop": 7_500}, extras=extras))
    assert bundle.models["battery"] == "battery-known"
    assert cents_of(bundle) == TOTAL + 201
    offers[-1] = ("lug", "shop", 199, 1, 1, None)
    bundle = only(*write(tmp_path / "cheap", parts, offers, {"shop": 7_500}, extras=extras))
    assert bundle.models["battery"] == "a-block"
    assert cents_of(bundle) == TOTAL - 200 + 2 * 199


def test_fuses_decide_between_equal_panels(tmp_path: Path) -> None:
    """Three strings of 10 A push 25 A into a fourth: a panel for 25 A needs no fuse, one a millionth below needs one
    in each string, at 2.01; that is more than the 6 x 1.00 by which it is cheaper."""
    parts: dict[str, list[Row]] = {
        kind: [{"part": f"{kind}-known", **figures, **THREE_STRINGS.get(kind, {})}] for kind, figures in PARTS.items()
    }
    parts["panel"].append({"part": "a-decoy", **PARTS["panel"], "max_fuse_a": repr(25 * (1 - MISSED))})
    for cents, model, total in ((201, KNOWN, TOTAL), (199, "a-decoy", TOTAL - 600 + 3 * 199)):
        offers = [
            *plain([(KNOWN, "shop", 10_000, 1, 1, None), ("a-decoy", "shop", 9_900, 1, 1, None)]),
            ("fuse", "shop", cents, 1, 1, None),
        ]
        extras: list[Row] = [{"part": "fuse", "per": "string", "quantity": 1, "when": "fused"}]
        bundle = only(*write(tmp_path / str(cents), parts, offers, {"shop": 7_500}, extras=extras))
        assert bundle.models["panel"] == model
        assert cents_of(bundle) == total


@pytest.mark.parametrize("short", [0, 1])
def test_a_budget_met_exactly_and_missed_by_a_cent(tmp_path: Path, short: int) -> None:
    parts = {kind: [{"part": f"{kind}-known", **figures}] for kind, figures in PARTS.items()}
    offers = list(plain([(KNOWN, "shop", 10_000, 1, 1, None)]))
    budget = f"{(TOTAL - short) / 100:.2f}"
    job = {**changed_job({}), "need": {**JOB["need"]}}
    catalog, _ = write(tmp_path, parts, offers, {"shop": 7_500}, job)
    path = tmp_path / "job.toml"
    path.write_text(path.read_text().replace("[need]", f"[need]\nbudget = {budget}"))
    found = pick(catalog, read_job(path), 1)
    assert found.status == (Status.NONE if short else Status.PROVEN)
    assert [cents_of(bundle) for bundle in found.bundles] == ([] if short else [TOTAL])
