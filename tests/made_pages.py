"""Pages made from the code: the table of packages in DEVELOPERS.md and optimizer/API.md from docstrings."""

from __future__ import annotations

import ast
import dataclasses
import inspect
import re
from collections.abc import Iterator
from enum import Enum
from importlib import import_module
from typing import Any

from tests.test_architecture import PACKAGES, ROOT

DEVELOPERS = ROOT / "DEVELOPERS.md"
API = ROOT / "optimizer" / "API.md"
BEGIN, END = "<!-- packages: made by python -m tests.renew -->\n", "<!-- end of packages -->"
API_HEAD = """\
# The public names

*Made from docstrings; change those, then `python -m tests.renew` writes this page anew.*

Names are imported from the package that heads them: `from optimizer.answers import pick`.
"""
PUBLIC = ("optimizer", "optimizer.answers", "catalog")


def summary(package: str) -> str:
    """What a package is for: its docstring on one line."""
    source = (ROOT.joinpath(*package.split(".")) / "__init__.py").read_text(encoding="utf-8")
    text = ast.get_docstring(ast.parse(source)) or ""
    return " ".join(text.split("\n\n")[0].split()).rstrip(".")


def modules(package: str) -> str:
    """The modules of a package by name."""
    folder = ROOT.joinpath(*package.split("."))
    found = {path.stem for path in folder.glob("*.py")} | {path.parent.name for path in folder.glob("*/__init__.py")}
    return ", ".join(f"`{name}`" for name in sorted(found - {"__init__"}))


def packages_table() -> str:
    """The order of packages, lowest first, each with what it is for and its modules."""
    rows = ["| package | what lives there | modules |", "|---|---|---|"]
    for packages in PACKAGES:
        cells = (
            [f"`{package}`" for package in packages], map(summary, packages), map(modules, packages),
        )  # fmt: skip
        rows.append(f"| {' <br> '.join(cells[0])} | {' <br> '.join(cells[1])} | {' <br> '.join(cells[2])} |")
    return "\n".join(rows) + "\n"


def developers() -> str:
    """DEVELOPERS.md with the table of packages as the code has it."""
    before, _, rest = DEVELOPERS.read_text(encoding="utf-8").partition(BEGIN)
    return f"{before}{BEGIN}{packages_table()}{END}{rest.partition(END)[2]}"


def plain(text: str | None) -> str:
    """A docstring as Markdown: roles and double ticks as code."""
    text = inspect.cleandoc(text or "")
    return re.sub(r"(?::\w+:)?``?([^`]+)``?", r"`\1`", text)


def signature(thing: Any) -> str:
    """A signature as it is written: annotations without the quotes that put off their reading."""
    text = str(inspect.signature(thing))
    text = re.sub(r"<(\w+\.\w+): '[^']*'>", r"\1", text)
    return re.sub(r"(: |-> )'([^']*)'", r"\1\2", text)


def entry(name: str, thing: Any) -> Iterator[str]:
    """A function with its signature, or a class with its fields and public members; each with its docstring."""
    if inspect.isclass(thing):
        yield f"### class `{name}`\n\n{plain(thing.__doc__)}\n"
        if dataclasses.is_dataclass(thing):
            yield "\n".join(f"- `{field.name}: {field.type}`" for field in dataclasses.fields(thing)) + "\n"
        elif issubclass(thing, Enum):
            yield "\n".join(f"- `{member.name}`" for member in thing) + "\n"
        for member, value in vars(thing).items():
            target = value.fget if isinstance(value, property) else getattr(value, "__func__", value)
            if not member.startswith("_") and inspect.isfunction(target) and target.__doc__:
                shown = member if isinstance(value, property) else f"{member}{signature(target)}"
                yield f"- `.{shown}`: {' '.join(plain(target.__doc__).split())}"
        yield ""
    else:
        yield f"### `{name}{signature(thing)}`\n\n{plain(thing.__doc__)}\n"


def known_to(module: str) -> dict[str, Any]:
    """Every name that a module knows, those too that it imports late or for whoever checks types."""
    home = import_module(module)
    nodes = [node for node in ast.walk(ast.parse(inspect.getsource(home))) if isinstance(node, ast.ImportFrom)]
    late = {
        each.name: getattr(import_module(str(node.module)), each.name, None) for node in nodes for each in node.names
    }
    return {**late, **vars(home)}


def classes_named(text: str, module: str) -> set[type]:
    """The classes of the product that an annotation names, as the module that has it knows them."""
    known = known_to(module)
    found = {thing for word in re.findall(r"\w+", text) if inspect.isclass(thing := known.get(word)) and thing.__doc__}
    return {thing for thing in found if thing.__module__.startswith("optimizer.")}


def answer_classes() -> list[type]:
    """The classes of the objects that the questions give, and of what is in them, by name."""
    home = import_module("optimizer.answers")
    functions = [getattr(home, name) for name in home.__all__]
    found: set[type] = set()
    new = set().union(
        *(classes_named(str(inspect.signature(each).return_annotation), each.__module__) for each in functions)
    )
    while new:
        found |= new
        fields = [(field, each) for each in new if dataclasses.is_dataclass(each) for field in dataclasses.fields(each)]
        new = set().union(*(classes_named(str(field.type), each.__module__) for field, each in fields)) - found
    return sorted(found, key=lambda thing: (thing.__name__, thing.__module__))


def api_page() -> str:
    """Every public name with its docstring."""
    parts = [API_HEAD]
    for package in PUBLIC:
        home = import_module(package)
        parts.append(f"## {package}\n\n{plain(home.__doc__)}\n")
        for name in sorted(home.__all__, key=str.lower):
            parts.extend(entry(name, getattr(home, name)))
    parts.append("## What the answers are\n\nEach class stands in the module that is named before it.\n")
    for given in answer_classes():
        parts.extend(entry(f"{given.__module__}.{given.__name__}", given))
    return re.sub(r"\n{3,}", "\n\n", "\n".join(parts)).rstrip() + "\n"


PAGES = {DEVELOPERS: developers, API: api_page}


def write() -> None:
    """Write every page anew."""
    for path, made in PAGES.items():
        path.write_text(made(), encoding="utf-8")
