"""Numbers that follow on: one writer has its turn at a time, on a server too, and both engines count the same."""

from __future__ import annotations

import json
import os
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from finishlog.errors import InputError, LogError
from finishlog.records.writing import NewCustomer, NewEntry, NewJob, NewSample, NewSite
from finishlog.retrying import anew
from finishlog.store import Log
from finishlog.store.engine import protocol
from finishlog.store.engine.postgres import server
from tests.store.conftest import START, Ticking

TABLES = ("customer", "site", "job", "entry", "person", "setting")
NUMBERED = "SELECT job_id, number, id, kind FROM entry ORDER BY id"


def _job(name: str) -> NewJob:
    return NewJob(name, NewCustomer("Bo Vantongeren"), NewSite("1 Ash Way"), handle=name)


def _story(log: Log) -> None:
    """Two jobs, entries of both in turn, one unit of work that is refused after it has counted, and one taken back."""
    with log.writing() as writer:
        for name in ("patio", "walk"):
            writer.add_job(_job(name))
    for number in range(4):
        with log.writing() as writer:
            for name in ("patio", "walk"):
                writer.add_entry(name, NewEntry("note", START, note=f"{number}", person=f"Ann {number}"))
    with pytest.raises(InputError):
        _refused(log)
    with log.writing() as writer:
        writer.undo("patio", 2)
        writer.add_entry("walk", NewEntry("sample", START, sample=NewSample(size="2 x 2 ft")))
        writer.add_job(_job("drive"))


def _refused(log: Log) -> None:
    with log.writing() as writer:
        writer.add_job(_job("steps"))
        writer.add_entry("walk", NewEntry("note", START, person="Nobody"))
        writer.add_entry("walk", NewEntry("note", START, area="none such"))


def _numbers(log: Log) -> dict[str, list[tuple[object, ...]]]:
    with log._connection(write=False) as connection:
        found = {name: protocol.run(connection, f"SELECT count(*) FROM {name}") for name in TABLES}
        ids = {
            f"{name}.id": protocol.run(connection, f"SELECT id FROM {name} ORDER BY id")
            for name in ("job", "person")
        }
        sampled = protocol.run(connection, "SELECT entry_id, number FROM sample ORDER BY entry_id")
        return {"entry.number": protocol.run(connection, NUMBERED), "sample": sampled, **found, **ids}


def test_both_engines_number_one_story_alike(empty_log: Path, tmp_path: Path, address: str) -> None:
    """A clock and names of each log's own; what is refused leaves no hole on either."""
    path = tmp_path / "log.finishlog"
    path.write_bytes(empty_log.read_bytes())
    told = []
    for where in (path, address):
        machine = Ticking()
        log = machine.open(where)
        _story(log)
        told.append(_numbers(log))
        log.close()
    assert told[0] == told[1]
    assert [row[2] for row in told[0]["entry.number"]] == list(range(1, 11))


def test_a_writer_has_the_row_that_counts_for_itself(address: str, ticking: Ticking) -> None:
    """Before it reads any number: nobody else's program changes it meanwhile, nor does another statement."""
    log = ticking.open(address)
    busy = ticking.open(address, give_up_after_s=0.05)
    with server.library().connect(address, autocommit=True) as raw:
        raw.execute("SET search_path = finishlog; SET lock_timeout = '50ms'")
        with log.writing():
            for statement in ("UPDATE log_state SET writes = 0", "SELECT 1 FROM log_state FOR UPDATE"):
                with pytest.raises(server.library().errors.LockNotAvailable):
                    raw.execute(statement)
            with pytest.raises(LogError, match="in use"), busy.writing():
                pass
        raw.execute("SELECT 1 FROM log_state FOR UPDATE")


def _place(number: int) -> str:
    """All programs write on one job at a time, and then on the next: no job grows past what a job ever has."""
    return f"job-{number // 5}"


class _Program:
    """Writes as the desks do: what collided is done anew."""

    def __init__(self, where: str) -> None:
        self._log = Log.open(where, clock=lambda: datetime.now(UTC), new_uid=lambda: os.urandom(16).hex())
        self.tries = 0

    def log(self) -> Log:
        return self._log

    @anew
    def add(self, number: int, note: str) -> None:
        self.tries += 1
        with self._log.writing() as writer:
            writer.add_entry(_place(number), NewEntry("note", datetime.now(UTC), note=note))


def _write(where: str, count: int, tag: str, told: int) -> None:
    """So many entries; tells how long the slowest took, and how many tries collided."""
    program, longest = _Program(where), 0.0
    for number in range(count):
        start = time.monotonic()
        program.add(number, f"{tag} {number}")
        longest = max(longest, time.monotonic() - start)
    os.write(told, f"{json.dumps([longest, program.tries - count])}\n".encode())


def _all_at_once(
    address: str, ticking: Ticking, tmp_path: Path, programs: int, count: int
) -> tuple[float, int, float]:
    """Several programs write at once. The longest that one entry took, how many tries collided, and all in seconds."""
    log = ticking.open(address)
    places = sorted({_place(number) for number in range(count)})
    with log.writing() as writer:
        for place in places:
            writer.add_job(_job(place))
    log.close()
    told = os.open(tmp_path / "told", os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    start, children = time.monotonic(), []
    for one in range(programs):
        child = os.fork()
        if child == 0:
            try:
                _write(address, count, f"{one}", told)
            finally:
                os._exit(0)
        children.append(child)
    for child in children:
        os.waitpid(child, 0)
    took = time.monotonic() - start
    with ticking.open(address).reading() as reader:
        jobs = [reader.job(place).entries for place in places]
    for some in jobs:
        assert [entry.number for entry in some] == list(range(1, len(some) + 1))
    entries = [entry for some in jobs for entry in some]
    assert len(entries) == programs * count
    assert {entry.note for entry in entries} == {
        f"{one} {n}" for one in range(programs) for n in range(count)
    }
    waits = [json.loads(line) for line in (tmp_path / "told").read_text().splitlines()]
    assert len(waits) == programs
    return max(longest for longest, _ in waits), sum(collided for _, collided in waits), took


def test_programs_on_a_server_never_take_one_number(address: str, ticking: Ticking, tmp_path: Path) -> None:
    _all_at_once(address, ticking, tmp_path, 4, 3)


@pytest.mark.long
def test_eight_programs_write_200_each_on_a_server(address: str, ticking: Ticking, tmp_path: Path) -> None:
    longest, collided, took = _all_at_once(address, ticking, tmp_path, 8, 200)
    print(
        f"1600 entries of 8 programs in {took:.1f} s, longest wait {longest:.2f} s, {collided} tries anew, none lost"
    )
    assert longest < 30
