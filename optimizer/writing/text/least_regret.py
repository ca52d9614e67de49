"""The bundle to settle on over several price lists, as plain text."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from catalog.part_kinds import NEEDED
from optimizer.bundles.kept_answer import BundleShape
from optimizer.writing.content.least_regret import CHEAPEST, WORST, old_prices, own_worst, said
from optimizer.writing.content.option import facts, rests_on, tracker_heads, tracker_rows
from optimizer.writing.text.pick import cautions
from optimizer.writing.words import sentences
from optimizer.writing.words.figures import plain_money
from optimizer.writing.words.phrases import parts_changed, pieces_of, string_map
from optimizer.writing.words.tables import ends, paragraph, table

if TYPE_CHECKING:
    from catalog.reader import Catalog
    from optimizer.answers.minimax_regret import LeastRegretAnswer, Settled
    from optimizer.bundles.bundle import Bundle
    from optimizer.inputs.job import Job


def settled_page(told: LeastRegretAnswer) -> str:
    """The bundle, what it comes to at each list, and what each list's own cheapest would come to at the others."""
    job, names, catalogs, found, answer = told.job, told.names, told.catalogs, told.settled, told.shown
    notes = [paragraph(text, label="NOTE") for text in old_prices(catalogs)]
    blocks = ["\n".join([sentences.head_lines(job, catalogs[0]), *notes])]
    if answer is None:
        return "\n\n".join([*blocks, *_nothing(job, names, catalogs, found)]) + "\n"
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
        if winner is not None and BundleShape.of(each.cheapest) == BundleShape.of(winner):
            rows.append([name, "this one", "", ""])
            continue
        worst, where = own_worst(names, found.lists, each)
        cells = ["-", where] if worst is None else [plain_money(worst), f"on {where}"]
        what = _short(each.cheapest) if winner is None else parts_changed(winner, each.cheapest)
        rows.append([name, what, *cells])
    heads = ["cheapest of", "is" if winner is None else "differs by", "worst extra", ""]
    return table(rows, heads, "llrl")


def _short(bundle: Bundle) -> str:
    pieces = pieces_of(bundle)
    return ", ".join(pieces[kind] for kind in NEEDED)


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
