"""One cell, one heading, one file's encoding: what is read and what is wrong with it."""

from __future__ import annotations

import re
from datetime import date
from math import isfinite, nan

from catalog.schema import Column, TableSpec
from optimizer.vocabulary.control_signs import one_line
from optimizer.vocabulary.problems import LONGEST_CELL, ONE_SLIP, SLIPS, Fault, distance, perhaps
from optimizer.vocabulary.units import pointed

NEAR = SLIPS  # letters by which a heading may differ from a known column and still be taken for a slip
YEARS = (2000, 2099)  # of a price
SHORTEST_NEAR = 5  # letters from which a heading is compared at all: shorter ones are all alike


def letter(position: int) -> str:
    """The spreadsheet letter of the column at ``position``, counted from 0: A, B, ... Z, AA."""
    letters = ""
    position += 1  # this numbering knows no zero
    while position:
        position, rest = divmod(position - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def encoding_of(data: bytes) -> str | None:
    """What the bytes seem to be where they are not UTF-8 text; None where they are."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "UTF-16"
    if b"\0" in data:
        return "UTF-16 or no text at all"
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return "Latin-1 or Windows-1252"
    return None


def first_bad_line(data: bytes) -> int:
    """The line of the first byte that is not UTF-8 text, counted from 1."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return 1
    try:
        data.decode("utf-8")
    except UnicodeDecodeError as error:
        return data.count(b"\n", 0, error.start) + 1
    return data.count(b"\n", 0, max(data.find(b"\0"), 0)) + 1


_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_COMMA_NUMBER = re.compile(r"[+-]?[0-9.]*,[0-9.,]*")
_NOT_FINITE = {"nan", "inf", "infinity"}
_CURRENCY = re.compile(r"[A-Z]{3}")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def read_cell(text: str, column: Column) -> float | str | Fault:
    """The value of one cell that is not empty, or what is wrong with it. A yes-no stays "yes" or "no"."""
    if len(text) > LONGEST_CELL:
        return long_cell(text)
    if column.numeric:
        return _read_number(text, column)
    if column.type == "list":
        text = ";".join(item.strip() for item in text.split(";"))
    name = column.required  # what is not, is a note, and may have several lines
    return text_fault(text, column) or (one_line(text) if name else text)


def _read_number(text: str, column: Column) -> float | Fault:
    meaning = {"meaning": column.meaning}
    if not _NUMBER.fullmatch(text):
        if text.lower().lstrip("+-") in _NOT_FINITE:
            return Fault("not-finite", meaning)
        if _COMMA_NUMBER.fullmatch(text):
            return Fault("decimal-comma", {"pointed": pointed(text)})
        return Fault("not-a-number", meaning | {"unit": f" in {column.unit}" if column.unit else ""})
    return check_number(float(text), column)


def plain_number(text: str) -> float:
    """A cell as a number, whatever its range; NaN where it is none."""
    return float(text) if _NUMBER.fullmatch(text) else nan


def long_cell(text: str) -> Fault:
    """The fault of a cell that is longer than any figure, name or note."""
    return Fault("long-cell", {"most": str(LONGEST_CELL), "length": str(len(text))})


def check_number(value: float, column: Column) -> float | Fault:
    """The value, or what the column's range, choices, cents or wholeness say against it."""
    meaning = {"meaning": column.meaning}
    if not isfinite(value):
        return Fault("not-finite", meaning)
    if column.choices:
        if value not in [float(choice) for choice in column.choices]:
            return Fault("unknown-value", {"choices": ", ".join(column.choices), "perhaps": ""})
        return value
    if column.type == "whole" and value != round(value):
        return Fault("not-whole", meaning)
    if column.outside(value):
        return Fault("out-of-range", meaning | {"range": column.range_text, "perhaps": ""})
    if column.too_fine(value):
        return Fault("not-cents") if column.type == "money" else Fault("too-fine", {"decimals": str(column.decimals)})
    return value


def text_fault(text: str, column: Column) -> Fault | None:
    """What is wrong with a text that is not empty, by its column's type."""
    if column.type in ("choice", "yes-no", "list"):
        choices = ("yes", "no") if column.type == "yes-no" else column.choices
        for item in text.split(";") if column.type == "list" else [text]:
            if item not in choices:
                slots = {"choices": ", ".join(choices), "perhaps": perhaps(item, choices, ONE_SLIP)}
                return Fault("unknown-value", slots)
    elif column.type == "date":
        try:
            if not _DATE.fullmatch(text):
                raise ValueError
            year = date.fromisoformat(text).year
        except ValueError:
            return Fault("not-a-date")
        if not YEARS[0] <= year <= YEARS[1]:
            return Fault("far-date", {"first": str(YEARS[0]), "last": str(YEARS[1])})
    elif column.type == "currency" and not _CURRENCY.fullmatch(text):
        return Fault("not-a-currency")
    return None


def near_column(heading: str, spec: TableSpec) -> str | None:
    """The column that a heading was probably meant to be: within two letters of it, or with other capitals."""
    for name in spec.by_name:
        if heading.lower() == name:
            return name
    if not SHORTEST_NEAR <= len(heading) <= LONGEST_CELL:
        return None
    best = min(spec.by_name, key=lambda name: distance(heading.lower(), name))
    return best if distance(heading.lower(), best) <= NEAR else None
