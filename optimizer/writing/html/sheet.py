"""What stands on the page, gathered: the words, tables and drawings of an answer, a judgement or a staircase."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from optimizer.writing.content import staircase as staircase_content
from optimizer.writing.content import verdict
from optimizer.writing.content.option import (
    OPTION_HEADS,
    UNPROVEN,
    SellerOrder,
    facts,
    on_hand,
    option_rows,
    rests_on,
    seller_orders,
    tracker_heads,
    tracker_rows,
    worth_said,
)
from optimizer.writing.content.why_nothing import (  # fmt: skip
    NEAR_HEADS,
    NO_WAY,
    REJECTED,
    WAY_HEADS,
    clash_said,
    kept_said,
    near_rows,
    no_near,
    rejected_rows,
    way_rows,
    ways_solved,
)
from optimizer.writing.drawings.limit_bars import has_bar, limit_bars
from optimizer.writing.drawings.month_chart import month_chart, month_energies
from optimizer.writing.drawings.one_line import one_line
from optimizer.writing.drawings.staircase import staircase
from optimizer.writing.drawings.string_map import string_maps
from optimizer.writing.html.grids import Grid, card_grids, grid, inputs_grid, limit_sheet, loads_grid, months_grid
from optimizer.writing.words import notes, sentences
from optimizer.writing.words.figures import money, plain_money
from optimizer.writing.words.settle import to_settle

if TYPE_CHECKING:
    from catalog.reader import Catalog
    from optimizer.answers.answer import Answer, Option
    from optimizer.answers.budget_staircase import Staircase
    from optimizer.answers.judgement import Judgement
    from optimizer.explain.infeasibility import Conflict
    from optimizer.explain.verdict import Verdict

OPTION_ALIGN = "lrlllrl"


@dataclass(frozen=True)
class BundleOnPage:
    """One bundle on the page. ``name`` heads it where there are several; ``prefix`` begins its ids. The drawings are
    SVG; ``months`` is None where nothing is asked of the array."""

    name: str
    prefix: str
    facts: tuple[tuple[str, str], ...]
    string_maps: tuple[str, ...]
    trackers: Grid
    one_line: str
    limit_bars: tuple[str, ...]
    without_bar: str
    month_chart: str
    months: Grid
    orders: tuple[SellerOrder, ...]
    total: str
    on_hand: tuple[str, ...]
    limits: Grid
    card: tuple[Grid, ...]
    card_notes: tuple[str, ...]
    replay: str = ""


@dataclass(frozen=True)
class Stairs:
    """The staircase: its drawing, its steps, and what is said of them."""

    title: str
    drawing: str
    steps: Grid
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class PageSheet:
    """The whole page. ``lead`` is the total or the result in a few words, ``proof`` how sure it is."""

    title: str
    source: str
    example: str
    lead: str
    proof: tuple[str, ...]
    conditions: tuple[str, ...]
    notes: tuple[str, ...]
    currency: str
    compared_title: str
    compared: tuple[Grid, ...]
    compared_note: str
    parts: tuple[BundleOnPage, ...]
    stairs: Stairs | None
    why_not: Grid | str
    conflict: tuple[Grid | str, ...]
    inputs: tuple[Grid, ...]
    rests: tuple[tuple[str, tuple[str, ...]], ...]
    cautions: tuple[str, ...]
    not_included: str
    hashes: tuple[tuple[str, str], ...]


# one bundle ------------------------------------------------------------------------------------------------------


def bundle_on_page(answer: Answer, option: Option, prefix: str = "", judged: Verdict | None = None) -> BundleOnPage:
    """Everything that is shown of one bundle."""
    job, bundle = answer.job, option.bundle
    nearest = option.nearest()
    months = month_energies(option.audit.months)
    grids, notes = card_grids(answer, option, prefix)
    heads = ("tracker", *tracker_heads(job, option)[1:])
    trackers = [(row[0].removeprefix("tracker "), *row[1:]) for row in tracker_rows(option)]
    order = bundle.order
    return BundleOnPage(
        name=bundle.name or f"Option {option.rank}",
        prefix=prefix,
        facts=_labelled([*facts(answer, option), *(("saves", text) for text in worth_said(answer, option))]),
        string_maps=tuple(string_maps(job, option, prefix)),
        trackers=grid(f"{prefix}trackers", "Trackers", heads, trackers, "llrrr", True),
        one_line=one_line(answer, option, prefix),
        limit_bars=tuple(limit_bars(job, nearest, prefix)),
        without_bar=", ".join(reading.limit for reading in nearest if not has_bar(reading)),
        month_chart=month_chart(months, option.audit.reading("daily-energy").where, prefix),
        months=months_grid(months, f"{prefix}month-table"),
        orders=tuple(seller_orders(order, answer.catalog.seller)) if order else (),
        total=plain_money(order.cents) if order else "",
        on_hand=tuple(on_hand(answer, option)),
        limits=limit_sheet(job, option.audit.readings, f"{prefix}limits", judged),
        card=tuple(grids),
        card_notes=tuple(notes),
        replay=_replay(option, prefix),
    )


def _replay(option: Option, prefix: str) -> str:
    """The drawing of the replay; "" where the job has no weather file."""
    if option.audit.replay is None:
        return ""
    from optimizer.writing.drawings.replay_year import replay_year

    return replay_year(option.audit.replay, prefix)


def _labelled(said: Sequence[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """Facts with a label each: one without goes on with the one before."""
    found: list[tuple[str, str]] = []
    for label, text in said:
        found.append((label or found[-1][0], text))
    return tuple(found)


def _given(answer: Answer, option: Option | None = None) -> dict[str, object]:
    """What every page says of its inputs; the loads as they start and run in ``option``, where one is shown."""
    loads = loads_grid(answer.demand.loads)
    if option is not None:
        loads = loads_grid(option.audit.loads, bool(option.audit.reading("autonomy").slots["pumps"]))
    return {
        "title": answer.job.title,
        "source": sentences.catalogue_name(answer.catalog),
        "example": sentences.EXAMPLE if answer.catalog.generic else "",
        "notes": (
            *(to_settle(answer.job, option.audit) if option else ()),
            *notes.warnings(answer, brief=True),
        ),
        "currency": answer.catalog.currency,
        "inputs": (inputs_grid(answer.job), loads),
        "cautions": sentences.CAUTIONS,
        "not_included": sentences.not_included(option),
        "hashes": (*answer.job.digests.items(), ("catalogue", answer.catalog.digest)),
    }


# pick ------------------------------------------------------------------------------------------------------------


def of_answer(answer: Answer, shown: int = 1) -> PageSheet:
    """The page of a pick, option ``shown`` in full; or of a job that nothing meets."""
    if not answer.options:
        return _nothing(answer)
    option = answer.options[shown - 1]
    said = rests_on(answer, option)
    rows = option_rows(answer)
    heads = ("option", *OPTION_HEADS[1:])
    return PageSheet(
        **_given(answer, option),  # type: ignore[arg-type]  # each key's type stands beside it above
        lead=_delivered(answer, option),
        proof=tuple(sentences.proof_state(answer)),
        conditions=tuple(said["CONDITION"]),
        compared_title="Options side by side",
        compared=(grid("options", f"Delivered totals in {answer.catalog.currency}", heads, rows, OPTION_ALIGN, True),),
        compared_note=UNPROVEN if any("?" in row[0] for row in rows) else "",
        parts=(bundle_on_page(answer, option),),
        stairs=None,
        why_not=_why_not(answer),
        conflict=(),
        rests=_rests(said),
    )


def _delivered(answer: Answer, option: Option) -> str:
    which = f"Option {option.rank}: " if option.rank > 1 else ""
    return f"{which}{money(option.cents, answer.catalog.currency)} delivered"


def _rests(said: dict[str, list[str]]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    names = {"MEASURED": "Measured or stated", "ESTIMATED": "Estimated", "TAKEN AS": "Taken as given"}
    return tuple((words, tuple(said[label])) for label, words in names.items())


def _why_not(answer: Answer) -> Grid | str:
    if not answer.why.near_sought:
        return ""
    if nothing := no_near(answer):
        return f"{nothing[0].upper()}{nothing[1:]}."
    rows = near_rows(answer, answer.why.near)
    return grid("near", "Cheaper bundles that one limit refuses", ("change", *NEAR_HEADS), rows, "lrll", wide=True)


def _nothing(answer: Answer) -> PageSheet:
    """The page of a job that nothing meets, or of a search that the time limit ended before it found anything."""
    found = answer.why.conflict
    none = answer.pick.status == "none"
    taken = sentences.taken_for_job(answer)
    return PageSheet(
        **_given(answer),  # type: ignore[arg-type]
        lead="No bundle meets this job" if none else "No bundle found in the time allowed",
        proof=("Proven.", *sentences.proof_state(answer)) if none else tuple(sentences.proof_state(answer)),
        conditions=(*sentences.asked_beside(answer), *sentences.conditions_of_job(answer)),
        compared_title="",
        compared=(),
        compared_note="",
        parts=(),
        stairs=None,
        why_not="",
        conflict=tuple(_conflict(answer, found)) if found is not None else (),
        rests=_rests({"MEASURED": sentences.measured(answer), "ESTIMATED": sentences.estimated(answer) or ["nothing"],
                      "TAKEN AS": taken or ["nothing: everything is stated"]}),
    )  # fmt: skip


def _conflict(answer: Answer, found: Conflict) -> list[Grid | str]:
    """What bars every bundle, and the ways out."""
    said: list[Grid | str] = []
    if found.rejected:
        said.append(grid("rejected", REJECTED, ("limit", "rules out", "meaning"), rejected_rows(found), "lll", True))
    for place, clash in enumerate(found.clashes):
        head, rows, note = clash_said(answer, clash, place)
        heads = ("limit", "meaning", "asks and has")
        said.append(grid(f"clash-{place}", head, heads, rows, "lll", True) if rows else f"{head}.".replace("..", "."))
        if note:
            said.append(note)
    if any(clash.stands for clash in found.clashes):
        said.append(kept_said())
    if found.ways:
        caption = f"Ways out, {ways_solved(found)}"
        said.append(grid("ways", caption, WAY_HEADS, way_rows(found), "lrl", True))
    elif "ways out" not in found.unfinished:
        said.append(NO_WAY)
    said += [f"Unfinished: the time limit came first; not all is known of: {name}." for name in found.unfinished]
    return [*said, "A safety limit is never a way out."]


# audit -----------------------------------------------------------------------------------------------------------


def of_verdicts(judged: Judgement) -> PageSheet:
    """The page of one or several bundles that were judged."""
    told, verdicts = judged.answer, judged.verdicts
    job, catalog = told.job, told.catalog
    said = verdict.rests_on(judged)
    given = _given(told)
    given["notes"] = (*(f"Not judged: {text}" for text in said["NOT JUDGED"]), *said["SETTLE"], *said["NOTE"])
    groups = [verdicts[start : start + verdict.ABREAST] for start in range(0, len(verdicts), verdict.ABREAST)]
    compared = [
        grid(f"offers-{n}", f"Limits asked and allowed; prices in {catalog.currency}",
             ("limit", *(each.bundle.name for each in group)),
             [("result" if place == 0 else row[0], *row[1:])
              for place, row in enumerate(verdict.side_rows(job, group, True))],
             "l" * (len(group) + 1), wide=True)
        for n, group in enumerate(groups)
    ]  # fmt: skip
    several = len(verdicts) > 1
    return PageSheet(
        **given,  # type: ignore[arg-type]
        lead="; ".join(_judged(each, several) for each in verdicts),
        proof=tuple(f"{each.bundle.name}: {verdict.parts(each.bundle)}; {_price(each, catalog)}" for each in verdicts),
        conditions=tuple(said["CONDITION"]),
        compared_title="Bundles side by side" if several else "",
        compared=tuple(compared) if several else (),
        compared_note="",
        parts=tuple(
            bundle_on_page(told, option, f"b{option.rank}-" if several else "", each)
            for option, each in zip(told.options, verdicts, strict=True)
        ),
        stairs=None,
        why_not="",
        conflict=(),
        rests=_rests(said),
    )


def _judged(each: Verdict, several: bool) -> str:
    return f"{each.bundle.name} {verdict.result(each)}" if several else verdict.result(each)


def _price(each: Verdict, catalog: Catalog) -> str:
    return f"price {verdict.price(each, catalog.currency)}"


# afford ----------------------------------------------------------------------------------------------------------


def of_staircase(found: Staircase) -> PageSheet:
    """The page of a staircase, with what the budget buys in full."""
    answer = found.shown
    money_said = tuple(staircase_content.budget_said(found))
    title = staircase_content.title(found)
    heads = ("step", *(head or "note" for head in staircase_content.stair_heads(found)[1:]))
    steps = grid("steps", title, heads, staircase_content.stair_rows(found), "lrrrlrl", wide=True)
    option = answer.options[0] if answer.options else None
    said = rests_on(answer, option) if option else {
        "MEASURED": sentences.measured(answer), "ESTIMATED": sentences.estimated(answer) or ["nothing"],
        "TAKEN AS": sentences.taken_for_job(answer), "CONDITION": sentences.conditions_of_job(answer),
    }  # fmt: skip
    return PageSheet(
        **_given(answer, option),  # type: ignore[arg-type]
        lead=_delivered(answer, option) if option else "The budget does not buy this job",
        proof=(f"{title}.", *money_said),
        conditions=tuple(said["CONDITION"]),
        compared_title="",
        compared=(),
        compared_note="",
        parts=(bundle_on_page(answer, option),) if option else (),
        stairs=Stairs(title, staircase(found), steps, tuple(staircase_content.remarks(found))),
        why_not="",
        conflict=(),
        rests=_rests(said),
    )
