"""What to settle before buying: what nobody stated, what is not judged, and what was chosen without being asked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from optimizer.rules import load_figures, soft_start
from optimizer.vocabulary.motor_tables import USUAL_START
from optimizer.writing.words.figures import share

if TYPE_CHECKING:
    from optimizer.auditor.reading import Audit
    from optimizer.inputs.job import Job, Load
    from optimizer.rules.load_figures import LoadFigures


def to_settle(job: Job, judged: Audit) -> list[str]:
    """One sentence each, the worst first; each names the key that settles it."""
    pairs = list(zip(job.loads, judged.loads, strict=True))
    said = [*_cables(pairs)]
    said += [text for look in (_start_volts, _steadiness, _usual) for pair in pairs for text in look(*pair)]
    return [*said, *_bank(judged), *_chosen(job, judged), *_apparent(job, judged), _dull_weeks(job, judged)]


def _cables(pairs: Sequence[tuple[Load, LoadFigures]]) -> Iterator[str]:
    """The loads whose volts at the start nobody can judge."""
    unknown = [load.name for load, f in pairs if f.starts_hard and not f.driven and load.cable_drop is None]
    if unknown:
        cable, start = ("their cables are", "their starts") if len(unknown) > 1 else ("its cable is", "its start")
        yield f"{', '.join(unknown)}: {cable} not stated, so the volts at {start} are NOT judged; state cable_drop."


def _start_volts(load: Load, figures: LoadFigures) -> Iterator[str]:
    """What is known of the volts that a motor has while it starts."""
    if not figures.starts_hard:
        return
    if figures.driven:
        yield f"{load.name}: its drive sets a longest cable to the motor; ask the drive's maker."
    least, usual = load.start_volts_least, soft_start.least_volts(bool(figures.starter))
    if least is not None and least < usual and not figures.driven:
        yield (f"{load.name} is stated to start at {share(least)} of its volts, less than the usual {share(usual)}: "
               "start_volts_least must be its maker's figure.")  # fmt: skip


def _steadiness(load: Load, figures: LoadFigures) -> Iterator[str]:
    if load.starting == "none" and load_figures.is_motor(load):
        yield f"{load.name} is stated to start no harder than it runs; few motors do."


def _usual(_: Load, figures: LoadFigures) -> Iterator[str]:
    """A start that is far from what motors usually draw."""
    ratio = figures.direct_va / figures.motor_va if figures.motor_va else 0.0
    if figures.starts_hard and not USUAL_START[0] <= ratio <= USUAL_START[1]:
        yield (f"{figures.name} starts at {ratio:.1f} times its running amps; {USUAL_START[0]:g} to {USUAL_START[1]:g} "
               "are usual: measure both again.")  # fmt: skip


def _bank(judged: Audit) -> Iterator[str]:
    r_mohm = float(judged.bundle.battery["r_mohm"])
    if r_mohm != r_mohm and any(load.starts for load in judged.loads):
        part = judged.bundle.battery["part"]
        yield f"{part} states no r_mohm: how far the bank sags at a start is NOT judged; ask its maker."


def _chosen(job: Job, judged: Audit) -> Iterator[str]:
    """What was chosen though the job does not ask for it by name, and what hangs on it."""
    rack = judged.bundle.rack
    if rack is not None and job.space.mounts is None:
        yield f"The mount was chosen unasked: {rack['mount']}. State mounts if another is meant."
    if judged.bundle.tanks:
        yield "Frost, fittings, and the pump that lifts water out of a tank again are not counted."


def _apparent(job: Job, judged: Audit) -> Iterator[str]:
    """Loads without a motor whose VA are taken to be their W."""
    named = [
        load.name for load, figures in zip(job.loads, judged.loads, strict=True)
        if figures.power_factor_assumed and load.running.unit in ("W", "kW") and not load_figures.is_motor(load)
    ]  # fmt: skip
    if named:
        yield f"{', '.join(named)}: lamps and electronics may draw up to twice their W in VA; state running in VA."


def _dull_weeks(job: Job, judged: Audit) -> str:
    if judged.replay is not None:
        worst = judged.replay.worst
        of = "a typical year" if worst.year is None else f"{worst.year}"
        lacks = f"{worst.hours_short} h of {of} lack power" if worst.hours_short else f"No hour of {of} lacks power"
        return f"{lacks}, by the weather file; a worse year may come."
    days = job.need.autonomy_days
    said = f"{days:g} {'day' if days == 1 else 'days'} without sun"
    return f"{said} is a reserve against a dull day, not against a dull week."
