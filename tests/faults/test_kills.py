"""Killed at any moment: what was acknowledged is there, the log is sound, and it works the next time."""

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from finishlog.records.writing import NewCustomer, NewEntry, NewJob, NewSite
from finishlog.store import Log

SEED = 11
WRITERS = 4
CALLS = ["write", "pwrite64", "fsync", "fdatasync", "ftruncate", "rename", "link", "unlink", "mkdir"]
"""The system calls by which Python and SQLite change what is on the disk."""
NOTE = ("--set", "at=2026-06-16 7:00a", "--set", "note=killed", "--because", "to be sure")
COMMANDS = {
    "record": ("record", "thrupp-button-back-step", "note", *NOTE),
    "undo": ("undo", "thrupp-button-back-step"),
    "job": ("job", "note", "thrupp-button-back-step", "by the gate"),
}


def _write_until_killed(where: Path, told: int, tag: str) -> None:
    number = iter(range(10**9))
    log = Log.open(where, clock=lambda: datetime.now(UTC), new_uid=lambda: f"{tag}-{next(number)}")
    while True:
        note = f"{tag} {next(number)}"
        with log.writing() as writer:
            writer.add_entry("patio", NewEntry("note", datetime.now(UTC), note=note))
        os.write(told, f"{note}\n".encode())


def _forked(where: Path, told: int, tag: str) -> int:
    child = os.fork()
    if child == 0:
        try:
            _write_until_killed(where, told, tag)
        finally:
            os._exit(1)
    return child


def _cycle(where: Path, told: Path, cycle: int, chance: random.Random) -> None:
    """Four that write, killed one after the other at some moment, while the others go on."""
    handle = os.open(told, os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    children = [_forked(where, handle, f"{cycle}.{one}") for one in range(WRITERS)]
    for child in children:
        time.sleep(chance.uniform(0, 0.15))
        os.kill(child, signal.SIGKILL)
    assert {os.waitpid(child, 0)[1] for child in children} == {signal.SIGKILL}
    os.close(handle)


def _survives(log: Log, ticking: object, tmp_path: Path, cycles: int) -> int:
    with log.writing() as writer:
        writer.add_job(NewJob("patio", NewCustomer("Bo"), NewSite("s"), handle="patio"))
    log.close()
    told, chance = tmp_path / "told", random.Random(SEED)
    for cycle in range(cycles):
        _cycle(log.where, told, cycle, chance)
        with closing(ticking.open(log.where)) as again:  # type: ignore[attr-defined]
            with again.reading() as reader:
                kept = [entry.note for entry in reader.job("patio").entries]
            assert set(told.read_text().splitlines()) <= set(kept)
            assert max(Counter(kept).values(), default=1) == 1
            if cycle % 10 == 9 or cycle == cycles - 1:
                assert again.check().ok
    return len(told.read_text().splitlines())


def test_four_writers_killed_twice_lose_nothing(log: Log, ticking: object, tmp_path: Path) -> None:
    assert _survives(log, ticking, tmp_path, 2) >= 0


@pytest.mark.long
def test_four_writers_killed_200_times_lose_nothing(log: Log, ticking: object, tmp_path: Path) -> None:
    count = _survives(log, ticking, tmp_path, 200)
    print(f"200 cycles of {WRITERS} writers, {count} acknowledged entries, none lost")
    assert count > 200


def _run(log: str, *argv: str, traced: tuple[str, ...] = ()) -> subprocess.CompletedProcess[str]:
    whole = [*traced, sys.executable, "-m", "finishlog", "--log", log, *argv]
    return subprocess.run(whole, capture_output=True, text=True, timeout=300, check=False)


def _calls(log: str, command: tuple[str, ...], trace: Path) -> Iterator[tuple[str, int]]:
    """Every call that a command makes to write, by its name and number."""
    traced = ("strace", "-qq", "-o", str(trace), "-e", f"trace={','.join(CALLS)}")
    assert _run(log, *command, traced=traced).returncode == 0
    made = Counter(line.split("(")[0] for line in trace.read_text().splitlines() if "(" in line)
    return ((call, number + 1) for call in CALLS for number in range(made[call]))


@pytest.mark.long
@pytest.mark.skipif(shutil.which("strace") is None, reason="strace kills at a system call")
@pytest.mark.parametrize("name", COMMANDS)
def test_killed_at_every_call_that_writes(
    name: str, demo: str, tmp_path: Path, clock: str, finishlog: Callable[..., object]
) -> None:
    def fresh() -> str:
        for side in ("", "-wal", "-shm", "-turns"):
            Path(f"{tmp_path}/tried{side}").unlink(missing_ok=True)
        shutil.copytree(f"{demo}.files", tmp_path / "tried.files", dirs_exist_ok=True)
        return str(shutil.copy(demo, tmp_path / "tried"))

    kills = 0
    for call, number in list(_calls(fresh(), COMMANDS[name], tmp_path / "trace")):
        log = fresh()
        inject = ("strace", "-qq", "-o", "/dev/null", "-e", f"inject={call}:signal=SIGKILL:when={number}")
        ran = _run(log, *COMMANDS[name], traced=(*inject, "-e", f"trace={call}"))
        kills += ran.returncode != 0
        checked = finishlog("--log", log, "check")
        assert "sound" in checked.out, (call, number, checked)  # type: ignore[attr-defined]
        again = finishlog("--log", log, *COMMANDS[name])
        assert again.status == 0, (call, number, again)  # type: ignore[attr-defined]
    print(f"{name}: killed at {kills} calls, sound each time, and done at the next try")
    assert kills
