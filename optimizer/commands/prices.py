"""``borewatt prices``: what moved between two price lists, and which jobs it touches."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from optimizer.commands import edge, options
from optimizer.problems import ANSWERED


def prices(
    old: Annotated[Path, typer.Argument(metavar="OLD.csv", help="The price list before.")],
    new: Annotated[Path, typer.Argument(metavar="NEW.csv", help="The price list now.")],
    catalog: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Catalogue that tells the kinds of the parts.")
    ] = None,
    jobs: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Jobs whose kept answers tell what each move touches.")
    ] = None,
    json: Annotated[
        Path | None, typer.Option("--json", metavar="PATH", help='Write what is told as JSON ("-": print only that).')
    ] = None,
    max_age: options.MaxAge = None,
    on: options.On = None,
    strict_dates: options.StrictDates = False,
) -> None:
    """Compare two price lists: parts new, gone, dearer, cheaper, out of stock; the largest moves first.

    Exit code 0: compared; 2: a list is wrong.
    """
    with edge.guarded():
        edge.check_target(json)
        age = edge.max_age(max_age, on, strict_dates)

        from catalog.dates import sifted
        from catalog.reader import read_catalog
        from optimizer.commands.folder import kept_orders
        from optimizer.price_moves import price_moves
        from optimizer.writing.amounts import json_text
        from optimizer.writing.price_moves import moves_data, moves_page

        before, after = edge.read_price_lists(old, new)
        if jobs is not None and not jobs.is_dir():
            edge.refuse(f"{jobs}: there is no such folder.\n  Name the folder that your jobs lie below.")
        parts = None if catalog is None else read_catalog(catalog, edge.own_prices(catalog, new))
        buyers = None if jobs is None else kept_orders(jobs)
        offers, warning = (after.offers, None) if age is None else sifted(after.offers, age, after.file)
        found = price_moves(before.offers, offers, parts, {} if buyers is None else buyers.of_part)
        data = moves_data(before, after, found, buyers, warning)
        if json is not None and str(json) != "-":
            edge.write_whole(json, json_text(data))
        text = json_text(data) if str(json) == "-" else moves_page(before, after, found, buyers, warning, parts)
        typer.echo(text, nl=False)
    raise typer.Exit(ANSWERED)
