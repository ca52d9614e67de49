"""Results that are kept from one run to the next in the user's cache folder, for speed only.

An entry is one file: a digest of all that follows, then a line of JSON, then the arrays' bytes. Whatever is not exactly
what was written is taken as not there: a file that is cut, damaged or of another version, a folder that cannot be
written. An entry is written beside its place and then takes its name, so that two runs do not see half of each other's.
"""

from __future__ import annotations

import hashlib
import json
import os
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from optimizer.vocabulary.bounded_files import read_bounded

FOLDER = "BOREWATT_CACHE"  # the variable of the environment that names another folder; empty: nothing is kept
VERSION = 1  # of what is kept and how it is computed
LARGEST_ENTRY = 1_000_000_000  # bytes
DIGEST_BYTES = 32

Json = Any  # what a line of JSON holds


@dataclass(frozen=True)
class Entry:
    """What is kept of one result: figures and words as JSON has them, and arrays of numbers by name."""

    said: Mapping[str, Json]
    arrays: Mapping[str, np.ndarray] = field(repr=False)


def key_of(*parts: object) -> str:
    """The name of a result by all that it rests on."""
    return hashlib.sha256(json.dumps([VERSION, *map(str, parts)]).encode()).hexdigest()


def recall(key: str) -> Entry | None:
    """The result of a key; None where it is not there whole."""
    folder = _folder()
    if folder is None:
        return None
    try:
        return _unpacked(read_bounded(folder / key, LARGEST_ENTRY), key)
    except (OSError, ValueError, KeyError, TypeError, AttributeError, IndexError, RecursionError, MemoryError):
        return None


def keep(key: str, entry: Entry) -> None:
    """Keep a result; where that cannot be, nothing is said: it costs the next run time, and nothing else."""
    folder = _folder()
    if folder is None:
        return
    neighbour = folder / f".{key}.{os.getpid()}-{secrets.token_hex(4)}.part"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        try:
            with neighbour.open("xb") as file:
                file.write(_packed(key, entry))
            neighbour.replace(folder / key)
        finally:
            neighbour.unlink(missing_ok=True)
    except OSError:
        return


def _folder() -> Path | None:
    """Where results are kept."""
    named = os.environ.get(FOLDER)
    if named is not None:
        return Path(named) if named else None
    import platformdirs

    return Path(platformdirs.user_cache_dir("borewatt")) / "weather"


def _packed(key: str, entry: Entry) -> bytes:
    shapes = {name: list(array.shape) for name, array in entry.arrays.items()}
    line = json.dumps({"key": key, "said": entry.said, "shapes": shapes}) + "\n"
    data = b"".join(np.ascontiguousarray(array, dtype="<f8").tobytes() for array in entry.arrays.values())
    body = line.encode() + data
    return hashlib.sha256(body).digest() + body


def _unpacked(content: bytes, key: str) -> Entry | None:
    digest, body = content[:DIGEST_BYTES], content[DIGEST_BYTES:]
    if hashlib.sha256(body).digest() != digest:
        return None
    line, _, data = body.partition(b"\n")
    head = json.loads(line)
    if head["key"] != key:
        return None
    arrays, at = {}, 0
    for name, shape in head["shapes"].items():
        size = 8 * int(np.prod(shape))
        arrays[name] = np.frombuffer(data[at : at + size], dtype="<f8").astype(float).reshape(shape)
        at += size
    return Entry(head["said"], arrays)
