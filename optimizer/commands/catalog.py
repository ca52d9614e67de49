"""``borewatt catalog``: check a catalogue, list its parts, explain its columns."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from optimizer.commands import edge
from optimizer.problems import ANSWERED, WRONG_INPUT

app = typer.Typer(
    name="catalog", help="Check a catalogue, list its parts, explain its columns.", no_args_is_help=True,
    rich_markup_mode=None,
)  # fmt: skip

Prices = Annotated[Path | None, typer.Option(metavar="FILE", help="Price list in place of the catalogue's.")]


class Kind(StrEnum):
    """The kinds of part that may be listed."""

    panel = "panel"
    converter = "converter"
    battery = "battery"
    rack = "rack"
    extra = "extra"
    starter = "starter"
    tank = "tank"


def _folder(given: Path | None) -> Path:
    """The folder given, else one called ``catalog`` here, else the shipped one."""
    return edge.catalog_folder(Path("job.toml"), given, None)


@app.command("check")
def check(
    folder: Annotated[Path | None, typer.Argument(metavar="[DIR]", help="Folder of the catalogue.")] = None,
    prices: Prices = None,
) -> None:
    """Report every problem of every file at once. Exit code 2 where there is one."""
    with edge.guarded():
        from catalog.reader import check_catalog
        from optimizer.writing.lists import check_report

        where = _folder(folder)
        problems, warnings = check_catalog(where, prices)
        typer.echo(check_report(where, edge.catalog_files(where, prices), problems, warnings), nl=False)
    raise typer.Exit(WRONG_INPUT if problems else ANSWERED)


@app.command("show")
def show(
    kind: Annotated[Kind | None, typer.Argument(metavar="[KIND]", help=f"One of {', '.join(Kind)}.")] = None,
    catalog: Annotated[Path | None, typer.Option(metavar="DIR", help="Folder of the catalogue.")] = None,
    prices: Prices = None,
) -> None:
    """List the parts as tables, each with its lowest price."""
    with edge.guarded():
        from catalog.reader import read_catalog
        from optimizer.writing.lists import parts_list

        typer.echo(parts_list(read_catalog(_folder(catalog), prices), kind.value if kind else None), nl=False)


@app.command("columns")
def columns() -> None:
    """Explain every column: its unit, range, default and meaning."""
    with edge.guarded():
        from optimizer.writing.lists import columns_list

        typer.echo(columns_list(), nl=False)
