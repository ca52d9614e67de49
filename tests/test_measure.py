"""From readings to a load: figures by hand, what is called out, and the block read back by the job's reader."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner, Result

from optimizer.answers import measure
from optimizer.answers.measured_load import Measured, read_readings, worked_out
from optimizer.commands import app
from optimizer.commands.exit_codes import ANSWERED, WRONG_INPUT
from optimizer.inputs.job import Job
from optimizer.inputs.job_reader import check_job
from optimizer.inputs.job_schema import TO_DO
from optimizer.inputs.readings import OPTIONS, option_of
from optimizer.rules.load_figures import load_figures
from optimizer.vocabulary.problems import InputError, Problem
from optimizer.vocabulary.units import Quantity, parse_quantity
from optimizer.writing.text.measure import load_block, measured_page
from optimizer.writing.words.sentences import CAUTIONS

WELL = {
    "name": "bore pump", "voltage": "240 V", "running": "8.1 A", "inrush": "41 A", "locked_rotor": "39 A",
    "code_letter": "H", "rated": "1.5 hp", "power_factor": "0.8", "motor": "three-wire", "level": "60 m",
    "rise": "5 m", "pressure": "2.5 bar", "pipe_length": "75 m", "pipe_inside": "32 mm", "container": "20 L",
    "seconds": "32 s", "water_per_day": "9000 L",
}  # fmt: skip
START_KEYS = ("inrush", "locked_rotor", "code_letter", "rated")
JOB = """\
[site]
coldest = "-9 degC"
hottest = "37 degC"
sun_hours = 4.0

[supply]
kind = "{kind}"
hz = 60

"""


def work_out(**readings: str) -> Measured:
    return measure(**readings)


def well(*left_out: str, **changed: str) -> Measured:
    """The well above without some readings and with others."""
    return work_out(**{name: text for name, text in {**WELL, **changed}.items() if name not in left_out})


def said(found: Measured) -> str:
    """The page on one line."""
    return " ".join(measured_page(found).split())


def run(**readings: str) -> Result:
    arguments = [word for name, text in readings.items() for word in (option_of(name), text)]
    return CliRunner().invoke(app, ["measure", *arguments])


def paste(found: Measured, folder: Path) -> tuple[Job | None, tuple[Problem, ...]]:
    """What the job's reader makes of the page's block in a job."""
    page = measured_page(found)
    block = load_block(found)
    assert f"\n{block}\n" in page
    volts = found.readings.voltage
    path = folder / "job.toml"
    path.write_text(JOB.format(kind="120" if volts and volts.value < 200 else "120/240") + block, encoding="utf-8")
    return check_job(path)


def held(found: Measured, folder: Path) -> None:
    """The block says what the page says: read back, its figures are those; what is open is a to-do and nothing else."""
    job, problems = paste(found, folder)
    open_keys = {f"load.{found.readings.name}.{key}" for key, value in found.load.items() if value == TO_DO}
    assert {(problem.kind.id, problem.place.name) for problem in problems} == {("to-do", key) for key in open_keys}
    if job is None:
        return
    (load,) = job.loads
    figures = load_figures(load, job.site.sun_hours)
    assert found.running is not None and found.flow is not None
    assert figures.running_w == pytest.approx(found.running.watts, rel=1e-9)
    assert figures.running_va == pytest.approx(found.running.va, rel=1e-9)
    assert figures.start_va == pytest.approx(max(found.starts[0].va, figures.running_va), rel=1e-9)
    assert load.flow_l_per_h == pytest.approx(found.flow.value, rel=1e-9)
    assert load.name == found.readings.name


# figures by hand -------------------------------------------------------------------------------------------------


def test_start_figures_by_hand() -> None:
    """41 A and 39 A at 240 V; H is 7.09 kVA/hp; 1.5 hp takes 10 A at 230 V by the table, six times that at 240 V."""
    found = well()
    assert [start.source for start in found.starts] == list(START_KEYS)
    assert [start.va for start in found.starts] == pytest.approx([9840, 9360, 10635, 14400])
    assert [start.amps for start in found.starts] == pytest.approx([41, 39, 44.3125, 60])
    assert [start.apart for start in found.starts] == pytest.approx([0, -0.04878, 0.08079, 0.46341], abs=1e-5)
    assert found.apart == pytest.approx(14400 / 9360 - 1)


def test_running_flow_and_head_by_hand() -> None:
    """Friction by the form in gpm, inches and psi; 37.5 L/min is 9.906 gpm, 75 m is 246.06 ft, 32 mm is 1.2598 in."""
    found = well()
    assert found.running and found.flow and found.head and found.check
    assert (found.running.va, found.running.watts) == pytest.approx((1944, 1555.2))
    assert found.flow.text == "37.5 L/min"
    psi = 4.52 * 9.9065**1.852 / (150**1.852 * 1.2598**4.87) * 246.06
    assert found.head.friction_m == pytest.approx(psi * 2.31 * 0.3048, abs=0.02)
    assert found.head.pressure_m == pytest.approx(250 / 9.81)
    assert found.head.total_m == pytest.approx(60 + 5 + 25.48 + psi * 0.7041, abs=0.03)
    assert found.check.hydraulic_w == pytest.approx(0.625 * 9.81 * found.head.total_m)
    assert found.check.efficiency == pytest.approx(0.363, abs=0.001)
    assert found.check.kwh_per_m3 == pytest.approx(1.5552 / 2.25)  # kW over m3 an hour


def test_the_unit_of_a_reading_does_not_matter() -> None:
    metric = well()
    other = well(level="196.850393700787 ft", rise="500 cm", pressure="36.2594344350 psi", pipe_inside="3.2 cm",
                 container="0.02 m^3", running="1944 VA", voltage="0.24 kV", inrush="9.84 kVA")  # fmt: skip
    assert metric.head and other.head and metric.check and other.check
    assert other.head.total_m == pytest.approx(metric.head.total_m, rel=1e-9)
    assert other.check.efficiency == pytest.approx(metric.check.efficiency, rel=1e-9)
    assert [s.va for s in other.starts] == pytest.approx([s.va for s in metric.starts])


@pytest.mark.parametrize(
    ("container", "seconds", "flow"),
    [("5 gal", "33 s", "9.09 gpm"), ("20 L", "0.5 min", "40 L/min"), ("1 m^3", "0.75 h", "1.33 m^3/h"),
     ("0.5 L", "3 h", "0.00278 L/min"), ("12345 gal", "1 s", "741000 gpm")],
)  # fmt: skip
def test_a_drum_and_a_stopwatch(container: str, seconds: str, flow: str) -> None:
    """Three digits, without an exponent, in a unit that goes with the container's."""
    if flow == "741000 gpm":  # more than a job takes
        with pytest.raises(InputError):
            work_out(container=container, seconds=seconds)
        return
    found = work_out(container=container, seconds=seconds)
    assert found.flow is not None and found.flow.text == flow
    assert found.flow.value == parse(flow, "flow")


def parse(text: str, kind: str) -> float:
    quantity = parse_quantity(text, kind)
    assert isinstance(quantity, Quantity)
    return quantity.value


def test_watts_estimated_from_flow_and_head() -> None:
    """10 gpm to 400 ft with pump 0.55 and motor 0.75: 1829 W, to three digits; the block says it is an estimate."""
    found = work_out(voltage="230 V", flow="10 gpm", level="400 ft", pump_efficiency="0.55", motor_efficiency="0.75")
    assert found.running is not None and found.running.stated.text == "1830 W"
    assert found.check is None  # flow and head cannot check themselves
    remark = "# an estimate: 10 gpm to 400.0 ft, pump efficiency 0.55, motor efficiency 0.75; # measure it running ="
    assert remark in " ".join(load_block(found).split())
    assert "pump efficiency 0.55, motor efficiency 0.75. FLOW" in said(found)
    usual = work_out(voltage="230 V", flow="10 gpm", level="400 ft")
    assert usual.running is not None and usual.running.stated.text == "2160 W"  # 754.7 W over 0.35
    assert "Usual, not stated: small submersible pump" in said(usual)


def test_a_clamp_reading_goes_before_an_estimate() -> None:
    found = well()
    assert found.running is not None and not found.running.estimated
    assert 'running = "8.1 A"' in load_block(found)
    assert "estimate" not in load_block(found)


# ranks and what is called out ------------------------------------------------------------------------------------


@pytest.mark.parametrize("best", range(4))
def test_the_most_trusted_start_is_taken(best: int, tmp_path: Path) -> None:
    found = well(*START_KEYS[:best])
    assert [start.source for start in found.starts] == list(START_KEYS[best:])
    line = ['starting = "41 A"', 'starting = "39 A"', 'locked_rotor_code = "H"', 'rated = "1.5 hp"'][best]
    assert line in load_block(found)
    held(found, tmp_path)


def test_starts_a_quarter_apart_are_called_out() -> None:
    """40 A and 50 A are 25 % apart, and no more."""
    readings = {"voltage": "240 V", "inrush": "40 A"}
    assert "apart" not in said(work_out(**readings, locked_rotor="50 A"))
    called = said(work_out(**readings, locked_rotor="50.1 A"))
    assert "Figures 1 and 2 lie 25 % apart, more than 25 %. Measure again" in called
    assert "The clamp may read low" in called


def test_a_high_estimate_contradicts_nothing() -> None:
    """The table's estimate above figures that agree is named, and the block does not warn; a low one does."""
    high, low = well(), well(rated="0.5 hp")
    assert high.apart > 0.25 and not high.doubtful
    assert "The higher is an estimate that is meant to lie high; the others agree." in said(high)
    assert "apart" not in load_block(high)
    assert low.doubtful
    assert "# start figures lie" in load_block(low)


def test_a_low_estimate_beside_one_reading_is_doubtful() -> None:
    """1 hp at 240 V: 6 x 8 A = 48 A by the table, and 80 A by the clamp."""
    found = work_out(voltage="240 V", inrush="80 A", rated="1 hp")
    assert found.doubtful
    assert not work_out(voltage="240 V", inrush="30 A", rated="1 hp").doubtful


def test_a_start_below_running_by_the_letter_is_called_out() -> None:
    """B is 3.54 kVA/hp: 0.25 hp starts with 885 VA, and 8.1 A run on 1,944 VA."""
    found = well("inrush", "locked_rotor", code_letter="B", rated="0.25 hp")
    assert [start.below_running for start in found.starts] == [True, False]
    assert "Figure 1 is below what the motor runs on" in said(found)


@pytest.mark.parametrize(
    ("watts", "words"),
    [("1510.8 W", "65 % wire to water, within"), ("1510 W", "65 % wire to water, OUTSIDE"),
     ("6546 W", "15 % wire to water, within"), ("6547 W", "15 % wire to water, OUTSIDE")],
)  # fmt: skip
def test_wire_to_water_outside_15_to_65_percent(watts: str, words: str) -> None:
    """6 m3/h against 60.06 m are 981.98 W of water: 65 % of 1510.74 W, 15 % of 6546.5 W."""
    found = work_out(running=watts, flow="6 m^3/h", level="60.06 m")
    assert words in said(found)
    assert ("doubtful" in load_block(found)) == ("OUTSIDE" in words)


def test_without_a_power_factor_the_check_says_what_it_rests_on() -> None:
    found = well("power_factor")
    assert found.check and found.check.efficiency == pytest.approx(0.29, abs=0.005)
    assert "at the 0.7 of many motors it is 42 %" in said(found)


@pytest.mark.parametrize(
    ("inrush", "words"),
    [("16 A", "Figure 1 is 2.0 times"), ("98 A", "Figure 1 is 12.1 times"), ("17 A", ""), ("97 A", "")],
)
def test_a_start_that_few_motors_draw_is_called_out(inrush: str, words: str) -> None:
    """8.1 A running; 2 to 12 times are usual: common practice, no source."""
    page = said(well("locked_rotor", inrush=inrush))
    assert words in page if words else "times what the motor runs on" not in page


def test_two_flows_that_disagree() -> None:
    assert "Stated as 60 L/min, +60 %: one of the two is wrong." in said(well(flow="60 L/min"))
    assert "Stated" not in said(well(flow="40 L/min"))


# the block in a job ----------------------------------------------------------------------------------------------


def test_the_block_pasted_into_a_job(tmp_path: Path) -> None:
    found = well()
    job, problems = paste(found, tmp_path)
    assert not problems and job is not None
    held(found, tmp_path)
    (load,) = job.loads
    assert (load.power_factor, load.motor) == (0.8, "three-wire")
    assert load.water_per_day_l == (9000.0,) * 12


def test_nothing_given_is_all_to_do(tmp_path: Path) -> None:
    result = run()
    assert result.exit_code == ANSWERED
    found = work_out()
    held(found, tmp_path)
    for key in ("voltage", "running", "starting", "water_per_day", "flow"):
        assert found.load[key] == TO_DO
    for name in found.missing:
        assert f"- {option_of(name)} " in result.stdout


@pytest.mark.parametrize("name", ['the "old" pump', "back\\slash", "# no comment", "größe 井", "'quoted'"])
def test_a_name_is_read_back_as_it_was(name: str, tmp_path: Path) -> None:
    held(well(name=name), tmp_path)


@pytest.mark.parametrize("name", ["tab\tand\nline", "del\x7f", "\x1b[31mred"])
def test_a_name_with_a_mark_that_nobody_sees_is_refused(name: str) -> None:
    """As a job refuses it."""
    with pytest.raises(InputError) as caught:
        well(name=name)
    assert {problem.kind.id for problem in caught.value.problems} == {"unseen-mark"}


@pytest.mark.parametrize("rated", ["12 hp", "10 hp", "7.4 kW"])
def test_rated_power_alone_at_the_end_of_the_table(rated: str, tmp_path: Path) -> None:
    """Over 10 hp there is no estimate, and the start is to be found."""
    found = well("inrush", "locked_rotor", "code_letter", rated=rated)
    assert (found.load.get("starting") == TO_DO) == (rated == "12 hp")
    held(found, tmp_path)


amounts = st.decimals(min_value="0.01", max_value=2000, places=2)


def quantities(*units: str) -> st.SearchStrategy[str]:
    return st.builds(lambda amount, unit: f"{amount} {unit}", amounts, st.sampled_from(units))


RANDOM = st.fixed_dictionaries(
    {"voltage": st.sampled_from(["120 V", "230 V", "0.24 kV"])},
    optional={
        "name": st.text(min_size=1, max_size=30),
        "running": quantities("A", "W", "kW", "VA", "kVA"),
        "inrush": quantities("A", "kVA"),
        "locked_rotor": quantities("A", "VA"),
        "code_letter": st.sampled_from("ABCDEFGHJKLMNPRSTUV"),
        "rated": quantities("hp", "kW", "W"),
        "power_factor": st.sampled_from(["0.6", "0.85", "1"]),
        "motor": st.sampled_from(["two-wire", "psc"]),
        "container": quantities("L", "gal", "m^3"),
        "seconds": quantities("s", "min"),
        "flow": quantities("L/min", "gpm", "m^3/h"),
        "water_per_day": quantities("L", "gal"),
        "level": quantities("m", "ft"),
        "rise": st.one_of(quantities("m", "in"), st.just("-40 m")),
        "pressure": quantities("kPa", "psi", "bar"),
        "pipe_length": quantities("m", "ft"),
        "pipe_inside": quantities("mm", "in"),
        "pipe_roughness": st.sampled_from(["100", "140"]),
        "pump_efficiency": st.sampled_from(["0.4", ".6"]),
    },
)


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(readings=RANDOM)
def test_whatever_is_given_is_refused_or_its_block_is_accepted(readings: dict[str, str], tmp_path: Path) -> None:
    try:
        found = worked_out(read_readings(readings))
    except InputError as error:
        assert error.problems
        return
    held(found, tmp_path)
    plain = [line for line in measured_page(found).splitlines() if not line.startswith("name = ")]
    assert max(map(len, plain)) <= 80


@settings(max_examples=300, deadline=None)
@given(st.dictionaries(st.sampled_from(sorted(OPTIONS)), st.text(max_size=20), max_size=6))
def test_any_text_is_read_or_refused_by_its_option(readings: dict[str, str]) -> None:
    try:
        assert measured_page(worked_out(read_readings(readings)))
    except InputError as error:
        assert {problem.place.file for problem in error.problems} <= {option_of(name) for name in OPTIONS}


TINY = "0." + "0" * 300 + "1"


@pytest.mark.parametrize("name", [name for name, key in OPTIONS.items() if key.holds in ("quantity", "number")])
@pytest.mark.parametrize("number", [TINY, "9" * 300, "0"])
def test_figures_out_of_all_proportion(name: str, number: str) -> None:
    """Refused, or worked out; never a division by nothing."""
    unit = OPTIONS[name].example.strip('"').partition(" ")[2]
    try:
        assert measured_page(well(**{name: f"{number} {unit}".strip()}))
    except InputError as error:
        assert option_of(name) in {problem.place.file for problem in error.problems}
    else:
        assert number == "0" and name in ("level", "rise", "pressure", "water_per_day")


# wrong readings --------------------------------------------------------------------------------------------------

WRONG = [
    ({"voltage": "240"}, "voltage", "missing-unit"),
    ({"running": "8,1 A"}, "running", "decimal-comma"),
    ({"inrush": "41 amps"}, "inrush", "unknown-unit"),
    ({"inrush": "none"}, "inrush", "not-a-quantity"),
    ({"inrush": "5 A"}, "inrush", "start-below-running"),
    ({"locked_rotor": "5 A"}, "locked_rotor", "start-below-running"),
    ({"code_letter": "I"}, "code_letter", "code-letter"),
    ({"code_letter": "V"}, "code_letter", "code-letter"),
    ({"rated": "-1 hp"}, "rated", "out-of-range"),
    ({"power_factor": "80"}, "power_factor", "out-of-range"),
    ({"power_factor": "0,8"}, "power_factor", "decimal-comma"),
    ({"power_factor": "nan"}, "power_factor", "wrong-type"),
    ({"motor": "threewire"}, "motor", "unknown-value"),
    ({"seconds": "0 s"}, "seconds", "out-of-range"),
    ({"container": "1000000 L", "seconds": "0.1 s"}, "seconds", "out-of-range"),
    ({"level": "60"}, "level", "missing-unit"),
    ({"pressure": "50 PSI"}, "pressure", "unknown-unit"),
    ({"pipe_inside": "0 mm"}, "pipe_inside", "out-of-range"),
    ({"pipe_roughness": "1500"}, "pipe_roughness", "out-of-range"),
    ({"pump_efficiency": "55"}, "pump_efficiency", "out-of-range"),
    ({"water_per_day": "90000 L"}, "water_per_day", "hours-over-day"),
    ({"voltage": "480 V"}, "voltage", "supply-voltage"),
    ({"running": "?"}, "running", "to-do"),
]


@pytest.mark.parametrize(("changed", "name", "kind"), WRONG)
def test_one_wrong_reading_is_one_problem_at_its_option(changed: dict[str, str], name: str, kind: str) -> None:
    with pytest.raises(InputError) as caught:
        well(**changed)
    assert [(p.place.file, p.place.cell, p.kind.id) for p in caught.value.problems] == [
        (option_of(name), {**WELL, **changed}[name], kind)
    ]


def test_all_wrong_readings_at_once() -> None:
    result = run(**{**WELL, "voltage": "240", "running": "8,1 A", "seconds": "32", "code_letter": "Q"})
    assert result.exit_code == WRONG_INPUT
    assert result.stdout == ""
    for words in ('--voltage: "240"', '--running: "8,1 A"', '--seconds: "32"', '--code-letter: "Q"',
                  "4 problems; nothing was worked out."):  # fmt: skip
        assert words in result.stderr


@pytest.mark.parametrize("name", ["running", "inrush", "locked_rotor"])
def test_amps_need_volts_and_watts_do_not(name: str) -> None:
    result = run(**{name: "12 A"})
    assert result.exit_code == WRONG_INPUT
    assert '--voltage "240 V"' in result.stderr and "missing-key" in result.stderr
    assert run(**{name: "1200 VA"}).exit_code == ANSWERED


def test_watts_are_checked_without_volts() -> None:
    found = well("voltage", "inrush", "locked_rotor", running="1555.2 W")
    assert found.check is not None and found.check.efficiency == pytest.approx(0.363, abs=0.001)
    assert found.running is not None and found.running.va is None


def test_an_estimate_above_the_start_is_a_contradiction() -> None:
    """2,160 W by flow and head, and a start of 240 VA."""
    with pytest.raises(InputError) as caught:
        work_out(voltage="240 V", inrush="1 A", flow="10 gpm", level="400 ft")
    assert [(p.place.file, p.kind.id) for p in caught.value.problems] == [("--inrush", "start-below-running")]


# the page --------------------------------------------------------------------------------------------------------


def test_the_command_prints_the_page() -> None:
    result = run(**WELL)
    assert result.exit_code == ANSWERED
    assert result.stderr == ""
    assert result.stdout == measured_page(well())
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_the_page_warns_of_live_boxes_in_the_words_of_every_answer() -> None:
    for caution in (text for text in CAUTIONS if text.startswith(("Clamping start amps", "Before touching pump"))):
        assert caution in said(well())


def test_the_head_stands_in_the_unit_of_the_level() -> None:
    page = said(well(level="200 ft"))
    assert "pumping level below ground 200 ft 200.0 ft" in page
    assert "rise to the outlet 5 m 16.4 ft" in page
    assert "pressure at the outlet 2.5 bar 83.6 ft" in page


def test_what_is_missing_is_said_with_how_to_find_it() -> None:
    found = well("inrush", "locked_rotor", "pipe_inside", "water_per_day")
    assert {"inrush", "locked_rotor", "pipe_inside", "water_per_day"} <= set(found.missing)
    page = said(found)
    for name in found.missing:
        assert f"{option_of(name)} {OPTIONS[name].example}: {OPTIONS[name].meaning}. {OPTIONS[name].how}" in page
    assert "FIND OUT NEXT" not in said(well())


def test_a_head_that_is_none_is_not_checked() -> None:
    found = well("pressure", "pipe_length", level="10 m", rise="-40 m")
    assert found.check is None
    assert "the head is not above 0" in said(found)
