"""``borewatt limits``: the registry of limits as a table."""

from __future__ import annotations

from optimizer.commands import failures, output


def limits() -> None:
    """List every limit: its name, meaning, kind and source."""
    from optimizer.writing.text.lists import limits_list

    with failures.guarded():
        output.say(limits_list())
