"""What it adds to reach a sum at one seller, against all ways to buy tried out one by one."""

from __future__ import annotations

from itertools import product
from random import Random

import numpy as np
import pytest

from optimizer.order_floor import made_up


@pytest.mark.parametrize(
    ("missing", "adds"),
    [
        (0.0, 0.0),
        (50.0, 0.0),  # what is cheapest there anyway
        (60.0, 2.0),  # a tenth of what costs 100 there and 80 elsewhere
        (150.0, 20.0),
        (160.0, 30.0),  # and ten cents on what nobody needs
    ],
)
def test_by_hand(missing: float, adds: float) -> None:
    assert made_up(missing, np.array([100.0, 50.0, np.inf]), np.array([80.0, 50.0, 7.0])) == pytest.approx(adds)


def test_no_way_to_buy_adds_less() -> None:
    """Parts of two sellers in whole pieces, spare ones too: the cheapest that spends enough at the first."""
    draw = Random("orders")
    added, met = 0, 0
    for _ in range(200):
        parts = [(draw.randint(1, 3), draw.randint(5, 40), draw.randint(5, 40)) for _ in range(draw.randint(1, 3))]
        wanted = draw.randint(1, 150)
        totals = []
        for here in product(*(range(pieces + 8) for pieces, _, _ in parts)):
            spent = sum(count * price for count, (_, price, _) in zip(here, parts, strict=True))
            elsewhere = sum(max(n - count, 0) * other for count, (n, _, other) in zip(here, parts, strict=True))
            if spent >= wanted:
                totals.append(spent + elsewhere)
        if not totals:
            continue
        there = np.array([float(n * price) for n, price, _ in parts])
        least = np.array([float(n * min(price, other)) for n, price, other in parts])
        floor = float(least.sum()) + made_up(wanted, there, least)
        assert floor <= min(totals) + 1e-9
        added += floor > least.sum()
        met += floor == pytest.approx(min(totals))
    assert added > 100
    assert met > 20
