"""Large invented catalogues for the benchmarks: figures correlated as those of real parts are, several sellers.

Everything is made by rule from a seed; no figure is any product's. ``python -m tests.benchmarks.generate FOLDER
--parts N --seed S`` writes one; with ``--no-strings`` no tracker takes the volts of any panel.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
import pandas as pd

SELLERS = ("alder", "birch", "cedar", "dogwood", "elm", "fir", "gorse", "hazel")
AS_OF = "2026-10-01"
BARRED = {"tracker_max_v": 20, "tracker_min_v": 12, "tracker_top_v": 18}  # no panel is of so few V in the cold
SHARES = {"panel": 0.45, "converter": 0.25, "battery": 0.25, "rack": 0.05}
BESIDES = {"starter": (0.02, 5), "tank": (0.01, 4)}  # beyond those: their share, and how many there are at the least
BESIDES_STREAM = 11  # their own random numbers: all other parts and prices of a size and seed stay as they are


def _ids(prefix: str, count: int) -> list[str]:
    return [f"{prefix}-{i:06d}" for i in range(count)]


def _some(figures: np.ndarray) -> np.ndarray:
    """Every other one of the figures, as text; the rest are left to their default."""
    stated: np.ndarray = np.where(np.arange(len(figures)) % 2, figures.astype(str), "")
    return stated


def panels(rng: np.random.Generator, count: int) -> tuple[pd.DataFrame, np.ndarray]:
    """Panels of 36 to 144 cells, and a fair price for each in the currency."""
    cells = rng.choice([36, 54, 60, 66, 72, 78], count)
    voc = cells * rng.uniform(0.67, 0.73, count)
    isc = rng.uniform(9.0, 15.0, count)
    vmp, imp = voc * rng.uniform(0.825, 0.85, count), isc * rng.uniform(0.935, 0.955, count)
    watts = np.floor(vmp * imp * rng.uniform(0.985, 1.0, count) / 5) * 5
    vmp, imp = np.round(vmp, 2), np.round(imp, 2)
    watts = np.where(np.abs(watts / (vmp * imp) - 1) > 0.045, np.round(vmp * imp), watts)
    width = np.round(rng.uniform(990, 1310, count))
    pct = rng.uniform(-0.32, -0.24, count)
    coefficient = np.round(pct - rng.uniform(0.05, 0.08, count), 3)
    frame = pd.DataFrame(
        {
            "part": _ids("pn", count), "pmax_w": watts, "voc_v": np.round(voc, 2), "vmp_v": vmp,
            "isc_a": np.round(isc, 2), "imp_a": imp, "voc_pct_per_c": np.round(pct, 3),
            "pmax_pct_per_c": coefficient, "vmp_pct_per_c": _some(np.round(coefficient - 0.03, 3)),
            "noct_c": rng.integers(42, 48, count),
            "bifacial_pct": rng.choice([0, 0, 70, 80], count), "length_mm": np.round(cells * 28.5 + 150),
            "width_mm": width, "weight_kg": np.round(watts / 19, 1), "max_system_v": rng.choice([1000, 1500], count),
            "max_fuse_a": rng.choice([20, 25, 30], count), "listed": rng.choice(["yes", "no"], count),
        }
    )  # fmt: skip
    return frame, watts * rng.normal(0.36, 0.05, count).clip(0.22)


def converters(rng: np.random.Generator, count: int) -> tuple[pd.DataFrame, np.ndarray]:
    """Converters of 1 to 15 kW on banks of 12, 24 and 48 V."""
    watts = np.round(rng.choice([1000, 1500, 2000, 3000, 4000, 5000, 6000, 8000, 10000, 12000, 15000], count)
                     * rng.uniform(0.9, 1.1, count), -1)  # fmt: skip
    bank = np.where(watts < 1800, 12, np.where(watts < 3500, rng.choice([24, 48], count), 48))
    trackers = rng.integers(1, 4, count)
    supply = rng.choice(["120", "240", "230"], count, p=[0.3, 0.3, 0.4])
    high = rng.random(count) < 0.6
    top = np.where(high, rng.choice([450, 500, 550, 600], count), rng.choice([100, 145, 150, 250], count))
    power = np.round(watts * rng.uniform(0.7, 1.6, count) / trackers, -1)
    surge = np.round(watts * rng.uniform(1.5, 3.2, count), -1)
    usable_a = rng.choice([13, 15, 18, 22, 27], count)
    frame = pd.DataFrame(
        {
            "part": _ids("cv", count), "continuous_w": watts, "surge_va": surge,
            "surge_s": rng.choice([0.02, 1, 3, 5, 10], count, p=[0.1, 0.2, 0.2, 0.4, 0.1]),
            "efficiency_pct": np.round(rng.uniform(88, 97, count), 1), "idle_w": np.round(8 + watts * 0.006),
            "bank_class_v": bank, "bank_min_v": bank * 0.875, "bank_max_v": bank * 1.27,
            "charge_a": np.round(watts / bank * rng.uniform(0.8, 1.3, count)),
            "charge_settable": rng.choice(["yes", "yes", "yes", "no"], count), "trackers": trackers,
            "tracker_max_v": top, "tracker_min_v": np.where(high, rng.choice([90, 120, 150], count), bank * 1.15),
            "tracker_top_v": np.round(top * 0.9), "tracker_usable_a": usable_a,
            "tracker_isc_a": np.round(usable_a * 1.3), "tracker_max_w": np.round(power * 1.4),
            "tracker_usable_w": power,
            "max_units": rng.choice([1, 2, 4], count), "units_120": np.where(supply == "120", "1", ""),
            "units_120_240": np.where(supply == "240", "1", np.where(supply == "120", "2", "")),
            "units_230": np.where(supply == "230", "1", ""), "listed": rng.choice(["yes", "no"], count),
        }
    )  # fmt: skip
    frame.loc[frame.max_units == 1, "units_120_240"] = np.where(supply == "240", "1", "")[frame.max_units == 1]
    price = 120 + watts * rng.normal(0.16, 0.035, count).clip(0.08) + surge * 0.012 + trackers * 40
    return frame, price


def batteries(rng: np.random.Generator, count: int) -> tuple[pd.DataFrame, np.ndarray]:
    """Lithium blocks and units, and lead-acid."""
    lithium = rng.random(count) < 0.7
    class_v = rng.choice([12, 24, 48], count, p=[0.35, 0.2, 0.45])
    nominal = np.where(lithium, class_v / 12 * 12.8, class_v)
    hours = rng.choice([50, 100, 150, 200, 230, 280, 314], count) * rng.uniform(0.95, 1.05, count)
    discharge = hours * np.where(lithium, rng.uniform(0.5, 1.0, count), rng.uniform(0.2, 0.4, count))
    frame = pd.DataFrame(
        {
            "part": _ids("bt", count),
            "chemistry": np.where(lithium, "lfp", rng.choice(["agm", "gel", "flooded"], count)),
            "class_v": class_v, "nominal_v": np.round(nominal, 1), "min_v": np.round(nominal * 0.875, 2),
            "charge_v": np.round(nominal * np.where(lithium, 1.125, 1.22), 2), "capacity_ah": np.round(hours),
            "usable_pct": np.where(lithium, 85, 50), "round_trip_pct": np.where(lithium, 95, 82),
            "discharge_a": np.round(discharge), "peak_a": np.round(discharge * rng.uniform(1.2, 3.0, count)) + 1,
            "peak_s": rng.choice([0.5, 3, 5, 10], count), "charge_a": np.round(hours * np.where(lithium, 0.5, 0.2)),
            "max_series": np.where(class_v < 48, 4, 1), "max_parallel": rng.choice([2, 4, 8], count),
            "coldest_charge_c": np.where(lithium, rng.choice([-10, 0, 0, 5], count), -20),
            "hottest_charge_c": _some(np.full(count, 45)), "hottest_discharge_c": _some(np.full(count, 60)),
            "listed": rng.choice(["yes", "no"], count),
        }
    )  # fmt: skip
    energy = nominal * hours / 1000
    return frame, energy * np.where(lithium, rng.normal(190, 35, count), rng.normal(140, 20, count)).clip(70)


def racks(rng: np.random.Generator, count: int) -> tuple[pd.DataFrame, np.ndarray]:
    """Racks for one to three panels."""
    each = rng.choice([0.5, 1.0, 1.0], count)
    mount = rng.choice(["ground-ballast", "ground-post", "roof", "pole"], count)
    frame = pd.DataFrame(
        {
            "part": _ids("rk", count), "mount": mount,
            "heat_c": np.where(mount == "roof", _some(np.full(count, 9)), ""),
            "max_width_mm": rng.choice([1060, 1140, 1200, 1320], count),
            "max_length_mm": rng.choice([1800, 2100, 2400], count), "max_panel_kg": rng.integers(22, 40, count),
            "per_panel": each, "per_row": rng.choice([0, 1], count), "max_row": rng.integers(4, 16, count),
            "listed": rng.choice(["yes", "no"], count),
        }
    )  # fmt: skip
    return frame, rng.uniform(28, 75, count) / each


def starters(rng: np.random.Generator, count: int) -> tuple[pd.DataFrame, np.ndarray]:
    """Soft starters, autotransformers, drives and inrush limiters, of 5 to 60 A."""
    sort = rng.choice(["soft", "tap", "drive", "inrush"], count, p=[0.6, 0.1, 0.15, 0.15])
    amps = np.round(np.where(sort == "inrush", rng.uniform(5, 16, count), rng.uniform(6, 60, count)))
    low = (sort != "tap") & (sort != "drive") & (rng.random(count) < 0.35)  # three phases are of 220 V and up
    tap = rng.choice([0.50, 0.65, 0.80], count)

    def by_sort(soft: np.ndarray, tapped: np.ndarray, drive: np.ndarray, inrush: np.ndarray) -> np.ndarray:
        return np.select([sort == "soft", sort == "tap", sort == "drive"], [soft, tapped, drive], inrush)

    single = rng.choice(["three-wire;psc", "three-wire", "psc", "two-wire;three-wire"], count, p=[0.45, 0.2, 0.3, 0.05])
    three, drive = np.full(count, "three-phase"), sort == "drive"
    factor = np.round(by_sort(rng.uniform(0.40, 0.60, count), tap**2, rng.uniform(0.10, 0.16, count),
                              rng.uniform(0.65, 0.85, count)), 2)  # fmt: skip
    frame = pd.DataFrame(
        {
            "part": _ids("st", count), "kind": np.where(sort == "inrush", "resistor", sort),
            "phases_in": np.where(sort == "tap", 3, 1), "makes_phases": np.where(drive, "3", ""), "running_a": amps,
            "start_factor": np.where(drive, "", factor.astype(str)),
            "start_volts_pct": np.where(sort == "soft", _some(np.round(100 * np.sqrt(factor), 1)), ""),
            "floor_x": np.round(by_sort(rng.uniform(1.8, 2.6, count), np.ones(count), rng.uniform(1.0, 1.5, count),
                                        np.full(count, 2.0)), 1),
            "efficiency_pct": np.where(drive, _some(np.full(count, 97)), ""),
            "ramp_s": rng.choice(["", "0.5", "1", "2", "4"], count),
            "motors": by_sort(np.where(low, "three-wire;psc", single), three, three, np.full(count, "psc")),
            "volts_min": np.where(low, 110, 220), "volts_max": np.where(low, 125, 240),
            "listed": rng.choice(["yes", "no"], count),
        }
    )  # fmt: skip
    base = by_sort(np.full(count, 70.0), np.full(count, 120.0), np.full(count, 110.0), np.full(count, 12.0))
    each = by_sort(np.full(count, 6.5), np.full(count, 9.0), np.full(count, 15.0), np.full(count, 1.5))
    return frame, (base + each * amps) * rng.normal(1.0, 0.12, count).clip(0.6)


def tanks(rng: np.random.Generator, count: int) -> tuple[pd.DataFrame, np.ndarray]:
    """Water tanks of 500 to 25,000 L."""
    litres = np.round(np.exp(rng.uniform(np.log(500), np.log(25_000), count)), -2)
    frame = pd.DataFrame(
        {
            "part": _ids("tk", count), "volume_l": litres, "usable_pct": rng.integers(90, 98, count),
            "footprint_mm": np.round(105 * np.cbrt(litres) * rng.uniform(0.95, 1.3, count), -1),
        }
    )  # fmt: skip
    return frame, 0.55 * litres**0.82 * rng.normal(1.0, 0.12, count).clip(0.6)


EXTRAS = pd.DataFrame(
    [
        ("ex-label", "system", 1, "always"), ("ex-earth", "system", 1, "always"),
        ("ex-cable", "battery", 1, "always"),
        ("ex-fuse", "converter", 1, "always"), ("ex-link", "converter", 1, "stacked"),
        ("ex-plug", "string", 1, "always"),
        ("ex-clamp", "panel", 2, "always"), ("ex-end", "row", 4, "always"), ("ex-bus", "system", 1, "paralleled-bank"),
        ("ex-stringfuse", "string", 2, "fused"),
    ],
    columns=["part", "per", "quantity", "when"],
)  # fmt: skip


def prices(rng: np.random.Generator, parts: list[str], fair: np.ndarray) -> pd.DataFrame:
    """One to three sellers a part, sometimes cheaper from a number up, in packs, or with a small stock."""
    rows = []
    for seller in range(len(SELLERS)):
        offered = rng.random(len(parts)) < 0.3
        index = np.flatnonzero(offered)
        price = np.round(fair[index] * rng.normal(1.0, 0.05, len(index)), 2).clip(0.05)
        stock = np.where(rng.random(len(index)) < 0.2, rng.integers(4, 60, len(index)).astype(str), "")
        base = pd.DataFrame(
            {"part": np.array(parts, dtype=object)[index], "seller": SELLERS[seller], "price": price, "currency": "USD",
             "min_qty": 1, "pack": np.where(rng.random(len(index)) < 0.05, 2, 1), "stock": stock, "as_of": AS_OF}
        )  # fmt: skip
        many = base[rng.random(len(index)) < 0.25].copy()
        many["price"], many["min_qty"], many["pack"] = (many["price"] * 0.95).round(2).clip(0.05), 10, 1
        rows += [base, many]
    return pd.concat(rows, ignore_index=True)


def write_catalog(folder: Path, parts: int, seed: int = 1, no_strings: bool = False) -> Path:
    """Write a catalogue of about ``parts`` parts into ``folder`` and return it; starters and tanks come on top.
    ``no_strings``: with trackers that take no string of any panel, all else being the same."""
    rng = np.random.default_rng(seed)
    folder.mkdir(parents=True, exist_ok=True)
    names: list[str] = []
    fair: list[np.ndarray] = []
    makers = {"panel": panels, "converter": converters, "battery": batteries, "rack": racks}
    files = {"panel": "panels", "converter": "converters", "battery": "batteries", "rack": "racks"}
    for kind, make in makers.items():
        frame, price = make(rng, int(parts * SHARES[kind]))
        if no_strings and kind == "converter":
            frame = frame.assign(**BARRED)
        frame.to_csv(folder / f"{files[kind]}.csv", index=False)
        names += list(frame["part"])
        fair.append(price)
    EXTRAS.to_csv(folder / "extras.csv", index=False)
    listed = prices(rng, names, np.concatenate(fair))
    besides = _write_besides(folder, parts, np.random.default_rng((seed, BESIDES_STREAM)))
    extra = pd.DataFrame({"part": EXTRAS["part"], "seller": SELLERS[0], "price": 4.5, "currency": "USD",
                          "min_qty": 1, "pack": 1, "stock": "", "as_of": AS_OF})  # fmt: skip
    pd.concat([listed, extra, besides], ignore_index=True).to_csv(folder / "prices.csv", index=False)
    freight = pd.DataFrame({"seller": SELLERS, "freight": [95, 120, 60, 180, 145, 75, 210, 110]})
    freight.to_csv(folder / "sellers.csv", index=False)
    return folder


def _write_besides(folder: Path, parts: int, rng: np.random.Generator) -> pd.DataFrame:
    """Write the starters and tanks that go with ``parts`` other parts, and return their prices."""
    listed = []
    for kind, make in {"starter": starters, "tank": tanks}.items():
        share, least = BESIDES[kind]
        frame, fair = make(rng, max(least, int(parts * share)))
        frame.to_csv(folder / f"{kind}s.csv", index=False)
        listed.append(prices(rng, list(frame["part"]), fair))
    return pd.concat(listed, ignore_index=True)


def main() -> None:
    """Write a catalogue, as the command line says."""
    parser = argparse.ArgumentParser(description="Write a large invented catalogue.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--parts", type=int, required=True, help="about how many parts")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--no-strings", action="store_true", help="with trackers that take no string of any panel")
    asked = parser.parse_args()
    print(write_catalog(asked.folder, asked.parts, asked.seed, asked.no_strings))


if __name__ == "__main__":
    main()
