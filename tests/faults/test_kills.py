"""Killed at each call that writes: the log is sound, and the command works the next time."""

import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

CALLS = ["write", "pwrite64", "fsync", "fdatasync", "ftruncate", "rename", "link", "unlink", "mkdir"]
"""The system calls by which Python and SQLite change what is on the disk."""
NOTE = ("--set", "at=2026-06-16 7:00a", "--set", "note=killed", "--because", "to be sure")
COMMANDS = {
    "record": ("record", "thrupp-button-back-step", "note", *NOTE),
    "undo": ("undo", "thrupp-button-back-step"),
    "job": ("job", "note", "thrupp-button-back-step", "by the gate"),
}


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
