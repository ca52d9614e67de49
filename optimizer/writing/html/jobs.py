"""What a refresh tells, as a page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from optimizer.vocabulary.control_signs import plain
from optimizer.writing.content.refresh import old_prices, said_of, sources, span, summed_up, totals
from optimizer.writing.html.render import templates

if TYPE_CHECKING:
    from optimizer.answers.refreshed_job import RefreshedFolder


def report_html(found: RefreshedFolder, pages: Mapping[str, str]) -> str:
    """The same as a page for print or screen; ``pages``: a job's own page, seen from this one, by the job's file."""
    catalogs = found.catalogs
    source, example = sources(catalogs)
    said = [f"{text}." for text in (source, example, span(catalogs)) if text]
    said += [*old_prices(catalogs), summed_up(found)]
    lines = [
        JobLine(each.name, each.status, *totals(each), " ".join(said_of(each)), pages.get(each.file, ""))
        for each in found.jobs
    ]  # fmt: skip
    currencies = dict.fromkeys(each.currency for each in catalogs)
    return jobs_html(f"Jobs below {found.folder}", said, lines, ", ".join(currencies))


@dataclass(frozen=True)
class JobLine:
    """One of several jobs: what came of it, its totals before and after as text, what changes, and the file of its own
    page, seen from this one ("" for none)."""

    name: str
    result: str
    before: str
    after: str
    said: str
    page: str = ""


def jobs_html(title: str, said: Sequence[str], jobs: Sequence[JobLine], currency: str) -> str:
    """Several jobs as a page of one table, each leading to its own page; ``said`` stands over it."""
    heads = ("job", "result", "before", "after", "what changes")
    page = templates().get_template("jobs.html")
    return plain(page.render(title=title, said=said, jobs=jobs, currency=currency, heads=heads))
