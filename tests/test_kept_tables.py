"""Tables kept from one search to the next hang on no limit that is not in their key."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import pytest

from catalog.reader import Catalog, read_catalog
from optimizer.candidates.banks import Banks, banks
from optimizer.candidates.converters import Inverters, converter_entries
from optimizer.candidates.plan import Plan
from optimizer.candidates.rows import TableRows
from optimizer.candidates.strings import Strings, layouts, panel_figures, string_ranges
from optimizer.candidates.terms import Setting
from optimizer.costs.market import Market
from optimizer.costs.tank_bounds import plan_bound
from optimizer.inputs.job import Job
from optimizer.inputs.job_reader import read_job
from optimizer.search.eligible import BankTable, StringTable, bank_limits, entry_limits, plan_limits, string_limits
from optimizer.search.lower_bounds import Field
from optimizer.search.plans import plans, start_options, worth_opening
from tests.brute.instances import write_instance

ROOT = Path(__file__).parent.parent
EXAMPLES = ("hillside-nursery", "impossible-mill", "mountain-camp", "stock-water-bore")


@dataclass(frozen=True)
class Asked(Setting):
    """A setting that notes which limits it is asked for."""

    names: set[str] = field(default_factory=set)

    def keeps(self, limit: str) -> bool:
        self.names.add(limit)
        return super().keeps(limit)

    def slack(self, limit: str) -> float:
        self.names.add(limit)
        return super().slack(limit)


def asked(job: Job) -> Asked:
    base = Setting.of(job)
    return Asked(base.job, base.demand, base.terms, base.plan)


@pytest.fixture(scope="module")
def cases(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Catalog, Job]]:
    """The examples, and drawn jobs that ask for more: tanks, recovery, lead-acid."""
    shipped = read_catalog(ROOT / "catalog" / "generic")
    found = [(shipped, read_job(ROOT / "examples" / name / "job.toml")) for name in EXAMPLES]
    folder = tmp_path_factory.mktemp("drawn")
    for seed in range(20):
        parts, job = write_instance(folder / str(seed), seed)
        found.append((read_catalog(parts), read_job(job)))
    return found


def of_banks(catalog: Catalog, setting: Asked) -> None:
    entries = converter_entries(TableRows.of(catalog.converters), setting)
    setting.names.clear()
    banks(catalog.batteries.columns, Inverters(entries), setting)


def of_strings(catalog: Catalog, setting: Asked) -> None:
    entries, panels = converter_entries(TableRows.of(catalog.converters), setting), TableRows.of(catalog.panels)
    setting.names.clear()
    figures = panel_figures(panels.columns, setting, 3.0)
    for position in range(len(entries)):
        inverter = entries.entry(position)
        ranges = string_ranges(panels.columns, figures, inverter, setting)
        layouts(panels.figures(0), figures, 0, inverter, ranges, 0, setting)


def of_converters(catalog: Catalog, setting: Asked) -> None:
    converter_entries(TableRows.of(catalog.converters), setting)


def of_plans(catalog: Catalog, setting: Asked) -> None:
    market = Market.of(catalog, Setting.of(setting.job))  # which has a key of its own
    setting.names.clear()
    options = start_options(setting, catalog, market)
    worth_opening(setting, options, plans(setting, options, market))
    plan_bound(replace(setting, plan=Plan((), 1000.0)), market)


@pytest.mark.parametrize(
    ("make", "key"),
    [
        (of_banks, bank_limits()),
        (of_strings, string_limits()),
        (of_converters, entry_limits()),
        (of_plans, plan_limits()),
    ],
)
def test_what_a_table_asks_for_is_in_its_key(
    cases: list[tuple[Catalog, Job]], make: Callable[[Catalog, Asked], None], key: frozenset[str]
) -> None:
    names: set[str] = set()
    for catalog, job in cases:
        setting = asked(job)
        make(catalog, setting)
        names |= setting.names
    assert names, "nothing was asked for"
    assert names <= key


def test_all_at_once_is_each_by_itself(cases: list[tuple[Catalog, Job]], monkeypatch: pytest.MonkeyPatch) -> None:
    """Banks and strings behind all converters in one pass, and behind one after the other, to the last bit."""
    compared = 0
    for catalog, job in cases:
        field_of = Field.of(catalog, Setting.of(job))
        entries, heats = field_of.converters, np.unique(field_of.racks["heat_c"])
        apart = BankTable(entries, field_of.batteries, field_of.setting)
        strings = StringTable(entries.rows, field_of.panels, field_of.setting)
        with monkeypatch.context() as patch:
            patch.setattr("optimizer.search.eligible.LARGEST", -1)
            assert apart.all is None and all(strings.all(float(heat)) is None for heat in heats)
        every = np.arange(len(field_of.panels))
        for position in range(len(entries)):
            inverter = entries.entry(position)
            pairs: list[tuple[Banks | Strings, Banks | Strings]] = [
                (field_of.banks.behind(inverter), apart.behind(inverter)),
                *(
                    (field_of.strings.behind(inverter, every, heat), strings.behind(inverter, every, heat))
                    for heat in map(float, heats)
                ),
            ]
            for together, alone in pairs:
                for name in together.__dataclass_fields__:
                    assert np.array_equal(getattr(together, name), getattr(alone, name), equal_nan=True), name
                    compared += 1
    assert compared > 1000
