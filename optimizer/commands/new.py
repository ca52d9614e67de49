"""``borewatt new``: a folder to begin in, with a job full of to-dos and a catalogue to make one's own."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Annotated

import typer

from optimizer.commands import failures, inputs, output
from optimizer.inputs.job_template import DONE, JOB_NAME, Units, job_template
from optimizer.vocabulary.bounded_files import is_there

COPIED = (".csv", ".json", ".md")  # of the shipped catalogue
ASIDE = ".unfinished"  # a folder that is being made has it
MADE = (inputs.OWN_FOLDER, JOB_NAME)


def new(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder to make; it must not hold anything yet.")],
    units: Annotated[Units, typer.Option(help="Units that the job's comments speak.")] = Units.metric,
) -> None:
    """Make a folder with a job file to fill in and a copy of the shipped catalogue.

    Exit code 0: made; 2: the folder is not empty, or cannot be made.
    """
    with failures.guarded():
        from catalog.reader import shipped_catalog

        shipped = sorted(path for path in shipped_catalog().iterdir() if path.suffix in COPIED)
        try:
            _refuse_occupied(folder)
            _make(folder, job_template(units), shipped)
        except OSError as error:
            failures.refuse(
                f"{folder}: the folder cannot be made: {error.strerror}.\n"
                "  Check its name and the permissions; nothing was left behind."
            )
        job, catalog = folder / JOB_NAME, folder / inputs.OWN_FOLDER
        tables = sum(path.suffix == ".csv" for path in shipped)
        done = DONE.format(folder=folder, job=JOB_NAME, path=job, files=tables, catalog=inputs.OWN_FOLDER,
                           catalog_path=catalog)  # fmt: skip
        output.say(f"{done}\n")


def _refuse_occupied(folder: Path) -> None:
    """What a run that was killed half-way left is no hindrance: it is marked as such, and the rest of it is whole."""
    try:
        there = sorted(path.name for path in folder.iterdir())
    except FileNotFoundError:
        if not is_there(folder.parent):
            failures.refuse(f"{folder}: there is no folder {folder.parent}.\n  Make it first, or name another place.")
        return
    except NotADirectoryError:
        if is_there(folder):
            failures.refuse(f"{folder}: there is a file of this name.\n  Name a folder that is not there yet.")
        raise
    if there and (ASIDE not in there or {*there} - {ASIDE, *MADE}):
        failures.refuse(
            f"{folder}: the folder is not empty.\n  Name one that is not there yet, so that nothing is lost."
        )


def _make(folder: Path, job: str, shipped: list[Path]) -> None:
    """Make everything whole or not at all: it is written aside and then moved into place, and only then is the place
    aside taken away. What a killed run had moved already stays as it is."""
    made = not is_there(folder)
    folder.mkdir(exist_ok=True)
    aside = folder / ASIDE
    moved: list[Path] = []
    try:
        shutil.rmtree(aside, ignore_errors=True)
        (aside / inputs.OWN_FOLDER).mkdir(parents=True)
        (aside / JOB_NAME).write_text(job, encoding="utf-8", newline="\n")
        for path in shipped:
            (aside / inputs.OWN_FOLDER / path.name).write_bytes(path.read_bytes())
        for target in (folder / name for name in MADE if not is_there(folder / name)):
            (aside / target.name).rename(target)
            moved.append(target)
        shutil.rmtree(aside)
    except BaseException:
        for left in (aside, *moved):
            if left.is_dir():
                shutil.rmtree(left, ignore_errors=True)
            else:
                left.unlink(missing_ok=True)
        if made:
            folder.rmdir()
        raise
