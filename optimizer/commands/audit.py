"""``borewatt audit``: whether offers meet a job's limits, side by side."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from optimizer.commands import failures, inputs, options, output
from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS
from optimizer.vocabulary.problems import InputError, Problem


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
        output.check_target(sheet)
        wanted, parts = inputs.read_inputs(job, catalog, prices)

        from optimizer.bundles.bundle_file import read_bundle
        from optimizer.explain.verdict import judge
        from optimizer.writing.text.audit import verdict_page

        problems: list[Problem] = []
        read = []
        for file in bundles:
            try:
                read.append(read_bundle(file, wanted, parts))
            except InputError as error:
                problems += error.problems
        if problems:
            failures.refuse_problems(problems, len(bundles))
        if len({bundle.name for bundle in read}) < len(read):  # files of one name, told apart by the order given
            read = [replace(bundle, name=f"{bundle.name} ({number})") for number, bundle in enumerate(read, start=1)]
        verdicts = [judge(wanted, bundle, parts) for bundle in read]
        if sheet is not None:
            from optimizer.writing.html.render import verdicts_html

            output.write_whole(sheet, verdicts_html(wanted, parts, verdicts))
        typer.echo(verdict_page(wanted, parts, verdicts, every), nl=False)
    raise typer.Exit(NOTHING_MEETS if any(verdict.failing for verdict in verdicts) else ANSWERED)
