"""Bundles that somebody names, gone through the hours of a job's weather file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from catalog.reader import Catalog
from optimizer.answers.judgement import named_bundles
from optimizer.auditor.audit import audit
from optimizer.auditor.reading import Audit
from optimizer.bundles.bundle import Bundle
from optimizer.inputs.job import Job
from optimizer.vocabulary.problems import Fault, InputError, Place


@dataclass(frozen=True)
class ReplayedBundles:
    """Bundles with their audits, in the order given; each audit has its replay."""

    job: Job
    catalog: Catalog
    audits: tuple[Audit, ...]


def replay(job: Job, catalog: Catalog, bundles: Sequence[Bundle | str | Path]) -> ReplayedBundles:
    """Bundles, or the bundles of files, hour by hour; nothing is searched for, and nothing is judged by it.

    Raises InputError with the problems of all files, and where the job names no weather file.
    """
    if job.weather is None:
        raise InputError([Fault("no-weather").at(Place(str(job.path), None, None, "weather", None))])
    read = named_bundles(job, catalog, bundles)
    return ReplayedBundles(job, catalog, tuple(audit(job, bundle, catalog) for bundle in read))
