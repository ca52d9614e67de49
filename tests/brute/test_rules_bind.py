"""Rules that few figures come near bind in some of the random instances, so that a comparison means something for them.

Each is taken out of the brute force and the cheapest total is looked at: at least so many of the instances cost less,
or can be met at all, without it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import pytest

from tests.brute import loads, parts, rules
from tests.brute.by_hand import least
from tests.brute.instances import write_instance
from tests.brute.parts import Parts, read_parts
from tests.brute.reading import Job, read_job

pytestmark = pytest.mark.thorough
SEEDS = range(300)
ENOUGH = 5


@dataclass(frozen=True)
class Without:
    """How a rule is taken out."""

    limits: frozenset[str] = frozenset()
    patches: Mapping[tuple[Any, str], object] = field(default_factory=dict)  # (module, name) -> value
    of_parts: Callable[[Parts], Parts] = lambda same: same
    of_job: Callable[[Job], Job] = lambda same: same


def amps_of_the_load_alone(watts: float, converter: parts.Converter, _: int, low_v: float) -> float:
    return watts / converter.efficiency / low_v


RULES = {
    "bank-freeze": Without(frozenset({"bank-freeze"})),
    "bank-heat": Without(frozenset({"bank-heat"})),
    "heat of the racks": Without(
        of_parts=lambda some: replace(some, racks=[replace(one, heat_c=0.0) for one in some.racks])
    ),
    "Vmp falls faster than Pmax": Without(
        of_parts=lambda some: replace(
            some, panels=[replace(one, vmp_pct_per_c=one.pmax_pct_per_c) for one in some.panels]
        )
    ),
    "fuses at 50 Hz": Without(patches={(rules, "FUSES_A_AT_50_HZ"): rules.FUSES_A}),
    "idle draw in the bank's amps": Without(patches={(rules, "bank_amps"): amps_of_the_load_alone}),
    "resistance aged and cold": Without(patches={(rules, "AGED_COLD_RESISTANCE"): 1.0}),
    "lead-acid in the cold": Without(patches={(parts, "LEAD_ACID_FADE"): 1.0}),
}
RULES_OF_PLANS = {
    "phases": Without(frozenset({"phases"})),
    "start-volts": Without(frozenset({"start-volts"})),
    "room for tanks": Without(of_job=lambda job: replace(job, max_tanks=99)),
    "losses of drives": Without(
        of_parts=lambda some: replace(some, starters=[replace(one, efficiency=1.0) for one in some.starters])
    ),
    "three phases": Without(patches={(loads, "ROOT_3"): 1.0}),
}


def binding(
    folder: Path, some: Mapping[str, Without], *, starters: bool, monkeypatch: pytest.MonkeyPatch
) -> dict[str, int]:
    """In how many instances each rule changes the least total."""
    found = dict.fromkeys(some, 0)
    for seed in SEEDS:
        catalog, job_path = write_instance(folder / str(seed), seed, starters=starters)
        job = read_job(job_path)
        total = least((read_parts(catalog), job))
        for name, rule in some.items():
            with monkeypatch.context() as patched:
                for (module, attribute), value in rule.patches.items():
                    patched.setattr(module, attribute, value)
                loose = rule.of_parts(read_parts(catalog)), rule.of_job(job)
                found[name] += least(loose, without=rule.limits) != total
    return found


@pytest.mark.parametrize(("some", "starters"), [(RULES, False), (RULES_OF_PLANS, True)], ids=["plain", "starters"])
def test_each_rule_binds(
    tmp_path: Path, some: Mapping[str, Without], starters: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = binding(tmp_path, some, starters=starters, monkeypatch=monkeypatch)
    assert not {name: count for name, count in found.items() if count < ENOUGH}, found
