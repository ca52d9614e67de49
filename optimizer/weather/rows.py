"""The rows of a weather file: whole years in order, each figure with the place where it stands."""

from __future__ import annotations

import io
import json
import warnings
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from typing import TYPE_CHECKING

import numpy as np

from catalog.cells import letter
from optimizer.vocabulary.months import MONTHS
from optimizer.vocabulary.problems import Fault, InputError, Place
from optimizer.weather.header import EPW, PVGIS_HOURLY, PVGIS_TMY, TMY3, Header, Json

if TYPE_CHECKING:
    import pandas

HOURS = 8760  # of a year of 365 days
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
MONTH_STARTS = tuple(sum(MONTH_DAYS[:month]) for month in range(12))  # days of the year before each month
COMMON_YEAR = 2001  # stands for all years where a calendar is needed: it has no 29 February
FIGURES = ("ghi", "dni", "dhi", "air")
HOURLY_FIGURES = ("beam", "dhi", "air")  # of a file that has the beam on the level in place of ghi and dni

# What the library calls each figure, and where it stands: by its heading, or in an EPW by its number.
NAMES: Mapping[str, Mapping[str, str]] = {
    EPW: {"ghi": "ghi", "dni": "dni", "dhi": "dhi", "air": "temp_air"},
    TMY3: {"ghi": "GHI (W/m^2)", "dni": "DNI (W/m^2)", "dhi": "DHI (W/m^2)", "air": "Dry-bulb (C)"},
    PVGIS_TMY: {"ghi": "G(h)", "dni": "Gb(n)", "dhi": "Gd(h)", "air": "T2m"},
    PVGIS_HOURLY: {"beam": "Gb(i)", "dhi": "Gd(i)", "air": "T2m"},
}
EPW_COLUMNS = {"air": 6, "ghi": 13, "dni": 14, "dhi": 15}
EPW_CELLS = 35
STAMPS = {EPW: 5, TMY3: 2, PVGIS_TMY: 1, PVGIS_HOURLY: 1}  # cells of a row that make its stamp

Stamp = tuple[int, int, int, int, int]  # year, month, day, hour that begins, minute


@dataclass(frozen=True)
class Rows:
    """The hours of whole years, in order, as they stand in the file; 29 February is left out.

    ``texts`` are lines, or a table's values in JSON; ``numbers`` the file's own count of them. ``years``: the year that
    each row states.
    """

    file: str
    header: Header
    texts: Sequence[Json]
    numbers: Sequence[int]
    years: np.ndarray
    leap_rows: int

    @property
    def columns(self) -> dict[str, int]:
        """The column of each figure, counted from 0."""
        if self.header.form == EPW:
            return EPW_COLUMNS
        return {figure: self.header.headings.index(name) for figure, name in NAMES[self.header.form].items()}

    def place(self, hour: int, figure: str = "") -> Place:
        """Where a figure of an hour stands; of all of its row without one."""
        if self.header.as_json:
            name = f"row {self.numbers[hour]} of outputs"
            cell = self.texts[hour].get(NAMES[self.header.form][figure]) if figure else None
            return Place(self.file, None, None, name, None if cell is None else str(cell))
        if not figure:
            return Place(self.file, self.numbers[hour])
        column = self.columns[figure]
        cells = self.texts[hour].split(",")
        name = figure if self.header.form == EPW else self.header.headings[column]
        return Place(self.file, self.numbers[hour], letter(column), name, cells[column] if column < len(cells) else "")


def hour_of_year(month: int, day: int, hour: int) -> int:
    """The place of an hour in a year of 365 days, from 0."""
    return (MONTH_STARTS[month - 1] + day - 1) * 24 + hour


def hour_words(hour: int) -> str:
    """An hour of the year in words: ``1 January 00:00``."""
    day = hour // 24 % 365
    month = max(place for place in range(12) if MONTH_STARTS[place] <= day)
    return f"{day - MONTH_STARTS[month] + 1} {MONTHS[month]} {hour % 24:02}:00"


# reading rows ----------------------------------------------------------------------------------------------------


def rows_of(file: str, lines: Sequence[str], content: Json, header: Header) -> Rows:
    """The rows of a file; raises InputError at the first that is not the next hour of a whole year."""
    if missing := sorted(set(NAMES[header.form].values()) - {*header.headings, *(NAMES[EPW].values())}):
        reason = f"it has no column {' and no '.join(missing)}"
        raise InputError([Fault("weather-format", {"reason": reason}).at(Place(file, header.rows_above or None))])
    texts, first = _texts(lines, content, header)
    read = {EPW: _epw_stamp, TMY3: _tmy3_stamp}.get(header.form, _pvgis_stamp)
    _whole_hours(file, texts, first, read, header)
    kept: list[Json] = []
    numbers: list[int] = []
    years: list[int] = []
    minute, leap = 0, 0
    for number, text in enumerate(texts, start=first):
        stamp = _stamp(read, text)
        wanted = len(kept) % HOURS
        if stamp is not None and stamp[1:3] == (2, 29):
            leap += 1
            continue
        if stamp is None or hour_of_year(*stamp[1:4]) != wanted or (kept and stamp[4] != minute):
            raise _broken(file, header, number, wanted, _stamp_words(text, header))
        minute = stamp[4]
        kept.append(text)
        numbers.append(number)
        years.append(stamp[0])
    if not kept or len(kept) % HOURS:
        raise _broken(file, header, first + len(texts) - 1, len(kept) % HOURS, "the end of the file")
    if header.instant_h is not None and minute:
        header = replace(header, instant_h=header.instant_h + minute / 60)
    return Rows(file, header, kept, numbers, np.array(years), leap)


def _texts(lines: Sequence[str], content: Json, header: Header) -> tuple[Sequence[Json], int]:
    """The rows of data and the number of the first."""
    if header.as_json:
        rows = content["outputs"]["tmy_hourly" if header.form == PVGIS_TMY else "hourly"]
        return rows, 1
    data = lines[header.rows_above :]
    end = next((n for n, line in enumerate(data) if not line.strip()), len(data))  # PVGIS has words below its rows
    if header.form in (EPW, TMY3):
        end = max((n + 1 for n, line in enumerate(data) if line.strip()), default=0)
    return data[:end], header.rows_above + 1


def _stamp(read: Callable[[Json], Stamp], text: Json) -> Stamp | None:
    """The stamp of a row; None where it is none, or no day of a year."""
    try:
        year, month, day, hour, minute = read(text)
    except (ValueError, IndexError, KeyError, TypeError, AttributeError):
        return None
    if not (1 <= month <= 12 and 1 <= day <= MONTH_DAYS[month - 1] + (month == 2) and 0 <= hour <= 23):
        return None
    return year, month, day, hour, minute


def _epw_stamp(line: str) -> Stamp:
    year, month, day, hour, minute = line.split(",", 5)[:5]
    return int(year), int(month), int(day), int(hour) - 1, int(minute) % 60


def _tmy3_stamp(line: str) -> Stamp:
    day, time = line.split(",", 2)[:2]
    month, date, year = day.split("/")
    hour, minute = time.split(":")
    return int(year), int(month), int(date), int(hour) - 1, int(minute)


def _pvgis_stamp(row: Json) -> Stamp:
    text = row.split(",", 1)[0] if isinstance(row, str) else row.get("time(UTC)") or row["time"]
    day, _, time = text.partition(":")
    return int(day[:4]), int(day[4:6]), int(day[6:8]), int(time[:2]), int(time[2:4])


def _whole_hours(file: str, texts: Sequence[Json], first: int, read: Callable[[Json], Stamp], header: Header) -> None:
    """Refuse rows that are a part of an hour apart. Raises InputError."""
    stamps = [stamp for text in islice(texts, 4) if (stamp := _stamp(read, text)) is not None]
    minutes = sorted({stamp[4] for stamp in stamps})
    if len(stamps) == 4 and len(minutes) > 1 and len({stamp[3] for stamp in stamps}) < 4:
        place = Place(file, None if header.as_json else first + 1)
        apart = f"{minutes[1] - minutes[0]} min"
        raise InputError([Fault("weather-half-hourly", {"apart": apart}).at(place)])


def _stamp_words(text: Json, header: Header) -> str:
    """The stamp of a row as it stands there."""
    if header.as_json:
        return str(text.get("time(UTC)") or text.get("time") or "no stamp") if isinstance(text, dict) else "no row"
    return ",".join(text.split(",")[: STAMPS[header.form]])


def _broken(file: str, header: Header, number: int, wanted: int, found: str) -> InputError:
    """The refusal of a row that is not the hour ``wanted``."""
    expected = f"the row of {hour_words(wanted)}, as whole years of 8,760 hours from 1 January have it"
    row = Place(file, None, None, f"row {number} of outputs") if header.as_json else Place(file, number)
    return InputError([Fault("weather-hours", {"expected": expected, "found": found}).at(row)])


# figures ---------------------------------------------------------------------------------------------------------


def figures_of(rows: Rows) -> dict[str, np.ndarray]:
    """The figures of all hours by name, as the library reads them; nan where one is no number.

    Raises InputError where the library cannot read them.
    """
    import pandas as pd
    from pvlib import iotools

    header = rows.header
    body = "\n".join(rows.texts) + "\n" if not header.as_json else ""
    place = f"{header.latitude!r},{header.longitude!r}"  # numbers only: names are not read
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of the library, about cells that are judged below
            if header.form == EPW:
                above = f"LOCATION,,,,,,{place},{header.utc_offset_h!r},0\n" + "-\n" * 7
                found = iotools.read_epw(io.StringIO(above + body), coerce_year=COMMON_YEAR)[0]
            elif header.form == TMY3:
                above = f"0,,,{header.utc_offset_h!r},{place},0\n{','.join(header.headings)}\n"
                found = iotools.read_tmy3(io.StringIO(above + body), map_variables=False)[0]
            else:
                found = _pvgis_frame(rows, body)
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, OverflowError) as error:
        if wrong := _unreadable(rows):
            return wrong
        reason = f"its rows cannot be read ({str(error)[:100]})"
        raise InputError([Fault("weather-format", {"reason": reason}).at(rows.place(0))]) from error
    names = NAMES[header.form]
    return {figure: pd.to_numeric(found[name], errors="coerce").to_numpy(dtype=float) for figure, name in names.items()}


def _pvgis_frame(rows: Rows, body: str) -> pandas.DataFrame:
    """A year, or years, of PVGIS as the library reads them; a typical year has one of 8,760 rows."""
    from pvlib import iotools

    header = rows.header
    typical = header.form == PVGIS_TMY
    source: io.StringIO | io.BytesIO
    if header.as_json:
        outputs: Json = {"tmy_hourly" if typical else "hourly": list(rows.texts), "months_selected": []}
        source = io.StringIO(json.dumps({"inputs": {}, "meta": {"inputs": {}}, "outputs": outputs}))
    else:
        text = f"Latitude: {header.latitude!r}\nLongitude: {header.longitude!r}\nElevation: 0\n"
        headings = ",".join(header.headings) + "\n"
        if typical:
            months = "".join(f"{month},0\n" for month in range(1, 13))
            source = io.BytesIO(f"{text}month,year\n{months}{headings}{body}".encode())
        else:
            source = io.StringIO(f"{text}Radiation database: -\n\n{headings}{body}")
    read = iotools.read_pvgis_tmy if typical else iotools.read_pvgis_hourly
    form = "json" if header.as_json else "csv"
    found: pandas.DataFrame = read(source, pvgis_format=form, map_variables=False)[0]
    return found


def _unreadable(rows: Rows) -> dict[str, np.ndarray]:
    """All figures, nan where one is no number: what the library refuses as a whole. Empty where all are numbers."""
    names, columns = NAMES[rows.header.form], {} if rows.header.as_json else rows.columns

    def number(hour: int, figure: str) -> float:
        text = rows.texts[hour]
        try:
            return float(text[names[figure]] if rows.header.as_json else text.split(",")[columns[figure]])
        except (ValueError, IndexError, KeyError, TypeError):
            return np.nan

    found = {figure: np.array([number(hour, figure) for hour in range(len(rows.texts))]) for figure in names}
    return found if any(np.isnan(figures).any() for figures in found.values()) else {}
