"""Write whatever is made from the code again: the page of the rules, the catalogue's descriptor and row types, the
answers of examples and questions, the README's transcripts. Read what changed before you commit it."""

from __future__ import annotations

import re
from pathlib import Path

from optimizer.writing.text.rules_readme import rules_page
from tests import made_pages
from tests.command_line import ROOT, spawned
from tests.questions.test_questions import QUESTIONS, answered
from tests.test_data_package import DESCRIPTOR, made
from tests.test_documents import RULES
from tests.test_examples import EXAMPLES
from tests.test_rows import FILE as ROWS
from tests.test_rows import made as row_types


def main() -> None:
    """Run every example, every question and every transcript, and write what they print."""
    renew_tables()
    for example in EXAMPLES:
        answer = spawned("pick", str(example / "job.toml"), cwd=Path.home()).stdout
        (example / "expected.txt").write_text(answer, encoding="utf-8")
    renew_questions()

    def renewed(match: re.Match[str]) -> str:
        command = match.group(1)
        if "borewatt " not in command:
            return match.group(0)
        done = spawned(*command.split("borewatt ", 1)[1].split(), cwd=ROOT)
        return f"```console\n{command}\n{done.stdout}{done.stderr}```"

    readme = ROOT / "README.md"
    text = re.sub(r"```console\n(.*?)\n(.*?)```", renewed, readme.read_text(encoding="utf-8"), flags=re.DOTALL)
    readme.write_text(text, encoding="utf-8")


def renew_tables() -> None:
    """What the registry, the dictionary of columns and docstrings make: tables, row types and pages."""
    RULES.write_text(rules_page(), encoding="utf-8")
    DESCRIPTOR.write_text(made(), encoding="utf-8")
    ROWS.write_text(row_types(), encoding="utf-8")
    made_pages.write()


def renew_questions() -> None:
    """Answer every question of ``tests/questions`` and write what is printed."""
    for question in QUESTIONS:
        (question / "expected.txt").write_text(answered(question), encoding="utf-8")


if __name__ == "__main__":
    main()
