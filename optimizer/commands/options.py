"""The options that several commands share, each once: which catalogue, how long, and what is asked beyond the job."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer


class Solver(StrEnum):
    """The solvers that may be named."""

    highs = "highs"
    cbc = "cbc"


Job = Annotated[Path, typer.Argument(metavar="JOB.toml", help="What is wanted.")]
Catalog = Annotated[Path | None, typer.Option(metavar="DIR", help="Folder of the catalogue to pick from.")]
Prices = Annotated[Path | None, typer.Option(metavar="FILE", help="Price list in place of the catalogue's.")]
Json = Annotated[
    Path | None, typer.Option("--json", metavar="PATH", help='Write the answer as JSON ("-": print only that).')
]
MaxAge = Annotated[int | None, typer.Option("--max-age", min=0, metavar="DAYS", help="Call out prices that are older.")]
On = Annotated[
    datetime | None,
    typer.Option(
        "--on", formats=["%Y-%m-%d"], metavar="DATE",
        help="The day to count the age of prices from, in place of the newest of their list.",
    ),
]  # fmt: skip
StrictDates = Annotated[bool, typer.Option("--strict-dates", help="Leave out prices older than --max-age.")]
TimeLimit = Annotated[
    float | None, typer.Option(min=0, metavar="S", help="Stop after this many seconds, with what is known.")
]
Page = Annotated[
    Path | None, typer.Option("--page", metavar="FILE.html", help="Write the answer as a page to print or hand over.")
]
Which = Annotated[Solver, typer.Option(help="Which solver.")]
Must = Annotated[
    list[str] | None,
    typer.Option("--must", metavar="PART[=N]", help="Only bundles with this part (in exactly this number)."),
]
Never = Annotated[list[str] | None, typer.Option("--never", metavar="PART", help="Only bundles without this part.")]
