"""The row types are what the dictionary of columns says, true of the rows that are read, and catch a misspelt column.

``made`` writes ``catalog/rows.py`` from the dictionary; ``python -m tests.renew`` puts it into the file.
"""

from __future__ import annotations

from pathlib import Path
from typing import get_args, get_type_hints

import pytest

from catalog import rows
from catalog.reader import Catalog, read_catalog, shipped_catalog
from catalog.schema import Column, TableSpec
from catalog.tables import PART_TABLES
from tests.test_examples import ROOT

FILE = ROOT / "catalog" / "rows.py"
HEAD = '''"""Rows and columns of the catalogue's tables by name, for a type checker: a misspelt column is an error.

Made from ``catalog/tables.py`` by ``python -m tests.renew``; do not change it by hand. A row is a plain dict: numbers
as float, not a number where not stated and without default; a table's columns are arrays, the part ids apart.
"""

from __future__ import annotations

from typing import Literal, TypedDict
'''


def made() -> str:
    """The text of ``catalog/rows.py``."""
    tables = "".join(f"\n\n{row_of(spec)}\n\n{columns_of(spec)}" for spec in PART_TABLES)
    return f"{HEAD}{tables}\nPartRow = {' | '.join(f'{name_of(spec)}Row' for spec in PART_TABLES)}\n"


def name_of(spec: TableSpec) -> str:
    return spec.kind.title()


def row_of(spec: TableSpec) -> str:
    """The class of a table's rows, each column with its unit and meaning."""
    fields = "\n".join(f"    {column.name}: {python_type(column)}  # {told(column)}" for column in spec.columns)
    return f'class {name_of(spec)}Row(TypedDict):\n    """A row of {spec.file}."""\n\n{fields}\n'


def columns_of(spec: TableSpec) -> str:
    """The names of a table's columns as arrays."""
    names = "\n".join(f'    "{column.name}",' for column in spec.columns if column.name != "part")
    return f"{name_of(spec)}Column = Literal[\n{names}\n]\n"


def python_type(column: Column) -> str:
    return "float" if column.numeric else "bool" if column.type == "yes-no" else "str"


def told(column: Column) -> str:
    return f"{column.unit}; {column.meaning}" if column.unit else column.meaning


def test_the_file_is_what_the_dictionary_says() -> None:
    """``python -m tests.renew`` writes it again."""
    assert FILE.read_text(encoding="utf-8") == made()


@pytest.fixture(scope="module")
def catalog() -> Catalog:
    return read_catalog(shipped_catalog())


@pytest.mark.parametrize("kind", [spec.kind for spec in PART_TABLES])
def test_a_row_that_is_read_is_of_its_type(catalog: Catalog, kind: str) -> None:
    """Its columns, in order, and the type of every value; the arrays have the same names."""
    table, hints = catalog.tables[kind], get_type_hints(getattr(rows, f"{kind.title()}Row"))
    assert len(table)
    for position in range(len(table)):
        record = table.record(position)
        assert {name: type(value) for name, value in record.items()} == hints
    assert list(table.columns) == list(get_args(getattr(rows, f"{kind.title()}Column")))


SNIPPET = '''
from catalog.reader import Catalog
from optimizer.bundles.bundle import Bundle
from optimizer.search.lower_bounds import Field

def figures(bundle: Bundle, catalog: Catalog, found: Field) -> list[object]:
    """One line for each way that a column is named."""
    return [
        bundle.battery["{peak_a}"],
        catalog.batteries.record(0)["{peak_a}"],
        catalog.batteries["{peak_a}"],
        found.batteries["{peak_a}"],
        found.batteries.columns["{peak_a}"],
        found.converters.column("{surge_va}"),
    ]
'''


def test_a_misspelt_column_is_an_error_of_types(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a bundle's part, a record, a table, what the limits leave of it; the right names are none."""
    api = pytest.importorskip("mypy.api", reason="mypy is not installed: pip install -e '.[lint]'")
    monkeypatch.chdir(ROOT)
    right, wrong = tmp_path / "right.py", tmp_path / "wrong.py"
    right.write_text(SNIPPET.replace("{peak_a}", "peak_a").replace("{surge_va}", "surge_va"), encoding="utf-8")
    wrong.write_text(SNIPPET.replace("{peak_a}", "peek_a").replace("{surge_va}", "surge_w"), encoding="utf-8")
    said, trouble, _ = api.run([
        "--config-file", str(ROOT / "pyproject.toml"), "--cache-dir", str(tmp_path / "cache"),
        "--follow-imports", "silent", "--no-error-summary", str(right), str(wrong),
    ])  # fmt: skip
    assert not trouble
    first = SNIPPET.splitlines().index('        bundle.battery["{peak_a}"],') + 1
    lines = [line for line in said.splitlines() if ": error: " in line]
    assert [line.split(": error: ")[0] for line in lines] == [f"{wrong}:{first + place}" for place in range(6)], said
    assert sum("peek_a" in line for line in lines) == 5
