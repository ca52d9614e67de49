"""The values of a job file: one value read as its key says, in base units, and as a person would have written it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise, product

from optimizer.inputs.job_schema import HUGE, KEYS, TO_DO, Key
from optimizer.vocabulary.control_signs import one_line
from optimizer.vocabulary.months import MONTHS
from optimizer.vocabulary.problems import LONGEST_CELL, ONE_SLIP, Fault, perhaps
from optimizer.vocabulary.units import UNITS, Quantity, parse_quantity, to_unit

DAY_H = 24
_SPAN = re.compile(r"(\d{1,2}):(\d\d)-(\d{1,2}):(\d\d)")

Value = str | float | int | bool | Quantity | tuple[str, ...] | tuple[float, ...] | tuple[tuple[float, float], ...]


def written(value: object, depth: int = 3) -> str:
    """A TOML value as a person would have written it; what is nested deeper than ``depth`` is left out."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list | dict):
        return f"[{', '.join(written(item, depth - 1) for item in value)}]" if depth else "[...]"
    if isinstance(value, int) and abs(value) > HUGE:
        return f"{value:#x}"  # a hexadecimal number may have more digits than can be printed as a decimal
    return str(value)


def _is_to_do(value: object) -> bool:
    return isinstance(value, str) and value.strip() == TO_DO


def read_value(value: object, key: Key, own: str = "") -> Value | Fault:
    """One value as the key says, in base units: a monthly one as twelve floats, texts as a tuple.

    What is wrong is handed back and not raised: the checks between keys go on with the values that could be read. Of a
    list the fault's slot ``item`` has what is wrong of it. ``own``: the unit in which the person writes such figures.
    """
    if _is_to_do(value):
        return Fault("to-do", _to_do(key))
    if key.monthly:
        return _read_months(value, key, own)
    if key.holds == "texts":
        return _read_texts(value, key)
    if key.holds == "spans":
        return _read_spans(value, key)
    if key.holds == "day":
        return _read_day(value, key)
    return _read_one(value, key, own)


def _read_months(value: object, key: Key, own: str) -> tuple[float, ...] | Fault:
    items = value if isinstance(value, list) else [value]
    if len(items) not in (1, len(MONTHS)):
        return Fault("twelve-values", {"found": str(len(items))})
    figures = []
    for item, month in zip(items, MONTHS, strict=False):
        read = Fault("to-do", _to_do(key)) if _is_to_do(item) else _read_one(item, key, own)
        if isinstance(read, Fault):
            return replace(read, slots={**read.slots, "item": f"{written(item)}, {month}"}) if len(items) > 1 else read
        figures.append(read.value if isinstance(read, Quantity) else float(str(read)))
    return tuple(figures * len(MONTHS) if len(figures) == 1 else figures)


def _to_do(key: Key) -> dict[str, str]:
    return {"meaning": key.meaning, "how": key.how}


def _wrong_type(expected: str, key: Key) -> Fault:
    return Fault("wrong-type", {"expected": f"{expected}: {key.meaning}", "example": key.example})


def _read_texts(value: object, key: Key) -> tuple[str, ...] | Fault:
    if not isinstance(value, list) or not value or not all(isinstance(item, str) for item in value):
        return _wrong_type("a list of texts with at least one in it", key)
    for item in value:
        fault = Fault("to-do", _to_do(key)) if _is_to_do(item) else _text_fault(item, key)
        if fault is not None:
            return replace(fault, slots={**fault.slots, "item": item})
    return tuple(map(one_line, value))


def _read_spans(value: object, key: Key) -> tuple[tuple[float, float], ...] | Fault:
    """Spans of the clock as (first h, end h), in order; one may go over midnight, and none over another."""
    texts = _read_texts(value, key)
    if isinstance(texts, Fault):
        return texts
    spans = []
    for text in texts:
        found = _SPAN.fullmatch(text.replace(" ", ""))
        first, end = (int(found[1]) + int(found[2]) / 60, int(found[3]) + int(found[4]) / 60) if found else (0.0, 0.0)
        if not found or first == end or max(first, end) > DAY_H or max(int(found[2]), int(found[4])) > 59:
            return Fault("clock-span", {"meaning": key.meaning, "example": key.example, "item": text})
        spans.append((first, end))
    whole = sorted(part for a, b in spans for part in ([(a, b)] if a < b else [(a, DAY_H), (0.0, b)]))
    if any(later < end for (_, end), (later, _) in pairwise(whole)):
        return Fault("clock-spans-overlap", {"meaning": key.meaning})
    return tuple(sorted(spans))


def _read_day(value: object, key: Key) -> tuple[float, ...] | Fault:
    """Shares of a day in each of 24 hours, which come to 1."""
    if not isinstance(value, list) or len(value) != DAY_H:
        return _wrong_type("24 numbers, one for each hour of the day from midnight", key)
    shares = []
    for hour, item in enumerate(value):
        read = _read_number(item, key)
        fault = read if isinstance(read, Fault) else None
        if fault is None and float(str(read)) < 0:
            fault = Fault("out-of-range", {"range": "at least 0", "meaning": key.meaning, "perhaps": ""})
        if fault is not None:
            return replace(fault, slots={**fault.slots, "item": f"{written(item)}, from {hour} o'clock"})
        shares.append(float(str(read)))
    if not sum(shares) > 0:
        return Fault("out-of-range", {"range": "above 0 in some hour", "meaning": key.meaning, "perhaps": ""})
    return tuple(share / sum(shares) for share in shares)


def _text_fault(text: str, key: Key) -> Fault | None:
    if len(text) > LONGEST_CELL:
        return Fault("long-cell", {"most": str(LONGEST_CELL), "length": str(len(text))})
    if key.choices and text not in key.choices:
        near = perhaps(text, key.choices, ONE_SLIP)
        return Fault("unknown-value", {"choices": ", ".join(key.choices), "perhaps": near})
    return None


def _read_one(value: object, key: Key, own: str = "") -> Value | Fault:
    match key.holds:
        case "quantity":
            if value in key.words:
                return str(value)
            quantity = parse_quantity(value, key.unit, own)
            if isinstance(quantity, Fault):
                return quantity
            return key.fault_of(quantity.value, quantity.unit) or quantity
        case "yes-no":
            return value if isinstance(value, bool) else _wrong_type("true or false", key)
        case "text" | "choice":
            if not isinstance(value, str) or not value.strip():
                return _wrong_type("a text in quotes", key)
            return _text_fault(value, key) or one_line(value.strip())
        case _:
            return _read_number(value, key)


def _read_number(value: object, key: Key) -> float | int | Fault:
    if isinstance(value, bool) or not isinstance(value, int | float):
        if isinstance(value, str) and re.fullmatch(r"[+-]?[0-9.]*,[0-9.]*", value):
            return Fault("decimal-comma", {"pointed": value.replace(",", ".")})
        return _wrong_type("a plain number without quotes or unit", key)
    if not abs(value) < float("inf"):
        return Fault("not-finite", {"meaning": key.meaning})
    if abs(value) > HUGE:
        return Fault("out-of-range", {"range": f"below {HUGE:g}", "meaning": key.meaning, "perhaps": ""})
    if key.holds == "whole" and value != int(value):
        return Fault("not-whole", {"meaning": key.meaning})
    if key.choices and str(int(value)) not in key.choices:
        return Fault("unknown-value", {"choices": ", ".join(key.choices), "perhaps": ""})
    if fault := key.fault_of(value):
        return fault
    if key.holds == "money" and abs(value * 100 - round(value * 100)) > 1e-6:
        return Fault("not-cents")
    return int(value) if key.holds == "whole" else float(value)


def missing_key(name: str, key: Key, own: str = "") -> Fault:
    """The fault of a key that is not there, with what to write, in the person's ``own`` unit where it is known."""
    example = f"{name} = {_in_unit(key, own)}, with the right value."
    return Fault("missing-key", {"key": name, "meaning": key.meaning, "example": example})


def _in_unit(key: Key, own: str) -> str:
    """The example of a key in another unit, to three digits."""
    read = parse_quantity(key.example.strip('"'), key.unit) if own and key.holds == "quantity" else None
    if not isinstance(read, Quantity) or UNITS[key.unit][read.unit] != UNITS[key.unit][own]:
        return key.example
    return f'"{to_unit(read.value, own, key.unit):.3g} {own}"'


def own_units(content: Mapping[str, object]) -> dict[str, str]:
    """By field kind the unit in which a file's first readable figure of it stands: what hints follow."""
    found: dict[str, str] = {}
    for name, keys in KEYS.items():
        stated = content.get(name) if name else content
        tables = [table for table in (stated if isinstance(stated, list) else [stated]) if isinstance(table, dict)]
        for table, (field, key) in product(tables, keys.items()):
            value = table.get(field)
            first = value[0] if isinstance(value, list) and value else value
            read = parse_quantity(first, key.unit) if key.holds == "quantity" and isinstance(first, str) else None
            if isinstance(read, Quantity):
                found.setdefault(key.unit, read.unit)
    return found
