"""The answer for other programs: one JSON document."""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimizer.bundles.bundle_schema import ANSWER_SCHEMA
from optimizer.rules.limits import LIMITS
from optimizer.writing.data.why_json import why_data
from optimizer.writing.words import notes, sentences
from optimizer.writing.words.json_figures import Json, amount, figure, json_text, parts_beside
from optimizer.writing.words.settle import to_settle

if TYPE_CHECKING:
    from optimizer.answers.answer import Answer, Option
    from optimizer.auditor.reading import Reading
    from optimizer.bundles.order import Order


def document(answer: Answer) -> str:
    """The answer as JSON text, keys in a fixed order, money as text with two decimals, no figure infinite."""
    proof = answer.pick.proof
    options = answer.options
    content = {
        "schema": ANSWER_SCHEMA,
        "job": answer.job.title,
        "goal": "cost",
        "status": answer.pick.status,
        "currency": answer.catalog.currency,
        "prices_as_of": list(sentences.price_dates(answer.catalog)),
        "inputs": answer.job.digests | {"catalog": answer.catalog.digest},
        "proof": {
            "combinations": proof.combinations,
            "solved": proof.solved,
            "next_bound": None if proof.next_bound is None else amount(proof.next_bound),
            "gap": figure(proof.gap),
        },
        "warnings": [
            *notes.warnings(answer),
            *_distinct([to_settle(answer.job, option.audit) for option in options]),
        ],
        "estimated": sentences.estimated(answer),
        "taken_as": _distinct([
            sentences.taken_for_job(answer),
            *(sentences.taken_for_option(answer, o) for o in options),
        ]),
        "conditions": _distinct([
            sentences.asked_beside(answer),
            sentences.conditions_of_job(answer),
            *([f"option {o.rank}: {text}" for text in sentences.conditions_of_option(answer, o)] for o in options),
        ]),
        "bundles": [bundle_data(answer, option) for option in options],
        "why": why_data(answer),
    }  # fmt: skip
    return json_text(content)


def _distinct(lists: list[list[str]]) -> list[str]:
    return list(dict.fromkeys(text for items in lists for text in items))


def bundle_data(answer: Answer, option: Option) -> Json:
    """One bundle: its parts and wiring, what is bought, and its limits."""
    bundle, judged = option.bundle, option.audit
    order = bundle.order
    setting = judged.charge_setting_a
    return {
        "rank": option.rank,
        "total": amount(option.cents),
        "proven": option.proven,
        "models": bundle.models,
        "counts": bundle.counts,
        "strings": [
            {"tracker": s.tracker, "parallel": s.parallel, "series": s.series, "fused": s.fused} for s in bundle.strings
        ],
        "bank": {
            "series": bundle.bank_series, "parallel": bundle.bank_parallel,
            "charge_setting_a": None if setting is None else figure(setting),
        },
        # a load stands on a leg once for each of its units there
        "legs": {
            str(leg + 1): [name for name, on in judged.legs.items() for _ in range(on[leg])]
            for leg in (0, 1)
            if judged.legs
        },
        **_beside(option),
        "purchases": [
            {
                "part": purchase.part, "needed": purchase.needed, "on_hand": purchase.on_hand,
                "lines": [
                    {"seller": line.seller, "quantity": line.quantity, "unit_price": amount(line.unit_cents)}
                    for line in purchase.lines
                ],
                "cost": amount(purchase.cents),
            }
            for purchase in (order.purchases if order else ())
        ],
        "freight": _charges(order) if order else [],
        "autonomy_days": figure(judged.autonomy_days),
        **_replayed(option),
        "limits": [_limit(answer, reading) for reading in by_registry(judged.tightest())],
    }  # fmt: skip


def _charges(order: Order) -> list[dict[str, str]]:
    """Freight of each seller used, and its tax where it asks any."""
    tax = {seller: {"tax": amount(cents)} for seller, cents in order.tax}
    return [{"seller": seller, "cost": amount(cents), **tax.get(seller, {})} for seller, cents in order.freight]


def _beside(option: Option) -> Json:
    """Starters, tanks and how long the water stored lasts, where there are any."""
    bundle, said = option.bundle, Json()
    said |= parts_beside(bundle)
    if option.audit.water_days is not None:
        said["water_days"] = figure(option.audit.water_days)
    return said


def _replayed(option: Option) -> Json:
    """The hours of the weather file, where the job has one."""
    if option.audit.replay is None:
        return {}
    from optimizer.writing.data.replay_json import replay_data

    return {"replay": replay_data(option.audit.replay)}


def by_registry(readings: tuple[Reading, ...]) -> list[Reading]:
    """Readings in the order in which the registry lists their limits."""
    place = {name: number for number, name in enumerate(LIMITS)}
    return sorted(readings, key=lambda reading: place[reading.limit])


def _limit(answer: Answer, reading: Reading) -> Json:
    return {
        "limit": reading.limit,
        "value": figure(reading.value),
        "allowed": figure(reading.allowed),
        "raw_value": figure(reading.raw_value),
        "raw_allowed": figure(reading.raw_allowed),
        "unit": answer.catalog.currency if reading.unit == "money" else reading.unit,
        "sense": reading.sense,
        "where": reading.where,
        "holds": reading.holds,
    }
