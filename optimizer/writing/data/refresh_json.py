"""What a refresh tells, as data."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import TYPE_CHECKING

from catalog.part_kinds import BESIDE, PART_KINDS
from optimizer.answers import refreshed_job
from optimizer.bundles.order import Purchase
from optimizer.writing.content.refresh import ABSENT, said_of
from optimizer.writing.words.json_figures import Json, amount, figure
from optimizer.writing.words.problems import expected_text, mend_text

if TYPE_CHECKING:
    from optimizer.answers.refreshed_job import JobReport, RefreshedFolder
    from optimizer.auditor.reading import Reading
    from optimizer.bundles.kept_answer import BundleShape


SCHEMA = 1


# the same as data ------------------------------------------------------------------------------------------------


def report_data(found: RefreshedFolder) -> Json:
    """The report for other programs: money as text with two decimals, absent where there is none."""
    counts = Counter(each.status for each in found.jobs)
    return {
        "schema": SCHEMA, "folder": found.folder,
        "counts": {status: counts[status] for status in refreshed_job.JobStatus},
        "others": found.others, "answers_written": 0 if found.dry else found.written, "dry_run": found.dry,
        "jobs": [_job_data(each) for each in found.jobs],
    }  # fmt: skip


def _job_data(told: JobReport) -> Json:
    outcome = told.outcome
    data: Json = {
        "job": told.file, "title": told.job.title if told.job is not None else None, "status": told.status,
        "total": _money(outcome.cents) if outcome is not None else None, "said": said_of(told),
    }  # fmt: skip
    if told.problems:
        data["problems"] = [
            {
                "kind": problem.kind.id, "file": problem.place.file, "row": problem.place.row,
                "column": problem.place.column, "name": problem.place.name, "cell": problem.place.cell,
                "expected": expected_text(problem), "mend": mend_text(problem),
            }
            for problem in told.problems
        ]  # fmt: skip
    if outcome is None:
        return data
    data |= {"before": _money(outcome.before), "up_to_date": outcome.up_to_date, "edited": outcome.edited}
    data["moves"] = [
        {"part": m.part or None, "freight_of": m.seller if m.charge == "freight" else None,
         **({"tax_of": m.seller} if m.charge == "tax" else {}), "before": _spent(m.before), "after": _spent(m.after),
         "rise": amount(m.cents)}
        for m in outcome.moves
    ]  # fmt: skip
    for name, shape in (("bundle", outcome.shape), ("old_bundle", outcome.old_shape)):
        data[name] = None if shape is None else _shape(shape)
    keeping = outcome.keeping
    data["keeping"] = None if keeping is None else {
        "passes": keeping.passes, "total": _money(keeping.cents),
        "absent": [{"part": part, "why": ABSENT[why]} for part, why in keeping.absent],
        "breaks": [_reading(reading) for reading in keeping.failing],
    }  # fmt: skip
    data["barred_by"] = list(outcome.barred)
    data["cheapest_without_budget"] = _money(outcome.least)
    return data


def _money(cents: int | None) -> str | None:
    return None if cents is None else amount(cents)


def _spent(cost: Purchase | int) -> str | list[Json]:
    if isinstance(cost, int):
        return amount(cost)
    return [{"seller": n.seller, "quantity": n.quantity, "unit_price": amount(n.unit_cents)} for n in cost.lines]


def _shape(shape: BundleShape) -> Mapping[str, object]:
    strings = [{"tracker": t, "parallel": p, "series": s} for t, p, s in shape.strings]
    bank = {"series": shape.bank[0], "parallel": shape.bank[1]}
    found: dict[str, Mapping[str, object]] = {**shape.each_load, **shape.pools}
    return {"models": dict(shape.models), "counts": dict(shape.counts), "strings": strings, "bank": bank,
            **{PART_KINDS[kind].key: dict(found.get(kind, {})) for kind in BESIDE}}  # fmt: skip


def _reading(reading: Reading) -> Json:
    return {"limit": reading.limit, "value": figure(reading.value), "allowed": figure(reading.allowed),
            "unit": reading.unit, "where": reading.where}  # fmt: skip
