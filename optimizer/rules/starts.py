"""The cases of a start: how hard each is and how long it lasts, with all else running."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.rules.load_figures import LoadFigures


@dataclass(frozen=True)
class StartCase:
    """What one start asks of the converter (``va``) and the bank (``w``) for ``seconds``; ``load`` names it."""

    load: str
    va: float
    w: float
    seconds: float


def start_cases(loads: tuple[LoadFigures, ...], restart: str) -> tuple[StartCase, ...]:
    """What may have to start while everything runs: one load at a time when staggered, else all together."""
    starting = [load for load in loads if load.starts]
    if not starting:
        return ()
    if restart == "together":
        va = sum(load.count * load.start_va for load in loads)
        watts = sum(load.count * load.start_w for load in loads)
        return (StartCase("all together", va, watts, max(load.start_s for load in starting)),)
    running_va = sum(load.count * load.running_va for load in loads)
    running_w = sum(load.count * load.running_w for load in loads)
    return tuple(
        StartCase(
            load.name,
            running_va + load.start_va - load.running_va,
            running_w + load.start_w - load.running_w,
            load.start_s,
        )
        for load in starting
    )
