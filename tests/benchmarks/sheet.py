"""What the page costs, measured side by side: ``python -m tests.benchmarks.sheet``.

For each example on the shipped catalogue: a whole process of ``borewatt pick --page`` ÷ the same without, the median
over alternating runs, and the size of the page. The ratios mean something, the seconds do not.
"""

from __future__ import annotations

import statistics
import tempfile
from pathlib import Path

from tests.benchmarks.run import EXAMPLES, PICK, timed

ROUNDS = 5
AIM = 1.5  # at most half of a pick on top of it


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder:
        for example in EXAMPLES:
            page = Path(folder) / f"{example.parent.name}.html"
            ratios = []
            for _ in range(ROUNDS):
                plain, _ = timed(PICK, "pick", str(example))
                paged, _ = timed(PICK, "pick", str(example), "--page", str(page))
                ratios.append(paged / plain)
            ratio = statistics.median(ratios)
            print(f"{example.parent.name:20} --page ÷ none: median {ratio:.2f}, {min(ratios):.2f} to {max(ratios):.2f} "
                  f"(aim: under {AIM})  page {page.stat().st_size / 1024:.0f} KiB")  # fmt: skip


if __name__ == "__main__":
    main()
