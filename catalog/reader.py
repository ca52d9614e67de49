"""The whole catalogue: its files read and checked together, every problem of all of them at once."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from functools import cached_property
from importlib.resources import files
from pathlib import Path
from typing import Any, Generic, TypeVar, cast

import numpy as np

from catalog.names import name_problems, part_ids
from catalog.offers import (
    Offers,
    Seller,
    exact,
    future_dates,
    offer_warnings,
    price_problems,
    read_offers,
    read_sellers,
)
from catalog.rows import (
    BatteryColumn,
    BatteryRow,
    ConverterColumn,
    ConverterRow,
    ExtraColumn,
    ExtraRow,
    PanelColumn,
    PanelRow,
    PartRow,
    RackColumn,
    RackRow,
    StarterColumn,
    StarterRow,
    TankColumn,
    TankRow,
)  # fmt: skip
from catalog.schema import TableSpec
from catalog.sheet import empty_sheet, read_row, read_sheet
from catalog.sheet_data import CsvSheet
from catalog.tables import PART_TABLES, PRICES, TABLES
from catalog.unusual import unusual_figures
from optimizer.vocabulary.bounded_files import LARGEST_TABLE, file_fault, is_folder, is_there, look, read_bounded
from optimizer.vocabulary.problems import Fault, InputError, Place, Problem, in_order, perhaps

INVENTED = b"# INVENTED"  # how the first line of a file begins that must not be taken for real parts or prices


Row = TypeVar("Row", covariant=True)  # a table's row: a class of :mod:`catalog.rows`
Name = TypeVar("Name", bound=str)  # the names of its columns, from there too


@dataclass(frozen=True, eq=False)
class Table(Generic[Row, Name]):
    """All parts of one kind, sorted by id, as arrays.

    ``columns``: numbers as float64, NaN only where not stated and without default; texts as str; yes-no as bool.
    ``taken``: True where a cell was empty and its default was taken. ``row``: the row in the file.
    """

    kind: str
    part: np.ndarray
    columns: Mapping[Name, np.ndarray]
    taken: Mapping[Name, np.ndarray]
    row: np.ndarray

    def __len__(self) -> int:
        return len(self.part)

    def __getitem__(self, column: Name) -> np.ndarray:
        return self.columns[column]

    @cached_property
    def _index(self) -> dict[str, int]:
        return {part: position for position, part in enumerate(self.part)}

    def index_of(self, part: str) -> int | None:
        """The position of a part, or None."""
        return self._index.get(part)

    def place(self, part: str) -> int:
        """The row of a part that is there. Raises KeyError where it is not."""
        row = self.index_of(part)
        if row is None:
            raise KeyError(part)
        return row

    def record(self, position: int) -> Row:
        """One part as plain values by column name, its id as "part"."""
        values = {name: column[position] for name, column in self.columns.items()}
        plain = {name: value.item() if isinstance(value, np.generic) else value for name, value in values.items()}
        return cast(Row, {"part": self.part[position], **plain})


AnyTable = Table[Any, Any]  # of a kind that only run time knows


@dataclass(frozen=True, eq=False)
class Catalog:
    """What can be bought. ``sellers`` by name, those that no file lists too; ``digest`` of the files' content."""

    folder: Path
    tables: Mapping[str, AnyTable]  # by kind; the properties below know the columns of each
    offers: Offers
    sellers: Mapping[str, Seller]
    currency: str
    generic: bool  # a file says on its first line that what it holds is invented, as the shipped ones and copies do
    digest: str
    warnings: tuple[Problem, ...] = field(repr=False)

    def kind_of(self, part: str) -> str | None:
        """The kind of a part; None where there is no such part."""
        return next((kind for kind, table in self.tables.items() if table.index_of(part) is not None), None)

    def seller(self, name: str) -> Seller:
        """What a seller adds to an order; one that nobody lists adds nothing."""
        return self.sellers.get(name, Seller())

    def weight_kg(self, part: str) -> Fraction | None:
        """The weight of one piece as it was written; None where it is not stated."""
        for table in self.tables.values():
            row = table.index_of(part)
            if row is not None:
                stated = table.columns.get("weight_kg")
                return None if stated is None or np.isnan(stated[row]) else exact(stated[row])
        return None

    @property
    def panels(self) -> Table[PanelRow, PanelColumn]:
        """The panels."""
        return self.tables["panel"]

    @property
    def converters(self) -> Table[ConverterRow, ConverterColumn]:
        """The converters."""
        return self.tables["converter"]

    @property
    def batteries(self) -> Table[BatteryRow, BatteryColumn]:
        """The batteries."""
        return self.tables["battery"]

    @property
    def racks(self) -> Table[RackRow, RackColumn]:
        """The racks."""
        return self.tables["rack"]

    @property
    def extras(self) -> Table[ExtraRow, ExtraColumn]:
        """The extras."""
        return self.tables["extra"]

    @property
    def starters(self) -> Table[StarterRow, StarterColumn]:
        """The starters."""
        return self.tables["starter"]

    @property
    def tanks(self) -> Table[TankRow, TankColumn]:
        """The tanks."""
        return self.tables["tank"]


def shipped_catalog() -> Path:
    """The folder of the generic catalogue that comes with the tool; its parts and prices are invented."""
    return Path(str(files("catalog"))) / "generic"


def read_catalog(folder: str | Path, prices: str | Path | None = None) -> Catalog:
    """Read a catalogue folder, with another price list where ``prices`` names one.

    Raises InputError with all problems of all files.
    """
    catalog, problems, _ = _read(Path(folder), prices)
    if catalog is None:
        raise InputError(problems)
    return catalog


def check_catalog(
    folder: str | Path, prices: str | Path | None = None, today: date | None = None
) -> tuple[tuple[Problem, ...], tuple[Problem, ...]]:
    """All problems and all warnings of a catalogue folder, unusual figures too; never raises for wrong input.

    Prices of a day after ``today`` are a warning here alone: an answer does not go by the clock.
    """
    catalog, problems, warnings = _read(Path(folder), prices, look_over=True)
    if catalog is not None and today is not None:
        file = PRICES.file if prices is None else str(prices)
        warnings = [*catalog.warnings, *future_dates(catalog.offers, today, file)]
    return in_order(problems), in_order(warnings)


def _read(
    folder: Path, prices: str | Path | None, look_over: bool = False
) -> tuple[Catalog | None, list[Problem], list[Problem]]:
    problems = _folder_problems(folder, prices)
    if problems:
        return None, problems, []
    warnings = _unknown_files(folder)
    sheets: dict[str, CsvSheet] = {}
    present: set[str] = set()
    digest = hashlib.sha256()
    invented = False
    for spec in sorted(TABLES.values(), key=lambda spec: spec.file):
        own_prices = spec is PRICES and prices is not None
        path = Path(prices) if own_prices and prices is not None else folder / spec.file
        name = str(path) if own_prices else spec.file
        data = _bytes(path, spec, name, problems)
        if data is None:
            sheets[spec.kind] = empty_sheet(spec, name)
            sheets[spec.kind].whole_file = not is_there(path) and not spec.needed
            continue
        present.add(spec.kind)
        invented = invented or data.lstrip(b"\xef\xbb\xbf").startswith(INVENTED)
        digest.update(spec.file.encode() + b"\0" + data + b"\0")
        reading = read_sheet(data, spec, name)
        problems += reading.problems
        warnings += reading.warnings
        sheets[spec.kind] = reading.sheet

    parts = [sheets[spec.kind] for spec in PART_TABLES]
    known, doubled = part_ids(parts)
    problems += doubled + name_problems(parts, "part", known)
    complete = all(sheet.whole_file for sheet in parts)
    nameless = sum(sheet.nameless for sheet in parts)
    sellers, seller_problems = read_sellers(sheets["seller"])
    problems += seller_problems + name_problems((sheets["seller"], sheets["price"]), "seller")
    problems += price_problems(sheets["price"], known, nameless, complete)
    if problems:
        return None, problems, warnings

    offers = read_offers(sheets["price"])
    warnings += offer_warnings(offers, sheets["price"], sellers, "seller" in present)
    warnings += _without_weight(parts, offers, sellers)
    warnings += _without_price(parts, set(offers.part))
    looked_over = sheets.values() if look_over else [sheets["seller"]]
    for sheet in looked_over:
        warnings += unusual_figures(sheet.spec, sheet.columns, sheet.taken, sheet.place)
    catalog = Catalog(
        folder=folder,
        tables={sheet.spec.kind: _table(sheet) for sheet in parts},
        offers=offers,
        sellers={**dict.fromkeys(sorted(set(offers.seller)), Seller()), **sellers},
        currency=str(sheets["price"].columns["currency"][0]),
        generic=invented,
        digest=f"sha256:{digest.hexdigest()}",
        warnings=in_order(warnings),
    )
    return catalog, [], warnings


@dataclass(frozen=True, eq=False)
class PriceList:
    """One price list on its own, beside no catalogue."""

    file: str
    offers: Offers
    currency: str


def read_price_list(path: str | Path) -> PriceList:
    """Read a price list without a catalogue: its parts may be any. Raises InputError with all its problems."""
    name = str(path)
    problems: list[Problem] = []
    data = _bytes(Path(path), PRICES, name, problems)
    if data is None:
        raise InputError(problems)
    reading = read_sheet(data, PRICES, name)
    problems = reading.problems + price_problems(reading.sheet, (), 0, complete=False)
    problems += [problem for column in ("part", "seller") for problem in name_problems([reading.sheet], column)]
    if problems:
        raise InputError(problems)
    return PriceList(name, read_offers(reading.sheet), str(reading.sheet.columns["currency"][0]))


def catalog_files(folder: str | Path, prices: str | Path | None = None) -> list[str]:
    """The files of a catalogue folder that are read, those that are there."""
    there = [spec.file for spec in TABLES.values() if is_there(Path(folder) / spec.file)]
    if prices is None:
        return there
    return [name for name in there if name != PRICES.file] + [str(prices)]


def _folder_problems(folder: Path, prices: str | Path | None) -> list[Problem]:
    needed = [spec.file for spec in TABLES.values() if spec.needed and not (spec is PRICES and prices is not None)]
    listed = {"files": ", ".join(needed)}
    try:
        look(folder)
    except (FileNotFoundError, NotADirectoryError):
        return [Fault("missing-folder", listed).at(Place(str(folder)))]
    except OSError as error:
        return [file_fault(error).at(Place(str(folder)))]
    if not is_folder(folder):
        return [Fault("missing-folder", listed).at(Place(str(folder)))]
    if not any(is_there(folder / spec.file) for spec in TABLES.values()):
        return [Fault("empty-folder", listed).at(Place(str(folder)))]
    return []


def _unknown_files(folder: Path) -> list[Problem]:
    """CSV files that are not read: perhaps the misspelt name of one that would be."""
    known = [spec.file for spec in TABLES.values()]
    unknown = sorted(path.name for path in folder.glob("*.[cC][sS][vV]") if path.name not in known)
    if not unknown:
        return []
    return [Fault("ignored-files", {"files": ", ".join(unknown), "known": ", ".join(known)}).at(Place(str(folder)))]


def _bytes(path: Path, spec: TableSpec, name: str, problems: list[Problem]) -> bytes | None:
    """The content of a file with LF line ends; None where it is not there or cannot be read."""
    try:
        return read_bounded(path, LARGEST_TABLE).replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    except FileNotFoundError:
        if spec.needed:
            columns = ", ".join(column.name for column in spec.columns if column.required)
            problems.append(Fault("missing-file", {"file": path.name, "columns": columns}).at(Place(name)))
    except OSError as error:
        problems.append(file_fault(error).at(Place(name)))
    return None


def _without_price(sheets: list[CsvSheet], priced: set[str]) -> list[Problem]:
    """One warning that counts the parts without a price."""
    wanted = {part for sheet in sheets for part in sheet.columns["part"]}
    missing = sorted(wanted - priced)
    if not missing:
        return []
    slots = {"count": str(len(missing)), "all": str(len(wanted)), "example": f", {missing[0]} for one"}
    return [Fault("parts-without-price", slots).at(Place(PRICES.file))]


def _without_weight(sheets: list[CsvSheet], offers: Offers, sellers: Mapping[str, Seller]) -> list[Problem]:
    """One warning that counts the offers that a seller's freight by weight bars, since the part's is not stated."""
    by_weight = [name for name, seller in sellers.items() if seller.freight_per_kg]
    if not by_weight:
        return []
    weighed = {
        part
        for sheet in sheets
        if "weight_kg" in sheet.columns
        for part in sheet.columns["part"][~np.isnan(sheet.columns["weight_kg"])]
    }
    barred = np.flatnonzero(np.isin(offers.seller, by_weight) & ~np.isin(offers.part, list(weighed)))
    if not len(barred):
        return []
    example = f"{offers.part[barred[0]]} from {offers.seller[barred[0]]}"
    slots = {"count": str(len(barred)), "all": str(len(offers)), "example": f", {example} for one"}
    return [Fault("offers-without-weight", slots).at(Place(PRICES.file))]


def _table(sheet: CsvSheet) -> AnyTable:
    order = np.argsort(sheet.columns["part"], kind="stable")
    columns = {name: column[order] for name, column in sheet.columns.items() if name != "part"}
    taken = {name: mask[order] for name, mask in sheet.taken.items()}
    return Table(sheet.spec.kind, sheet.columns["part"][order], columns, taken, sheet.row[order])


def read_record(kind: str, row: Mapping[str, object], place: Place) -> tuple[PartRow | None, list[Problem]]:
    """One part that stands in no catalogue, such as a ``[part.panel]`` of an offer: the same checks as a CSV row.

    ``row`` holds numbers, texts or booleans by column name; ``place`` is where it stands, and its ``name`` is put
    before the column's. Returns the part with its defaults filled in, or None and everything that is wrong.
    """
    spec = TABLES[kind]
    cells = {name: _as_cell(value) for name, value in row.items()}

    def at(name: str) -> Place:
        dotted = f"{place.name}.{name}" if place.name else name
        return Place(place.file, place.row, None, dotted, cells.get(name))

    problems = []
    for name in set(row) - set(spec.by_name):
        slots = {"known": ", ".join(spec.by_name), "perhaps": perhaps(name, list(spec.by_name))}
        problems.append(Fault("unknown-key", slots).at(at(name)))
    columns = [name for name in spec.by_name if name in cells]
    heading = ",".join(columns)
    sheet, faults = read_row(spec, place.file, {name: cells[name] for name in columns})
    problems += [Problem(fault.kind, at(fault.place.name or heading), fault.slots) for fault in faults]
    return (None if problems else _table(sheet).record(0)), problems


def _as_cell(value: object) -> str:
    """A value of TOML or JSON as the text of a cell."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ";".join(str(item) for item in value)
    return "" if value is None else str(value).strip()
