"""``borewatt pick``: the cheapest proven bundles for a job."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from optimizer import answers
from optimizer.commands import failures, inputs, options, output
from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS, STOPPED
from optimizer.commands.progress import Progress

if TYPE_CHECKING:
    from optimizer.answers.answer import Answer


def pick(
    job: options.Job,
    catalog: options.Catalog = None,
    prices: options.Prices = None,
    distinct: Annotated[int, typer.Option("--options", min=1, metavar="N", help="Distinct bundles to show.")] = 5,
    option: Annotated[int, typer.Option(min=1, metavar="R", help="The bundle to show in full.")] = 1,
    every: Annotated[bool, typer.Option("--all", help="Show every limit, not only the nearest edges.")] = False,
    json: options.Json = None,
    shopping: Annotated[
        Path | None, typer.Option(metavar="PATH.csv", help="Write the shopping list of the bundle shown in full.")
    ] = None,
    sheet: options.Page = None,
    time_limit: options.TimeLimit = None,
    solver: options.Which = options.Solver.highs,
    must: options.Must = None,
    never: options.Never = None,
    equal_strings: Annotated[bool, typer.Option("--equal-strings", help="Only strings of one length.")] = False,
    one_seller: Annotated[bool, typer.Option("--one-seller", help="Buy everything from one seller.")] = False,
    fewest_sellers: Annotated[
        bool, typer.Option("--fewest-sellers", help="Buy from as few sellers as will do.")
    ] = False,
    max_age: options.MaxAge = None,
    on: options.On = None,
    strict_dates: options.StrictDates = False,
) -> None:
    """Pick the cheapest bundles that meet every limit of a job, proven to the cent.

    Exit code 0: answered; 1: no bundle meets the job; 2: the input is wrong; 3: stopped by the time limit before any
    bundle was found.
    """
    with failures.guarded():
        outputs = output.Outputs(shopping, sheet, json=json)
        age = inputs.max_age(max_age, on, strict_dates)
        wanted, parts = inputs.read_inputs(job, catalog, prices, age)
        outputs.spare(inputs.files_read(job, wanted, parts.folder, prices))

        from optimizer.writing.text.pick import page

        with Progress() as progress:
            answer = answers.pick(
                wanted, parts, max(distinct, option), must=must or (), never=never or (), equal_strings=equal_strings,
                most_sellers=1 if one_seller else None, fewest_sellers=fewest_sellers, time_limit=time_limit,
                solver=solver.value, watch=progress, say=progress.say,
            )  # fmt: skip
        if answer.options and option > len(answer.options):
            failures.refuse(f"--option {option}: there are only {len(answer.options)} distinct bundles.")
        outputs.say(_json(answer) if outputs.bare else page(answer, option, every))
        if outputs.json is not None:
            outputs.write(outputs.json, _json(answer))
        if shopping is not None and answer.options:
            from optimizer.writing.data.shopping_csv import shopping_list

            outputs.write(shopping, shopping_list(answer, answer.options[option - 1]))
        if sheet is not None:
            from optimizer.writing.html.render import answer_html

            outputs.write(sheet, answer_html(answer, option))
        outputs.end()
    if answer.impossible:
        raise typer.Exit(NOTHING_MEETS)
    raise typer.Exit(ANSWERED if answer.options else STOPPED)


def _json(answer: Answer) -> str:
    """The answer as JSON; what writes that is loaded where it is asked for."""
    from optimizer.writing.data.answer_json import document

    return document(answer)
