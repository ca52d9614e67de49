"""A cluster that only takes encrypted connections: the files that open it are passed through, and without them it says
so."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import distributed
import pytest
from distributed.security import Security

from optimizer.commands import workers as solvers
from optimizer.commands.exit_codes import ANSWERED, WRONG_INPUT
from tests.command_line import run
from tests.refresh_helpers import answers, write_jobs

pytestmark = [
    pytest.mark.thorough,
    pytest.mark.skipif(shutil.which("openssl") is None, reason="certificates are made by openssl"),
]


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A certificate, signed by itself, and its key."""
    folder = tmp_path_factory.mktemp("tls")
    cert, key = folder / "cert.pem", folder / "key.pem"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=localhost",
         "-keyout", str(key), "-out", str(cert)], check=True, capture_output=True,
    )  # fmt: skip
    return cert, key


@pytest.fixture(scope="module")
def address(files: tuple[Path, Path]) -> Iterator[str]:
    cert, key = map(str, files)
    own = {f"tls_{who}_{what}": path for who in ("scheduler", "worker", "client")
           for what, path in (("cert", cert), ("key", key))}  # fmt: skip
    security = Security(tls_ca_file=cert, require_encryption=True, **own)
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=False, protocol="tls://", host="127.0.0.1", dashboard_address=None,
        security=security,
    ) as running:  # fmt: skip
        yield running.scheduler_address


def test_the_files_open_it(tmp_path: Path, files: tuple[Path, Path], address: str) -> None:
    cert, key = files
    folder = write_jobs(tmp_path, ("camp",))
    words = ("refresh", folder, "--catalog", tmp_path / "parts", "--scheduler", address)
    result = run(*words, "--tls-ca-file", cert, "--tls-cert", cert, "--tls-key", key)
    assert result.exit_code == ANSWERED, result.stderr
    assert list(answers(folder)) == ["camp/job.answer.json"]


def test_without_them_it_stays_shut(
    tmp_path: Path, files: tuple[Path, Path], address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(solvers, "ANSWERS_WITHIN_S", 2)
    folder = write_jobs(tmp_path, ("camp",))
    words = ("refresh", folder, "--catalog", tmp_path / "parts", "--scheduler")
    for where, more in (
        (address, ()), (address.replace("tls:", "tcp:"), ()), (address, ("--tls-cert", tmp_path / "none.pem")),
        (address, ("--tls-ca-file", files[1], "--tls-cert", files[0], "--tls-key", files[1])),
    ):  # fmt: skip
        result = run(*words, where, *more)
        assert result.exit_code == WRONG_INPUT, (where, more, result.stderr)
        assert f"--scheduler {where}: no scheduler answers there" in result.stderr
        assert answers(folder) == {}


def test_they_are_for_a_cluster(tmp_path: Path, files: tuple[Path, Path]) -> None:
    result = run("refresh", write_jobs(tmp_path, ("camp",)), "--tls-cert", files[0])
    assert result.exit_code == WRONG_INPUT
    assert "--scheduler tls://" in result.stderr
