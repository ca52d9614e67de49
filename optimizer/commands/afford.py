"""``borewatt afford``: what a budget buys, and every step between."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from optimizer import answers
from optimizer.answers.stair_quantity import StairQuantity
from optimizer.commands import failures, inputs, options, output
from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS, STOPPED
from optimizer.commands.progress import Progress


def afford(
    job: options.Job,
    budget: Annotated[
        float | None, typer.Option(min=0.01, metavar="MONEY", help="The most it may cost, in place of the job's own.")
    ] = None,
    most: Annotated[
        StairQuantity, typer.Option(help="Sunless days, water, watts to spare, or fewer hours short.")
    ] = StairQuantity.AUTONOMY,
    to: Annotated[
        float | None,
        typer.Option("--to", min=0, metavar="N", help="Climb to so many days, % of the water, W or h short."),
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
    """What a budget buys: the exact staircase of cost against sunless days, water, spare watts, hours short.

    Exit code 0: answered; 1: nothing meets the job, or the budget does not buy it; 2: the input is wrong; 3: stopped by
    the time limit before any step was found.
    """
    with failures.guarded():
        outputs = output.Outputs(csv, plot, sheet)
        wanted, parts = inputs.read_inputs(job, catalog, prices)
        outputs.spare(inputs.files_read(job, wanted, parts.folder, prices))

        from optimizer.answers.budget_staircase import has_water, money_cents
        from optimizer.writing.data.staircase_csv import stairs_csv
        from optimizer.writing.drawings.staircase import staircase_svg
        from optimizer.writing.text.afford import afford_page
        from optimizer.writing.text.pick import page

        if most is StairQuantity.WATER and not has_water(wanted):
            failures.refuse("--most water: no load of this job states water_per_day.\n"
                        "  State it with the flow of the pump, or ask for autonomy or reserve.")  # fmt: skip
        if most is StairQuantity.HOURS and wanted.weather is None:
            failures.refuse("--most hours: this job names no weather file.\n"
                        "  Add [weather]; borewatt sun FILE prints what to write.")  # fmt: skip
        if budget is not None and money_cents(budget) is None:
            failures.refuse(f"--budget {budget}: expected money with at most two decimals.")
        with Progress() as progress:
            found = answers.afford(
                wanted, parts, budget, most, to, must=must or (), never=never or (), time_limit=time_limit,
                solver=solver.value, say=progress.say,
            )  # fmt: skip
        if not found.stairs:
            outputs.say(page(found.shown))
            if sheet is not None:
                from optimizer.writing.html.render import answer_html

                outputs.write(sheet, answer_html(found.shown))
            outputs.end()
            raise typer.Exit(NOTHING_MEETS if found.shown.impossible else STOPPED)
        outputs.say(afford_page(found))
        if csv is not None:
            outputs.write(csv, stairs_csv(found))
        if plot is not None:
            outputs.write(plot, staircase_svg(found))
        if sheet is not None:
            from optimizer.writing.html.render import staircase_html

            outputs.write(sheet, staircase_html(found))
        outputs.end()
    raise typer.Exit(NOTHING_MEETS if found.budget_cents is not None and found.bought is None else ANSWERED)
