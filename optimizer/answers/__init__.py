"""One function a question, from a job and a catalogue to one object with all that is to be told, as data.

Commands and programs of one's own ask the same functions; :mod:`optimizer.writing` makes text, pages, JSON and CSV of
what they give. They are loaded when they are first asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:  # for whoever checks types; what is loaded goes by the homes below
    from optimizer.answers.changed_prices import price_changes
    from optimizer.answers.measured_load import measure
    from optimizer.answers.questions import afford, audit, least_regret, pick, refresh, why
    from optimizer.answers.replayed_bundles import replay
    from optimizer.answers.sun_on_plane import sun

_HOME = {
    "afford": "optimizer.answers.questions",
    "audit": "optimizer.answers.questions",
    "least_regret": "optimizer.answers.questions",
    "measure": "optimizer.answers.measured_load",
    "pick": "optimizer.answers.questions",
    "price_changes": "optimizer.answers.changed_prices",
    "refresh": "optimizer.answers.questions",
    "replay": "optimizer.answers.replayed_bundles",
    "sun": "optimizer.answers.sun_on_plane",
    "why": "optimizer.answers.questions",
}

__all__ = ["afford", "audit", "least_regret", "measure", "pick", "price_changes", "refresh", "replay", "sun", "why"]


def __getattr__(name: str) -> Any:  # whatever the name stands for in its home
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    return __all__
