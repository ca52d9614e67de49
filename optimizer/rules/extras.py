"""How often each extra is needed: pieces counted by rule from converters, bank, strings, panels and rows."""

from __future__ import annotations

from dataclasses import dataclass

from catalog.rows import ExtraRow
from optimizer.rules.comparisons import whole_up


@dataclass(frozen=True)
class Basis:
    """What the extras are counted from. ``fused_…`` count only what belongs to fused strings."""

    converters: int
    batteries: int
    bank_strings: int
    strings: int
    panels: int
    rows: int
    fused_strings: int
    fused_panels: int
    fused_rows: int


def extra_count(per: str, when: str, basis: Basis) -> int:
    """How many times an extra's quantity is needed: by its ``per``, and only ``when`` its condition holds."""
    counts = {
        "system": 1,
        "converter": basis.converters,
        "battery": basis.batteries,
        "bank-string": basis.bank_strings,
        "string": basis.strings,
        "panel": basis.panels,
        "row": basis.rows,
    }
    if when == "stacked" and basis.converters < 2:
        return 0
    if when == "paralleled-bank" and basis.bank_strings < 2:
        return 0
    if when == "fused":
        fused = {"string": basis.fused_strings, "panel": basis.fused_panels, "row": basis.fused_rows}
        return fused.get(per, counts[per] if basis.fused_strings else 0)
    return counts[per]


def extra_pieces(extra: ExtraRow, basis: Basis) -> int:
    """Pieces of an extra that a bundle needs: its count times its quantity, rounded up."""
    return int(whole_up(extra_count(extra["per"], extra["when"], basis) * extra["quantity"]))
