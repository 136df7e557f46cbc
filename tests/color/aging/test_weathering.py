"""What comes after the cure, on cases reckoned by hand: conjugate normals, and the factors of a sealer."""

from __future__ import annotations

import numpy as np
import pytest

from finishlog.color.aging import weathering
from finishlog.color.aging.weathering import Aged, Look, Pace, Pair, Settled
from finishlog.color.priors import figures

LAB, COV = np.array([60.0, 6.0, 14.0]), np.diag([1.0, 0.25, 0.5])
PACE = Pace(np.array([1.0, 0.0, -0.6]), np.array([0.8, 0.3, 0.5]))
AGES = np.array([45 + 365.25, 45 + 5 * 365.25])
YEARS = np.array([5 * (1 - np.exp(-0.2)), 5 * (1 - np.exp(-1.0))])  # of a pace that slows over five years
START_Y, START_CHROMA = map(float, np.log(figures.SEALED.value))
SURE = np.full(3, 1e-9)
OFF = np.array([1.5, 0.4, -0.5])


def settled(ages: list[float], read: list[np.ndarray], variance: float = 0.5) -> Settled:
    seen = np.array(read).reshape(-1, 3)
    return weathering.settle(LAB, COV, PACE, np.array(ages), seen, np.full(seen.shape, variance))


def test_unread_it_goes_on_at_the_pace_of_the_shop() -> None:
    """Expected: color + years · pace; its variance is that of the color and years² · that of the pace."""
    lab, cov = settled([], []).at([45.0, *AGES])
    years = np.array([0.0, *YEARS])
    assert lab == pytest.approx(LAB + years[:, None] * PACE.mean)
    assert cov == pytest.approx(COV + (years**2)[:, None, None] * np.diag(PACE.sd**2))


def test_a_late_reading_moves_color_and_pace_by_what_each_is_unsure_of() -> None:
    """One reading z of variance v after y years: the gain of (color, pace) is (c, y·p) / (c + y²·p + v)."""
    y, v = YEARS[0], 0.5
    expected = LAB + y * PACE.mean
    found = settled([AGES[0]], [expected + OFF], v)
    c, p = np.diag(COV), PACE.sd**2
    gain = OFF / (c + y**2 * p + v)
    assert found.mean == pytest.approx(np.concatenate([LAB + c * gain, PACE.mean + y * p * gain]))
    assert np.diag(found.cov)[:3] == pytest.approx(c - c**2 / (c + y**2 * p + v))
    assert found.weight == pytest.approx([1.0])


def test_a_late_reading_beyond_all_reason_counts_nothing() -> None:
    on_line = [LAB + y * PACE.mean for y in YEARS]
    ages = [*AGES, AGES[0] + 30]
    clean, spoiled = settled([*AGES], on_line), settled(ages, [*on_line, LAB + 10 * OFF])
    assert spoiled.mean == pytest.approx(clean.mean, abs=0.01)
    assert spoiled.weight == pytest.approx([1.0, 1.0, 0.0], abs=1e-3)


def test_no_slab_weathers_to_lighter_than_white() -> None:
    bright = weathering.settle(np.array([99.5, 0.0, 1.0]), COV, PACE, np.empty(0), np.empty((0, 3)), COV[:0])
    assert bright.at([AGES[1]])[0][0, 0] == 100


def aged(pace: float, doubt: float = 1e-9, variance: float = 1e-9) -> Aged:
    """A slab read twice that weathers at `pace` in L* and b* and not in a*."""
    lab = LAB + YEARS[:, None] * np.array([pace, 0.0, pace])
    return Aged(YEARS, lab, np.full((2, 3), variance), LAB, np.full(3, doubt))


def test_the_pace_of_surely_read_slabs_is_their_mean_with_the_start_as_three_more() -> None:
    found = weathering.learn_pace([aged(0.4), aged(0.2), aged(0.3)])
    assert found.mean == pytest.approx((weathering.START_PACE * 3 + (0.9, 0.0, 0.9)) / 6, abs=1e-4)
    start = weathering.START_PACE_SD**2
    off = sum((np.array([pace, 0.0, pace]) - found.mean) ** 2 for pace in (0.4, 0.2, 0.3))
    between = (3 * start + off) / 6
    between = np.minimum(between, start)
    expected = np.sqrt(between + 1 / (3 / start + 3 / between))
    assert found.sd == pytest.approx(np.minimum(expected, weathering.START_PACE_SD), rel=1e-3)
    assert found.slabs == 3


def test_a_slab_read_vaguely_or_settled_vaguely_teaches_little() -> None:
    sure, vague, doubted = (
        weathering.learn_pace([one]).mean[0]
        for one in (aged(-2.0), aged(-2.0, variance=36.0), aged(-2.0, 36.0))
    )
    start = weathering.START_PACE[0]
    assert sure == pytest.approx(0.75 * start - 0.25 * 2, abs=1e-4)
    assert sure + 0.1 < vague < start
    assert sure + 0.1 < doubted < start


def test_an_absurd_slab_teaches_no_pace() -> None:
    sane = [aged(0.4), aged(0.2), aged(0.3)]
    clean, spoiled = weathering.learn_pace(sane), weathering.learn_pace([*sane, aged(-30.0)])
    assert spoiled.mean == pytest.approx(clean.mean, abs=0.02)
    assert (spoiled.sd <= weathering.START_PACE_SD).all()


def test_the_look_of_surely_read_pairs_is_their_mean_with_the_start_as_two_more() -> None:
    """Y goes with (L* + 16)³: from 59 + 16 to 44 + 16 it falls to .8³; chroma from 5 to 6 grows by 1.2."""
    pair = Pair(np.array([59.0, 3.0, 4.0]), SURE, np.array([44.0, 3.6, 4.8]), SURE)
    found = weathering.learn_look([pair, pair])
    start, seen = (
        (START_Y, START_CHROMA),
        (3 * np.log(0.8), np.log(1.2)),
    )
    assert found.log_factors == pytest.approx(np.mean([start, seen], axis=0), abs=1e-4)


def test_the_chroma_of_grays_tells_nothing() -> None:
    gray = Pair(np.array([59.0, 0.1, 0.1]), np.full(3, 0.2), np.array([39.0, 0.1, 0.2]), np.full(3, 0.2))
    found = weathering.learn_look([gray] * 3)
    assert found.log_factors[1] == pytest.approx(START_CHROMA, abs=0.08)
    assert found.log_factors[0] < START_Y - 0.1


def test_what_a_pair_is_unsure_of_is_what_its_readings_are_in_proportion() -> None:
    """log Y = 3·log(L* + 16): 9·Var/(L* + 16)², bare and sealed; log chroma: the mean of a* and b*, by chroma²."""
    pair = Pair(
        np.array([59.0, 3, 4]),
        np.array([0.4, 0.2, 0.4]),
        np.array([44.0, 3.6, 4.8]),
        np.array([0.5, 0.1, 0.3]),
    )
    found, doubt = weathering._factors(pair)
    assert found == pytest.approx((3 * np.log(60 / 75), np.log(6 / 5)))
    assert doubt == pytest.approx((9 * (0.5 / 60**2 + 0.4 / 75**2), 0.2 / 36 + 0.3 / 25))


def test_a_chroma_under_a_half_counts_as_a_half() -> None:
    pair = Pair(np.array([59.0, 0.1, 0.0]), SURE, np.array([44.0, 0.0, 0.75]), SURE)
    expected = (2 * START_CHROMA + np.log(1.5)) / 3
    assert weathering.learn_look([pair]).log_factors[1] == pytest.approx(expected, abs=1e-4)


LOOK = Look(np.array([np.log(0.512), np.log(1.5)]), np.array([0.15, 0.1]))


def test_under_the_sealer_colors_scale_and_its_own_doubt_comes_to_them() -> None:
    """L* + 16 × .8, a* and b* × 1.5; the sd of log Y moves L* by (L* + 16)/3, that of chroma a* and b* together."""
    seen, cov = weathering.sealed_look(LOOK, LAB[None], COV[None])
    assert seen[0] == pytest.approx((76 * 0.8 - 16, 9.0, 21.0))
    spread = np.diag([0.64 * 1.0, 2.25 * 0.25, 2.25 * 0.5])
    spread[0, 0] += (76 * 0.8 / 3 * 0.15) ** 2
    spread[1:, 1:] += 0.1**2 * np.outer((9.0, 21.0), (9.0, 21.0))
    assert cov[0] == pytest.approx(spread)


def test_taken_off_again_the_doubt_is_that_of_the_bare_color() -> None:
    variance = weathering.look_variance(LOOK, weathering.sealed_colors(LOOK, LAB[None]))
    assert variance[0] == pytest.approx(((76 / 3 * 0.15) ** 2, (6 * 0.1) ** 2, (14 * 0.1) ** 2))
