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
from optimizer import answers
from optimizer.answers.answer import Answer, audited
from optimizer.explain.explanation import beside_pick
from optimizer.explain.resolve import Resolver, Scenario
from optimizer.inputs.job_reader import read_job
from optimizer.search.branch_and_bound import pick
from optimizer.writing.html.jobs import JobLine, jobs_html
from optimizer.writing.html.render import answer_html, staircase_html, verdicts_html
from tests.test_beside import case

ROOT = Path(__file__).parent.parent
THIN = Path(__file__).parent / "data" / "thin"
VOID = {"meta", "link", "br", "img", "input", "hr"}


def answer_of(job_file: Path, folder: Path, options: int = 1, beside: bool = False) -> Answer:
    """A pick, with what it says of itself where ``beside`` is asked for."""
    job, catalog = read_job(job_file), read_catalog(folder)
    found = pick(catalog, job, options)
    return audited(catalog, job, found, beside_pick(Resolver(Scenario(job, catalog)), found) if beside else None)


def example(name: str) -> Answer:
    """The answer to an example of the shipped catalogue, as ``pick`` gives it."""
    return answer_of(ROOT / "examples" / name / "job.toml", shipped_catalog(), 3, beside=True)


def sheet_pages() -> dict[str, str]:
    """A page of every sort: picks, a job that nothing meets, offers judged, a staircase, words of odd lengths, sellers
    that charge in every way, and many jobs."""
    camp = ROOT / "examples" / "mountain-camp"
    job, catalog = read_job(camp / "job.toml"), read_catalog(shipped_catalog())
    bore = read_job(ROOT / "examples" / "stock-water-bore" / "job.toml")
    own = replace(pick(catalog, job, 1).bundles[0], name="the answer")
    return {
        "pick": answer_html(example("hillside-nursery")),
        "camp": answer_html(example("mountain-camp"), 2),
        "none": answer_html(too_dear()),
        "audit": verdicts_html(answers.audit(job, catalog, [camp / "offer.toml", own])),
        "afford": staircase_html(answers.afford(bore, catalog, budget=4000)),
        "odd": answer_html(odd()),
        "landed": answer_html(landed()),
        "jobs": jobs_html("Jobs below orchards", ("Catalogue parts.", "60 jobs: 59 answered."), job_lines(), "USD"),
    }


def landed() -> Answer:
    """A start device, tanks, parts on hand and both legs; sellers with freight by weight, free freight and tax."""
    with TemporaryDirectory() as folder:
        job = case(Path(folder))
        parts = job.parent / "catalog"
        sellers = "seller,freight,freight_per_kg,free_over,min_order,tax_pct\n"
        sellers += "east,210.00,0.10,,,7.5\nnorth,95.00,,2900,,\nsouth,0,,,50,4\n"
        (parts / "sellers.csv").write_text(sellers, encoding="utf-8")
        for file in ("converters.csv", "batteries.csv"):  # who charges by weight sells only what states it
            head, *rows = (parts / file).read_text(encoding="utf-8").splitlines()
            weighed = [f"{head},weight_kg", *(f"{row},48" for row in rows), ""]
            (parts / file).write_text("\n".join(weighed), encoding="utf-8")
        return answer_of(job, parts, 3, beside=True)


def job_lines() -> list[JobLine]:
    """More jobs than a sheet of paper holds, of every result, some with long names and much to say."""
    long, moves = "north <b>&" + "long-name-" * 6, "+500.00: " + "bt-48-150-lfp 1,109.00 -> 1,609.00, " * 3
    results = [
        JobLine("same", "same", "6,120.00", "6,120.00", "no part of it moved", "a/job.answer.html"),
        JobLine("dearer", "dearer", "6,120.00", "6,620.00", moves, "b"),
        JobLine(long, "changed", "6,120.00", "6,100.00", "7 pn-600-a out, 9 pn-460-a in", "c"),
        JobLine("lost", "lost", "6,120.00", "", "nothing meets daily-energy, budget together", "d"),
        JobLine("wrong", "wrong", "", "", "orchards/wrong/job.toml, line 3, site.coldest: expected a temperature", ""),
    ]  # fmt: skip
    return [replace(line, name=f"{number} {line.name}") for number in range(12) for line in results]


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
