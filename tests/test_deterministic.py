"""The same bytes whatever does not matter: order of rows and columns, line ends, hash seed, solver, Python version."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

from catalog.reader import read_catalog, shipped_catalog
from optimizer.answers.answer import audited
from optimizer.explain.explanation import beside_pick
from optimizer.explain.resolve import Resolver
from optimizer.explain.resolve import Scenario as Assumed
from optimizer.inputs.job_reader import read_job
from optimizer.search.branch_and_bound import pick
from optimizer.writing.data.answer_json import document
from tests.brute.instances import mutate_rows, write_instance
from tests.seeds import by_seeds

ROOT = Path(__file__).parent.parent
SEEDS = range(40)
BY_SEEDS = by_seeds(SEEDS, 10)
EXAMPLES = sorted(path.name for path in (ROOT / "examples").iterdir() if (path / "job.toml").is_file())
BY_EXAMPLE = pytest.mark.parametrize("example", EXAMPLES)
OTHER_PYTHON = "BOREWATT_OTHER_PYTHON"  # another Python, with this project's packages and those of its tests
PLACE = re.compile(r"\b[Rr]ow [0-9]+(, columns? [A-Z]+)?")
SEVERAL = 3  # distinct bundles of each answer

Case = tuple[Path, Path]  # catalogue, job

# what another process does: it reads pairs of paths and writes the answers, as JSON lists both
ANSWERS = """
import json, sys
from pathlib import Path
from tests.test_deterministic import answer
cases = json.load(sys.stdin)
json.dump([answer((Path(folder), Path(job))) for folder, job in cases], sys.stdout)
"""


def answer(case: Case, solver: str = "highs") -> str:
    """The JSON answer of ``borewatt pick``, without the digest of the catalogue's files."""
    catalog, job = read_catalog(case[0]), read_job(case[1])
    found = pick(catalog, job, SEVERAL, solver=solver)
    text = document(audited(catalog, job, found, beside_pick(Resolver(Assumed(job, catalog), solver), found)))
    assert text.count(catalog.digest) == 1
    return text.replace(catalog.digest, "")


def elsewhere(cases: Sequence[Case], python: str, **environment: str) -> list[str]:
    """The answers that another process gives."""
    done = subprocess.run(
        [python, "-c", ANSWERS], input=json.dumps([[str(path) for path in case] for case in cases]),
        env={**os.environ, **environment}, cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    told: list[str] = json.loads(done.stdout)
    return told


def drawn(folder: Path, seeds: range) -> list[Case]:
    """The random small catalogues and jobs of these seeds."""
    return [write_instance(folder / str(seed), seed) for seed in seeds]


def shipped(example: str) -> Case:
    """An example on the catalogue that travels with the tool."""
    return shipped_catalog(), ROOT / "examples" / example / "job.toml"


def shuffled(case: Case, folder: Path, seed: int) -> Case:
    """A copy with rows and columns in another order and CRLF line ends, in the job too."""
    mixed = shutil.copytree(case[0], folder / "catalog")
    mutate_rows(mixed, seed)
    job = folder / case[1].name
    job.write_bytes(case[1].read_bytes().replace(b"\r\n", b"\n").replace(b"\n", b"\r\n"))
    return mixed, job


def unplaced(text: str) -> str:
    """An answer whose warnings name no row and no column: that is where a thing stands, and it was moved."""
    told = json.loads(text)
    told["warnings"] = sorted(PLACE.sub("row", warning) for warning in told["warnings"])
    return json.dumps(told, indent=1)


@pytest.mark.thorough
def test_the_answers_differ(tmp_path: Path) -> None:
    """What is compared below says something: other parts, totals and limits from job to job."""
    assert len({answer(case) for case in drawn(tmp_path, SEEDS[:10])}) == 10


@BY_SEEDS
def test_rows_columns_and_line_ends(tmp_path: Path, seeds: range) -> None:
    for case, seed in zip(drawn(tmp_path / "drawn", seeds), seeds, strict=True):
        expected = answer(case)
        for turn in range(2):
            mixed = shuffled(case, tmp_path / f"{seed}-{turn}", 1000 * turn + seed)
            assert any(one.read_bytes() != (case[0] / one.name).read_bytes() for one in mixed[0].iterdir())
            assert unplaced(answer(mixed)) == unplaced(expected), seed


@BY_EXAMPLE
@pytest.mark.thorough
def test_rows_columns_and_line_ends_of_the_shipped_catalogue(tmp_path: Path, example: str) -> None:
    case = shipped(example)
    assert unplaced(answer(shuffled(case, tmp_path, 7))) == unplaced(answer(case))


@pytest.mark.thorough
def test_another_hash_seed(tmp_path: Path) -> None:
    cases = [*drawn(tmp_path, SEEDS), *map(shipped, EXAMPLES)]
    told = [elsewhere(cases, sys.executable, PYTHONHASHSEED=seed) for seed in ("0", "4242")]
    assert told[0] == told[1] == [answer(case) for case in cases]


@BY_SEEDS
def test_the_other_solver(tmp_path: Path, seeds: range) -> None:
    for case, seed in zip(drawn(tmp_path, seeds), seeds, strict=True):
        assert answer(case, "cbc") == answer(case), seed


@BY_EXAMPLE
@pytest.mark.thorough
def test_the_other_solver_on_the_shipped_catalogue(example: str) -> None:
    assert answer(shipped(example), "cbc") == answer(shipped(example))


@pytest.mark.skipif(OTHER_PYTHON not in os.environ, reason=f"{OTHER_PYTHON} names no other Python to compare with")
@pytest.mark.thorough
def test_another_python(tmp_path: Path) -> None:
    cases = [*drawn(tmp_path, SEEDS), *map(shipped, EXAMPLES)]
    assert elsewhere(cases, os.environ[OTHER_PYTHON]) == [answer(case) for case in cases]
