"""The Data Package descriptor of the shipped catalogue: as the column dictionary has it, and true of the files.

The second part reads the CSV files by what the descriptor says alone, as any reader of the open Frictionless
standard would, without the catalogue's own reader.
"""

from __future__ import annotations

import csv
import datetime
import json
from pathlib import Path
from typing import Any

import pytest

from catalog.data_package import data_package
from catalog.reader import catalog_files, shipped_catalog

DESCRIPTOR = shipped_catalog() / "datapackage.json"


def descriptor() -> dict[str, Any]:
    package: dict[str, Any] = json.loads(DESCRIPTOR.read_text(encoding="utf-8"))
    return package


def resources() -> list[Any]:
    return [pytest.param(resource, id=resource["name"]) for resource in descriptor()["resources"]]


def rows_of(resource: dict[str, Any]) -> tuple[list[str], list[list[str]]]:
    """Headings and rows, comment lines left out as the dialect says."""
    path = DESCRIPTOR.parent / resource["path"]
    lines = path.read_text(encoding=resource["encoding"]).splitlines()
    kept = [line for line in lines if not line.startswith(resource["dialect"]["commentChar"])]
    headings, *rows = csv.reader(kept)
    return headings, rows


def misfit(cell: str, field: dict[str, Any]) -> str | None:
    """Why a cell that is not empty does not fit its field, or None."""
    value: Any = cell
    match field["type"]:
        case "number":
            value = float(cell)
        case "integer":
            value = int(cell)
        case "date":
            datetime.date.fromisoformat(cell)
        case "boolean" if cell not in field["trueValues"] + field["falseValues"]:
            return "neither true nor false"
    constraints = field["constraints"]
    if "enum" in constraints and value not in constraints["enum"]:
        return "not in enum"
    if "minimum" in constraints and value < constraints["minimum"]:
        return "below minimum"
    if "maximum" in constraints and value > constraints["maximum"]:
        return "above maximum"
    return None


def made() -> str:
    """The descriptor as the dictionary of columns has it."""
    return json.dumps(data_package(catalog_files(shipped_catalog())), indent=2) + "\n"


def test_the_descriptor_is_made_from_the_dictionary() -> None:
    assert DESCRIPTOR.read_text(encoding="utf-8") == made(), "python -m tests.renew writes it anew"


def test_every_file_of_the_catalogue_is_a_resource() -> None:
    named = sorted(resource["path"] for resource in descriptor()["resources"])
    assert named == sorted(file.name for file in Path(DESCRIPTOR.parent).glob("*.csv"))


@pytest.mark.parametrize("resource", resources())
def test_a_file_is_what_the_descriptor_says(resource: dict[str, Any]) -> None:
    fields = {field["name"]: field for field in resource["schema"]["fields"]}
    headings, rows = rows_of(resource)
    assert rows
    assert set(headings) <= set(fields)
    assert {name for name, field in fields.items() if field["constraints"]["required"]} <= set(headings)
    wrong = []
    for row in rows:
        for heading, cell in zip(headings, row, strict=True):
            field = fields[heading]
            empty = cell in resource["schema"]["missingValues"]
            reason = misfit(cell, field) if not empty else "missing" if field["constraints"]["required"] else None
            if reason:
                wrong.append((row[0], heading, cell, reason))
    assert not wrong
    for name, field in fields.items():
        if field["constraints"].get("unique"):
            column = [row[headings.index(name)] for row in rows]
            assert len(set(column)) == len(column), name
