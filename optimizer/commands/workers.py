"""Who solves the jobs of a folder: this process, several of its own, or those of a running Dask cluster.

The reading and the writing stay with the process that was started; a worker gets a job and a catalogue and gives back
a text. So the results are the same bytes whoever solved what.
"""

from __future__ import annotations

import logging
import os
import signal
from collections.abc import Generator, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing import active_children, get_context, parent_process
from pathlib import Path
from threading import Lock, Thread
from typing import Any

from catalog.reader import Catalog
from optimizer.answers import refresh
from optimizer.answers.refreshed_job import OldAnswer, Refreshed
from optimizer.bundles.kept_answer import read_kept, sealed
from optimizer.commands import failures, interrupts
from optimizer.inputs.job import Job
from optimizer.writing.data.answer_json import document

ANSWERS_WITHIN_S = 15  # a cluster's scheduler
QUIET = ("distributed", "distributed.client")  # their tracebacks; what they mean is said in our own words
EXTRA = "pip install 'borewatt[cluster]'"
Jobs = Sequence[tuple[str, "Task"]]  # the folder of the catalogue, and what is to be done
Results = Generator[tuple[int, "Result"], None, None]  # the place among the jobs, and what came of it


class LostError(Exception):
    """Who solves is gone, and jobs are left; what was finished is finished."""


@dataclass(frozen=True)
class Task:
    """One job to answer again. ``before``: the answer kept beside it; ``inputs``: what the new one rests on. ``page``:
    whether the answer is wanted as a page too."""

    job: Job
    options: int
    inputs: Mapping[str, object]
    before: OldAnswer | None = None
    page: bool = False


@dataclass(frozen=True)
class Result:
    """What a worker gives back: the answer to keep, its page where one is wanted, and what became of the job; or a
    fault of this tool in words."""

    text: str = ""
    page: str = ""
    outcome: Refreshed | None = None
    fault: str = ""


ONE_AT_A_TIME = Lock()  # the solver's banner is silenced for the whole process: no two jobs in threads of one


def solved(task: Task, catalog: Catalog) -> Result:
    """Answer one job; whatever goes wrong is said in the result and stops no other job."""
    try:
        with ONE_AT_A_TIME:
            found = refresh(task.job, catalog, task.before, task.options, explained=task.page)
        text = sealed(document(found.answer), task.inputs)
        page = ""
        if found.explained is not None:
            from optimizer.writing.html.render import answer_html

            page = answer_html(found.explained, seal=read_kept(text).seal)
        return Result(text, page, found.outcome)
    except Exception as error:
        interrupts.heed()
        return Result(fault=failures.fault_words(error))


def alone(jobs: Jobs, catalogs: Mapping[str, Catalog]) -> Results:
    """Solve one job after another in this process."""
    for place, (where, task) in enumerate(jobs):
        interrupts.heed()
        yield place, solved(task, catalogs[where])


# processes of this machine ---------------------------------------------------------------------------------------

_catalogs: dict[str, Catalog] = {}  # in a worker: every catalogue, handed over once


def _begin(catalogs: Mapping[str, Catalog]) -> None:
    """In a worker: keep the catalogues, leave interrupts to the process that was started, and end with it."""
    _catalogs.update(catalogs)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """A killed process cannot tell its workers to stop."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _here(where: str, task: Task) -> Result:
    return solved(task, _catalogs[where])


@contextmanager
def _interrupts_wait() -> Iterator[None]:
    """No interrupt comes while workers start, which inherit this: what would be lost comes afterwards."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def processes(jobs: Jobs, catalogs: Mapping[str, Catalog], workers: int) -> Results:
    """Solve jobs in several processes, each result as it comes. They end with this, however it ends."""
    needed = {where: catalogs[where] for where, _ in jobs}
    pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=_begin, initargs=(needed,))
    try:
        with _interrupts_wait():
            places = {pool.submit(_here, where, task): place for place, (where, task) in enumerate(jobs)}
        for future in as_completed(places):
            yield places[future], future.result()
    except BrokenProcessPool as error:
        raise LostError("A worker process ended before its time; perhaps there is too little memory.") from error
    except BaseException:
        for child in active_children():
            child.terminate()
        raise
    finally:
        pool.shutdown(cancel_futures=True)


# a cluster -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Tls:
    """Files for a connection that nobody else reads or takes part in, as the cluster's own library calls them. Where
    none is named, the library's own configuration counts."""

    ca_file: Path | None = None
    cert: Path | None = None
    key: Path | None = None

    def __bool__(self) -> bool:
        return bool(self.ca_file or self.cert or self.key)


PLAIN = Tls()


def cluster(jobs: Jobs, catalogs: Mapping[str, Catalog], address: str, tls: Tls = PLAIN) -> Results:
    """Solve jobs on the workers of a running Dask scheduler, each result as it comes.

    What passes between are pickles: whoever reaches the scheduler can run any code on all of it, and on who asks it.

    A job of a worker that is lost goes to another, and so does the catalogue: that is the scheduler's own doing. Where
    all are lost it waits for new ones; a job that has lost it several workers is given up and left for the next run.
    Raises :class:`LostError` at the end where any was.
    """
    try:
        from distributed import Client, KilledWorker
        from distributed import as_completed as completed
        from distributed.security import Security
    except ModuleNotFoundError as error:
        failures.refuse(f"--scheduler needs the package {error.name}, which is not installed.\n  Install it: {EXTRA}")
    for name in QUIET:
        logging.getLogger(name).setLevel(logging.CRITICAL)
    try:
        named = {"tls_ca_file": tls.ca_file, "tls_client_cert": tls.cert, "tls_client_key": tls.key}
        files = {name: str(path) for name, path in named.items() if path is not None}
        security = Security(require_encryption=True, **files) if tls else None
        client = Client(address, timeout=ANSWERS_WITHIN_S, set_as_default=False, security=security)
    # the library says so many different things of certificates that do not fit
    except (OSError, ValueError, TypeError, RuntimeError) as error:
        failures.refuse(f"--scheduler {address}: no scheduler answers there: {error}.\n"
                    "  Expected the address of a running one, such as tcp://localhost:8786.")  # fmt: skip
    futures: dict[Any, int] = {}  # the library may not be there, and brings no types
    gone = f"The scheduler at {address} went away."
    given_up = 0
    try:
        try:
            client.wait_for_workers(1, timeout=ANSWERS_WITHIN_S)
        except TimeoutError:
            failures.refuse(f"--scheduler {address}: no worker is there to solve.\n  Start one: dask worker {address}")
        folders = dict.fromkeys(where for where, _ in jobs)
        parts = {where: client.submit(_handed, catalogs[where], pure=False) for where in folders}
        for place, (where, task) in enumerate(jobs):
            futures[client.submit(solved, task, parts[where], pure=False)] = place
        for future in completed(list(futures), loop=client.loop):
            if future.status not in ("finished", "error"):
                raise LostError(gone)
            if future.status == "error" and isinstance(future.exception(), KilledWorker):
                given_up += 1
                continue
            yield futures[future], _result(future)
        if given_up:
            raise LostError(f"Workers of the cluster were lost over {given_up} of the jobs again and again; perhaps "
                            "there is too little memory.")  # fmt: skip
    except OSError as error:
        raise LostError(gone) from error
    finally:
        client.cancel(list(futures))
        client.close()


def _handed(catalog: Catalog) -> Catalog:
    """A catalogue as a task of its own: the scheduler can have it made again where its worker is lost."""
    return catalog


def _result(future: Any) -> Result:  # of a library that may not be there
    if future.status == "error":
        return Result(fault=f"on a worker of the cluster: {failures.fault_words(future.exception())}")
    result: Result = future.result()
    return result
