"""The keys of a bundle file and of an answer that is read as one, by table."""

from __future__ import annotations

from collections.abc import Mapping

from catalog.part_kinds import BESIDE, PART_KINDS

KEYS: Mapping[str, tuple[str, ...]] = {
    "": (
        "models",
        "counts",
        "strings",
        "bank",
        "legs",
        "part",
        "quoted",
        "purchases",
        "freight",
        *(PART_KINDS[kind].key for kind in BESIDE),
    ),
    # what an answer says of a bundle besides; it is worked out again, not believed
    "answer": ("rank", "total", "proven", "autonomy_days", "water_days", "replay", "limits"),
    "strings": ("tracker", "parallel", "series", "fused"),
    "bank": ("series", "parallel", "charge_setting_a"),
    "legs": ("1", "2"),
    "purchases": ("part", "needed", "on_hand", "lines", "cost"),
    "lines": ("seller", "quantity", "unit_price"),
    "freight": ("seller", "cost", "tax"),
}
ANSWER_SCHEMA = 1
