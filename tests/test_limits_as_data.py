"""A limit is an entry of the registry and two computing places: a made-up one is searched for, audited, explained,
listed and drawn with nothing else touched.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from catalog.rows import BatteryColumn
from optimizer.auditor import bank as audited_bank
from optimizer.auditor.figures import BundleFigures
from optimizer.auditor.reading import Reading
from optimizer.candidates import banks as bank_candidates
from optimizer.candidates.banks import Banks
from optimizer.candidates.converters import Inverter
from optimizer.candidates.terms import Setting
from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS
from optimizer.rules.limits import LIMITS
from optimizer.rules.limits.limit import Limit
from tests.command_line import run
from tests.mutations.change import everywhere
from tests.small_files import JOB, write_job

ROOT = Path(__file__).parent.parent
MADE_UP = "bank-spare"
STRINGS = 3.0

# Modules that compute a limit, or read one limit's own figure for one sentence; everything else reads the registry.
# A name here that is a key of the job, a table or a column too ("space", "listed") counts as one of those.
COMPUTE = {
    "optimizer/rules/limits", "optimizer/auditor", "optimizer/candidates", "optimizer/costs/market.py",
    "optimizer/costs/tank_bounds.py", "optimizer/search/plans.py", "optimizer/search/lower_bounds.py",
    "optimizer/explain/rejections.py",
}  # fmt: skip
ALSO_WORDS = {"allowed", "autonomy", "budget", "listed", "space", "stock"}  # of the job, the catalogue and JSON


@pytest.fixture
def made_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """The made-up limit, for the length of a test."""
    make_up(monkeypatch)


def make_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """At least three bank strings, known to the registry, the auditor and the candidates alone."""
    limit = Limit(
        name=MADE_UP,
        meaning="enough bank strings stand side by side",
        unit="strings",
        sense="at least",
        kinds=("safety",),
        source="made up for this test",
        mend="one more bank string",
        working="{parallel:count} in parallel",
        formula="bank strings in parallel, at least so many",
        narrows="bank",
        behind_ideal=True,
        slack=True,
        offer="batteries of which {more} fewer will do",
        cure=("bank", 1),
    )
    monkeypatch.setitem(LIMITS, MADE_UP, limit)
    readings, banks = audited_bank.bank_readings, bank_candidates.banks

    def read(f: BundleFigures) -> Iterator[Reading]:
        yield from readings(f)
        strings = float(f.bundle.bank_parallel)
        yield Reading(MADE_UP, strings, STRINGS, strings, STRINGS, "", {"parallel": f.bundle.bank_parallel})

    def narrowed(batteries: Mapping[BatteryColumn, np.ndarray], inverter: Inverter, setting: Setting) -> Banks:
        found = banks(batteries, inverter, setting)
        if not setting.keeps(MADE_UP):
            return found
        least = STRINGS - setting.slack(MADE_UP)
        parallel = np.maximum(found.parallel, least)
        return replace(found, parallel=parallel, fits=found.fits & (parallel <= batteries["max_parallel"]))

    monkeypatch.setattr(audited_bank, "bank_readings", read)
    everywhere(monkeypatch, bank_candidates, "banks", narrowed)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A small job whose cheapest bundle has two strings of bt-200, at 11,364.00; one more costs 1,690.00."""
    return write_job(tmp_path, JOB.replace("budget = 9500", "budget = 30000") + '\n[allow]\nchemistries = ["lfp"]\n')


def test_a_made_up_limit_decides_the_pick(job: Path, made_up: None, tmp_path: Path) -> None:
    page = tmp_path / "answer.html"
    picked = run("pick", str(job), "--options", "1", "--all", "--page", str(page))
    assert picked.exit_code == ANSWERED, picked.stderr
    assert "$13,054.00 delivered" in picked.stdout
    assert "3 bt-200" in picked.stdout
    row = next(line for line in picked.stdout.splitlines() if line.split()[:1] == [MADE_UP])
    assert row.split() == [MADE_UP, "3", "3", "0.0", "%"]
    assert "bank strings in parallel, at least so many" in page.read_text(encoding="utf-8")


def test_a_made_up_limit_is_explained(job: Path, made_up: None) -> None:
    told = run("why", str(job))
    assert told.exit_code == ANSWERED, told.stderr
    said = " ".join(told.stdout.split())
    assert f"{MADE_UP} enough bank strings" in said or f"{MADE_UP} 3 in parallel" in said  # in the smallest proof
    assert f"{MADE_UP} batteries of which 1 1,690.00 2 bt-200 string fewer will do" in said  # a table: its cells fold


def test_a_made_up_limit_is_audited_and_listed(job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    answer = tmp_path / "answer.json"
    assert run("pick", str(job), "--json", str(answer)).exit_code == ANSWERED
    with monkeypatch.context() as patch:
        make_up(patch)
        judged = run("audit", str(job), f"{answer}#1")
        listed = run("limits")
    said = " ".join(judged.stdout.split())
    assert judged.exit_code == NOTHING_MEETS
    assert f"FAIL {MADE_UP} 2 in parallel = 2, below 3" in said
    assert "3 batteries in parallel would do" in said
    assert "Mend: one more bank string." in said
    assert MADE_UP in [line.split()[0] for line in listed.stdout.splitlines() if line]


def names_in(path: Path) -> set[str]:
    """Limits whose names stand in a module as literals."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return {node.value for node in ast.walk(tree) if isinstance(node, ast.Constant) and node.value in LIMITS}


def test_only_computing_places_name_limits() -> None:
    """Elsewhere a limit or two is named, for the sake of its own figure: nobody lists limits beside the registry."""
    for path in sorted((ROOT / "optimizer").rglob("*.py")):
        place = path.relative_to(ROOT).as_posix()
        if not any(place.startswith(known) for known in COMPUTE):
            assert len(names_in(path) - ALSO_WORDS) <= 2, f"{place}: {sorted(names_in(path))}"
