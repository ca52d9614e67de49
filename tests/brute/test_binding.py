"""Each limit and figure of the law decides in some drawn instances: without it their cheapest bundle is another."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.brute import loads, parts, rules
from tests.brute.force import cheapest, nodes_of
from tests.brute.instances import write_instance
from tests.brute.parts import Converter, Parts, read_parts
from tests.brute.reading import INFINITE, Job, read_job

pytestmark = pytest.mark.thorough
LEAST = 5  # instances that each decides in
INSTANCES = [(seed, False) for seed in range(300)] + [(seed, True) for seed in range(400)]
Changed = Callable[[Parts, Job], tuple[Parts, Job]]

LEFT_OUT = ("phases", "start-volts", "bank-freeze", "bank-heat", "space")


def bank_amps_without_idle(watts: float, converter: Converter, u: int, low_v: float) -> float:
    return watts / converter.efficiency / low_v


# What a rule counts, taken away by a change of the parts or of the job.
CHANGED: dict[str, Changed] = {
    "heat of a rack": lambda these, job: (replace(these, racks=[replace(one, heat_c=0.0) for one in these.racks]), job),
    "coefficient of Vmp": lambda these, job: (
        replace(these, panels=[replace(one, vmp_pct_per_c=one.pmax_pct_per_c) for one in these.panels]),
        job,
    ),
    "no tank unless allowed": lambda these, job: (these, replace(job, max_tanks=10**6)),
    "least volts of a motor": lambda these, job: (
        these,
        replace(job, loads=[replace(one, start_volts_least=None) for one in job.loads]),
    ),
    "losses of a drive": lambda these, job: (
        replace(these, starters=[replace(one, efficiency=1.0, input_power_factor=1.0) for one in these.starters]),
        job,
    ),
    "volts of a tap": lambda these, job: (
        replace(
            these,
            starters=[
                replace(one, start_volts=one.start_factor) if one.kind == "tap" else one for one in these.starters
            ],
        ),
        job,
    ),
    "cold lead-acid": lambda these, job: (
        replace(
            these,
            batteries=[
                replace(one, capacity_pct_per_c=1.0)
                if one.chemistry in rules.LEAD_ACID and one.capacity_pct_per_c == parts.LEAD_ACID_FADE
                else one
                for one in these.batteries
            ],
        ),
        job,
    ),
}
# The same, taken away from the rules themselves: a name of a module and what stands in its place.
PATCHED: dict[str, tuple[Any, str, Any]] = {
    "fuses of IEC 60269": (rules, "FUSES_A_AT_50_HZ", rules.FUSES_A),
    "idle draw in the bank's amps": (rules, "bank_amps", bank_amps_without_idle),
    "resistance of an old cold bank": (rules, "AGED_COLD_RESISTANCE", 1.0),
    "root 3 of three phases": (loads, "ROOT_3", 1.0),
    "heat of a rack in usable power": (rules, "power_when_hot", lambda job, panel, _: panel.pmax_w * job.array_factor),
}


def least(these: Parts, job: Job, **terms: Any) -> Decimal | float:
    found = cheapest(nodes_of(these, job, **terms))
    return INFINITE if found is None else found[1].total


def decided(these: Parts, job: Job, patch: pytest.MonkeyPatch) -> Iterator[str]:
    """What decides in one instance."""
    total = least(these, job)
    for name in LEFT_OUT:
        if least(these, job, without=frozenset({name})) != total:
            yield name
    for name, change in CHANGED.items():
        other = change(these, job)
        if other != (these, job) and least(*other) != total:
            yield name
    for name, (module, attribute, value) in PATCHED.items():
        with patch.context() as patched:
            patched.setattr(module, attribute, value)
            if least(these, job) != total:
                yield name


def test_each_decides_in_some_instances(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    found: Counter[str] = Counter()
    for seed, starters in INSTANCES:
        catalog, job = write_instance(tmp_path / f"{seed} {starters}", seed, starters=starters)
        found.update(decided(read_parts(catalog), read_job(job), monkeypatch))
    few = {name: found[name] for name in (*LEFT_OUT, *CHANGED, *PATCHED) if found[name] < LEAST}
    assert not few
