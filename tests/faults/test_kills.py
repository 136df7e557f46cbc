"""Killed at a call that writes: the log is sound, and the command works the next time or is done already."""

import json
import random
import shutil
import subprocess
import sys
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from tests.faults.test_full_disk import COMMANDS as WRITING
from tests.faults.test_full_disk import JOB, folder, prepared
from tests.faults.test_leavings import calls_of, killed_at

__all__ = ["folder"]
CALLS = ["write", "pwrite64", "fsync", "fdatasync", "ftruncate", "rename", "link", "unlink", "mkdir"]
"""The system calls by which Python and SQLite change what is on the disk."""
AT_EACH = 12
"""Kills of a command, from a seed: one costs three starts of the program."""
LOG = ("--log", "demo.finishlog")
COMMANDS = {
    **{name: WRITING[name] for name in ("new", "photo", "import", "backup", "export", "import --new", "demo")},
    "record": (*LOG, "record", JOB, "note", "--note", "killed", "--because", "to be sure"),
    "undo": (*LOG, "undo", JOB),
    "job": (*LOG, "job", "note", JOB, "by the gate"),
    "backup zip": (*LOG, "backup", "copy.zip"),
    "restore": (*LOG, "restore", "kept.finishlog"),
    "check --mend": (*LOG, "check", "--mend", "--yes"),
    "shelf": (*LOG, "shelf", "buy", "Otter Back", "--kind", "powder release", "--lot", "0329", "--amount", "50 lb"),
}  # fmt: skip
MADE = {
    "new": "new.finishlog",
    "backup": "copy.finishlog",
    "backup zip": "copy.zip",
    "export": "out",
    "import --new": "again.finishlog",
    "demo": "invented.finishlog",
}
"""What a command makes under a name that must be free: there whole, or not there."""


@pytest.fixture
def template(finishlog: Any, folder: Path, name: str) -> Path:
    """A folder with all that the command needs, to be copied for each kill."""
    prepared(finishlog, folder, name)
    if name == "restore":
        assert finishlog(*LOG, "backup", "kept.finishlog").status == 0
        assert finishlog(*COMMANDS["record"]).status == 0
    if name == "check --mend":
        stray = folder / "demo.finishlog.files" / "ab" / ("ab" + "0" * 62)
        stray.parent.mkdir(exist_ok=True)
        stray.write_bytes(b"nobody's")
    return folder


def fresh(template: Path, number: int) -> Path:
    some = ("demo.finishlog*", "kept.finishlog*", "slab.jpg", "pours.csv", "given")
    at = template / f"try {number}"
    at.mkdir()
    for path in (path for pattern in some for path in template.glob(pattern)):
        shutil.copytree(path, at / path.name) if path.is_dir() else shutil.copy(path, at)
    return at


def _is_undone(finishlog: Any) -> bool:
    """Whether the job's one entry is taken back: a second undo has nothing to do."""
    return not json.loads(finishlog(*LOG, "show", JOB, "--json").out)["record"]["entries"]


def sound_and_done(finishlog: Any, at: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as there:
        there.chdir(at)
        checked = finishlog(*LOG, "check")
        assert "sound" in checked.out, checked
        done = Path(MADE[name]).exists() if name in MADE else name == "undo" and _is_undone(finishlog)
        again = finishlog(*COMMANDS[name])
        assert (again.status == 0) != done or name == "import", again
        if name in MADE and MADE[name].endswith(".finishlog"):
            checked = finishlog("--log", MADE[name], "check")
            assert "sound" in checked.out, checked
        assert [path.name for path in at.iterdir() if path.name.startswith(".")] == []


def _run(at: Path, name: str, *traced: str) -> int:
    whole = [*traced, sys.executable, "-m", "finishlog", *COMMANDS[name]]
    return subprocess.run(whole, cwd=at, capture_output=True, timeout=300, check=False).returncode


def _calls(at: Path, name: str) -> list[tuple[str, int]]:
    """Every call that a command makes to write, by its name and number."""
    trace = at.parent / "trace"
    assert _run(at, name, "strace", "-f", "-qq", "-o", str(trace), "-e", f"trace={','.join(CALLS)}") == 0
    made = Counter(line.split("(")[0].split()[-1] for line in trace.read_text().splitlines() if "(" in line)
    return [(call, number + 1) for call in CALLS for number in range(made[call])]


@pytest.mark.long
@pytest.mark.skipif(shutil.which("strace") is None, reason="strace kills at a system call")
@pytest.mark.parametrize("name", COMMANDS)
def test_killed_at_calls_that_write(
    name: str, template: Path, finishlog: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls, kills = _calls(fresh(template, 0), name), 0
    for turn, (call, number) in enumerate(random.Random(7).sample(calls, min(AT_EACH, len(calls))), 1):
        at = fresh(template, turn)
        inject = f"inject={call}:signal=SIGKILL:when={number}"
        ran = _run(at, name, "strace", "-f", "-qq", "-o", "/dev/null", "-e", inject, "-e", f"trace={call}")
        kills += ran != 0
        sound_and_done(finishlog, at, name, monkeypatch)
        shutil.rmtree(at)
    print(f"{name}: {len(calls)} calls, killed at {kills}, sound each time, done at the next try")
    assert kills


@pytest.mark.parametrize("name", ["record", "photo", "backup"])
def test_killed_in_the_middle(
    name: str, template: Path, finishlog: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By the interpreter's own account of its calls; the database's are seen by the system alone."""
    from finishlog.__main__ import main

    def make(at: Path) -> None:
        monkeypatch.chdir(at)
        main(list(COMMANDS[name]))

    last = calls_of(make, fresh(template, 0))
    at = fresh(template, 1)
    assert killed_at(random.Random(name).randrange(last // 4, last // 2), make, at)
    sound_and_done(finishlog, at, name, monkeypatch)
