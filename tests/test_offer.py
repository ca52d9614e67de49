"""Bundles from files: what is read of a good one, and what is said of one that contradicts itself."""

from __future__ import annotations

import json
import tomllib
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.reader import Catalog, read_catalog
from optimizer.answers.answer import audited
from optimizer.auditor.audit import audit
from optimizer.bundles.bundle import Bundle
from optimizer.bundles.bundle_file import read_bundle
from optimizer.candidates.terms import Setting
from optimizer.costs.market import Market
from optimizer.explain.verdict import judge
from optimizer.inputs.job import Job
from optimizer.inputs.job_reader import read_job
from optimizer.search.branch_and_bound import pick
from optimizer.search.cheapest_order import out_of_reach, price_order
from optimizer.vocabulary.problems import InputError
from optimizer.writing.data.answer_json import document
from optimizer.writing.words.problems import problems_text

DATA = Path(__file__).parent / "data" / "offers"
GOOD = (DATA / "good.toml").read_text(encoding="utf-8")
DEALER = (DATA / "dealer.toml").read_text(encoding="utf-8")
# the fixture's converter, described in an offer; what the CSV leaves empty is left out here
OWN_CONVERTER = """
[part.converter]
part = "their-converter"
continuous_w = 6500
surge_va = 13000
surge_s = 3
leg_va = 4000
leg_surge_va = 8000
efficiency_pct = 92
idle_w = 40
hz = "60"
bank_class_v = 48
bank_min_v = 42
bank_max_v = 62
charge_a = 160
charge_settable = true
trackers = 2
tracker_max_v = 500
tracker_min_v = 120
tracker_top_v = 430
tracker_usable_a = 32
tracker_isc_a = 60
tracker_max_w = 6000
tracker_usable_w = 5000
tracker_strings = 3
max_units = 2
units_120_240 = 1
listed = true
"""
OWN = GOOD.replace('converter = "of-converter"\n', "") + OWN_CONVERTER


@pytest.fixture(scope="module")
def job() -> Job:
    return read_job(DATA / "job.toml")


@pytest.fixture(scope="module")
def catalog() -> Catalog:
    return read_catalog(DATA / "catalog")


@pytest.fixture
def read(tmp_path: Path, job: Job, catalog: Catalog) -> Any:
    """Reads a text as a bundle file."""

    def reader(text: str, name: str = "offer.toml", rank: str = "") -> Bundle:
        (tmp_path / name).write_text(text, encoding="utf-8")
        return read_bundle(f"{tmp_path / name}{rank}", job, catalog)

    return reader


def changed(text: str, *pairs: tuple[str, str]) -> str:
    """A text with pieces of it changed, each of which stands there once."""
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def problems(read: Any, text: str, *more: str) -> list[tuple[str, int | None, str | None]]:
    """What is wrong with a text: kind, line, key. Everything that is said of it can be printed."""
    with pytest.raises(InputError) as caught:
        read(text, *more)
    assert problems_text(caught.value.problems, 1)
    return [(p.kind.id, p.place.row, p.place.name) for p in caught.value.problems]


# ------------------------------------------------------------------------------------------------ good files


def test_an_offer_by_hand_is_read_whole(read: Any) -> None:
    bundle = read(GOOD)
    assert bundle.models == {
        "converter": "of-converter", "panel": "of-panel", "battery": "of-battery", "rack": "of-rack"}  # fmt: skip
    assert (bundle.units, bundle.panels, bundle.bank_series, bundle.bank_parallel) == (1, 14, 1, 2)
    assert [(s.tracker, s.parallel, s.series) for s in bundle.strings] == [(1, 1, 7), (2, 1, 7)]
    assert (bundle.order, bundle.quoted_cents, bundle.rack_units, bundle.legs) == (None, None, None, None)
    assert ("of-panel", "noct_c") in bundle.defaults_taken
    assert ("of-panel", "voc_pct_per_c") not in bundle.defaults_taken


def test_class_voltage_and_count_settle_the_bank(read: Any) -> None:
    blocks = (('battery = "of-battery"', 'battery = "of-block"'), ("battery = 2", "battery = 8"))
    bundle = read(changed(GOOD, *blocks))
    assert (bundle.bank_series, bundle.bank_parallel) == (4, 2)
    stated = read(changed(GOOD, *blocks) + "[bank]\nseries = 2\nparallel = 4\n")
    assert (stated.bank_series, stated.bank_parallel) == (2, 4)  # wrong volts, which the auditor says


def test_trackers_take_the_free_numbers(read: Any) -> None:
    text = changed(GOOD, ("[[strings]]\nparallel = 1\nseries = 7\n\n[[strings]]", "[[strings]]\ntracker = 1\n"
                          "parallel = 2\nseries = 2\n[[strings]]\nparallel = 1\nseries = 3\n[[strings]]"))  # fmt: skip
    bundle = read(text)
    assert [(s.tracker, s.parallel, s.series) for s in bundle.strings] == [(1, 2, 2), (2, 1, 3), (3, 1, 7)]


def test_parts_of_no_catalogue_are_judged_like_those_of_one(read: Any, job: Job, catalog: Catalog) -> None:
    theirs, ours = read(OWN), read(GOOD)
    assert theirs.models["converter"] == "their-converter"
    taken = {column for part, column in ours.defaults_taken if part == "of-converter"}
    assert taken == {column for part, column in theirs.defaults_taken if part == "their-converter"}
    of_theirs = [(r.limit, r.value, r.allowed, r.where) for r in audit(job, theirs).readings]
    assert of_theirs == [(r.limit, r.value, r.allowed, r.where) for r in audit(job, ours).readings]


def test_an_own_part_may_do_without_an_id(read: Any) -> None:
    assert read(changed(OWN, ('part = "their-converter"\n', ""))).models["converter"] == "offered-converter"
    named = changed(OWN, ('part = "their-converter"\n', ""), ("[models]", '[models]\nconverter = "big one"'))
    assert read(named).models["converter"] == "big one"


def test_json_says_the_same(read: Any) -> None:
    for text in (GOOD, OWN, DEALER):
        from_json = read(json.dumps(tomllib.loads(text)), "offer.json")
        from_toml = read(text)
        assert (from_json.name, from_toml.name) == ("offer.json", "offer.toml")
        assert repr(from_json).replace("offer.json", "") == repr(from_toml).replace("offer.toml", "")


def test_a_price_for_the_whole(read: Any) -> None:
    for written, cents in (("7200.00", 720000), ("7200", 720000), ('"7200.5"', 720050), ("0.29", 29)):
        assert read(changed(DEALER, ("7200.00", written))).quoted_cents == cents


def test_legs_are_placed_unit_by_unit(read: Any, job: Job) -> None:
    lights = "packing lights"
    bundle = read(GOOD + f'[legs]\n1 = ["{lights}", "{lights}"]\n2 = ["{lights}"]\n')
    assert bundle.legs == {lights: (2, 1)}
    assert audit(job, bundle).legs == {lights: (2, 1)}


# -------------------------------------------------------------------------------------------- wrong files


def line(start: str, text: str = GOOD) -> int:
    """The number of the first line that starts so."""
    return next(n for n, each in enumerate(text.splitlines(), 1) if each.startswith(start))


@pytest.mark.parametrize(
    ("old", "new", "kind", "name"),
    [
        ("panel = 14", "panel = 13", "counts-disagree", "counts.panel"),
        ("battery = 2", "battery = 2\nrack = 0", "out-of-range", "counts.rack"),
        ("battery = 2", "battery = 2.5", "not-whole", "counts.battery"),
        ("converter = 1", 'converter = "1"', "wrong-type", "counts.converter"),
        ("converter = 1\n", "", "missing-key", "counts.converter"),
        ("battery = 2\n", "", "missing-key", "bank.parallel"),
        ('panel = "of-panel"', 'panel = "of-panell"', "unknown-name", "models.panel"),
        ('panel = "of-panel"', 'panel = "of-rack"', "unknown-name", "models.panel"),
        ('panel = "of-panel"\n', "", "missing-key", "models.panel"),
        ('panel = "of-panel"', "panel = 5", "wrong-type", "models.panel"),
        ("[models]", "quote = 7200.00\n[models]", "unknown-key", "quote"),
        ("[models]", "quoted = 7200.001\n[models]", "not-cents", "quoted"),
        ("[models]", "quoted = inf\n[models]", "not-finite", "quoted"),
        ("[models]", "quoted = -1\n[models]", "out-of-range", "quoted"),
        ("[models]", 'quoted = "7200 USD"\n[models]', "wrong-type", "quoted"),
        ("[models]", "bank = 2\n[models]", "wrong-type", "bank"),
        ("[[strings]]\nparallel = 1\nseries = 7\n\n", "[[strings]]\nparallel = 2\nserie = 7\nseries = 3\n\n"
         "[[strings]]\nparallel = 1\nseries = 1\n", "unknown-key", "strings 1.serie"),
    ],
)  # fmt: skip
def test_one_fault_is_one_problem(read: Any, old: str, new: str, kind: str, name: str) -> None:
    found = problems(read, GOOD.replace(old, new, 1))
    assert [(kind, name)] == [(each, where) for each, _, where in found]


def test_a_problem_names_its_line(read: Any) -> None:
    text = changed(GOOD, ("panel = 14", "panel = 15"), ('rack = "of-rack"', 'rack = "of-rak"'))
    assert problems(read, text) == [
        ("unknown-name", line("rack =", text), "models.rack"),
        ("counts-disagree", line("panel = 15", text), "counts.panel"),
    ]


def test_a_misspelt_table_is_not_missing_besides(read: Any) -> None:
    assert [kind for kind, _, _ in problems(read, changed(GOOD, ("[models]", "[model]")))] == ["unknown-key"]
    assert [kind for kind, _, _ in problems(read, GOOD.replace("[[strings]]", "[[string]]"))] == ["unknown-key"]


def test_a_bank_that_no_whole_number_makes(read: Any) -> None:
    blocks = changed(GOOD, ('battery = "of-battery"', 'battery = "of-block"'), ("battery = 2", "battery = 6"))
    assert problems(read, blocks) == [("counts-disagree", line("battery = 6", blocks), "counts.battery")]
    twelve = changed(OWN, ("bank_class_v = 48\nbank_min_v = 42\nbank_max_v = 62",
                           "bank_class_v = 12\nbank_min_v = 10.5\nbank_max_v = 15.5"))  # fmt: skip
    assert [(kind, name) for kind, _, name in problems(read, twelve)] == [("missing-key", "bank.series")]


def test_two_entries_for_one_tracker(read: Any) -> None:
    text = GOOD.replace("parallel = 1", "tracker = 2\nparallel = 1")
    assert [(kind, name) for kind, _, name in problems(read, text)] == [("doubled-tracker", "strings 2.tracker")]


def test_strings_without_the_fuses_they_need(read: Any) -> None:
    # two other strings push back 2 x 1.25 x 13.9 A = 34.75 A, over the panel's 25 A; one pushes 17.4 A
    wired = changed(GOOD, ("parallel = 1\nseries = 7\n\n", "parallel = {}\nseries = 2\n\n"), ("panel = 14\n", ""))
    assert [s.fused for s in read(wired.format("3\nfused = false")).strings] == [False, False]  # fuse-fits fails it
    assert [s.fused for s in read(wired.format("3\nfused = true")).strings] == [True, False]
    assert [s.fused for s in read(wired.format("3")).strings] == [True, False]
    assert [s.fused for s in read(wired.format("2\nfused = false")).strings] == [False, False]


def test_what_is_wrong_with_an_own_part(read: Any) -> None:
    text = changed(
        OWN, ("surge_va = 13000", "surge_va = 1300"), ("efficiency_pct = 92", "efficiency = 92"),
        ("idle_w = 40", 'idle_w = "forty"'), ("trackers = 2", "trackers = 2.5"),
    )  # fmt: skip
    prefix = "part.converter."
    assert sorted((kind, name, row) for kind, row, name in problems(read, text)) == sorted([
        ("columns-disagree", f"{prefix}surge_va", line("surge_va", text)),
        ("unknown-key", f"{prefix}efficiency", line("efficiency", text)),
        ("missing-value", f"{prefix}efficiency_pct", line("[part.converter]", text)),
        ("not-a-number", f"{prefix}idle_w", line("idle_w", text)),
        ("not-whole", f"{prefix}trackers", line("trackers", text)),
    ])  # fmt: skip


def test_an_own_part_must_not_borrow_an_id(read: Any) -> None:
    borrowed = changed(OWN, ("their-converter", "of-battery"))
    assert [kind for kind, _, _ in problems(read, borrowed)] == ["id-of-catalogue"]
    twice = changed(OWN, ("[models]", '[models]\nconverter = "another"'))
    assert [kind for kind, _, _ in problems(read, twice)] == ["two-ids"]


@pytest.mark.parametrize(
    ("legs", "kinds"),
    [
        ('1 = ["packing lights"]', ["legs-disagree"]),
        ('1 = ["packing light"]', ["not-on-a-leg"]),
        ('1 = ["bore pump"]', ["not-on-a-leg"]),
        ('1 = "packing lights"', ["wrong-type"]),
        ('3 = ["packing lights"]', ["unknown-key"]),
    ],
)
def test_legs_that_do_not_carry_what_the_job_has(read: Any, legs: str, kinds: list[str]) -> None:
    assert [kind for kind, _, _ in problems(read, f"{GOOD}[legs]\n{legs}\n")] == kinds


@pytest.mark.parametrize(
    ("text", "name", "kind"),
    [
        ("", "offer.toml", "empty-file"),
        ("models = [", "offer.toml", "toml-syntax"),
        ('{"models": }', "offer.json", "json-syntax"),
        ('{"models": {}, "models": {}}', "offer.json", "json-syntax"),
        ('{"quoted": NaN}', "offer.json", "json-syntax"),
        ("[1]", "offer.json", "wrong-type"),
        ("[" * 100_000, "offer.json", "json-syntax"),
        ("x = " + "9" * 5000, "offer.toml", "toml-syntax"),
    ],
)
def test_files_that_cannot_be_read(read: Any, text: str, name: str, kind: str) -> None:
    assert [found for found, _, _ in problems(read, text, name)] == [kind]


def test_a_file_that_is_not_there_or_not_text(tmp_path: Path, job: Job, catalog: Catalog) -> None:
    (tmp_path / "wide.toml").write_bytes(GOOD.encode("utf-16"))
    for name, kind in (("none.toml", "unreadable-file"), ("wide.toml", "not-utf8"), (".", "unreadable-file")):
        with pytest.raises(InputError) as caught:
            read_bundle(tmp_path / name, job, catalog)
        assert [p.kind.id for p in caught.value.problems] == [kind]


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=5,
)
PLACES = [
    ("models",), ("models", "panel"), ("counts",), ("counts", "battery"), ("strings",), ("strings", 0),
    ("strings", 0, "tracker"), ("strings", 1, "series"), ("bank",), ("bank", "series"), ("legs",), ("legs", "1"),
    ("part",), ("part", "converter"), ("part", "converter", "surge_va"), ("part", "converter", "part"), ("quoted",),
    ("purchases",), ("freight",), ("bundles",), ("strings", 0, "fused"), ("part", "converter", "hz"),
]  # fmt: skip


@pytest.mark.thorough
@given(place=st.sampled_from(PLACES), value=JSON)
@settings(max_examples=150, deadline=None)
def test_no_content_breaks_the_reader(
    place: tuple[str | int, ...], value: object, tmp_path_factory: pytest.TempPathFactory
) -> None:
    content: Any = {**tomllib.loads(OWN), "bank": {}, "legs": {}}
    inside = content
    for step in place[:-1]:
        inside = inside[step]
    inside[place[-1]] = value
    path = tmp_path_factory.getbasetemp() / "mutated.json"
    path.write_text(json.dumps(content), encoding="utf-8")
    job, catalog = read_job(DATA / "job.toml"), read_catalog(DATA / "catalog")
    try:
        audit(job, read_bundle(path, job, catalog), catalog)
    except InputError as error:
        assert problems_text(error.problems, 1)


# ------------------------------------------------------------------------------------------------- answers


@pytest.fixture(scope="module")
def answer(job: Job, catalog: Catalog) -> Any:
    """A search's answer and its JSON."""
    found = audited(catalog, job, pick(catalog, job, 3))
    assert len(found.options) >= 2
    return found, json.loads(document(found))


def test_an_answer_comes_back_as_it_was(read: Any, answer: Any, job: Job, catalog: Catalog) -> None:
    found, content = answer
    for option in found.options:
        rank = option.rank
        back = read(json.dumps(content), "answer.json", f"#{rank}")
        own = option.bundle
        assert back.name == f"answer.json#{rank}"
        assert back.order == own.order
        assert (back.models, back.units, back.strings) == (own.models, own.units, own.strings)
        assert (back.bank_series, back.bank_parallel, back.rack_units) == (
            own.bank_series, own.bank_parallel, own.rack_units)  # fmt: skip
        assert set(back.defaults_taken) == set(own.defaults_taken)
        judged = judge(job, back, catalog)
        assert judged.audit.passes
        assert not judged.audit.not_judged
        assert judged.cents == option.cents
        assert judged.audit.legs == option.audit.legs
    assert read(json.dumps(content), "answer.json").models == found.options[0].bundle.models


def test_an_answer_that_is_not_as_it_was(read: Any, answer: Any) -> None:
    _, content = answer

    def altered(change: Any) -> list[tuple[str, str | None]]:
        copy = json.loads(json.dumps(content))
        change(copy)
        return [(kind, name) for kind, _, name in problems(read, json.dumps(copy), "answer.json")]

    first = "bundles 1"
    assert altered(lambda c: c["bundles"][0].update(total="1.00")) == [("counts-disagree", f"{first}.total")]
    assert altered(lambda c: c["bundles"][0]["purchases"][0].update(cost="1.00")) == [
        ("counts-disagree", f"{first}.purchases 1.cost")]  # fmt: skip
    assert altered(lambda c: c["bundles"][0]["counts"].update(panel=99)) == [
        ("counts-disagree", f"{first}.counts.panel")]  # fmt: skip
    assert altered(lambda c: c.update(currency="EUR")) == [("other-currency", "currency")]
    assert altered(lambda c: c.update(schema=2)) == [("wrong-type", "schema")]
    assert altered(lambda c: c.update(bundles=[])) == [("no-such-rank", "bundles")]


def test_ranks_that_are_not_there(read: Any, answer: Any) -> None:
    _, content = answer
    assert problems(read, json.dumps(content), "answer.json", "#9")[0][0] == "no-such-rank"
    assert problems(read, GOOD, "offer.toml", "#1")[0][0] == "no-such-rank"
    assert read(GOOD, "offer#1").models["panel"] == "of-panel"  # a file may be called so


# -------------------------------------------------------------------------------------------------- prices


def dearest_first(needs: dict[str, int]) -> int:
    """The least total of the fixture's price list by plain trial: every split of panels over both sellers."""
    prices = {"of-converter": 148000, "of-battery": 169000, "of-rack": 6200, "of-fuse": 650, "of-cable": 4800}
    panels = needs.get("of-panel", 0)
    best = None
    for pairs, single in product(range(panels // 2 + 2), range(panels + 1)):
        if 2 * pairs + single < panels:
            continue
        hill = 2 * pairs * 13900 + sum(pieces * prices[part] for part, pieces in needs.items() if part in prices)
        total = hill + single * 15000 + (9500 if hill else 0) + (3000 if single else 0)
        best = total if best is None else min(best, total)
    return best or 0


@pytest.mark.parametrize(
    "needs",
    [
        {"of-panel": 1}, {"of-panel": 4}, {"of-panel": 5, "of-cable": 1}, {"of-panel": 11, "of-rack": 16},
        {"of-panel": 7, "of-battery": 4, "of-converter": 2, "of-fuse": 3},
    ],
)  # fmt: skip
def test_an_order_is_the_cheapest_there_is(needs: dict[str, int], job: Job, catalog: Catalog) -> None:
    order = price_order(needs, Market.of(catalog, Setting.of(job)))
    assert order is not None
    assert order.cents == dearest_first(needs)
    assert {p.part: p.needed for p in order.purchases} == needs


def test_what_is_on_hand_is_not_bought(tmp_path: Path, catalog: Catalog) -> None:
    path = tmp_path / "job.toml"
    path.write_text((DATA / "job.toml").read_text() + "[on_hand]\nof-battery = 3\nof-six = 4\n", encoding="utf-8")
    market = Market.of(catalog, Setting.of(read_job(path)))
    order = price_order({"of-battery": 4}, market)
    assert order is not None
    assert order.cents == 169000 + 9500
    free = price_order({"of-six": 4}, market)  # no seller has it, and none need have it
    assert free is not None
    assert (free.cents, free.purchases[0].on_hand) == (0, 4)


def test_what_cannot_be_had(job: Job, catalog: Catalog) -> None:
    market = Market.of(catalog, Setting.of(job))
    needs = {"of-panel": 2, "of-battery": 5, "of-block": 1}  # four in stock, and no price at all
    assert price_order(needs, market) is None
    assert out_of_reach(needs, market) == ("of-battery", "of-block")
    assert out_of_reach({"of-battery": 4}, market) == ()


def test_an_offer_of_catalogue_parts_is_priced(read: Any, job: Job, catalog: Catalog) -> None:
    # two strings of 7 in rows of 6: 2 x (7 + 2) = 18 racks; a cable for the system
    by_hand = 14 * 13900 + 148000 + 2 * 169000 + 18 * 6200 + 4800 + 9500
    verdict = judge(job, read(GOOD), catalog)
    assert (verdict.cents, verdict.rack_units, verdict.audit.passes) == (by_hand, 18, True)
    bare = judge(job, read(changed(GOOD, ('rack = "of-rack"\n', ""))), catalog)
    assert bare.cents == by_hand - 18 * 6200 - 4800
    assert "mounting-fit" in bare.audit.not_judged


def test_an_order_for_parts_of_no_catalogue_is_a_price_for_the_whole(read: Any, job: Job, catalog: Catalog) -> None:
    order = """
[[purchases]]
part = "their-converter"
needed = 1
lines = [{seller = "dealer", quantity = 1, unit_price = "5000.00"}]
[[freight]]
seller = "dealer"
cost = 80
"""
    bundle = read(OWN + order)
    assert (bundle.order, bundle.quoted_cents) == (None, 508000)
    assert {"priced", "stock"} <= set(judge(job, bundle, catalog).audit.not_judged)
    assert problems(read, changed(OWN + order, ("[models]", "quoted = 1\n[models]")))[0][0] == "two-prices"
