"""Pages for the tests, and a page read back as a tree: what a person sees, without a browser."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from html.parser import HTMLParser
from pathlib import Path
from tempfile import TemporaryDirectory

from catalog.reader import read_catalog, shipped_catalog
from optimizer.afford import afford
from optimizer.answer import Answer, audited
from optimizer.choices import PLAIN
from optimizer.explain.again import Again, Case
from optimizer.explain.why import beside_pick
from optimizer.job import read_job
from optimizer.offer import read_bundle
from optimizer.search import pick
from optimizer.verdict import judge
from optimizer.writing.sheet.html import answer_html, staircase_html, verdicts_html

ROOT = Path(__file__).parent.parent
THIN = Path(__file__).parent / "data" / "thin"
VOID = {"meta", "link", "br", "img", "input", "hr"}


def answer_of(job_file: Path, folder: Path, options: int = 1, beside: bool = False) -> Answer:
    """A pick, with what it says of itself where ``beside`` is asked for."""
    job, catalog = read_job(job_file), read_catalog(folder)
    found = pick(catalog, job, options)
    return audited(catalog, job, found, beside_pick(Again(Case(job, catalog)), found) if beside else None)


def example(name: str) -> Answer:
    """The answer to an example of the shipped catalogue, as ``pick`` gives it."""
    return answer_of(ROOT / "examples" / name / "job.toml", shipped_catalog(), 3, beside=True)


def sheet_pages() -> dict[str, str]:
    """A page of every sort: picks, a job that nothing meets, offers judged, a staircase, and words of odd lengths."""
    camp = ROOT / "examples" / "mountain-camp"
    job, catalog = read_job(camp / "job.toml"), read_catalog(shipped_catalog())
    bore = read_job(ROOT / "examples" / "stock-water-bore" / "job.toml")
    own = replace(pick(catalog, job, 1).bundles[0], name="the answer")
    bundles = [read_bundle(str(camp / "offer.toml"), job, catalog), own]
    verdicts = [judge(job, bundle, catalog) for bundle in bundles]
    return {
        "pick": answer_html(example("hillside-nursery")),
        "camp": answer_html(example("mountain-camp"), 2),
        "none": answer_html(too_dear()),
        "audit": verdicts_html(job, catalog, verdicts),
        "afford": staircase_html(bore, catalog, afford(Again(Case(bore, catalog)), "autonomy", 400000), PLAIN),
        "odd": answer_html(odd()),
    }


def too_dear() -> Answer:
    """The answer to a job that its budget leaves nothing of."""
    with TemporaryDirectory() as folder:
        job = Path(folder) / "job.toml"
        job.write_text((THIN / "job.toml").read_text().replace("[supply]", "[need]\nbudget = 5000\n\n[supply]"))
        return answer_of(job, THIN / "catalog", beside=True)


ODD = {"part": '<b>&"', "title": "</title><script>alert(1)</script> " + "a long title goes on and on " * 5,
       "load": "a pump with a name that is far longer than anyone needs <i>'&amp;", "rack": "r" * 60}  # fmt: skip


def odd() -> Answer:
    """A job and a catalogue with signs that HTML gives a meaning to, and names longer than a line."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "catalog").mkdir()
        quoted = '"' + ODD["part"].replace('"', '""') + '"'
        for file in (THIN / "catalog").iterdir():
            text = file.read_text().replace("thin-panel", quoted).replace("thin-rack", ODD["rack"])
            (folder / "catalog" / file.name).write_text(text)
        job = (THIN / "job.toml").read_text().replace("bore pump", ODD["load"])
        job = re.sub(r"^title = .*$", f"title = {json.dumps(ODD['title'])}", job, flags=re.M)
        (folder / "job.toml").write_text(job)
        return answer_of(folder / "job.toml", folder / "catalog", beside=True)


@dataclass
class Node:
    """An element with its attributes and what is in it, texts and elements in their order."""

    tag: str
    attributes: dict[str, str] = field(default_factory=dict)
    inside: list[Node | str] = field(default_factory=list)

    def walk(self) -> Iterator[Node]:
        """This element and all below it, in the order of the page."""
        yield self
        for child in self.inside:
            if isinstance(child, Node):
                yield from child.walk()

    def all(self, *tags: str) -> list[Node]:
        """All elements of those names."""
        return [node for node in self.walk() if node.tag in tags]

    @property
    def text(self) -> str:
        """All text, blanks made one; elements part words."""
        pieces = [child if isinstance(child, str) else f" {child.text} " for child in self.inside]
        return " ".join("".join(pieces).split())


class _Parser(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open = [Node("page")]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        node = Node(tag, {name: value or "" for name, value in attrs})
        self.open[-1].inside.append(node)
        if tag not in VOID:
            self.open.append(node)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open[-1].inside.append(Node(tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self.open[-1].tag == tag, f"<{self.open[-1].tag}> is closed by </{tag}>"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.open[-1].inside.append(data)


def parsed(text: str) -> Node:
    """The page as a tree; every element is closed in its turn."""
    parser = _Parser()
    parser.feed(text)
    parser.close()
    assert len(parser.open) == 1, f"<{parser.open[-1].tag}> is not closed"
    return parser.open[0]


@dataclass(frozen=True)
class Table:
    """A table as a person reads it."""

    caption: str
    heads: list[str]
    rows: list[list[str]]

    def column(self, head: str) -> list[str]:
        """The cells under a head."""
        return [row[self.heads.index(head)] for row in self.rows]

    def row(self, first: str) -> dict[str, str]:
        """The cells of the row that begins so, by head."""
        return next(dict(zip(self.heads, row, strict=True)) for row in self.rows if row[0] == first)


def table(page: Node, name: str) -> Table:
    """A table by its id."""
    node = next(node for node in page.all("table") if node.attributes.get("id") == name)
    head, body = node.all("thead")[0], node.all("tbody")[0]
    return Table(
        node.all("caption")[0].text,
        [cell.text for cell in head.all("th")],
        [[cell.text for cell in row.all("th", "td")] for row in body.all("tr")],
    )
