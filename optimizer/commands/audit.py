"""``borewatt audit``: whether offers meet a job's limits, side by side."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from optimizer import answers
from optimizer.commands import failures, inputs, options, output
from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS
from optimizer.vocabulary.problems import InputError


def audit(
    job: options.Job,
    bundles: Annotated[
        list[str], typer.Argument(metavar="BUNDLE...", help="An offer as TOML or JSON, or an answer: FILE.json#RANK.")
    ],
    catalog: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Folder of the catalogue that the parts stand in.")
    ] = None,
    prices: options.Prices = None,
    every: Annotated[bool, typer.Option("--all", help="List the limits that all bundles meet, too.")] = False,
    sheet: options.Page = None,
) -> None:
    """Judge bundles by every limit of a job, with the working of each limit that fails.

    Exit code 0: all pass; 1: a limit fails; 2: the input is wrong.
    """
    with failures.guarded():
        outputs = output.Outputs(sheet)
        wanted, parts = inputs.read_inputs(job, catalog, prices)

        from optimizer.bundles.bundle_file import split_rank
        from optimizer.writing.text.audit import verdict_page

        offers = [split_rank(bundle)[0] for bundle in bundles]
        outputs.spare([*inputs.files_read(job, wanted, parts.folder, prices), *offers])
        try:
            judged = answers.audit(wanted, parts, bundles)
        except InputError as error:
            failures.refuse_problems(error.problems, len(bundles))
        outputs.say(verdict_page(judged, every))
        if sheet is not None:
            from optimizer.writing.html.render import verdicts_html

            outputs.write(sheet, verdicts_html(judged))
        outputs.end()
    raise typer.Exit(ANSWERED if judged.passes else NOTHING_MEETS)
