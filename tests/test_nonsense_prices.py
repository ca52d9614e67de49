"""Slips in price lists and lists of sellers, and names that deceive: each ends in an error or a warning."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from catalog.notes import concerning
from catalog.reader import check_catalog, read_catalog, read_price_list
from optimizer.vocabulary.problems import InputError
from optimizer.writing.words.problems import warning_text
from tests.small_files import CATALOG, cells_of, changed, csv_text, write_catalog

ROW = "pn-410,north,139.00,USD,1,1,,2026-10-01\n"
SIGNS = {
    "zero-width space": "\u200b", "zero-width joiner": "\u200d", "byte-order mark": "\ufeff", "soft hyphen": "\u00ad",
    "no-break space": "\u00a0", "narrow space": "\u202f", "turned writing": "\u202e", "blank pattern": "\u2800",
    "filler": "\u3164", "joiner of graphemes": "\u034f", "selector": "\ufe0f", "escape": "\x1b",
}  # fmt: skip


def told(folder: Path, today: date | None = None) -> tuple[list[str], list[str], str]:
    """The kinds of problems and warnings, and all of their texts."""
    problems, warnings = check_catalog(folder, today=today)
    texts = " ".join(warning_text(each) for each in (*problems, *warnings))
    return [each.kind.id for each in problems], [each.kind.id for each in warnings], texts


def with_prices(folder: Path, old: str, new: str) -> Path:
    assert CATALOG["prices.csv"].count(old) == 1, old
    return write_catalog(folder / "c", {**CATALOG, "prices.csv": CATALOG["prices.csv"].replace(old, new)})


ERRORS = [
    ("139.00,USD", "0,USD", "out-of-range", "0.01 <= price"),
    ("139.00,USD", "0.004,USD", "out-of-range", "0.01 <= price"),
    ("139.00,USD", "0.000000001,USD", "out-of-range", "0.01 <= price"),
    ("139.00,USD", "-139.00,USD", "out-of-range", "0.01 <= price"),
    ("139.00,USD", "139.005,USD", "not-cents", "two decimals"),
    ("139.00,USD", "$139,USD", "not-a-number", "plain number"),
    ("139.00,USD", "139.00,usd", "not-a-currency", "three capital letters"),
    ("1,1,,2026-10-01", "0,1,,2026-10-01", "out-of-range", "1 <= min_qty"),
    ("1,1,,2026-10-01", "1,0,,2026-10-01", "out-of-range", "1 <= pack"),
    ("1,1,,2026-10-01", "1,1.5,,2026-10-01", "not-whole", "whole number"),
    ("1,1,,2026-10-01", "1,1,-3,2026-10-01", "out-of-range", "0 <= stock"),
    ("1,1,,2026-10-01", "1,1,,0001-10-01", "far-date", "2000 to 2099"),
    ("1,1,,2026-10-01", "1,1,,0026-10-01", "far-date", "2000 to 2099"),
    ("1,1,,2026-10-01", "1,1,,1926-10-01", "far-date", "2000 to 2099"),
    ("1,1,,2026-10-01", "1,1,,9999-10-01", "far-date", "2000 to 2099"),
    ("1,1,,2026-10-01", "1,1,,2026-13-01", "not-a-date", "year-month-day"),
    ("189,USD,10,,,", "189,USD,10,,30,", "stock-differs", "40, as row 3 says"),
    ("pn-410,north", "PN-410,north", "misspelt-part", "Write pn-410"),
    ("pn-410,north", "pn -410,north", "misspelt-part", "differs by case or spaces"),
    ("pn-410,north", "pn-410\u200b,north", "misspelt-part", "zero width space, U+200B"),
    ("pn-410,north", "North,north", "unknown-part", "part of this catalogue"),
    (
        "pn-410,north",
        "pn-410,North",
        "alike-names",
        "from north in more than case and spaces; that one stands in sellers.csv row 2",
    ),
    ("pn-410,north", "pn-410,no rth", "alike-names", "case and spaces"),
    ("pn-410,north", "pn-410,nor\u00adth", "unseen-mark", "soft hyphen, U+00AD"),
]


@pytest.mark.parametrize(("old", "new", "kind", "words"), ERRORS, ids=[f"{case[2]}:{case[1]!a}" for case in ERRORS])
def test_a_price_row_that_cannot_be(old: str, new: str, kind: str, words: str, tmp_path: Path) -> None:
    problems, _, texts = told(with_prices(tmp_path, old, new))
    assert problems == [kind]
    assert words in texts


WARNINGS = [
    ("1,1,,2026-10-01", "1,10,4,2026-10-01", "stock-below-minimum", "At least 10 must be bought and there are 4"),
    ("1,1,,2026-10-01", "5,4,7,2026-10-01", "stock-below-minimum", "At least 8 must be bought and there are 7"),
    ("1,1,,2026-10-01", "20,1,12,2026-10-01", "stock-below-minimum", "At least 20 must be bought and there are 12"),
    ("1,1,,2026-10-01", "1,1,0,2026-10-01", "stock-below-minimum", "At least 1 must be bought and there are 0"),
    ("189,USD,10", "219,USD,10", "dearer-in-bulk", "From 10 up a piece costs 219.00; row 3 asks 199.00 from 1 up"),
    (ROW, f"{ROW}{ROW.replace('139', '149')}", "doubled-offer", "Row 2 asks 139.00 for the same; the lower"),
    (ROW, f"{ROW}{ROW.replace('139', '13').replace('north', 'south')}", "price-apart", "13.00 here and 139.00 in row"),
    (
        ROW,
        f"{ROW}{ROW.replace('139.00', '13900').replace('north', 'south')}",
        "price-apart",
        "139.00 here and 13900.00",
    ),
    (ROW, f"{ROW}{ROW.replace('139.00', '1.39').replace('north', 'south')}", "price-apart", "1.39 here"),
    ("1,1,,2026-10-01", "1,1,,2062-10-01", "date-apart", "the newest is 2026-11-02"),
    ("1,1,,2026-10-01", "1,1,,2028-10-01", "date-apart", "Check the year"),
    ("1,1,,2026-10-01", "5000,1,,2026-10-01", "unusual-figure", "min_qty is usually 1 to 1000"),
    ("1,1,,2026-10-01", "1,500,,2026-10-01", "unusual-figure", "pack is usually 1 to 200"),
    ("1,1,,2026-10-01", "1,1,900000,2026-10-01", "unusual-figure", "stock is usually 0 to 100000"),
    ("pn-410,north", "pn-410,nobody", "seller-not-listed", "Freight of nobody is taken as 0"),
]


@pytest.mark.parametrize(("old", "new", "kind", "words"), WARNINGS, ids=[f"{case[2]}:{case[1]}" for case in WARNINGS])
def test_an_unusual_price_row(old: str, new: str, kind: str, words: str, tmp_path: Path) -> None:
    problems, warnings, texts = told(with_prices(tmp_path, old, new))
    assert problems == []
    assert sorted(warnings) == sorted([kind, "parts-without-price"])
    assert words in texts


SELLERS = [
    ("north,95", "north,0.001", "not-cents", "two decimals"),
    ("north,95", "north,0.0000000001", "not-cents", "two decimals"),
    ("north,95", "north,-95", "out-of-range", "0 <= freight"),
    ("north,95", "north ,95\nNorth,95", "alike-names", "differs from north"),
    ("north,95", "north,95\nn\u00f6rth,95\nno\u0308rth,95", "alike-names", "differs from n\u00f6rth"),
]


@pytest.mark.parametrize(("old", "new", "kind", "words"), SELLERS, ids=[f"{case[2]}:{case[1]!a}" for case in SELLERS])
def test_a_seller_that_cannot_be(old: str, new: str, kind: str, words: str, tmp_path: Path) -> None:
    text = CATALOG["sellers.csv"].replace(old, new)
    problems, _, texts = told(write_catalog(tmp_path / "c", {**CATALOG, "sellers.csv": text}))
    assert problems == [kind]
    assert words in texts


@pytest.mark.parametrize(
    ("columns", "cells", "words"),
    [
        ("tax_pct", "0.08", "0.08 reads like a share: write 8"),
        ("tax_pct", "80", "tax_pct is usually 1 to 30 %"),
        ("free_over", "5", "free_over by freight is usually at least 2"),
        ("free_over,min_order", "500,800", "Freight of every order is free then"),
    ],
)
def test_unusual_terms_of_a_seller(columns: str, cells: str, words: str, tmp_path: Path) -> None:
    rest = "," * (cells.count(",") + 1)
    text = f"seller,freight,{columns}\nnorth,95,{cells}\neast,210{rest}\nsouth,0{rest}\n"
    folder = write_catalog(tmp_path / "c", {**CATALOG, "sellers.csv": text})
    problems, warnings, texts = told(folder)
    assert problems == []
    assert "unusual-figure" in warnings
    assert words in texts
    catalog = read_catalog(folder)  # a seller's terms are in the total of every order there, and of no other
    assert [each.kind.id for each in concerning(catalog, (), (), ("north",))] == ["unusual-figure"]
    assert concerning(catalog, (), (), ("east",)) == ()


@pytest.mark.parametrize("sign", SIGNS.values(), ids=SIGNS)
def test_a_mark_that_nobody_sees_is_named(sign: str, tmp_path: Path) -> None:
    files = changed("tanks.csv", "tk-5", "part", f"tk{sign}-5")
    problems, _, texts = told(write_catalog(tmp_path / "c", files))
    assert problems == ["unseen-mark"]
    assert f"U+{ord(sign):04X}" in texts


@pytest.mark.parametrize("other", ["RK-A", "rk -a", "Rk-A", "\uff52k-a"])
def test_parts_that_look_alike(other: str, tmp_path: Path) -> None:
    problems, _, texts = told(write_catalog(tmp_path / "c", changed("tanks.csv", "tk-5", "part", other)))
    assert problems == ["alike-names"]
    assert "rk-a in more than case and spaces; that one stands in racks.csv row 2" in texts


@pytest.mark.parametrize("name", ["freight", "Tax", "subtotal", "TOTAL"])
def test_a_part_called_like_a_line_of_ours(name: str, tmp_path: Path) -> None:
    problems, _, texts = told(write_catalog(tmp_path / "c", changed("tanks.csv", "tk-5", "part", name)))
    assert problems == ["own-line"]
    assert "Expected another id than freight, subtotal, tax, total" in texts


def test_letters_of_other_scripts_are_names_like_any(tmp_path: Path) -> None:
    files = changed("tanks.csv", "tk-5", "part", "\u6c34\u69fd-5")
    assert told(write_catalog(tmp_path / "c", files))[0] == []


def test_a_day_to_come_is_told_by_the_check_and_by_no_answer(tmp_path: Path) -> None:
    folder = write_catalog(tmp_path / "c")
    assert told(folder, date(2026, 11, 2))[1] == ["parts-without-price"]
    _, warnings, texts = told(folder, date(2026, 11, 1))
    assert "future-date" in warnings
    assert "up to 2026-11-01" in texts
    assert all(each.kind.id != "future-date" for each in read_catalog(folder).warnings)


def test_the_lower_of_two_prices_of_one_row_counts(tmp_path: Path) -> None:
    folder = with_prices(tmp_path, ROW, f"{ROW}{ROW.replace('139', '149')}")
    catalog = read_catalog(folder)
    assert list(catalog.offers.cents[catalog.offers.part == "pn-410"]) == [13900, 14900]
    [doubled] = [each for each in catalog.warnings if each.kind.id == "doubled-offer"]
    assert (doubled.place.row, doubled.place.cell) == (3, "149.00")


def test_an_answer_is_told_of_what_it_shows_alone(tmp_path: Path) -> None:
    """Prices of parts that it buys, figures of parts that it has; never of a row that is not used."""
    files = changed("panels.csv", "pn-300", "noct_c", "25")
    files["prices.csv"] = files["prices.csv"].replace(ROW, f"{ROW}{ROW.replace('139', '149')}")
    files["prices.csv"] = files["prices.csv"].replace("310,USD,,,12", "310,USD,20,,12")
    catalog = read_catalog(write_catalog(tmp_path / "c", files))

    def kinds(parts: tuple[str, ...], bought: tuple[str, ...]) -> list[str]:
        return [each.kind.id for each in concerning(catalog, parts, bought, ())]

    assert kinds((), ()) == []
    assert kinds(("pn-410",), ("pn-410",)) == ["doubled-offer"]
    assert kinds(("pn-410",), ()) == []
    assert kinds(("pn-300",), ("pn-300",)) == ["unusual-figure"]
    assert kinds(("bt-agm",), ("bt-agm",)) == []


def test_a_price_list_alone_is_held_to_the_same(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    rows = cells_of(CATALOG["prices.csv"])
    rows.append(["PN-410", *rows[1][1:]])
    path.write_text(csv_text(rows), encoding="utf-8")
    with pytest.raises(InputError) as raised:
        read_price_list(path)
    assert [each.kind.id for each in raised.value.problems] == ["alike-names"]
