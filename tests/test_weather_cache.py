"""What is kept of a weather file is speed and nothing else: the same bytes with it, without it, damaged or shared."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import numpy as np
import pytest

from optimizer.answers import sun
from optimizer.weather import cache
from optimizer.weather.plane import Plane
from optimizer.weather.weather_file import Correction, WeatherFile
from optimizer.weather.year import WeatherYears
from optimizer.writing.data.sun_json import sun_document
from optimizer.writing.text.sun import sun_page
from tests.command_line import ROOT, environment
from tests.weather_files import GREEN_SLOPE, SAND_FLAT, SOUTH

FOLDER = cache.FOLDER
ARRAYS = ("plane", "cells", "air", "noon_h")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache of the test's own, empty."""
    monkeypatch.setenv(FOLDER, str(tmp_path / "cache"))
    return tmp_path / "cache"


def same(one: WeatherYears, other: WeatherYears) -> bool:
    """To the last bit."""
    words = all(getattr(one, name) == getattr(other, name) for name in ("digest", "years", "notes", "utc_offset_h"))
    return words and all(getattr(one, name).tobytes() == getattr(other, name).tobytes() for name in ARRAYS)


def unread(monkeypatch: pytest.MonkeyPatch) -> None:
    """From here on reading a file's hours is a fault."""

    def fail(*_: object) -> None:
        raise AssertionError("the file's hours were read again")

    monkeypatch.setattr("optimizer.weather.weather_file.rows_of", fail)


def test_what_is_kept_is_what_was_computed(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    away = Plane(40.0, 0.0, 0.2)  # with a note
    computed = [WeatherFile(SAND_FLAT).on(plane) for plane in (SOUTH, away)]
    assert len(list(folder.iterdir())) == 2
    unread(monkeypatch)
    kept = [WeatherFile(SAND_FLAT).on(plane) for plane in (SOUTH, away)]
    assert all(map(same, computed, kept))
    assert kept[1].notes


def test_answers_are_the_same_bytes_with_and_without_it(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = sun(SAND_FLAT)
    second = sun(SAND_FLAT)
    monkeypatch.setenv(FOLDER, "")
    without = sun(SAND_FLAT)
    assert sun_page(first) == sun_page(second) == sun_page(without)
    assert sun_document(first) == sun_document(second) == sun_document(without)
    assert folder.is_dir()


def test_whatever_a_result_rests_on_makes_it_another(folder: Path, tmp_path: Path) -> None:
    """Another file, tilt, azimuth, ground, zone or way with holes."""
    other = tmp_path / "other.epw"
    other.write_bytes(SAND_FLAT.read_bytes() + b"\n")
    asked = [
        (SAND_FLAT, SOUTH, Correction()), (other, SOUTH, Correction()), (GREEN_SLOPE, SOUTH, Correction()),
        (SAND_FLAT, Plane(54.0, 180.0, 0.2), Correction()), (SAND_FLAT, Plane(55.0, 181.0, 0.2), Correction()),
        (SAND_FLAT, Plane(55.0, 180.0, 0.3), Correction()), (SAND_FLAT, SOUTH, Correction(-7.0)),
        (SAND_FLAT, SOUTH, Correction(None, True)),
    ]  # fmt: skip
    for path, plane, correction in asked:
        WeatherFile(path, correction).on(plane)
    assert len(list(folder.iterdir())) == len(asked)


def cut(data: bytes) -> bytes:
    return data[: len(data) // 2]


def flipped(data: bytes) -> bytes:
    return data[:5000] + bytes([data[5000] ^ 1]) + data[5001:]


DAMAGES: dict[str, Callable[[bytes], bytes]] = {
    "empty": lambda data: b"", "cut": cut, "one bit": flipped, "longer": lambda data: data + b"\0",
    "other": lambda data: b"\x80" * 200, "no digest": lambda data: data[cache.DIGEST_BYTES :],
}  # fmt: skip


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_damaged_entry_is_none_and_is_written_again(folder: Path, damage: str) -> None:
    computed = WeatherFile(SAND_FLAT).on(SOUTH)
    (entry,) = folder.iterdir()
    whole = entry.read_bytes()
    entry.write_bytes(DAMAGES[damage](whole))
    assert same(WeatherFile(SAND_FLAT).on(SOUTH), computed)
    assert entry.read_bytes() == whole


def test_an_entry_under_another_name_is_none(folder: Path) -> None:
    """Entries of two planes that are exchanged do not answer for each other."""
    one = WeatherFile(SAND_FLAT).on(SOUTH)
    (first,) = folder.iterdir()
    two = WeatherFile(SAND_FLAT).on(Plane(20.0, 180.0, 0.2))
    (second,) = set(folder.iterdir()) - {first}
    first.write_bytes(second.read_bytes())
    assert same(WeatherFile(SAND_FLAT).on(SOUTH), one) and not np.array_equal(one.plane, two.plane)


@pytest.mark.parametrize("what", ["a file", "a folder in place of an entry", "no permission", "no such root"])
def test_where_nothing_can_be_kept_answers_come_nevertheless(
    folder: Path, what: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    computed = WeatherFile(SAND_FLAT).on(SOUTH)
    (entry,) = folder.iterdir()
    entry.unlink()
    if what == "a file":
        folder.rmdir()
        folder.write_text("not a folder")
    elif what == "a folder in place of an entry":
        entry.mkdir()
        (entry / "in it").write_text("")
    elif what == "no permission":
        folder.chmod(0o500)
    else:
        monkeypatch.setenv(FOLDER, "/dev/null/cache")
    try:
        assert same(WeatherFile(SAND_FLAT).on(SOUTH), computed)
        assert not list(folder.glob(".*.part")) if folder.is_dir() else True
    finally:
        folder.chmod(0o700)


def _read(path: str) -> bytes:
    return WeatherFile(path).on(SOUTH).plane.tobytes()


@pytest.mark.thorough
def test_runs_beside_each_other_share_it(folder: Path) -> None:
    """Eight processes that begin at once all read and write one entry."""
    os.environ[FOLDER] = str(folder)
    with ProcessPoolExecutor(8, mp_context=get_context("spawn")) as workers:
        found = set(workers.map(_read, [str(SAND_FLAT)] * 16))
    assert len(found) == 1
    (entry,) = folder.iterdir()
    assert _read(str(SAND_FLAT)) in found and entry.is_file()


def test_the_library_is_loaded_for_a_first_reading_alone(folder: Path) -> None:
    """It costs more than a whole pick: neither a file that is known nor the key of a result needs it."""
    code = (
        "import sys; from optimizer.answers import sun; sun(sys.argv[1]); "
        "print(*sorted({'pvlib', 'scipy', 'requests'} & set(sys.modules)))"
    )

    def loaded() -> str:
        done = subprocess.run([sys.executable, "-c", code, str(SAND_FLAT)], cwd=ROOT, env=environment(),
                              capture_output=True, text=True, check=True)  # fmt: skip
        return done.stdout.strip()

    assert "pvlib" in loaded()
    assert loaded() == ""


def test_it_lies_in_the_users_own_cache_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(FOLDER, raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))  # what that is on systems of the kind these tests run on
    WeatherFile(SAND_FLAT).on(SOUTH)
    assert len(list((tmp_path / "borewatt" / "weather").iterdir())) == 1
