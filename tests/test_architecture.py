"""The house: an order of packages, each importing only packages below it; who may know what; what loads late.

Imports are read from the source, those inside functions and under TYPE_CHECKING too: a late import makes a program
start faster, it does not turn an arrow round.
"""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from importlib import import_module
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent

# A package imports only packages above it in this list; two on one line do not know each other.
PACKAGES = (
    ("optimizer.vocabulary",),
    ("catalog",),
    ("optimizer.weather",),
    ("optimizer.inputs",),
    ("optimizer.rules",),
    ("optimizer.bundles",),
    ("optimizer.auditor", "optimizer.candidates"),
    ("optimizer.costs",),
    ("optimizer.milp",),
    ("optimizer.search",),
    ("optimizer.explain",),
    ("optimizer.answers",),
    ("optimizer.writing",),
    ("optimizer.commands",),
)
FORMS = (("words",), ("content",), ("text", "data", "drawings"), ("html",))  # the same inside optimizer.writing
NOT_A_WRITERS = {  # calls: who says, searches, judges, or makes an answer
    "print", "echo", "Pick", "Proof", "Search", "Resolver", "audit", "audited", "judge", "of_bundles",
    "of_audits", "Answer", "Option",
}  # fmt: skip
SOLVERS = {"pulp", "highspy"}
HEAVY = SOLVERS | {"jinja2", "numpy", "pandas", "pint", "platformdirs", "pvlib", "pydantic", "scipy", "tabulate"}
LONGEST = 400  # lines of a module
READS_FILES = {
    "optimizer.vocabulary.bounded_files", "catalog.reader", "optimizer.inputs.file_tables",
    "optimizer.bundles.kept_answer", "optimizer.commands.inputs", "optimizer.weather.cache",
    "optimizer.weather.weather_file",
    "optimizer.commands.output", "optimizer.commands.new", "optimizer.commands.job_folder",
}  # fmt: skip
# what a command may import: what is given, the answers, their writers; bundles for the files that it reads
OF_COMMANDS = {
    "optimizer.vocabulary", "catalog", "optimizer.inputs", "optimizer.bundles", "optimizer.answers",
    "optimizer.writing", "optimizer.commands",
}  # fmt: skip


@cache
def trees() -> dict[str, ast.Module]:
    """Every module of the two packages by name, each parsed once."""
    found = {}
    for path in sorted(path for top in ("optimizer", "catalog") for path in (ROOT / top).rglob("*.py")):
        parts = path.relative_to(ROOT).with_suffix("").parts
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        found[name] = ast.parse(path.read_text(encoding="utf-8"), filename=str(path))
    return found


def imports_of(tree: ast.AST) -> Iterator[str]:
    """Everything that a module imports anywhere, by its full name; ``from a import b`` is a.b where that is a room."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are written out in full"
            for alias in node.names:
                full = f"{node.module}.{alias.name}"
                yield full if full in trees() else str(node.module)


def calls_of(tree: ast.AST) -> Iterator[tuple[str, str]]:
    """(what it is called on, name) of every call: ("typer", "echo"), ("", "print")."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            if isinstance(node.func, ast.Name):
                yield "", node.func.id
            elif isinstance(node.func, ast.Attribute):
                yield ast.unparse(node.func.value), node.func.attr


def package_of(module: str) -> str:
    """The package of the order that a module lives in; "" for the two top packages' own files and other libraries."""
    top, _, rest = module.partition(".")
    if top == "catalog":
        return "catalog" if rest else ""
    return f"optimizer.{rest.partition('.')[0]}" if top == "optimizer" and rest else ""


def arrows(order: tuple[tuple[str, ...], ...], room_of: dict[str, str]) -> list[str]:
    """Imports of one room by another that is not below it."""
    floor = {room: number for number, rooms in enumerate(order) for room in rooms}
    return sorted(
        f"{module} imports {name}"
        for module, room in room_of.items()
        for name in imports_of(trees()[module])
        if (there := room_of.get(name, "")) and there != room and floor[there] >= floor[room]
    )


def test_every_module_lives_in_a_package_of_the_order() -> None:
    known = {package for packages in PACKAGES for package in packages} | {""}
    assert {package_of(module) for module in trees()} == known
    flat = {module for module in trees() if module.count(".") == 1 and module.startswith("optimizer.")}
    assert flat <= known, "a module stands flat in optimizer/"


def test_a_package_imports_only_packages_below_it() -> None:
    assert not arrows(PACKAGES, {module: package_of(module) for module in trees() if package_of(module)})


def test_inside_writing_a_form_imports_only_forms_below_it() -> None:
    """Text and pages do not know each other; what both say is content."""
    rooms = {name: name.split(".")[2] for name in trees() if name.startswith("optimizer.writing.")}
    assert not arrows(FORMS, rooms)


def test_no_module_imports_in_a_circle() -> None:
    """Inside a package too; late imports and those for types alone count."""
    left = {module: {name for name in imports_of(tree) if name in trees()} for module, tree in trees().items()}
    while ready := [module for module, names in left.items() if not names & left.keys() - {module}]:
        for module in ready:
            del left[module]
    assert not left


def test_an_import_is_seen_wherever_it_stands() -> None:
    """The reader of imports itself: inside a function, under TYPE_CHECKING, and of a module out of its package."""
    source = (
        "if TYPE_CHECKING:\n    from optimizer.search.branch_and_bound import Pick\n"
        "def late():\n    from optimizer.milp import solver\n    import optimizer.writing.text.pick\n"
    )
    expected = {"optimizer.search.branch_and_bound", "optimizer.milp.solver", "optimizer.writing.text.pick"}
    assert set(imports_of(ast.parse(source))) == expected


def test_an_arrow_upwards_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """The order itself: turned round, it forbids what it allowed."""
    rooms = {module: package_of(module) for module in trees() if package_of(module)}
    assert "optimizer.commands.pick imports optimizer.commands.options" not in arrows(PACKAGES[::-1], rooms)
    assert any(said.startswith("optimizer.commands.") for said in arrows(PACKAGES[::-1], rooms))


def test_modules_are_loaded_by_import_statements() -> None:
    """A module loaded by a name that is put together at run time would pass by the order."""
    by_name = {m for m, tree in trees().items() if {n for _, n in calls_of(tree)} & {"import_module", "__import__"}}
    # the public names, and the commands, whose homes are their own names
    assert by_name <= {"optimizer", "catalog", "optimizer.answers", "optimizer.commands.command_line"}


@pytest.mark.parametrize("package", ["optimizer", "catalog", "optimizer.answers"])
def test_the_public_names_are_at_home_in_the_house(package: str) -> None:
    """Each is what its home defines, and not a copy or another thing of that name."""
    names = import_module(package)
    assert names.__all__
    for name in names.__all__:
        assert getattr(names, name).__module__ in trees()
        assert getattr(names, name).__name__ == name
        assert f"{package}.{name}" not in trees(), "a module of that name would hide it"
    with pytest.raises(AttributeError):
        _ = names.no_such_name


def test_only_milp_knows_the_solvers() -> None:
    known = {m for m, tree in trees().items() if {name.split(".")[0] for name in imports_of(tree)} & SOLVERS}
    assert {package_of(module) for module in known} == {"optimizer.milp"}


def test_only_weather_knows_the_library_of_sun_and_plane() -> None:
    known = {m for m, tree in trees().items() if "pvlib" in {name.split(".")[0] for name in imports_of(tree)}}
    assert {package_of(module) for module in known} == {"optimizer.weather"}


def test_words_are_filled_and_said_only_upstairs() -> None:
    """Below the words nothing prints, draws a table, or fills a template with slots."""
    for module, tree in trees().items():
        if package_of(module) in ("optimizer.writing", "optimizer.commands"):
            continue
        assert not {name.split(".")[0] for name in imports_of(tree)} & {"typer", "tabulate"}, module
        for on, name in calls_of(tree):
            assert name not in ("print", "format", "format_map"), f"{module} fills or says a sentence: {on}.{name}"
            assert (on, name) not in (("sys.stdout", "write"), ("sys.stderr", "write")), module


def test_a_writer_neither_asks_the_command_line_nor_searches_nor_judges() -> None:
    """A writer says what it is handed."""
    for module, tree in trees().items():
        if package_of(module) != "optimizer.writing":
            continue
        known = {package_of(name) for name in imports_of(tree)}
        assert not known & {"optimizer.milp", "optimizer.costs", "optimizer.candidates"}, module
        assert not {name.split(".")[0] for name in imports_of(tree)} & {"typer"}, module
        assert not {name for _, name in calls_of(tree)} & NOT_A_WRITERS, module


def test_few_modules_read_or_write_files() -> None:
    for module, tree in trees().items():
        touches = {name for _, name in calls_of(tree)} & {
            "open", "read_text", "read_bytes", "write_text", "write_bytes", "unlink", "mkdir", "rename",
            "read_bounded", "read_start",
        }  # fmt: skip
        if module in ("optimizer.milp.solver", "optimizer.commands.streams"):
            touches -= {"open"}  # the system's sink, for the solver's banner and for what is closed
        assert not touches or module in READS_FILES, f"{module}: {sorted(touches)}"


def test_commands_hold_no_computation() -> None:
    """No arrays, no rules, no search, no audit: a command asks the answers with what it read, and prints what comes."""
    for module, tree in trees().items():
        if package_of(module) != "optimizer.commands":
            continue
        names = set(imports_of(tree))
        assert {package_of(name) for name in names} - {""} <= OF_COMMANDS, module
        assert not names & {*HEAVY, "optimizer"}, (
            module
        )  # nor the public names, which are the search's and the auditor's
        for node in ast.walk(tree):
            if isinstance(node, ast.BinOp):
                spaces = isinstance(node.left, ast.Constant) and isinstance(node.left.value, str)
                path = isinstance(node.op, ast.Div) and not isinstance(node.right, ast.Constant | ast.BinOp)
                path |= isinstance(node.right, ast.Constant) and isinstance(node.right.value, str)
                plain = isinstance(node.op, ast.Add | ast.Sub | ast.BitOr)  # "|" joins types
                assert plain or path or spaces, f"{module} line {node.lineno} reckons: {ast.unparse(node)}"


def test_no_module_is_long() -> None:
    files = [path for top in ("optimizer", "catalog") for path in (ROOT / top).rglob("*.py")]
    lines = {str(path.relative_to(ROOT)): path.read_text(encoding="utf-8").count("\n") for path in files}
    assert not {path: count for path, count in lines.items() if count > LONGEST}


# what loads late ---------------------------------------------------------------------------------------------------


def loaded_by(statements: str) -> set[str]:
    """The top names of all modules that a fresh Python has loaded after ``statements``."""
    tell = "import sys; print('\\nLOADED', *{name.split('.')[0] for name in sys.modules})"
    done = subprocess.run(
        [sys.executable, "-c", f"{statements}\n{tell}"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return set(done.stdout.rpartition("LOADED")[2].split())


@pytest.mark.parametrize(
    "package", ["optimizer", "catalog", "optimizer.answers", "optimizer.rules.limits", "optimizer.commands"]
)
def test_a_bare_import_loads_nothing_heavy(package: str) -> None:
    assert not loaded_by(f"import {package}") & HEAVY


@pytest.mark.parametrize("arguments", [["--help"], ["pick", "--help"], ["limits", "--help"], []], ids=" ".join)
def test_help_loads_nothing_heavy(arguments: list[str]) -> None:
    run = (
        f"import sys; sys.argv = ['borewatt', *{arguments}]\n"
        "from optimizer.commands import main\n"
        "try:\n    main()\nexcept SystemExit as end:\n    assert not end.code, end.code"
    )
    # the command line's own library may check options with pydantic; that is no import of ours (see above)
    assert not loaded_by(run) & (HEAVY - {"pydantic"})


@pytest.mark.parametrize(
    "arguments", [["catalog", "check"], ["pick", "examples/stock-water-bore/job.toml"]], ids=" ".join
)
def test_small_files_are_read_without_what_reads_large_ones(arguments: list[str]) -> None:
    run = (
        f"import sys; sys.argv = ['borewatt', *{arguments}]\n"
        "from optimizer.commands import main\n"
        "try:\n    main()\nexcept SystemExit as end:\n    assert not end.code, end.code"
    )
    assert not loaded_by(run) & {"pandas", "pvlib", "platformdirs", "pint", "scipy", "jinja2"}


def test_what_is_heavy_is_seen_when_it_is_loaded() -> None:
    assert {"numpy", "pulp"} <= loaded_by("import optimizer; optimizer.pick")
