"""What a staircase of cost says: its steps, what the budget buys and what is left of it."""

from __future__ import annotations

from optimizer.answers.budget_staircase import STEPS, YEAR_H, Stair, Staircase
from optimizer.answers.stair_quantity import StairQuantity
from optimizer.vocabulary.units import to_unit
from optimizer.writing.words.figures import money, number, plain_money
from optimizer.writing.words.phrases import parts_changed

TITLES = {
    StairQuantity.AUTONOMY: "Days without sun, rounded down",
    StairQuantity.WATER: "Water a day, everything else as stated",
    StairQuantity.RESERVE: "Watts to spare beside everything, at the worst start; no energy is counted for them",
    StairQuantity.HOURS: "Hours short in the worst year of the weather file",
}  # fmt: skip
ENDS = {
    "catalogue": "No bundle of this catalogue carries more than the last.",
    "pumps": "No bundle carries more than the last: a pump would have to run for more than 24 hours a day.",
    "farthest": "It is cut there: no more is looked for.",
    "whole": "There is no more to gain: with the last every hour of the file has power.",
}  # fmt: skip
UNITS = {
    StairQuantity.AUTONOMY: "days", StairQuantity.WATER: "% of the stated water", StairQuantity.RESERVE: "W",
    StairQuantity.HOURS: "h short",
}  # fmt: skip


def shown_level(found: Staircase, stair: Stair) -> float:
    """A step's level in its unit: days, %, W, or hours short."""
    value = found.value(stair.level)
    if found.quantity == StairQuantity.HOURS:
        return YEAR_H - value
    return value * 100 if found.quantity == StairQuantity.WATER else value


def level_text(found: Staircase, stair: Stair) -> str:
    """A step's level as it is printed: "1.88", "112.5 %", "1,240"."""
    value = shown_level(found, stair)
    if found.quantity == StairQuantity.AUTONOMY:
        return number(value, 2)
    return f"{number(value, 1)} %" if found.quantity == StairQuantity.WATER else number(value, 0)


def litres_text(found: Staircase, stair: Stair) -> str:
    """The water of a step in the person's own unit, of the month that asks most; "" for another quantity."""
    if found.quantity != StairQuantity.WATER:
        return ""
    job = found.shown.job
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


def title(found: Staircase) -> str:
    """What the steps are of, and how far they are proven."""
    if found.proven:
        return f"{TITLES[found.quantity]}: exact, every step proven"
    return f"{TITLES[found.quantity]}: as far as the time went, every step shown proven"


def stair_heads(found: Staircase) -> list[str]:
    """What stands over the steps."""
    water = found.quantity == StairQuantity.WATER
    return ["", "share" if water else UNITS[found.quantity], "at the most" if water else "", "total", "what changes",
            "refills in" if found.quantity == StairQuantity.AUTONOMY else "", ""]  # fmt: skip


def stair_rows(found: Staircase) -> list[list[str]]:
    """The steps, each with what it carries, costs and changes."""
    rows = []
    for place, (stair, said) in enumerate(zip(found.stairs, changes(found), strict=True)):
        note = "<- the budget buys this" if place == found.bought else ""
        if found.budget_cents is not None and stair.cents > found.budget_cents:
            note = f"{plain_money(stair.cents - found.budget_cents)} over"
        rows.append([str(place + 1), level_text(found, stair), litres_text(found, stair), plain_money(stair.cents),
                     said, _refills(found, stair), note])  # fmt: skip
    return rows


def remarks(found: Staircase) -> list[str]:
    """What is to be known of the staircase besides its steps."""
    said = [ENDS[found.end]] if found.end and found.stairs else []
    if not found.end and found.stairs and found.proven:
        said.append("It goes on: what a bundle that carries more than the last costs was not asked. --to goes further.")
    if found.quantity == StairQuantity.RESERVE and found.shown.job.supply.split_phase:
        said.append("Taken across both legs.")
    return said


def _refills(found: Staircase, stair: Stair) -> str:
    """The days in which the array fills an empty bank again in the tightest month."""
    if found.quantity != StairQuantity.AUTONOMY:
        return ""
    slowest, month = stair.audit.slowest_refill
    return f"never ({month[:3]})" if slowest == float("inf") else f"{number(slowest, 1)} d ({month[:3]})"


def budget_said(found: Staircase) -> list[str]:
    """What the budget buys, in sentences; none without a budget."""
    budget, currency = found.budget_cents, found.shown.catalog.currency
    if budget is None:
        return []
    if found.bought is not None:
        bought = found.stairs[found.bought]
        said = f"{money(budget - bought.cents, currency)} is left of {money(budget, currency)}."
        if found.bought + 1 < len(found.stairs):
            step = found.stairs[found.bought + 1]
            said += f" The next step costs {plain_money(step.cents - bought.cents)} more."
        return [said if found.proven else f"{said} The time limit came first: it may buy more."]
    cheapest = found.stairs[0]
    lines = [f"The budget of {money(budget, currency)} does not buy this job: the cheapest that meets it costs "
             f"{plain_money(cheapest.cents)}, {plain_money(cheapest.cents - budget)} more."]  # fmt: skip
    for short in found.short:
        name = {StairQuantity.AUTONOMY: "sunless days", StairQuantity.WATER: "the stated water"}[short.quantity]
        if short.stair is None:
            lines.append(f"It buys none of it with less of {name} alone.")
            continue
        value = short.stair.level * STEPS[short.quantity]
        much = f"{number(value, 2)} days" if short.quantity == StairQuantity.AUTONOMY else f"{number(value * 100, 1)} %"
        lines.append(f"With less of {name} alone it buys {much}, for {plain_money(short.stair.cents)}.")
    return lines
