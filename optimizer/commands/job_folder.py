"""A folder of jobs: which files are jobs, and what each rests on: its catalogue and the answer kept beside it."""

from __future__ import annotations

import errno
import os
import re
import tomllib
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from fnmatch import fnmatch
from pathlib import Path

from catalog.price_age import MaxAge, aged
from catalog.reader import Catalog, read_catalog
from optimizer.answers.changed_prices import Buyers
from optimizer.answers.refreshed_job import JobReport, JobStatus, OldAnswer, up_to_date
from optimizer.bundles.kept_answer import Kept, inputs_of, read_kept_file
from optimizer.commands import output
from optimizer.commands.inputs import catalog_folder, named_catalog, price_file
from optimizer.commands.workers import Task
from optimizer.inputs.job_reader import LARGEST_JOB, check_job, check_names
from optimizer.vocabulary.bounded_files import file_fault, read_bounded, read_start
from optimizer.vocabulary.problems import InputError, Place, Problem

ANSWER = ".answer.json"  # behind a job's name
PAGE = ".answer.html"
LARGEST_PAGE = 50_000_000  # bytes; a page has some hundred thousand
USUAL = "job.toml"  # a job of this name is called by its folder
# an answer or a page whose writing was cut off
LEFTOVERS = tuple(output.NEIGHBOUR.format(name=f"*{end}", process="*") for end in (ANSWER, PAGE))
HEADINGS = (re.compile(r"^\s*\[\s*site\s*\]", re.MULTILINE), re.compile(r"^\s*\[\[\s*load\s*\]\]", re.MULTILINE))


@dataclass(frozen=True)
class JobFile:
    """One job: its file, the same below the folder, and what it is called for short."""

    path: Path
    file: str
    name: str

    @property
    def answer(self) -> Path:
        """Where its answer is kept."""
        return self.path.with_name(self.path.stem + ANSWER)

    @property
    def page(self) -> Path:
        """Where the answer stands as a page."""
        return self.path.with_name(self.path.stem + PAGE)

    def page_shows(self, kept: Kept) -> bool:
        """Whether its page is there, and of this answer."""
        try:
            return kept.seal.encode() in read_bounded(self.page, LARGEST_PAGE)
        except OSError:
            return False


@dataclass(frozen=True)
class Folder:
    """All jobs below a folder in the order of their paths, how many other ``.toml`` files there are, folders that could
    not be looked into, and what killed processes left of answers and pages."""

    path: Path
    jobs: tuple[JobFile, ...]
    others: int
    shut: tuple[JobReport, ...]
    leftovers: tuple[Path, ...]


def jobs_below(folder: Path) -> Folder:
    """Look through a folder and all below it; folders whose name begins with a point are left out."""
    paths: list[Path] = []
    leftovers: list[Path] = []
    others: list[Path] = []
    shut: list[JobReport] = []

    def refused(error: OSError) -> None:
        where = Path(error.filename)
        problem = file_fault(error).at(Place(str(where)))
        inside = where.relative_to(folder).as_posix()
        shut.append(JobReport(inside, inside, problems=(problem,)))

    for root, folders, files in os.walk(folder, onerror=refused):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for path in (Path(root) / name for name in files):
            if any(fnmatch(path.name, leftover) for leftover in LEFTOVERS):
                leftovers.append(path)
            elif path.suffix == ".toml":
                (paths if is_job(path) else others).append(path)
    paths.sort(key=lambda path: path.relative_to(folder).as_posix())
    return Folder(folder, tuple(_named(folder, paths)), len(others), tuple(shut), tuple(leftovers))


def _named(folder: Path, paths: list[Path]) -> list[JobFile]:
    inside = [path.relative_to(folder) for path in paths]
    short = [
        (path.parent if path.name == USUAL and path.parent != Path() else path.with_suffix("")).as_posix()
        for path in inside
    ]
    return [
        JobFile(path, below.as_posix(), name if short.count(name) == 1 else below.as_posix())
        for path, below, name in zip(paths, inside, short, strict=True)
    ]


def is_job(path: Path) -> bool:
    """Whether a file means to be a job: it has a ``[site]`` and a ``[[load]]``, though it may not be sound TOML."""
    try:
        data = read_start(path, LARGEST_JOB)
    except OSError:
        return True  # nobody can say; whoever reads it says why it cannot be read
    text = data.replace(b"\0", b"").decode("utf-8-sig", errors="replace")  # of UTF-16 too the headings remain
    try:
        content = tomllib.loads(text)
    except (ValueError, RecursionError):
        return all(heading.search(text) for heading in HEADINGS)
    return "site" in content and "load" in content


class Catalogs:
    """The catalogues of a folder's jobs, each read once."""

    def __init__(self, given: Path | None, prices: Path | None, age: MaxAge | None) -> None:
        self.given, self.prices, self.age = given, prices, age
        self.read: dict[str, Catalog] = {}
        self.refused: dict[str, InputError] = {}

    def of(self, job: Path, named: str | None) -> tuple[str, Catalog]:
        """The catalogue of a job and the folder it was read from. Raises InputError, for each of its jobs the same."""
        folder = str(catalog_folder(job, self.given, named))
        if folder in self.refused:
            raise self.refused[folder]
        if folder not in self.read:
            try:
                found = read_catalog(folder, self.prices)
            except InputError as error:
                self.refused[folder] = error
                raise
            self.read[folder] = aged(found, self.age, price_file(self.prices))
        return folder, self.read[folder]


@dataclass(frozen=True)
class Given:
    """A job that is to be answered again, and the folder of its catalogue."""

    file: JobFile
    catalog: str
    task: Task


def given(file: JobFile, catalogs: Catalogs, options: int, page: bool = False) -> Given | JobReport:
    """What a job rests on; what is told of it where it is up to date already (its page too, if ``page`` is wanted), or
    where something is wrong."""
    job, problems = check_job(file.path)
    named = job.catalog if job is not None else named_catalog(file.path)
    try:
        where, catalog = catalogs.of(file.path, named)
    except InputError as error:
        return JobReport(file.file, file.name, job, problems=(*problems, *error.problems))
    if job is None or (problems := check_names(job, catalog)):
        return JobReport(file.file, file.name, job, problems=problems)
    inputs = inputs_of(job, catalog, options, catalogs.age)
    try:
        kept = read_kept_file(file.answer)
    except FileNotFoundError:
        return Given(file, where, Task(job, options, inputs, page=page))
    except OSError as error:
        return JobReport(file.file, file.name, job, problems=(file_fault(error).at(Place(str(file.answer))),))
    if kept.rests_on(inputs) and (not page or file.page_shows(kept)):
        return JobReport(file.file, file.name, job, up_to_date(kept))
    before = OldAnswer.of(kept, file.answer, job, catalog)
    return Given(file, where, Task(job, options, inputs, before, page))


def kept_orders(jobs: Iterable[JobFile]) -> Buyers:
    """What the kept answers of jobs buy: the first bundle of each."""
    of_part: dict[str, tuple[str, ...]] = {}
    answered: list[str] = []
    without: list[str] = []
    for file in jobs:
        order = None
        with suppress(OSError):
            order = read_kept_file(file.answer).order
        (without if order is None else answered).append(file.name)
        for purchase in order.purchases if order is not None else ():
            if purchase.lines:
                of_part[purchase.part] = (*of_part.get(purchase.part, ()), file.name)
    return Buyers(of_part, len(answered), tuple(without))


def refused_targets(folder: Path, tasks: Iterable[Given], taken: Iterable[Path]) -> dict[str, Problem]:
    """Of which jobs no answer can be written, by the job's file: nothing need be solved for these. ``taken``: what is
    read or written besides."""
    refused: dict[str, Problem] = {}
    ends = {Path(os.path.realpath(path)) for path in taken}
    for each in tasks:
        for path in (each.file.answer, each.file.page) if each.task.page else (each.file.answer,):
            try:
                output.check_place(path, folder)
                end = Path(os.path.realpath(path))
                if end in ends:
                    raise output.LinkedOutError(errno.EPERM, os.strerror(errno.EPERM))
                ends.add(end)
            except OSError as error:
                refused.setdefault(each.file.file, output.unwritable_fault(error).at(Place(str(path))))
    return refused


def write_answer(folder: Path, told: JobReport, file: JobFile, text: str, page: str = "") -> JobReport:
    """Keep the answer of a job beside it, and its page where there is one; what is told of the job, with the problem
    where one cannot be written."""
    for path, content in ((file.answer, text), (file.page, page)):
        try:
            if content:
                output.replace_whole(path, content, folder)
        except OSError as error:
            return replace(told, problems=(output.unwritable_fault(error).at(Place(str(path))),))
    return told


def pages_from(sheet: Path, jobs: Sequence[JobFile], told: Iterable[JobReport]) -> dict[str, str]:
    """The pages of those jobs that were answered, as seen from the file ``sheet``, by the job's file."""
    answered = {each.file for each in told if each.status != JobStatus.WRONG}
    here = Path(os.path.realpath(sheet)).parent
    pages = {}
    for file in jobs:
        with suppress(ValueError):  # on another drive there is no way from one to the other
            if file.file in answered:
                pages[file.file] = Path(os.path.relpath(os.path.realpath(file.page), here)).as_posix()
    return pages


def clear(folder: Folder) -> None:
    """Remove what killed processes left of what they were writing."""
    for path in folder.leftovers:
        with suppress(OSError):
            path.unlink()
