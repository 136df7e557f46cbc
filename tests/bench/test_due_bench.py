"""What falls due over a whole log, and how soon a due rinse is on disk."""

from __future__ import annotations

import importlib.util
import statistics
import time
from collections.abc import Callable
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from types import ModuleType
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.due import care, today
from finishlog.desk.jobs import edit
from finishlog.desk.record import record
from finishlog.desk.services import Services
from finishlog.store import Log

NOW = datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
FEW, MANY = 1_000, 200_000
MOST_S = 0.2


def _build() -> ModuleType:
    path = Path(__file__).parent / "big.py"
    spec = importlib.util.spec_from_file_location("big_log", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _services(log: Log) -> Services:
    return Services(open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=lambda: NOW,
                    find_zone=lambda: ZoneInfo("America/Chicago"))  # fmt: skip


def median_s(call: Callable[[], object], turns: int = 9) -> float:
    times = []
    for _ in range(turns):
        began = time.perf_counter()
        call()
        times.append(time.perf_counter() - began)
    return statistics.median(times)


def _listing_s(where: Path, jobs: int) -> tuple[float, int]:
    _build().build(where, jobs)
    log = Log.open(where, clock=lambda: NOW, new_uid=lambda: "u")
    services = _services(log)
    lines = len(today.today(services).lines)
    took = median_s(lambda: today.today(services))
    began = time.perf_counter()
    reseals = len(care.book(services).lines)
    print(f"\nthe book of {reseals} reseals over {jobs} jobs {time.perf_counter() - began:.1f} s")
    log.close()
    return took, lines


@pytest.mark.long
def test_the_list_over_many_jobs_takes_no_more_than_twice_as_long(tmp_path: Path) -> None:
    """Both lists are read to the last line that a screen may show; building the logs is not measured."""
    few, fewer_lines = _listing_s(tmp_path / "few.finishlog", FEW)
    many, lines = _listing_s(tmp_path / "many.finishlog", MANY)
    print(f"\nToday over {FEW} jobs {few * 1000:.0f} ms ({fewer_lines} lines), over {MANY} {many * 1000:.0f} ms "
          f"({lines} lines), ratio {many / few:.2f}")  # fmt: skip
    assert many <= 2 * few


@pytest.mark.bench
def test_a_due_rinse_is_on_disk_in_a_fifth_of_a_second(tmp_path: Path) -> None:
    """From Today's offer to the commit that is acknowledged."""
    uids = count(1)
    log = Log.create(tmp_path / "l.finishlog", clock=lambda: NOW, new_uid=lambda: f"u{next(uids)}")
    services = _services(log)
    took = []
    for number in range(9):
        made = edit.new_job(services, {"customer": f"Barnaby Puddlecombe {number}", "job": "walk",
                                       "street": "12 Teakettle Lane", "areas": "field 30x4 4in"})  # fmt: skip
        record.record(services, made.job, "pour", {"at": "2026-06-15 11a"})
        line = today.line(services, made.job, "rinse")
        began = time.perf_counter()
        today.log(services, line)
        took.append(time.perf_counter() - began)
    log.close()
    print(f"\na due rinse durable in {statistics.median(took) * 1000:.0f} ms, slowest {max(took) * 1000:.0f}")
    assert statistics.median(took) <= MOST_S
