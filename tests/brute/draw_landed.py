"""Draws what sellers ask beside their prices: freight by weight, free freight, least orders, tax; weights for it."""

from __future__ import annotations

from tests.brute.draw_job import Draw, number
from tests.brute.draw_needs import Catalogue

WEIGHED = ("converters", "batteries", "racks", "extras", "starters")  # panels state their weight anyway


def draw_landed(draw: Draw, catalogue: Catalogue, sellers: list[str]) -> None:
    """Adds cells to the sellers, around what a bundle may cost; most parts then state a weight."""
    tables = catalogue.tables
    for name in WEIGHED:
        for row in tables.get(name, []):
            if not row.get("weight_kg") and draw.chance(0.93):
                row["weight_kg"] = number(draw.uniform(0.3, 30), draw.pick([1, 2, 3]))
    own = Draw(f"tank weights {len(sellers)} {sorted(catalogue.value)}")  # others are drawn as if there were no tanks
    weighed = own.pick([0, 0.8])  # without a weight none is sold by weight
    for row in tables.get("tanks", []):
        if own.chance(weighed):
            row["weight_kg"] = number(own.uniform(5, 400), own.pick([0, 1]))
    of_bundle = sum(
        catalogue.value[rows[0]["part"]] * catalogue.pieces[rows[0]["part"]]
        for name, rows in tables.items()
        if name in ("panels", "converters", "batteries", "racks")
    )
    for seller in sellers:
        rows = [one for one in tables["sellers"] if one["seller"] == seller]
        if not rows:
            rows = [{"seller": seller, "freight": "0"}]
            tables["sellers"] += rows
        row = rows[0]
        if draw.chance(0.3):
            continue  # nothing beside its freight
        if draw.chance(0.4):
            row["freight_per_kg"] = draw.pick(["0", "0.05", "0.4", "1.25", "0.333", f"{draw.uniform(0.05, 2):.2f}"])
        if draw.chance(0.5):
            row["free_over"] = f"{of_bundle * draw.uniform(0.1, 1.1):.{draw.pick([0, 2])}f}"
        if draw.chance(0.4):
            row["min_order"] = f"{of_bundle * draw.pick([draw.uniform(0.01, 0.3), draw.uniform(0.1, 0.9)]):.2f}"
        if draw.chance(0.4):
            row["tax_pct"] = draw.pick(["0", "5", "7.25", "8.875", "19", "20", "10"])
