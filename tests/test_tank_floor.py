"""What whole tanks cost at the least, against all sets of them tried out one by one."""

from __future__ import annotations

from itertools import combinations_with_replacement
from random import Random

import numpy as np
import pytest

from optimizer.costs.tank_bounds import cover


@pytest.mark.parametrize(
    ("need_l", "room", "cents"),
    [
        (2400.0, np.inf, 300),  # three of the small
        (2400.0, 2, 310),  # no room for three: the large one
        (3400.0, 2, 410),  # one of each
        (5000.0, 2, 620),
        (5001.0, 2, np.inf),
        (1.0, 0, np.inf),
    ],
)
def test_small_tanks_need_room(need_l: float, room: float, cents: float) -> None:
    assert cover(np.array([100.0, 310.0]), np.array([1000.0, 2500.0]), need_l, room) == cents


def tried(cents: list[float], litres: list[float], need_l: float, room: int) -> float:
    """The cheapest of all sets of at most ``room`` tanks."""
    sets = (chosen for pieces in range(room + 1) for chosen in combinations_with_replacement(range(len(cents)), pieces))
    holding = (chosen for chosen in sets if sum(litres[place] for place in chosen) >= need_l)
    return min((sum(cents[place] for place in chosen) for chosen in holding), default=np.inf)


def test_the_least_of_all_sets() -> None:
    draw = Random("tanks")
    bound = 0
    for _ in range(300):
        kinds = draw.randint(1, 4)
        litres = [float(draw.randint(1, 20)) for _ in range(kinds)]
        cents = [float(draw.randint(1, 50)) for _ in range(kinds)]
        need_l, room = float(draw.randint(1, 60)), draw.randint(1, 5)
        least = tried(cents, litres, need_l, room)
        assert cover(np.array(cents), np.array(litres), need_l, room) == least
        bound += least > cover(np.array(cents), np.array(litres), need_l)
    assert bound > 50  # the room matters
