"""What all tests share."""

from __future__ import annotations

import os
import signal

import pytest

from catalog.reader import Catalog, read_catalog, shipped_catalog

# A shell that starts Python in the background has it ignore interrupts, and what it starts too: tests that interrupt
# their own children would wait for ever.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session")
def shipped() -> Catalog:
    """The catalogue that travels with the tool."""
    return read_catalog(shipped_catalog())


@pytest.fixture(scope="session", autouse=True)
def kept_weather(tmp_path_factory: pytest.TempPathFactory) -> None:
    """What is kept of weather files lies in a folder of the tests' own, not in the user's."""
    os.environ["BOREWATT_CACHE"] = str(tmp_path_factory.mktemp("weather"))
