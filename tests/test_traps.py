"""The traps of the trade in the shipped catalogue: each part looks cheap until one limit is asked of it.

For each there is a job in which the part is in the cheapest bundle once that limit is left out, or once the one
figure that makes the trap is mended in a copy of the catalogue, and is not in it otherwise. The bundle it would win
with is then held against every limit: the trap's limit is the only one it breaks. All jobs are invented.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import pytest

from catalog.reader import Catalog
from optimizer.candidates.terms import SearchTerms
from optimizer.inputs.job_reader import read_job
from optimizer.search.branch_and_bound import pick
from tests.trap_helpers import broken, mended_copy

HATCHERY = """\
title = "Trout hatchery in a cold valley"
[site]
coldest = "-5 degC"
hottest = "33 degC"
sun_hours = [4.2, 4.6, 5.2, 5.6, 5.9, 6.1, 6.2, 6.0, 5.5, 4.9, 4.3, 4.2]
bank_coldest = "-15 degC"        # the bank stands in the ice house
[supply]
kind = "230"
hz = 50
[[load]]
name = "spring pump"
voltage = "230 V"
running = "1500 W"
power_factor = 1.0
starting = "19.5 A"
energy_per_day = "5 kWh"
daytime = 0.6
[[load]]
name = "lamps"
voltage = "230 V"
running = "200 W"
starting = "none"
energy_per_day = "1 kWh"
[space]
mounts = ["ground-ballast"]
[allow]
chemistries = ["lfp"]
"""

ORCHARD = """\
title = "Orchard bore that runs an hour a day and starts hard"
[site]
coldest = "2 degC"
hottest = "36 degC"
sun_hours = 5.0
bank_coldest = "5 degC"
[supply]
kind = "230"
hz = 50
[[load]]
name = "bore pump"
voltage = "230 V"
running = "2200 W"
power_factor = 1.0
starting = "57 A"
energy_per_day = "3 kWh"
daytime = 0.6
[[load]]
name = "packing shed lights"
voltage = "230 V"
running = "200 W"
starting = "none"
energy_per_day = "1 kWh"
[space]
mounts = ["ground-ballast"]
[allow]
chemistries = ["lfp", "other"]
"""

LODGE = """\
title = "Woodland lodge"
[site]
coldest = "23 degF"
hottest = "97 degF"
sun_hours = 3.2
bank_coldest = "23 degF"
[supply]
kind = "120/240"
[[load]]
name = "well pump"
voltage = "240 V"
running = "7.5 A"
starting = "22.5 A"
energy_per_day = "5 kWh"
daytime = 0.6
[[load]]
name = "lights"
voltage = "120 V"
running = "200 W"
starting = "none"
energy_per_day = "1 kWh"
[allow]
chemistries = ["lfp"]
"""

VINEYARD = """\
title = "Vineyard well under a winter sky"
[site]
coldest = "-22 degC"
hottest = "36 degC"
sun_hours = 3.2
bank_coldest = "5 degC"
[supply]
kind = "230"
hz = 50
[[load]]
name = "drip pump"
voltage = "230 V"
running = "1000 W"
power_factor = 1.0
starting = "13 A"
energy_per_day = "8 kWh"
daytime = 0.6
[[load]]
name = "press house lights"
voltage = "230 V"
running = "200 W"
starting = "none"
energy_per_day = "1 kWh"
[space]
mounts = ["ground-ballast"]
[allow]
chemistries = ["lfp"]
"""

DAIRY = """\
title = "Cheese dairy with a well"
[site]
coldest = "36 degF"
hottest = "97 degF"
sun_hours = 3.0
bank_coldest = "41 degF"
[supply]
kind = "120/240"
[[load]]
name = "well pump"
voltage = "240 V"
running = "6.25 A"
starting = "18.8 A"
energy_per_day = "6 kWh"
daytime = 0.6
[[load]]
name = "ripening room lights"
voltage = "120 V"
running = "200 W"
starting = "none"
energy_per_day = "1 kWh"
[space]
mounts = ["ground-ballast"]
[allow]
chemistries = ["lfp"]
"""

GOATS = """\
title = "Goat farm at the end of the road"
[site]
coldest = "-12 degC"
hottest = "36 degC"
sun_hours = 5.0
bank_coldest = "5 degC"
[supply]
kind = "230"
hz = 50
[[load]]
name = "trough pump"
voltage = "230 V"
running = "1800 W"
power_factor = 1.0
starting = "39 A"
energy_per_day = "8 kWh"
daytime = 0.6
[[load]]
name = "milking parlour lights"
voltage = "230 V"
running = "200 W"
starting = "none"
energy_per_day = "1 kWh"
"""

FISHING_CABIN = """\
title = "Fishing cabin on a lake"
[site]
coldest = "-8 degF"
hottest = "97 degF"
sun_hours = 5.0
bank_coldest = "41 degF"
[supply]
kind = "120/240"
[[load]]
name = "lake pump"
voltage = "240 V"
running = "1000 W"
power_factor = 1.0
starting = "20.8 A"
energy_per_day = "11 kWh"
daytime = 0.6
[[load]]
name = "lights"
voltage = "120 V"
running = "200 W"
starting = "none"
energy_per_day = "1 kWh"
[space]
mounts = ["ground-post"]
"""

SCHOOL = """\
title = "Village school in the hills"
[site]
coldest = "-24 degC"
hottest = "31 degC"
sun_hours = [5.0, 5.1, 5.4, 5.6, 5.8, 5.9, 6.0, 5.9, 5.6, 5.3, 5.1, 5.0]
bank_coldest = "6 degC"
[supply]
kind = "120/240"
[[load]]
name = "cistern pump"
voltage = "240 V"
running = "1050 W"
power_factor = 1.0
starting = "21 A"
energy_per_day = "7 kWh"
daytime = 0.6
[[load]]
name = "classroom lights"
voltage = "120 V"
running = "240 W"
starting = "none"
energy_per_day = "1.2 kWh"
[space]
mounts = ["ground-post", "roof"]
"""


@dataclass(frozen=True)
class Trap:
    """One trap: the part, a job it would win, the limits that keep it out (any of them), and how they fall away.

    With ``mended`` the converter's figures are changed in a copy of the catalogue; else the one limit is left out.
    """

    name: str
    part: str
    job: str
    limits: frozenset[str]
    mended: dict[str, str] = field(default_factory=dict)


TRAPS = (
    Trap("small peak current of a battery", "bt-48-100-p", HATCHERY, frozenset({"starting-current"})),
    Trap("surge of 20 ms", "cv-5k-230-ms", ORCHARD, frozenset({"starting-surge"})),
    Trap("one tracker of low voltage", "cv-5k-split-lv", LODGE, frozenset({"cold-voltage"})),
    Trap("too wide for most racks", "pn-640-w", VINEYARD, frozenset({"mounting-fit"})),
    Trap("short-circuit current", "pn-545-hc", DAIRY, frozenset({"tracker-current"})),
    Trap("high idle draw", "cv-6k-230-id", GOATS, frozenset({"daily-energy", "night-energy", "autonomy"}),
         {"idle_w": "34"}),
    Trap("two units needed", "cv-3k5-120", FISHING_CABIN, frozenset({"service"}), {"units_120_240": "1"}),
    Trap("charger that cannot be set", "cv-6k-split-fx", SCHOOL, frozenset({"charge-limit"})),
)  # fmt: skip


@pytest.mark.parametrize("trap", TRAPS, ids=lambda trap: trap.name)
def test_a_trap_wins_only_without_its_limit(trap: Trap, shipped: Catalog, tmp_path: Path) -> None:
    job_path = tmp_path / "job.toml"
    job_path.write_text(trap.job, encoding="utf-8")
    job = read_job(job_path)
    if trap.mended:
        (tmp_path / "mended").mkdir()
        easy = pick(mended_copy(tmp_path / "mended", {trap.part: trap.mended}), job, 1)
    else:
        easy = pick(shipped, job, 1, terms=SearchTerms(without=trap.limits))
    true = pick(shipped, job, 1)
    assert true.status == easy.status == "proven"
    best, lured = true.bundles[0], easy.bundles[0]
    assert best.order is not None
    assert lured.order is not None
    assert trap.part in lured.models.values()
    assert trap.part not in best.models.values()
    assert lured.order.cents < best.order.cents
    failing = broken(job, lured, shipped)
    assert failing, "the bundle it wins with breaks nothing"
    assert failing <= trap.limits
    assert not broken(job, best, shipped)
