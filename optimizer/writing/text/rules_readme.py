"""The page of the rules, optimizer/rules/README.md, made from the registry of limits; a test compares the two."""

from __future__ import annotations

from optimizer.rules.limits import LIMITS, Limit

HEAD = """\
# The limits

*Made from `optimizer/rules/limits/`; change the limits there, then `python -m tests.renew` writes this page anew.*

A bundle is compliant when it meets every limit below. A limit has one name: in the code, in a bundle's margins, in
messages, in the tests and on the command line (`borewatt limits`). The rules themselves are the pure functions of
this folder; each comparison allows a relative 1e-9, so that a limit met exactly is met.

| kind | what it means |
|---|---|
| definition | what makes a bundle a bundle, or an energy balance; never loosened |
| safety | against the raw rating of a part; never a way out |
| reserve | what lies between the raw rating and the limit; the job may change it |
| wish | what the person asked for, and may change |
"""
COLUMNS = ("limit", "meaning", "kind", "reserve", "sense", "unit", "source", "what mends it")
TAIL = """\
A limit that needs a figure nobody stated (a bank's resistance, a budget) is judged only where it is stated.
"""


def rules_page() -> str:
    """Every limit of the registry, in its order, as a page of Markdown."""
    lines = [f"| {' | '.join(COLUMNS)} |", "|---" * len(COLUMNS) + "|", *map(_row, LIMITS.values())]
    return f"{HEAD}\n" + "\n".join(lines) + f"\n\n{TAIL}"


def _row(limit: Limit) -> str:
    cells = (
        f"`{limit.name}`", limit.meaning, ", ".join(limit.kinds), f"`reserve.{limit.reserve}`" if limit.reserve else "",
        limit.sense, limit.unit, limit.source, limit.mend,
    )  # fmt: skip
    return f"| {' | '.join(cell.replace('|', '/') for cell in cells)} |"
