"""The curve and what is learned of curves, against the same reckoned another way.

The posterior of one slab: for every log τ of a fine grid as one regression of all readings, by its evidence.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from finishlog.color.aging import cure, learn, ranges
from finishlog.color.aging.cure import CURVE_SD, Prior
from finishlog.color.notation.space import delta_e_2000
from tests.color import make_normals
from tests.color.cure_truth import READING_SD, Floats, Shop, Truth

ROOT = np.random.default_rng(8).normal(0, 0.25, (7, 7)) + np.diag([3.0, 1.5, 2.0, 2.5, 0.8, 0.9, 0.35])
PRIOR = Prior(np.array([57.0, 5.0, 13.0, -11.0, 0.2, 0.6, np.log(11.0)]), ROOT @ ROOT.T, noise=1.3)
READ = cure.track([2.0, 9.0, 21.0], [[47, 5.5, 12], [52.5, 5, 12.5], [55, 5.2, 14]], READING_SD)
AT = np.array([5.0, 45.0])


def regressed(readings: cure.Track, prior: Prior, weight: Floats, at: Floats) -> tuple[Floats, Floats]:
    """Mean (M, 3) and covariance (M, 3, 3) of the color at these days."""
    n, sd = len(readings.ages), np.sqrt(prior.cov[6, 6])
    noise = ((readings.sd**2 + np.array([0.25, 0, 0])) * prior.noise**2 / weight[:, None]).ravel()
    parts = []
    for log_tau in prior.mean[6] + sd * np.linspace(-3.2, 3.2, 121):
        slope = prior.cov[:6, 6] / prior.cov[6, 6]
        mean = prior.mean[:6] + slope * (log_tau - prior.mean[6])
        cov = prior.cov[:6, :6] - np.outer(slope, slope) * prior.cov[6, 6]
        look = np.vstack(
            [np.hstack([np.eye(3), np.exp(-t / np.exp(log_tau)) * np.eye(3)]) for t in readings.ages]
        )
        seen = look @ cov @ look.T + np.diag(noise)
        gain = cov @ look.T @ np.linalg.inv(seen)
        share = -0.5 * ((log_tau - prior.mean[6]) / sd) ** 2
        share += multivariate_normal.logpdf(readings.lab.ravel(), look @ mean, seen)
        out = np.array([np.hstack([np.eye(3), np.exp(-t / np.exp(log_tau)) * np.eye(3)]) for t in at])
        center = mean + gain @ (readings.lab.ravel() - look @ mean)
        spread = cov - gain @ look @ cov
        parts.append((share, out @ center, out @ spread @ np.swapaxes(out, 1, 2)))
    assert n == len(weight)
    shares = np.exp(np.array([p[0] for p in parts]) - max(p[0] for p in parts))
    shares /= shares.sum()
    each = np.array([p[1] for p in parts])
    found = np.einsum("k,kmi->mi", shares, each)
    off = each - found
    cov = np.einsum(
        "k,kmij->mij", shares, np.array([p[2] for p in parts]) + off[..., :, None] * off[..., None, :]
    )
    return found, cov


def test_the_posterior_is_that_of_regressions_weighed_by_their_evidence() -> None:
    found = cure.solve(cure.stack([READ]), PRIOR.mean, PRIOR.cov, PRIOR.noise, rounds=0)
    lab, cov = found.colors(AT)
    expected = regressed(READ, PRIOR, np.ones(3), AT)
    assert lab[0] == pytest.approx(expected[0], abs=0.01)
    assert cov[0] == pytest.approx(expected[1], abs=0.02)
    assert found.expected(AT[None])[0] == pytest.approx(expected[0], abs=0.01)
    start = regressed(READ, PRIOR, np.ones(3), np.array([0.0, 1e9]))
    center, spread = found.moments()
    assert center[0, :3] == pytest.approx(start[0][1], abs=0.01)
    assert center[0, :3] + center[0, 3:6] == pytest.approx(start[0][0], abs=0.01)
    assert spread[0, :3, :3] == pytest.approx(start[1][1], abs=0.02)


def test_readings_count_by_how_far_off_they_are() -> None:
    """Student-t, 5 degrees of freedom in three axes: 8 / (5 + square), 1 at most; and so the posterior is made."""
    lab = READ.lab + np.array([[0, 0, 0], [5.0, 0, 0], [0, 0, 0]])
    readings = replace(READ, lab=lab)
    found = cure.solve(cure.stack([readings]), PRIOR.mean, PRIOR.cov, PRIOR.noise, rounds=40)
    sd = np.sqrt(READ.sd**2 + np.array([0.25, 0, 0])) * PRIOR.noise
    square = (((lab - found.expected(READ.ages[None])[0]) / sd) ** 2).sum(axis=1)
    assert found.square[0] == pytest.approx(square, rel=0.02)
    assert found.weight[0] == pytest.approx(np.minimum(1, 8 / (5 + square)), rel=0.01)
    assert found.weight[0].min() < 0.8
    again = regressed(readings, PRIOR, found.weight[0], AT)
    assert found.colors(AT)[0][0] == pytest.approx(again[0], abs=0.02)


@pytest.mark.parametrize(("sds", "counted"), [(9.9, 8 / (5 + 9.9**2)), (20.0, 8 / 405 / 4**4)])
def test_beyond_ten_sd_a_reading_soon_counts_nothing(sds: float, counted: float) -> None:
    """The weight falls with the fourth power of the squared distance over a hundred."""
    square = np.array([sds**2])
    assert cure.counted(square, absurd=True) == pytest.approx([counted])
    assert cure.counted(square, absurd=False) == pytest.approx([8 / (5 + sds**2)])


def test_a_forecast_is_widened_and_holds_what_the_curve_itself_misses() -> None:
    wide = replace(PRIOR, widen=1.4)
    made = cure.fit(READ, wide)
    lab, cov = made.at(AT)
    mean, spread = made.posterior.colors(AT)
    assert not made.unlike
    assert lab == pytest.approx(mean[0])
    assert cov == pytest.approx(1.96 * spread[0] + np.diag(CURVE_SD**2))


def test_a_slab_unlike_its_recipe_is_believed_and_no_vaguer_than_without_a_log() -> None:
    start = replace(PRIOR, cov=PRIOR.cov / 50)
    narrow = replace(PRIOR, cov=PRIOR.cov / 25, noise=0.3, start=start)
    odd = replace(READ, lab=READ.lab + np.array([2.0, 1.5, -1.0]))
    made, without = cure.fit(odd, narrow), cure.fit(odd, replace(narrow, start=None))
    assert made.unlike
    assert made.at([21.0])[0][0] == pytest.approx(odd.lab[2], abs=1.5)
    early = np.array([0.0, 60.0])
    limit = cure.fit(odd.until(-1), start).at(early)[1]
    sds, limits, free = (
        np.sqrt(np.einsum("mii->mi", each)) for each in (made.at(early)[1], limit, without.at(early)[1])
    )
    assert sds == pytest.approx(np.minimum(limits, free))
    assert (free > limits).any()
    assert (free < limits).any()


def test_readings_after_day_sixty_are_weathering() -> None:
    late = cure.track([2.0, 60.0, 60.5], [[47, 5, 12], [57, 5, 13], [90, 5, 13]], READING_SD)
    assert cure.fit(late, PRIOR).readings.ages.tolist() == [2.0, 60.0]


def test_nine_in_ten_of_a_lightness_lie_within_its_radius() -> None:
    """Of N(50, 2²) in L* alone: 1.645 · 2, less S_L of one percent."""
    radius = cure.radius90(np.array([[50.0, 0, 0]]), np.diag([4.0, 1e-9, 1e-9])[None], 4000)
    assert radius[0] == pytest.approx(1.645 * 2, rel=0.03)
    drawn = cure.normals(500, 4)
    assert drawn.mean(axis=0) == pytest.approx(0, abs=1e-12)
    assert drawn.std(axis=0) == pytest.approx(1)


def test_the_kept_draws_are_those_of_the_generator_and_enough_for_the_odds() -> None:
    assert np.load(make_normals.FILE).tolist() == make_normals.drawn().tolist()
    raw = np.random.default_rng(2026).standard_normal((1500, 36))
    raw -= raw.mean(axis=0)
    assert cure.normals(1500, 36) == pytest.approx(raw / raw.std(axis=0), abs=1e-12)


def test_the_radius_holds_nine_in_ten_whatever_the_shape() -> None:
    """Counted on 40,000 colors drawn by chance: round, flat and long spreads, turned each way."""
    rng = np.random.default_rng(1)
    lab, chance = np.array([55.0, 6.0, 14.0]), rng.normal(size=(40000, 3))
    held = []
    for sds in ([2, 2, 2], [2, 0.2, 0.2], [1, 1, 0.1], [2, 1, 0.7]) * 5:
        turned = np.linalg.qr(rng.normal(size=(3, 3)))[0] * sds
        radius = cure.radius90(lab[None], (turned @ turned.T)[None])[0]
        held.append((delta_e_2000(lab + chance @ turned.T, lab) <= radius).mean())
    assert np.mean(held) == pytest.approx(0.9, abs=0.005)
    assert held == pytest.approx([0.9] * 20, abs=0.014)


@pytest.mark.parametrize(("last", "day"), [(28, 28), (27, None)])
def test_a_color_that_still_moves_has_not_settled(last: int, day: int | None) -> None:
    """12·exp(-t/11) < 1 from day 28 on."""
    mean = np.array([50.0, 0.0, 0.0, -12.0, 0.0, 0.0, np.log(11.0)])
    made = cure.fit(READ.until(0), Prior(mean, np.eye(7) * 1e-6))
    assert cure.settled_from(made, last) == day


# --- what is learned of many --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("slabs", "square"),
    [(0, 1 + 1.5 / 4 + 4 / 9), (5, 1.3 + 4 / 9), (6, 1.25 + 4 / 9), (60, 1 + 0.025 + 1 / 225)],
)
def test_few_slabs_widen_every_range(slabs: int, square: float) -> None:
    assert learn.few_factor(slabs) == pytest.approx(np.sqrt(square))


def test_what_a_posterior_tells_beside_its_prior_is_the_likelihood_that_made_it() -> None:
    rng = np.random.default_rng(3)
    look = rng.normal(size=(3, 7))
    precision = look.T @ look
    information = precision @ rng.normal(size=7)
    mean, cov = learn.joined(PRIOR.mean, PRIOR.cov, precision, information)
    told = learn.likelihood(mean[None], cov[None], PRIOR.mean[None], PRIOR.cov[None])
    assert learn.joined(PRIOR.mean, PRIOR.cov, told[0][0], told[1][0])[0] == pytest.approx(mean, abs=1e-6)
    assert told[0][0] == pytest.approx(precision, abs=1e-6)


def test_a_message_is_a_look_at_the_recipe_through_the_scatter_of_slabs() -> None:
    """A slab known to t says of its recipe's mean as much as a look of variance t + w."""
    t, w, seen = np.full(7, 0.5), np.full(7, 2.0), np.arange(7.0)
    precision, information = learn.messages(np.diag(1 / t), seen / t, np.diag(w))
    assert precision == pytest.approx(np.diag(1 / (t + w)))
    assert information == pytest.approx(seen / (t + w))


def surely_read(a: float, key: str, recipe: str) -> learn.PastSlab:
    """A slab that is settled, so that its a* is plain: three readings of sd .05."""
    ages = [40.0, 50.0, 59.0]
    return learn.PastSlab(key, recipe, cure.track(ages, [[58.0, a, 13.0]] * 3, [[0.3, 0.05, 0.3]]))


def test_scatter_of_slabs_and_of_recipes_is_shrunk_to_the_start() -> None:
    """a* of five recipes 3, 4, 5, 6, 10, two slabs each one above and one below. From their median 5 the center is

    (-2 - 1 + 0 + 1 + 5)/(5 + 1); recipes scatter by (Σ off² + 3·6²)/8. Slabs scatter by w = (10·(1² + w/2) + 3·.5²)/13,
    since two slabs tell their recipe's mean to w/2: w = 10.75/8.
    """
    slabs = [
        surely_read(mid + side, f"{mid}{side}", f"r{mid}") for mid in (3, 4, 5, 6, 10) for side in (-1, 1)
    ]
    found = learn.learn(slabs)
    assert found.origin[1] == pytest.approx(5, abs=0.05)
    assert found.center[1] == pytest.approx(0.5, abs=0.05)
    assert found.within[1, 1] == pytest.approx(10.75 / 8, rel=0.05)
    apart = sum((off - 0.5) ** 2 for off in (-2, -1, 0, 1, 5))
    assert found.between[1, 1] == pytest.approx((apart + 3 * 36) / 8, rel=0.1)
    assert (found.slabs, found.of_recipe("r3"), found.of_recipe("r3", ("3-1",))) == (10, 2, 1)
    assert 0.5 <= found.noise < 0.7  # no reading is off its curve
    assert found.prior("r10").mean[1] == pytest.approx(10, abs=0.15)
    assert found.prior("another").mean[1] == pytest.approx(5.5, abs=0.1)


def test_what_a_log_teaches_stands_as_it_was_accepted() -> None:
    """A log of which the ranges did not hold: widened.

    The figures are of the method that passed its acceptance at full size (the long tests): others have to pass it too.
    """
    shop = Shop(44, Truth(jobs=8, tau=18, lightening=-17, outliers=0.1))
    found = learn.learn(shop.past())
    lab, cov = cure.fit(shop.log[0].read(9.5), found.prior("r1")).at([45.0])
    assert (found.widen, found.slabs) == (pytest.approx(1.130334, rel=1e-4), 8)
    assert found.center[[0, 3, 6]] == pytest.approx((-0.511528, -2.616961, 0.301237), abs=1e-4)
    assert np.diag(found.within)[[0, 3, 6]] == pytest.approx((6.642567, 7.366588, 0.0366010), rel=1e-4)
    assert np.diag(found.between)[[0, 3, 6]] == pytest.approx((58.604737, 9.448837, 0.0626080), rel=1e-4)
    assert found.noise == pytest.approx(1.022150, rel=1e-4)
    start, without = found.prior("r1").start, learn.unlearned().prior(None)
    assert start is not None
    assert start.cov == pytest.approx(without.cov)
    assert np.sqrt(np.diag(without.cov)) == pytest.approx(
        np.sqrt(
            np.square([8, 6, 8, 3.5, 1, 1.3, 0.25]) * 4 / 3 + np.square([2.2, 0.5, 0.7, 2.2, 0.6, 0.7, 0.2])
        )
    )  # how recipes and slabs scatter where nothing is learned
    assert lab[0] == pytest.approx((68.576504, 5.384653, 11.047040), abs=1e-3)
    assert np.diag(cov[0]) == pytest.approx((11.406255, 0.965503, 1.887756), rel=1e-4)


def test_a_reading_that_is_not_believed_teaches_nothing() -> None:
    """Forty L* off its own curve: what is learned is what the other readings teach."""
    clean = [surely_read(a, str(a), "r") for a in (4.0, 5.0, 6.0)]
    read = clean[0].readings
    lab, sd = [*read.lab, (98.0, 4.0, 13.0)], [*read.sd, (0.3, 0.3, 0.3)]
    spoiled = cure.track([*read.ages, 45.0], lab, sd)
    found, without = learn.learn([replace(clean[0], readings=spoiled), *clean[1:]]), learn.learn(clean)
    assert found.center == pytest.approx(without.center, abs=1e-9)
    assert found.within == pytest.approx(without.within, abs=1e-9)


def test_slabs_that_cannot_be_tried_widen_nothing() -> None:
    only_late = [surely_read(5.0, str(i), "r") for i in range(6)]
    assert learn.learn(only_late).widen == 1


def test_a_trial_is_an_error_over_the_variance_that_was_claimed() -> None:
    """No early reading, a curve that stands still: (mean of two late readings - expected)² over

    factor²·few²·variance + the curve's own + Σ variance/2² · noise².
    """
    mean = np.array([50.0, 0, 0, 0, 0, 0, np.log(11.0)])
    cov = np.diag([4.0, 1.0, 2.0, 1e-12, 1e-12, 1e-12, 1e-6])
    late = cure.track([30.0, 45.0], [[53.0, 1, 0], [55.0, 2, 0]], [[0.5, 0.4, 0.3], [1.0, 0.4, 0.3]])
    trial = ranges.Trial(cure.stack([READ.until(0)]), cure.stack([late]), mean[None],
                         cov[None], 1.5, 1.2, np.ones(1))  # fmt: skip
    claimed = np.array([4.0, 1.0, 2.0]) * 2.0**2 * 1.2**2 + CURVE_SD**2
    noise = (np.array([0.25 + 1.0 + 2 * 0.25, 0.32, 0.18]) / 4) * 1.5**2
    off, variance = ranges.errors(trial, 2.0)
    assert off[0] == pytest.approx([4.0, 1.5, 0.0], rel=1e-3, abs=1e-6)
    assert variance[0] == pytest.approx(claimed + noise, rel=1e-3)
