"""``borewatt replay``: bundles gone through a year of weather hour by hour, side by side."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from optimizer import answers
from optimizer.commands import failures, inputs, options, output
from optimizer.vocabulary.problems import InputError


def replay(
    job: options.Job,
    bundles: Annotated[
        list[str], typer.Argument(metavar="BUNDLE...", help="An offer as TOML or JSON, or an answer: FILE.json#RANK.")
    ],
    catalog: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Folder of the catalogue that the parts stand in.")
    ] = None,
    prices: options.Prices = None,
    json: options.Json = None,
) -> None:
    """Go through every hour of a job's weather file with bundles, side by side: hours short, when, and why.

    It judges nothing; borewatt audit does. Several years of a file stand each on its own line. Exit code 0: shown; 2:
    the input is wrong, or the job names no weather file.
    """
    with failures.guarded():
        outputs = output.Outputs(json=json)
        wanted, parts = inputs.read_inputs(job, catalog, prices)

        from optimizer.bundles.bundle_file import split_rank
        from optimizer.writing.data.replay_json import replay_document
        from optimizer.writing.text.replay import replay_page

        offers = [split_rank(bundle)[0] for bundle in bundles]
        outputs.spare([*inputs.files_read(job, wanted, parts.folder, prices), *offers])
        try:
            found = answers.replay(wanted, parts, bundles)
        except InputError as error:
            failures.refuse_problems(error.problems, len(bundles))
        outputs.say(replay_document(found) if outputs.bare else replay_page(found))
        if outputs.json is not None:
            outputs.write(outputs.json, replay_document(found))
        outputs.end()
