"""The page in a real browser, scripts off and every name unresolvable: it stands alone, it fits a telephone and a
desk, it prints whole on both papers, it reads without colour, and its drawings and tables have names.

Needs Chromium and its driver (Debian: ``chromium``, ``chromium-driver``), selenium and pypdf; skipped where one is
missing, unless ``BROWSER_TESTS=must``.
"""

from __future__ import annotations

import base64
import io
import json
import os
import re
import shutil
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.sheets import Node, parsed, sheet_pages

pytestmark = pytest.mark.thorough
NARROW, BROAD = 360, 1280  # px: a telephone, a desk
PAPERS = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}  # inches: ISO 216, ANSI/ASME Y14.1
CONTRAST = 4.5  # of ordinary text on its ground: WCAG 2.1, 1.4.3
SLACK = 0.75  # px by which boxes may touch: they are rounded outwards to the lettering's own box
PAGES = ("pick", "camp", "none", "audit", "afford", "odd", "landed", "jobs")


def _missing() -> str:
    """What stands in the way of a browser, "" where nothing does."""
    for tool in ("chromium", "chromedriver"):
        if shutil.which(tool) is None:
            return f"{tool} is not there (Debian: apt-get install chromium chromium-driver)"
    for module in ("selenium", "pypdf"):
        try:
            __import__(module)
        except ModuleNotFoundError:
            return f"{module} is not there (pip install '.[test]')"
    return ""


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    if missing := _missing():
        if os.environ.get("BROWSER_TESTS") == "must":
            pytest.fail(missing)
        pytest.skip(missing)
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or ""
    home = tmp_path_factory.mktemp("browser")
    for word in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--hide-scrollbars",
                 "--host-resolver-rules=MAP * ~NOTFOUND", f"--user-data-dir={home}"):  # fmt: skip
        options.add_argument(word)
    options.add_experimental_option("prefs", {"profile.managed_default_content_settings.javascript": 2})
    options.set_capability("goog:loggingPrefs", {"performance": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))
    driver.get("about:blank")  # away from the browser's own first page and what that asks for
    yield driver
    driver.quit()


@pytest.fixture(scope="module")
def texts() -> dict[str, str]:
    return sheet_pages()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory, texts: dict[str, str]) -> Path:
    """The pages as files."""
    folder = tmp_path_factory.mktemp("pages")
    for name, text in texts.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    return folder


def test_the_pages_are_those_that_are_looked_at(texts: dict[str, str]) -> None:
    assert set(texts) == set(PAGES)
    for name, words in (("pick", "What to buy"), ("none", "No bundle meets this job"), ("audit", "FAILS"),
                        ("afford", "Cost staircase"), ("camp", "Option 2")):  # fmt: skip
        assert words in parsed(texts[name]).text


def opened(browser: Any, file: Path, width: int = BROAD) -> list[str]:
    """Open a file at a width; gives what was asked for while it loaded."""
    browser.get_log("performance")
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride",
                            {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": False})  # fmt: skip
    browser.get(file.as_uri())
    told = [json.loads(entry["message"])["message"] for entry in browser.get_log("performance")]
    return [each["params"]["request"]["url"] for each in told if each["method"] == "Network.requestWillBeSent"]


# it stands alone -------------------------------------------------------------------------------------------------


def test_a_request_and_a_script_would_be_seen(browser: Any, tmp_path: Path) -> None:
    """The instrument itself."""
    file = tmp_path / "control.html"
    file.write_text(
        "<title>quiet</title><img src='https://nowhere.invalid/a.png'><script>document.title='ran'</script>"
    )
    asked = opened(browser, file)
    assert asked == [file.as_uri(), "https://nowhere.invalid/a.png"]
    assert browser.title == "quiet"


@pytest.mark.parametrize("name", PAGES)
def test_nothing_is_asked_for(browser: Any, folder: Path, name: str) -> None:
    file = folder / f"{name}.html"
    assert opened(browser, file) == [file.as_uri()]


# it fits ---------------------------------------------------------------------------------------------------------

TEXTS = """
return Array.from(document.querySelectorAll('svg'), svg => {
  const frame = svg.getBoundingClientRect();
  return {name: svg.querySelector('title').textContent,
    frame: [frame.left, frame.top, frame.right, frame.bottom],
    texts: Array.from(svg.querySelectorAll('text'), text => {
      const box = text.getBoundingClientRect();
      return [text.textContent, box.left, box.top, box.right, box.bottom];
    })};
});
"""
TOO_WIDE = """
const width = document.documentElement.clientWidth;
return Array.from(document.querySelectorAll('body *'))
  .filter(node => node.getBoundingClientRect().right > width + 0.5 || node.scrollWidth > node.clientWidth + 1
                  && getComputedStyle(node).display != 'inline' && !node.closest('svg, thead'))
  .map(node => node.tagName + ' ' + node.textContent.slice(0, 60));
"""


def faults(drawing: dict[str, Any]) -> list[str]:
    """Texts of a drawing that reach out of it, lie on one another, or were cut short."""
    left, top, right, bottom = drawing["frame"]
    texts = drawing["texts"]
    said = [
        f"{words!r} leaves its drawing" for words, x, y, x2, y2 in texts
        if x < left - SLACK or y < top - SLACK or x2 > right + SLACK or y2 > bottom + SLACK
    ]  # fmt: skip
    for place, (words, x, y, x2, y2) in enumerate(texts):
        for other, ox, oy, ox2, oy2 in texts[place + 1 :]:
            if min(x2, ox2) - max(x, ox) > SLACK and min(y2, oy2) - max(y, oy) > SLACK:
                said.append(f"{words!r} lies on {other!r}")
    return said


def test_overlaps_and_cuts_would_be_seen(browser: Any, tmp_path: Path) -> None:
    """The instrument itself."""
    file = tmp_path / "control.html"
    file.write_text(
        "<svg viewBox='0 0 100 40' width='100' height='40'><title>t</title><text x='0' y='20'>here</text>"
        "<text x='5' y='22'>there</text><text x='80' y='20'>outside</text></svg><p style='width:2000px'>wide</p>"
    )
    opened(browser, file, NARROW)
    assert faults(browser.execute_script(TEXTS)[0]) == ["'outside' leaves its drawing", "'here' lies on 'there'"]
    assert browser.execute_script(TOO_WIDE) == ["P wide"]


@pytest.mark.parametrize("width", [NARROW, BROAD])
@pytest.mark.parametrize("name", PAGES)
def test_it_fits_the_screen(browser: Any, folder: Path, name: str, width: int) -> None:
    opened(browser, folder / f"{name}.html", width)
    assert browser.execute_script("return document.documentElement.scrollWidth") == width
    assert not browser.execute_script(TOO_WIDE)
    for drawing in browser.execute_script(TEXTS):
        assert not faults(drawing), drawing["name"]


@pytest.mark.parametrize("name", [name for name in PAGES if name != "odd"])
def test_no_lettering_is_cut_short(texts: dict[str, str], name: str) -> None:
    """Only a name longer than any line may lose its end."""
    for drawing in parsed(texts[name]).all("svg"):
        assert "\N{HORIZONTAL ELLIPSIS}" not in drawing.text


# it prints -------------------------------------------------------------------------------------------------------


def printed(browser: Any, file: Path, paper: str) -> list[str]:
    """The text of each sheet of paper, without blanks."""
    from pypdf import PdfReader

    opened(browser, file)
    wide, tall = PAPERS[paper]
    done = browser.execute_cdp_cmd(
        "Page.printToPDF", {"paperWidth": wide, "paperHeight": tall, "preferCSSPageSize": False}
    )
    return [bare(page.extract_text()) for page in PdfReader(io.BytesIO(base64.b64decode(done["data"]))).pages]


def bare(text: str) -> str:
    """Without blanks, and with what a font draws as one sign (fl, fi) in its letters."""
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text))


def on_sheets(pieces: list[str], sheets: list[str]) -> list[int]:
    """The sheets that carry all of the pieces, each as often as it is asked for."""
    return [n for n, sheet in enumerate(sheets) if all(sheet.count(piece) >= pieces.count(piece) for piece in pieces)]


def body_rows(table: Node) -> list[str]:
    return [bare(row.text) for body in table.all("tbody") for row in body.all("tr")]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", PAGES)
def test_it_prints_whole(browser: Any, folder: Path, texts: dict[str, str], name: str, paper: str) -> None:
    """No drawing and no row of a table is split, and a table that goes on begins with its heads again."""
    sheets = printed(browser, folder / f"{name}.html", paper)
    page = parsed(texts[name])
    for drawing in page.all("svg"):
        pieces = [bare(text.text) for text in drawing.all("text")]
        assert on_sheets(pieces, sheets), f"split: {drawing.all('title')[0].text}"
    went_on = 0
    for table in page.all("table"):
        heads = bare(table.all("thead")[0].text)
        carrying = set()
        for row in body_rows(table):
            there = on_sheets([row], sheets)
            assert there, f"split: {row}"
            if len(row) >= 24 and len(there) == 1:  # long enough to stand nowhere else
                carrying |= set(there)
        assert all(heads in sheets[n] for n in carrying), f"{table.all('caption')[0].text}: heads {heads}"
        went_on += len(carrying) > 1
    assert went_on or name in ("none",)


def test_a_split_would_be_seen(browser: Any, folder: Path, texts: dict[str, str], tmp_path: Path) -> None:
    """The instrument itself: with heads that do not repeat, a table that goes on is found out."""
    file = tmp_path / "loose.html"
    file.write_text(texts["pick"].replace("table-header-group", "table-row-group"), encoding="utf-8")
    with pytest.raises(AssertionError, match="heads"):
        test_it_prints_whole(browser, tmp_path, {"loose": texts["pick"]}, "loose", "A4")


# it reads without colour -----------------------------------------------------------------------------------------

COLOURS = """
const found = new Set();
for (const node of document.querySelectorAll('*')) {
  const style = getComputedStyle(node);
  for (const key of ['color', 'backgroundColor', 'borderTopColor', 'borderBottomColor', 'fill', 'stroke'])
    found.add(style[key]);
}
return Array.from(found);
"""
INKS = """
return Array.from(document.querySelectorAll('body *'))
  .filter(node => Array.from(node.childNodes).some(child => child.nodeType == 3 && child.data.trim()))
  .map(node => [node.textContent.slice(0, 40), node.closest('svg') ? getComputedStyle(node).fill
                                                                    : getComputedStyle(node).color])
  .concat(Array.from(document.querySelectorAll('body td, body th'), node => getComputedStyle(node, '::before'))
  .filter(style => style.content != 'none').map(style => [style.content, style.color]));
"""
MARKS = {  # what each drawing with more than one kind of mark must say of them
    "Limit bars": ("asked", "reserve asked on top", "allowed", "raw rating, reserve left off"),
    "Month chart": ("asked of the array", "made by it"),
    "what each step costs": ("budget", "black: what the budget buys"),
}


def channels(colour: str) -> list[float]:
    return [float(number) for number in re.findall(r"[\d.]+", colour)]


@pytest.mark.parametrize("width", [NARROW, BROAD])
@pytest.mark.parametrize("name", PAGES)
def test_it_reads_without_colour(browser: Any, folder: Path, texts: dict[str, str], name: str, width: int) -> None:
    """All inks are greys, dark enough to read, and what marks mean is said in words beside them."""
    opened(browser, folder / f"{name}.html", width)
    for colour in browser.execute_script(COLOURS):
        if colour != "none":
            red, green, blue = channels(colour)[:3]
            assert red == green == blue, colour
    for words, ink in browser.execute_script(INKS):
        share = channels(ink)[0] / 255
        light = share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4  # sRGB, IEC 61966-2-1
        assert 1.05 / (light + 0.05) >= CONTRAST, words
    for drawing in parsed(texts[name]).all("svg"):
        title = drawing.all("title")[0].text
        for ending, labels in MARKS.items():
            if title.endswith(ending):
                said = [text.text for text in drawing.all("text")]
                assert all(any(each.startswith(label) for each in said) for label in labels), title


# it has names ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("width", [NARROW, BROAD])
@pytest.mark.parametrize("name", PAGES)
def test_drawings_and_tables_have_names(
    browser: Any, folder: Path, texts: dict[str, str], name: str, width: int
) -> None:
    """As a screen reader has them: every drawing an image with a name and a description; every table a table with a
    name, a head over each of its columns and one before each of its rows, on a telephone too."""
    opened(browser, folder / f"{name}.html", width)
    browser.execute_cdp_cmd("Accessibility.enable", {})
    tree = [node for node in browser.execute_cdp_cmd("Accessibility.getFullAXTree", {})["nodes"] if not node["ignored"]]
    page = parsed(texts[name])

    def of_role(*roles: str) -> list[dict[str, Any]]:
        return [node for node in tree if node.get("role", {}).get("value") in roles]

    images, tables = of_role("image", "img"), of_role("table")
    assert len(images) == len(page.all("svg"))
    assert all(node["name"]["value"].strip() for node in images)
    assert [node["name"]["value"] for node in tables] == [node.all("caption")[0].text for node in page.all("table")]
    heads = [cell for table in page.all("table") for cell in table.all("th")]
    assert len(of_role("columnheader")) == sum(cell.attributes["scope"] == "col" for cell in heads)
    assert len(of_role("rowheader")) == sum(cell.attributes["scope"] == "row" for cell in heads)
    assert len(of_role("main")) == 1
    assert browser.title
