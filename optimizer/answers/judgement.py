"""Bundles that somebody offers, judged."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.answers.answer import Answer
from optimizer.explain.verdict import Verdict


@dataclass(frozen=True)
class Judgement:
    """Offered bundles judged: ``verdicts`` in the order given, and the same bundles as the options of an ``answer``
    for which nothing was searched."""

    verdicts: tuple[Verdict, ...]
    answer: Answer

    @property
    def passes(self) -> bool:
        """Whether every bundle meets every limit that could be judged."""
        return not any(verdict.failing for verdict in self.verdicts)
