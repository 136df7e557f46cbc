"""Writers of several programs on one log: in the order in which they asked, whoever is killed meanwhile."""

import json
import multiprocessing
import os
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from finishlog.records.writing import NewCustomer, NewEntry, NewJob, NewSite
from finishlog.store import Log
from finishlog.store.engine import sqlite, turns

WRITER = """
import json, sys, time
from finishlog import wiring
from finishlog.desk.record.record import record
where, tag, times = sys.argv[1], sys.argv[2], int(sys.argv[3])
services = wiring.build(where)
with services.log().reading() as log:
    handles = [line.handle for line in log.lines()]
record(services, handles[0], "note", {"at": "2026-06-16 7:00a", "note": tag}, because="to be sure")
print("ready", flush=True)
sys.stdin.readline()
waits, began, used = [], time.monotonic(), time.process_time()
for at in range(times):
    asked = time.monotonic()
    texts = {"at": "2026-06-16 7:00a", "note": f"{tag} {at}"}
    record(services, handles[at % len(handles)], "note", texts, because="to be sure")
    waits.append(time.monotonic() - asked)
print(json.dumps([began, time.monotonic(), max(waits), time.process_time() - used]))
services.close()
"""
QUEUED = """
import sys
from pathlib import Path
from finishlog.store.engine import turns
with turns.turn(Path(sys.argv[1]), turns.Patience(None, 30)):
    print("mine", flush=True)
    sys.stdin.readline()
"""


def _start(code: str, *argv: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", code, *argv], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )


def _go(child: subprocess.Popen[str]) -> None:
    assert child.stdin is not None
    child.stdin.write("\n")
    child.stdin.flush()


def _said(child: subprocess.Popen[str]) -> str:
    assert child.stdout is not None
    return child.stdout.readline().strip()


def _together(where: str, writers: int, times: int) -> tuple[float, float, float]:
    """The longest single record in seconds, records per second of all together, CPU seconds of one."""
    children = [_start(WRITER, where, str(tag), str(times)) for tag in range(writers)]
    assert [_said(child) for child in children] == ["ready"] * writers
    for child in children:
        _go(child)
    told = [json.loads(_said(child)) for child in children]
    assert [child.wait() for child in children] == [0] * writers
    length = max(end for _, end, *_ in told) - min(began for began, *_ in told)
    return max(wait for _, _, wait, _ in told), writers * times / length, _mean(told) / times


def _mean(told: list[list[float]]) -> float:
    return sum(cpu for *_, cpu in told) / len(told)


def _notes(where: str, ticking: object) -> list[str]:
    log = ticking.open(Path(where))  # type: ignore[attr-defined]
    with log.reading() as reader:
        kept = [
            e.note for line in reader.lines() for e in reader.job(line.handle).entries if e.kind == "note"
        ]
    assert log.check().ok
    log.close()
    return [note for note in kept if note and note[:1].isdigit()]


def _expected(writers: int, times: int) -> set[str]:
    return {f"{tag} {at} Because: to be sure" for tag in range(writers) for at in range(times)}


@pytest.fixture(scope="session")
def bare(tmp_path_factory: pytest.TempPathFactory) -> float:
    """Bare INSERTs, each committed and on the disk, per second."""
    with closing(sqlite3.connect(tmp_path_factory.mktemp("bare") / "bare", isolation_level=None)) as raw:
        raw.execute("PRAGMA journal_mode=WAL")
        raw.execute("PRAGMA synchronous=FULL")
        raw.execute("CREATE TABLE t (a)")
        began = time.monotonic()
        for at in range(100):
            raw.execute("INSERT INTO t VALUES (?)", (at,))
        return 100 / (time.monotonic() - began)


def _write(where: Path, tag: int, times: int, ready: Any) -> None:
    uids = (f"{tag}-{n}" for n in range(10**9))
    log = Log.open(where, clock=lambda: datetime.now(UTC), new_uid=lambda: next(uids))
    ready.wait()
    for at in range(times):
        with log.writing() as writer:
            note = f"{tag} {at} Because: to be sure"
            writer.add_entry("patio", NewEntry("note", datetime.now(UTC), note=note))
    log.close()


def test_three_writers_lose_nothing(log: Log, ticking: object) -> None:
    with log.writing() as writer:
        writer.add_job(NewJob("patio", NewCustomer("Bo"), NewSite("s"), handle="patio"))
    log.close()
    fork = multiprocessing.get_context("fork")
    ready = fork.Barrier(3)
    writers = [fork.Process(target=_write, args=(log.where, tag, 10, ready)) for tag in range(3)]
    for one in writers:
        one.start()
    for one in writers:
        one.join()
    assert [one.exitcode for one in writers] == [0] * 3
    assert _expected(3, 10) == set(_notes(str(log.where), ticking))
    assert not turns.file_of(log.where).exists()


@pytest.mark.long
def test_eight_writers_take_turns(demo: str, ticking: object, clock: str, bare: float) -> None:
    longest, rate, cpu_s = _together(demo, 8, 200)
    print(f"longest {longest:.2f} s, {rate:.0f} a second: 1/{bare / rate:.0f} of bare commits ({bare:.0f})")
    print(f"{cpu_s * 1e3:.1f} ms of CPU for each: {cpu_s * rate:.2f} processors")
    assert _expected(8, 200) <= set(_notes(demo, ticking))
    assert longest < 1
    assert rate >= 60


def test_who_asked_first_is_first(tmp_path: Path) -> None:
    """Threads that queue while one has its turn: each open file is a place of its own."""
    log, order = tmp_path / "log", list[int]()

    def take(number: int) -> None:
        with turns.turn(log, turns.Patience(None, 30)):
            order.append(number)

    waiting = [threading.Thread(target=take, args=(number,)) for number in range(8)]
    with turns.turn(log, turns.Patience(None, 30)):
        for number, thread in enumerate(waiting):
            thread.start()
            while _drawn(log) < number + 3:  # the first ticket is 1, and ours
                time.sleep(0.001)
    for thread in waiting:
        thread.join()
    assert order == list(range(8))


def _drawn(log: Path) -> int:
    return int.from_bytes(turns.file_of(log).read_bytes()[:8], "little")


def test_who_is_far_from_its_turn_leaves_the_processor_to_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    looks: Counter[int] = Counter()
    is_free = turns._is_free

    def counted(queue: int, ticket: int) -> bool:
        looks[ticket] += 1
        return is_free(queue, ticket)

    monkeypatch.setattr(turns, "_is_free", counted)
    log = tmp_path / "log"

    def take() -> None:
        with turns.turn(log, turns.Patience(None, 30)):
            pass

    waiting = [threading.Thread(target=take) for _ in range(6)]
    with turns.turn(log, turns.Patience(None, 30)):
        for number, thread in enumerate(waiting):
            thread.start()
            while _drawn(log) < number + 3:
                time.sleep(0.001)
        looks.clear()
        while looks[7] < 4:  # the last one's
            time.sleep(0.001)
        seen = dict(looks)
    for thread in waiting:
        thread.join()
    assert seen[2] > 2 * seen[7]


def test_a_program_killed_in_its_turn_keeps_nobody(tmp_path: Path) -> None:
    log = tmp_path / "log"
    child = _start(QUEUED, str(log))
    assert _said(child) == "mine"
    threading.Timer(0.1, child.kill).start()
    patience = turns.Patience(None, 30)
    with turns.turn(log, patience):
        assert 0.05 < patience.waited_s() < turns.PASSED_OVER_S
    child.wait()


def test_a_program_stopped_in_the_queue_is_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(turns, "PASSED_OVER_S", 0.1)
    log = tmp_path / "log"
    child = _start(QUEUED, str(log))
    assert _said(child) == "mine"
    os.kill(child.pid, signal.SIGSTOP)
    try:
        with turns.turn(log, turns.Patience(None, 30)):
            pass
    finally:
        child.kill()
        child.wait()


class Enough(Exception):
    """What whoever waits raises."""


def test_whoever_waits_may_end_it(log: Log, ticking: object) -> None:
    words: list[str] = []

    def end() -> None:
        words.append("waiting")
        if len(words) == 2:
            raise Enough

    waiting = ticking.open(log.where, on_wait=end)  # type: ignore[attr-defined]
    with turns.turn(log.where, turns.Patience(None, 1)), pytest.raises(Enough), waiting.writing():
        raise AssertionError
    with closing(sqlite.open_raw(log.where, "rw")) as other:
        words.clear()
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(Enough), waiting.writing():
            raise AssertionError
    with waiting.writing() as writer:
        writer.set_setting("zone", "UTC")


@pytest.mark.parametrize("broken", ["folder", "garbage", "link"])
def test_without_a_queue_writers_write_all_the_same(log: Log, broken: str, tmp_path: Path) -> None:
    path = turns.file_of(log.where)
    make: dict[str, Callable[[], object]] = {
        "folder": path.mkdir,
        "garbage": lambda: path.write_bytes(b"\xff" * 64),
        "link": lambda: path.symlink_to(tmp_path / "nowhere"),
    }
    make[broken]()
    with log.writing() as writer:
        writer.set_setting("zone", "UTC")
    with log.reading() as reader:
        assert reader.settings()["zone"] == "UTC"
    assert not (tmp_path / "nowhere").exists()
