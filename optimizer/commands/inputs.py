"""What all commands share at the edge: reading the inputs, refusing wrong ones, writing files, and exit codes."""

from __future__ import annotations

import os
import sys
import tomllib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, NoReturn

import typer

from optimizer.commands import interrupts
from optimizer.vocabulary.problems import INTERRUPTED, WRONG_INPUT, InputError, Problem

if TYPE_CHECKING:
    from datetime import datetime

    from catalog.price_age import MaxAge
    from catalog.reader import Catalog, PriceList
    from optimizer.inputs.job import Job

FAULT = 70  # a fault of this tool itself (EX_SOFTWARE of the system's own list of exit codes)
OWN_FOLDER = "catalog"  # a catalogue that lies beside the job
CUT = "\nInterrupted; no file is half written."
PATIENCE_S = 2.0  # a search shorter than this shows no progress
STEP_S = 0.2  # between two lines of progress
LINE = 79  # columns of a line of progress
LEAST_LISTS = 2  # price lists that a bundle is settled on over
NEIGHBOUR = ".{name}.{process}.part"  # a file that is being written


def complain(text: str) -> None:
    """Say something on standard error."""
    typer.echo(text.rstrip("\n"), err=True)


def refuse(text: str, code: int = WRONG_INPUT) -> NoReturn:
    """Say what is wrong on standard error, and end with ``code``."""
    complain(text)
    raise typer.Exit(code)


def refuse_problems(problems: Iterable[Problem], files_read: int = 0) -> NoReturn:
    """Print all problems, of so many files that were read, and end with the exit code of wrong input."""
    from optimizer.writing.words.problems import problems_text

    refuse(problems_text(problems, files_read))


@contextmanager
def guarded() -> Iterator[None]:
    """Turn what a command may raise into a plain message and an exit code."""
    try:
        yield
    except typer.Exit:
        raise
    except KeyboardInterrupt:
        refuse(CUT, INTERRUPTED)
    except Exception as error:
        if interrupts.came():
            refuse(CUT, INTERRUPTED)
        _explain(error)
        raise


def _explain(error: Exception) -> None:
    """End with a plain message where ``error`` is one that has a meaning to a person."""
    if isinstance(error, InputError):
        refuse_problems(error.problems)
    auditor, solver = (sys.modules.get(name) for name in ("optimizer.auditor.audit", "optimizer.milp.solver"))
    if auditor is not None and isinstance(error, auditor.RefusedError):
        refuse(
            f"A fault of this tool: its auditor refuses {error.what}.\n"
            f"  It fails {', '.join(error.limits)}. Nothing is shown or written.\n"
            "  Please report it with the job and the catalogue; the other solver (--solver) may do.",
            FAULT,
        )
    if solver is not None and isinstance(error, solver.SolverError):
        refuse(
            f"A fault of the solver: {error}.\n"
            "  Nothing is shown or written; the other solver (--solver) may do.",
            FAULT,
        )


def fault_words(error: BaseException) -> str:
    """What went wrong inside this tool, and where, on one line."""
    trace = error.__traceback__
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    where = f"in {trace.tb_frame.f_globals.get('__name__')} line {trace.tb_lineno}, " if trace is not None else ""
    return f"{where}{type(error).__name__}: {error}"


def fault_report(error: Exception) -> int:
    """Say on standard error what went wrong inside this tool, and where. Returns the exit code."""
    complain(
        f"A fault of this tool, not of your input:\n  {fault_words(error)}\n"
        "  Please report it with the job and the catalogue."
    )
    return FAULT


# inputs ----------------------------------------------------------------------------------------------------------


def read_inputs(
    job_path: Path, catalog: Path | None, prices: Path | None = None, age: MaxAge | None = None
) -> tuple[Job, Catalog]:
    """The job and its catalogue, with prices of no more than an ``age``; where anything is wrong, the problems of both
    are printed at once."""
    from catalog.price_age import aged
    from catalog.reader import read_catalog
    from optimizer.inputs.job import check_job, check_names

    job, problems = check_job(job_path)
    named = job.catalog if job is not None else named_catalog(job_path)
    folder = catalog_folder(job_path, catalog, named)
    files = 1 + len(catalog_files(folder, prices))
    try:
        parts = read_catalog(folder, prices)
    except InputError as error:
        refuse_problems((*problems, *error.problems), files)
    if job is None:
        refuse_problems(problems, files)
    if unknown := check_names(job, parts):
        refuse_problems(unknown, files)
    return job, aged(parts, age, price_file(prices))


def price_file(prices: Path | None) -> str:
    """What a price list is called in a problem."""
    from catalog.tables import TABLES

    return TABLES["price"].file if prices is None else str(prices)


def read_price_lists(old: Path, new: Path) -> tuple[PriceList, PriceList]:
    """Two price lists to compare; where anything is wrong, the problems of both are printed at once."""
    from catalog.reader import read_price_list

    problems: list[Problem] = []
    lists = []
    for path in (old, new):
        try:
            lists.append(read_price_list(path))
        except InputError as error:
            problems += error.problems
    if problems:
        refuse_problems(problems, len((old, new)))
    before, after = lists
    one_currency(old, before.currency, new, after.currency)
    return before, after


def one_currency(old: Path, before: str, new: Path, after: str) -> None:
    """Refuse two price lists that are not to be compared."""
    if before != after:
        refuse(f"{new}: its prices are in {after}, those of {old} in {before}.\n"
               "  Expected one currency in both. Convert one of the lists.")  # fmt: skip


def price_lists(folder: Path) -> list[Path]:
    """The price lists in a folder, by name; at least two."""
    if not folder.is_dir():
        refuse(f"{folder}: there is no such folder.\n  Name the folder that your price lists lie in.")
    named = (path for path in folder.iterdir() if path.suffix.lower() == ".csv" and not path.name.startswith("."))
    found = sorted(path for path in named if path.is_file())
    if len(found) < LEAST_LISTS:
        count = f"is {len(found)} CSV file" if len(found) == 1 else f"are {len(found)} CSV files"
        refuse(f"{folder}: there {count} in it.\n"
               "  Expected two price lists or more, each a CSV file like prices.csv of a catalogue.")  # fmt: skip
    return found


def read_lists(
    job_path: Path, catalog: Path | None, lists: list[Path], age: MaxAge | None = None
) -> tuple[Job, list[Catalog]]:
    """The job, and its catalogue with each of several price lists; where anything is wrong, the problems of all files
    are printed at once."""
    from catalog.price_age import aged
    from catalog.reader import read_catalog
    from optimizer.inputs.job import check_job, check_names

    job, found = check_job(job_path)
    problems = list(found)
    folder = catalog_folder(job_path, catalog, job.catalog if job is not None else named_catalog(job_path))
    read = []
    for path in lists:
        try:
            read.append(aged(read_catalog(folder, path), age, str(path)))
        except InputError as error:
            problems += [problem for problem in error.problems if problem not in problems]
    if job is None or problems:
        refuse_problems(problems, len([job_path, *lists, *catalog_files(folder, lists[0])[1:]]))
    for path, each in zip(lists, read, strict=True):
        one_currency(lists[0], read[0].currency, path, each.currency)
    unknown = [check_names(job, each) for each in read]
    # what some list knows is no slip of the pen
    if everywhere := [problem for problem in unknown[0] if all(problem in others for others in unknown)]:
        refuse_problems(everywhere, 1)
    return job, read


def own_prices(catalog: Path, otherwise: Path) -> Path | None:
    """The price list to read a catalogue with: its own, else another."""
    return None if (catalog / price_file(None)).is_file() else otherwise


def max_age(days: int | None, on: datetime | None, strict: bool) -> MaxAge | None:
    """How old prices may be, as asked; None where nothing is asked."""
    if days is None:
        for option, given in (("--on", on is not None), ("--strict-dates", strict)):
            if given:
                refuse(f"{option}: how old prices may be is not said.\n  Add --max-age DAYS, or leave {option} out.")
        return None
    from catalog.price_age import MaxAge

    return MaxAge(days, None if on is None else on.date(), strict)


def catalog_files(folder: Path, prices: Path | None = None) -> list[str]:
    """The files of a catalogue that are there to be read."""
    from catalog.tables import TABLES

    own = {TABLES["price"].file: prices} if prices is not None else {}
    return [spec.file for spec in TABLES.values() if (own.get(spec.file) or folder / spec.file).is_file()]


def catalog_folder(job_path: Path, given: Path | None, named: str | None) -> Path:
    """Which catalogue: the one given, else the one the job names, else one beside the job, else the shipped one."""
    from catalog.reader import shipped_catalog

    if given is not None:
        return given
    if named is not None:
        return Path(os.path.normpath(job_path.parent / named))
    beside = job_path.parent / OWN_FOLDER
    return beside if catalog_files(beside) else shipped_catalog()


def named_catalog(job_path: Path) -> str | None:
    """The catalogue that a job names which cannot be used for other reasons."""
    try:
        named = tomllib.loads(job_path.read_text(encoding="utf-8-sig")).get("catalog")
    except (OSError, ValueError, RecursionError):
        return None
    return named if isinstance(named, str) and named != "?" else None


# outputs ---------------------------------------------------------------------------------------------------------


def check_target(path: Path | None) -> None:
    """Refuse a file that cannot be written, before anything long is begun."""
    if path is not None and str(path) != "-" and not path.parent.is_dir():
        refuse(f"{path}: there is no folder {path.parent}.\n  Make the folder, or name a file in one that is there.")
    if path is not None and path.is_dir():
        refuse(f"{path}: this is a folder.\n  Name a file in it.")


def write_whole(path: Path, text: str) -> None:
    """Write a file whole or not at all; refuse with a plain message where it cannot be."""
    try:
        replace_whole(path, text)
    except OSError as error:
        refuse(f"{path}: the file cannot be written: {error.strerror}.\n  Check the folder and its permissions.")


def replace_whole(path: Path, text: str) -> None:
    """Write a file whole or not at all: a neighbour is written first, is safe on the disk, and then takes its name.

    Raises OSError.
    """
    if path.exists() and not path.is_file():  # a pipe or a device is written to, never replaced
        path.write_text(text, encoding="utf-8")
        return
    target = path.resolve()
    neighbour = target.with_name(NEIGHBOUR.format(name=target.name, process=os.getpid()))
    try:
        with neighbour.open("x", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        neighbour.replace(target)
    except BaseException:
        neighbour.unlink(missing_ok=True)
        raise


class Progress:
    """Progress of a search on standard error, where that is a terminal and the search takes its time."""

    def __init__(self) -> None:
        self.started = self.last = monotonic()
        self.wanted, self.shown = sys.stderr.isatty(), 0

    def __call__(self, opened: int, solved: int) -> None:
        """Called by the search with the choices opened and the small models solved."""
        now = monotonic()
        if not self.wanted or now - self.started < PATIENCE_S or now - self.last < STEP_S:
            return
        self._show(f"searching: {opened:,} choices opened, {solved:,} models solved, {now - self.started:.0f} s")

    def say(self, words: str) -> None:
        """Called by an explanation with what is being worked out."""
        now = monotonic()
        if self.wanted and now - self.started >= PATIENCE_S:
            self._show(f"working out {words}, {now - self.started:.0f} s")

    def bar(self, text: str) -> None:
        """Called by what goes through many jobs with a bar and its counts."""
        now = monotonic()
        if self.wanted and now - self.started >= PATIENCE_S and now - self.last >= STEP_S:
            self._show(text)

    def _show(self, text: str) -> None:
        self.last = monotonic()
        text = text[:LINE]
        sys.stderr.write("\r" + text.ljust(self.shown))
        sys.stderr.flush()
        self.shown = len(text)

    def left(self, time_limit: float | None) -> float | None:
        """Seconds left of a time limit that began with this."""
        return None if time_limit is None else max(0.0, time_limit - (monotonic() - self.started))

    def deadline(self, time_limit: float | None) -> float | None:
        """When a time limit that began with this ends, on the clock that never jumps."""
        return None if time_limit is None else self.started + time_limit

    def end(self) -> None:
        """Wipe the line of progress."""
        if self.shown:
            sys.stderr.write("\r" + " " * self.shown + "\r")
            sys.stderr.flush()
            self.shown = 0
