"""A made log is what the program itself would write, and no answer for one job needs all of it."""

from __future__ import annotations

import importlib.util
import json
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from types import ModuleType

import pytest
from sqlalchemy import select

from finishlog.store import Log
from finishlog.store.reading import learning, made_with, slabs
from finishlog.store.schema.tables import JobRow
from finishlog.wiring import run

JOBS = 30
COMMANDS = (
    *(
        ("find", "the"),
        ("find", "puddel"),
        ("show", "JOB"),
        ("color", "JOB"),
        ("color", "--how-good"),
        ("today",),
    ),
    *(("care",), ("shelf",), ("match", "JOB", "--rect", "12x10", "--depth", "4in"), ("check",)),
)


def _big() -> ModuleType:
    path = Path(__file__).parent / "bench" / "big.py"
    spec = importlib.util.spec_from_file_location("big_log", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Thirty jobs."""
    where = tmp_path_factory.mktemp("big") / "made.finishlog"
    before = list(sys.path)
    _big().build(where, JOBS, seed=5)
    sys.path[:] = before
    return where


@pytest.fixture
def log(made: Path) -> Iterator[Log]:
    found = Log.open(made, clock=lambda: datetime(2026, 6, 16, tzinfo=UTC), new_uid=lambda: "u")
    yield found
    found.close()


def test_it_is_sound(log: Log) -> None:
    report = log.check()
    assert report.problems == ()
    assert report.jobs == JOBS
    assert report.entries > 10 * JOBS


def test_copies_of_jobs_are_sound_and_found(tmp_path: Path) -> None:
    where = tmp_path / "copied.finishlog"
    _big().build(where, 30, seed=5, own=10)
    log = Log.open(where, clock=lambda: datetime(2026, 6, 16, tzinfo=UTC), new_uid=lambda: "u")
    report = log.check()
    assert (report.problems, report.jobs) == ((), 30)
    with log.reading() as reader:
        handle = reader.lines(words="c2")[0].handle
        of_copy, of_first = reader.job(handle), reader.job(handle.removesuffix("-c2"))
        assert handle.endswith("-c2")
    log.close()
    assert [entry.kind for entry in of_copy.entries] == [entry.kind for entry in of_first.entries]
    assert {entry.uid for entry in of_copy.entries}.isdisjoint(entry.uid for entry in of_first.entries)


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_every_command_answers(
    made: Path, log: Log, command: tuple[str, ...], capsys: pytest.CaptureFixture[str], unhurried: None
) -> None:
    with log.reading() as reader:
        job = reader.learning_rows()[-1].job
    status = run(["--log", str(made), *(job if word == "JOB" else word for word in command), "--json"])
    out, err = capsys.readouterr()
    assert (status, err) == (0, "")
    assert json.loads(out) is not None


def test_the_jobs_read_last_tell_what_all_tell_of_them(log: Log, monkeypatch: pytest.MonkeyPatch) -> None:
    """A bound leaves out whole jobs, and no answer about those that stay is another for it."""
    with log.reading() as reader:
        connection = reader._connection
        everyone = list(connection.scalars(select(JobRow.id)))
        rows, made = learning.rows(connection, everyone), made_with.rows(connection, everyone)
        assert reader.learning_rows() == rows
        monkeypatch.setattr(learning, "READ_LAST", 3)
        newest = list(dict.fromkeys(row.job for row in sorted(rows, key=lambda r: r.happened, reverse=True)))[
            :3
        ]
        assert reader.learning_rows() == tuple(row for row in rows if row.job in newest)
        assert reader.made_rows() == tuple(row for row in made if row.job in newest)
        job = rows[0].job
        assert job not in newest
        assert tuple(row for row in reader.learning_rows_of(job) if row.job == job) == tuple(
            row for row in rows if row.job == job
        )
        assert {row.job for row in rows if row.recipe == rows[0].recipe} <= {
            row.job for row in reader.learning_rows_of(job)
        }


def test_the_order_learns_from_the_jobs_poured_last(log: Log, monkeypatch: pytest.MonkeyPatch) -> None:
    with log.reading() as reader:
        everything = reader.past_slabs()
        monkeypatch.setattr(slabs, "POURED_LAST", 4)
        last = reader.past_slabs()
    assert len({slab.job for slab in everything}) > 4
    newest = sorted(everything, key=lambda slab: slab.poured_on)[-4:]
    assert [slab for slab in last if slab in newest] == newest
