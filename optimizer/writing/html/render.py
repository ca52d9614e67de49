"""The page as HTML: one file that needs no other, no script and no network."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING
from urllib.parse import quote

from jinja2 import Environment, PackageLoader, StrictUndefined

from optimizer.writing.html.sheet import Sheet, of_answer, of_staircase, of_verdicts

if TYPE_CHECKING:
    from catalog.reader import Catalog
    from optimizer.answers.answer import Answer
    from optimizer.answers.budget_staircase import Staircase
    from optimizer.candidates.terms import Terms
    from optimizer.explain.verdict import Verdict
    from optimizer.inputs.job import Job


def answer_html(answer: Answer, shown: int = 1, seal: str = "") -> str:
    """A pick as a page, option ``shown`` in full; ``seal``: the digest of the kept answer that it shows."""
    return html(of_answer(answer, shown), seal)


def verdicts_html(job: Job, catalog: Catalog, verdicts: Sequence[Verdict]) -> str:
    """Judged bundles as a page."""
    return html(of_verdicts(job, catalog, verdicts))


def staircase_html(job: Job, catalog: Catalog, found: Staircase, terms: Terms) -> str:
    """A staircase as a page."""
    return html(of_staircase(job, catalog, found, terms))


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
    return _pages().get_template("jobs.html").render(
        title=title, said=said, jobs=jobs, currency=currency, heads=heads
    )


def html(sheet: Sheet, seal: str = "") -> str:
    """The page. Whatever a person typed stays text; only the drawings are taken as they are."""
    return _pages().get_template("sheet.html").render(sheet=sheet, version=_version(), seal=seal)


def _pages() -> Environment:
    pages = Environment(
        loader=PackageLoader("optimizer.writing.html", ""), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    pages.filters["link"] = quote  # a file's name as an address: no sign of it begins a scheme, a query or a fragment
    return pages


def _version() -> str:
    """The version of this tool."""
    try:
        return version("borewatt")
    except PackageNotFoundError:  # run from a checkout that was never installed
        return "not installed"
