"""The options that pick and why share: what is asked beyond the job."""

from __future__ import annotations

from typing import Annotated

import typer

Must = Annotated[
    list[str] | None,
    typer.Option("--must", metavar="PART[=N]", help="Only bundles with this part (in exactly this number)."),
]
Never = Annotated[list[str] | None, typer.Option("--never", metavar="PART", help="Only bundles without this part.")]
