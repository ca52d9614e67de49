"""Why nothing cheaper beside a pick, and why nothing at all: the short explanations that an answer carries itself."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from optimizer.explain.resolve import has_figure
from optimizer.rules.limits import LIMITS, always_kept, in_order
from optimizer.writing.words.figures import plain_money
from optimizer.writing.words.phrases import (  # fmt: skip
    PLURALS,
    key_words,
    missed,
    needs_words,
    parts_changed,
    pieces_of,
    place_of,
    sides,
    typed,
)

if TYPE_CHECKING:
    from optimizer.answers.answer import Answer
    from optimizer.explain.infeasibility import Conflict, ConflictingLimit, ConflictSet, WayOut
    from optimizer.explain.near_misses import NearMiss
    from optimizer.explain.rejections import Rejection


HEADING = "WHY NOT CHEAPER"
REJECTED = "Ruled out by one limit alone"
WAY_HEADS = ("change", "total", "then")
NO_WAY = (
    "No wish, measure or reserve of this job lets a bundle through, alone or together: it takes other parts, or "
    "another job."
)
NEAR_HEADS = ("saves", "refused by", "which it misses by")
RISKS = {
    "reserve.running": "a hot day or a low voltage may trip the converter",
    "reserve.starting": "a weak morning may trip the converter at a start",
    "reserve.voltage": "a morning colder than stated may destroy a tracker",
    "reserve.hot_voltage": "as panels age the tracker may stop in heat",
}  # fmt: skip


def no_near(answer: Answer) -> str:
    """Why there is no near miss to show; "" where there is one."""
    if answer.why.near:
        return ""
    if "near misses" in answer.why.unfinished:
        return "not known: the time limit came first"
    return "no cheaper bundle is refused by one limit alone"


def near_rows(answer: Answer, near: Sequence[NearMiss]) -> list[list[str]]:
    """The cells of near misses: what changes, and what stands under ``NEAR_HEADS``."""
    picked = answer.options[0]
    return [
        [parts_changed(picked.bundle, each.bundle), plain_money(picked.cents - each.cents), each.reading.limit,
         missed(answer.job, each.reading)]
        for each in near
    ]  # fmt: skip


def rejected_rows(found: Conflict) -> list[list[str]]:
    """Each limit that rules out parts on its own, how many, and what it means."""
    return [[r.limit, _rejected(r), LIMITS[r.limit].meaning] for r in found.rejected]


def ways_solved(found: Conflict) -> str:
    """How far the ways out were looked at."""
    together = any(len(way.changes) > 1 for way in found.ways)
    return "no single change will do; solved and audited" if together else "each solved and audited"


def way_rows(found: Conflict) -> list[list[str]]:
    """The ways out, under ``WAY_HEADS``."""
    return [_way(way) for way in found.ways]


def clash_said(answer: Answer, clash: ConflictSet, place: int) -> tuple[str, list[list[str]], str]:
    """What cannot hold together: a heading, each limit with its meaning and figures, and a remark or ""."""
    count = len(clash.stands)
    if not count and clash.missing == "drive":
        lacking = "The catalogue has no drive for it: look at its makes_phases, phases_in, motors, running_a and volts."
        return "A three-phase motor on a one-phase supply needs a drive that makes three phases (phases)", [], lacking
    if not count:
        return _formless(answer, clash)
    if count == 1:
        head = "This limit alone leaves nothing"
    else:
        head = f"Together these {count} limits leave nothing; without any one of them something fits"
        if place or not all(each.alone for each in clash.stands):
            head = f"Together these {count} limits leave nothing, none of them needlessly"
    head = f"And apart from those: {head[0].lower()}{head[1:]}" if place else head
    rows = [[each.limit, LIMITS[each.limit].meaning, _stands(answer, each)] for each in clash.stands]
    notes = [needs_words(answer, clash) + "."] if clash.missing else []
    notes += [f"By itself {' and by itself '.join(each.likewise)} leaves nothing either." for each in clash.stands
              if each.likewise]  # fmt: skip
    return head, rows, " ".join(notes)


def _formless(answer: Answer, clash: ConflictSet) -> tuple[str, list[list[str]], str]:
    """What keeps every bundle from being formed, whatever the limits of a conflict."""
    makes = f"makes {answer.job.supply.kind} V"
    if clash.missing == "converter":
        return f"No converter of this catalogue {makes}.", [], ""
    lacking = {
        "battery": f"No battery's class goes whole into the bank's of a converter that {makes} (bank-voltage).",
        "panel": f"Even one panel is too much for every tracker of a converter that {makes} (tracker-range, "
        "tracker-power).",
    }.get(
        clash.missing, "The catalogue has no converter, panel, battery and rack that fit each other and have a price."
    )
    rows = [[limit, LIMITS[limit].meaning, ""] for limit in clash.kept]
    return "No bundle can be formed at all, whatever the other limits", rows, "" if rows else lacking


def kept_said() -> str:
    """The limits that no proof and no conflict is made of."""
    return f"Always kept, and so not among them: {', '.join(in_order(always_kept()))}."


def _stands(answer: Answer, stands: ConflictingLimit) -> str:
    reading = stands.reading
    if reading is None:
        return ""
    if not has_figure(reading):
        return missed(answer.job, reading)
    where = f" ({place_of(reading)})" if place_of(reading) else ""
    return sides(answer.job, reading).replace(", has", ", nearest has") + where


def _way(way: WayOut) -> list[str]:
    said = [f"{key_words(c.lever.key)} {typed(c.lever.text(0))} -> {typed(c.lever.text(c.step))}" for c in way.changes]
    risks = [RISKS[c.lever.key] for c in way.changes if c.lever.key in RISKS]
    parts = ", ".join(pieces_of(way.bundle).values())
    return [" and ".join(said), plain_money(way.cents), parts + (f"; risk: {'; '.join(risks)}" if risks else "")]


def _rejected(rejection: Rejection) -> str:
    if rejection.of == 1:
        return f"the only {rejection.kind}"
    several = PLURALS.get(rejection.kind, rejection.kind)
    if rejection.count == rejection.of:
        return f"all {rejection.of:,} {several}"
    return f"{rejection.count:,} of {rejection.of:,} {several}"
