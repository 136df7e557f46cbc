"""Fitting thirteen samples and solving for a color, in seconds."""

from __future__ import annotations

import statistics
import time

import numpy as np
import pytest

from finishlog.color.pigment import blend, mixing
from tests.color import pigment_truth

MOST = 0.3
RUNS = 9


@pytest.mark.bench
def test_fit_and_inverse_each_take_at_most_three_tenths_of_a_second() -> None:
    rng = np.random.default_rng(31)
    truth = pigment_truth.draw(rng)
    doses = pigment_truth.panel_doses(rng)
    lab = pigment_truth.read(rng, truth.lab(doses))
    sd = np.tile(pigment_truth.PHOTO_SD, (len(doses), 1))
    mixture = mixing.fit(doses, lab, sd)
    blend.solve(mixture, lab[5])
    fits, solves = [], []
    for _ in range(RUNS):
        start = time.perf_counter()
        mixture = mixing.fit(doses, lab, sd)
        middle = time.perf_counter()
        blend.solve(mixture, truth.lab(pigment_truth.mixed(rng))[0])
        fits.append(middle - start)
        solves.append(time.perf_counter() - middle)
    fit, solve = statistics.median(fits), statistics.median(solves)
    print(f"\nfit {fit * 1000:.0f} ms, inverse {solve * 1000:.0f} ms (at most {MOST * 1000:.0f} each)")
    assert fit <= MOST
    assert solve <= MOST
