"""The catalogue reader: what it makes of good files, that its two roads agree, and how it places what is wrong."""

from __future__ import annotations

import json
import time
from pathlib import Path
from unittest.mock import patch

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog import fast_path, read_catalog
from catalog.data_package import column_rows, data_package
from catalog.fast_path import read_fast
from catalog.offers import Seller
from catalog.reader import check_catalog, read_record, shipped_catalog
from catalog.sheet import read_carefully
from catalog.sheet_data import CsvSheet
from catalog.tables import PANELS, PRICES, TABLES
from optimizer import InputError
from optimizer.vocabulary.problem_kinds import KINDS
from optimizer.vocabulary.problems import Place, Problem
from optimizer.writing.words.problems import expected_text, mend_text, problem_lines, problems_text, warning_text
from tests.small_files import CATALOG, cells_of, changed, csv_text, write_catalog


def problems_of(folder: Path) -> list[tuple[str, str, int | None, str | None, str | None]]:
    """The problems of a folder as (kind, file, row, column letter, cell)."""
    found, _ = check_catalog(folder)
    return [(p.kind.id, p.place.file, p.place.row, p.place.column, p.place.cell) for p in found]


def same(one: CsvSheet, other: CsvSheet) -> bool:
    """Whether two sheets hold the same."""
    if not np.array_equal(one.row, other.row) or set(one.columns) != set(other.columns):
        return False
    for name, column in one.columns.items():
        if column.dtype != other.columns[name].dtype:
            return False
        if not all(a == b or (a != a and b != b) for a, b in zip(column, other.columns[name], strict=True)):
            return False
    return all(np.array_equal(one.taken[name], other.taken[name]) for name in one.taken)


# ---------------------------------------------------------------------------------------------- good files


def test_tables_are_sorted_by_id_and_remember_their_rows(tmp_path: Path) -> None:
    catalog = read_catalog(write_catalog(tmp_path / "c"))
    assert list(catalog.panels.part) == ["pn-300", "pn-410", "pn-550"]
    assert list(catalog.panels.row) == [4, 2, 3]
    assert catalog.panels.index_of("pn-410") == 1
    assert catalog.panels.index_of("pn-411") is None
    record = catalog.panels.record(1)
    assert record["part"] == "pn-410"
    assert record["voc_v"] == 37.4
    assert record["listed"] is True
    assert record["note"] == "one, two"
    assert type(record["voc_v"]) is float


def test_empty_cells_take_their_defaults_and_are_remembered(tmp_path: Path) -> None:
    catalog = read_catalog(write_catalog(tmp_path / "c"))
    six, eight = catalog.converters.index_of("cv-6k"), catalog.converters.index_of("cv-8k")
    assert six is not None
    assert eight is not None
    cv = catalog.converters
    assert [cv[name][six] for name in ("continuous_va", "leg_va", "leg_surge_va")] == [6000, 3000, 6500]
    assert [cv[name][six] for name in ("tracker_start_v", "array_max_w", "array_usable_w")] == [120, 10000, 8000]
    assert np.isinf(cv["tracker_strings"][six])
    assert np.isnan(cv["units_120"][six])
    assert cv["units_120_240"][six] == 1
    assert cv.taken["leg_va"][six]
    assert not cv.taken["leg_va"][eight]
    assert cv["leg_va"][eight] == 4500
    lfp, agm = catalog.batteries.record(0), catalog.batteries.record(2)
    by_chemistry = ("daily_pct", "capacity_pct_per_c", "charge_min_a", "coldest_discharge_c", "hottest_charge_c",
                    "hottest_discharge_c", "aged_pct")  # fmt: skip
    assert [lfp[name] for name in by_chemistry] == [90, 0.5, 0, -20, 50, 55, 80]
    assert [agm[name] for name in by_chemistry] == [25, 1.2, 10, -40, 50, 50, 80]
    assert list(catalog.racks["heat_c"]) == [0, 15]  # on the ground, on a roof
    assert list(catalog.panels["vmp_pct_per_c"]) == pytest.approx([-0.43, -0.39, -0.40])
    assert np.isnan(catalog.batteries["r_mohm"][0])
    assert np.isnan(catalog.panels["voc_pct_per_c"][2])
    assert catalog.extras.record(0)["when"] == "always"


def test_offers_are_in_cents_sorted_and_share_their_stock(tmp_path: Path) -> None:
    catalog = read_catalog(write_catalog(tmp_path / "c"))
    offers = catalog.offers
    assert list(offers.part) == sorted(offers.part)
    mine = np.flatnonzero(offers.part == "pn-550")
    assert list(offers.min_qty[mine]) == [1, 10]
    assert list(offers.cents[mine]) == [19900, 18900]
    assert list(offers.stock[mine]) == [40, 40]
    assert list(offers.stock[offers.part == "pn-410"]) == [-1]
    assert list(offers.row[mine]) == [3, 4]
    assert offers.cents.dtype == np.int64
    assert catalog.sellers == {"north": Seller(9500), "east": Seller(21000), "south": Seller(0)}
    assert catalog.currency == "USD"


def test_another_price_list_takes_the_place_of_prices_csv(tmp_path: Path) -> None:
    folder = write_catalog(tmp_path / "c", {name: text for name, text in CATALOG.items() if name != "prices.csv"})
    dearer = tmp_path / "list.csv"
    dearer.write_text(CATALOG["prices.csv"].replace("139.00", "151.00"))
    catalog = read_catalog(folder, dearer)
    assert catalog.offers.cents[catalog.offers.part == "pn-410"] == [15100]
    dearer.write_text(CATALOG["prices.csv"].replace("139.00", "1,5"))
    with pytest.raises(InputError) as raised:
        read_catalog(folder, dearer)
    assert raised.value.problems[0].place.file == str(dearer)


def test_comments_blank_rows_marks_and_line_ends_are_read_and_counted(tmp_path: Path) -> None:
    plain = read_catalog(write_catalog(tmp_path / "plain"))
    lines = CATALOG["panels.csv"].splitlines()
    noisy = ['# a comment, with "quotes', lines[0], "", lines[1], "# another", ",,,,,,,,,,,,,,,,", *lines[2:]]
    text = "\ufeff" + "\r\n".join(noisy) + "\r\n"
    catalog = read_catalog(write_catalog(tmp_path / "noisy", {**CATALOG, "panels.csv": text}))
    assert list(catalog.panels.row) == [8, 4, 7]
    assert all(np.array_equal(plain.panels[c], catalog.panels[c], equal_nan=c != "note" and c != "listed")
               for c in plain.panels.columns)  # fmt: skip


def test_a_line_break_inside_quotes_is_no_row_of_its_own(tmp_path: Path) -> None:
    text = CATALOG["panels.csv"].replace('"one, two"', '"one,\n# two\n\nthree"')
    catalog = read_catalog(write_catalog(tmp_path / "c", {**CATALOG, "panels.csv": text}))
    assert list(catalog.panels.row) == [4, 2, 3]
    assert catalog.panels.record(1)["note"] == "one,\n# two\n\nthree"


def test_the_digest_follows_the_content_alone(tmp_path: Path) -> None:
    one = read_catalog(write_catalog(tmp_path / "one"))
    crlf = {name: text.replace("\n", "\r\n") for name, text in CATALOG.items()}
    two = read_catalog(write_catalog(tmp_path / "two", crlf))
    other = read_catalog(write_catalog(tmp_path / "other", changed("prices.csv", "pn-410", "price", "139.01")))
    assert one.digest == two.digest
    assert one.digest.startswith("sha256:")
    assert one.digest != other.digest


def test_the_shipped_catalogue_reads_without_a_problem() -> None:
    if not shipped_catalog().is_dir():
        pytest.skip("no shipped catalogue in this checkout")
    problems, _ = check_catalog(shipped_catalog())
    assert problems_text(problems, 0).splitlines()[-1].startswith("0 problems")
    assert read_catalog(shipped_catalog()).generic


def test_warnings_name_what_is_left_aside(tmp_path: Path) -> None:
    files = changed("prices.csv", "bt-agm", "min_qty", "20")
    files["prices.csv"] = files["prices.csv"].replace("fu-1,north", "cb-1,west")
    files["racks.csv"] = files["racks.csv"].replace("max_row\n", "max_row,colour\n").replace("12\n", "12,red\n")
    files["racks.csv"] = files["racks.csv"].replace(",6\n", ",6,\n")
    files["prices.csv"] += "cv-3k,south,660,USD,,,,2026-11-02\n"
    files["panel.csv"] = "part\n"
    catalog = read_catalog(write_catalog(tmp_path / "c", files))
    said = sorted(warning.kind.id for warning in catalog.warnings)
    assert said == ["doubled-offer", "ignored-columns", "ignored-files", "parts-without-price", "seller-not-listed",
                    "stock-below-minimum"]  # fmt: skip
    texts = " ".join(warning_text(warning) for warning in catalog.warnings)
    for word in ("colour", "panel.csv", "3 of 15 parts", "fu-1", "west", "20 must be bought and there are 12"):
        assert word in texts
    assert catalog.sellers["west"] == Seller()
    assert next(w.place.row for w in catalog.warnings if w.kind.id == "doubled-offer") == 16


# ---------------------------------------------------------------------------------------------- whole files


def test_a_folder_without_what_is_needed(tmp_path: Path) -> None:
    assert problems_of(tmp_path / "nowhere")[0][0] == "missing-folder"
    (tmp_path / "empty").mkdir()
    assert [found[0] for found in problems_of(tmp_path / "empty")] == ["empty-folder"]
    rest = {name: text for name, text in CATALOG.items() if name != "panels.csv"}
    folder = write_catalog(tmp_path / "no-panels", rest)
    # one problem: the prices of its panels are no second fault
    assert problems_of(folder) == [("missing-file", "panels.csv", None, None, None)]


@pytest.mark.parametrize(
    ("data", "kind"),
    [
        (b"", "empty-file"),
        (b"\n\n# nothing\n", "empty-file"),
        (CATALOG["panels.csv"].splitlines()[0].encode(), "empty-file"),
        (CATALOG["panels.csv"].encode("utf-16"), "not-utf8"),
        (CATALOG["panels.csv"].encode("utf-16-le"), "not-utf8"),
        (CATALOG["panels.csv"].replace("one", "gr\u00f6\u00dfer").encode("latin-1"), "not-utf8"),
        (CATALOG["panels.csv"].replace('"one, two"', "").replace(",", ";").replace(".", ",").encode(), "not-commas"),
        (CATALOG["panels.csv"].replace('"one, two"', "").replace(",", "\t").encode(), "not-commas"),
    ],
)
def test_a_file_that_is_wrong_as_a_whole_is_one_problem(tmp_path: Path, data: bytes, kind: str) -> None:
    folder = write_catalog(tmp_path / "c")
    (folder / "panels.csv").write_bytes(data)
    found, _ = check_catalog(folder)
    assert [(p.kind.id, p.place.file) for p in found] == [(kind, "panels.csv")]


def test_semicolons_are_named_with_their_decimal_commas(tmp_path: Path) -> None:
    text = CATALOG["sellers.csv"].replace(",", ";").replace("210.00", "210,00")
    found, _ = check_catalog(write_catalog(tmp_path / "c", {**CATALOG, "sellers.csv": text}))
    said = "\n".join(problem_lines(found[0]))
    for word in ("semicolons", "decimal commas", "Save as", "CSV"):
        assert word in said


# ---------------------------------------------------------------------------------------------- headings


def test_headings_close_to_a_known_one_are_errors_and_others_are_not(tmp_path: Path) -> None:
    text = CATALOG["panels.csv"].replace("voc_pct_per_c,", "voc_pct_perc,", 1)
    assert problems_of(write_catalog(tmp_path / "slip", {**CATALOG, "panels.csv": text})) == [
        ("unknown-column", "panels.csv", 1, "G", "voc_pct_perc")
    ]
    text = CATALOG["panels.csv"].replace("pmax_w,", "Pmax_W,", 1)  # a required one: not also missing
    assert problems_of(write_catalog(tmp_path / "case", {**CATALOG, "panels.csv": text})) == [
        ("unknown-column", "panels.csv", 1, "B", "Pmax_W")
    ]
    text = CATALOG["panels.csv"].replace(",note", ",cost", 1)  # four letters: no slip, just another column
    assert problems_of(write_catalog(tmp_path / "short", {**CATALOG, "panels.csv": text})) == []
    text = CATALOG["panels.csv"].replace(",note", ",voc_v", 1)
    assert problems_of(write_catalog(tmp_path / "twice", {**CATALOG, "panels.csv": text})) == [
        ("doubled-column", "panels.csv", 1, "Q", "voc_v")
    ]
    text = CATALOG["panels.csv"].replace("voc_v,", "ocv,", 1)
    found, _ = check_catalog(write_catalog(tmp_path / "gone", {**CATALOG, "panels.csv": text}))
    assert [(p.kind.id, p.place.name) for p in found] == [("missing-column", "voc_v")]


# ---------------------------------------------------------------------------------------------- rows


def test_rows_that_fall_apart_hide_no_other(tmp_path: Path) -> None:
    lines = CATALOG["panels.csv"].splitlines()
    lines[1] += ",extra"
    lines[2] = lines[2].replace("pn-550,550", 'pn-550,"550')
    lines[3] = lines[3].replace("-0.29", "0.29")
    found = problems_of(write_catalog(tmp_path / "c", {**CATALOG, "panels.csv": "\n".join(lines)}))
    assert found == [
        ("ragged-row", "panels.csv", 2, None, None),
        ("open-quote", "panels.csv", 3, None, None),
        ("out-of-range", "panels.csv", 4, "G", "0.29"),
    ]


def test_a_hundred_megabytes_in_one_cell_are_one_problem_and_no_wait(tmp_path: Path) -> None:
    folder = write_catalog(tmp_path / "c")
    lines = CATALOG["panels.csv"].splitlines()
    lines[2] = lines[2].replace("1500", "1" * 100_000_000)
    (folder / "panels.csv").write_text("\n".join(lines))
    before = time.perf_counter()
    found, _ = check_catalog(folder)
    text = problems_text(found, 9)
    assert time.perf_counter() - before < 20
    (folder / "panels.csv").unlink()  # temporary folders are kept for a while
    assert [(p.kind.id, p.place.row, p.place.column) for p in found] == [("long-cell", 3, "N")]
    assert len(text) < 500


def test_part_ids_are_unique_within_and_across_files(tmp_path: Path) -> None:
    files = dict(CATALOG)
    files["panels.csv"] += CATALOG["panels.csv"].splitlines()[1] + "\n"
    files["tanks.csv"] += "rk-b,400,,\n"
    found, _ = check_catalog(write_catalog(tmp_path / "c", files))
    assert [(p.kind.id, p.place.file, p.place.row, p.slots["file"], p.slots["row"]) for p in found] == [
        ("doubled-part", "panels.csv", 5, "panels.csv", "2"),
        ("doubled-part", "tanks.csv", 3, "racks.csv", "3"),
    ]


def test_a_part_with_a_faulty_row_is_still_known_to_its_prices(tmp_path: Path) -> None:
    files = changed("converters.csv", "cv-6k", "surge_va", "much")
    files["racks.csv"] = files["racks.csv"].replace("rk-a,", "rk-a,,")
    assert [found[0] for found in problems_of(write_catalog(tmp_path / "c", files))] == ["not-a-number", "ragged-row"]


def test_a_lost_id_is_not_reported_again_at_its_price(tmp_path: Path) -> None:
    files = changed("panels.csv", "pn-410", "part", "")
    files["prices.csv"] += "nobody,north,5,USD,,,,2026-10-01\n"
    found = problems_of(write_catalog(tmp_path / "c", files))
    assert found == [
        ("missing-value", "panels.csv", 2, "A", ""),
        ("unknown-part", "prices.csv", 16, "A", "nobody"),
    ]


def test_defaults_of_a_faulty_cell_break_no_rule(tmp_path: Path) -> None:
    # leg_va stated 4500 would exceed a continuous_va that cannot be read; surge_va would too
    files = changed("converters.csv", "cv-8k", "continuous_va", "8000 VA")
    assert [found[0] for found in problems_of(write_catalog(tmp_path / "c", files))] == ["not-a-number"]


# ------------------------------------------------------------------------------------------ both roads


@pytest.mark.parametrize("large", [0, fast_path.LARGE], ids=["as a large file", "as a small one"])
@pytest.mark.parametrize("kind", sorted(TABLES))
def test_both_roads_read_the_same(kind: str, large: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fast_path, "LARGE", large)
    spec = TABLES[kind]
    text = CATALOG[spec.file]
    fast = read_fast(text.encode(), spec, spec.file)
    careful = read_carefully(text, spec, spec.file)
    assert fast is not None
    assert careful.problems == []
    assert same(fast.sheet, careful.sheet)


ODD_CELL = st.one_of(
    st.sampled_from([
        "", " ", "0", "-1", "1e3", "1e999", "nan", "inf", "NaN", "1_000", "0x10", "1,5", "49.5 V", " 37.4", "37.4 ",
        "1.", ".5", "+3", "#", "#x", "yes", "no", "YES", "a\nb", 'a"b', "Infinity", "1d3", "true", "\u0663", "--1",
        "9" * 400, "1e-400", "5000", "lfp", "pn-410", "2026-13-01", "2026-10-01", "USD", "\u00a0", "x" * 5000,
    ]),
    st.floats(allow_nan=False, allow_infinity=False).map(repr),
    st.text(max_size=8),
)  # fmt: skip


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_both_roads_agree_on_any_cells(data: st.DataObject) -> None:
    spec = data.draw(st.sampled_from([PANELS, PRICES, TABLES["converter"], TABLES["battery"]]))
    rows = cells_of(CATALOG[spec.file])
    for _ in range(data.draw(st.integers(1, 3))):
        row = data.draw(st.integers(1, len(rows) - 1))
        column = data.draw(st.integers(0, len(rows[0]) - 1))
        rows[row][column] = data.draw(ODD_CELL).replace("\0", "").replace("\r", "")
    text = csv_text(rows)
    if data.draw(st.booleans()):
        text = text.replace('"', "")
    with patch.object(fast_path, "LARGE", data.draw(st.sampled_from([0, fast_path.LARGE]))):
        fast = read_fast(text.encode(errors="ignore"), spec, spec.file)
    careful = read_carefully(text.encode(errors="ignore").decode(), spec, spec.file)
    if fast is not None:
        assert careful.problems == []
        assert same(fast.sheet, careful.sheet)


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=300), st.sampled_from(sorted(TABLES)), st.booleans())
def test_no_bytes_bring_a_traceback(data: bytes, kind: str, after_headings: bool) -> None:
    from catalog.sheet import read_sheet

    spec = TABLES[kind]
    if after_headings:
        data = CATALOG[spec.file].encode() + data
    reading = read_sheet(data.replace(b"\r", b"\n"), spec, spec.file)
    assert reading.problems or len(reading.sheet.row) == len(reading.sheet.columns[spec.key])
    for problem in reading.problems:
        assert all(len(line) <= 80 or " " not in line.strip() for line in problem_lines(problem))


# ---------------------------------------------------------------------------------- the dictionary


def test_every_problem_can_be_said(tmp_path: Path) -> None:
    files = {name: text.replace("2", "x") for name, text in CATALOG.items()}
    found, _ = check_catalog(write_catalog(tmp_path / "c", files))
    assert len(found) > 50
    for problem in found:
        assert "{" not in expected_text(problem) + mend_text(problem)


def test_columns_are_listed_with_all_that_is_known_of_them() -> None:
    rows = column_rows()
    assert len(rows) == sum(len(spec.columns) for spec in TABLES.values())
    assert all(row["meaning"] for row in rows)
    voc = next(row for row in rows if row["column"] == "voc_v")
    assert voc["range"] == "0 < voc_v <= 500"
    assert voc["unit"] == "V"


def test_the_descriptor_names_every_column_and_is_plain_json() -> None:
    package = json.loads(json.dumps(data_package(), allow_nan=False))
    fields = {(r["path"], f["name"]) for r in package["resources"] for f in r["schema"]["fields"]}
    assert fields == {(spec.file, column.name) for spec in TABLES.values() for column in spec.columns}


def test_a_part_of_an_offer_is_held_to_the_dictionary_of_columns() -> None:
    row = {"part": "p", "pmax_w": 410, "voc_v": 37.4, "vmp_v": 31.2, "isc_a": 13.9, "imp_a": 13.14,
           "pmax_pct_per_c": -0.34, "length_mm": 1722, "width_mm": 1134, "weight_kg": 21.5, "max_system_v": 1000,
           "max_fuse_a": 25}  # fmt: skip
    for wrong in ({"voc_v": 0}, {"voc_v": float("nan")}, {"pmax_pct_per_c": 0.1}, {"vocv": 1}, {"part": ""}):
        assert read_record("panel", {**row, **wrong}, Place("offer.toml", 3, None, "part.panel"))[1]
    record, problems = read_record("panel", row, Place("offer.toml"))
    assert not problems
    assert record is not None
    assert dict(record)["voc_v"] == 37.4
    assert dict(record)["noct_c"] == 45.0


def test_a_part_of_an_offer_is_placed_by_its_key() -> None:
    place = Place("offer.toml", 3, None, "part.battery")
    row = dict(zip(*cells_of(CATALOG["batteries.csv"])[:2], strict=True))
    record, problems = read_record("battery", {**row, "max_series": 1, "peak_a": "100"}, place)
    assert record is None
    assert [(p.kind.id, p.place.row, p.place.name, p.place.cell) for p in problems] == [
        ("columns-disagree", 3, "part.battery.peak_a", "100")
    ]


def test_kinds_are_a_closed_list_with_ids_of_their_own() -> None:
    assert all(kind.id == name and kind.title and kind.why for name, kind in KINDS.items())
    assert all(name == name.lower() and " " not in name for name in KINDS)


def test_very_many_alike_are_counted_not_listed() -> None:
    many = [Problem(KINDS["not-a-date"], Place("prices.csv", row, "H", "as_of", "x")) for row in range(2, 300)]
    text = problems_text(many, 7)
    assert "prices.csv, column H: 248 more of not-a-date." in text
    assert text.splitlines()[-1] == "298 problems in 1 of 7 files; nothing was solved."
