"""The bundle to settle on over several price lists, as a page and as data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from optimizer.answers.answer import audited
from optimizer.answers.least_regret import extras
from optimizer.bundles.kept_answer import Shape
from optimizer.search.branch_and_bound import PROVEN, Pick, Proof
from optimizer.writing.data.answer_json import bundle_data
from optimizer.writing.text.pick import cautions, facts, rests_on, tracker_heads, tracker_rows
from optimizer.writing.text.refresh import OLD_PRICES
from optimizer.writing.words import sentences
from optimizer.writing.words.figures import money, plain_money
from optimizer.writing.words.json_figures import amount
from optimizer.writing.words.phrases import parts_changed, pieces_of, string_map
from optimizer.writing.words.problems import warning_text
from optimizer.writing.words.tables import ends, paragraph, table

if TYPE_CHECKING:
    from catalog.reader import Catalog
    from optimizer.answers.answer import Answer
    from optimizer.answers.least_regret import Bought, OnList, Settled
    from optimizer.bundles.bundle import Bundle
    from optimizer.inputs.job import Job

SCHEMA = 1
WORST, CHEAPEST = "worst", "the cheapest here"
UNPRICED = "parts-without-price"  # which list lacks what tells itself where it matters
BUYING = ("total", "purchases", "freight", "proven")  # of a bundle's data: each list has its own


def settled_page(job: Job, names: Sequence[str], catalogs: Sequence[Catalog], found: Settled) -> str:
    """The bundle, what it comes to at each list, and what each list's own cheapest would come to at the others."""
    notes = [paragraph(text, label="NOTE") for text in _old(catalogs)]
    blocks = ["\n".join([sentences.head_lines(job, catalogs[0]), *notes])]
    if not found.bought:
        return "\n\n".join([*blocks, *_nothing(job, names, catalogs, found)]) + "\n"
    answer = told_of(job, catalogs, found)
    option = answer.options[0]
    blocks += ["\n".join(paragraph(text, indent=0) for text in said(names, catalogs, found)),
               _totals(names, catalogs, found), _own(names, found)]  # fmt: skip
    bundle = option.bundle
    parts = {**pieces_of(bundle), "panel": f"{pieces_of(bundle)['panel']}: {string_map(bundle)}"}
    lines = ["THE BUNDLE", table([[kind, part] for kind, part in parts.items() if kind != "rack"])]
    lines.append(table(tracker_rows(option), tracker_heads(job, option), "llrrr"))
    lines += [paragraph(text, label=f" {label}") for label, text in facts(answer, option) if label != "starter"]
    blocks.append("\n".join(lines))
    rests = rests_on(answer, option)
    blocks.append("\n".join(paragraph("; ".join(items), label=label) for label, items in rests.items() if items))
    blocks.append(cautions(answer))
    return "\n\n".join(blocks) + "\n"


def told_of(job: Job, catalogs: Sequence[Catalog], found: Settled) -> Answer:
    """The bundle at the list where it is dearest beside the cheapest, with the warnings of all lists but
    those that stand in the head, or in what a list's own cheapest comes to."""
    place = found.extras.index(found.worst)
    every = [problem for catalog in catalogs for problem in catalog.warnings]
    noted = [problem for problem in every if problem.kind.id not in (UNPRICED, *OLD_PRICES)]
    warnings = {warning_text(problem): problem for problem in noted}
    catalog = replace(catalogs[place], warnings=tuple(warnings.values()))
    pick = Pick(PROVEN, (found.bought[place].bundle,), (True,), Proof(0, found.solved, found.opened, None, 0.0))
    return audited(catalog, job, pick)


def _old(catalogs: Sequence[Catalog]) -> list[str]:
    """Of each list that it has old prices."""
    old = [problem for catalog in catalogs for problem in catalog.warnings if problem.kind.id in OLD_PRICES]
    return list(dict.fromkeys(map(warning_text, old)))


def said(names: Sequence[str], catalogs: Sequence[Catalog], found: Settled) -> list[str]:
    """How far off it is, that this is proven, and on which lists it is the cheapest there is."""
    worst, count = money(found.worst, catalogs[0].currency), len(names)
    if not found.worst:
        return [f"Proven: the bundle below is the cheapest on each of these {count} price lists."]
    first = (f"Proven: whichever of these {count} price lists holds, the bundle below costs at most {worst} more than "
             "the cheapest of that list, and no bundle has a smaller worst extra cost.")  # fmt: skip
    there = [name for name, extra in zip(names, found.extras, strict=True) if not extra]
    return [first, f"It is the cheapest on {' and '.join(there)}." if there else "It is the cheapest on none of them."]


def _days(catalog: Catalog) -> str:
    return sentences.price_span(catalog).removeprefix("prices ").removeprefix("of ")


def _totals(names: Sequence[str], catalogs: Sequence[Catalog], found: Settled) -> str:
    rows = []
    for name, catalog, each, there, extra in zip(
        names, catalogs, found.lists, found.bought, found.extras, strict=True
    ):  # fmt: skip
        assert each is not None  # there.cents too: it was bought
        note = CHEAPEST if not extra else WORST if extra == found.worst else ""
        rows.append([name, _days(catalog), plain_money(each.cents), plain_money(there.cents or 0),
                     plain_money(extra), note])  # fmt: skip
    heads = ["list", "prices of", "cheapest", "this one", f"extra {catalogs[0].currency}", ""]
    return table(rows, heads, "llrrrl")


def _own(names: Sequence[str], found: Settled) -> str:
    """What settling on a list's own cheapest bundle would come to at the worst."""
    rows = []
    winner = found.bought[0].bundle if found.bought else None
    for name, each in zip(names, found.lists, strict=True):
        assert each is not None  # nothing is compared where one list has no bundle
        if winner is not None and Shape.of(each.cheapest) == Shape.of(winner):
            rows.append([name, "this one", "", ""])
            continue
        worst, where = own_worst(names, found.lists, each)
        cells = ["-", where] if worst is None else [plain_money(worst), f"on {where}"]
        what = _short(each.cheapest) if winner is None else parts_changed(winner, each.cheapest)
        rows.append([name, what, *cells])
    heads = ["cheapest of", "is" if winner is None else "differs by", "worst extra", ""]
    return table(rows, heads, "llrl")


def own_worst(names: Sequence[str], lists: Sequence[OnList | None], each: OnList) -> tuple[int | None, str]:
    """The worst extra of a list's own cheapest bundle and the list of it; else None, and why and where it may not be
    bought."""
    found = extras(lists, each.own)
    if found is not None:
        return max(found), names[found.index(max(found))]
    name, there = next((n, b) for n, b in zip(names, each.own, strict=True) if b.cents is None)
    return None, f"{_refused(there)} on {name}"


def _refused(there: Bought) -> str:
    if there.unpriced:
        return f"{', '.join(there.unpriced)} cannot be had"
    return f"fails {', '.join(there.failing)}"


def _short(bundle: Bundle) -> str:
    pieces = pieces_of(bundle)
    return ", ".join(pieces[kind] for kind in ("converter", "panel", "battery"))


def _nothing(job: Job, names: Sequence[str], catalogs: Sequence[Catalog], found: Settled) -> list[str]:
    """That there is nothing to settle on, and at which lists."""
    bare = [name for name, each in zip(names, found.lists, strict=True) if each is None]
    if bare:
        rows = [[name, _days(catalog), "no bundle" if each is None else plain_money(each.cents)]
                for name, catalog, each in zip(names, catalogs, found.lists, strict=True)]  # fmt: skip
        text = (f"No bundle meets this job at {' and '.join(bare)}, so there is nothing to settle on. "
                f"borewatt pick {job.path.name} --prices FILE says why.")  # fmt: skip
        drawn = table(rows, ["list", "prices of", f"cheapest {catalogs[0].currency}"], "llr")
        return [ends("NOTHING TO COMPARE", "proven"), paragraph(text, indent=0), drawn]
    return [ends("NO BUNDLE CAN BE BOUGHT AT EVERY LIST", "proven"),
            paragraph("Each list has its bundles, but none that meets the job is to be had at all of them.", indent=0),
            _own(names, found)]  # fmt: skip


def settled_data(job: Job, names: Sequence[str], catalogs: Sequence[Catalog], found: Settled) -> dict[str, Any]:
    """The same for other programs: money as text with two decimals. ``bundles`` has the bundle as an answer has it, so
    that ``borewatt audit`` reads it, without what it is bought for."""
    data: dict[str, Any] = {
        "schema": SCHEMA, "job": job.title, "currency": catalogs[0].currency,
        "status": PROVEN if found.bought else "none",
        "worst": amount(found.worst) if found.bought else None,
        "warnings": _old(catalogs),
        "lists": [],
        "bundles": [],
    }  # fmt: skip
    for place, (name, catalog, each) in enumerate(zip(names, catalogs, found.lists, strict=True)):
        own = None
        if each is not None and each.own:
            worst, where = own_worst(names, found.lists, each)
            own = {"models": each.cheapest.models, "counts": each.cheapest.counts,
                   "worst": None if worst is None else amount(worst), "where": where}  # fmt: skip
        there = found.bought[place] if found.bought else None
        data["lists"].append({
            "list": name, "prices_as_of": list(sentences.price_dates(catalog)),
            "cheapest": None if each is None else amount(each.cents),
            "total": None if there is None or there.cents is None else amount(there.cents),
            "extra": amount(found.extras[place]) if there is not None else None,
            "own": own,
        })  # fmt: skip
    if found.bought:
        answer = told_of(job, catalogs, found)
        whole = bundle_data(answer, answer.options[0])
        data["bundles"].append({key: value for key, value in whole.items() if key not in BUYING})
    return data
