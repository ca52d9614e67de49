"""What a refresh tells, as plain text: a line for each job, and what they add up to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from optimizer.answers import refreshed_job
from optimizer.writing.content.refresh import old_prices, said_of, sources, span, summed_up, totals
from optimizer.writing.words.phrases import figures_table
from optimizer.writing.words.tables import ends, paragraph

if TYPE_CHECKING:
    from catalog.reader import Catalog
    from optimizer.answers.refreshed_job import RefreshedFolder


BAR = 24  # signs of the progress bar


def report(found: RefreshedFolder) -> str:
    """The whole page."""
    rows = []
    for each in found.jobs:
        first, *more = said_of(each)
        rows.append([each.status, each.name, totals(each)[1] or "-", first])
        rows += [["", "", "", text] for text in more]
    drawn = figures_table(rows, align="llrl") if rows else ""
    total = paragraph(summed_up(found), indent=0)
    return "\n".join(filter(None, [_head(found.folder, found.catalogs), drawn, total])) + "\n"


def _head(folder: str, catalogs: Sequence[Catalog]) -> str:
    lines = [paragraph(f"Jobs below {folder}", indent=0)]
    source, example = sources(catalogs)
    lines += filter(None, [ends(source, example) if example else source, span(catalogs)])
    lines += [paragraph(text, label="NOTE") for text in old_prices(catalogs)]
    return "\n".join([*lines, ""])


# progress --------------------------------------------------------------------------------------------------------


def bar(done: int, of: int, counts: Mapping[str, int]) -> str:
    """One line of progress: a bar, how many of how many, and what became of them."""
    filled = BAR * done // max(of, 1)
    said = [f"{counts[status]} {status}" for status in refreshed_job.JobStatus if counts.get(status)]
    return f"[{'#' * filled}{'.' * (BAR - filled)}] {done} of {of} jobs  {', '.join(said)}".rstrip()
