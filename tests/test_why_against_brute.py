"""What an explanation says of limits, against an independent brute force: which of them bind, what each costs, the
smallest proof and the near misses.

The brute force (tests/brute) reads the files itself and shares no code with the product. A key of the job is typed
into its file for it; a limit loosened in thought is loosened there by the same amount.
"""

from __future__ import annotations

import pytest

from tests.why_helpers import groups, name_of

SEEDS = 335  # two hundred and more of them have a bundle
GROUPS = pytest.mark.parametrize("seeds", groups(SEEDS), ids=name_of)
