"""The types of a rule's figures: one number, or an array of them over parts or months, which a rule serves alike.

In a signature ``Figure`` says which of the two goes in and comes out; where ``Figure | float`` stands beside it, one
number may serve the whole array.
"""

from __future__ import annotations

from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Figure = TypeVar("Figure", float, Array)


def where(met: Mask | bool, then: Array | float, other: Array | float) -> Any:  # numpy's types know only arrays here
    """``then`` where something is met, else ``other``: a number of numbers, an array where any of them is one."""
    return np.where(met, then, other)[()]
