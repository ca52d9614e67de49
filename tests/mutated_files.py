"""Files changed at random as mishaps and slips of the pen change them; a seed gives the same file every time."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Callable, Sequence
from random import Random
from typing import Any

from tests.small_files import cells_of, csv_text

LONG = "9" * 5000
NASTY_TEXTS = (
    "", " ", "?", "none", "nan", "NaN", "inf", "-inf", "1e308", "1e-308", "-1e308", "1e400", "0", "-0", "-1", "1", "2",
    "0.5", "1e3", "007", "0x10", "1_000", "1,5", "1.500,00", "1'000", "12.345", "1e15", "99999999999999999999", "1e9",
    "100", "1000000", "٣", "½", "²", "１２", "١٢٣", "−5", "\u200b5", "5\u00a0", "ﬁ", "İ", "ß", "\ufeff", "\u202e",
    "\x00", "\x1b[31m", "\x0b", "\x0c", "\x85", "\u2028", '"', '""', "'", '"a', 'a"b', ",", ";", "\t", "|", "#", "# x",
    "=1+1", "@x", "+1", "-", ".", "..", "/", "../x", "\\", "{}", "{0}", "%s", "%", "yes", "no", "true", "2026-13-01",
    "2026-02-30", "0001-01-01", "9999-12-31", "2026-1-1", "2026-10-01T00:00", "USD", "usd", "EUR", "50;60", "60;;50",
    "lfp", "LFP", "pn-410", "PN-410", "pn-410 ", "north", "always", "string", "240 V", "5 A", "8.1 kW", LONG, "x" * 300,
    "🔋", "e\u0301", "a\nb", "1 2",
)  # fmt: skip
NASTY_VALUES = (  # as TOML writes them
    "", '""', '"?"', "nan", "inf", "-inf", "1e308", "1e-308", "5e-324", "0", "-0", "-0.0", "-1", "1", "2", "3", "1.5",
    "true", "false", "99999999999999999999", "9" * 400, "1" + "0" * 5000, "1e400", "0x1F", "0o7", "1_000", "[]", "[[]]",
    "[1]", "[1, 2, 3]", "[1, 'a']", '["a", "a"]', "[{}]", "[[1], [2]]", "{}", "{ a = 1 }", "{ a.b = 1 }", "2026-10-01",
    "12:30:00", "2026-10-01T00:00:00Z", "9999-12-31", '"240 V"', '"5 A"', '"1e3 A"', '"-5 A"', '"0 A"', '"1e308 A"',
    '"٣ A"', '"8,1 A"', '"8.1A"', '"8.1  A"', '"A"', '"8.1 a"', '"8.1 furlong"', '"none"', '"3 hp"', '"0.001 degC"',
    '"1000000 L"', '"1e9 L"', '"24 h"', '"0.0001 kWh"', '"1000 kW"', '"120"', '"230"', '"\\u0000"', '"\\u001b[31m"',
    '"\\ud800"', '"' + "x" * 5000 + '"', "'''a\nb'''", '"""', "'", "[" * 500, '"pn-410"', '["pn-410"]', "0.25", "12",
    "[3.1, 3.9, 4.8, 5.4, 5.9, 6.3, 6.4, 6.1, 5.3, 4.3, 3.3, nan]", "[" + ", ".join(["1"] * 12) + "]", "1e15", "1000",
    "[" + ", ".join(["0.0001"] * 12) + "]", '"' + "9" * 300 + ' A"', '"' + "9" * 300 + '"', "0.1", "0.999999", "1e-9",
)  # fmt: skip
NASTY_JSON: tuple[Any, ...] = (
    None, True, False, 0, -0.0, -1, 1, 2, 1.5, 10**20, 10**400, 1e308, 1e-308, float("nan"), float("inf"), "", " ", "x",
    "1.00", "1.005", "-1.00", "1e5", "1e400", "NaN", "9" * 30, "9" * 5000, "\ud800", "\x00", "\x1b[31m", "٣", [], [[]],
    [None], [1, 2], {}, {"a": {}}, {"": 1}, [{}], "x" * 5000, "pn-410", "north", [{"rank": 1}], {"1": ["bore pump"]},
)  # fmt: skip
ENCODINGS = ("utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252", "cp437", "utf-8-sig", "latin-1", "shift_jis")
BYTES = (
    b"\x00", b"\xff", b"\xfe", b"\xef\xbb\xbf", b"\r", b"\n", b"\r\n", b"\x1a", b"\x80", b"\xc3\x28", b"\xed\xa0\x80",
    b'"', b"'", b",", b";", b"\t", b"#", b"[", b"]", b"{", b"}", b"=", b".", b"-", b"\\", b"\x7f", b"\xc2\x85",
)  # fmt: skip
FACTORS = (0, 0.001, 0.01, 0.1, 0.5, 0.9, 1.1, 2, 10, 100, 1000, 1e6, -1)

_NUMBER = re.compile(r"[0-9]{1,300}(\.[0-9]{1,300})?")

Change = Callable[[bytes, Random], bytes]


def text_of(data: bytes) -> str:
    """The text of bytes that may have been spoilt already; what is no UTF-8 is kept as it is by :func:`bytes_of`."""
    return data.decode("utf-8", errors="surrogateescape")


def bytes_of(text: str) -> bytes:
    """The bytes of a text of :func:`text_of`, or of one that holds half a pair of surrogates."""
    try:
        return text.encode("utf-8", errors="surrogateescape")
    except UnicodeEncodeError:
        return text.encode("utf-8", errors="surrogatepass")


# of any file -------------------------------------------------------------------------------------------------------


def flip_bytes(data: bytes, rng: Random) -> bytes:
    """A few bytes changed to any."""
    changed = bytearray(data)
    for _ in range(rng.randint(1, 3) if data else 0):
        changed[rng.randrange(len(data))] = rng.choice((rng.randrange(256), rng.randrange(32, 127)))
    return bytes(changed)


def put_bytes(data: bytes, rng: Random) -> bytes:
    """A sign with a meaning of its own put in anywhere."""
    at = rng.randint(0, len(data))
    return data[:at] + rng.choice(BYTES) * rng.choice((1, 1, 1, 2, 50)) + data[at:]


def cut_off(data: bytes, rng: Random) -> bytes:
    """A piece taken out, or all behind it."""
    first, last = sorted((rng.randint(0, len(data)), rng.randint(0, len(data))))
    return data[:first] if rng.random() < 0.3 else data[:first] + data[min(last, first + rng.randint(1, 40)) :]


def other_encoding(data: bytes, rng: Random) -> bytes:
    """The text as another program saves it."""
    return text_of(data).replace("e", rng.choice("eé")).encode(rng.choice(ENCODINGS), errors="replace")


def other_line_ends(data: bytes, rng: Random) -> bytes:
    """Line ends of several sorts in one file."""
    return b"".join(line + rng.choice((b"\n", b"\n", b"\r\n", b"\r", b"\n\n")) for line in data.split(b"\n"))


def move_lines(data: bytes, rng: Random) -> bytes:
    """A line dropped, doubled or swapped with another."""
    lines = data.split(b"\n")
    one, other = rng.randrange(len(lines)), rng.randrange(len(lines))
    how = rng.randrange(4)
    if how == 0:
        del lines[one]
    elif how == 1:
        lines.insert(other, lines[one])
    elif how == 2:
        lines[one], lines[other] = lines[other], lines[one]
    else:
        lines.insert(one, rng.choice((b"", b" ", b"#", b",,,", b"[x]", b'"')))
    return b"\n".join(lines)


ANY_FILE: tuple[Change, ...] = (flip_bytes, put_bytes, cut_off, other_encoding, other_line_ends, move_lines)

# of a CSV file -----------------------------------------------------------------------------------------------------


def _rows(data: bytes) -> list[list[str]]:
    text = text_of(data)
    try:
        return cells_of(text)
    except csv.Error:  # it was spoilt already
        return [line.split(",") for line in text.split("\n")]


def change_cell(data: bytes, rng: Random) -> bytes:
    """One cell of any row, the headings too, replaced."""
    rows = _rows(data)
    row = rng.choice([row for row in rows if row] or [[""]])
    row[rng.randrange(len(row))] = rng.choice(NASTY_TEXTS)
    return bytes_of(csv_text(rows)) if rng.random() < 0.5 else bytes_of("\n".join(map(",".join, rows)) + "\n")


def scale_cell(data: bytes, rng: Random) -> bytes:
    """One number made larger, smaller or whole: what often still stands in its range."""
    rows = _rows(data)
    numbers = [(row, at) for row in rows for at, cell in enumerate(row) if _NUMBER.fullmatch(cell)]
    if numbers:
        row, at = rng.choice(numbers)
        row[at] = f"{float(row[at]) * rng.choice(FACTORS):.10g}"
    return bytes_of(csv_text(rows))


def change_column(data: bytes, rng: Random) -> bytes:
    """A column dropped, renamed, doubled, emptied, or moved to the end."""
    rows = _rows(data)
    at = rng.randrange(len(rows[0]) if rows and rows[0] else 1)
    how = rng.randrange(5)
    for place, row in enumerate(row for row in rows if at < len(row)):
        cell = row[at]
        if how in (0, 4):
            del row[at]
        if how in (2, 4):
            row.append(cell)
        elif how == 1 and place == 0:
            row[at] = rng.choice((cell.upper(), cell[1:], cell + "x", cell.replace("_", " "), rng.choice(NASTY_TEXTS)))
        elif how == 3 and place:
            row[at] = ""
    return bytes_of(csv_text(rows))


CSV: tuple[Change, ...] = (change_cell, change_cell, scale_cell, scale_cell, change_column)

# of a TOML file ----------------------------------------------------------------------------------------------------

_PAIR = re.compile(r"^([\w\".-]+)\s*=\s*(.*)$")


def _a_pair(lines: Sequence[str], rng: Random) -> tuple[int, str, str]:
    """The number, key and value of a line that has one; of any line, where none has."""
    pairs = [(at, found[1], found[2]) for at, line in enumerate(lines) if (found := _PAIR.match(line))]
    return rng.choice(pairs) if pairs else (rng.randrange(len(lines)), "x", "1")


def change_value(data: bytes, rng: Random) -> bytes:
    """The value of a key replaced, or its key changed to what stands elsewhere in the file."""
    lines = text_of(data).split("\n")
    at, key, value = _a_pair(lines, rng)
    if rng.random() < 0.8:
        value = rng.choice(NASTY_VALUES)
    else:
        _, key, _ = _a_pair(lines, rng)
    lines[at] = f"{key} = {value}"
    return bytes_of("\n".join(lines))


def scale_value(data: bytes, rng: Random) -> bytes:
    """A number of a value made larger, smaller or negative."""
    text = text_of(data)
    numbers = list(re.finditer(rf"(?<![\w.-]){_NUMBER.pattern}", text))
    if not numbers:
        return data
    found = rng.choice(numbers)
    return bytes_of(f"{text[: found.start()]}{float(found[0]) * rng.choice(FACTORS):.10g}{text[found.end() :]}")


def change_keys(data: bytes, rng: Random) -> bytes:
    """A key doubled, dotted, nested, misspelt, quoted, or a table of another sort."""
    lines = text_of(data).split("\n")
    at, key, value = _a_pair(lines, rng)
    lines[at : at + 1] = rng.choice((
        [lines[at], lines[at]], [f"{key}.x = {value}"], [f"{key}.{key} = {value}"], [f"{key} = {{ x = {value} }}"],
        [f"{key} = [{value}]"], [f'"{key}" = {value}'], [f"{key[:-1]} = {value}"], [f"{key.upper()} = {value}"],
        [f"[{key}]", lines[at]], [f"[[{key}]]", lines[at]], [f'"" = {value}'], [f'"\\u0000" = {value}'],
        [f"site.{key} = {value}"], [f"[x.{key}]", f"{key} = {value}"], [f'"{LONG}" = {value}'], ["[[load]]", lines[at]],
        ["[site]"], ["[[site]]", lines[at]], ["[load]", lines[at]], [f'"é ü" = {value}'], [f"{key} ="],
    ))  # fmt: skip
    return bytes_of("\n".join(lines))


TOML: tuple[Change, ...] = (change_value, change_value, change_value, scale_value, scale_value, change_keys)

# of a JSON file ----------------------------------------------------------------------------------------------------


def change_node(data: bytes, rng: Random) -> bytes:
    """A value anywhere in the document replaced, left out, doubled, or moved to another key."""
    try:
        content = json.loads(text_of(data))
    except (ValueError, RecursionError):
        return flip_bytes(data, rng)
    holders = [holder for holder in _holders(content) if holder]
    if not holders:
        return data
    holder = rng.choice(holders)
    key: Any = rng.choice(list(holder)) if isinstance(holder, dict) else rng.randrange(len(holder))
    how = rng.randrange(10)
    if how == 0:
        del holder[key]
    elif how == 1 and isinstance(holder, dict):
        holder[str(key) + rng.choice(("", "x", "\x00", " "))] = holder.pop(key)
    elif how == 2 and isinstance(holder, list):
        holder.append(holder[key])
    elif how == 3:
        other = rng.choice(holders)
        holder[key] = rng.choice(list(other.values()) if isinstance(other, dict) else other)
    else:
        holder[key] = rng.choice(NASTY_JSON)
    try:
        return bytes_of(json.dumps(content, indent=1, ensure_ascii=rng.random() < 0.5))
    except (ValueError, RecursionError):  # what was moved holds itself
        return data


def _holders(node: Any) -> list[Any]:
    inside = node.values() if isinstance(node, dict) else node if isinstance(node, list) else ()
    return ([node] if isinstance(node, dict | list) else []) + [found for each in inside for found in _holders(each)]


JSON: tuple[Change, ...] = (change_node,)


def mutated(data: bytes, rng: Random, own: Sequence[Change]) -> bytes:
    """The file with one to three changes, most of them those that its form (``CSV``, ``TOML``, ``JSON``) knows."""
    for _ in range(rng.choice((1, 1, 1, 1, 2, 2, 3))):
        data = rng.choice(own if rng.random() < 0.75 else ANY_FILE)(data, rng)
    return data
