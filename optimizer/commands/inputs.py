"""Reading what a command is given: job, catalogue and price lists, with all their problems at once."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path
from stat import S_ISDIR
from typing import TYPE_CHECKING

from optimizer.commands.failures import refuse, refuse_problems
from optimizer.vocabulary.bounded_files import file_fault, is_folder, is_there, look, read_bounded
from optimizer.vocabulary.problems import InputError, Place, Problem

if TYPE_CHECKING:
    from datetime import datetime

    from catalog.price_age import MaxAge
    from catalog.reader import Catalog, PriceList
    from optimizer.inputs.job import Job


OWN_FOLDER = "catalog"  # a catalogue that lies beside the job
LEAST_LISTS = 2  # price lists that a bundle is settled on over


# inputs ----------------------------------------------------------------------------------------------------------


def read_inputs(
    job_path: Path, catalog: Path | None, prices: Path | None = None, age: MaxAge | None = None
) -> tuple[Job, Catalog]:
    """The job and its catalogue, with prices of no more than an ``age``; where anything is wrong, the problems of both
    are printed at once."""
    from catalog.price_age import aged
    from catalog.reader import read_catalog
    from optimizer.inputs.job_reader import check_job, check_names

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


def need_folder(folder: Path, that: str) -> None:
    """Refuse what is no folder, or cannot be looked at. ``that``: which folder is meant."""
    try:
        there = S_ISDIR(look(folder).st_mode)
    except (FileNotFoundError, NotADirectoryError):
        there = False
    except OSError as error:
        refuse(f"{folder}: it cannot be looked at: {error.strerror}.\n  Check its name and its permissions.")
    if not there:
        refuse(f"{folder}: there is no such folder.\n  Name the folder that {that}.")


def price_lists(folder: Path) -> list[Path]:
    """The price lists in a folder, by name; at least two."""
    need_folder(folder, "your price lists lie in")
    try:
        named = [path for path in folder.iterdir() if path.suffix.lower() == ".csv" and not path.name.startswith(".")]
    except OSError as error:
        refuse_problems([file_fault(error).at(Place(str(folder)))])
    found = sorted(path for path in named if not is_folder(path))
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
    from optimizer.inputs.job_reader import check_job, check_names

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
    return None if is_there(catalog / price_file(None)) else otherwise


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
    return [spec.file for spec in TABLES.values() if is_there(own.get(spec.file) or folder / spec.file)]


def catalog_paths(folder: Path, prices: Path | None = None) -> list[Path]:
    """Where the files of a catalogue stand, or would, with a price list in place of its own or beside it."""
    from catalog.tables import TABLES

    return [*(folder / spec.file for spec in TABLES.values()), *([prices] if prices is not None else [])]


def files_read(path: Path, job: Job, folder: Path, prices: Path | None) -> list[Path]:
    """Every file that a command reads of a job and its catalogue."""
    weather = [] if job.weather is None else [path.parent / job.weather.file]
    return [path, *weather, *catalog_paths(folder, prices)]


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
    from optimizer.inputs.job_reader import LARGEST_JOB

    try:
        named = tomllib.loads(read_bounded(job_path, LARGEST_JOB).decode("utf-8-sig")).get("catalog")
    except (OSError, ValueError, RecursionError):
        return None
    return named if isinstance(named, str) and named != "?" else None
