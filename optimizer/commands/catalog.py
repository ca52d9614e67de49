"""``borewatt catalog``: check a catalogue, list its parts, explain its columns."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from optimizer.commands import failures, inputs, output
from optimizer.commands.exit_codes import ANSWERED, WRONG_INPUT

catalog = typer.Typer(
    name="catalog", help="Check a catalogue, list its parts, explain its columns.", no_args_is_help=True,
    rich_markup_mode=None, add_completion=False,
)  # fmt: skip

Prices = Annotated[Path | None, typer.Option(metavar="FILE", help="Price list in place of the catalogue's.")]


# a kind of part, and the name of its file, which people know it by too
FILES = {
    "panel": "panels", "converter": "converters", "battery": "batteries", "rack": "racks", "extra": "extras",
    "starter": "starters", "tank": "tanks",
}  # fmt: skip


def _kind(text: str) -> str:
    """The kind of part that a word names."""
    for kind, file in FILES.items():
        if text.lower() in (kind, file, f"{file}.csv"):
            return kind
    raise typer.BadParameter(f"'{text}' is no kind of part; there are {', '.join(FILES)}.")


def _folder(given: Path | None) -> Path:
    """The folder given, else one called ``catalog`` here, else the shipped one."""
    return inputs.catalog_folder(Path("job.toml"), given, None)


@catalog.command("check")
def check(
    folder: Annotated[Path | None, typer.Argument(metavar="[DIR]", help="Folder of the catalogue.")] = None,
    prices: Prices = None,
) -> None:
    """Report every problem of every file at once. Exit code 2 where there is one."""
    with failures.guarded():
        from catalog.reader import check_catalog
        from optimizer.writing.text.lists import check_report

        where = _folder(folder)
        problems, warnings = check_catalog(where, prices, date.today())
        output.say(check_report(where, inputs.catalog_files(where, prices), problems, warnings))
    raise typer.Exit(WRONG_INPUT if problems else ANSWERED)


@catalog.command("show")
def show(
    kind: Annotated[
        str | None, typer.Argument(metavar="[KIND]", parser=_kind, help=f"One of {', '.join(FILES)}.")
    ] = None,
    catalog: Annotated[Path | None, typer.Option(metavar="DIR", help="Folder of the catalogue.")] = None,
    prices: Prices = None,
) -> None:
    """List the parts as tables, each with its lowest price."""
    with failures.guarded():
        from catalog.reader import read_catalog
        from optimizer.writing.text.lists import parts_list

        output.say(parts_list(read_catalog(_folder(catalog), prices), kind))


@catalog.command("columns")
def columns() -> None:
    """Explain every column: its unit, range, default and meaning."""
    with failures.guarded():
        from optimizer.writing.text.lists import columns_list

        output.say(columns_list())
