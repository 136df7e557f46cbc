"""What every test may use: the demo's log, made once and copied, and the command line run in this process."""

from __future__ import annotations

import gc
import importlib.util
import itertools
import json
import os
import shutil
import sqlite3
import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from copy import copy
from dataclasses import dataclass
from fcntl import LOCK_EX, flock
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
import tzlocal
from hypothesis import HealthCheck, settings

NOW = "2026-06-16T07:40:00-05:00"
_HOMES = itertools.count()
sys.dont_write_bytecode = False
"""Each worker, and each command that a test starts, would compile the program and the tests again.

The commands only read what is kept where PYTHONDONTWRITEBYTECODE is set: their calls that write are counted.
"""
settings.register_profile("steady", suppress_health_check=[HealthCheck.too_slow], deadline=None)
settings.load_profile("steady")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the program itself does
"""How long an example takes says how busy the machine is, not whether the program is right."""


def pytest_xdist_auto_num_workers() -> int:
    """Half as many again as there are cores: what drives the screens waits more than it works."""
    return (os.cpu_count() or 1) * 3 // 2


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """The benches are not even read where they are left out: each worker would compile and import them."""
    benches = Path(__file__).parent / "bench"
    return True if "not bench" in config.option.markexpr and collection_path == benches else None


def pytest_collection_finish() -> None:
    """What was collected stays to the end: looking for garbage in it again and again only takes time.

    A fifth of it, as a screen's thousands of objects go together: garbage is looked for less often too.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)


@dataclass(frozen=True)
class Ran:
    """A command that ran: exit status and what it printed."""

    status: int
    out: str
    err: str

    def json(self) -> Any:
        assert self.status == 0, self.err
        return json.loads(self.out)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """The program's clock stands at 7:40 in the morning of June 16 2026, in Chicago."""
    with _at(monkeypatch):
        yield NOW


@pytest.fixture(scope="session")
def release() -> Any:
    """The script that saves a log with a row in every table, as a module."""
    path = Path(__file__).parent / "migrations" / "release.py"
    spec = importlib.util.spec_from_file_location("release", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@contextmanager
def _at(patch: pytest.MonkeyPatch) -> Iterator[None]:
    """tzlocal remembers the zone it first saw, so it is told of each change."""
    patch.setenv("FINISHLOG_NOW", NOW)
    patch.setenv("TZ", "America/Chicago")
    tzlocal.reload_localzone()
    yield
    patch.delenv("TZ")
    tzlocal.reload_localzone()


@pytest.fixture(scope="session", autouse=True)
def compiled_once() -> Iterator[None]:
    """Statements are compiled once for all the logs that a run opens, as they are for the one log of a program."""
    from sqlalchemy.dialects.sqlite.pysqlite import SQLiteDialect_pysqlite
    from sqlalchemy.engine import Engine

    compiled: dict[object, object] = {}
    with pytest.MonkeyPatch.context() as patch:
        own = property(lambda _: compiled, lambda _, _own: None)
        patch.setattr(Engine, "_compiled_cache", own, raising=False)
        patch.setattr(SQLiteDialect_pysqlite, "__hash__", lambda _: 1, raising=False)
        patch.setattr(
            SQLiteDialect_pysqlite, "__eq__", lambda one, other: type(one) is type(other), raising=False
        )
        yield


@pytest.fixture(scope="session", autouse=True)
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """The tables of an empty log, of each revision, are made once by the program's own way; a new log is a copy."""
    from finishlog.store.engine import upgrade
    from finishlog.store.schema import revisions
    from finishlog.store.sealing import form

    folder, ours = tmp_path_factory.mktemp("empty"), revisions.migrations()
    make, migrate = upgrade.make, upgrade.migrate
    held: dict[str, tuple[bytes, tuple[str, ...]]] = {}

    def copied(where: Path, name: str, way: Callable[[Path], None]) -> None:
        empty = folder / name
        if name not in held:
            empty.touch()
            way(empty)
            with closing(sqlite3.connect(empty)) as raw:
                has_state = raw.execute("SELECT 1 FROM sqlite_schema WHERE name = 'log_state'").fetchone()
                state = raw.execute("SELECT uid, proof FROM log_state").fetchone() if has_state else ()
            held[name] = empty.read_bytes(), state
        bytes_of_it, state = held[name]
        if state:
            own = uuid4().hex  # each log has an identity of its own
            proof = form.state(own, 0, 0, "")
            bytes_of_it = bytes_of_it.replace(state[0].encode(), own.encode())
            bytes_of_it = bytes_of_it.replace(state[1].encode(), proof.encode())
        where.write_bytes(bytes_of_it)

    def migrated(where: Path, revision: str = "head", **how: Any) -> None:
        name = revisions.head() if revision == "head" else revision
        if any(how.values()) or where.stat().st_size or revisions.migrations() != ours:
            migrate(where, revision, **how)
        else:
            copied(where, name, lambda empty: migrate(empty, revision))

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(upgrade, "make", lambda where: copied(where, "log", make))
        patch.setattr(upgrade, "migrate", migrated)
        yield


@pytest.fixture(scope="session", autouse=True)
def fonts_read_once() -> Iterator[None]:
    """The two fonts are read once for all the PDFs of a run, not once for each; each has its own subset of them."""
    from functools import cached_property

    from finishlog.papers.layout.ink import Ink

    read: dict[tuple[str, str], Any] = {}
    make = Ink.__dict__["_pdf"].func

    def made(ink: Ink) -> Any:
        import fpdf.fpdf as library

        real = library.TTFFont
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(
                library,
                "TTFFont",
                lambda pdf, path, key, style, *rest: again(real, pdf, path, key, style, rest),
            )
            return make(ink)

    def again(real: Any, pdf: Any, path: Path, key: str, style: str, rest: Any) -> Any:
        from fontTools.ttLib import TTFont
        from fpdf.fonts import SubsetMap

        if (str(path), key) not in read:
            read[str(path), key] = real(pdf, path, key, style, *rest)
        font = copy(read[str(path), key])
        font.i, font.missing_glyphs = len(pdf.fonts) + 1, []
        font.cw, font.desc = copy(font.cw), copy(font.desc)
        font.ttfont = TTFont(path, recalcTimestamp=False, lazy=True)  # it is cut down to its subset
        font.subset = SubsetMap(font)
        return font

    with pytest.MonkeyPatch.context() as patch:
        own = cached_property(made)
        own.__set_name__(Ink, "_pdf")
        patch.setattr(Ink, "_pdf", own)
        yield


@pytest.fixture(autouse=True)
def own_folders(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    """No test reads or writes the settings, the log, the marks or the cache of whoever runs it.

    Named only: most tests write none, and a folder for each of thousands is made and removed slowly.
    """
    home = tmp_path_factory.getbasetemp() / "homes" / str(next(_HOMES))
    for name in ("DATA", "CONFIG", "CACHE", "STATE"):
        monkeypatch.setenv(f"XDG_{name}_HOME", str(home / name.lower()))


@pytest.fixture
def unhurried(monkeypatch: pytest.MonkeyPatch) -> None:
    """That a wait is long is not said: on a busy machine it would stand beside what a command is asked for."""
    from finishlog.desk import services

    monkeypatch.setattr(services, "WORD_AFTER_S", 600.0)


@pytest.fixture
def finishlog(
    capsys: pytest.CaptureFixture[str], clock: str, unhurried: None, monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Ran]:
    """Runs a command as `__main__` does, with no log in the usual place."""
    from finishlog.__main__ import main

    monkeypatch.delenv("FINISHLOG_LOG", raising=False)
    monkeypatch.setenv("FINISHLOG_TRACEBACK", "1")  # a fault is to be seen where it is

    def run(*argv: str) -> Ran:
        capsys.readouterr()
        try:
            status = main(list(argv))
        except SystemExit as left:
            status = int(left.code or 0)
        printed = capsys.readouterr()
        return Ran(status, printed.out, printed.err)

    return run


@pytest.fixture(scope="session")
def made_demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's log as of the fixed day, made once for all processes of a run."""
    from finishlog.__main__ import main

    base = tmp_path_factory.getbasetemp()
    where = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "demo.finishlog"
    with open(f"{where}.lock", "w") as lock, pytest.MonkeyPatch.context() as patch, _at(patch):
        flock(lock, LOCK_EX)
        assert where.exists() or main(["demo", "--into", str(where)]) == 0
    return where


@pytest.fixture
def demo(made_demo: Path, tmp_path: Path) -> str:
    """A fresh copy of the demo's log."""
    shutil.copytree(f"{made_demo}.files", tmp_path / "demo.finishlog.files")
    return str(shutil.copy(made_demo, tmp_path / "demo.finishlog"))


@pytest.fixture
def address() -> Iterator[str]:
    """The address of an empty log on a PostgreSQL server; see tests/pg.py."""
    from tests import pg

    made = pg.database()
    yield made
    pg.drop(made)


@pytest.fixture
def bare_address() -> Iterator[str]:
    """The address of an empty database on a PostgreSQL server."""
    from tests import pg

    made = pg.bare()
    yield made
    pg.drop(made)
