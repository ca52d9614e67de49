"""``borewatt limits``: the registry of limits as a table."""

from __future__ import annotations

import typer


def limits() -> None:
    """List every limit: its name, meaning, kind and source."""
    from optimizer.writing.text.lists import limits_list

    typer.echo(limits_list(), nl=False)
