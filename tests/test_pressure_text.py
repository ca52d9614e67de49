"""Whatever a person's files hold: no formula for a spreadsheet, no control sequence for a terminal, no control sign on
a page, and no line of an answer that the tool did not write."""

from __future__ import annotations

import csv
import io
import json
import os
import re
from pathlib import Path

import pytest

from optimizer.vocabulary.control_signs import one_line, plain, plain_json
from optimizer.writing.words.spreadsheet import cell, csv_text
from tests.command_line import run
from tests.refresh_helpers import SMALL_JOB
from tests.small_files import CATALOG, write_catalog

CONTROL = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff]")
# a title that turns red, one that clears the screen by a sign of C1, one that is read from the right, and a bell
SIGNS = {"escape": "\x1b[31m", "c1": "\x9b2J", "bidi": "\u202e\u2066", "bell": "\x07", "delete": "\x7f", "tab": "a\tb",
         "separator": "\u2028", "mark": "a\ufeffb"}  # fmt: skip
FORMULAS = ("=1+1", "+1+1", "-1+1", "@SUM(1)", "\t=1", "\r=1", " =1", '"=1', "'=1", "=cmd|' /C calc'!A0", "x;=1+1",
            "x; @a", "\N{FULLWIDTH EQUALS SIGN}1", "\N{FULLWIDTH PLUS SIGN}1", "\n=1", "--1", "-1e3",
            "-", "+")  # fmt: skip


# spreadsheets ------------------------------------------------------------------------------------------------------


def begins_formula(text: str) -> bool:
    """Whether a spreadsheet would take a cell for a formula, whatever it takes for the end of a cell."""
    cells = re.split("[;,\t|\r\n]", text)
    return any(
        re.match("[\\s\"']*[=+\\-@\uff1d\uff0b\uff0d\uff20]", each) and not re.match("[\\s\"]*'", each)
        and not re.fullmatch(r"[+-]?\d+(\.\d+)?", each)
        for each in cells
    )  # fmt: skip


@pytest.mark.parametrize("text", FORMULAS)
def test_a_formula_is_text(text: str) -> None:
    assert begins_formula(text) or text.startswith("'")
    assert not begins_formula(cell(text))
    assert not CONTROL.search(cell(text))


@pytest.mark.parametrize("text", ["", "pn-550", "12", "-12.50", "+3", "0.00", "two-wire", "a=b", "1 x 2", "north & co",
                                  "a@b", "1.01 days, 3 panels"])  # fmt: skip
def test_what_is_none_is_as_it_was(text: str) -> None:
    assert cell(text) == text


def test_rows_come_back_as_they_were() -> None:
    rows: list[list[object]] = [["a,b", 'c"d', "e f"], [1, "2.50", ""]]
    assert list(csv.reader(io.StringIO(csv_text(rows)))) == [["a,b", 'c"d', "e f"], ["1", "2.50", ""]]


def named(folder: Path, names: dict[str, str], title: str = "t", load: str = "bore pump") -> Path:
    """A job and a catalogue in which names stand for others, in every file."""
    files = {}
    for file, text in CATALOG.items():
        rows = [[names.get(each, each) for each in row] for row in csv.reader(io.StringIO(text))]
        out = io.StringIO()
        csv.writer(out, lineterminator="\n").writerows(rows)
        files[file] = out.getvalue()
    write_catalog(folder / "catalog", files)
    job = SMALL_JOB.replace('"Nursery borehole"', json.dumps(title)).replace('"bore pump"', json.dumps(load))
    (folder / "job.toml").write_text(job, encoding="utf-8")
    return folder / "job.toml"


@pytest.mark.parametrize("sign", ["=HYPERLINK(1)", "+1+1", "@x", "-2+3;=1", "x;=1"])
def test_every_csv_that_is_written_is_free_of_formulas(tmp_path: Path, sign: str) -> None:
    job = named(tmp_path, {"north": f"{sign}n", "cv-8k": f"{sign}c", "pn-550": f"{sign}p"}, sign, sign)
    assert run("pick", job, "--shopping", tmp_path / "a.csv").exit_code == 0
    assert run("afford", job, "--csv", tmp_path / "b.csv", "--to", "1.2").exit_code == 0
    for name in ("a.csv", "b.csv"):
        text = (tmp_path / name).read_text(encoding="utf-8")
        assert sign[:2] in text
        for row in csv.reader(io.StringIO(text)):
            assert not [each for each in row if begins_formula(each)]


# terminals and pages -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sign", SIGNS.values(), ids=list(SIGNS))
def test_answers_files_and_errors_hold_no_control_sign(tmp_path: Path, sign: str) -> None:
    job = named(tmp_path, {}, f"t{sign}t")
    refused = named(tmp_path / "names", {"north": f"n{sign}n", "cv-8k": f"c{sign}c"}, f"t{sign}t", f"l{sign}l")
    odd = tmp_path / f"o{sign}o.toml"
    odd.write_text(job.read_text(encoding="utf-8").replace('"-9 degC"', '"x"') + f'"k{sign}k" = 1\n', encoding="utf-8")
    page, drawn, offer = tmp_path / "page.html", tmp_path / "plot.svg", tmp_path / "offer.json"
    words = [
        ("pick", job, "--page", page, "--json", offer), ("pick", job, "--json", "-"), ("pick", odd),
        ("audit", job, offer, "--page", page), ("why", job, "--not", f"p{sign}p", "--json", "-"),
        ("afford", job, "--to", "1.2", "--plot", drawn, "--csv", tmp_path / "stairs.csv", "--page", page),
        ("pick", job, "--must", f"x{sign}x"), ("pick", job, "--prices", odd),
        ("catalog", "show", "--catalog", job.parent / "catalog"),
        ("refresh", tmp_path, "--page", tmp_path / "table.html", "--json", "-"), ("refresh", tmp_path),
        ("prices", job.parent / "catalog/prices.csv", job.parent / "catalog/prices.csv", "--jobs", tmp_path),
        ("measure", "--name", f"l{sign}l", "--voltage", "240 V", "--running", f"8{sign} A"),
        ("new", odd), ("pick", refused), ("catalog", "check", refused.parent / "catalog"),
    ]  # fmt: skip
    for each in words:
        result = run(*each)
        assert result.exit_code in (0, 1, 2), (each, result.output)
        assert not CONTROL.search(result.stdout + result.stderr), (each, ascii(result.output))
    written = [path for end in ("html", "svg", "json", "stairs.csv") for path in tmp_path.rglob(f"*{end}")]
    assert len(written) >= 7
    for path in written:
        assert not CONTROL.search(path.read_text(encoding="utf-8")), path
    assert json.loads(offer.read_text(encoding="utf-8"))["job"] == f"t{sign}t"  # for a program it is what it was


@pytest.mark.parametrize("where", ["title", "load", "part", "seller"])
def test_a_name_writes_no_line_of_the_answer(tmp_path: Path, where: str) -> None:
    forged = "x\n\nPROVEN CHEAPEST by nobody\n"
    names = {"part": {"cv-8k": forged}, "seller": {"east": forged}}.get(where, {})
    job = named(tmp_path, names, forged if where == "title" else "t", forged if where == "load" else "bore pump")
    for words in (("pick", job), ("pick", job, "--all"), ("refresh", tmp_path), ("why", job)):
        result = run(*words)
        assert result.exit_code == 0, result.output
        assert not re.search("^PROVEN CHEAPEST by", result.stdout, re.MULTILINE), result.stdout


def test_a_file_name_that_is_not_utf8_is_shown_by_its_bytes(tmp_path: Path) -> None:
    job = named(tmp_path, {})
    job.rename(tmp_path / os.fsdecode(b"caf\xe9.toml"))
    result = run("refresh", tmp_path, "--page", tmp_path / "table.html", "--json", tmp_path / "report.json")
    assert result.exit_code == 0
    assert "caf\\xe9" in result.stdout
    assert "caf%E9.answer.html" in (tmp_path / "table.html").read_text(encoding="utf-8")
    assert json.loads((tmp_path / "report.json").read_text())["jobs"][0]["job"] == "caf\udce9.toml"


# the signs themselves ----------------------------------------------------------------------------------------------


def test_every_control_sign_is_written_out_and_no_other() -> None:
    for code in [*range(0x3000), 0xD800, 0xDFFF, 0xFEFF, 0xE0001]:
        sign = chr(code)
        steers = bool(CONTROL.match(sign)) or code in (*range(0x206A, 0x2070), 0xD800, 0xDFFF, 0xE0001)
        assert (plain(sign) != sign) == steers, hex(code)
        assert plain(sign).isascii() or not steers
        assert json.loads(plain_json(json.dumps(sign, ensure_ascii=False))) == sign
    assert plain("a\x1bb\x9b\udce9\u202e\U000e0001") == "a\\x1bb\\x9b\\xe9\\u202e\\U000e0001"
    assert one_line("a \n\n b") == "a  b"
