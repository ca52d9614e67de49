"""Whatever a file holds, it is read, or refused in the product's own words: nothing else is ever raised.

A seed gives the same file every time; a failure prints it whole. Most files go to the readers, which is quick; a share
goes through a whole command, whose exit code may then be 0, 1, 2 or 3 and nothing else.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from random import Random

import numpy as np
import pytest

from catalog import reader
from catalog.fast_path import read_fast
from catalog.price_age import MaxAge, aged
from catalog.reader import Catalog, read_catalog, read_price_list
from catalog.schema import TableSpec
from catalog.sheet import read_carefully, read_sheet
from catalog.sheet_data import CsvSheet, SheetReading
from catalog.tables import TABLES
from optimizer import answers
from optimizer.answers.refreshed_job import OldAnswer, up_to_date
from optimizer.bundles.bundle_file import read_bundle
from optimizer.bundles.kept_answer import read_kept_file, sealed
from optimizer.commands.failures import fault_words
from optimizer.commands.inputs import named_catalog
from optimizer.commands.job_folder import is_job
from optimizer.inputs.job import Job
from optimizer.inputs.job_reader import check_job, check_names, read_job
from optimizer.vocabulary.problems import InputError, Problem
from optimizer.writing.text.audit import verdict_page
from optimizer.writing.words.problems import problems_text
from tests.command_line import run
from tests.mutated_files import CSV, JSON, TOML, Change, mutated, scale_cell, scale_value
from tests.refresh_helpers import SMALL_JOB
from tests.small_files import CATALOG, JOB, write_catalog

OFFER = (Path(__file__).parent / "data" / "offers" / "dealer.toml").read_text(encoding="utf-8")
OFFER = OFFER.replace("of-panel", "pn-410").replace("of-battery", "bt-280")
GOOD_OFFER = OFFER.split("[part.converter]")[0].replace("[models]", '[models]\nconverter = "cv-8k"')
GOOD_OFFER += '[starters]\n"bore pump" = "st-1"\n'
BOM = b"\xef\xbb\xbf"
CODES = (0, 1, 2, 3)  # answered, no bundle, wrong input, stopped: whatever else a command ends with is a fault of it

Files = Sequence[tuple[bytes, Sequence[Change]]]


def groups(quick: int, thorough: int, size: int) -> pytest.MarkDecorator:
    """The seeds of a test in groups: the first ``quick`` of them by default, the others where thorough."""
    every = [range(start, start + size) for start in range(0, thorough, size)]
    marks = [() if seeds.stop <= quick else pytest.mark.thorough for seeds in every]
    named = [f"{seeds.start}-{seeds.stop - 1}" for seeds in every]
    return pytest.mark.parametrize(
        "seeds",
        [pytest.param(seeds, id=name, marks=mark) for seeds, name, mark in zip(every, named, marks, strict=True)],
    )  # fmt: skip


def each_of(seeds: Sequence[int], what: str, files: Files, look: Callable[[bytes, Random], None]) -> None:
    """Look at the file of each seed, and print the file where that raises anything; one file for each place."""
    faults: dict[str, str] = {}
    for seed in seeds:
        rng = Random(f"{what} {seed}")
        base, own = rng.choice(files)
        data = mutated(base, rng, own)
        try:
            look(data, rng)
        except Exception as error:
            faults.setdefault(fault_words(error).split(":")[0], f"{what} {seed}: {fault_words(error)}\n{data!r}")
    assert not faults, "\n".join(faults.values())


def refused(problems: Sequence[Problem]) -> None:
    """Hold that a refusal says something."""
    assert problems
    assert problems_text(problems, 1).strip()


def alike(one: CsvSheet, other: SheetReading) -> None:
    """Hold that both roads read the same."""
    assert not other.problems
    assert one.columns.keys() == other.sheet.columns.keys()
    for name, column in one.columns.items():
        np.testing.assert_array_equal(column, other.sheet.columns[name])
    assert one.row.tolist() == other.sheet.row.tolist()


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> tuple[Job, Catalog]:
    """The small job and its catalogue."""
    folder = tmp_path_factory.mktemp("small")
    path = folder / "job.toml"
    path.write_text(SMALL_JOB, encoding="utf-8")
    return read_job(path), read_catalog(write_catalog(folder / "catalog"))


# readers -----------------------------------------------------------------------------------------------------------


@groups(7000, 46_000, 1000)
def test_job_files(seeds: Sequence[int], tmp_path: Path, small: tuple[Job, Catalog]) -> None:
    path = tmp_path / "job.toml"

    def look(data: bytes, rng: Random) -> None:
        path.write_bytes(data)
        job, problems = check_job(path)
        is_job(path)
        if job is None:
            refused(problems)
            named_catalog(path)
        elif names := check_names(job, small[1]):
            refused(names)

    each_of(seeds, "job", [(JOB.encode(), TOML), (SMALL_JOB.encode(), TOML)], look)


@groups(6000, 36_000, 1000)
def test_tables(seeds: Sequence[int], tmp_path: Path) -> None:
    """Every table is read by the careful road; what the fast one takes for clean is the same there."""
    specs = {spec.file: spec for spec in TABLES.values()}

    def look_at(spec: TableSpec) -> Callable[[bytes, Random], None]:
        def look(data: bytes, rng: Random) -> None:
            data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
            found = read_sheet(data, spec, spec.file)
            if found.problems:
                refused(found.problems)
            elif fast := read_fast(data.removeprefix(BOM), spec, spec.file):
                alike(fast.sheet, read_carefully(data.removeprefix(BOM).decode(), spec, spec.file))

        return look

    for file, text in CATALOG.items():
        mine = [seed for seed in seeds if seed % len(CATALOG) == list(CATALOG).index(file)]
        each_of(mine, file, [(text.encode(), CSV)], look_at(specs[file]))


@groups(2000, 10_000, 500)
def test_catalogues(seeds: Sequence[int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One file of a catalogue is changed; the others are read once."""
    folder = write_catalog(tmp_path / "catalog")
    known: dict[tuple[bytes, str], SheetReading] = {}

    def read_once(data: bytes, spec: TableSpec, file: str) -> SheetReading:
        if data != CATALOG.get(spec.file, "").encode():
            return read_sheet(data, spec, file)
        if (data, file) not in known:
            known[data, file] = read_sheet(data, spec, file)
        return known[data, file]

    monkeypatch.setattr(reader, "read_sheet", read_once)
    for file, text in CATALOG.items():
        path = folder / file

        def look(data: bytes, rng: Random, path: Path = path) -> None:
            path.write_bytes(data)
            try:
                aged(read_catalog(folder), MaxAge(30, None, True), "prices.csv")
            except InputError as error:
                refused(error.problems)

        mine = [seed for seed in seeds if seed % len(CATALOG) == list(CATALOG).index(file)]
        each_of(mine, f"catalogue {file}", [(text.encode(), CSV)], look)
        path.write_text(text, encoding="utf-8")


@groups(1000, 6000, 1000)
def test_price_lists(seeds: Sequence[int], tmp_path: Path) -> None:
    path = tmp_path / "new.csv"

    def look(data: bytes, rng: Random) -> None:
        path.write_bytes(data)
        try:
            read_price_list(path)
        except InputError as error:
            refused(error.problems)

    each_of(seeds, "price list", [(CATALOG["prices.csv"].encode(), CSV)], look)


@pytest.fixture(scope="module")
def answer(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The kept answer of the small job."""
    folder = tmp_path_factory.mktemp("answered")
    write_catalog(folder / "catalog")
    (folder / "job.toml").write_text(SMALL_JOB, encoding="utf-8")
    assert run("refresh", folder).exit_code == 0
    return (folder / "job.answer.json").read_bytes()


@groups(2000, 10_000, 500)
def test_offers(seeds: Sequence[int], tmp_path: Path, small: tuple[Job, Catalog], answer: bytes) -> None:
    """Offers and answers as bundle files; what can be read is judged."""
    path = tmp_path / "offer.toml"

    def look(data: bytes, rng: Random) -> None:
        path.write_bytes(data)
        try:
            bundle = read_bundle(path, *small)
        except InputError as error:
            refused(error.problems)
        else:
            assert verdict_page(answers.audit(*small, [bundle]))

    each_of(seeds, "offer", [(OFFER.encode(), TOML), (GOOD_OFFER.encode(), TOML), (answer, JSON)], look)


@groups(2000, 10_000, 1000)
def test_kept_answers(seeds: Sequence[int], tmp_path: Path, small: tuple[Job, Catalog], answer: bytes) -> None:
    """Kept answers as anyone may have edited them, the half of them sealed again."""
    path = tmp_path / "job.answer.json"

    def look(data: bytes, rng: Random) -> None:
        if rng.random() < 0.5:
            try:
                content = json.loads(data)
                data = sealed(json.dumps(content), content["inputs"]).encode()
            except (ValueError, KeyError, TypeError, RecursionError):
                pass  # it is no answer any more
        path.write_bytes(data)
        kept = read_kept_file(path)
        up_to_date(kept)
        old = OldAnswer.of(kept, path, *small)
        assert old.bundle is not None or old.unreadable is not None or not kept.answered

    each_of(seeds, "kept answer", [(answer, JSON)], look)


# whole commands ----------------------------------------------------------------------------------------------------

COMMANDS: Sequence[Sequence[str]] = (
    ("pick", "job.toml", "--sheet", "page.html", "--shopping", "list.csv"),
    ("pick", "job.toml", "--json", "-", "--options", "2"),
    ("pick", "job.toml", "--one-seller"),
    ("why", "job.toml"),
    ("why", "job.toml", "--not", "pn-300"),
    ("afford", "job.toml", "--budget", "9000"),
    ("afford", "job.toml", "--most", "water", "--to", "110"),
    ("audit", "job.toml", "offer.toml", "--sheet", "page.html"),
    ("audit", "job.toml", "job.answer.json"),
    ("refresh", ".", "--dry-run"),
    ("refresh", ".", "--page", "pages.html"),
    ("prices", "old.csv", "catalog/prices.csv", "--jobs", "."),
    ("prices", "--lists", "lists", "job.toml"),
    ("catalog", "check"),
    ("catalog", "show"),
)


@groups(200, 4000, 200)
def test_whole_commands(seeds: Sequence[int], tmp_path: Path, answer: bytes) -> None:
    """One file of a folder with everything in it is changed, mostly so that it may still be read, and a command run."""
    base = {f"catalog/{name}": text.encode() for name, text in CATALOG.items()}
    base |= {"job.toml": SMALL_JOB.encode(), "offer.toml": OFFER.encode(), "job.answer.json": answer}
    base |= {"old.csv": base["catalog/prices.csv"], "lists/a.csv": base["catalog/prices.csv"]}
    base |= {"lists/b.csv": base["catalog/prices.csv"].replace(b"139.00", b"239.00")}
    forms: dict[str, Sequence[Change]] = {".csv": (scale_cell,), ".toml": (scale_value,), ".json": JSON}
    faults: dict[str, str] = {}
    for seed in seeds:
        rng = Random(f"command {seed}")
        command = rng.choice(COMMANDS)
        name = rng.choice(["job.toml", *base])
        own = forms[Path(name).suffix]
        data = base[name]
        for _ in range(rng.randint(1, 4)):
            data = rng.choice(own)(data, rng)
        folder = tmp_path / str(seed)
        for file, content in (base | {name: data}).items():
            (folder / file).parent.mkdir(parents=True, exist_ok=True)
            (folder / file).write_bytes(content)
        result = run(*command, cwd=folder)
        said = result.stdout + result.stderr
        wrong = "" if isinstance(result.exception, SystemExit | None) else fault_words(result.exception)
        if wrong or result.exit_code not in CODES or "Traceback" in said or "A fault of" in said:
            told = f"command {seed}, {' '.join(command)}: exit {result.exit_code} {wrong}\n{said[-600:]}\n"
            told += f"{name}: {data!r}"
            faults.setdefault(wrong.split(":")[0] or said, told)
    assert not faults, "\n".join(faults.values())


# what they found ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("key", ["bank", "models", "counts", "strings", "purchases", "freight"])
def test_a_null_in_an_answer_is_as_if_it_were_not_there(
    key: str, tmp_path: Path, small: tuple[Job, Catalog], answer: bytes
) -> None:
    """A null under a table that must be there was read as nothing wrong, and the refusal named no problem."""
    path = tmp_path / "offer.json"
    said: list[str] = []
    for null in (True, False):
        content = json.loads(answer)
        stated = content["bundles"][0][key]
        tables = [dict.fromkeys(table if null else ()) for table in (stated if isinstance(stated, list) else [stated])]
        content["bundles"][0][key] = tables if isinstance(stated, list) else tables[0]
        path.write_text(json.dumps(content), encoding="utf-8")
        try:
            said.append(repr(read_bundle(path, *small)))
        except InputError as error:
            refused(error.problems)
            said.append(problems_text(error.problems, 1))
    assert said[0] == said[1]


@pytest.mark.parametrize("word", ["true", "TRUE"])
def test_a_column_of_nothing_but_true_is_no_column_of_numbers(word: str) -> None:
    """Where every figure of a column was "true" it was read as 1."""
    spec = TABLES["starter"]
    found = read_sheet(CATALOG[spec.file].replace(",16,0.5", f",{word},0.5").encode(), spec, spec.file)
    assert [(problem.kind.id, problem.place.cell) for problem in found.problems] == [("not-a-number", word)]


def test_a_mark_before_the_first_row_is_part_of_its_cell() -> None:
    """The quick road took it for the mark that a file begins with, where a longer file kept it."""
    spec = TABLES["seller"]
    data = CATALOG[spec.file].replace("north,", "\ufeff\ufeffnorth,").encode()
    found, fast = read_carefully(data.decode(), spec, spec.file), read_fast(data, spec, spec.file)
    assert fast is None
    assert found.sheet.columns["seller"][0] == "\ufeff\ufeffnorth"
