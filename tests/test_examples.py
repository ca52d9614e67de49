"""Every example is run as a user runs it, from another folder, and compared with the answer kept beside it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.command_line import ROOT, spawned

EXAMPLES = sorted(path.parent for path in ROOT.glob("examples/*/job.toml"))
IMPOSSIBLE = {"impossible-mill"}  # why nothing fits takes long to say


def test_there_are_four_examples_and_one_cannot_be_met() -> None:
    assert len(EXAMPLES) >= 4
    assert {example.name for example in EXAMPLES} >= IMPOSSIBLE


@pytest.mark.parametrize(
    "example",
    [pytest.param(one, id=one.name, marks=[pytest.mark.thorough] * (one.name in IMPOSSIBLE)) for one in EXAMPLES],
)
def test_the_answer_is_the_one_kept_beside_the_job(example: Path, tmp_path: Path) -> None:
    done = spawned("pick", str(example / "job.toml"), cwd=tmp_path)
    assert done.returncode == (1 if example.name in IMPOSSIBLE else 0), done.stderr
    assert done.stdout == (example / "expected.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.name)
def test_the_hand_derivation_agrees_with_the_answer(example: Path) -> None:
    """Every figure that the README marks with two stars stands in the answer kept beside it."""
    readme = (example / "README.md").read_text(encoding="utf-8")
    answer = (example / "expected.txt").read_text(encoding="utf-8")
    marked = readme.split("**")[1::2]
    assert marked, "no figure is marked"
    flat = " ".join(answer.split())
    assert [figure for figure in marked if figure not in flat] == []
