"""``borewatt pick``: the cheapest proven bundles for a job."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from optimizer.commands import edge
from optimizer.problems import ANSWERED, NOTHING_MEETS, STOPPED


class Solver(StrEnum):
    """The solvers that may be named."""

    highs = "highs"
    cbc = "cbc"


def pick(
    job: Annotated[Path, typer.Argument(metavar="JOB.toml", help="What is wanted.")],
    catalog: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Folder of the catalogue to pick from.")
    ] = None,
    prices: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Price list in place of the catalogue's.")
    ] = None,
    options: Annotated[int, typer.Option(min=1, metavar="N", help="Distinct bundles to show.")] = 5,
    option: Annotated[int, typer.Option(min=1, metavar="R", help="The bundle to show in full.")] = 1,
    every: Annotated[bool, typer.Option("--all", help="Show every limit, not only the nearest edges.")] = False,
    json: Annotated[
        Path | None, typer.Option("--json", metavar="PATH", help='Write the answer as JSON ("-": print only that).')
    ] = None,
    shopping: Annotated[
        Path | None, typer.Option(metavar="PATH.csv", help="Write the shopping list of the bundle shown in full.")
    ] = None,
    time_limit: Annotated[
        float | None, typer.Option(min=0, metavar="S", help="Stop after this many seconds, with what is known.")
    ] = None,
    solver: Annotated[Solver, typer.Option(help="Which solver.")] = Solver.highs,
) -> None:
    """Pick the cheapest bundles that meet every limit of a job, proven to the cent.

    Exit code 0: answered; 1: no bundle meets the job; 2: the input is wrong; 3: stopped by the time limit before any
    bundle was found.
    """
    with edge.guarded():
        for target in (json, shopping):
            edge.check_target(target)
        wanted, parts = edge.read_inputs(job, catalog, prices)

        from optimizer import search
        from optimizer.answer import audited
        from optimizer.writing.document import document, shopping_list
        from optimizer.writing.page import page

        progress = edge.Progress()
        try:
            found = search.pick(
                parts, wanted, max(options, option), solver=solver.value, time_limit=time_limit, watch=progress
            )
            conflict = None
            if found.status == search.NONE:
                from optimizer.conflict import conflict as explain

                left = None if time_limit is None else max(0.0, time_limit - progress.seconds)
                conflict = explain(parts, wanted, solver=solver.value, time_limit=left)
        finally:
            progress.end()
        answer = audited(parts, wanted, found, conflict)
        if answer.options and option > len(answer.options):
            edge.refuse(f"--option {option}: there are only {len(answer.options)} distinct bundles.")
        if json is not None and str(json) != "-":
            edge.write_whole(json, document(answer))
        if shopping is not None and answer.options:
            edge.write_whole(shopping, shopping_list(answer, answer.options[option - 1]))
        text = document(answer) if str(json) == "-" else page(answer, option, every)
        typer.echo(text, nl=False)
    if found.status == search.NONE:
        raise typer.Exit(NOTHING_MEETS)
    raise typer.Exit(ANSWERED if answer.options else STOPPED)
