"""The dictionary of columns for others: rows of text, and a Data Package descriptor."""

from __future__ import annotations

from collections.abc import Collection

from catalog.schema import Column
from catalog.tables import TABLES


def column_rows() -> list[dict[str, str]]:
    """The dictionary as rows of text: file, column, type, unit, range or choices, required, default, meaning."""
    return [
        {
            "file": spec.file,
            "column": column.name,
            "type": column.type,
            "unit": column.unit,
            "range": ", ".join(column.choices) or (column.range_text if column.numeric else ""),
            "required": "yes" if column.required else "",
            "default": column.default.words if column.default else "",
            "meaning": column.meaning,
        }
        for spec in TABLES.values()
        for column in spec.columns
    ]


_FRICTIONLESS = {"number": "number", "money": "number", "whole": "integer", "date": "date", "yes-no": "boolean"}


def _field(column: Column, key: str) -> dict[str, object]:
    """One column as a field of the Data Package standard."""
    constraints: dict[str, object] = {"required": column.required}
    if column.name == key and column.type in ("part", "text"):
        constraints["unique"] = True
    if column.choices and column.type != "list":
        constraints["enum"] = [float(c) if column.numeric else c for c in column.choices]
    elif column.numeric:
        # the standard has closed bounds only; an open one is in the description
        constraints |= {"minimum": column.low, "maximum": column.high}
    words = [column.meaning]
    if column.numeric and (column.low_open or column.high_open):
        words.append(column.range_text)
    if column.default:
        words.append(f"empty = {column.default.words}")
    described: dict[str, object] = {
        "name": column.name,
        "type": _FRICTIONLESS.get(column.type, "string"),
        "description": "; ".join(words),
        "constraints": constraints,
    }
    if column.unit:
        described["unit"] = column.unit
    if column.type == "yes-no":
        described |= {"trueValues": ["yes"], "falseValues": ["no"]}
    return described


def data_package(files: Collection[str] | None = None) -> dict[str, object]:
    """The catalogue's descriptor after the open Frictionless Data Package standard; of these files, else of all."""
    resources = [
        {
            "name": spec.file.removesuffix(".csv"),
            "path": spec.file,
            "profile": "tabular-data-resource",
            "description": spec.meaning,
            "encoding": "utf-8",
            "dialect": {"commentChar": "#"},
            "schema": {
                "fields": [_field(column, "" if spec.kind == "price" else spec.key) for column in spec.columns],
                "missingValues": [""],
                **({} if spec.kind == "price" else {"primaryKey": spec.key}),
            },
        }
        for spec in TABLES.values()
        if files is None or spec.file in files
    ]
    return {
        "profile": "tabular-data-package",
        "name": "borewatt-generic-catalogue",
        "title": "Generic parts, invented, with invented prices",
        "resources": resources,
    }
