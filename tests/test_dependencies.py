"""What pyproject.toml asks to be installed is what the product imports: a library that serves nothing is left out."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent
TOPS = ("optimizer", "catalog")


def project() -> dict[str, Any]:
    content: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return content


def names(requirements: list[str]) -> set[str]:
    return {re.split(r"[<>=]", requirement)[0] for requirement in requirements}


def imported() -> set[str]:
    """Every other library that a module of the product imports, wherever the import stands."""
    found = set()
    for path in (path for top in TOPS for path in (ROOT / top).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                found |= {alias.name.partition(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module:
                found.add(node.module.partition(".")[0])
    return found - sys.stdlib_module_names - set(TOPS)


def test_the_product_imports_what_it_asks_for_and_no_more() -> None:
    assert imported() == names(project()["dependencies"]) | names(project()["optional-dependencies"]["cluster"])


def test_every_dependency_states_its_oldest_version() -> None:
    assert all(">=" in requirement for requirement in project()["dependencies"])
