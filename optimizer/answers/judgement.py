"""Bundles that somebody offers, judged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from catalog.reader import Catalog
from optimizer.answers.answer import Answer
from optimizer.bundles.bundle import Bundle
from optimizer.bundles.bundle_file import read_bundle
from optimizer.inputs.job import Job
from optimizer.vocabulary.problems import InputError, Problem

if TYPE_CHECKING:
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


def named_bundles(job: Job, catalog: Catalog, bundles: Sequence[Bundle | str | Path]) -> list[Bundle]:
    """Bundles, or the bundles of files; those of one name are told apart by the order given. Raises InputError with the
    problems of all files."""
    problems: list[Problem] = []
    read: list[Bundle] = []
    for each in bundles:
        try:
            read.append(each if isinstance(each, Bundle) else read_bundle(each, job, catalog))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    if len({bundle.name for bundle in read}) < len(read):
        return [replace(bundle, name=f"{bundle.name} ({number})") for number, bundle in enumerate(read, start=1)]
    return read
