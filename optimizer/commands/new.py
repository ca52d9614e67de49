"""``borewatt new``: a folder to begin in, with a job full of to-dos and a catalogue to make one's own."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Annotated

import typer

from optimizer.commands import failures, inputs
from optimizer.inputs.job_template import DONE, JOB_NAME, Units, job_template

COPIED = (".csv", ".json", ".md")  # of the shipped catalogue


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
        _refuse_occupied(folder)
        try:
            _make(folder, job_template(units), shipped)
        except OSError as error:
            failures.refuse(
                f"{folder}: the folder cannot be made: {error.strerror}.\n"
                "  Check its name and the permissions; nothing was left behind."
            )
        job, catalog = folder / JOB_NAME, folder / inputs.OWN_FOLDER
        tables = sum(path.suffix == ".csv" for path in shipped)
        typer.echo(
            DONE.format(folder=folder, job=JOB_NAME, path=job, files=tables, catalog=inputs.OWN_FOLDER,
                        catalog_path=catalog)
        )  # fmt: skip


def _refuse_occupied(folder: Path) -> None:
    if folder.exists() and not folder.is_dir():
        failures.refuse(f"{folder}: there is a file of this name.\n  Name a folder that is not there yet.")
    if folder.is_dir() and any(folder.iterdir()):
        failures.refuse(
            f"{folder}: the folder is not empty.\n  Name one that is not there yet, so that nothing is lost."
        )
    if not folder.exists() and not folder.parent.is_dir():
        failures.refuse(f"{folder}: there is no folder {folder.parent}.\n  Make it first, or name another place.")


def _make(folder: Path, job: str, shipped: list[Path]) -> None:
    """Make everything whole or not at all: it is written aside and then moved into place."""
    made = not folder.exists()
    folder.mkdir(exist_ok=True)
    aside = folder / ".unfinished"
    targets = [folder / inputs.OWN_FOLDER, folder / JOB_NAME]
    try:
        (aside / inputs.OWN_FOLDER).mkdir(parents=True)
        (aside / JOB_NAME).write_text(job, encoding="utf-8", newline="\n")
        for path in shipped:
            (aside / inputs.OWN_FOLDER / path.name).write_bytes(path.read_bytes())
        for target in targets:
            (aside / target.name).rename(target)
        aside.rmdir()
    except BaseException:
        for left in (aside, targets[0]):
            shutil.rmtree(left, ignore_errors=True)
        targets[1].unlink(missing_ok=True)
        if made:
            folder.rmdir()
        raise
