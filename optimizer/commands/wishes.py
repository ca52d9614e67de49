"""What pick and why may be asked beyond the job, from the command line to the terms of a search."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from optimizer.commands import edge
from optimizer.problems import closest

if TYPE_CHECKING:
    from catalog.reader import Catalog
    from optimizer.bundle import Bundle
    from optimizer.choices import Terms
    from optimizer.job import Job

Must = Annotated[
    list[str] | None,
    typer.Option("--must", metavar="PART[=N]", help="Only bundles with this part (in exactly this number)."),
]
Never = Annotated[list[str] | None, typer.Option("--never", metavar="PART", help="Only bundles without this part.")]
CHOSEN = ("converter", "panel", "battery", "rack")


def terms_of(
    catalog: Catalog, must: Sequence[str] | None, never: Sequence[str] | None, equal_strings: bool = False,
    most_sellers: int | None = None,
) -> Terms:  # fmt: skip
    """The terms; what names no part, or cannot be asked for, is refused."""
    from optimizer.choices import Terms

    asked: dict[str, tuple[str, int | None]] = {}
    for text in must or ():
        part, equals, number = text.partition("=")
        kind = kind_of(catalog, part, "--must")
        if kind not in CHOSEN:
            edge.refuse(f"--must {text}: {part} follows by rule from the other parts.\n"
                        "  Ask for a converter, a panel, a battery or a rack.")  # fmt: skip
        if equals and not (number.isascii() and number.isdigit() and int(number) > 0):
            edge.refuse(f"--must {text}: expected a whole number of pieces after \"=\".\n  For example {part}=2")
        if kind in asked and asked[kind][0] != part:
            edge.refuse(f"--must {part}: a bundle has one {kind}, and {asked[kind][0]} is asked for too.\n"
                        "  Leave out one of them.")  # fmt: skip
        asked[kind] = (part, int(number) if equals else None)
    for part in never or ():
        kind_of(catalog, part, "--never")
    both = {part for part, _ in asked.values()} & set(never or ())
    if both:
        edge.refuse(f"--never {min(both)}: the same part is asked for by --must.\n  Leave out one of the two.")
    return Terms(must=asked, never=frozenset(never or ()), equal_strings=equal_strings, most_sellers=most_sellers)


def kind_of(catalog: Catalog, part: str, option: str) -> str:
    """The kind of a part; a name that is none is refused."""
    for kind, table in catalog.tables.items():
        if table.index_of(part) is not None:
            return kind
    names = (str(name) for table in catalog.tables.values() for name in table.part)
    edge.refuse(f"{option} {part}: the catalogue has no such part.{suggestion(part, names)}")


def suggestion(name: str, known: Iterable[str]) -> str:
    """What may have been meant, as a sentence of its own; "" where nothing is like it."""
    near = closest(name, sorted(known))
    return f"\n  Did you mean {near}?" if near else ""


def inputs_of(job: Job, names: Sequence[str] | None) -> list[str]:
    """The dotted keys of inputs named on the command line; what names none is refused."""
    from optimizer.explain.inputs import full_key, known_inputs

    keys = []
    for name in names or ():
        key = full_key(job, name)
        if key is None:
            known = known_inputs(job)
            edge.refuse(f'--input "{name}": the job has no such input.{suggestion(name, known)}\n'
                        f"  Known: {', '.join(known)}.")  # fmt: skip
        keys.append(key)
    return keys


def named(catalog: Catalog, job: Job, text: str) -> tuple[str, str] | Bundle:
    """The part, as (kind, part), or the bundle that ``--not`` names: a bundle is a file, or ``FILE#RANK``."""
    if Path(text).is_file() or Path(text.rpartition("#")[0] or text).is_file():
        from optimizer.offer import read_bundle

        return read_bundle(text, job, catalog)
    kind = kind_of(catalog, text, "--not")
    if kind not in CHOSEN:
        edge.refuse(f"--not {text}: it follows by rule from the other parts.\n"
                    "  Ask about a converter, a panel, a battery, a rack, or the file of a bundle.")  # fmt: skip
    return kind, text
