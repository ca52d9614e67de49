"""The page as HTML: one file that needs no other, no script and no network."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING

from jinja2 import Environment, PackageLoader, StrictUndefined

from optimizer.writing.sheet.contents import Sheet, of_answer, of_staircase, of_verdicts

if TYPE_CHECKING:
    from catalog.reader import Catalog
    from optimizer.afford import Staircase
    from optimizer.answer import Answer
    from optimizer.choices import Terms
    from optimizer.job import Job
    from optimizer.verdict import Verdict


def answer_html(answer: Answer, shown: int = 1) -> str:
    """A pick as a page, option ``shown`` in full."""
    return html(of_answer(answer, shown))


def verdicts_html(job: Job, catalog: Catalog, verdicts: Sequence[Verdict]) -> str:
    """Judged bundles as a page."""
    return html(of_verdicts(job, catalog, verdicts))


def staircase_html(job: Job, catalog: Catalog, found: Staircase, terms: Terms) -> str:
    """A staircase as a page."""
    return html(of_staircase(job, catalog, found, terms))


def html(sheet: Sheet) -> str:
    """The page. Whatever a person typed stays text; only the drawings are taken as they are."""
    pages = Environment(
        loader=PackageLoader("optimizer.writing.sheet", ""), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    return pages.get_template("sheet.html").render(sheet=sheet, version=_version())


def _version() -> str:
    """The version of this tool."""
    try:
        return version("borewatt")
    except PackageNotFoundError:  # run from a checkout that was never installed
        return "not installed"
