"""Writers killed at any moment: what was acknowledged is there, once, and the log is sound."""

import os
import random
import signal
import time
from collections import Counter
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from finishlog.records.writing import NewCustomer, NewEntry, NewJob, NewSite
from finishlog.store import Log
from finishlog.store.engine.postgres.address import Address
from tests.store.conftest import Ticking

SEED = 11
WRITERS = 4


def _write_until_killed(where: Path | Address, told: int, tag: str) -> None:
    number = iter(range(10**9))
    log = Log.open(where, clock=lambda: datetime.now(UTC), new_uid=lambda: f"{tag}-{next(number)}")
    while True:
        note = f"{tag} {next(number)}"
        with log.writing() as writer:
            writer.add_entry("patio", NewEntry("note", datetime.now(UTC), note=note))
        os.write(told, f"{note}\n".encode())


def _forked(where: Path | Address, told: int, tag: str) -> int:
    child = os.fork()
    if child == 0:
        try:
            _write_until_killed(where, told, tag)
        finally:
            os._exit(1)
    return child


def _cycle(where: Path | Address, told: Path, cycle: int, chance: random.Random) -> None:
    """Four that write, killed one after the other at some moment, while the others go on."""
    handle = os.open(told, os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    children = [_forked(where, handle, f"{cycle}.{one}") for one in range(WRITERS)]
    before, end = os.fstat(handle).st_size, time.monotonic() + 30
    while os.fstat(handle).st_size == before and time.monotonic() < end:
        time.sleep(0.001)
    for child in children:
        time.sleep(chance.uniform(0, 0.05))
        os.kill(child, signal.SIGKILL)
    assert {os.waitpid(child, 0)[1] for child in children} == {signal.SIGKILL}
    os.close(handle)


def _survives(log: Log, ticking: Ticking, tmp_path: Path, cycles: int) -> int:
    with log.writing() as writer:
        writer.add_job(NewJob("patio", NewCustomer("Bo"), NewSite("s"), handle="patio"))
    log.close()
    told, chance = tmp_path / "told", random.Random(SEED)
    for cycle in range(cycles):
        _cycle(log.where, told, cycle, chance)
        with closing(ticking.open(log.where)) as again:
            with again.reading() as reader:
                kept = [entry.note for entry in reader.job("patio").entries]
            assert set(told.read_text().splitlines()) <= set(kept)
            assert max(Counter(kept).values(), default=1) == 1
            if cycle % 10 == 9 or cycle == cycles - 1:
                assert again.check().ok
    return len(told.read_text().splitlines())


def test_four_writers_killed_twice_lose_nothing(log: Log, ticking: Ticking, tmp_path: Path) -> None:
    assert _survives(log, ticking, tmp_path, 2) >= 2


@pytest.mark.long
def test_four_writers_killed_200_times_lose_nothing(log: Log, ticking: Ticking, tmp_path: Path) -> None:
    count = _survives(log, ticking, tmp_path, 200)
    print(f"200 cycles of {WRITERS} writers, {count} acknowledged entries, none lost")
    assert count >= 200


def test_four_writers_killed_on_a_server_lose_nothing(address: str, ticking: Ticking, tmp_path: Path) -> None:
    assert _survives(ticking.open(address), ticking, tmp_path, 2) >= 2


@pytest.mark.long
def test_four_writers_killed_100_times_on_a_server_lose_nothing(
    address: str, ticking: Ticking, tmp_path: Path
) -> None:
    count = _survives(ticking.open(address), ticking, tmp_path, 100)
    print(f"100 cycles of {WRITERS} writers on a server, {count} acknowledged entries, none lost")
    assert count >= 100
