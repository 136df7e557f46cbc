"""A forecast, and learning from 40 jobs. Limits: color-methods.md, "Cure forecast"."""

from __future__ import annotations

import statistics
import time

import pytest

from finishlog.color.aging import cure, learn
from tests.color.cure_truth import Shop

FORECAST_MS, LEARNING_S = 50.0, 5.0


@pytest.mark.bench
def test_one_forecast_and_learning_from_forty_jobs() -> None:
    shop = Shop(1)
    start = time.perf_counter()
    learned = learn.learn(shop.past())
    learning = time.perf_counter() - start
    slab = shop.another("r0")
    times = []
    for _ in range(30):
        start = time.perf_counter()
        lab, cov = cure.fit(slab.read(), learned.prior("r0")).at([1.0, 3.0, 7.0, 14.0, 28.0, 45.0])
        cure.radius90(lab, cov)
        times.append(time.perf_counter() - start)
    forecast = 1000 * statistics.median(times)
    print(
        f"\nforecast {forecast:.1f} ms (at most {FORECAST_MS:.0f}), "
        f"learning {learning:.2f} s (at most {LEARNING_S:.0f})"
    )
    assert forecast <= FORECAST_MS
    assert learning <= LEARNING_S
