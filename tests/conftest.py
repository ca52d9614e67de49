"""What all tests share."""

from __future__ import annotations

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
