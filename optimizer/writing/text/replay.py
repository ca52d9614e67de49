"""The page of ``borewatt replay``: bundles side by side, each year on its own line, and what is said of each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimizer.rules.limits import LIMITS
from optimizer.writing.content.option import replay as replay_said
from optimizer.writing.content.verdict import parts
from optimizer.writing.words import sentences
from optimizer.writing.words.replay import YEAR_HEADS, every_year
from optimizer.writing.words.tables import bullet, ends, paragraph, table
from optimizer.writing.words.weather import sun_line

if TYPE_CHECKING:
    from optimizer.answers.replayed_bundles import ReplayedBundles
    from optimizer.auditor.reading import Audit


def replay_page(found: ReplayedBundles) -> str:
    """The whole page."""
    job, rows = found.job, []
    for each in found.audits:
        if each.replay is not None:
            for place, cells in enumerate(every_year(each.replay)):
                rows.append(["" if place else each.bundle.name, *cells])
    blocks = [sentences.head_lines(job, found.catalog), paragraph(sun_line(job), label="SUN")]
    blocks.append("\n".join(["REPLAY", table(rows, ["", *YEAR_HEADS], "llrrrrl")]))
    blocks += [_one(found, each) for each in found.audits]
    blocks.append("\n".join(["CAUTION", *(bullet(text) for text in sentences.CAUTIONS)]))
    return "\n\n".join(blocks) + "\n"


def _one(found: ReplayedBundles, each: Audit) -> str:
    """What is said of one bundle; that it fails a limit, too, which a replay does not judge."""
    fails = [name for name in LIMITS if any(r.limit == name and not r.holds for r in each.readings)]
    result = "meets every limit that can be judged" if not fails else f"FAILS {', '.join(fails)}"
    lines = [ends(each.bundle.name, ""), paragraph(parts(each.bundle), label=" parts")]
    said = replay_said(found.job, each)
    lines += [paragraph(text, label=" replay" if place == 0 else " ") for place, text in enumerate(said)]
    lines.append(paragraph(result, label=" audit"))
    return "\n".join(line.rstrip() for line in lines)
