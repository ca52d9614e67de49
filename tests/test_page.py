"""What the page and the document say, on a catalogue of one part of each kind; figures worked by hand here."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from catalog.reader import read_catalog, shipped_catalog
from optimizer.answers.answer import Answer, audited
from optimizer.bundles.bundle import TrackerStrings
from optimizer.explain.explanation import Why
from optimizer.explain.infeasibility import Conflict, ConflictingLimit, ConflictSet
from optimizer.explain.rejections import Rejection
from optimizer.inputs.job_reader import read_job
from optimizer.rules.limits import LIMITS
from optimizer.search.branch_and_bound import Pick, Status, pick
from optimizer.vocabulary.faults import RefusedError
from optimizer.writing.data.answer_json import document
from optimizer.writing.data.shopping_csv import shopping_list
from optimizer.writing.text.pick import page
from optimizer.writing.words import sentences
from optimizer.writing.words.phrases import string_map
from optimizer.writing.words.tables import table

THIN = Path(__file__).parent / "data" / "thin"


@pytest.fixture(scope="module")
def found() -> Answer:
    job, catalog = read_job(THIN / "job.toml"), read_catalog(THIN / "catalog")
    return audited(catalog, job, pick(catalog, job))


BOTH = (ConflictingLimit("starting-surge", None, True), ConflictingLimit("budget", None, True))


def metric(answer: Answer, tmp_path: Path) -> Answer:
    """The same job with its temperatures and area in metric units."""
    text = (THIN / "job.toml").read_text()
    for us, own in (("14 degF", "-10 degC"), ("98 degF", "36 degC"), ("41 degF", "5 degC"), ("700 ft^2", "65 m^2")):
        assert us in text
        text = text.replace(us, own)
    (tmp_path / "job.toml").write_text(text)
    job = read_job(tmp_path / "job.toml")
    return audited(answer.catalog, job, pick(answer.catalog, job))


def line_with(text: str, words: str) -> str:
    lines = [line for line in text.splitlines() if words in line]
    assert lines, f"no line with {words!r}"
    return lines[0]


def test_no_line_is_wider_than_the_page(found: Answer) -> None:
    assert max(map(len, page(found, every_limit=True).splitlines())) <= 80


def test_cold_volts_by_hand(found: Answer) -> None:
    # 14 degF = -10 degC; factor 1 + 0.27/100 * 35 = 1.0945; 8 * 37.3 V * 1.0945 = 326.60 V, 6 of them 244.95 V
    assert "8 in series x 1" in line_with(page(found), "326.6 V")
    assert "6 in series x 1" in line_with(page(found), "244.9 V")


def test_hot_volts_and_cell_temperature_by_hand(tmp_path: Path, found: Answer) -> None:
    # 36 degC + (45 - 20)/800*1000 = 67.25 degC cell; 31.0 V * (1 - 0.40/100 * 42.25) = 25.761 V a panel, 8: 206.1 V
    text = page(metric(found, tmp_path))
    assert "206.1 V" in line_with(text, "8 in series x 1")
    assert "67.2 degC cell" in text


def test_answers_in_the_units_of_the_job(tmp_path: Path, found: Answer) -> None:
    us, own = page(found, every_limit=True), page(metric(found, tmp_path), every_limit=True)
    assert "degC" not in us
    assert "degF" not in own
    # 14 panels of 1.722 m x 1.134 m are 27.34 m^2, 294.3 ft^2
    assert "294.3 ft^2" in line_with(us, " space ")
    assert "27.3 m^2" in line_with(own, " space ")
    assert "41 degF" in line_with(us, "bank-temperature")


def test_protection_by_hand(found: Answer) -> None:
    # lowest bank volts: the battery's 44.8 V; (1.25 * 6500 / 0.92 + 40) / 44.8 = 198.0 A;
    # start: 41 A * 240 V + 3 * 60 W = 10,020 VA; (10,020 / 0.92 + 40) / 44.8 = 244.0 A without reserve
    words = " ".join(page(found).split())
    assert "must carry 198.0 A for each converter; the hardest start draws 244.0 A" in words
    assert "its short-circuit current is not stated: ask the battery's maker before choosing a fuse" in words
    # two strings of 100 A share at 0.8; the converter gives 160 A
    assert "set charging to 160 A or less" in words


def test_nearest_edge_comes_first_and_is_worked_by_hand(found: Answer) -> None:
    # starting-surge: 10,020 VA * 1.25 = 12,525 VA of 13,000 VA leaves 3.8 %
    row = line_with(page(found), "starting-surge")
    assert row.split()[1:7] == ["12,525", "VA", "13,000", "VA", "3.8", "%"]
    rooms = [reading.room for reading in found.options[0].nearest()[:6]]
    assert rooms == sorted(rooms)
    # 1,134 of 1,150 mm of the rack: a limit that guards against damage is an edge too
    assert line_with(page(found), "1  7,755.00").endswith("mounting-fit")


def test_all_limits_only_when_asked(found: Answer) -> None:
    shown = {name for name in LIMITS if f"\n {name} " in page(found)}
    everything = {name for name in LIMITS if f"\n {name} " in page(found, every_limit=True)}
    assert len(shown) == 6
    assert everything == {reading.limit for reading in found.options[0].audit.readings}
    assert f"{len(everything) - 6} more limits hold" in page(found)


def test_everything_counted_is_said(found: Answer) -> None:
    text = " ".join(page(found).split())
    for words in (
        "start of packing lights not stated, none counted",
        "packing lights: power factor 1, daytime 0.35",
        "thin-panel: vmp_pct_per_c -0.4, noct_c 45, bifacial_pct 0",
        "reserves running 0.25",
        "r_mohm not stated",
        "leg 1: 1 x packing lights; leg 2: 2 x packing lights; across both: bore pump",
        "ON HAND 4 thin-rack",
        "thin-converter does not state its frequency: make sure that it gives 60 Hz",
        "2400 gal of water a day at 10 gpm",
    ):
        assert words in text


def test_what_is_stated_is_not_taken(tmp_path: Path, found: Answer) -> None:
    text = (THIN / "job.toml").read_text()
    (tmp_path / "job.toml").write_text(
        text.replace('hottest = "98 degF"', 'hottest = "98 degF"\narray_factor = 0.8').replace(
            'running = "60 W"', 'running = "60 W"\nstarting = "none"\npower_factor = 1.0\ndaytime = 0.35'
        )
        + "\n[reserve]\nrunning = 0.25\n"
    )
    job = read_job(tmp_path / "job.toml")
    taken = sentences.taken_for_job(replace(found, job=job, demand=found.demand))
    stated = audited(found.catalog, job, pick(found.catalog, job))
    assert not any("array_factor" in text or "running 0.25" in text for text in taken)
    assert not any("packing lights" in text for text in sentences.taken_for_job(stated))


def test_an_estimated_start_is_named(tmp_path: Path, found: Answer) -> None:
    text = (THIN / "job.toml").read_text().replace('starting = "41 A"', 'rated = "0.75 hp"')
    (tmp_path / "job.toml").write_text(text)
    job = read_job(tmp_path / "job.toml")
    answer = audited(found.catalog, job, pick(found.catalog, job))
    # NEC 430.248: 0.75 hp at 230 V draws 6.9 A; 6 * 6.9 A * 240 V = 9,936 VA
    assert sentences.estimated(answer) == [
        "start of bore pump: 9,936 VA, six times a table's full-load amps for 0.75 hp; measure it"
    ]


def test_staggered_restart_is_a_condition(tmp_path: Path, found: Answer) -> None:
    text = (THIN / "job.toml").read_text().replace('kind = "120/240"', 'kind = "120/240"\nrestart = "staggered"')
    text = text.replace('running = "60 W"', 'running = "60 W"\nstarting = "90 VA"')
    (tmp_path / "job.toml").write_text(text)
    job = read_job(tmp_path / "job.toml")
    answer = audited(found.catalog, job, pick(found.catalog, job))
    assert "fit a restart delay on every motor but one" in " ".join(page(answer).split())
    assert "restart delay" not in page(found)


def test_fuses_and_joined_units_are_conditions(found: Answer) -> None:
    option = found.options[0]
    fused = replace(option, trackers=(replace(option.trackers[0], fuse_a=25.0), *option.trackers[1:]))
    two = replace(fused, bundle=replace(option.bundle, units=2))
    said = sentences.conditions_of_option(found, two)
    assert "fuse each string of tracker 1 at 25 A" in said
    assert any("2 thin-converter" in text for text in said)
    assert not any("fuse" in text or "joined" in text for text in sentences.conditions_of_option(found, option))


def test_string_map(found: Answer) -> None:
    strings = (TrackerStrings(1, 2, 7, False), TrackerStrings(2, 1, 6, False))
    assert string_map(replace(found.options[0].bundle, strings=strings)) == "2x7+6"


def test_later_options_say_only_what_differs(found: Answer) -> None:
    other = replace(found.options[0], rank=2, bundle=replace(found.options[0].bundle, bank_parallel=3))
    text = page(replace(found, options=(*found.options, other)))
    row = line_with(text, "2  7,755.00")
    assert row.count("as in 1") == 2
    assert "3 thin-battery" in row


def test_shipped_parts_are_called_invented(found: Answer) -> None:
    """The shipped folder is called by what it is; where it lies on this machine tells nobody anything."""
    folder = shipped_catalog()
    shipped = replace(found, catalog=replace(found.catalog, folder=folder, generic=True))
    line = line_with(page(shipped), "EXAMPLE PARTS, INVENTED PRICES")
    assert line.startswith("The catalogue that comes with this tool  ")
    assert str(folder) not in page(shipped)
    assert json.loads(document(shipped))["warnings"][0] == "Example parts, invented prices."


def test_a_copy_that_calls_itself_invented_is_called_by_its_folder(found: Answer) -> None:
    copied = replace(found, catalog=replace(found.catalog, folder=Path("ours"), generic=True))
    line = line_with(page(copied), "EXAMPLE PARTS, INVENTED PRICES")
    assert line.startswith("Catalogue ours  ")
    assert "comes with this tool" not in page(copied)
    assert json.loads(document(copied))["warnings"][0] == "Example parts, invented prices."
    assert "INVENTED" not in page(found)
    assert "Example parts, invented prices." not in json.loads(document(found))["warnings"]


@pytest.mark.parametrize(
    ("status", "proven", "gap", "words", "never"),
    [
        (Status.PROVEN, True, 0.0, "Proven cheapest, to the cent: $7,755.00 delivered", "Stopped"),
        (Status.STOPPED, True, 0.0, "Proven cheapest, to the cent", "not proven"),
        (Status.STOPPED, False, 0.031, "Nothing can cost less than $7,514.60: the gap is 3.1 %", "Proven"),
    ],
)
def test_the_proof_in_words(found: Answer, status: Status, proven: bool, gap: float, words: str, never: str) -> None:
    proof = replace(found.pick.proof, next_bound=751460 if gap else None, gap=gap)
    answer = replace(
        found, pick=replace(found.pick, status=status, proof=proof), options=(replace(found.options[0], proven=proven),)
    )
    text = " ".join(sentences.proof_state(answer))
    assert words in text
    assert never not in text


def test_stopped_before_any_bundle(found: Answer) -> None:
    proof = replace(found.pick.proof, next_bound=500000)
    nothing = replace(found, pick=Pick(Status.STOPPED, (), (), proof), options=())
    assert "before any bundle was found" in page(nothing)
    assert "costs $5,000.00 or more" in " ".join(page(nothing).split())
    assert "BUY" not in page(nothing)
    assert json.loads(document(nothing))["bundles"] == []


def test_nothing_meets_the_job(found: Answer) -> None:
    why = Conflict(
        (Rejection("leg-balance", "converter", 29, 40), Rejection("bank-temperature", "battery", 12, 12)),
        (ConflictSet(BOTH, True, ""),), (), 3,
    )  # fmt: skip
    nothing = replace(found, pick=Pick(Status.NONE, (), (), found.pick.proof), options=(), why=Why(conflict=why))
    text = page(nothing)
    assert line_with(text, "NO BUNDLE MEETS THIS JOB").endswith("proven")
    assert "29 of 40 converters" in line_with(text, "leg-balance")
    assert "all 12 batteries" in line_with(text, "bank-temperature")
    assert "Together these 2 limits leave nothing" in text
    assert "No wish, measure or reserve" in " ".join(text.split())
    assert text.rstrip().splitlines()[-1] == "A safety limit is never a way out."
    assert max(map(len, text.splitlines())) <= 80
    told = json.loads(document(nothing))
    assert told["status"] == "none"
    assert told["why"]["conflicts"][0]["limits"] == [{"limit": "starting-surge"}, {"limit": "budget"}]


# the document ----------------------------------------------------------------------------------------------------


def test_document_has_the_keys_of_the_contract_in_order(found: Answer) -> None:
    text = document(found)
    told = json.loads(text)
    assert text.endswith("}\n")
    assert list(told) == [
        "schema", "job", "goal", "status", "currency", "prices_as_of", "inputs", "proof", "warnings", "estimated",
        "taken_as", "conditions", "bundles", "why",
    ]  # fmt: skip
    assert list(told["bundles"][0]) == [
        "rank", "total", "proven", "models", "counts", "strings", "bank", "legs", "purchases", "freight",
        "autonomy_days", "limits",
    ]  # fmt: skip
    assert list(told["bundles"][0]["limits"][0]) == [
        "limit", "value", "allowed", "raw_value", "raw_allowed", "unit", "sense", "where", "holds",
    ]  # fmt: skip
    assert told["schema"] == 1
    assert told["why"] == {}
    assert told["prices_as_of"] == ["2026-10-01", "2026-11-02"]


def money_in(told: object) -> Iterator[str]:
    if isinstance(told, dict):
        for key, value in told.items():
            if key in ("total", "cost", "unit_price", "next_bound") and value is not None:
                yield value
            yield from money_in(value)
    elif isinstance(told, list):
        for value in told:
            yield from money_in(value)


def test_money_is_text_with_two_decimals_and_adds_up(found: Answer) -> None:
    told = json.loads(document(found))
    for text in money_in(told):
        assert isinstance(text, str)
        assert len(text.rpartition(".")[2]) == 2
    bundle = told["bundles"][0]
    for purchase in bundle["purchases"]:
        lines = sum(line["quantity"] * Decimal(line["unit_price"]) for line in purchase["lines"])
        assert lines == Decimal(purchase["cost"])
        assert sum(line["quantity"] for line in purchase["lines"]) + purchase["on_hand"] >= purchase["needed"]
    goods = sum(Decimal(purchase["cost"]) for purchase in bundle["purchases"])
    freight = sum(Decimal(each["cost"]) for each in bundle["freight"])
    # 1480 + 14*139 + 2*1690 + (17 - 4 on hand)*62 + 48, and 95 of freight
    assert goods + freight == Decimal(bundle["total"]) == Decimal("7755.00")


def test_document_limits_carry_both_sides_with_and_without_reserve(found: Answer) -> None:
    limits = {each["limit"]: each for each in json.loads(document(found))["bundles"][0]["limits"]}
    cold = limits["cold-voltage"]
    assert (cold["allowed"], cold["raw_allowed"], cold["where"]) == (475.0, 500.0, "tracker 1")
    assert cold["value"] == pytest.approx(326.5988, rel=1e-8)
    surge = limits["starting-surge"]
    assert (surge["value"], surge["raw_value"], surge["allowed"]) == (12525.0, 10020.0, 13000.0)
    assert limits["daily-energy"]["where"] == "December"
    assert list(limits) == [name for name in LIMITS if name in limits]
    assert "bank-sag" not in limits  # this battery states no resistance
    assert all(each["holds"] for each in limits.values())


def test_units_on_legs_are_named_once_each(found: Answer) -> None:
    legs = json.loads(document(found))["bundles"][0]["legs"]
    assert sorted(legs["1"] + legs["2"]) == ["packing lights"] * 3


def test_infinite_autonomy_is_null(found: Answer) -> None:
    option = found.options[0]
    forever = replace(option, audit=replace(option.audit, autonomy_days=float("inf")))
    told = json.loads(document(replace(found, options=(forever,))))
    assert told["bundles"][0]["autonomy_days"] is None
    assert " any " in line_with(page(replace(found, options=(forever,))), "1  7,755.00")


def test_the_same_from_shuffled_files(found: Answer, tmp_path: Path) -> None:
    folder = tmp_path / "catalog"
    folder.mkdir()
    for file in sorted(found.catalog.folder.iterdir()):
        head, *rows = file.read_text().splitlines()
        order = list(reversed(range(len(head.split(",")))))
        turned = [",".join(line.split(",")[at] for at in order) for line in (head, *reversed(rows))]
        (folder / file.name).write_bytes("\r\n".join([*turned, ""]).encode())
    catalog = replace(read_catalog(folder), folder=found.catalog.folder, digest=found.catalog.digest)
    resolver = audited(catalog, found.job, pick(catalog, found.job))
    assert page(resolver, every_limit=True) == page(found, every_limit=True)
    assert document(resolver) == document(found)
    assert shopping_list(resolver, resolver.options[0]) == shopping_list(found, found.options[0])


def test_a_bundle_that_fails_is_never_an_answer(found: Answer) -> None:
    job = replace(found.job, site=replace(found.job.site, coldest_c=-250.0))  # 8 panels now read over 475 V
    with pytest.raises(RefusedError) as refused:
        audited(found.catalog, job, found.pick)
    assert "cold-voltage" in refused.value.limits


# tables ----------------------------------------------------------------------------------------------------------


def test_tables_wrap_texts_and_break_words_last() -> None:
    rows = [["part-with-a-long-id", "12.5", "some words that must go on to another line"]]
    drawn = table(rows, width=50, align="lrl")
    assert "part-with-a-long-id" in drawn
    assert max(map(len, drawn.splitlines())) <= 50
    assert " ".join(line[27:].strip() for line in drawn.splitlines()) == "some words that must go on to another line"


def test_empty_columns_are_left_out() -> None:
    assert table([["a", "", "b"]], align="lll", indent=0) == "a  b"
