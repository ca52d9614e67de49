"""More traps of the shipped catalogue: motors and starters, hot and cold banks, hot roofs, fuses, drives, tanks.

As in ``tests/test_traps.py``: a part is in the cheapest bundle of a job without one rule, and not with it, and the
bundle it would win with breaks that rule's limits alone. A rule is taken away in one of four ways: its limit is left
out, a figure is mended in a copy of the catalogue, a constant of the rule is put back to what it was, or the job says
what it does not. All jobs are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from catalog.reader import Catalog
from optimizer.bundles.bundle import Bundle
from optimizer.candidates.terms import PLAIN, SearchTerms
from optimizer.inputs.job import Job
from optimizer.inputs.job_reader import read_job
from optimizer.rules import bank, load_figures, soft_start, strings
from optimizer.search.branch_and_bound import pick
from tests.trap_helpers import Mended, broken, mended_copy, parts_of

SITE = {"coldest": "-2 degC", "hottest": "38 degC", "bank_coldest": "8 degC"}
LFP = '[allow]\nchemistries = ["lfp"]'
LEAD_ACID = '[allow]\nchemistries = ["agm", "gel", "flooded"]'
NO_GEL = '[allow]\nchemistries = ["agm", "flooded"]'
FLOODED = '[allow]\nchemistries = ["flooded"]'
GROUND = '[space]\nmounts = ["ground-ballast", "ground-post"]'
ROOF_OR_YARD = '[space]\nmounts = ["roof", "ground-ballast"]'


def farm(load: str, after: str = "", **site: str) -> str:
    """A job at 230 V and 50 Hz with one pump; ``load`` are lines of the pump, ``after`` tables that follow it."""
    place = "\n".join(f'{key} = "{value}"' for key, value in {**SITE, **site}.items())
    return (
        f'title = "A pump"\n[site]\n{place}\nsun_hours = 5.0\n[supply]\nkind = "230"\nhz = 50\n'
        f'[[load]]\nname = "pump"\nvoltage = "230 V"\n{load}\n{after}\n'
    )


def pump(running_w: int, starting_va: int, kwh: float, *lines: str, factor: str = "power_factor = 1.0") -> str:
    """The lines of a pump; ``factor`` is left empty for one whose job states no power factor."""
    figures = (f'running = "{running_w} W"', f'starting = "{starting_va} VA"', f'energy_per_day = "{kwh} kWh"')
    return "\n".join((*figures, "daytime = 0.6", *filter(None, (factor,)), *lines))


THREE_PHASE = 'motor = "three-phase"'
PSC = 'motor = "psc"'
OF_THREE = "power_factor = 0.85"
WATER = """\
running = "1500 W"
power_factor = 1.0
starting = "6000 VA"
water_per_day = "2000 L"
flow = "40 L/min"
"""


def without_idle(
    watts: float, reserve: float, efficiency: float, idle_w: float, lowest_v: float,
    rule: Callable[..., float] = bank.bank_current,
) -> float:  # fmt: skip
    """A out of the bank with the idle draw left out, as it once was."""
    return rule(watts, reserve, efficiency, 0.0 * idle_w, lowest_v)


@dataclass(frozen=True)
class Trap:
    """One trap: the part, a job it would win, the limits that keep it out, and one way to take the rule away.

    ``left_out``: the limits are left out. ``mended``: cells of parts by column. ``put_back``: a module, a name in it
    and what it was. ``easier``: a text of the job and what stands in its place.
    """

    name: str
    part: str
    job: str
    limits: frozenset[str]
    left_out: bool = False
    mended: Mended = field(default_factory=dict)
    put_back: tuple[object, str, object] | None = None
    easier: tuple[str, str] | None = None


TRAPS = (
    # -18 degC where the bank stands; drained to 75 % its acid freezes at -15
    Trap("acid that freezes", "bt-6-390-fl",
         farm(pump(700, 2800, 2), LEAD_ACID, coldest="-18 degC", bank_coldest="-18 degC"),
         frozenset({"bank-freeze"}), left_out=True),
    # 47 degC in the shed; it may be charged up to 45
    Trap("too hot to charge", "bt-24-280-lfp", farm(pump(700, 2800, 4), bank_hottest="47 degC"),
         frozenset({"bank-heat"}), left_out=True),
    # (11,270 x 1.25 / 0.90 + 130) / 44.8 = 352.3 A of 350; without the idle draw 349.4
    Trap("idle draw in the bank's amps", "bt-48-200-lfp",
         farm(pump(2200, 11270, 3), f"{LFP}\n[on_hand]\ncv-6k-230-id = 1"),
         frozenset({"starting-current"}), put_back=(bank, "bank_current", without_idle)),
    Trap("resistance of an old bank", "bt-6-390-fl", farm(pump(1200, 4800, 3), FLOODED),
         frozenset({"bank-sag"}), put_back=(bank, "AGED_AND_COLD", 1.0)),
    # at 0 degC it has 70 % of its capacity, not 75
    Trap("lead-acid in the cold", "bt-12-150-agm", farm(pump(700, 2800, 5), NO_GEL, bank_coldest="0 degC"),
         frozenset({"night-energy"}), mended={"bt-12-150-agm": {"capacity_pct_per_c": "1.0"}}),
    Trap("power lost on hot metal", "rk-roof-tin", farm(pump(700, 2800, 5), ROOF_OR_YARD),
         frozenset({"daily-energy"}), mended={"rk-roof-tin": {"heat_c": "0"}}),
    Trap("volts lost on a hot roof", "rk-roof-l", farm(pump(1500, 6000, 5), ROOF_OR_YARD),
         frozenset({"hot-voltage"}), mended={"rk-roof-l": {"heat_c": "0"}}),
    # 2 x 41.2 V x (1 - 0.0050 x 48.25) x 0.97 = 60.6 V of 62
    Trap("volts that fall fast in heat", "pn-530-fv", farm(pump(2200, 8800, 2), GROUND, hottest="42 degC"),
         frozenset({"hot-voltage"}), mended={"pn-530-fv": {"vmp_pct_per_c": "-0.36"}}),
    # three strings of 9.58 A ask 14.97 A: 15 A in one list of ratings, 16 A in the other, and 15 A is the panel's most
    Trap("no fuse of 15 A", "cv-5k-230-lv", farm(pump(2200, 8800, 5), "[on_hand]\npn-285-n = 9"),
         frozenset({"fuse-fits"}), put_back=(strings, "IEC_HZ", 0)),
    # 1,400 W / 0.7 x 1.25 = 2,500 VA of 2,400
    Trap("watts that are taken for VA", "cv-2k4-230-24", farm(pump(1400, 5600, 4, factor="")),
         frozenset({"running-apparent"}), put_back=(load_figures, "MOTOR_POWER_FACTOR", 0.8)),
    Trap("a drive's own losses", "pn-420-n", farm(pump(1600, 9412, 3, THREE_PHASE, factor=OF_THREE)),
         frozenset({"daily-energy"}), mended={"st-drive-10": {"efficiency_pct": "100"}}),
    # 3,000 W / 0.89 / 0.52 x 1.25 = 8,103 VA of 5,000
    Trap("a drive's VA", "st-drive-16", farm(pump(3000, 17647, 3, THREE_PHASE, factor=OF_THREE)),
         frozenset({"running-apparent"}), mended={"st-drive-16": {"input_power_factor": "1"}}),
    # it leaves 0.58 x 0.85 = 49 % of the volts, the tap 0.65 x 0.85 = 55 %
    Trap("a soft starter where a tap would do", "st-soft-12", farm(pump(2300, 13800, 3, PSC, "cable_drop = 0.15")),
         frozenset({"start-volts"}), left_out=True),
    # 0.40 x 0.92 = 37 %
    Trap("a starter that cuts too deep", "st-soft-45",
         farm(pump(4000, 24000, 3, 'motor = "three-wire"', "cable_drop = 0.08")),
         frozenset({"start-volts"}), left_out=True),
    # 0.58 x 0.95 = 55 %, enough for most; the maker of this motor asks 60
    Trap("a motor that asks more volts", "st-soft-12",
         farm(pump(2300, 13800, 3, PSC, "cable_drop = 0.05", "start_volts_least = 0.60")),
         frozenset({"start-volts"}), easier=("start_volts_least = 0.60\n", "")),
    Trap("a starter on a cable that nobody stated", "st-resist-20",
         farm(pump(900, 3600, 3, 'motor = "three-wire"')),
         frozenset({"start-volts"}), easier=("daytime = 0.6\n", "daytime = 0.6\ncable_drop = 0.04\n")),
    Trap("a tank that nobody allowed", "tk-5000",
         farm(WATER, "[need]\nautonomy_days = 2\n[water]\nreserve_days = 0"),
         frozenset({"space"}), easier=("reserve_days = 0\n", "reserve_days = 0\nmax_tanks = 3\n")),
)  # fmt: skip


def read(folder: Path, text: str) -> Job:
    """A job of this text."""
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return read_job(path)


def cheapest(catalog: Catalog, job: Job, terms: SearchTerms = PLAIN) -> Bundle:
    """The bundle that is proven cheapest."""
    found = pick(catalog, job, 1, terms=terms)
    assert found.status == "proven"
    return found.bundles[0]


def cents(bundle: Bundle) -> int:
    """What it costs."""
    assert bundle.order is not None
    return bundle.order.cents


@pytest.mark.parametrize("trap", TRAPS, ids=lambda trap: trap.name)
def test_a_trap_wins_only_without_its_rule(
    trap: Trap, shipped: Catalog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    terms = SearchTerms(without=trap.limits) if trap.left_out else PLAIN
    catalog = mended_copy(tmp_path, trap.mended) if trap.mended else shipped
    text = trap.job
    if trap.easier is not None:
        assert trap.easier[0] in text
        text = text.replace(*trap.easier)
    with monkeypatch.context() as once:
        if trap.put_back is not None:
            once.setattr(*trap.put_back)
        lured = cheapest(catalog, read(tmp_path, text), terms)

    job = read(tmp_path, trap.job)
    best = cheapest(shipped, job)
    assert trap.part in parts_of(lured)
    assert trap.part not in parts_of(best)
    assert cents(lured) < cents(best)
    failing = broken(job, lured, shipped)
    assert failing, "the bundle it wins with breaks nothing"
    assert failing <= trap.limits
    assert not broken(job, best, shipped)


# phases cannot be left out: the same pump with a motor of one phase shows what would be bought without them


@pytest.mark.parametrize(
    ("running_w", "starting_va", "starter"),
    [
        pytest.param(400, 2353, "", id="started directly"),
        pytest.param(900, 5294, "st-soft-12", id="through a soft starter"),
        pytest.param(3200, 18824, "st-tap-20", id="through an autotransformer"),
    ],
)
def test_a_three_phase_motor_is_served_by_a_drive_alone(
    shipped: Catalog, tmp_path: Path, running_w: int, starting_va: int, starter: str
) -> None:
    lines = pump(running_w, starting_va, 3, THREE_PHASE, "cable_drop = 0.04", factor=OF_THREE)
    lured = cheapest(shipped, read(tmp_path, farm(lines.replace(THREE_PHASE, PSC))))
    assert {str(row["part"]) for row in lured.starters.values()} == ({starter} if starter else set())

    job = read(tmp_path, farm(lines))
    best = cheapest(shipped, job)
    (drive,) = best.starters.values()
    assert (drive["kind"], drive["phases_in"], drive["makes_phases"]) == ("drive", 1, 3)
    assert cents(lured) < cents(best)
    # a starter that may not start this motor is told under start-volts besides
    assert broken(job, lured, shipped) == {"phases"} | ({"start-volts"} if starter else set())
    assert not broken(job, best, shipped)


def test_a_three_phase_motor_that_starts_softly_is_served_by_a_drive_too(shipped: Catalog, tmp_path: Path) -> None:
    """It needs the phases, however hard it starts."""
    lines = pump(900, 5294, 3, THREE_PHASE, factor=OF_THREE).replace('starting = "5294 VA"', 'starting = "none"')
    assert '"none"' in lines
    job = read(tmp_path, farm(lines))
    best = cheapest(shipped, job)
    assert [row["makes_phases"] for row in best.starters.values()] == [3]
    assert not broken(job, best, shipped)


def test_starters_for_three_phases_serve_no_supply_of_one(shipped: Catalog) -> None:
    """Of every kind but resistor and drive one stands in the catalogue as a pattern, and none serves any motor."""
    starters = [shipped.starters.record(row) for row in range(len(shipped.starters.part))]
    of_three = [row for row in starters if row["phases_in"] == 3]
    assert {row["kind"] for row in of_three} == {"soft", "tap", "star-delta"}
    assert all(row["motors"] == "three-phase" for row in of_three)
    for row in of_three:
        assert not soft_start.serves(row, "three-phase", 1.0, 230.0, 0.01)
    for row in starters:
        one_phase = row["phases_in"] == 1 and row["makes_phases"] == 1
        assert one_phase == ("three-phase" not in str(row["motors"]).split(";")), row["part"]
