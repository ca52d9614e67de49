"""``borewatt pick``: the cheapest proven bundles for a job."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from optimizer.commands import failures, inputs, options, output
from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS, STOPPED
from optimizer.commands.progress import Progress


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
        for target in (json, shopping, sheet):
            output.check_target(target)
        age = inputs.max_age(max_age, on, strict_dates)
        wanted, parts = inputs.read_inputs(job, catalog, prices, age)

        from optimizer.answers.answer import audited
        from optimizer.candidates.requests import terms_of
        from optimizer.explain.explanation import beside_pick
        from optimizer.explain.resolve import Resolver, Scenario
        from optimizer.explain.tidier_bundles import fewest
        from optimizer.search import branch_and_bound
        from optimizer.writing.data.answer_json import document
        from optimizer.writing.data.shopping_csv import shopping_list
        from optimizer.writing.text.pick import page

        terms = terms_of(parts, must or (), never or (), equal_strings, 1 if one_seller else None)
        progress = Progress()
        deadline = progress.deadline(time_limit)
        resolver = Resolver(Scenario(wanted, parts, terms), solver.value, deadline, progress.say)
        try:
            if fewest_sellers:
                terms = fewest(resolver)
                resolver.base = Scenario(wanted, parts, terms)
            found = branch_and_bound.pick(
                parts, wanted, max(distinct, option), solver=solver.value, time_limit=progress.left(time_limit),
                terms=terms, watch=progress, cache=resolver.cache,
            )  # fmt: skip
            why = beside_pick(resolver, found)
        finally:
            progress.end()
        answer = audited(parts, wanted, found, why, terms)
        if answer.options and option > len(answer.options):
            failures.refuse(f"--option {option}: there are only {len(answer.options)} distinct bundles.")
        if json is not None and str(json) != "-":
            output.write_whole(json, document(answer))
        if shopping is not None and answer.options:
            output.write_whole(shopping, shopping_list(answer, answer.options[option - 1]))
        if sheet is not None:
            from optimizer.writing.html.render import answer_html

            output.write_whole(sheet, answer_html(answer, option))
        text = document(answer) if str(json) == "-" else page(answer, option, every)
        typer.echo(text, nl=False)
    if found.status == branch_and_bound.Status.NONE:
        raise typer.Exit(NOTHING_MEETS)
    raise typer.Exit(ANSWERED if answer.options else STOPPED)
