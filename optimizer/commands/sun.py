"""``borewatt sun``: what a weather file says of its place, on a plane, without a job."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from optimizer import answers
from optimizer.commands import failures, options, output
from optimizer.vocabulary.problems import InputError

Text = str | None


def sun(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A year of weather, hour by hour: EPW, TMY3 or PVGIS.")],
    tilt: Annotated[
        Text, typer.Option(metavar='"55 deg"', help="Plane from level; without it the best for the darkest month.")
    ] = None,
    azimuth: Annotated[
        Text, typer.Option(metavar='"180 deg"', help="The way it looks from true north by east; else the noon sun's.")
    ] = None,
    ground: Annotated[Text, typer.Option(metavar="0.20", help="Share of light that the ground throws back.")] = None,
    utc_offset: Annotated[
        Text, typer.Option("--utc-offset", metavar='"5.5 h"', help="Puts right the zone of a file whose own is wrong.")
    ] = None,
    fill: Annotated[bool, typer.Option("--fill", help="Fill hours without light under a high sun.")] = False,
    json: options.Json = None,
    plot: Annotated[Path | None, typer.Option("--plot", metavar="PATH.svg", help="Draw the year.")] = None,
) -> None:
    """Show a weather file's sun on a plane: its months, its darkest days, and which tilt serves the darkest month best.

    The file is checked: clock, place, gaps, units, missing hours. Exit code 0: shown; 2: the file or an option is
    wrong.
    """
    with failures.guarded():
        outputs = output.Outputs(plot, json=json)
        outputs.spare([file])
        from optimizer.writing.data.sun_json import sun_document
        from optimizer.writing.drawings.sun_year import sun_year_svg
        from optimizer.writing.text.sun import sun_page

        try:
            found = answers.sun(file, tilt, azimuth, ground, utc_offset, fill)
        except InputError as error:
            failures.refuse_problems(error.problems)
        outputs.say(sun_document(found) if outputs.bare else sun_page(found))
        if outputs.json is not None:
            outputs.write(outputs.json, sun_document(found))
        if plot is not None:
            outputs.write(plot, sun_year_svg(found))
        outputs.end()
