"""An explanation in words: why nothing cheaper, what each limit costs, and what would change the pick."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from optimizer.explain.resolve import cents_of
from optimizer.explain.why_not import BundleInstead, PartInstead
from optimizer.rules.limits import LIMITS
from optimizer.writing.content.verdict import price
from optimizer.writing.content.why_nothing import kept_said
from optimizer.writing.text.audit import failures
from optimizer.writing.text.pick import cautions, head, options_table
from optimizer.writing.text.why_nothing import near_table
from optimizer.writing.words.figures import figure, money, plain_money, working
from optimizer.writing.words.phrases import (  # fmt: skip
    PLURALS,
    amount,
    figures_table,
    key_words,
    missed,
    parts_changed,
    place_of,
    sides,
    typed,
)
from optimizer.writing.words.tables import ends, paragraph, table

if TYPE_CHECKING:
    from optimizer.answers.answer import Answer
    from optimizer.auditor.reading import Reading
    from optimizer.bundles.bundle import Bundle
    from optimizer.explain.binding_limits import Cost
    from optimizer.explain.price_ranging import General
    from optimizer.explain.relaxations import Moved
    from optimizer.explain.sensitivity import Breakpoint, Input
    from optimizer.inputs.job import Job

LEAVES = "It leaves where no offer of it is below that; now is what the pieces that are bought cost each."
COMES_IN = (
    "It comes in where it can be had at that or less, packs and least quantities as they are; now is what the pieces "
    "of the best bundle with it cost each."
)
OTHER_PRICES = (
    "Since freight is free, or a seller sells, from some order on, a part may leave or come in at other prices too: "
    "these are solved for, each at that cent and at the next."
)


# the whole explanation -------------------------------------------------------------------------------------------


def why_page(answer: Answer) -> str:
    """The whole explanation of a pick."""
    why = answer.why
    picked = answer.options[0].bundle
    blocks = [head(answer), options_table(answer), *_instead(answer)]
    if why.whole:
        blocks += [
            _nothing_under(answer), _costs(answer, picked), _hours(answer, picked), _parts_prices(answer, picked),
            _other_prices(answer, picked), _general(answer, picked), _inputs(answer, picked), _tidier(answer, picked),
        ]  # fmt: skip
    if why.unfinished:
        cut = f"the time limit came first; not all is known of: {', '.join(why.unfinished)}"
        blocks.append(paragraph(cut, label="UNFINISHED"))
    blocks.append(cautions(answer))
    return "\n\n".join(block for block in blocks if block) + "\n"


def _nothing_under(answer: Answer) -> str:
    core, option = answer.why.core, answer.options[0]
    if core is None:
        return ""
    total = money(option.cents, answer.catalog.currency)
    count = len(core.limits)
    limits = "1 limit" if count == 1 else f"{count} limits"
    how = ("it alone is enough" if count == 1 else "none needlessly") if core.proven else "fewer may do"
    readings = {reading.limit: reading for reading in option.audit.tightest()}
    rows = []
    refused = {cost.limit: cost for cost in answer.why.costs}
    for place, limit in enumerate(core.limits):
        reading = readings.get(limit)
        if limit in refused and (reading is None or reading.settled or LIMITS[limit].refuses_unseen):
            without = refused[limit]
            bars = f"{parts_changed(option.bundle, without.dropped)}: {missed(answer.job, without.asked)}"
            said = f"{LIMITS[limit].meaning}, which refuses {bars}"
        else:
            said = LIMITS[limit].meaning if reading is None else _asks(answer.job, reading)
        rows.append(["and" if place else "because", limit, said])
    head = ends(f"NOTHING UNDER {total} EXISTS", f"smallest proof: {limits}, {how}")
    if not rows:
        least = "the least pieces that make a bundle cost so much, whatever the other limits"
        return "\n".join([head, paragraph(least), paragraph(kept_said())])
    return "\n".join([head, table(rows), paragraph(kept_said())])


def _asks(job: Job, reading: Reading) -> str:
    """What a limit asks of the pick, with its figures."""
    limit = LIMITS[reading.limit]
    said, _, rest = working(limit, reading.slots).partition("; ")
    where = f" ({place_of(reading)})" if place_of(reading) else ""
    if reading.settled:
        return f"{limit.meaning}: {said}"
    asked = reading.value if reading.sense == "at most" else reading.allowed
    if reading.limit == "autonomy":
        return f"{figure(asked, 'd')} without sun{where}"
    if reading.unit == "degC":
        return sides(job, reading)
    if limit.working_says in ("words", "lead"):
        return f"{said}{where}"
    unit = reading.unit
    tail = f"; {rest}" if rest else ""
    if reading.sense == "at least" and limit.working_says != "asked":  # the working is of what there is
        return f"{said} = {amount(reading.value, unit)}, {amount(asked, unit)} asked{tail}{where}"
    return f"{said} = {amount(asked, unit)}{tail}{where}"


def _costs(answer: Answer, picked: Bundle) -> str:
    rows = []
    for cost in answer.why.costs:
        first = cost.limit
        for move in cost.moves:
            change = _change(answer, cost, move)
            rows.append([first, change, _saved(answer, move.bundle), parts_changed(picked, move.bundle)])
            first = ""
        last = [_dropped(answer, cost), _saved(answer, cost.dropped), parts_changed(picked, cost.dropped)]
        if not cost.moves or last[1:] not in [row[2:] for row in rows]:  # not what a change above brings already
            rows.append([first, *last])
    head = ["WHAT EACH COSTS", "first change that pays", "saves", "then"]
    notes = []
    if rows and any(LIMITS[cost.limit].offer for cost in answer.why.costs):
        notes.append("A limit that guards against damage is not to be loosened: its line says what another part, at "
                     "the price of the one it replaces, would have to offer.")  # fmt: skip
    if "costs of limits" in answer.why.unfinished:
        notes.append("The time limit came first: what is not here may cost something too.")
    else:
        which = "Every other limit" if rows else "No limit"
        costs = "costs nothing" if rows else "costs anything"
        notes.append(f"{which} but those always kept {costs}: left out alone, {'it' if rows else 'none'} saves "
                     f"{'nothing' if rows else 'a cent'}.")  # fmt: skip
    drawn = table([head, *rows], align="llrl", indent=0) + "\n" if rows else "WHAT EACH COSTS\n"
    return drawn + "\n".join(paragraph(note) for note in notes)


def _hours(answer: Answer, picked: Bundle) -> str:
    """The totals where other numbers of hours short are accepted."""
    if not answer.why.hours:
        return ""
    rows, now = [], answer.job.replay.hours_short
    for each in answer.why.hours:
        accepted = "any number" if each.hours is None else f"{each.hours} h"
        if each.bundle is None:
            rows.append([accepted, "", "none", "", "nothing meets the job"])
            continue
        more = cents_of(each.bundle) - answer.options[0].cents
        total, changed = plain_money(cents_of(each.bundle)), parts_changed(picked, each.bundle)
        rows.append([accepted, f"{each.short} h", total, _against(more), changed])
    return table([["HOURS ACCEPTED", "short", "total", f"against {now} h", "then"], *rows], align="lrrrl", indent=0)


def _against(cents: int) -> str:
    return "as now" if not cents else f"{plain_money(abs(cents))} {'more' if cents > 0 else 'less'}"


def _change(answer: Answer, cost: Cost, move: Moved) -> str:
    lever = move.lever
    if lever.key:
        return f"{key_words(lever.key)} {typed(lever.text(0))} -> {typed(lever.text(move.step))}"
    more = amount(lever.value(move.step) or 0.0, cost.asked.unit)
    said = LIMITS[cost.limit].offer.format(more=more, value="")
    loosened = cost.loosened
    if loosened is not None and "reserve" in LIMITS[cost.limit].kinds and loosened.raw_holds:
        said += "; its bare rating would do, the reserve not"
    return said


def _dropped(answer: Answer, cost: Cost) -> str:
    reading = cost.asked
    offer = LIMITS[cost.limit].offer
    if not cost.moves and offer and "{" not in offer:
        return offer
    if not cost.moves and offer and not reading.settled:
        more = amount(abs(reading.value - reading.allowed), reading.unit)
        return LIMITS[cost.limit].offer.format(more=more, value=amount(reading.value, reading.unit))
    return "if it did not count" if cost.moves else f"if it did not count ({missed(answer.job, reading)})"


def _saved(answer: Answer, bundle: Bundle) -> str:
    return plain_money(answer.options[0].cents - cents_of(bundle))


# prices ----------------------------------------------------------------------------------------------------------


def _parts_prices(answer: Answer, picked: Bundle) -> str:
    rows, fixed = [], []
    for part in answer.why.leaving:
        if part.turns is None or part.instead is None:
            fixed.append(part.part)
            continue
        then = f"{parts_changed(picked, part.instead)}: {plain_money(cents_of(part.instead))}"
        rows.append([part.part, plain_money(part.now), plain_money(part.turns), then])
    if not rows and not fixed:
        return ""
    lines = ["PRICES THAT WOULD CHANGE IT, each piece"]
    if rows:
        lines.append(table(rows, ["bought", "now", "leaves at", "then, in all"], "lrrl"))
        lines.append(paragraph(LEAVES))
    if fixed:
        lines.append(paragraph(f"Nothing could take the place of {', '.join(fixed)}."))
    return "\n".join(lines)


def _other_prices(answer: Answer, picked: Bundle) -> str:
    less = "" if by_order(answer) else " or less"
    rows = [
        [other.part, _now(other.now),
         f"{plain_money(other.turns)}{less}" if other.turns is not None else "no price",
         plain_money(cents_of(other.bundle)), parts_changed(picked, other.bundle)]
        for other in answer.why.entering
    ]  # fmt: skip
    if not rows:
        return ""
    drawn = table(rows, ["not bought", "now", "comes in at", "the best with it", "has"], "lrrrl")
    lines = [drawn, paragraph(COMES_IN)]
    return "\n".join(lines if less else [*lines, paragraph(OTHER_PRICES)])


def _now(cents: int | None) -> str:
    return "on hand" if cents is None else plain_money(cents)


def by_order(answer: Answer) -> bool:
    """Whether a seller's freight is free, or it sells, from some order on: then less need not cost less."""
    return any(seller.ever_free or seller.min_order for seller in answer.catalog.sellers.values())


def _general(answer: Answer, picked: Bundle) -> str:
    rows, still = [], []
    for move in answer.why.general:
        whose = f"all {PLURALS[move.whose]}" if move.whose in PLURALS else move.whose
        if move.fall is None and move.rise is None:
            still.append(whose)
            continue
        lower, higher = (_general_end(move, place, picked) for place in (0, 1))
        rows.append([whose, lower, higher])
    lines = [table(rows, ["all prices of", "fall by", "rise by"])] if rows else []
    if still:
        those = ", ".join(still)
        lines.append(paragraph(f"No general fall or rise up to 50 % of the prices of {those} changes the pick."))
    return "\n".join(lines)


def _general_end(move: General, place: int, picked: Bundle) -> str:
    percent, bundle = (move.fall, move.rise)[place], move.then[place]
    if percent is None or bundle is None:
        return "50 %: no change"
    return f"{abs(percent)} %: {parts_changed(picked, bundle)}"


# inputs ----------------------------------------------------------------------------------------------------------


def _inputs(answer: Answer, picked: Bundle) -> str:
    rows, still = [], []
    for each in answer.why.inputs:
        name = key_words(each.key)
        turns = [turn for turn in (_turn(answer, picked, each, True), _turn(answer, picked, each, False)) if turn]
        for place, turn in enumerate(turns):
            rows.append([*([name, typed(each.now), each.standing] if not place else ["", "", ""]), *turn])
        if not turns:
            ends_ = " to ".join(dict.fromkeys((typed(each.easiest), typed(each.hardest))))
            still.append(f"{name} ({ends_})")
    if not rows and not still:
        return ""
    lines = ["WORTH MEASURING"]
    if rows:
        heads = ["WORTH MEASURING", "now", "", "turns at", "total", "then"]
        lines = [figures_table(rows, heads, "llllrl", indent=0)]
    if still:
        lines.append(paragraph(f"Nothing changes over the range looked at: {'; '.join(still)}."))
    return "\n".join(lines)


def _turn(answer: Answer, picked: Bundle, each: Input, easier: bool) -> list[str] | None:
    turn: Breakpoint | None = each.easier if easier else each.harder
    if turn is None:
        return None
    at = f"{typed(turn.text)} or {'more' if each.upward == easier else 'less'}"
    if turn.bundle is None:
        return [at, "", "nothing meets the job"]
    difference = cents_of(turn.bundle) - answer.options[0].cents
    said = f"{'saves' if difference < 0 else 'costs'} {plain_money(abs(difference))}"
    return [at, said, parts_changed(picked, turn.bundle)]


# tidier, and why not this ----------------------------------------------------------------------------------------


def _tidier(answer: Answer, picked: Bundle) -> str:
    rows = []
    for each in answer.why.tidier:
        wish = "strings of one length" if each.equal_strings else (
            "one seller" if each.sellers == 1 else f"{each.sellers} sellers")  # fmt: skip
        if each.bundle is None:
            rows.append([wish, "5 % or more, if at all", ""])
        else:
            more = cents_of(each.bundle) - answer.options[0].cents
            rows.append([wish, plain_money(more), parts_changed(picked, each.bundle)])
    return table(rows, ["TIDIER", "costs", "then"], "lrl", indent=0) if rows else ""


def _instead(answer: Answer) -> Iterator[str]:
    why = answer.why
    if isinstance(why.instead, PartInstead):
        yield "\n".join(_part_instead(answer, why.instead))
    elif why.instead is not None:
        yield "\n".join(_bundle_instead(answer))


def _part_instead(answer: Answer, found: PartInstead) -> Iterable[str]:
    option = answer.options[0]
    yield f"WHY NOT {found.part}"
    if found.picked:
        yield paragraph("It is in the pick.")
        return
    if found.bundle is not None:
        more = cents_of(found.bundle) - option.cents
        text = f"The best bundle with it costs {plain_money(cents_of(found.bundle))}, {plain_money(more)} more"
        yield paragraph(f"{text}: {parts_changed(option.bundle, found.bundle)}.")
        enters = found.enters
        if enters is not None and enters.turns is not None:
            price = plain_money(enters.turns)
            price = f"{price} a piece, not a cent above" if by_order(answer) else f"{price} or less a piece"
            now = "now it is on hand" if enters.now is None else f"now its pieces cost {plain_money(enters.now)} each"
            yield paragraph(f"It would be chosen where it can be had at {price}, packs and least quantities as they "
                            f"are; {now}.")  # fmt: skip
        elif enters is not None:
            yield paragraph("It would be chosen at no price: what it needs beside it costs more by itself.")
        if found.near:
            yield paragraph("Cheaper bundles with it, each refused by one limit:")
            yield near_table(answer, found.near, "")
        return
    if not found.broken:
        fits = "no load that it may start" if found.kind == "starter" else "nothing that fits it"
        yield paragraph(f"It forms no bundle at all, whatever the limits: no price, or {fits}.")
        return
    several = len(found.broken) > 1
    these = "It cannot meet any of these:" if found.alone else "It cannot meet these together:"
    yield paragraph(these if several else "It cannot meet this limit:")
    rows = []
    for broken in found.broken:
        reading, bundle = broken.reading, broken.bundle
        if reading is None or bundle is None:
            rows.append([broken.limit, LIMITS[broken.limit].meaning, "whatever else it is with"])
            continue
        saves = option.cents - cents_of(bundle)
        money_ = f"would save {plain_money(saves)}" if saves > 0 else f"would cost {plain_money(-saves)} more"
        rows.append([broken.limit, f"{sides(answer.job, reading)}: {missed(answer.job, reading)}",
                     f"{parts_changed(option.bundle, bundle)}; {money_}"])  # fmt: skip
    yield figures_table(rows, ["limit", "what the best bundle with it asks and has", "with"])


def _bundle_instead(answer: Answer) -> Iterable[str]:
    found = answer.why.instead
    assert isinstance(found, BundleInstead)
    verdict, option = found.verdict, answer.options[0]
    yield f"WHY NOT {verdict.bundle.name}"
    if verdict.failing:
        yield paragraph("It fails:")
        yield failures(answer.job, verdict)
    if verdict.cents is None:
        yield paragraph("What it costs is not known.")
        return
    whole = verdict.complete_cents
    if whole is None:
        yield paragraph(f"It costs {price(verdict)}: not to be held against the pick, which has them.")
        return
    more = whole - option.cents
    costs = f"It costs {price(verdict)}" if whole != verdict.cents else f"It costs {plain_money(whole)}"
    if more > 0:
        changed = parts_changed(option.bundle, verdict.bundle)
        below = option.cents - (whole - verdict.cents)
        chosen = "" if verdict.failing else f" It would be chosen below {plain_money(below)}."
        yield paragraph(f"{costs}, {plain_money(more)} more than the pick: {changed}.{chosen}")
    elif more < 0:
        yield paragraph(f"{costs}, {plain_money(-more)} less than the pick.")
    else:
        yield paragraph(f"{costs}, the same as the pick.")
