"""``borewatt prices``: what moved between two price lists, or the bundle to settle on over several."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from optimizer import answers
from optimizer.commands import failures, inputs, options, output
from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS
from optimizer.commands.progress import Progress

if TYPE_CHECKING:
    from catalog.price_age import MaxAge


def prices(
    first: Annotated[
        Path, typer.Argument(metavar="OLD.csv|JOB.toml", help="The price list before; with --lists the job.")
    ],
    new: Annotated[Path | None, typer.Argument(metavar="[NEW.csv]", help="The price list now.")] = None,
    lists: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Price lists over which one bundle of the job is never far off."),
    ] = None,
    catalog: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Catalogue that tells the kinds of the parts; with --lists, to pick from."),
    ] = None,
    jobs: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Jobs whose kept answers tell what each move touches.")
    ] = None,
    json: Annotated[
        Path | None, typer.Option("--json", metavar="PATH", help='Write what is told as JSON ("-": print only that).')
    ] = None,
    max_age: options.MaxAge = None,
    on: options.On = None,
    strict_dates: options.StrictDates = False,
) -> None:
    """Compare two price lists: parts new, gone, dearer, cheaper, out of stock; the largest moves first.

    With --lists DIR JOB.toml: the one bundle whose worst extra cost over all price lists in DIR is least, proven.

    Exit code 0: answered; 1: no bundle meets the job at some list, or none at all of them; 2: the input is wrong.
    """
    with failures.guarded():
        outputs = output.Outputs(json=json)
        age = inputs.max_age(max_age, on, strict_dates)
        if lists is not None:
            if new is not None:
                failures.refuse(f"{new}: with --lists only the job is named.\n  Lay the price list into {lists}.")
            if jobs is not None:
                failures.refuse("--jobs: with --lists only the job that is named is looked at.\n  Leave it out.")
            code = _settled(first, lists, catalog, outputs, age)
        elif new is None:
            failures.refuse("Missing argument NEW.csv: the second price list.\n"
                        "  For one bundle over several lists: borewatt prices --lists DIR JOB.toml")  # fmt: skip
        else:
            code = _moves(first, new, catalog, jobs, outputs, age)
    raise typer.Exit(code)


def _moves(
    old: Path, new: Path, catalog: Path | None, jobs: Path | None, outputs: output.Outputs, age: MaxAge | None
) -> int:  # fmt: skip
    from catalog.reader import read_catalog
    from optimizer.commands.job_folder import jobs_below, kept_orders
    from optimizer.writing.data.price_changes_json import moves_data
    from optimizer.writing.text.price_changes import moves_page
    from optimizer.writing.words.json_figures import json_text

    before, after = inputs.read_price_lists(old, new)
    if jobs is not None:
        inputs.need_folder(jobs, "your jobs lie below")
    parts = None if catalog is None else read_catalog(catalog, inputs.own_prices(catalog, new))
    files = () if jobs is None else jobs_below(jobs).jobs
    outputs.spare([old, new, *(path for file in files for path in (file.path, file.answer, file.page))])
    if parts is not None:
        outputs.spare(inputs.catalog_paths(parts.folder))
    buyers = None if jobs is None else kept_orders(files)
    found = answers.price_changes(before, after, parts, buyers, age)
    data = moves_data(found)
    outputs.say(json_text(data) if outputs.bare else moves_page(found))
    outputs.write(outputs.json, json_text(data))
    outputs.end()
    return ANSWERED


def _settled(job: Path, folder: Path, catalog: Path | None, outputs: output.Outputs, age: MaxAge | None) -> int:
    paths = inputs.price_lists(folder)
    wanted, catalogs = inputs.read_lists(job, catalog, paths, age)
    outputs.spare([*paths, *inputs.files_read(job, wanted, catalogs[0].folder, None)])

    from optimizer.writing.data.least_regret_json import settled_data
    from optimizer.writing.text.least_regret import settled_page
    from optimizer.writing.words.json_figures import json_text

    with Progress() as progress:
        lists = {path.name: each for path, each in zip(paths, catalogs, strict=True)}
        found = answers.least_regret(wanted, lists, watch=progress)
    data = settled_data(found)
    outputs.say(json_text(data) if outputs.bare else settled_page(found))
    outputs.write(outputs.json, json_text(data))
    outputs.end()
    return ANSWERED if found.shown is not None else NOTHING_MEETS
