"""The shapes that drawings are made of: SVG in black and grey, without scripts and references.

A drawing is ``WIDTH`` units wide and as wide as the reader's screen or paper lets it be, so every length is in units of
the drawing. Lettering has one width, so that a text is known to fit before it is drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from unicodedata import east_asian_width
from xml.etree import ElementTree

from optimizer.writing.words.problems import clean

WIDTH = 360.0  # units across: about a pixel each on the narrowest screen
SIZE = 11.0  # height of ordinary lettering
SMALL = 10.0  # height of the smallest lettering
LINE = 14.0  # from one line of lettering to the next
ADVANCE = 0.61  # width of a letter as a share of its height, a hair above that of the usual fonts
INK, GREY, PALE = "#000", "#767676", "#d0d0d0"
LONGEST = 400  # characters of a title or description

Point = tuple[float, float]


def letters(text: str) -> int:
    """How many letters wide a text is; a wide sign counts as two."""
    return sum(2 if east_asian_width(sign) in "WF" else 1 for sign in text)


def span(text: str, size: float = SIZE) -> float:
    """How wide a text is."""
    return letters(text) * size * ADVANCE


def room_for(width: float, size: float = SIZE) -> int:
    """How many letters fit into a width."""
    return int(width / (size * ADVANCE))


def clip(text: str, most: int) -> str:
    """A text of at most ``most`` letters; what is cut off is shown to be."""
    if letters(text) <= most:
        return text
    kept = ""
    for sign in text:
        if letters(kept + sign) >= most:
            break
        kept += sign
    return f"{kept.rstrip()}\N{HORIZONTAL ELLIPSIS}"


class Drawing:
    """One drawing with its accessible name: ``title`` says what it is, ``description`` what it shows.

    ``name`` is its id, of its own on the page.
    """

    def __init__(self, name: str, title: str, description: str) -> None:
        self.name = name
        self.root = ElementTree.Element("svg", {
            "role": "img", "aria-labelledby": f"{name}-title {name}-desc", "font-family": "monospace",
            "font-size": _short(SIZE), "fill": INK,
        })  # fmt: skip
        for tag, words in (("title", title), ("desc", description)):
            ElementTree.SubElement(self.root, tag, {"id": f"{name}-{tag}"}).text = clean(words, LONGEST)

    def text(
        self, x: float, y: float, words: str, *, anchor: str = "start", size: float = SIZE, bold: bool = False,
        room: float | None = None,
    ) -> None:  # fmt: skip
        """A text on the base line ``y``, cut where it is wider than ``room``."""
        words = clean(words, LONGEST)
        if room is not None:
            words = clip(words, room_for(room, size))
        shape = {"x": _short(x), "y": _short(y)}
        if anchor != "start":
            shape["text-anchor"] = anchor
        if size != SIZE:
            shape["font-size"] = _short(size)
        if bold:
            shape["font-weight"] = "bold"
        ElementTree.SubElement(self.root, "text", shape).text = words

    def lines(self, x: float, y: float, texts: Sequence[str], room: float, *, bold_first: bool = False) -> float:
        """Texts one under the other, the first on the base line ``y``; gives the base line after the last."""
        for place, words in enumerate(texts):
            self.text(x, y + place * LINE, words, bold=bold_first and place == 0, room=room)
        return y + len(texts) * LINE

    def line(self, *points: Point, width: float = 1.0, dash: str = "", ink: str = INK) -> None:
        """A line through points."""
        path = " ".join(f"{'L' if n else 'M'}{_short(x)} {_short(y)}" for n, (x, y) in enumerate(points))
        self.path(path, width=width, dash=dash, ink=ink)

    def path(self, path: str, *, width: float = 1.0, dash: str = "", ink: str = INK, fill: str = "none") -> None:
        """A path as SVG writes it."""
        shape = {"d": path, "fill": fill, "stroke": ink}
        if width != 1.0:
            shape["stroke-width"] = _short(width)
        if dash:
            shape["stroke-dasharray"] = dash
        ElementTree.SubElement(self.root, "path", shape)

    def box(self, x: float, y: float, width: float, height: float, *, fill: str = "#fff", edge: float = 1.0) -> None:
        """A rectangle."""
        shape = {"x": _short(x), "y": _short(y), "width": _short(width), "height": _short(height), "fill": fill}
        if edge:
            shape["stroke"] = INK
        if edge not in (0.0, 1.0):
            shape["stroke-width"] = _short(edge)
        ElementTree.SubElement(self.root, "rect", shape)

    def ring(self, x: float, y: float, radius: float, *, fill: str = "#fff") -> None:
        """A circle round a point."""
        shape = {"cx": _short(x), "cy": _short(y), "r": _short(radius), "fill": fill, "stroke": INK}
        ElementTree.SubElement(self.root, "circle", shape)

    def hatch(self, x: float, y: float, width: float, height: float, step: float) -> None:
        """Slanted lines within a rectangle, ``step`` apart."""
        pieces, right, foot = [], x + width, y + height
        at = step - height
        while at < width:
            start = (x, foot + at) if at < 0 else (x + at, foot)
            end = (right, foot - (width - at)) if at + height > width else (x + at + height, y)
            pieces.append(f"M{_short(start[0])} {_short(start[1])}L{_short(end[0])} {_short(end[1])}")
            at += step
        if pieces:
            self.path("".join(pieces), width=0.7)

    @staticmethod
    def alone(drawn: str) -> str:
        """A finished drawing as a file of its own."""
        return drawn.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1) + "\n"

    def finish(self, height: float) -> str:
        """The drawing as text, ``height`` units high."""
        self.root.set("viewBox", f"0 0 {_short(WIDTH)} {_short(height)}")
        # how wide it may be on paper for each unit of height that a page has
        self.root.set("style", f"--shape:{WIDTH / height:.4f}")
        return ElementTree.tostring(self.root, encoding="unicode")


def _short(value: float) -> str:
    """A length as short as it is exact enough."""
    return f"{value:.2f}".rstrip("0").rstrip(".")
