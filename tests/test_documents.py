"""Pages that are made from data say what the data says, and the registry the limits written out here and no others."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimizer.rules.limits import LIMITS, named
from optimizer.vocabulary.defaults import DEFAULTS
from optimizer.writing.text.lists import limits_list
from optimizer.writing.text.rules_readme import COLUMNS, rules_page
from tests.made_pages import PAGES

ROOT = Path(__file__).parent.parent
RULES = ROOT / "optimizer" / "rules" / "README.md"

# every limit with its kinds, written out by hand: the registry is held against this
LIMITS_BY_HAND = {
    "well-yield": "definition",
    "water-reserve": "wish",
    "supply-match": "definition",
    "recovery": "wish",
    "hours-short": "wish",
    "service": "definition",
    "tracker-count": "definition",
    "running-power": "safety reserve",
    "running-apparent": "safety reserve",
    "starting-surge": "safety reserve",
    "phases": "definition",
    "start-volts": "safety",
    "leg-balance": "safety reserve",
    "charger": "definition",
    "array-total": "safety",
    "cold-voltage": "safety reserve",
    "panel-voltage": "safety",
    "code-voltage": "safety",
    "hot-voltage": "definition reserve",
    "wake-voltage": "definition",
    "tracker-range": "definition",
    "tracker-current": "safety",
    "tracker-strings": "definition",
    "tracker-power": "definition",
    "fuse-fits": "safety",
    "bank-voltage": "definition",
    "bank-series": "definition",
    "bank-parallel": "definition",
    "bank-window": "safety",
    "bank-temperature": "safety",
    "bank-freeze": "safety",
    "bank-heat": "safety",
    "discharge-current": "safety reserve",
    "starting-current": "safety reserve",
    "bank-sag": "safety reserve",
    "charge-limit": "safety",
    "charge-rate": "definition",
    "charge-floor": "definition",
    "night-energy": "definition",
    "daily-energy": "definition wish",
    "autonomy": "wish",
    "mounting-fit": "safety",
    "allowed": "wish",
    "space": "wish",
    "stock": "wish",
    "priced": "definition",
    "listed": "wish",
    "budget": "wish",
}


def test_the_registry_has_the_limits_by_hand_and_their_kinds() -> None:
    assert {name: " ".join(limit.kinds) for name, limit in LIMITS.items()} == LIMITS_BY_HAND


def test_a_reserve_is_named_where_there_is_one() -> None:
    """A limit with a reserve names a reserve of the job that has a default; a safety limit without one has none."""
    for limit in LIMITS.values():
        if "reserve" in limit.kinds:
            assert f"reserve.{limit.reserve}" in DEFAULTS, limit.name
        elif limit.reserve is not None:
            assert (limit.name, limit.reserve) == ("tracker-current", "current")  # its 1.25 is the code's, never less


def test_only_definitions_are_never_left_out() -> None:
    """What the search cannot do without is a definition: a person is never told that it could be loosened."""
    assert {LIMITS_BY_HAND[name] for name in named(lambda limit: limit.essential)} == {"definition"}


def test_the_page_of_the_rules_is_the_registrys() -> None:
    assert RULES.read_text(encoding="utf-8") == rules_page()


@pytest.mark.parametrize("name", LIMITS_BY_HAND)
def test_the_page_has_a_row_for_each_limit(name: str) -> None:
    """With its name, its kinds, its meaning and its source; as many cells as the heading."""
    rows = [line for line in RULES.read_text(encoding="utf-8").splitlines() if line.startswith(f"| `{name}` |")]
    assert len(rows) == 1
    cells = [cell.strip() for cell in rows[0].strip("|").split("|")]
    assert len(cells) == len(COLUMNS)
    assert cells[COLUMNS.index("kind")].split(", ") == LIMITS_BY_HAND[name].split()
    assert cells[COLUMNS.index("meaning")] and cells[COLUMNS.index("source")] and cells[COLUMNS.index("what mends it")]


def test_the_command_lists_the_same_limits_in_the_same_order() -> None:
    rows = [line for line in limits_list().splitlines() if line and not line.startswith(" ")]
    listed = [line.split()[0] for line in rows if line.split()[0] in LIMITS_BY_HAND]
    assert listed == list(LIMITS)


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.name)
def test_pages_made_from_the_code_are_as_it_is(path: Path) -> None:
    """The table of packages and the page of the public names."""
    assert path.read_text(encoding="utf-8") == PAGES[path](), "python -m tests.renew writes it anew"
