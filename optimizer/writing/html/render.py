"""The page as HTML: one file that needs no other, no script and no network."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING
from urllib.parse import quote

from jinja2 import Environment, PackageLoader, StrictUndefined

from optimizer.vocabulary.control_signs import plain
from optimizer.writing.html.sheet import PageSheet, of_answer, of_staircase, of_verdicts

if TYPE_CHECKING:
    from optimizer.answers.answer import Answer
    from optimizer.answers.budget_staircase import Staircase
    from optimizer.answers.judgement import Judgement


def answer_html(answer: Answer, shown: int = 1, seal: str = "") -> str:
    """A pick as a page, option ``shown`` in full; ``seal``: the digest of the kept answer that it shows."""
    return html(of_answer(answer, shown), seal)


def verdicts_html(judged: Judgement) -> str:
    """Judged bundles as a page."""
    return html(of_verdicts(judged))


def staircase_html(found: Staircase) -> str:
    """A staircase as a page."""
    return html(of_staircase(found))


def html(sheet: PageSheet, seal: str = "") -> str:
    """The page. Whatever a person typed stays text; only the drawings are taken as they are."""
    return plain(templates().get_template("sheet.html").render(sheet=sheet, version=_version(), seal=seal))


def templates() -> Environment:
    pages = Environment(
        loader=PackageLoader("optimizer.writing.html", ""), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    pages.filters["link"] = _link  # a file's name as an address: no sign of it begins a scheme, a query or a fragment
    return pages


def _link(file: str) -> str:
    return quote(file.encode("utf-8", errors="surrogateescape"))  # a name that is no UTF-8 is its bytes


def _version() -> str:
    """The version of this tool."""
    try:
        return version("borewatt")
    except PackageNotFoundError:  # run from a checkout that was never installed
        return "not installed"
