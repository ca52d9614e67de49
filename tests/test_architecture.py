"""The house: one ordered list of modules, each importing only earlier ones; who may know what; what loads late.

Imports are read from the source, those inside functions and under TYPE_CHECKING too: a late import makes a program
start faster, it does not turn an arrow round.
"""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent

# floor: its rooms in order; a room may know the rooms before it
HOUSE = {
    "vocabulary": (
        # the packages' own files: public names only
        "optimizer", "optimizer.rules", "optimizer.explain", "optimizer.writing",
        "optimizer.writing.html", "optimizer.writing.drawings", "catalog",
        "optimizer.vocabulary.problems", "optimizer.vocabulary.units", "optimizer.vocabulary.defaults", "optimizer.rules.limits",
    ),
    "what is given": (
        "catalog.tables", "catalog.cells", "catalog.csv_records", "catalog.sheet", "catalog.offers", "catalog.reader",
        "catalog.price_age",
        "optimizer.inputs.job_schema", "optimizer.inputs.job_checks", "optimizer.inputs.job", "optimizer.inputs.job_template",
        "optimizer.inputs.readings",
    ),
    "engineering": (
        "optimizer.rules.tolerance", "optimizer.rules.code_tables", "optimizer.rules.soft_start", "optimizer.rules.water",
        "optimizer.rules.demand", "optimizer.rules.strings",
        "optimizer.rules.hydraulics",
        "optimizer.rules.bank", "optimizer.rules.energy", "optimizer.rules.mounting", "optimizer.rules.landed_cost",
        "optimizer.bundles.bundle", "optimizer.vocabulary.offer_kinds", "optimizer.bundles.file_tables", "optimizer.bundles.bundle_file", "optimizer.candidates.plan",
        "optimizer.candidates.terms",
    ),
    "model": (
        "optimizer.costs.seller_bounds", "optimizer.costs.market", "optimizer.search.start_plans", "optimizer.costs.order_bounds",
        "optimizer.search.lower_bounds", "optimizer.costs.cheapest_lines", "optimizer.milp.charge_rows",
        "optimizer.milp.subproblem", "optimizer.milp.wiring_rows", "optimizer.milp.model", "optimizer.milp.solver", "optimizer.search.triples", "optimizer.search.cache",
        "optimizer.search.node_queue",
        "optimizer.search.branching", "optimizer.search.branch_and_bound", "optimizer.milp.regret_model", "optimizer.search.regret_branching",
    ),
    "answers": (
        "optimizer.auditor.audit", "optimizer.explain.verdict", "optimizer.inputs.job_edit", "optimizer.explain.resolve",
        "optimizer.explain.relaxations", "optimizer.explain.binding_limits", "optimizer.explain.price_ranging", "optimizer.explain.sensitivity",
        "optimizer.explain.tidier_bundles", "optimizer.explain.part_values", "optimizer.explain.rejections",
        "optimizer.explain.infeasibility",
        "optimizer.explain.why_not", "optimizer.explain.explanation", "optimizer.answers.answer", "optimizer.candidates.requests",
        "optimizer.answers.budget_staircase", "optimizer.answers.measured_load", "optimizer.auditor.commissioning",
        "optimizer.bundles.kept_answer", "optimizer.answers.refreshed_job", "optimizer.answers.price_changes", "optimizer.answers.least_regret",
    ),
    "words": (
        "optimizer.writing.words.figures", "optimizer.writing.words.tables", "optimizer.writing.words.problems",
        "optimizer.writing.words.sentences", "optimizer.writing.words.phrases", "optimizer.writing.text.lists",
        "optimizer.writing.text.rules_readme", "optimizer.writing.words.json_figures", "optimizer.writing.data.why_json",
        "optimizer.writing.data.answer_json", "optimizer.writing.content.why_nothing", "optimizer.writing.text.pick",
        "optimizer.writing.text.audit", "optimizer.writing.text.why",
        "optimizer.writing.text.afford",
        "optimizer.writing.drawings.svg", "optimizer.writing.drawings.staircase", "optimizer.writing.text.measure",
        "optimizer.writing.drawings.string_map", "optimizer.writing.drawings.one_line",
        "optimizer.writing.drawings.limit_bars", "optimizer.writing.drawings.month_chart",
        "optimizer.writing.html.formulas", "optimizer.writing.html.grids", "optimizer.writing.html.sheet",
        "optimizer.writing.html.render",
        "optimizer.writing.text.refresh", "optimizer.writing.text.price_changes", "optimizer.writing.text.least_regret",
    ),
    "edge": (
        "optimizer.commands.interrupts", "optimizer.commands.inputs", "optimizer.commands.options",
        "optimizer.commands.pick", "optimizer.commands.why",
        "optimizer.commands.afford", "optimizer.commands.measure",
        "optimizer.commands.audit", "optimizer.commands.catalog",
        "optimizer.commands.limits", "optimizer.commands.new",
        "optimizer.commands.job_folder", "optimizer.commands.workers", "optimizer.commands.refresh",
        "optimizer.commands.prices", "optimizer.commands",
    ),
}  # fmt: skip
ORDER = [room for floor in HOUSE.values() for room in floor]

LONGEST = 400  # lines of a module
LONGER = {
    "catalog.tables": "the one dictionary of columns: data that is looked up by name, not code that is read through",
    "optimizer.auditor.audit": "one judge of a bundle: every limit stands here once, side by side with its neighbours",
    "optimizer.candidates.terms": "every rule on arrays of parts, in the order in which the auditor has them for one bundle",
}

SOLVERS = {"pulp", "highspy"}
HEAVY = SOLVERS | {"jinja2", "numpy", "pandas", "pint", "pydantic", "tabulate"}
READS_FILES = {
    "catalog.reader", "optimizer.inputs.job", "optimizer.bundles.file_tables", "optimizer.commands.inputs", "optimizer.commands.new",
    "optimizer.commands.job_folder",
}  # fmt: skip
LOADS_BY_NAME = {"optimizer", "catalog"}  # the public names


def path_of(module: str) -> Path:
    """The file of a module or package."""
    plain = ROOT.joinpath(*module.split(".")).with_suffix(".py")
    return plain if plain.is_file() else plain.with_suffix("") / "__init__.py"


def modules_there() -> set[str]:
    """Every module of the two packages, from the files."""
    found = set()
    for top in ("optimizer", "catalog"):
        for path in (ROOT / top).rglob("*.py"):
            parts = path.relative_to(ROOT).with_suffix("").parts
            found.add(".".join(parts[:-1] if parts[-1] == "__init__" else parts))
    return found


def tree_of(module: str) -> ast.Module:
    return ast.parse(path_of(module).read_text(encoding="utf-8"))


def imports_of(tree: ast.AST) -> Iterator[str]:
    """Everything that a module imports anywhere, by its full name; ``from a import b`` is a.b where that is a room."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are written out in full"
            for alias in node.names:
                full = f"{node.module}.{alias.name}"
                yield full if full in ORDER else str(node.module)


def calls_of(tree: ast.AST) -> Iterator[tuple[str, str]]:
    """(what it is called on, name) of every call: ("typer", "echo"), ("", "print")."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            if isinstance(node.func, ast.Name):
                yield "", node.func.id
            elif isinstance(node.func, ast.Attribute):
                yield ast.unparse(node.func.value), node.func.attr


def test_every_module_stands_in_the_list_once() -> None:
    assert len(ORDER) == len(set(ORDER))
    assert set(ORDER) == modules_there()


@pytest.mark.parametrize("module", ORDER)
def test_imports_only_earlier_modules(module: str) -> None:
    earlier = set(ORDER[: ORDER.index(module)])
    own = {name for name in imports_of(tree_of(module)) if name.split(".")[0] in ("optimizer", "catalog")}
    assert own <= earlier, f"{module} knows {sorted(own - earlier)}, which stand after it"


def test_an_import_of_a_later_module_is_seen_wherever_it_stands() -> None:
    """The reader of imports itself: inside a function, under TYPE_CHECKING, and of a module out of its package."""
    source = (
        "if TYPE_CHECKING:\n    from optimizer.search.branch_and_bound import Pick\n"
        "def late():\n    from optimizer import solve\n    import optimizer.writing.text.pick\n"
    )
    assert set(imports_of(ast.parse(source))) == {"optimizer.search.branch_and_bound", "optimizer.milp.solver", "optimizer.writing.text.pick"}


@pytest.mark.parametrize("module", ORDER)
def test_modules_are_loaded_by_import_statements(module: str) -> None:
    """A module loaded by a name that is put together at run time would pass by the list."""
    by_name = {name for _, name in calls_of(tree_of(module))} & {"import_module", "__import__"}
    assert not by_name or module in LOADS_BY_NAME


@pytest.mark.parametrize("package", ["optimizer", "catalog"])
def test_the_public_names_are_at_home_in_the_list(package: str) -> None:
    """Each is what its home defines, and not a copy or another thing of that name."""
    names = import_module(package)
    assert names.__all__
    for name in names.__all__:
        assert getattr(names, name).__module__ in ORDER
        assert getattr(names, name).__name__ == name
    with pytest.raises(AttributeError):
        _ = names.no_such_name


@pytest.mark.parametrize("module", ORDER)
def test_only_model_and_solve_know_the_solvers(module: str) -> None:
    known = {name.split(".")[0] for name in imports_of(tree_of(module))} & SOLVERS
    assert not known or module in ("optimizer.milp.wiring_rows", "optimizer.milp.model", "optimizer.milp.solver")


@pytest.mark.parametrize("module", [room for room in ORDER if room not in HOUSE["words"] + HOUSE["edge"]])
def test_words_are_filled_and_said_only_upstairs(module: str) -> None:
    """Below the words nothing prints, draws a table, or fills a template with slots."""
    tree = tree_of(module)
    assert not {name.split(".")[0] for name in imports_of(tree)} & {"typer", "tabulate"}
    for on, name in calls_of(tree):
        assert name not in ("print", "format", "format_map"), f"{module} fills or says a sentence: {on}.{name}"
        assert (on, name) not in (("sys.stdout", "write"), ("sys.stderr", "write"))


@pytest.mark.parametrize("module", HOUSE["words"])
def test_words_know_no_command_and_no_solver(module: str) -> None:
    """A writer says what it is handed: it neither asks the command line nor searches."""
    names = set(imports_of(tree_of(module)))
    assert not {name for name in names if name.startswith(("optimizer.commands", "typer"))}
    assert not names & {"optimizer.milp.solver", "optimizer.milp.model", "optimizer.search.lower_bounds", "optimizer.costs.market"}
    assert not {name for _, name in calls_of(tree_of(module))} & {"print", "echo"}


@pytest.mark.parametrize("module", ORDER)
def test_few_modules_read_or_write_files(module: str) -> None:
    tree = tree_of(module)
    touches = {name for _, name in calls_of(tree)} & {
        "open", "read_text", "read_bytes", "write_text", "write_bytes", "unlink", "mkdir", "rename",
    }  # fmt: skip
    if module == "optimizer.milp.solver":
        touches -= {"open"}  # the system's sink for the solver's banner
    assert not touches or module in READS_FILES, f"{module}: {sorted(touches)}"


@pytest.mark.parametrize("module", HOUSE["edge"])
def test_commands_hold_no_computation(module: str) -> None:
    """No arrays, no rules, no parts of the search: a command hands on what it read and prints what comes back."""
    tree = tree_of(module)
    names = set(imports_of(tree))
    inner = {*HOUSE["engineering"], *HOUSE["model"]} - {"optimizer.search.branch_and_bound", "optimizer.bundles.bundle_file", "optimizer.bundles.bundle"}
    assert not names & (inner | HEAVY), module
    for node in ast.walk(tree):
        if isinstance(node, ast.BinOp):
            spaces = isinstance(node.left, ast.Constant) and isinstance(node.left.value, str)
            path = isinstance(node.op, ast.Div) and not isinstance(node.right, ast.Constant | ast.BinOp)
            path |= isinstance(node.right, ast.Constant) and isinstance(node.right.value, str)
            plain = isinstance(node.op, ast.Add | ast.Sub | ast.BitOr)  # "|" joins types
            assert plain or path or spaces, f"{module} line {node.lineno} reckons: {ast.unparse(node)}"


@pytest.mark.parametrize("module", ORDER)
def test_no_long_module_without_a_reason(module: str) -> None:
    lines = len(path_of(module).read_text(encoding="utf-8").splitlines())
    assert (lines > LONGEST) == (module in LONGER), f"{module} has {lines} lines"


# what loads late ---------------------------------------------------------------------------------------------------


def loaded_by(statements: str) -> set[str]:
    """The top names of all modules that a fresh Python has loaded after ``statements``."""
    tell = "import sys; print('\\nLOADED', *{name.split('.')[0] for name in sys.modules})"
    done = subprocess.run(
        [sys.executable, "-c", f"{statements}\n{tell}"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return set(done.stdout.rpartition("LOADED")[2].split())


@pytest.mark.parametrize("package", ["optimizer", "catalog", "optimizer.rules.limits", "optimizer.commands"])
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


def test_what_is_heavy_is_seen_when_it_is_loaded() -> None:
    assert {"pandas", "numpy", "pulp"} <= loaded_by("import optimizer; optimizer.pick")
