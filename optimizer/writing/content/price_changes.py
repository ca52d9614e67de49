"""What is said of changed prices in text and data alike."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from optimizer.answers.price_changes import PriceMove


def touched(moves: Sequence[PriceMove]) -> list[str]:
    """The jobs that any move touches."""
    return sorted({job for move in moves for job in move.jobs})
