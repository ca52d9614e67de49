"""Each error is caught: its hand-worked case holds on the product and does not hold with the error in it."""

from __future__ import annotations

import pytest

from tests.mutations.cases_bank import CASES as BANK
from tests.mutations.cases_climate import CASES as CLIMATE
from tests.mutations.cases_defaults import CASES as DEFAULTS
from tests.mutations.cases_loads import CASES as LOADS
from tests.mutations.cases_money import CASES as MONEY
from tests.mutations.cases_motors import CASES as MOTORS
from tests.mutations.cases_refusals import CASES as REFUSALS
from tests.mutations.cases_strings import CASES as STRINGS
from tests.mutations.change import Case

CASES = (*LOADS, *MOTORS, *STRINGS, *BANK, *CLIMATE, *MONEY, *DEFAULTS, *REFUSALS)
REL = 1e-9  # the figures are worked out exactly; only the last binary digits may differ


def test_every_error_has_a_name_of_its_own() -> None:
    names = [case.name for case in CASES]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name.replace(" ", "-"))
def test_error_is_caught(case: Case, monkeypatch: pytest.MonkeyPatch) -> None:
    assert case.see() == pytest.approx(case.expect, rel=REL)
    case.mutate(monkeypatch)
    assert case.see() != pytest.approx(case.expect, rel=REL)
