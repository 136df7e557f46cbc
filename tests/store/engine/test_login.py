"""Passwords and TLS are libpq's: from a passfile, a service file or the environment, and never shown."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests import own_pg

PASSWORD = "h0rsefeather-Quill"
WITH_TLS = sorted(Path("/usr/lib/postgresql").glob("*/bin"))
"""Debian's server: the one that comes with the tests was built without TLS."""


@dataclass
class Locked:
    """A server that asks everybody for a password; a log in it."""

    address: str
    """Of the log, for its user."""
    home: Path

    def ask(self, *words: str, **more: str) -> subprocess.CompletedProcess[str]:
        """A command of the program, as a user's shell runs it."""
        kept = {name: text for name, text in os.environ.items() if not name.startswith("PG")}
        homes = {f"XDG_{name}_HOME": str(self.home / name) for name in ("DATA", "CONFIG", "CACHE", "STATE")}
        return subprocess.run(
            [sys.executable, "-m", "finishlog", *words], env={**kept, **homes, "HOME": str(self.home), **more},
            capture_output=True, text=True, timeout=60, check=False,
        )  # fmt: skip

    def says_nothing(self) -> bool:
        """Whether no file that the program wrote holds the password."""
        return not any(
            PASSWORD.encode() in path.read_bytes() for path in self.home.rglob("*") if path.is_file()
        )


@pytest.fixture(scope="module")
def locked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Locked]:
    with own_pg.running() as server:
        address = server.database()
        server.asks_passwords("ann", PASSWORD)
        yield Locked(address.replace("postgres@", "ann@"), tmp_path_factory.mktemp("home"))


def _passfile(folder: Path, password: str) -> Path:
    path = folder / "passfile"
    path.write_text(f"127.0.0.1:*:*:ann:{password}\n")
    path.chmod(0o600)
    return path


def test_a_password_comes_from_where_libpq_finds_one(locked: Locked, tmp_path: Path) -> None:
    service = tmp_path / "service.conf"
    host, _, port_and_name = locked.address.partition("@")[2].partition(":")
    port, _, name = port_and_name.partition("/")
    service.write_text(f"[shop]\nhost={host}\nport={port}\ndbname={name}\nuser=ann\npassword={PASSWORD}\n")
    ways = (
        (locked.address, {"PGPASSWORD": PASSWORD}),
        (locked.address, {"PGPASSFILE": str(_passfile(tmp_path, PASSWORD))}),
        ("postgresql:///?service=shop", {"PGSERVICEFILE": str(service)}),
    )
    for address, given in ways:
        done = locked.ask("--log", address, "find", **given)
        assert (done.returncode, done.stderr) == (0, ""), (address, done.stderr)
    assert locked.says_nothing()


def test_a_wrong_or_missing_password_is_said_without_it(locked: Locked, tmp_path: Path) -> None:
    wrong = "not-the-Quill-of-it"
    for given in ({}, {"PGPASSWORD": wrong}, {"PGPASSFILE": str(_passfile(tmp_path, wrong))}):
        done = locked.ask("--log", locked.address, "find", FINISHLOG_TRACEBACK="", **given)
        assert done.returncode == 3
        assert len(done.stderr.splitlines()) == 1
        assert "password" in done.stderr
        assert wrong not in done.stderr


@pytest.mark.parametrize("by", ["option", "environment"])
def test_a_password_in_an_address_is_refused_and_kept_nowhere(locked: Locked, by: str) -> None:
    address = locked.address.replace("ann@", f"ann:{PASSWORD}@")
    done = (
        locked.ask("--log", address, "find") if by == "option" else locked.ask("find", FINISHLOG_LOG=address)
    )
    assert done.returncode == 3
    assert "holds a password" in done.stderr
    assert PASSWORD not in done.stdout + done.stderr
    assert locked.says_nothing()


@pytest.mark.long
@pytest.mark.skipif(not WITH_TLS, reason="PostgreSQL with TLS (Debian's postgresql) is not on this machine.")
def test_tls_is_as_the_address_asks_and_check_says_how() -> None:
    import trustme

    folder = Path(tempfile.mkdtemp(prefix="flown-", dir="/tmp"))
    try:
        authority, other = trustme.CA(), trustme.CA()
        served = authority.issue_cert("127.0.0.1")
        authority.cert_pem.write_to_path(str(folder / "root.pem"))
        other.cert_pem.write_to_path(str(folder / "other.pem"))
        served.cert_chain_pems[0].write_to_path(str(folder / "cert.pem"))
        served.private_key_pem.write_to_path(str(folder / "key.pem"))
        (folder / "key.pem").chmod(0o600)
        folder.chmod(0o755)
        if os.geteuid() == 0:
            shutil.chown(folder / "key.pem", "pgserver")
        settings = (f"ssl_cert_file = '{folder}/cert.pem'", f"ssl_key_file = '{folder}/key.pem'", "ssl = on")
        with own_pg.running(*settings, programs=WITH_TLS[-1]) as server:
            _try_tls(Locked(server.database(), folder), folder)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _try_tls(log: Locked, folder: Path) -> None:
    full = f"{log.address}?sslmode=verify-full&sslrootcert={folder}"
    proved = log.ask("--log", f"{full}/root.pem", "check")
    assert proved.returncode == 0, proved.stderr
    assert "sslmode=verify-full" in proved.stdout
    assert "certificate and its name were verified" in proved.stdout
    unproved = log.ask("--log", f"{log.address}?sslmode=require", "check")
    assert "nothing proves which server it is" in unproved.stdout
    foreign = log.ask("--log", f"{full}/other.pem", "find")
    assert foreign.returncode == 3
    assert "certificate" in foreign.stderr
    plain = log.ask("--log", f"{log.address}?sslmode=disable", "check")
    assert "stays on this machine" in plain.stdout
