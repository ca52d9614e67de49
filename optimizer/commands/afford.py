"""``borewatt afford``: what a budget buys, and every step between."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from optimizer.commands import failures, inputs, options, output
from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS, STOPPED
from optimizer.commands.progress import Progress


class Most(StrEnum):
    """What there may be more of."""

    autonomy = "autonomy"
    water = "water"
    reserve = "reserve"


def afford(
    job: options.Job,
    budget: Annotated[
        float | None, typer.Option(min=0.01, metavar="MONEY", help="The most it may cost, in place of the job's own.")
    ] = None,
    most: Annotated[Most, typer.Option(help="Sunless days, water, or watts to spare.")] = Most.autonomy,
    to: Annotated[
        float | None, typer.Option("--to", min=0, metavar="N", help="Climb to so many days, % of the water, or W.")
    ] = None,
    catalog: options.Catalog = None,
    prices: options.Prices = None,
    csv: Annotated[Path | None, typer.Option("--csv", metavar="PATH", help="Write the steps as CSV.")] = None,
    plot: Annotated[Path | None, typer.Option("--plot", metavar="PATH.svg", help="Draw the staircase.")] = None,
    sheet: options.Page = None,
    must: options.Must = None,
    never: options.Never = None,
    time_limit: options.TimeLimit = None,
    solver: options.Which = options.Solver.highs,
) -> None:
    """What a budget buys: the exact staircase of cost against sunless days, water or watts to spare.

    Exit code 0: answered; 1: nothing meets the job, or the budget does not buy it; 2: the input is wrong; 3: stopped by
    the time limit before any step was found.
    """
    with failures.guarded():
        for target in (csv, plot, sheet):
            output.check_target(target)
        wanted, parts = inputs.read_inputs(job, catalog, prices)

        from optimizer.answers.answer import audited
        from optimizer.answers.budget_staircase import afford as climb
        from optimizer.answers.budget_staircase import has_water, without_budget
        from optimizer.candidates.requests import terms_of
        from optimizer.explain.explanation import beside_pick
        from optimizer.explain.resolve import Resolver, Scenario
        from optimizer.search import branch_and_bound
        from optimizer.writing.content.staircase import cents_of, level_of
        from optimizer.writing.data.staircase_csv import stairs_csv
        from optimizer.writing.drawings.staircase import staircase_svg
        from optimizer.writing.text.afford import afford_page
        from optimizer.writing.text.pick import page

        if most is Most.water and not has_water(wanted):
            failures.refuse("--most water: no load of this job states water_per_day.\n"
                        "  State it with the flow of the pump, or ask for autonomy or reserve.")  # fmt: skip
        terms = terms_of(parts, must or (), never or ())
        cents = None if budget is None else cents_of(budget)
        if budget is not None and cents is None:
            failures.refuse(f"--budget {budget}: expected money with at most two decimals.")
        progress = Progress()
        resolver = Resolver(Scenario(wanted, parts, terms), solver.value, progress.deadline(time_limit), progress.say)
        try:
            found = climb(resolver, most.value, cents, None if to is None else level_of(most.value, to))
            if not found.stairs:
                free = without_budget(wanted)
                nothing = branch_and_bound.pick(parts, free, 1, terms=terms, time_limit=progress.left(time_limit))
                why = beside_pick(Resolver(Scenario(free, parts, terms), solver.value), nothing)
        finally:
            progress.end()
        if not found.stairs:
            answer = audited(parts, free, nothing, why, terms)
            if sheet is not None:
                from optimizer.writing.html.render import answer_html

                output.write_whole(sheet, answer_html(answer))
            typer.echo(page(answer), nl=False)
            raise typer.Exit(NOTHING_MEETS if nothing.status == branch_and_bound.Status.NONE else STOPPED)
        if csv is not None:
            output.write_whole(csv, stairs_csv(found, parts))
        if plot is not None:
            output.write_whole(plot, staircase_svg(wanted, found, parts.currency))
        if sheet is not None:
            from optimizer.writing.html.render import staircase_html

            output.write_whole(sheet, staircase_html(wanted, parts, found, terms))
        typer.echo(afford_page(wanted, parts, found, terms), nl=False)
    raise typer.Exit(NOTHING_MEETS if found.budget_cents is not None and found.bought is None else ANSWERED)
