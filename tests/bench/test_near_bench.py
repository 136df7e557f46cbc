"""Nearest color over 200,000 readings, against looking at every one of them in the same run."""

from __future__ import annotations

import importlib.util
import random
import statistics
import time
from pathlib import Path

import numpy as np
import pytest

from finishlog.color.notation.space import delta_e_2000
from finishlog.store import Log

pytestmark = pytest.mark.bench
_spec = importlib.util.spec_from_file_location(
    "readings", Path(__file__).parents[1] / "store" / "readings.py"
)
assert _spec is not None
assert _spec.loader is not None
readings_of = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(readings_of)

JOBS, EACH = 20_000, 14
"""With the withdrawn ones left out and one spot in five another one, 200,000 readings of the base."""


def full_scan(log: Log, lab: tuple[float, float, float]) -> float:
    """The leanest look at everything: every row's L*a*b*, one vector of differences, the smallest."""
    with log._connection(write=False) as connection:
        raw = connection.connection.driver_connection
        rows = raw.execute("SELECT entry_id, lightness, a, b FROM reading WHERE spot = 'base'").fetchall()
    return float(delta_e_2000(np.array(lab), np.array(rows)[:, 1:]).min())


def test_the_nearest_color(tmp_path: Path) -> None:
    log = readings_of.build(tmp_path / "many.finishlog", JOBS, EACH)
    scan = readings_of.Scan(log)
    with log._connection(write=False) as connection:
        readings = connection.exec_driver_sql("SELECT count(*) FROM reading WHERE spot = 'base'").scalar_one()
    assert readings >= 200_000
    chance = random.Random(3)
    ours, floor = {1: [], 20: []}, []  # type: ignore[var-annotated]
    for turn in range(300):
        lab = (chance.gauss(58, 8), chance.gauss(7, 3), chance.gauss(14, 5))
        true = [one[0] for one in scan.nearest(lab)[:20]]
        for limit, times in ours.items():
            with log.reading() as reader:
                began = time.perf_counter()
                found = reader.near(lab, limit=limit)
                times.append(time.perf_counter() - began)
            assert [line.de00 for line in found] == pytest.approx(true[:limit], abs=1e-12)
        if turn % 20 == 0:
            began = time.perf_counter()
            full_scan(log, lab)
            floor.append(time.perf_counter() - began)
    log.close()
    for limit, times in ours.items():
        ratio = statistics.median(times) / statistics.median(floor)
        worst = max(times) / statistics.median(floor)
        print(
            f"nearest {limit} of {readings:,} readings: {1000 * statistics.median(times):.1f} ms, full scan "
            f"{1000 * statistics.median(floor):.0f} ms, ratio {ratio:.3f}, worst of 300 {worst:.3f}"
        )
        assert ratio <= 0.3
