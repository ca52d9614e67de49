"""The kinds of parts: how a bundle takes each, and by what name files, answers and sentences know it.

A further kind is an entry here, its table in :mod:`catalog.tables`, its place in the bundle, and what the search and
the auditor reckon with it; whatever lists, reads, compares, prices or names parts goes through this registry.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Taken = Literal["one model", "each load", "pool", "by rule"]


@dataclass(frozen=True)
class PartKind:
    """One kind of part.

    ``taken``: a bundle has one model of it; one for each load that has any; pieces of several models from a pool; or it
    follows by rule. ``key``: the table of a bundle file or an answer that names its parts ("" where ``models`` does).
    ``needed``: a bundle file must say which it is. ``telling``: the columns that tell its parts apart in a list.
    """

    name: str
    plural: str
    taken: Taken
    telling: tuple[str, ...]
    key: str = ""
    needed: bool = False


PART_KINDS = {
    kind.name: kind
    for kind in (
        PartKind("converter", "converters", "one model", ("continuous_w", "surge_va", "surge_s", "bank_class_v"),
                 needed=True),
        PartKind("panel", "panels", "one model", ("pmax_w", "voc_v", "isc_a", "length_mm", "width_mm"), needed=True),
        PartKind("battery", "batteries", "one model", ("chemistry", "class_v", "capacity_ah", "peak_a", "peak_s"),
                 needed=True),
        # without racking the rest of a bundle can still be judged
        PartKind("rack", "racks", "one model", ("mount", "max_width_mm", "max_length_mm", "max_row")),
        PartKind("starter", "starters", "each load", ("kind", "running_a", "start_factor", "motors"),
                 key="starters"),
        PartKind("tank", "tanks", "pool", ("volume_l", "usable_pct"), key="tanks"),
        PartKind("extra", "extras", "by rule", ("per", "quantity", "when")),
    )
}  # fmt: skip


def taken(*ways: Taken) -> tuple[str, ...]:
    """The names of the kinds that a bundle takes in one of these ways, in the order of the registry."""
    return tuple(name for name, kind in PART_KINDS.items() if kind.taken in ways)


ONE_MODEL = taken("one model")
NEEDED = tuple(name for name, kind in PART_KINDS.items() if kind.needed)  # a bundle cannot be judged without
EACH_LOAD = taken("each load")
POOLS = taken("pool")
BESIDE = taken("each load", "pool")
CHOSEN = taken("one model", "each load", "pool")  # by the search; others follow by rule
