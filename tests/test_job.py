"""The job reader: what it makes of a good job, and what it says of a wrong one, at the line where it stands."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog import read_catalog
from optimizer import InputError, read_job
from optimizer.inputs.job import Water
from optimizer.inputs.job_reader import check_job, check_names
from optimizer.inputs.job_schema import KEYS
from optimizer.inputs.toml_lines import key_lines, line_of
from optimizer.vocabulary.defaults import DEFAULTS
from optimizer.vocabulary.units import UNITS, Quantity
from optimizer.writing.words.problems import problem_lines, problems_text
from tests.small_files import JOB, write_catalog


def written(tmp_path: Path, text: str) -> Path:
    """A job file with this text."""
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    return path


def found(tmp_path: Path, text: str) -> list[tuple[str, int | None, str | None]]:
    """The problems of a text as (kind, line, key)."""
    job, problems = check_job(written(tmp_path, text))
    assert (job is None) == bool(problems)
    return [(problem.kind.id, problem.place.row, problem.place.name) for problem in problems]


def with_line(old: str, new: str) -> str:
    """The good job with one piece of text changed."""
    assert JOB.count(old) == 1
    return JOB.replace(old, new)


# ---------------------------------------------------------------------------------------------- a good job


def test_a_job_is_read_into_base_units(tmp_path: Path) -> None:
    job = read_job(written(tmp_path, JOB))
    assert job.title == "Nursery borehole"
    assert job.site.coldest_c == -10.0
    assert job.site.bank_coldest_c == 5.0
    assert job.site.sun_hours[11] == 2.8
    assert job.supply.hz == 60
    pump, booster, lights = job.loads
    assert (pump.running, pump.running.unit) == (Quantity(8.1, "A", "8.1 A"), "A")
    assert pump.water_per_day_l == (9000.0,) * 12
    assert pump.flow_l_per_h == 2280.0
    assert isinstance(pump.starting, Quantity)
    assert booster.hours_per_day == (1.5,) * 12
    assert booster.rated_hp == 0.75
    assert booster.leg == 1
    assert lights.starting == "none"
    assert lights.energy_per_day_wh == (1100.0,) * 12
    assert not lights.critical
    assert [load.index for load in job.loads] == [0, 1, 2]
    assert job.need.budget_cents == 950000
    assert job.space.max_area_m2 == 60.0
    assert job.on_hand == {"pn-410": 4}
    assert job.water == Water()


def test_what_was_written_and_stated_is_kept(tmp_path: Path) -> None:
    job = read_job(written(tmp_path, JOB))
    assert job.written["site.coldest"] == "14 degF"
    assert job.written["load.bore pump.running"] == "8.1 A"
    assert "load.bore pump.daytime" in job.stated
    assert "load.lights.daytime" not in job.stated
    assert "reserve.voltage" not in job.stated
    assert job.lines["site.coldest"] == 4


def test_what_is_not_stated_takes_its_default(tmp_path: Path) -> None:
    text = with_line('bank_coldest = "5 degC"\n', "").replace("hz = 60\n", "").replace('restart = "staggered"\n', "")
    job = read_job(written(tmp_path, text.replace('rated = "0.75 hp"\n', "")))
    assert job.site.bank_coldest_c == job.site.coldest_c
    assert (job.supply.hz, job.supply.restart) == (60, "staggered")
    assert (job.site.array_ceiling_v, job.site.rear_light, job.site.array_factor) == (600.0, 0.135, 0.80)
    reserve = job.reserve
    assert (reserve.running, reserve.starting, reserve.voltage, reserve.hot_voltage) == (0.25, 0.25, 0.05, 0.03)
    assert (reserve.current, reserve.parallel_share) == (0.25, 0.80)
    assert (job.loads[1].daytime, job.loads[1].start_time_s, job.loads[1].count) == (0.35, 1.0, 1)
    assert job.need.array_to_load == 1.2
    assert job.allow.exclude == ()


def test_the_water_table_is_read(tmp_path: Path) -> None:
    job = read_job(written(tmp_path, JOB + '\n[water]\nreserve_days = 2\nwell_yield = "30 L/min"\n'))
    assert job.water.well_yield_l_per_h == 1800.0
    assert job.water.daytime_with_tank == 0.9


def test_names_that_the_catalogue_does_not_have_are_found(tmp_path: Path) -> None:
    catalog = read_catalog(write_catalog(tmp_path / "c"))
    assert check_names(read_job(written(tmp_path, JOB)), catalog) == ()
    text = with_line('"pn-410" = 4', '"pn-41O" = 4') + '[allow]\nexclude = ["bt-agm", "cv-6"]\nsellers = ["nord"]\n'
    problems = check_names(read_job(written(tmp_path, text)), catalog)
    assert [(p.place.name, p.place.cell, p.slots["perhaps"]) for p in problems] == [
        ("on_hand.pn-41O", "pn-41O", "; perhaps pn-410"),
        ("allow.exclude", "cv-6", "; perhaps cv-6k"),
        ("allow.sellers", "nord", "; perhaps north"),
    ]


# ---------------------------------------------------------------------------------------------- wrong jobs


WRONG = [
    ('coldest = "14 degF"', 'coldest = "14 F"', "unknown-unit", 4, "site.coldest"),
    ('coldest = "14 degF"', "coldest = 14", "missing-unit", 4, "site.coldest"),
    ('coldest = "14 degF"', 'coldest = "?"', "to-do", 4, "site.coldest"),
    ('coldest = "14 degF"', 'coldest = "140 degC"', "out-of-range", 4, "site.coldest"),
    ('coldest = "14 degF"', 'coldset = "14 degF"', "unknown-key", 4, "site.coldset"),
    ('coldest = "14 degF"\n', "", "missing-key", 3, "site.coldest"),
    ('hottest = "37 degC"', 'hottest = "-37 degC"', "hot-below-cold", 5, "site.hottest"),
    (", 3.3, 2.8]", ", 3.3]", "twelve-values", 6, "site.sun_hours"),
    (", 3.3, 2.8]", ", 3.3, 0]", "out-of-range", 6, "site.sun_hours"),
    (", 3.3, 2.8]", ', 3.3, "?"]', "to-do", 6, "site.sun_hours"),
    (", 3.3, 2.8]", ', 3.3, "2,8"]', "decimal-comma", 6, "site.sun_hours"),
    (", 3.3, 2.8]", ", 3.3, nan]", "not-finite", 6, "site.sun_hours"),
    ('kind = "120/240"', 'kind = "240"', "unknown-value", 10, "supply.kind"),
    ("hz = 60", "hz = 55", "unknown-value", 11, "supply.hz"),
    ("hz = 60", 'hz = "60"', "wrong-type", 11, "supply.hz"),
    ('restart = "staggered"\n', "", "restart-missing", 9, "supply.restart"),
    ('restart = "staggered"', 'restart = "stagered"', "unknown-value", 12, "supply.restart"),
    ('name = "booster"', 'name = "bore pump"', "doubled-name", 25, "load 2.name"),
    ('name = "booster"\n', "", "missing-key", 24, "load 2.name"),
    ('voltage = "240 V"', 'voltage = "277 V"', "supply-voltage", 16, "load.bore pump.voltage"),
    ('voltage = "240 V"', 'voltage = "130 V"', "supply-voltage", 16, "load.bore pump.voltage"),
    ('running = "8.1 A"', 'running = "8,1 A"', "decimal-comma", 17, "load.bore pump.running"),
    ('running = "8.1 A"', 'runing = "8.1 A"', "unknown-key", 17, "load.bore pump.runing"),
    ('starting = "41 A"', 'starting = "4 A"', "start-below-running", 18, "load.bore pump.starting"),
    ('starting = "41 A"', 'locked_rotor_code = "H"', "code-without-rated", 18, "load.bore pump.locked_rotor_code"),
    ('starting = "41 A"', 'locked_rotor_code = "V"\nrated = "2 hp"', "code-letter", 18,
     "load.bore pump.locked_rotor_code"),
    ('starting = "41 A"', 'rated = "10.5 hp"', "over-ten-hp", 18, "load.bore pump.rated"),
    ('motor = "three-wire"', 'motor = "3-wire"', "unknown-value", 19, "load.bore pump.motor"),
    ('flow = "38 L/min"\n', "", "missing-key", 14, "load.bore pump.flow"),
    ('water_per_day = "9000 L"\n', "", "energy-ways", 20, "load.bore pump.flow"),
    ('water_per_day = "9000 L"', 'water_per_day = "60000 L"', "hours-over-day", 20, "load.bore pump.water_per_day"),
    ('hours_per_day = "90 min"', 'hours_per_day = "25 h"', "out-of-range", 29, "load.booster.hours_per_day"),
    ('hours_per_day = "90 min"', 'hours_per_day = "1 h"\nenergy_per_day = "1 kWh"', "energy-ways", 30,
     "load.booster.energy_per_day"),
    ('hours_per_day = "90 min"\n', "", "energy-ways", 24, "load.booster"),
    ('starting = "none"', 'starting = "none"\nleg = 3', "unknown-value", 37, "load.lights.leg"),
    ("daytime = 0.8", "daytime = 80", "out-of-range", 22, "load.bore pump.daytime"),
    ("daytime = 0.8", "daytime = 0.8\nleg = 1", "leg-misplaced", 23, "load.bore pump.leg"),
    ("critical = false", 'critical = "no"', "wrong-type", 38, "load.lights.critical"),
    ("array_to_load = 1.2", "array_to_load = 0.9", "out-of-range", 42, "need.array_to_load"),
    ("budget = 9500", "budget = 9500.001", "not-cents", 43, "need.budget"),
    ("budget = 9500", "budget = 0x" + "f" * 5000, "out-of-range", 43, "need.budget"),
    ("current = 0.25", "current = 0.2", "out-of-range", 46, "reserve.current"),
    ("[reserve]", "[reserves]", "unknown-key", 45, "reserves"),
    ('mounts = ["ground-ballast"]', "mounts = []", "wrong-type", 50, "space.mounts"),
    ('mounts = ["ground-ballast"]', 'mounts = ["ground"]', "unknown-value", 50, "space.mounts"),
    ('"pn-410" = 4', '"pn-410" = -1', "out-of-range", 53, "on_hand.pn-410"),
    ('"pn-410" = 4', '"pn-410" = true', "wrong-type", 53, "on_hand.pn-410"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "kind", "line", "key"), WRONG, ids=[f"{w[2]} {w[4]}" for w in WRONG])
def test_one_fault_is_one_problem_at_its_line(
    tmp_path: Path, old: str, new: str, kind: str, line: int, key: str
) -> None:
    assert found(tmp_path, with_line(old, new)) == [(kind, line, key)]


def test_a_supply_of_230_v_needs_its_frequency(tmp_path: Path) -> None:
    text = JOB.replace("120/240", "230").replace("hz = 60\n", "").replace("120 V", "230 V").replace("leg = 1\n", "")
    assert found(tmp_path, text) == [("missing-key", 9, "supply.hz")]


def test_every_to_do_is_listed_with_how_to_find_it(tmp_path: Path) -> None:
    text = JOB.replace('"14 degF"', '"?"').replace('"8.1 A"', '"?"').replace('"9000 L"', '" ? "')
    job, problems = check_job(written(tmp_path, text))
    assert job is None
    assert [p.kind.id for p in problems] == ["to-do"] * 3
    said = problems_text(problems, 1)
    for word in ("record low", "clamp meter", "water meter"):
        assert word in said


def test_an_unknown_key_offers_the_closest(tmp_path: Path) -> None:
    _, problems = check_job(written(tmp_path, with_line("array_to_load", "array_to_lode")))
    assert "perhaps array_to_load" in " ".join(problem_lines(problems[0]))


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("", ["empty-file"]),
        ("title = 1\n", ["missing-key", "missing-key", "missing-key", "wrong-type"]),
        (JOB.replace("[[load]]", "[load]", 1), ["toml-syntax"]),
        ("site = 3\nsupply = []\nload = 1\non_hand = 2\n", ["wrong-type"] * 4),
        (JOB + '\n[[load]]\n', ["energy-ways", "missing-key", "missing-key", "missing-key"]),
        (JOB.replace("[need]", "[wants]"), ["unknown-key"]),
        (JOB.replace('[supply]\nkind = "120/240"\nhz = 60\nrestart = "staggered"\n', ""), ["missing-key"]),
        (JOB.replace("[supply]", "[suply]"), ["unknown-key"]),
        (JOB.split("[[load]]")[0], ["missing-key"]),
        ('load = ["a"]\n' + JOB.replace("[[load]]", "[[loads]]"), ["unknown-key", "wrong-type"]),
    ],
)  # fmt: skip
def test_a_job_of_the_wrong_shape(tmp_path: Path, text: str, kinds: list[str]) -> None:
    assert sorted(kind for kind, _, _ in found(tmp_path, text)) == kinds


def test_a_syntax_error_is_placed_at_its_line(tmp_path: Path) -> None:
    _, problems = check_job(written(tmp_path, with_line("hz = 60", "hz = 60 Hz")))
    assert [(p.kind.id, p.place.row, p.place.cell) for p in problems] == [("toml-syntax", 11, "hz = 60 Hz")]
    assert found(tmp_path, "a = [1,\n\n") == [("toml-syntax", 1, None)]
    assert found(tmp_path, "a = " + "[" * 100_000)[0][0] == "toml-syntax"
    assert found(tmp_path, "a = " + "9" * 10_000)[0][0] == "toml-syntax"


def test_files_that_are_no_job(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(JOB.encode("utf-16"))
    assert [p.kind.id for p in check_job(path)[1]] == ["not-utf8"]
    path.write_bytes(b'title = "gr\xf6\xdfe"\n')
    assert [p.kind.id for p in check_job(path)[1]] == ["not-utf8"]
    path.write_bytes(b"#" * 2_000_000)
    assert [p.kind.id for p in check_job(path)[1]] == ["too-large"]
    assert [p.kind.id for p in check_job(tmp_path)[1]] == ["unreadable-file"]
    with pytest.raises(InputError) as raised:
        read_job(tmp_path / "nowhere.toml")
    assert [p.kind.id for p in raised.value.problems] == ["unreadable-file"]


def test_a_byte_order_mark_and_crlf_are_read(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(("\ufeff" + JOB.replace("\n", "\r\n")).encode())
    assert read_job(path).digest == read_job(written(tmp_path, JOB)).digest


def test_lines_are_found_in_every_way_of_writing() -> None:
    text = (
        'site.coldest = 1\n["supply"]\nkind = """\nhz = 3\n"""\nhz = 4\n[[load]]\nx = [\n 1,\n]\n[[load]]\n"name" = 2\n'
    )
    lines = key_lines(text)
    assert lines[("site", "coldest")] == 1
    assert lines[("supply", "hz")] == 6
    assert lines[("load", 0)] == 7
    assert lines[("load", 1, "name")] == 12
    assert line_of(lines, ("load", 1, "voltage")) == 11
    assert line_of(lines, ("need", "budget")) is None


SCALARS = st.one_of(st.text(max_size=10), st.integers(), st.floats(), st.booleans(), st.just("?"))
KEY_NAMES = st.sampled_from(["coldest", "sun_hours", "name", "voltage", "starting", "x", "kind", "count", "mounts"])


def as_toml(value: object) -> str:
    """A value as TOML."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(sign):08x}" for sign in value) + '"'
    if isinstance(value, list):
        return f"[{', '.join(map(as_toml, value))}]"
    return str(value)


@pytest.mark.thorough
@settings(max_examples=150, deadline=None)
@given(
    st.dictionaries(st.sampled_from(["site", "supply", "[load]", "need", "space", "on_hand", "y"]),
                    st.dictionaries(KEY_NAMES, SCALARS | st.lists(SCALARS, max_size=13), max_size=4), max_size=5)
)  # fmt: skip
def test_no_job_brings_a_traceback(
    tmp_path_factory: pytest.TempPathFactory, tables: dict[str, dict[str, object]]
) -> None:
    lines = []
    for table, values in tables.items():
        lines += [f"[{table}]", *(f"{key} = {as_toml(value)}" for key, value in values.items())]
    text = "\n".join(lines)
    job, problems = check_job(written(tmp_path_factory.mktemp("any"), text))
    assert job is None
    assert problems_text(problems, 1)


# ---------------------------------------------------------------------------------------------- the tables


def test_every_key_has_an_example_that_is_read(tmp_path: Path) -> None:
    for table, keys in KEYS.items():
        for name, key in keys.items():
            _, problems = check_job(written(tmp_path, f"[[load]]\n{name} = {key.example}" if table == "load" else
                                            f"[{table}]\n{name} = {key.example}" if table else
                                            f"{name} = {key.example}"))  # fmt: skip
            wrong = [p for p in problems if (p.place.name or "").endswith(f".{name}") or p.place.name == name]
            # alone in its load, a key may lack its companions; its own value must be read
            assert {p.kind.id for p in wrong} <= {
                "leg-misplaced",
                "energy-ways",
                "code-without-rated",
                "needs-weather",
            }, name
            assert key.how
            assert key.unit in UNITS or key.holds != "quantity"


def test_every_default_has_a_unit_and_a_source() -> None:
    for name, figure in DEFAULTS.items():
        assert figure.source
        assert figure.meaning
        table, key = name.split(".")
        assert key in KEYS[table]
