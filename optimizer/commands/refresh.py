"""``borewatt refresh``: answer a folder of jobs again, and say what new prices did to each."""

from __future__ import annotations

import os
from collections import Counter
from contextlib import closing
from os.path import realpath
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from optimizer.commands import failures, inputs, interrupts, options, output
from optimizer.commands.exit_codes import ANSWERED, INTERRUPTED, NOTHING_MEETS, STOPPED, WRONG_INPUT
from optimizer.commands.progress import Progress

if TYPE_CHECKING:
    from optimizer.answers.refreshed_job import JobReport


def refresh(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Every job below it is answered again.")],
    catalog: options.Catalog = None,
    prices: options.Prices = None,
    distinct: Annotated[int, typer.Option("--options", min=1, metavar="K", help="Distinct bundles to keep.")] = 1,
    workers: Annotated[int, typer.Option(min=1, metavar="N", help="Processes that solve side by side.")] = 1,
    scheduler: Annotated[
        str | None, typer.Option(metavar="ADDRESS", help="Solve on a running Dask cluster instead.")
    ] = None,
    tls_ca_file: Annotated[
        Path | None, typer.Option(metavar="FILE", help="With --scheduler: certificate of who signed the cluster's.")
    ] = None,
    tls_cert: Annotated[Path | None, typer.Option(metavar="FILE", help="With --scheduler: own certificate.")] = None,
    tls_key: Annotated[Path | None, typer.Option(metavar="FILE", help="With --scheduler: the key to it.")] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Tell what would change, and write no answer.")] = False,
    json: Annotated[
        Path | None, typer.Option("--json", metavar="PATH", help='Write what is told as JSON ("-": print only that).')
    ] = None,
    sheet: Annotated[
        Path | None,
        typer.Option(
            "--page",
            metavar="FILE.html",
            help="Write what is told as a page, and beside each answer that answer as a page.",
        ),
    ] = None,
    max_age: options.MaxAge = None,
    on: options.On = None,
    strict_dates: options.StrictDates = False,
) -> None:
    """Answer every job below a folder again, keep each answer beside its job, and tell what became of it.

    JOB.answer.json is kept beside JOB.toml, and with --page JOB.answer.html. A job whose answer still rests on the same
    job and catalogue is left as it is, so that an interrupted run goes on where it stopped.

    Exit code 0: every job has a bundle; 1: nothing meets some job; 2: the input of some job is wrong; 3: the workers
    are lost; 130: interrupted; 70: a fault of the tool itself. What was finished is kept.
    """
    with failures.guarded():
        outputs = output.Outputs(sheet, json=json)
        age = inputs.max_age(max_age, on, strict_dates)
        if scheduler is None and (tls_ca_file or tls_cert or tls_key):
            failures.refuse("--tls-ca-file, --tls-cert, --tls-key: they are for a cluster.\n"
                            "  Name it with --scheduler tls://HOST:PORT, or leave them out.")  # fmt: skip
        inputs.need_folder(folder, "your jobs lie below")

        from optimizer.answers.refreshed_job import JobReport, RefreshedFolder
        from optimizer.commands import workers as solvers
        from optimizer.commands.job_folder import (
            Catalogs,
            Given,
            clear,
            given,
            jobs_below,
            pages_from,
            refused_targets,
            write_answer,
        )  # fmt: skip
        from optimizer.writing.data.refresh_json import report_data
        from optimizer.writing.html.jobs import report_html
        from optimizer.writing.text.refresh import bar, report
        from optimizer.writing.words.json_figures import json_text

        found = jobs_below(folder)
        if not found.jobs and not found.shut:
            failures.refuse(f"{folder}: there is no job below it, and {found.others} other .toml files.\n"
                        "  Expected .toml files with a [site] and a [[load]]; borewatt new makes one.")  # fmt: skip
        if sheet is not None and realpath(sheet) in {realpath(file.page) for file in found.jobs}:
            failures.refuse(f"{sheet}: the page of a job itself is written there.\n  Name another file.")
        kept = [path for file in found.jobs for path in (file.path, file.answer, file.page)]
        outputs.spare([*kept, *([prices] if prices is not None else [])])
        if not dry_run:
            clear(found)
        catalogs = Catalogs(catalog, prices, age)
        told: dict[str, JobReport] = {each.file: each for each in found.shut}
        tasks: list[Given] = []
        written, cut, code = 0, "", ANSWERED
        progress = Progress()
        try:
            for file in found.jobs:
                try:
                    ready = given(file, catalogs, distinct, sheet is not None and not dry_run)
                except Exception as error:  # a fault of one job stops no other
                    ready = JobReport(file.file, file.name, fault=failures.fault_words(error))
                interrupts.heed()
                if isinstance(ready, Given):
                    tasks.append(ready)
                else:
                    told[file.file] = ready
            read = [path for where in catalogs.read for path in inputs.catalog_paths(Path(where), prices)]
            outputs.spare(read)
            if not dry_run:
                taken = [*(file.path for file in found.jobs), *read, *outputs.paths]
                refused = refused_targets(folder, tasks, taken)
                for each in (task for task in tasks if task.file.file in refused):
                    problem = refused[each.file.file]
                    told[each.file.file] = JobReport(each.file.file, each.file.name, each.task.job, problems=(problem,))
                tasks = [each for each in tasks if each.file.file not in refused]
            jobs = [(each.catalog, each.task) for each in tasks]
            if scheduler is not None:
                results = solvers.cluster(jobs, catalogs.read, scheduler, solvers.Tls(tls_ca_file, tls_cert, tls_key))
            elif workers > 1 and len(jobs) > 1:
                results = solvers.processes(jobs, catalogs.read, min(workers, len(jobs)))
            else:
                results = solvers.alone(jobs, catalogs.read)
            with closing(results):
                for place, result in results:
                    file = tasks[place].file
                    mine = JobReport(file.file, file.name, tasks[place].task.job, result.outcome, fault=result.fault)
                    if not result.fault:
                        mine = mine if dry_run else write_answer(folder, mine, file, result.text, result.page)
                        written += not mine.problems
                    told[file.file] = mine
                    progress.bar(bar(len(told), len(found.jobs), Counter(each.status for each in told.values())))
        except KeyboardInterrupt:
            cut, code = "Interrupted.", INTERRUPTED
        except solvers.LostError as error:
            cut, code = str(error), STOPPED
        finally:
            progress.end()
        lines = [told[name] for name in sorted(told)]
        left = len(found.jobs) + len(found.shut) - len(lines)
        whole = RefreshedFolder(
            os.fspath(folder), tuple(lines), tuple(catalogs.read.values()), found.others, written, dry_run, left
        )  # fmt: skip
        data = report_data(whole)
        outputs.say(json_text(data) if outputs.bare else report(whole))
        if not cut:
            outputs.write(outputs.json, json_text(data))
        if sheet is not None and not cut:
            pages = {} if dry_run else pages_from(sheet, found.jobs, lines)
            outputs.write(sheet, report_html(whole, pages))
        if cut:
            failures.refuse(f"{cut} What was finished is kept; run it again to go on.", code)
        outputs.end()
    raise typer.Exit(_code(lines))


def _code(lines: list[JobReport]) -> int:
    """What weighs most of all jobs: a fault, wrong input, a job that nothing meets."""
    if any(each.fault for each in lines):
        return failures.FAULT
    from optimizer.answers.refreshed_job import JobStatus

    statuses = {each.status for each in lines}
    return WRONG_INPUT if JobStatus.WRONG in statuses else NOTHING_MEETS if JobStatus.LOST in statuses else ANSWERED
