"""The odds where they can be reckoned by hand: two slabs that differ in L* alone and do not change any more.

A recipe's mean M ~ N(50, m); a slab N(M, w); a reading of a slab adds v. All normal, so that what is read of one
slab tells of the other by Cov/Var. The color is gray and near L* 50, where a ΔL* is a ΔE00 to one percent.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from finishlog.color.aging import cure, odds, weathering
from finishlog.color.aging.learn import Learned
from finishlog.color.aging.odds import Batch, Matched, Slab

NOTHING = 1e-12
OTHERS = np.full(6, NOTHING)
CURVE = float(cure.CURVE_SD[0] ** 2)
W, M = 2.0, 3.0
LEARNED = Learned(
    origin=np.array([50.0, 0, 0, 0, 0, 0, np.log(11.0)]), center=np.zeros(7),
    between=np.diag([M * 4 / 5, *OTHERS]),  # of one recipe the center is known as if of four: m·(1 + 1/4)
    within=np.diag([W, *OTHERS]), noise=1.0, widen=1.0, slabs=10**9, told={"r": {}},
)  # fmt: skip
NONE, EMPTY = np.empty((0, 3)), cure.track([], np.empty((0, 3)), np.empty((0, 3)))
LIKE_NEW = weathering.Pace(np.zeros(3), np.full(3, 1e-6))
LOOK = weathering.Look(np.log([0.512, 1.5]), np.zeros(2))
V = 0.5**2 + 0.3**2
"""A reading's own sd .3 and moisture .5."""


def read(light: float) -> cure.Track:
    return cure.track([30.0], [[light, 0, 0]], [[0.3, 0.3, 0.3]])


def side(key: str, early: cure.Track = EMPTY, late: tuple[float, float] | None = None) -> Slab:
    """A slab with an early track and one late reading at day 45: L* and variance."""
    if late is None:
        return Slab(key, early, np.empty(0), NONE, NONE)
    return Slab(key, early, np.array([45.0]), np.array([[late[0], 0, 0]]), np.full((1, 3), late[1]))


def said(new: Slab, old: Slab, batch: Batch | None = None, learned: Learned = LEARNED, limit: float = 3.0,
         pace: weathering.Pace = LIKE_NEW, ages: tuple[float, float] = (45.0, 45.0)) -> Matched:  # fmt: skip
    [found] = odds.odds(learned, "r", new, old, pace, LOOK, [ages], limit, draws=3_000, batch=batch)
    return found


def lights(found: Matched) -> tuple[float, float]:
    """Expected L* of the old slab and of the new one."""
    return found.bare_pair[0][0], found.bare_pair[1][0]


def new_variance(found: Matched) -> float:
    return (found.radius90_de00 / cure.NORMAL_90) ** 2


def test_two_unread_slabs_of_a_recipe_differ_by_their_own_scatter() -> None:
    found = said(side("new"), side("old"))
    sd = np.sqrt(2 * W + 2 * CURVE)
    assert lights(found) == pytest.approx((50, 50), abs=0.01)
    assert new_variance(found) == pytest.approx(M + W + CURVE, rel=0.05)
    for limit in (1.0, 3.0):
        expected = 2 * stats.norm.cdf(limit / sd) - 1
        assert said(side("new"), side("old"), limit=limit).probability == pytest.approx(expected, abs=0.02)


def test_each_share_is_what_would_be_gone_without_it() -> None:
    """new - old = (M/P - 1)·old + what is left of the recipe's mean + the new one's scatter + curves; P = m + w."""
    shares = dict(said(side("new"), side("old")).shares)
    whole = 2 * W + 2 * CURVE
    assert shares["old_slab"] == pytest.approx(W**2 / (M + W) / whole, abs=0.03)
    assert shares["recipe"] == pytest.approx(M * W / (M + W) / whole, abs=0.03)
    assert shares["job_scatter"] == pytest.approx(W / whole, abs=0.03)
    assert shares["curve"] == pytest.approx(2 * CURVE / whole, abs=0.04)
    assert shares["weathering"] == pytest.approx(0, abs=0.001)


def test_a_reading_of_the_old_slab_moves_the_new_one_by_what_they_share() -> None:
    found = said(side("new"), side("old", read(50.8)))
    whole = M + W + V
    assert lights(found) == pytest.approx((50 + 0.8 * (M + W) / whole, 50 + 0.8 * M / whole), abs=0.01)
    assert new_variance(found) == pytest.approx(M + W - M**2 / whole + CURVE, rel=0.05)


def test_a_reading_of_the_new_slab_moves_the_old_one_by_what_they_share() -> None:
    found = said(side("new", read(50.8)), side("old"))
    whole = M + W + V
    assert lights(found) == pytest.approx((50 + 0.8 * M / whole, 50 + 0.8 * (M + W) / whole), abs=0.01)
    assert new_variance(found) == pytest.approx((M + W) * V / whole + CURVE, rel=0.05)


def test_both_read_both_tell_the_recipe() -> None:
    """Two equations: Cov = [[m + w, m], [m, m + w]], and v more on the diagonal of what is read."""
    found = said(side("new", read(50.6)), side("old", read(49.5)))
    cov = np.array([[M + W, M], [M, M + W]])
    expected = 50 + cov @ np.linalg.inv(cov + V * np.eye(2)) @ (-0.5, 0.6)
    assert lights(found) == pytest.approx(expected, abs=0.01)


def test_a_late_reading_is_a_look_at_the_old_slab_without_the_new_one() -> None:
    """It says nothing of the recipe but through the old slab; no moisture, the curve's own error, noise squared."""
    late = 0.4
    whole = M + W + 4 * late + CURVE
    found = said(side("new"), side("old", late=(50.8, late)), learned=replace(LEARNED, noise=2.0))
    assert lights(found) == pytest.approx((50 + 0.8 * (M + W) / whole, 50 + 0.8 * M / whole), abs=0.01)


def test_the_old_slab_has_weathered_and_the_new_one_has_not() -> None:
    pace = weathering.Pace(np.array([1.0, 0.0, 0.0]), np.array([0.5, 1e-6, 1e-6]))
    years = 5 * (1 - np.exp(-1.0))
    found = said(side("new"), side("old"), pace=pace, ages=(45.0, 45.0 + 5 * 365.25))
    assert lights(found) == pytest.approx((50 + years, 50), abs=0.01)
    whole = 2 * W + 2 * CURVE + years**2 * (1 + 0.25)
    assert dict(found.shares)["weathering"] == pytest.approx(years**2 * 0.25 / whole, abs=0.03)


def test_ranges_are_widened_where_they_did_not_hold() -> None:
    """The variance by what a forecast's sd is widened by; not by its square, which is a forecast's safety."""
    wide = said(side("new"), side("old"), learned=replace(LEARNED, widen=1.5))
    assert new_variance(wide) == pytest.approx((M + W) * 1.5 + CURVE, rel=0.05)


def test_ranges_are_widened_while_few_slabs_were_logged() -> None:
    """Six of them: 1 + 1.5/6 + 4/9 on the variance of all but the curve."""
    few = said(side("new"), side("old"), learned=replace(LEARNED, slabs=6))
    assert new_variance(few) == pytest.approx((M + W) * (1.25 + 4 / 9) + CURVE, rel=0.07)


def test_the_sealed_pair_is_the_bare_one_under_the_sealer() -> None:
    """Y by .512: L* + 16 by .8. At L* 36.8 a ΔL* of 1.187 is a ΔE00: S_L = 1 + .015·d²/√(20 + d²), CIE 142."""
    found = said(side("new"), side("old", late=(50.8, 0.4)))
    for bare, sealed in zip(found.bare_pair, found.sealed_pair, strict=True):
        assert sealed[0] == pytest.approx((bare[0] + 16) * 0.8 - 16, abs=1e-6)
    sd = 0.8 * np.sqrt(2 * W + 2 * CURVE) / 1.187
    unread = said(side("new"), side("old"), limit=2.0)
    assert unread.probability_sealed == pytest.approx(2 * stats.norm.cdf(2.0 / sd) - 1, abs=0.03)


# --- made of something else ---------------------------------------------------------------------------

SHIFT, OTHER, SCATTER = 0.7, 1.5, 1.0


def batch(sample: tuple[float, float] | None = None, off: Mapping[str, float] | None = None) -> Batch:
    """Another lot: shift .7, variance 1.5; jobs of the same scatter by 1, not by the √2 of all jobs."""
    look = None if sample is None else (np.array([sample[0], 0, 0]), sample[1] * np.eye(3))
    rest = (NOTHING, NOTHING)
    return Batch(np.array([SHIFT, 0, 0]), np.array([OTHER, *rest]), np.array([SCATTER, *rest]),
                 {key: np.array([far, 0, 0]) for key, far in (off or {}).items()}, look)  # fmt: skip


def test_an_unknown_change_shifts_and_widens_what_is_expected() -> None:
    found = said(side("new"), side("old"), batch())
    assert lights(found) == pytest.approx((50, 50 + SHIFT), abs=0.01)
    assert new_variance(found) == pytest.approx(M + SCATTER**2 + OTHER + CURVE, rel=0.05)
    whole = 2 * SCATTER**2 + OTHER + 2 * CURVE + SHIFT**2
    assert dict(found.shares)["change"] == pytest.approx(OTHER / whole, abs=0.03)


def test_a_sample_tells_of_the_change_and_through_the_recipe_of_the_old_slab() -> None:
    """It is M + shift + change, known to d: its news goes to M and the change as their variances are."""
    d, news = 0.5, 1.2
    found = said(side("new"), side("old"), batch((50 + SHIFT + news, d)))
    whole = M + OTHER + d
    assert lights(found) == pytest.approx(
        (50 + news * M / whole, 50 + SHIFT + news * (M + OTHER) / whole), abs=0.01
    )
    assert new_variance(found) == pytest.approx((M + OTHER) * d / whole + SCATTER**2 + CURVE, rel=0.05)


def test_a_slab_that_was_made_of_something_else_is_taken_back_by_what_that_does() -> None:
    """One slab told its recipe 51.5, known to t; 1.5 of it is its lot's, so that nothing is left of the news."""
    t = 0.5
    tight = np.diag([1 / t, *OTHERS])
    told = {"r": {"third": (tight, tight @ np.array([1.5, 0, 0, 0, 0, 0, 0]))}}
    learned = replace(LEARNED, told=told)
    with_it, without = (
        lights(said(side("new"), side("old"), batch(off=off), learned)) for off in ({"third": 1.5}, {})
    )
    assert with_it == pytest.approx((50, 50 + SHIFT), abs=0.01)
    assert without[0] == pytest.approx(50 + 1.5 * M / (M + t + SCATTER**2), abs=0.01)
