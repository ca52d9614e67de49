"""``borewatt why``: why this bundle, what binds and what it costs, and what would change it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from optimizer.commands import failures, options, output
from optimizer.commands.exit_codes import ANSWERED, NOTHING_MEETS, STOPPED
from optimizer.commands.inputs import read_inputs
from optimizer.commands.progress import Progress


def why(
    job: options.Job,
    catalog: options.Catalog = None,
    prices: options.Prices = None,
    instead: Annotated[
        str | None, typer.Option("--not", metavar="PART|BUNDLE", help="Why not this part, or the bundle of this file.")
    ] = None,
    inputs: Annotated[
        list[str] | None,
        typer.Option("--input", metavar="KEY", help='What an input is worth: "bore pump.starting", "site.coldest".'),
    ] = None,
    must: options.Must = None,
    never: options.Never = None,
    json: options.Json = None,
    time_limit: options.TimeLimit = None,
    solver: options.Which = options.Solver.highs,
) -> None:
    """Explain the cheapest bundle: which limits bind, what each costs, and which prices and inputs would change it.

    Exit code 0: answered; 1: no bundle meets the job, said why; 2: the input is wrong; 3: stopped by the time limit
    before the cheapest bundle was proven.
    """
    with failures.guarded():
        output.check_target(json)
        wanted, parts = read_inputs(job, catalog, prices)

        from optimizer.answers.answer import audited
        from optimizer.bundles.bundle_file import read_bundle, split_rank
        from optimizer.candidates.requests import part_named, terms_of
        from optimizer.explain.explanation import beside_pick, bundle_instead, explain, part_instead
        from optimizer.explain.resolve import Resolver, Scenario
        from optimizer.explain.sensitivity import keys_of
        from optimizer.search import branch_and_bound
        from optimizer.writing.data.answer_json import document
        from optimizer.writing.text.pick import page
        from optimizer.writing.text.why import why_page

        keys = keys_of(wanted, inputs or ())
        terms = terms_of(parts, must or (), never or ())
        file = instead is not None and Path(split_rank(instead)[0]).is_file()
        bundle = read_bundle(instead, wanted, parts) if instead is not None and file else None
        part = part_named(parts, instead) if instead is not None and not file else None
        progress = Progress()
        resolver = Resolver(Scenario(wanted, parts, terms), solver.value, progress.deadline(time_limit), progress.say)
        try:
            found = branch_and_bound.pick(
                parts, wanted, 1, solver=solver.value, time_limit=time_limit, terms=terms, watch=progress,
                cache=resolver.cache,
            )  # fmt: skip
            if found.status != branch_and_bound.Status.PROVEN:
                told = beside_pick(resolver, found)
            elif part is not None:
                told = part_instead(resolver, found.bundles[0], *part)
            elif bundle is not None:
                told = bundle_instead(resolver, bundle)
            else:
                told = explain(resolver, found.bundles[0], keys)
        finally:
            progress.end()
        answer = audited(parts, wanted, found, told, terms)
        if json is not None and str(json) != "-":
            output.write_whole(json, document(answer))
        explained = found.status == branch_and_bound.Status.PROVEN
        text = document(answer) if str(json) == "-" else why_page(answer) if explained else page(answer)
        typer.echo(text, nl=False)
    if found.status == branch_and_bound.Status.NONE:
        raise typer.Exit(NOTHING_MEETS)
    raise typer.Exit(ANSWERED if explained else STOPPED)
