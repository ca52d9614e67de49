"""The registry: every limit that a bundle must meet, as data, in the order in which answers list them.

Margins, explanations, pages and documents read this registry; nothing else knows a limit's meaning. Only
``optimizer.writing`` fills the slots of its texts.
"""

from __future__ import annotations

from collections.abc import Callable

from optimizer.rules.limits import of_banks, of_converters, of_site, of_strings
from optimizer.rules.limits.limit import Limit, Narrows

__all__ = [
    "LIMITS", "RULES_VERSION", "Limit", "always_kept", "droppable", "in_order", "named", "narrowing", "of_reserve",
    "of_starts",
]  # fmt: skip

# raised with any rule, limit or default that may change an answer: kept answers are solved again
RULES_VERSION = 2

LIMITS: dict[str, Limit] = {
    limit.name: limit for group in (of_converters, of_strings, of_banks, of_site) for limit in group.LIMITS
}


def named(holds: Callable[[Limit], bool]) -> frozenset[str]:
    """The names of the limits of which something holds."""
    return frozenset(name for name, limit in LIMITS.items() if holds(limit))


def droppable() -> frozenset[str]:
    """The limits that may be left out hypothetically: all but those without which a choice would have no bounds."""
    return named(lambda limit: not limit.essential)


def always_kept() -> frozenset[str]:
    """The limits that proofs and conflicts always keep and never count as theirs: another part, or another job, is the
    only way round them."""
    return named(lambda limit: limit.essential or limit.kept)


def narrowing(*choices: Narrows) -> frozenset[str]:
    """The limits that narrow one of these choices."""
    return named(lambda limit: limit.narrows in choices)


def of_starts() -> frozenset[str]:
    """The limits that fall with the starts of the loads."""
    return named(lambda limit: limit.of_starts)


def of_reserve(reserve: str) -> str:
    """The limit that a reserve of the job is first met in. Raises KeyError."""
    for name, limit in LIMITS.items():
        if limit.reserve == reserve and "reserve" in limit.kinds:
            return name
    raise KeyError(reserve)


def in_order(names: frozenset[str]) -> list[str]:
    """Names in the order of the registry."""
    return [name for name in LIMITS if name in names]
