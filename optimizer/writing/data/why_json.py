"""An explanation as data, without prose: the "why" of the JSON answer. Every figure in it was solved for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from optimizer.writing.words.json_figures import Json, amount, figure, parts_beside

if TYPE_CHECKING:
    from optimizer.answers.answer import Answer
    from optimizer.auditor.reading import Reading
    from optimizer.bundles.bundle import Bundle
    from optimizer.explain.infeasibility import Conflict
    from optimizer.explain.price_ranging import General
    from optimizer.explain.relaxations import Moved
    from optimizer.explain.sensitivity import Breakpoint, Input
    from optimizer.explain.why_not import BundleInstead, PartInstead


def why_data(answer: Answer) -> Json:
    """The explanation as far as there is one; empty where none was asked for."""
    why, total = answer.why, answer.options[0].cents if answer.options else 0
    data: Json = {}
    if why.conflict is not None:
        data |= _conflict(why.conflict, total)
    if answer.options and why.near_sought:
        data["near"] = [{**_miss(near.reading), **_found(near.bundle, total)} for near in why.near]
        data["near_whole"] = "near misses" not in why.unfinished
    if why.savings:
        data["savings"] = [
            {
                "kind": each.kind, "parts": list(each.parts), "loads": list(each.loads),
                "without": None if each.instead is None else _found(each.instead, total),
                "misses": [_miss(reading) for reading in each.short],
            }
            for each in why.savings
        ]  # fmt: skip
    if why.on_hand:
        data["on_hand"] = [
            {
                "part": each.part, "used": each.used, "there": each.there,
                "without" if each.used else "with": None if each.instead is None else _found(each.instead, total),
            }
            for each in why.on_hand
        ]  # fmt: skip
    if why.whole:
        data |= _whole(answer, total)
    if why.hours:
        data["hours_accepted"] = [
            {
                "accepted": each.hours,
                "hours_short": each.short,
                **({"total": None} if each.bundle is None else _found(each.bundle, total)),
            }
            for each in why.hours
        ]
    if why.instead is not None:
        data["instead"] = _instead(why.instead, total)
    if data:
        data["unfinished"] = list(why.unfinished)
    return data


def _proof(answer: Answer) -> Json | None:
    """The limits of the smallest proof, each with what it asks of the pick and the figures of its working."""
    core = answer.why.core
    if core is None:
        return None
    readings = {reading.limit: reading for reading in answer.options[0].audit.tightest()}
    limits: list[Json] = []
    for limit in core.limits:
        reading = readings.get(limit)
        told: Json = {"limit": limit}
        if reading is not None:
            told |= {
                "value": figure(reading.value), "allowed": figure(reading.allowed), "unit": reading.unit,
                "where": reading.where,
                "figures": {name: _slot(value) for name, value in reading.slots.items()},
            }  # fmt: skip
        limits.append(told)
    return {"limits": limits, "minimal": core.proven}


def _slot(value: Any) -> Any:
    return value if isinstance(value, str) else figure(float(value))


def _whole(answer: Answer, total: int) -> Json:
    why = answer.why
    return {
        "proof": _proof(answer),
        "costs": [
            {
                "limit": cost.limit,
                "moves": [_move(move, total, cost.asked.unit) for move in cost.moves],
                "left_out": {**_miss(cost.asked), **_found(cost.dropped, total)},
            }
            for cost in why.costs
        ],
        "leaves": [
            {
                "part": part.part, "now": amount(part.now),
                "turns_at": None if part.turns is None else amount(part.turns),
                "then": None if part.instead is None else _found(part.instead, total),
            }
            for part in why.leaving
        ],
        "comes_in": [
            {
                "kind": other.kind, "part": other.part, "now": None if other.now is None else amount(other.now),
                "turns_at": None if other.turns is None else amount(other.turns),
                "best_with": _found(other.bundle, total),
            }
            for other in why.entering
        ],
        "all_prices": [_general(move) for move in why.general],
        "inputs": [_input(each, total) for each in why.inputs],
        "tidier": [
            {
                "equal_strings": each.equal_strings, "most_sellers": each.sellers,
                "then": None if each.bundle is None else _found(each.bundle, total),
            }
            for each in why.tidier
        ],
    }  # fmt: skip


def _found(bundle: Bundle, total: int | None) -> Json:
    """A bundle in short, and what it saves against the pick (negative: what it costs more)."""
    cents = bundle.order.cents if bundle.order is not None else bundle.quoted_cents
    data: Json = {
        "total": None if cents is None else amount(cents),
        "models": bundle.models,
        "counts": bundle.counts,
        "strings": [{"tracker": s.tracker, "parallel": s.parallel, "series": s.series} for s in bundle.strings],
        "bank": {"series": bundle.bank_series, "parallel": bundle.bank_parallel},
    }
    data |= parts_beside(bundle)
    if total is not None and cents is not None:
        data["saves"] = amount(total - cents)
    return data


def _miss(reading: Reading) -> Json:
    """A limit that is missed: the two sides of its rule, and by how much."""
    return {
        "limit": reading.limit,
        "value": figure(reading.value),
        "allowed": figure(reading.allowed),
        "misses_by": None if reading.settled else figure(abs(reading.value - reading.allowed)),
        "unit": reading.unit,
        "where": reading.where,
    }


def _move(move: Moved, total: int | None, unit: str = "") -> Json:
    lever = move.lever
    if lever.key:
        change = {"key": lever.key, "from": lever.typed(0), "to": lever.typed(move.step)}
    else:
        change = {"amount": lever.value(move.step), "unit": unit}
    return {**change, "kind": lever.kind, **_found(move.bundle, total)}


def _general(move: General) -> Json:
    lower, higher = (None if each is None else _found(each, None) for each in move.then)
    return {"of": move.whose, "fall_pct": move.fall, "fall_then": lower, "rise_pct": move.rise, "rise_then": higher}


def _input(each: Input, total: int) -> Json:
    def turn(found: Breakpoint | None) -> Json | None:
        if found is None:
            return None
        return {"value": found.text, "then": None if found.bundle is None else _found(found.bundle, total)}

    return {
        "key": each.key, "standing": each.standing, "now": each.now, "range": [each.easiest, each.hardest],
        "easier": turn(each.easier), "harder": turn(each.harder),
    }  # fmt: skip


def _instead(found: PartInstead | BundleInstead, total: int) -> Json:
    from optimizer.explain.why_not import BundleInstead

    if isinstance(found, BundleInstead):
        verdict = found.verdict
        fails = [_miss(reading) for reading in verdict.failing]
        return {"bundle": verdict.bundle.name, **_found(verdict.bundle, total), "fails": fails}
    enters = found.enters
    return {
        "part": found.part, "kind": found.kind, "picked": found.picked,
        "best_with": None if found.bundle is None else _found(found.bundle, total),
        "now": None if enters is None or enters.now is None else amount(enters.now),
        "turns_at": None if enters is None or enters.turns is None else amount(enters.turns),
        "breaks": [
            {"limit": each.limit} if each.reading is None else _miss(each.reading) for each in found.broken
        ],
    }  # fmt: skip


def _conflict(found: Conflict, total: int) -> Json:
    return {
        "rejected": [{"limit": r.limit, "kind": r.kind, "count": r.count, "of": r.of} for r in found.rejected],
        "conflicts": [
            {
                "limits": [
                    {"limit": s.limit} if s.reading is None else {**_miss(s.reading), "alone": s.alone}
                    for s in clash.stands
                ],
                "minimal": clash.proven, "missing": clash.missing or None,
            }
            for clash in found.clashes
        ],
        "ways_out": [
            {
                "changes": [
                    {"key": c.lever.key, "from": c.lever.typed(0), "to": c.lever.typed(c.step), "kind": c.lever.kind}
                    for c in way.changes
                ],
                **_found(way.bundle, None),
            }
            for way in found.ways
        ],
    }  # fmt: skip
