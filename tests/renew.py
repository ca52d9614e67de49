"""Write the answers of examples and questions, and the README's transcripts, again. Read what changed before you
commit it."""

from __future__ import annotations

import re
from pathlib import Path

from tests.questions.test_questions import QUESTIONS, answered
from tests.test_examples import EXAMPLES, ROOT, run


def main() -> None:
    """Run every example, every question and every transcript, and write what they print."""
    for example in EXAMPLES:
        answer = run("pick", str(example / "job.toml"), cwd=Path.home()).stdout
        (example / "expected.txt").write_text(answer, encoding="utf-8")
    renew_questions()

    def renewed(match: re.Match[str]) -> str:
        command = match.group(1)
        if "borewatt " not in command:
            return match.group(0)
        done = run(*command.split("borewatt ", 1)[1].split(), cwd=ROOT)
        return f"```console\n{command}\n{done.stdout}{done.stderr}```"

    readme = ROOT / "README.md"
    text = re.sub(r"```console\n(.*?)\n(.*?)```", renewed, readme.read_text(encoding="utf-8"), flags=re.DOTALL)
    readme.write_text(text, encoding="utf-8")


def renew_questions() -> None:
    """Answer every question of ``tests/questions`` and write what is printed."""
    for question in QUESTIONS:
        (question / "expected.txt").write_text(answered(question), encoding="utf-8")


if __name__ == "__main__":
    main()
