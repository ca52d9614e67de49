"""Errors in what stands where a row or a job states nothing: volts by kind of starter, cold, Vmp, racks, tanks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, cast

from catalog.reader import read_record
from catalog.rows import StarterRow, TankRow
from optimizer.inputs.job import Space, Water
from optimizer.rules import soft_start
from optimizer.vocabulary.problems import Place
from tests.mutations.cases_bank import AGM, HALF_DAY
from tests.mutations.change import Case, Figures, edited
from tests.mutations.parts import (
    PRICES,
    UNSTATED,
    Record,
    audited,
    bank_strings,
    battery,
    best,
    bundle,
    catalog,
    converter,
    job,
    months,
    panel,
    pump,
    rack,
    strings_left,
)

AUDITED_SITE = "optimizer.auditor.site"
RULE_MOUNTING = "optimizer.rules.mounting"
RULE_SOFT_START = "optimizer.rules.soft_start"
TABLES = "catalog.tables"
TANK_BOUNDS = "optimizer.costs.tank_bounds"


def read(kind: str, row: Mapping[str, Any], *left_out: str) -> Record:
    """A part as it is read where these columns, and those without a value, are left to their defaults."""
    cells = {name: value for name, value in row.items() if name not in left_out and value == value}
    record, problems = read_record(kind, cells, Place("offer.toml"))
    assert record is not None, problems
    return dict(record)


def acid(chemistry: str, **changes: Any) -> Record:
    """A lead-acid battery that does not say what it loses in the cold."""
    return read("battery", battery(**{**AGM, **changes, "chemistry": chemistry}), "capacity_pct_per_c")


def volts(kind: str, factor: float) -> float:
    """Share of its volts that a motor starts on, behind a starter and a cable that loses 20 % directly."""
    three = kind == "star-delta"
    row = {"part": "starter", "kind": kind, "phases_in": 3 if three else 1, "running_a": 20, "start_factor": factor,
           "floor_x": 1, "motors": "three-phase" if three else "psc"}  # fmt: skip
    share = soft_start.start_volts_share(cast(StarterRow, read("starter", row)))
    return float(soft_start.volts_left(0.2, share))


LIFTING = pump(hours_per_day=None, water_per_day_l=months(4000.0), flow_l_per_h=1000.0)  # 4 h a day
TANK = {"part": "tank", "volume_l": 5000.0, "usable_pct": 95.0, "footprint_mm": UNSTATED}
WITH_TANKS = catalog(tanks=(TANK,), prices=(*PRICES, ("tank", "north", 40_000, 1, 1, -1)))
STORING = replace(bundle(), tanks={"tank": 1}, tank_records={"tank": cast(TankRow, TANK)})


def unnamed(*mounts: str) -> Figures:
    """Hot V of eight panels, less the reserve, and usable W of all on a rack that nobody named."""
    where = job(space=Space(mounts=mounts or None))
    return tuple(audited(limit, where, bundle(rack=None))[0] for limit in ("hot-voltage", "daily-energy"))


HOT, OPEN = (194.56 * 0.97, 5120 * 0.94), (203.6224, 5120.0)  # cells of 85 degC, and of 70

CASES = (
    # as much as of the amps: 0.6, of which the cable leaves 80 %; the root of it would be 0.62
    Case("volts behind a soft starter by the root of the amps", lambda: (volts("soft", 0.6),), (0.48,),
         edited(TABLES, "np.sqrt(factor), factor)", "np.sqrt(factor), np.sqrt(factor))")),
    Case("a resistor taken for a tap", lambda: (volts("resistor", 0.6), volts("tap", 0.36)), (0.48, 0.48),
         edited(TABLES, '_kind(columns, "tap")', '_kind(columns, "tap", "resistor")')),
    # the amps of the supply go with the square of the tap: 0.36 of them are 0.6 of the volts
    Case("volts behind a tap as of the amps", lambda: (volts("tap", 0.36),), (0.48,),
         edited(TABLES, "np.sqrt(factor), factor)", "factor, factor)")),
    # a phase in place of a line: 1/root 3 of the volts, whatever the amps; 0.8 x 0.57735
    Case("a third of the volts in star", lambda: (volts("star-delta", 1 / 3),), (0.46188021535170065,),
         edited(TABLES, "np.sqrt(1 / 3)", "1 / 3")),
    Case("volts in star by the amps", lambda: (volts("star-delta", 0.4),), (0.46188021535170065,),
         edited(TABLES, 'np.where(_kind(columns, "star-delta"), np.sqrt(1 / 3), share)', "share")),
    Case("a starter thought to leave all volts", lambda: (volts("soft", 0.6), volts("tap", 0.36)), (0.48, 0.48),
         edited(RULE_SOFT_START, 'float(starter["start_volts_pct"]) / 100', "1.0")),
    # 5 degC: 1 - 0.012 x 20 = 0.76: 50 V x 180 Ah x 0.25 x 0.76 = 1710 Wh a string, and 5300/1710 asks 4;
    # at 1.0 % it would be 1800 Wh, of which 3 hold the night
    Case("cold of lead-acid as of other batteries",
         lambda: (*audited("night-energy", job(), bundle(battery=acid("agm", capacity_ah=180.0))),
                  bank_strings(job(need=HALF_DAY), acid("agm", capacity_ah=180.0))),
         (5300.0, 3420.0, False, 4), edited(TABLES, "(LEAD_ACID, 1.2), other=1.0", "(LEAD_ACID, 1.0), other=1.0")),
    Case("cold of gel and flooded as of other batteries",
         lambda: (audited("night-energy", job(), bundle(battery=acid("gel", capacity_ah=180.0)))[1],
                  audited("night-energy", job(), bundle(battery=acid("flooded", capacity_ah=180.0)))[1]),
         (3420.0, 3420.0), edited(TABLES, "(LEAD_ACID, 1.2), other=1.0", '(("agm",), 1.2), other=1.0')),
    # -0.4 - 0.05 = -0.45 %: 32 x (1 - 0.0045 x 45) = 25.52 V, 24.7544 with 3 % kept: 150 V take 6.06, seven;
    # by -0.4 % 25.4528 V a panel: six
    Case("Vmp that falls as Pmax where nothing is stated",
         lambda: (audited("hot-voltage", job(), bundle(panel=read("panel", panel(), "vmp_pct_per_c")))[0],
                  strings_left(job(), read("panel", panel(), "vmp_pct_per_c"), converter(tracker_min_v=150.0))[0]),
         (8 * 24.7544, 7), edited(TABLES, 'lambda c: c["pmax_pct_per_c"] - 0.05', 'lambda c: c["pmax_pct_per_c"]')),
    Case("Vmp that falls less than Pmax",
         lambda: (audited("hot-voltage", job(), bundle(panel=read("panel", panel(), "vmp_pct_per_c")))[0],
                  strings_left(job(), read("panel", panel(), "vmp_pct_per_c"), converter(tracker_min_v=150.0))[0]),
         (8 * 24.7544, 7),
         edited(TABLES, 'lambda c: c["pmax_pct_per_c"] - 0.05', 'lambda c: c["pmax_pct_per_c"] + 0.05')),
    # on a roof 15 degC more, on the ground none: 8 x 32 V x (1 - 0.004 x 60) = 194.56 V, less 3 %
    Case("heat of a roof that its rack does not state",
         lambda: tuple(audited("hot-voltage", job(), bundle(rack=read("rack", rack(mount=mount), "heat_c")))[0]
                       for mount in ("roof", "ground-ballast", "pole")),
         (HOT[0], OPEN[0], OPEN[0]), edited(TABLES, 'np.where(c["mount"] == "roof", ROOF_HEAT_C, 0.0)',
                                            'np.zeros(len(c["mount"]))')),
    # any mount may be a roof: 16 x 320 W less 0.4 % x 15
    Case("a rack that nobody named taken for one in the open", unnamed, HOT,
         edited(RULE_MOUNTING, 'mounts is None or "roof" in mounts', 'mounts is not None and "roof" in mounts')),
    Case("a rack that nobody named hot where no roof is allowed", lambda: unnamed("ground-ballast", "pole"), OPEN,
         edited(RULE_MOUNTING, 'return ROOF_HEAT_C if mounts is None or "roof" in mounts else 0.0',
                "return ROOF_HEAT_C")),
    Case("a roof forgotten among the mounts of a rack that nobody named", lambda: unnamed("ground-ballast", "roof"),
         HOT, edited(RULE_MOUNTING, '"roof" in mounts', 'mounts == ("roof",)')),
    # the worked bundle, 3955.00; with a tank of 4750 L nine tenths pump in the sun and one battery and ten panels do
    Case("a tank chosen unasked", lambda: best(job(LIFTING), WITH_TANKS), (395_500, 11, 8, True),
         edited(TANK_BOUNDS, "if most is None:\n        return 0.0", "if most is None:\n        return np.inf")),
    # stored water wished for, and no tank allowed; one allowed: 720/0.8 + 800 = 1700 Wh a night, 2125 into the bank,
    # 8500 + 2125 Wh a day, x 1.2/4 = 3187.5 W: ten panels in one string; 1000 + 800 + 1000 + 6 x 20 + 400 + 95
    Case("a wish for water taken for leave to buy a tank",
         lambda: (*best(job(LIFTING, water=Water(reserve_days=1.0)), WITH_TANKS),
                  *best(job(LIFTING, water=Water(reserve_days=1.0, max_tanks=1)), WITH_TANKS)),
         (341_500, 10, 6, True),
         edited(TANK_BOUNDS, "if most is None:\n        return 0.0", "if most is None:\n        return np.inf")),
    Case("tanks without number in the auditor",
         lambda: (*audited("space", job(LIFTING), STORING),
                  *audited("space", job(LIFTING, water=Water(max_tanks=1)), STORING)),
         (1.0, 0.0, False, 1.0, 1.0, True),
         edited(AUDITED_SITE, "float(f.job.water.max_tanks or 0)", 'float(f.job.water.max_tanks or "inf")')),
)  # fmt: skip
