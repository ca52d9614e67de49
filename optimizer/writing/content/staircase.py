"""What a staircase of cost says: its steps, what the budget buys and what is left of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimizer.answers.answer import audited
from optimizer.answers.budget_staircase import AUTONOMY, RESERVE, STEPS, WATER, Stair, Staircase, without_budget
from optimizer.auditor.audit import audit
from optimizer.search.branch_and_bound import Pick, Proof, Status
from optimizer.vocabulary.units import to_unit
from optimizer.writing.words.figures import money, number, plain_money
from optimizer.writing.words.phrases import parts_changed

if TYPE_CHECKING:
    from catalog.reader import Catalog
    from optimizer.answers.answer import Answer
    from optimizer.bundles.bundle import Bundle
    from optimizer.candidates.terms import SearchTerms
    from optimizer.inputs.job import Job


TITLES = {
    AUTONOMY: "Days without sun, rounded down", WATER: "Water a day, everything else as stated",
    RESERVE: "Watts to spare beside everything, at the worst start; no energy is counted for them",
}  # fmt: skip
UNITS = {AUTONOMY: "days", WATER: "% of the stated water", RESERVE: "W"}


def cents_of(value: float) -> int | None:
    """Money of the command line in cents; None where it has more than two decimals."""
    cents = round(value * 100)
    return cents if abs(value * 100 - cents) < 1e-6 else None


def level_of(quantity: str, value: float) -> float:
    """An end of the command line in the staircase's own measure: water is asked for in percent."""
    return value / 100 if quantity == WATER else value


def level_text(found: Staircase, stair: Stair) -> str:
    """A step's level as it is printed: "1.88", "112.5 %", "1,240"."""
    value = found.value(stair.level)
    if found.quantity == AUTONOMY:
        return number(value, 2)
    return f"{number(value * 100, 1)} %" if found.quantity == WATER else number(value, 0)


def litres_text(job: Job, found: Staircase, stair: Stair) -> str:
    """The water of a step in the person's own unit, of the month that asks most; "" for another quantity."""
    if found.quantity != WATER:
        return ""
    load = next(load for load in job.loads if load.water_per_day_l)
    unit = job.unit_of(f"load.{load.name}.water_per_day")
    total = sum(max(load.water_per_day_l or (0.0,)) for load in job.loads) * found.value(stair.level)
    return f"{number(to_unit(total, unit), 0)} {unit}"


def changes(found: Staircase) -> list[str]:
    """What changes at each step."""
    said, before = [], None
    for stair in found.stairs:
        said.append("the cheapest that meets the job" if before is None else parts_changed(before, stair.bundle))
        before = stair.bundle
    return said


def told_of(job: Job, catalog: Catalog, found: Staircase, terms: SearchTerms) -> Answer:
    """The bundle to be shown in full, audited: what the budget buys, or the cheapest where there is no budget."""
    if found.budget_cents is not None and found.bought is None:
        shown: tuple[Bundle, ...] = ()
    else:
        shown = (found.stairs[found.bought or 0].bundle,)
    pick = Pick(Status.PROVEN, shown, tuple(True for _ in shown), Proof(0, 0, 0, None, 0.0))
    return audited(catalog, without_budget(job), pick, None, terms)


def title(found: Staircase) -> str:
    """What the steps are of, and how far they are proven."""
    if found.proven:
        return f"{TITLES[found.quantity]}: exact, every step proven"
    return f"{TITLES[found.quantity]}: as far as the time went, every step shown proven"


def stair_heads(found: Staircase) -> list[str]:
    """What stands over the steps."""
    water = found.quantity == WATER
    return ["", "share" if water else UNITS[found.quantity], "at the most" if water else "", "total", "what changes",
            "refills in" if found.quantity == AUTONOMY else "", ""]  # fmt: skip


def stair_rows(job: Job, found: Staircase) -> list[list[str]]:
    """The steps, each with what it carries, costs and changes."""
    rows = []
    for place, (stair, said) in enumerate(zip(found.stairs, changes(found), strict=True)):
        note = "<- the budget buys this" if place == found.bought else ""
        if found.budget_cents is not None and stair.cents > found.budget_cents:
            note = f"{plain_money(stair.cents - found.budget_cents)} over"
        rows.append([str(place + 1), level_text(found, stair), litres_text(job, found, stair), plain_money(stair.cents),
                     said, _refills(job, found, stair), note])  # fmt: skip
    return rows


def remarks(job: Job, found: Staircase) -> list[str]:
    """What is to be known of the staircase besides its steps."""
    said = []
    if found.ended:
        said.append("No bundle of this catalogue carries more than the last.")
    if found.quantity == RESERVE and job.supply.kind == "120/240":
        said.append("Taken across both legs.")
    return said


def _refills(job: Job, found: Staircase, stair: Stair) -> str:
    """The days in which the array fills an empty bank again in the tightest month."""
    if found.quantity != AUTONOMY:
        return ""
    slowest, month = audit(without_budget(job), stair.bundle).slowest_refill
    return f"never ({month[:3]})" if slowest == float("inf") else f"{number(slowest, 1)} d ({month[:3]})"


def budget_said(catalog: Catalog, found: Staircase) -> list[str]:
    """What the budget buys, in sentences; none without a budget."""
    budget = found.budget_cents
    if budget is None:
        return []
    if found.bought is not None:
        bought = found.stairs[found.bought]
        said = f"{money(budget - bought.cents, catalog.currency)} is left of {money(budget, catalog.currency)}."
        if found.bought + 1 < len(found.stairs):
            step = found.stairs[found.bought + 1]
            said += f" The next step costs {plain_money(step.cents - bought.cents)} more."
        return [said]
    cheapest = found.stairs[0]
    lines = [f"The budget of {money(budget, catalog.currency)} does not buy this job: the cheapest that meets it costs "
             f"{plain_money(cheapest.cents)}, {plain_money(cheapest.cents - budget)} more."]  # fmt: skip
    for short in found.short:
        name = {AUTONOMY: "sunless days", WATER: "the stated water"}[short.quantity]
        if short.stair is None:
            lines.append(f"It buys none of it with less of {name} alone.")
            continue
        value = short.stair.level * STEPS[short.quantity]
        much = f"{number(value, 2)} days" if short.quantity == AUTONOMY else f"{number(value * 100, 1)} %"
        lines.append(f"With less of {name} alone it buys {much}, for {plain_money(short.stair.cents)}.")
    return lines
