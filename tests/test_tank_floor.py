"""What whole tanks cost at the least, against all sets of them tried out one by one."""

from __future__ import annotations

from itertools import combinations_with_replacement
from random import Random

import numpy as np
import pytest

from optimizer.costs.tank_bounds import a_piece, cover, pieces_at_most


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


@pytest.mark.parametrize(
    ("most", "cents"),
    [
        (1, 950.0),  # ten at 95 are bought for the one that counts
        (4, 237.5),
        (10, 95.0),
        (12, 95.0),
    ],
)
def test_a_price_from_ten_up_is_none_for_one(most: int, cents: float) -> None:
    assert a_piece(np.array(95.0), np.array(10.0), np.array(most)) == pytest.approx(cents, abs=1 / 1024)


def test_pieces_that_count_cost_no_more_than_what_is_bought() -> None:
    """Whatever is bought by one offer, of which some count."""
    draw, tight = Random("a piece"), 0
    for _ in range(300):
        price, least, most = float(draw.randint(1, 99)), draw.randint(1, 12), draw.randint(1, 8)
        each = float(a_piece(np.array(price), np.array(float(least)), np.array(float(most))))
        for bought in range(least, least + 12):
            counts = min(bought, most)
            assert counts * each <= bought * price
            tight += counts * each > bought * price - 0.1
    assert tight > 300


def test_no_more_tanks_count_than_hold_what_is_asked_or_than_there_is_room_for() -> None:
    litres, asked = np.array([1000.0, 2500.0, 400.0]), np.array([0.0, 2.0, 0.0])
    assert pieces_at_most(litres, 2400.0, np.inf, asked).tolist() == [3, 2, 6]
    assert pieces_at_most(litres, 2400.0, 2, asked).tolist() == [2, 2, 2]
    assert pieces_at_most(litres, 0.0, 2, np.zeros(3)).tolist() == [1, 1, 1]
