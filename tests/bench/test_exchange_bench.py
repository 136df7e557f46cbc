"""A whole log going out, as CPU without start-up: an export against a bare select, a backup against SQLite's own copy.

FINISHLOG_BENCH_LOG names a log to read; else one of 600 jobs is built.
"""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from finishlog.store import Log
from finishlog.store.archive import export

pytestmark = pytest.mark.bench
BUILD = Path(__file__).with_name("big.py")
JOBS, TURNS = 600, 3
MOST_OF_SELECT = 4.0
"""Each value is written twice, as JSON and as CSV; read by SQLAlchemy and written by `csv` it was 4.9."""
MOST_OF_COPY = 2.8
"""Every page is read back once it is copied."""


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    if given := os.environ.get("FINISHLOG_BENCH_LOG"):
        return Path(given)
    path = tmp_path_factory.mktemp("whole") / "whole.finishlog"
    subprocess.run([sys.executable, str(BUILD), str(JOBS), str(path)], check=True, capture_output=True)
    return path


def opened(path: Path) -> Log:
    return Log.open(path, clock=lambda: datetime(2026, 6, 16, tzinfo=UTC), new_uid=str)


def cpu_s(work: Callable[[int], object]) -> float:
    found = []
    for turn in range(TURNS):
        began = time.process_time()
        work(turn)
        found.append(time.process_time() - began)
    return min(found)


def selected(path: Path) -> int:
    with closing(sqlite3.connect(path)) as log:
        names = [name for (name,) in log.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        kept = [name for name in names if not export._is_computed(name)]
        return sum(1 for name in kept for _ in log.execute(f'SELECT * FROM "{name}"'))


def copied(path: Path, target: Path) -> None:
    with closing(sqlite3.connect(path)) as log, closing(sqlite3.connect(target)) as copy:
        log.backup(copy)


def test_an_export_costs_a_few_selects(whole: Path, tmp_path: Path) -> None:
    log = opened(whole)
    ours = cpu_s(lambda turn: export.dump(log, tmp_path / f"out{turn}"))
    log.close()
    floor = cpu_s(lambda _: selected(whole))
    print(f"\nan export: {ours:.2f} s, {ours / floor:.1f} of a bare select of its rows ({floor:.2f})")
    assert ours / floor <= MOST_OF_SELECT


def test_a_backup_costs_two_copies(whole: Path, tmp_path: Path) -> None:
    log = opened(whole)
    ours = cpu_s(lambda turn: log.backup(tmp_path / f"copy{turn}"))
    log.close()
    floor = cpu_s(lambda turn: copied(whole, tmp_path / f"bare{turn}"))
    print(f"\na backup: {ours:.2f} s, {ours / floor:.1f} of the backup API ({floor:.2f})")
    assert ours / floor <= MOST_OF_COPY
