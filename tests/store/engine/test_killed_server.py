"""A server that is killed under its writers: what it acknowledged is there, once; of the rest it is told truly."""

from __future__ import annotations

import itertools
import os
import signal
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from finishlog.errors import LogError, ServerAway
from finishlog.records.writing import NewCustomer, NewEntry, NewJob, NewSite
from finishlog.store import Log
from tests import own_pg
from tests.own_pg import OwnServer
from tests.store.conftest import Ticking

WRITERS = 4
SLOW_COMMITS = ("commit_delay = 100000", "commit_siblings = 0")
"""A commit waits before it reaches the disk, so that most of the kills fall into one."""
TOLD = {True: "was", False: "was not"}


@pytest.fixture(scope="module")
def server() -> Iterator[OwnServer]:
    with own_pg.running(*SLOW_COMMITS) as made:
        yield made


def _opened(where: str, tag: str) -> Log:
    number = itertools.count()
    while True:
        try:
            return Log.open(where, clock=lambda: datetime.now(UTC), new_uid=lambda: f"{tag}-{next(number)}")
        except LogError:
            time.sleep(0.05)


def _write(log: Log, told: int, note: str) -> None:
    """One entry, and what was told of it in the end."""
    try:
        with log.writing() as writer:
            writer.add_entry("patio", NewEntry("note", datetime.now(UTC), note=note))
        said = "kept"
    except ServerAway as error:
        known = log.was_written(error)
        while known is None:
            time.sleep(0.02)
            known = log.was_written(error)
        said = TOLD[known] if error.unsure else "gone"
        time.sleep(0.05)
    os.write(told, f"{said} {note}\n".encode())


def _forked(where: str, told: int, tag: str) -> int:
    child = os.fork()
    if child == 0:
        try:
            log = _opened(where, tag)
            for number in itertools.count():
                _write(log, told, f"{tag} {number}")
        finally:
            os._exit(1)
    return child


def _strike(server: OwnServer, way: int) -> None:
    """In mid-commit: kill -9 of all of it, a crash, or kill -9 of who commits, after which it recovers by itself."""
    if way == 0:
        server.in_mid_commit(lambda _: server.kill())
    elif way == 1:
        server.in_mid_commit(lambda _: server.crash())
    else:
        server.in_mid_commit(lambda process: os.kill(process, signal.SIGKILL))
        return
    server.start()


def _survives(server: OwnServer, ticking: Ticking, tmp_path: Path, cycles: int) -> dict[str, int]:
    where, told = server.database(), tmp_path / "told"
    with closing(ticking.open(where)) as log, log.writing() as writer:
        writer.add_job(NewJob("patio", NewCustomer("Bo"), NewSite("s"), handle="patio"))
    handle = os.open(told, os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    children = [_forked(where, handle, f"writer{one}") for one in range(WRITERS)]
    try:
        for cycle in range(cycles):
            _more(told, 1)
            _strike(server, cycle % 3)
        _more(told, 2 * WRITERS)
    finally:
        for child in children:
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
        os.close(handle)
    with closing(_opened(where, "look")) as log:
        with log.reading() as reader:
            kept = Counter(entry.note for entry in reader.job("patio").entries)
        assert max(kept.values()) == 1
        for word, there in (("kept", True), ("was", True), ("was not", False), ("gone", False)):
            assert {note in kept for note in _said(told, word)} <= {there}, word
        assert log.check().ok
    return {word: len(_said(told, word)) for word in ("kept", "was", "was not", "gone")}


def _more(told: Path, count: int) -> None:
    """Wait until so many more were acknowledged."""
    before = len(_said(told, "kept"))
    assert own_pg.until(lambda: len(_said(told, "kept")) >= before + count, 60)


def _said(told: Path, word: str) -> list[str]:
    """The notes of which this was told."""
    lines = (line.rsplit(" ", 2) for line in told.read_text().splitlines())
    return [f"{tag} {number}" for said, tag, number in lines if said == word]


def test_a_server_killed_twice_tells_the_truth(server: OwnServer, ticking: Ticking, tmp_path: Path) -> None:
    found = _survives(server, ticking, tmp_path, 2)
    assert found["was"] + found["was not"] >= 1


@pytest.mark.long
def test_a_server_killed_40_times_tells_the_truth(
    server: OwnServer, ticking: Ticking, tmp_path: Path
) -> None:
    found = _survives(server, ticking, tmp_path, 40)
    print(f"a server killed 40 times under {WRITERS} writers: {found}")
    assert found["was not"] + found["was"] >= 20


def test_a_server_that_stands_still_is_noticed_in_seconds(server: OwnServer, ticking: Ticking) -> None:
    log = ticking.open(server.database())
    with log.reading() as reader:
        assert reader.draft("job") is None
    server.freeze()
    try:
        start = time.monotonic()
        with pytest.raises(ServerAway), log.reading() as reader:
            reader.draft("job")
        took = time.monotonic() - start
    finally:
        server.thaw()
    assert took < 5
    with log.reading() as reader:
        assert reader.draft("job") is None
