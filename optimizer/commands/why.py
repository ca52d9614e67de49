"""``borewatt why``: why this bundle, what binds and what it costs, and what would change it."""

from __future__ import annotations

from typing import Annotated

import typer

from optimizer import answers
from optimizer.commands import failures, options, output
from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS, STOPPED
from optimizer.commands.inputs import files_read, read_inputs
from optimizer.commands.progress import Progress


def why(
    job: options.Job,
    catalog: options.Catalog = None,
    prices: options.Prices = None,
    instead: Annotated[
        str | None, typer.Option("--not", metavar="PART|BUNDLE", help="Why not this part, or the bundle of this file.")
    ] = None,
    inputs: Annotated[
        list[str] | None,
        typer.Option("--input", metavar="KEY", help='What an input is worth: "bore pump.starting", "site.coldest".'),
    ] = None,
    must: options.Must = None,
    never: options.Never = None,
    json: options.Json = None,
    time_limit: options.TimeLimit = None,
    solver: options.Which = options.Solver.highs,
) -> None:
    """Explain the cheapest bundle: which limits bind, what each costs, and which prices and inputs would change it.

    Exit code 0: answered; 1: no bundle meets the job, said why; 2: the input is wrong; 3: stopped by the time limit
    before the cheapest bundle was proven.
    """
    with failures.guarded():
        outputs = output.Outputs(json=json)
        wanted, parts = read_inputs(job, catalog, prices)
        outputs.spare([*files_read(job, wanted, parts.folder, prices), *([instead] if instead is not None else [])])

        from optimizer.writing.data.answer_json import document
        from optimizer.writing.text.pick import page
        from optimizer.writing.text.why import why_page

        with Progress() as progress:
            answer = answers.why(
                wanted, parts, instead, inputs or (), must=must or (), never=never or (), time_limit=time_limit,
                solver=solver.value, watch=progress, say=progress.say,
            )  # fmt: skip
        text = document(answer) if outputs.bare else why_page(answer) if answer.proven else page(answer)
        outputs.say(text)
        if outputs.json is not None:
            outputs.write(outputs.json, document(answer))
        outputs.end()
    if answer.impossible:
        raise typer.Exit(NOTHING_MEETS)
    raise typer.Exit(ANSWERED if answer.proven else STOPPED)
