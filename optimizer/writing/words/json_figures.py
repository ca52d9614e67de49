"""Money and figures as other programs read them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalog.part_kinds import PART_KINDS
from optimizer.vocabulary.control_signs import plain_json

if TYPE_CHECKING:
    from optimizer.bundles.bundle import Bundle

import json
from collections.abc import Mapping
from math import isfinite
from typing import Any

Json = dict[str, Any]  # an object of a JSON document: no type of Python describes what may stand in one
DIGITS = 9  # significant digits of a figure: more than any of them is known to, fewer than the last bits


def amount(cents: int) -> str:
    """Money as text with two decimals: "6412.50"."""
    return f"{'-' if cents < 0 else ''}{abs(cents) // 100}.{abs(cents) % 100:02d}"


def figure(value: float) -> float | int | None:
    """A figure; None where it is infinite."""
    return float(f"{value:.{DIGITS}g}") if isfinite(value) else None


def json_text(content: Mapping[str, object]) -> str:
    """A JSON document as text, keys in their order, control signs as escapes; no figure is infinite."""
    return plain_json(json.dumps(content, indent=1, ensure_ascii=False, allow_nan=False)) + "\n"


def parts_beside(bundle: Bundle) -> dict[str, Json]:
    """What stands beside the models: by the kind's key the part of each load, or the pieces of each part."""
    said: dict[str, Json] = {}
    for kind, rows in bundle.each_load.items():
        said[PART_KINDS[kind].key] = {load: row["part"] for load, row in rows.items()}
    for kind, pool in bundle.pools.items():
        said[PART_KINDS[kind].key] = dict(sorted(pool.items()))
    return {key: parts for key, parts in said.items() if parts}
