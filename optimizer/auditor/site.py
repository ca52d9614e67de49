"""Site and wishes judged: mounting, room, what the job allows."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.auditor.figures import BundleFigures
from optimizer.auditor.reading import Reading, yes
from optimizer.rules import mounting


def site_readings(f: BundleFigures) -> Iterator[Reading]:
    """Every limit of the site, and what the job allows."""
    job, bundle, p = f.job, f.bundle, f.panel
    if bundle.rack is not None:
        rack = bundle.rack
        slots = {
            "width_mm": p["width_mm"], "length_mm": p["length_mm"], "weight_kg": p["weight_kg"],
            "rack_width_mm": rack["max_width_mm"], "rack_length_mm": rack["max_length_mm"],
            "rack_kg": rack["max_panel_kg"],
        }  # fmt: skip
        ratios = [
            (p["width_mm"], rack["max_width_mm"], "width"), (p["length_mm"], rack["max_length_mm"], "length"),
            (p["weight_kg"], rack["max_panel_kg"], "weight"),
        ]  # fmt: skip
        value, allowed, where = max(ratios, key=lambda triple: triple[0] / triple[1])
        unit = "kg" if where == "weight" else "mm"
        yield Reading("mounting-fit", value, allowed, value, allowed, where, slots, measure=unit)
    refused = list(refusals(f))
    yield yes("allowed", not refused, refused=", ".join(refused) or "nothing refused")
    space, area = job.space, bundle.panels * mounting.panel_area(p["length_mm"], p["width_mm"])
    slots = {"panels": bundle.panels, "area_m2": area}
    rooms = []
    if space.max_panels is not None:
        most = float(space.max_panels)
        rooms.append(Reading("space", bundle.panels, most, bundle.panels, most, "panels", slots))
    if space.max_area_m2 is not None:
        rooms.append(Reading("space", area, space.max_area_m2, area, space.max_area_m2, "m2", slots, measure="m2"))
    if f.job.water.max_tanks or bundle.tanks:
        tanks, most = float(sum(bundle.tanks.values())), float(f.job.water.max_tanks or 0)
        rooms.append(Reading("space", tanks, most, tanks, most, "tanks", slots, measure="tanks"))
    yield from rooms
    if job.allow.listed_only:
        rows = {bundle.panel["part"]: bundle.panel, **bundle.rows}  # what stands on the roof is named first
        unlisted = [part for part, row in rows.items() if not row.get("listed", True)]
        yield yes("listed", not unlisted, unlisted=", ".join(unlisted) or "all listed")


def refusals(f: BundleFigures) -> Iterator[str]:
    """Parts and sellers that the job does not allow."""
    job, bundle = f.job, f.bundle
    parts = list(bundle.rows)
    if bundle.order is not None:
        parts += [purchase.part for purchase in bundle.order.purchases]
    yield from (part for part in dict.fromkeys(parts) if part in job.allow.exclude)
    if job.allow.chemistries is not None and f.battery["chemistry"] not in job.allow.chemistries:
        yield str(f.battery["chemistry"])
    if bundle.rack is not None and job.space.mounts is not None and bundle.rack["mount"] not in job.space.mounts:
        yield str(bundle.rack["mount"])
    if bundle.order is not None and job.allow.sellers is not None:
        yield from (seller for seller, _ in bundle.order.freight if seller not in job.allow.sellers)
