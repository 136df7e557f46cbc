"""Real processes that keep what they learned: killed at any write, killed from outside, two at once."""

from __future__ import annotations

import random
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from subprocess import PIPE

import pytest

pytestmark = pytest.mark.long

KILLED = """
import os, signal, sys
from finishlog.__main__ import main
from finishlog.store.search import learned

left, put = iter(range(int(sys.argv[1]))), learned.put

def dying(*args, **values):
    if next(left, None) is None:
        os.kill(os.getpid(), signal.SIGKILL)
    put(*args, **values)

learned.put = dying
sys.exit(main(sys.argv[2:]))
"""


def forgetful(demo: str) -> str:
    """A log that learned nothing yet."""
    with closing(sqlite3.connect(demo)) as raw, raw:
        raw.execute("DELETE FROM learned")
    return demo


def parts(log: str) -> set[tuple[str, str]]:
    """What is kept of what was learned."""
    with closing(sqlite3.connect(log)) as raw:
        return set(raw.execute("SELECT spot, part FROM learned"))


def words(log: str, *command: str) -> list[str]:
    return [sys.executable, "-m", "finishlog", "--log", log, *command]


def told(log: str, *command: str) -> str:
    """What a command answers; it must succeed."""
    return subprocess.run(
        words(log, *command), check=True, timeout=120, capture_output=True, text=True
    ).stdout


def jobs(log: str) -> list[str]:
    """The two jobs read most often."""
    with closing(sqlite3.connect(log)) as raw:
        query = (
            "SELECT handle FROM job JOIN entry ON job_id = job.id WHERE kind = 'reading' AND job.state = 'poured' "
            "GROUP BY handle ORDER BY count(*) DESC LIMIT 2"
        )
        return [row[0] for row in raw.execute(query)]


@pytest.fixture
def expected(demo: str, clock: str, tmp_path: Path) -> dict[str, str]:
    """What the log says of two jobs to one who is alone with it."""
    alone = forgetful(str(shutil.copy(demo, tmp_path / "alone.finishlog")))
    found = {job: told(alone, "color", job, "--json") for job in jobs(alone)}
    assert len(parts(alone)) > 4
    return found


@pytest.mark.parametrize("number", [0, 1, 2, 4])
def test_killed_at_a_write_of_what_was_learned(demo: str, expected: dict[str, str], number: int) -> None:
    """Nothing of it stays, the log is sound, and the next one answers the same."""
    job = next(iter(expected))
    run = [sys.executable, "-c", KILLED, str(number), "--log", forgetful(demo), "color", job]
    assert subprocess.run(run, check=False, timeout=120, capture_output=True).returncode == -9
    assert parts(demo) == set()
    told(demo, "check")
    assert {one: told(demo, "color", one, "--json") for one in expected} == expected


def test_killed_from_outside_at_any_moment(demo: str, expected: dict[str, str]) -> None:
    """Twenty times, whatever it was doing: what is kept is all of what was learned, or none."""
    chance, ended, whole = random.Random(5), 0, None
    for _ in range(20):
        one = subprocess.Popen(
            words(forgetful(demo), "color", next(iter(expected))), stdout=PIPE, stderr=PIPE
        )
        try:
            one.communicate(timeout=chance.uniform(0.5, 2.5))
        except subprocess.TimeoutExpired:
            one.kill()
            one.communicate()
            ended += 1
        if kept := parts(demo):
            whole = whole or kept
            assert kept == whole
        told(demo, "check")
    assert ended
    assert {job: told(demo, "color", job, "--json") for job in expected} == expected


def test_two_learn_at_once(demo: str, expected: dict[str, str]) -> None:
    """Both answer as one alone, and what either kept holds for a third."""
    for _ in range(4):
        forgetful(demo)
        both = [
            subprocess.Popen(words(demo, "color", job, "--json"), stdout=PIPE, text=True) for job in expected
        ]
        assert [one.communicate(timeout=120)[0] for one in both] == list(expected.values())
        assert [one.returncode for one in both] == [0, 0]
        assert parts(demo)
        told(demo, "check")
        assert {job: told(demo, "color", job, "--json") for job in expected} == expected


def test_two_learn_while_a_third_logs_readings(demo: str, expected: dict[str, str], tmp_path: Path) -> None:
    """What was learned of the log before is not taken for what it says now."""
    log, (first, second) = forgetful(demo), expected
    reading = (
        "record",
        first,
        "reading",
        "--set",
        "spot=base",
        "--set",
        "color=61 6 14",
        "--set",
        "sealed=yes",
        "--set",
        "damp=no",
        "--because",
        "a test",
    )
    runs = [
        words(log, "color", first),
        words(log, *reading),
        words(log, "match", second, "--rect", "9x9", "--depth", "4in"),
    ]
    for one in [subprocess.Popen(run, stdout=PIPE, stderr=PIPE) for run in runs]:
        _, said = one.communicate(timeout=120)
        assert one.returncode == 0, said
    told(log, "check")
    anew = forgetful(str(shutil.copy(log, tmp_path / "anew.finishlog")))
    for job in expected:
        assert told(log, "color", job, "--json") == told(anew, "color", job, "--json")
    assert told(log, "color", first, "--json") != expected[first]
