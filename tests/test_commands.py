"""The command line: exit codes, what goes to which stream, and files written whole or not at all."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
import typer

import optimizer.answers.answer
import optimizer.search.branch_and_bound
from catalog.reader import shipped_catalog
from optimizer.auditor.audit import audit as judge
from optimizer.auditor.reading import Audit
from optimizer.commands import failures, main, output
from optimizer.commands import inputs as inputs_module
from optimizer.commands import progress as progress_module
from optimizer.commands.exit_codes import ANSWERED, INTERRUPTED, NOTHING_MEETS, STOPPED, WRONG_INPUT
from optimizer.commands.progress import Progress
from tests.command_line import run

THIN = Path(__file__).parent / "data" / "thin"
JOB, IMPOSSIBLE = str(THIN / "job.toml"), str(THIN / "impossible.toml")


# pick ------------------------------------------------------------------------------------------------------------


def test_an_answer(tmp_path: Path) -> None:
    result = run("pick", JOB, "--json", str(tmp_path / "a.json"), "--shopping", str(tmp_path / "a.csv"))
    assert result.exit_code == ANSWERED
    assert result.stderr == ""
    assert "Proven cheapest, to the cent: $7,755.00 delivered" in result.stdout
    told = json.loads((tmp_path / "a.json").read_text())
    assert told["bundles"][0]["total"] == "7755.00"
    rows = list(csv.DictReader(io.StringIO((tmp_path / "a.csv").read_text())))
    assert list(rows[0]) == ["seller", "part", "quantity", "unit_price", "cost", "currency"]
    assert sum(Decimal(row["cost"]) for row in rows) == Decimal("7755.00")
    assert all(int(row["quantity"]) * Decimal(row["unit_price"]) == Decimal(row["cost"]) for row in rows)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.csv", "a.json"]


@pytest.mark.parametrize(
    ("arguments", "code", "status"),
    [
        ((JOB,), ANSWERED, "proven"),
        ((IMPOSSIBLE,), NOTHING_MEETS, "none"),
        ((JOB, "--time-limit", "0"), STOPPED, "stopped"),
    ],
)
def test_json_alone_on_standard_output(arguments: tuple[str, ...], code: int, status: str) -> None:
    result = run("pick", *arguments, "--json", "-")
    assert result.exit_code == code
    assert json.loads(result.stdout)["status"] == status  # fails where anything else is there
    assert result.stderr == ""


def test_nothing_meets() -> None:
    result = run("pick", IMPOSSIBLE)
    assert result.exit_code == NOTHING_MEETS
    assert "NO BUNDLE MEETS THIS JOB" in result.stdout
    assert "A safety limit is never a way out." in result.stdout


@pytest.mark.filterwarnings("ignore:PULP_CBC_CMD is deprecated")  # its successor needs a solver that is installed apart
def test_both_solvers_say_the_same() -> None:
    answers = [run("pick", JOB, "--solver", solver, "--all") for solver in ("highs", "cbc")]
    assert [answer.exit_code for answer in answers] == [ANSWERED, ANSWERED]
    assert answers[0].stdout == answers[1].stdout


def test_wrong_job_and_wrong_catalogue_in_one_run(tmp_path: Path) -> None:
    folder = tmp_path / "parts"
    folder.mkdir()
    for file in (THIN / "catalog").iterdir():
        (folder / file.name).write_text(file.read_text().replace("37.3", "thirty").replace("200,90", "200,9000"))
    text = (THIN / "job.toml").read_text().replace('"14 degF"', '"14 F"')
    (tmp_path / "job.toml").write_text(f'catalog = "parts"\n{text}')
    written = tmp_path / "a.json"
    result = run("pick", str(tmp_path / "job.toml"), "--json", str(written))
    assert result.exit_code == WRONG_INPUT
    assert result.stdout == ""
    for words in ("panels.csv row 2, column C (voc_v)", "batteries.csv row 2", "site.coldest", "3 problems in 3 of 8"):
        assert words in result.stderr
    assert not written.exists()


def test_names_that_the_catalogue_does_not_have(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text((THIN / "job.toml").read_text().replace("thin-rack = 4", "thin-rock = 4"))
    result = run("pick", str(tmp_path / "job.toml"), "--catalog", str(THIN / "catalog"))
    assert result.exit_code == WRONG_INPUT
    assert "thin-rack" in result.stderr


def test_an_option_that_is_not_there() -> None:
    result = run("pick", JOB, "--option", "4")
    assert result.exit_code == WRONG_INPUT
    assert result.stdout == ""
    assert "only 1 distinct" in result.stderr


def test_another_price_list(tmp_path: Path) -> None:
    text = (THIN / "catalog" / "prices.csv").read_text()
    (tmp_path / "dear.csv").write_text(text.replace("1480.00", "1580.00"))
    result = run("pick", JOB, "--prices", str(tmp_path / "dear.csv"), "--json", "-")
    assert json.loads(result.stdout)["bundles"][0]["total"] == "7855.00"


def one_volt_over(judged: Audit) -> Audit:
    """The same audit with the cold volts over the limit."""
    over = [replace(r, value=r.allowed + 1) if r.limit == "cold-voltage" else r for r in judged.readings]
    return replace(judged, readings=tuple(over))


def one_not_judged(judged: Audit) -> Audit:
    """The same audit with a limit that nobody judged."""
    return replace(judged, not_judged=("priced",))


@pytest.mark.parametrize(("spoil", "limit"), [(one_volt_over, "cold-voltage"), (one_not_judged, "priced")])
def test_nothing_is_shown_that_the_auditor_refuses(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, spoil: Callable[[Audit], Audit], limit: str
) -> None:
    monkeypatch.setattr(optimizer.answers.answer, "audit", lambda *inputs: spoil(judge(*inputs)))
    result = run("pick", JOB, "--json", str(tmp_path / "a.json"), "--shopping", str(tmp_path / "a.csv"))
    assert result.exit_code == failures.FAULT
    assert result.stdout == ""
    assert "auditor refuses option 1" in result.stderr
    assert limit in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_interrupted(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(optimizer.search.branch_and_bound, "pick", stop)
    result = run("pick", JOB, "--json", str(tmp_path / "a.json"))
    assert result.exit_code == INTERRUPTED
    assert result.stdout == ""
    assert list(tmp_path.iterdir()) == []


def test_a_fault_of_the_tool_is_no_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise ZeroDivisionError("no such luck")

    monkeypatch.setattr(optimizer.search.branch_and_bound, "pick", fail)
    monkeypatch.setattr(sys, "argv", ["borewatt", "pick", JOB])
    with pytest.raises(SystemExit) as ended:
        main()
    said = capsys.readouterr()
    assert ended.value.code == failures.FAULT
    assert "ZeroDivisionError: no such luck" in said.err
    assert "Traceback" not in said.err
    assert said.out == ""


# which catalogue -------------------------------------------------------------------------------------------------


def test_which_catalogue(tmp_path: Path) -> None:
    job = tmp_path / "site" / "job.toml"
    job.parent.mkdir()
    given = tmp_path / "given"
    assert inputs_module.catalog_folder(job, None, None) == shipped_catalog()
    (job.parent / "catalog").mkdir()
    assert inputs_module.catalog_folder(job, None, None) == shipped_catalog()  # an empty folder is no catalogue
    (job.parent / "catalog" / "panels.csv").write_text("part\n")
    assert inputs_module.catalog_folder(job, None, None) == job.parent / "catalog"
    assert inputs_module.catalog_folder(job, None, "../parts") == tmp_path / "parts"
    assert inputs_module.catalog_folder(job, given, "../parts") == given


# files -----------------------------------------------------------------------------------------------------------


def test_a_file_is_written_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "answer.json"
    target.write_text("old")

    def fail(self: Path, other: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", fail)
    outputs = output.Outputs(target)
    outputs.write(target, "new")
    with pytest.raises(typer.Exit) as ended:
        outputs.end()
    assert ended.value.exit_code == WRONG_INPUT
    assert target.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["answer.json"]


def test_an_interrupted_file_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(self: Path, other: Path) -> Path:
        raise KeyboardInterrupt

    monkeypatch.setattr(Path, "replace", interrupt)
    with pytest.raises(KeyboardInterrupt):
        output.Outputs().write(tmp_path / "answer.json", "new")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    result = run("pick", JOB, "--json", str(tmp_path / "nowhere" / "a.json"))
    assert result.exit_code == WRONG_INPUT
    assert "there is no folder" in result.stderr
    assert result.stdout == ""


# progress --------------------------------------------------------------------------------------------------------


class Screen(io.StringIO):
    """A stream that may call itself a terminal."""

    def __init__(self, terminal: bool) -> None:
        super().__init__()
        self.terminal = terminal

    def isatty(self) -> bool:
        return self.terminal


@pytest.mark.parametrize(("terminal", "seconds", "shown"), [(True, 2.5, True), (True, 1.5, False), (False, 9.0, False)])
def test_progress_only_where_it_helps(
    monkeypatch: pytest.MonkeyPatch, terminal: bool, seconds: float, shown: bool
) -> None:
    clock = [100.0]
    screen = Screen(terminal)
    monkeypatch.setattr(progress_module, "monotonic", lambda: clock[0])
    monkeypatch.setattr(sys, "stderr", screen)
    progress = Progress()
    clock[0] += seconds
    progress(1200, 3)
    assert ("1,200 choices opened" in screen.getvalue()) == shown
    progress.end()
    assert screen.getvalue().endswith("\r") or not shown


# lists -----------------------------------------------------------------------------------------------------------


def test_begin() -> None:
    result = run()
    assert result.exit_code == 0
    assert len(result.stdout.splitlines()) == 10
    for command in ("borewatt audit", "borewatt catalog check", "borewatt new", "borewatt pick"):
        assert command in result.stdout


def test_limits_names_every_limit_with_its_source() -> None:
    from optimizer.rules.limits import LIMITS

    words = " ".join(run("limits").stdout.split())
    assert all(name in words for name in LIMITS)
    assert "NEC 690.8(A)(1)" in words


def test_columns_names_every_column() -> None:
    from catalog.tables import TABLES

    text = run("catalog", "columns").stdout
    for spec in TABLES.values():
        block = text[text.index(f"{spec.file}") :]
        for column in spec.columns:
            assert f"\n {column.name}" in block
    assert max(map(len, text.splitlines())) <= 80


def test_show_knows_a_kind_by_the_name_of_its_file() -> None:
    words = ("catalog", "show", "--catalog", str(THIN / "catalog"))
    assert run(*words, "racks").stdout == run(*words, "rack").stdout
    refused = run(*words, "rocks")
    assert refused.exit_code == 2
    assert "panel, converter, battery, rack" in refused.output


def test_show_gives_the_lowest_price() -> None:
    text = run("catalog", "show", "panel", "--catalog", str(THIN / "catalog")).stdout
    row = next(line for line in text.splitlines() if "thin-panel" in line)
    assert row.split()[-1] == "139.00"
    assert "thin-battery" not in text


def test_check_says_all_is_well_or_every_problem(tmp_path: Path) -> None:
    assert run("catalog", "check", str(THIN / "catalog")).exit_code == ANSWERED
    for file in (THIN / "catalog").iterdir():
        (tmp_path / file.name).write_text(file.read_text().replace("37.3", "37,3").replace("lfp", "lpf"))
    result = run("catalog", "check", str(tmp_path))
    assert result.exit_code == WRONG_INPUT
    assert "panels.csv" in result.stdout
    assert "batteries.csv" in result.stdout


# speed -----------------------------------------------------------------------------------------------------------


@pytest.fixture
def modules_after() -> Callable[..., set[str]]:
    """The modules that a command has loaded when it ends, in a process of its own."""

    def loaded(*arguments: str) -> set[str]:
        code = (
            "import sys\nfrom optimizer.commands import app\n"
            f"try: app({list(arguments)!r})\nexcept SystemExit: pass\n"
            "print('\\n'.join(['LOADED', *sys.modules]))"
        )
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        return set(done.stdout.partition("LOADED\n")[2].splitlines())

    return loaded


@pytest.mark.parametrize("arguments", [("--help",), (), ("pick", "--help"), ("limits",)])
def test_help_waits_for_nothing_heavy(modules_after: Callable[..., set[str]], arguments: tuple[str, ...]) -> None:
    heavy = {"pandas", "numpy", "pulp", "highspy", "pint", "scipy", "catalog"}
    if arguments == ("--help",):
        heavy.add("pydantic")  # some versions of the command line library load it themselves to read options
    loaded = modules_after(*arguments)
    assert "typer" in loaded
    assert not heavy & loaded
