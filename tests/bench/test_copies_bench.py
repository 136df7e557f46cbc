"""What a backup and a rescue cost, as CPU of the whole process, against SQLite's own backup in the same run."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
import time
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage

import pytest

pytestmark = pytest.mark.bench
JOBS = 20_000
API = """
import sqlite3, sys
source, copy = sqlite3.connect(sys.argv[1]), sqlite3.connect(sys.argv[2])
source.backup(copy)
copy.close()
"""


@pytest.fixture(scope="module")
def big(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log of 20,000 jobs; building it is not measured."""
    path = Path(__file__).parent.parent / "store" / "build.py"
    spec = importlib.util.spec_from_file_location("store_build", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    where = tmp_path_factory.mktemp("big") / "big.finishlog"
    module.build(where, JOBS)
    return where


def cost(words: list[str], copy: Path, turns: int = 3) -> tuple[float, float]:
    """The least CPU and wall time of a command that makes a copy."""
    found = []
    for _ in range(turns):
        copy.unlink(missing_ok=True)
        before, began = getrusage(RUSAGE_CHILDREN), time.perf_counter()
        subprocess.run([sys.executable, *words], check=True, capture_output=True)
        wall, after = time.perf_counter() - began, getrusage(RUSAGE_CHILDREN)
        found.append((after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime, wall))
    return min(cpu for cpu, _ in found), min(wall for _, wall in found)


def test_a_backup(big: Path, tmp_path: Path) -> None:
    """Within twice SQLite's own copying, apart from the program's start."""
    copy = tmp_path / "copy"
    start, _ = cost(["-m", "finishlog", "--log", str(big), "find", "--limit", "1"], copy)
    floor, floor_wall = cost(["-c", API, str(big), str(copy)], copy)
    ours, wall = cost(["-m", "finishlog", "--log", str(big), "backup", str(copy)], copy)
    print(
        f"backup of {JOBS} jobs: {ours:.2f} s CPU, {wall:.2f} s wall; the API alone {floor:.2f}, {floor_wall:.2f}; "
        f"ratio {ours / floor:.2f}, wall {wall / floor_wall:.2f}, without the start {(ours - start) / floor:.2f}"
    )
    assert ours - start <= 2 * floor
