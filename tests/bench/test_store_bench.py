"""How fast a log of 20,000 jobs answers, against floors measured in the same run."""

from __future__ import annotations

import importlib.util
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from finishlog.store import Log

pytestmark = pytest.mark.bench
JOBS = 20_000
SEARCHES = (
    "",
    "patio",
    "p",
    "puddlecombe",
    "pudlecombe",
    "teaketle lane",
    "wet biscuit spring 2015",
    "xylophone",
    "base:bisciut release:otter",
    "gravelpit patio biscuit summer 2019",
)


@pytest.fixture(scope="module")
def big(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log of 20,000 jobs; building it is not measured."""
    path = Path(__file__).parent / "big.py"
    spec = importlib.util.spec_from_file_location("big_log", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    where = tmp_path_factory.mktemp("big") / "big.finishlog"
    module.build(where, JOBS)
    return where


def process_ms(code: str, turns: int = 7) -> float:
    """Median wall time of a fresh interpreter running this code."""
    times = []
    for _ in range(turns):
        began = time.perf_counter()
        subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)
        times.append(time.perf_counter() - began)
    return statistics.median(times) * 1000


def call_ms(call: Callable[[], object], turns: int = 7) -> float:
    times = []
    for _ in range(turns):
        began = time.perf_counter()
        call()
        times.append(time.perf_counter() - began)
    return statistics.median(times) * 1000


def test_the_first_rows(big: Path) -> None:
    """Open and read 50 lines, in a fresh process: little more than SQLAlchemy's own start."""
    floor = process_ms(
        "import sqlalchemy as s; engine = s.create_engine('sqlite://')\n"
        "engine.connect().exec_driver_sql('SELECT 1')"
    )
    ours = process_ms(
        f"from finishlog.store import Log; log = Log.open({str(big)!r}, clock=None, new_uid=None)\n"
        "with log.reading() as r: assert len(r.lines(limit=50)) == 50"
    )
    print(f"first 50 of {JOBS} rows: {ours:.0f} ms, bare SQLAlchemy {floor:.0f} ms, ratio {ours / floor:.2f}")
    assert ours <= 1.6 * floor


def test_searching(big: Path) -> None:
    """A screenful and its count, for any words, within four starts of an empty interpreter."""
    floor = process_ms("pass")
    log = Log.open(big, clock=None, new_uid=None)  # type: ignore[arg-type]
    worst = 0.0
    with log.reading() as reader:
        for words in SEARCHES:
            took = call_ms(lambda words=words: reader.lines(words=words, limit=50))  # type: ignore[misc]
            worst = max(worst, took)
            print(f"{words!r:40} {took:6.1f} ms, {reader.count(words=words)} jobs")
    log.close()
    print(f"worst {worst:.1f} ms, `python -c pass` {floor:.1f} ms, ratio {worst / floor:.2f}")
    assert worst <= 4 * floor


def test_one_job_does_not_depend_on_how_many_there_are(big: Path) -> None:
    """Everything on one job, in a log of 20,000: within the time of 2,000 rows of the list."""
    log = Log.open(big, clock=None, new_uid=None)  # type: ignore[arg-type]
    with log.reading() as reader:
        handle = reader.lines(limit=1)[0].handle
        reader.job(handle)
        one = call_ms(lambda: reader.job(handle))
        rows = call_ms(lambda: reader.lines(limit=2000))
    log.close()
    print(f"one job {one:.1f} ms, 2,000 lines {rows:.1f} ms, ratio {one / rows:.2f}")
    assert one <= rows
