"""Draws sellers, freight and price rows: packs, least quantities, stocks, several rows of a seller."""

from __future__ import annotations

import math

from tests.brute.draw_job import Draw, number
from tests.brute.draw_needs import Catalogue, Cells


def draw_prices(draw: Draw, catalogue: Catalogue) -> list[str]:
    """Fills prices and sellers; returns the sellers."""
    sellers = draw.sample(["north", "east", "harbour", "mill"], draw.randint(2, 3))
    heavy = draw.pick([0.02, 0.05, 0.15]) * sum(catalogue.value.values())
    for seller in sellers:
        if draw.chance(0.9):
            freight = draw.pick([0.0, round(draw.uniform(0.2, 1.8) * heavy, draw.pick([0, 2]))])
            catalogue.tables["sellers"].append({"seller": seller, "freight": number(freight, 6)})
    twins: dict[float, list[Cells]] = {}
    for part, value in catalogue.value.items():
        if value in twins and draw.chance(0.7):  # the twin: the same offers, a cent more or less, or not
            cent = draw.pick([0, 0, 1, -1])
            for row in twins[value]:
                price = f"{max(0.01, float(row['price']) + cent / 100):.2f}"
                catalogue.tables["prices"].append(row | {"part": part, "price": price})
            continue
        twins[value] = offers(draw, catalogue, part, sellers)
        catalogue.tables["prices"] += twins[value]
    return sellers


def least_lot(min_qty: int, pack: int) -> int:
    """The fewest pieces of an offer."""
    return -(-min_qty // pack) * pack


def offers(draw: Draw, catalogue: Catalogue, part: str, sellers: list[str]) -> list[Cells]:
    """The price rows of one part; now and then none."""
    if draw.chance(0.015 if part in catalogue.roomy and not catalogue.flaw[part] else 0.08):
        return []  # without a price
    rows: list[Cells] = []
    value, need = catalogue.value[part], catalogue.pieces[part]
    for seller in draw.sample(sellers, draw.randint(1, len(sellers))):
        enough = part in catalogue.roomy and draw.chance(0.88)
        share = draw.uniform(1.4, 2.5) if enough else draw.uniform(0.3, 1.6)
        row = {
            "part": part,
            "seller": seller,
            "price": f"{max(1.0, value * draw.uniform(0.85, 1.2)):.{draw.pick([0, 1, 2, 2])}f}",
            "currency": "USD",
            "min_qty": draw.pick(["", "", "", "1", "2", "3"]) if need > 1 else draw.pick(["", "1"]),
            "pack": draw.pick(["", "", "", "1", "2", "3", "4"]) if need > 1 else draw.pick(["", "1"]),
            "stock": str(math.ceil(need * share)) if draw.chance(0.35) else "",
            "as_of": f"2026-{draw.randint(1, 6):02d}-{draw.randint(1, 28):02d}",
        }
        if row["stock"]:  # a lot is never more than there are
            lot = least_lot(int(row["min_qty"] or 1), int(row["pack"] or 1))
            row["stock"] = str(max(int(row["stock"]), lot))
        rows.append(row)
        if draw.chance(0.03):  # the same row at another price: the lower counts
            rows.append(row | {"price": f"{float(row['price']) * draw.uniform(0.8, 1.2):.2f}"})
        if draw.chance(0.35):  # cheaper from some pieces up
            least = max(2, round(need * draw.uniform(0.5, 1.3)), int(row["min_qty"] or 1) + 1)
            cheaper = f"{float(row['price']) * draw.uniform(0.75, 0.98):.2f}"
            shown = draw.pick([row["stock"], ""])
            rows.append(row | {"price": cheaper, "min_qty": str(least), "stock": shown})
    return rows
