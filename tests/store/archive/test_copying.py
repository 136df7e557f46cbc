"""A log is copied whole between files and servers, compared, and named last."""

from __future__ import annotations

import hashlib
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import psycopg
import pytest

from finishlog.errors import LogError
from finishlog.records.writing import NewCustomer, NewEntry, NewFile, NewJob, NewSite
from finishlog.store import Log
from finishlog.store.archive.copying import copy_to
from finishlog.store.archive.export import dump
from finishlog.store.disk.attachments import Attachments, folder_of
from finishlog.store.engine.in_sqlite import Sqlite
from tests.conftest import Ran
from tests.store.conftest import START, Ticking

JOB = "fizzlewick-side-walk"


def bytes_of(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def exported(log: Log, folder: Path) -> dict[str, bytes]:
    dump(log, folder)
    return bytes_of(folder)


def schemas(address: str) -> list[str]:
    with psycopg.connect(address) as raw:
        found = raw.execute("SELECT nspname FROM pg_namespace WHERE nspname LIKE 'finishlog%'").fetchall()
    return [row[0] for row in found]


def assert_looked_at(address: str) -> None:
    """The server knows its rows: it would guess, and plan badly, until it looked by itself."""
    with psycopg.connect(address) as raw:
        tables = raw.execute(
            "SELECT relname, reltuples FROM pg_class WHERE relkind = 'r' AND relnamespace = 'finishlog'::regnamespace"
        ).fetchall()
        kept = raw.execute(
            "SELECT DISTINCT tablename FROM pg_stats WHERE schemaname = 'finishlog'"
        ).fetchall()
    assert [name for name, rows in tables if rows < 0] == []
    assert {("job",), ("entry",), ("job_word_at",), ("due",)} <= set(kept)


def some_file(log: str) -> Path:
    return next(path for path in folder_of(Path(log)).rglob("*") if path.is_file())


def test_there_and_back_it_is_the_same_log_and_goes_on(
    demo: str, bare_address: str, tmp_path: Path, ticking: Ticking, finishlog: Callable[..., Ran]
) -> None:
    here = ticking.open(demo)
    ran = finishlog("--log", demo, "copy-to", bare_address)
    assert ran.status == 0, ran.err
    there = ticking.open(bare_address)
    assert (there.identity(), there.check().problems) == (here.identity(), ())
    assert_looked_at(bare_address)
    back = tmp_path / "back.finishlog"
    assert finishlog("--log", bare_address, "copy-to", str(back), "--json").json()["missing"] == []
    came = ticking.open(back)
    assert came.check().problems == ()
    assert exported(came, tmp_path / "last") == exported(here, tmp_path / "first")
    assert bytes_of(folder_of(back)) == bytes_of(folder_of(Path(demo)))
    said = [
        finishlog("--log", where, "record", JOB, "note", "--note", "dry")
        for where in (demo, bare_address, str(back))
    ]
    assert [ran.status for ran in said] == [0, 0, 0], said
    assert len({ran.out for ran in said}) == 1
    assert there.check().problems == came.check().problems == ()


@pytest.fixture
def small(empty_log: Path, tmp_path: Path, ticking: Ticking) -> Log:
    """A log file of one job with one entry and its file."""
    log = ticking.open(Path(shutil.copy(empty_log, tmp_path / "small.finishlog")))
    ticket = tmp_path / "ticket.txt"
    ticket.write_bytes(b"4 yd" * 400_000)
    with log.writing() as writer:
        job = writer.add_job(
            NewJob("Patio", NewCustomer("Ines Quagmire"), NewSite("1 Teakettle Lane", "Puddlecombe"))
        )
        writer.add_entry(job.handle, NewEntry("note", START, files=(NewFile(ticket),)))
    return log


@pytest.mark.parametrize("to", ["file", "server"])
def test_a_log_that_lost_a_file_is_not_copied_unless_that_is_wanted(
    small: Log, bare_address: str, tmp_path: Path, ticking: Ticking, to: str
) -> None:
    lost = some_file(str(small.where))
    lost.write_bytes(b"noise")
    where = bare_address if to == "server" else str(tmp_path / "new.finishlog")
    with pytest.raises(LogError, match=f"missing or damaged: {lost.name[:12]}"):
        copy_to(small, where)
    assert (schemas(bare_address), list(tmp_path.glob("*new*"))) == ([], [])
    assert copy_to(small, where, without_missing=True).missing == (lost.name,)
    assert [lost.name[:12] in one for one in ticking.open(where).check().problems] == [True]


def test_what_is_there_stays_as_it_is(small: Log, address: str, tmp_path: Path) -> None:
    folder = tmp_path / "new.finishlog.files"
    folder.mkdir()
    (folder / "mine").touch()
    for where in (str(small.where), address, str(tmp_path / "new.finishlog")):
        with pytest.raises(LogError, match="already") as refused:
            copy_to(small, where)
        assert refused.value.cause == "It was left alone."
    assert [path.name for path in tmp_path.glob("*new*")] == [folder.name]


def test_a_copy_that_differs_is_removed_and_what_differs_is_said(
    small: Log, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    load = Sqlite.load

    def forgets(self: Sqlite, connection: Any, table: str, columns: Any, rows: Any) -> None:
        load(self, connection, table, columns, iter(()) if table == "entry" else rows)
        list(rows)

    monkeypatch.setattr(Sqlite, "load", forgets)
    with pytest.raises(LogError, match="differs") as refused:
        copy_to(small, tmp_path / "new.finishlog")
    assert refused.value.cause == "entry has 0 rows, not 1."
    assert list(tmp_path.glob("*new*")) == []


def test_killed_it_leaves_no_log_and_the_next_one_is_whole(
    small: Log, bare_address: str, ticking: Ticking
) -> None:
    """Killed as it begins to compare: all is written, and nothing has its name. One at a time makes a log there."""
    kept = str(small.where)
    small.close()
    child = os.fork()
    if not child:  # pragma: no cover

        def dies(what: str, _share: float | None) -> None:
            if what == "comparing":
                os.kill(os.getpid(), signal.SIGKILL)

        copy_to(ticking.open(kept), bare_address, progress=dies)
        os._exit(0)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL
    assert schemas(bare_address) == ["finishlog_part"]
    with pytest.raises(LogError, match="No log at"):
        ticking.open(bare_address)
    refused: list[LogError] = []

    def another(what: str, _share: float | None) -> None:
        if not refused:
            with pytest.raises(LogError, match="Another program is making a log there") as found:
                copy_to(log, bare_address)
            refused.append(found.value)

    log = ticking.open(kept)
    copy_to(log, bare_address, progress=another)
    assert ticking.open(bare_address).check().problems == ()
    assert (len(refused), schemas(bare_address)) == (1, ["finishlog"])


def started(log: str, where: str) -> subprocess.Popen[str]:
    """A program that copies a log, once it says that it begins."""
    program = (
        "import sys; from finishlog.store import Log; from finishlog.store.archive.copying import copy_to\n"
        "log = Log.open(sys.argv[1], clock=None, new_uid=None)\n"
        "print('begins', flush=True)\n"
        "copy_to(log, sys.argv[2])\n"
    )
    argv = [sys.executable, "-c", program, log, where]
    run = subprocess.Popen(argv, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    assert run.stdout is not None
    run.stdout.readline()
    return run


@pytest.mark.long
@pytest.mark.parametrize("to", ["file", "server"])
def test_stopped_at_any_moment_there_is_a_whole_log_or_none(
    demo: str, bare_address: str, ticking: Ticking, tmp_path: Path, to: str
) -> None:
    """A sweep of Ctrl+C, over the time that a whole copy takes here and a little more."""
    where = bare_address if to == "server" else str(tmp_path / "new.finishlog")
    took, chance, whole = 4.0, random.Random(14), 0
    for _ in range(25):
        run, began = started(demo, where), time.monotonic()
        time.sleep(chance.uniform(0.0, took * 1.1))
        run.send_signal(signal.SIGINT)
        if run.wait(60) == 0:
            took = min(took, time.monotonic() - began)
        if not (schemas(where) == ["finishlog"] if to == "server" else os.path.exists(where)):
            with pytest.raises(LogError, match="No log at"):
                ticking.open(where)
            continue
        whole += 1
        with closing(ticking.open(where)) as made:
            assert made.check().problems == ()
        if to == "server":
            with psycopg.connect(where, autocommit=True) as raw:
                raw.execute("DROP SCHEMA finishlog CASCADE")
        else:
            os.unlink(where)
            shutil.rmtree(folder_of(Path(where)))
    assert 0 < whole < 25, whole


def test_a_file_in_blocks_of_any_size_is_that_file_or_nothing(tmp_path: Path) -> None:
    kept, name = Attachments(tmp_path / "files"), hashlib.sha256(b"abcdef").hexdigest()
    assert not kept.take(name, iter((b"abc", b"xyz")))
    assert not kept.take(name, iter(()))
    assert not kept.path(name).exists()
    assert kept.take(name, iter((b"a", b"bcd", b"ef")))
    assert b"".join(kept.blocks(name)) == b"abcdef"
    assert list(kept.blocks("0" * 64)) == []
