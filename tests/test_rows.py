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
from tests.command_line import ROOT

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


# what the libraries bring does not matter here, and takes a type checker far longer than the product itself
SETTINGS = """[mypy]
strict = true
follow_imports = silent
[mypy-numpy.*,pandas.*,pydantic.*]
follow_imports = skip
follow_imports_for_stubs = true
"""
SNIPPET = """from catalog.reader import Catalog
from catalog.rows import BatteryColumn
from optimizer.bundles.bundle import Bundle
from optimizer.candidates.converters import Converters, Inverter
from optimizer.candidates.rows import TableRows
def named(bundle: Bundle, catalog: Catalog, rows: TableRows[BatteryColumn], left: Converters, one: Inverter) -> None:
    bundle.battery["peak_a"]
    catalog.batteries.record(0)["peak_a"]
    catalog.batteries["peak_a"]
    rows["peak_a"]
    rows.columns["peak_a"]
    left.column("surge_va")
    one["surge_va"]
"""
NAMED = range(7, 14)  # the lines that name a column


def test_a_misspelt_column_is_an_error_of_types(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a bundle's part, of a record, a table, what the limits leave of one; the right names are no error."""
    api = pytest.importorskip("mypy.api", reason="mypy is not installed: pip install -e '.[lint]'")
    monkeypatch.chdir(ROOT)
    settings, right, wrong = (tmp_path / name for name in ("settings", "right.py", "wrong.py"))
    settings.write_text(SETTINGS, encoding="utf-8")
    right.write_text(SNIPPET, encoding="utf-8")
    wrong.write_text(SNIPPET.replace("peak_a", "peek_a").replace("surge_va", "surge_w"), encoding="utf-8")
    options = ["--config-file", str(settings), "--cache-dir", str(tmp_path / "cache"), "--hide-error-context"]
    said, trouble, _ = api.run([*options, str(right), str(wrong)])
    assert not trouble
    found = [line.partition(": error: ") for line in said.splitlines() if ": error: " in line]
    assert [place for place, _, _ in found] == [f"{wrong}:{number}" for number in NAMED], said
    assert all("peek_a" in fault or "surge_w" in fault for _, _, fault in found)
