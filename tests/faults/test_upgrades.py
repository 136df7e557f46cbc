"""An upgrade that is killed leaves a log that opens and one usable copy; several openers do not quarrel over it."""

import random
import shutil
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from threading import Barrier, Thread
from time import monotonic

import pytest

from finishlog.store import Log
from finishlog.store import log as store_log
from finishlog.store.engine import sqlite
from finishlog.store.schema import revisions
from tests.conftest import Ran
from tests.faults.test_log_files import opened
from tests.faults.test_replaced import sound
from tests.faults.test_restore import Killed, killed_at
from tests.migrations.test_migrations import released

OLD = "0005"
OPEN = """
import sys
from datetime import UTC, datetime
from finishlog.store import Log
print("begins", flush=True)
Log.open(sys.argv[1], clock=lambda: datetime.now(UTC), new_uid=str).close()
"""


@pytest.fixture
def old(tmp_path: Path) -> Path:
    return released(OLD, tmp_path)


def copies(where: Path) -> list[Path]:
    return [path for path in where.parent.glob("*before-upgrade*") if not path.name.startswith(".")]


def test_four_openers_of_an_old_log_make_one_copy(old: Path) -> None:
    gate, logs, failed = Barrier(4), list[Log](), list[Exception]()

    def open_it() -> None:
        gate.wait()
        try:
            logs.append(opened(old))
        except Exception as error:
            failed.append(error)

    threads = [Thread(target=open_it) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failed == []
    assert len(copies(old)) == 1
    assert [log.upgraded_from for log in logs if log.upgraded_from] == copies(old)
    for log in logs:
        log.close()
    assert sound(old)


def test_an_upgrade_is_said_once(old: Path, finishlog: object) -> None:
    first: Ran = finishlog("--log", str(old), "find")  # type: ignore[operator]
    again: Ran = finishlog("--log", str(old), "find")  # type: ignore[operator]
    (copy,) = copies(old)
    assert first.err.count(f"The log was upgraded; a copy of the old version is at {copy}.") == 1
    assert "upgraded" not in again.err
    assert (first.status, again.status, again.out) == (0, 0, first.out)


@pytest.mark.parametrize("some", [2, pytest.param(None, marks=pytest.mark.long)])
def test_killed_at_every_call_and_before_the_commit(
    old: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, some: int | None
) -> None:
    """Of its calls `some`, and all with None; the first beyond the last is killed before the commit."""
    tried = tmp_path / "tried" / old.name
    tried.parent.mkdir()
    shutil.copy(old, tried)
    with killed_at(999, monkeypatch) as all_made:
        opened(tried).close()
    calls = len(all_made)
    assert calls > 5
    numbers = range(1, calls + 1)
    for number in (*(numbers if some is None else random.Random(1).sample(numbers, some)), calls + 1):
        where = tmp_path / f"try {number}" / old.name
        where.parent.mkdir()
        shutil.copy(old, where)
        with killed_at(number, monkeypatch), monkeypatch.context() as patched:
            patched.setattr(store_log, "_compute", _die)
            with pytest.raises(Killed):
                opened(where)
        assert sqlite.schema_of(where) == OLD
        with closing(opened(where)) as log:
            assert log.upgraded_from is not None
            assert sqlite.schema_of(log.upgraded_from) == OLD
        assert len(copies(where)) == 1  # the copy of the upgrade that was killed is the same, and taken


def _die(_connection: object, _older: str) -> None:
    raise Killed


@pytest.mark.long
def test_fifty_upgrades_are_killed(old: Path, tmp_path: Path) -> None:
    """By the system, at any moment: the log opens, the copy is usable, nothing is in the way."""
    whole, upgraded = 0.0, 0
    for number in range(51):
        where = tmp_path / f"try {number}" / old.name
        where.parent.mkdir()
        shutil.copy(old, where)
        with subprocess.Popen([sys.executable, "-c", OPEN, str(where)], stdout=subprocess.PIPE) as program:
            assert program.stdout is not None
            assert program.stdout.readline() == b"begins\n"
            start = monotonic()
            try:
                program.wait(60 if number == 0 else whole * number / 45)
            except subprocess.TimeoutExpired:
                program.kill()
        whole = whole or monotonic() - start
        upgraded += sqlite.schema_of(where) == revisions.head()
        assert sound(where)
        opened(where).close()
        assert sqlite.schema_of(where) == revisions.head()
        assert sound(where)
        (copy,) = copies(where)
        assert sqlite.schema_of(copy) == OLD
        assert sound(copy)
        shutil.rmtree(where.parent)
    print(f"{upgraded} of 51 were upgraded when they were killed")
