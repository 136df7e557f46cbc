"""The starting values against published measurements: what they say has to be likely before a log says anything.

`data/published_statements.csv` and `data/measured_colors.csv` hold the figures, each with its source. Where a source
tells albedo, Y is .94 of it (69 concretes of the measured spectra, sd .06).
"""

from __future__ import annotations

import csv
from pathlib import Path
from statistics import NormalDist

import numpy as np
import pytest

from finishlog.color.aging import cure, learn, weathering
from finishlog.color.aging.cure import NORMAL_90
from finishlog.color.priors import figures
from finishlog.color.release import drying
from tests.color import measured_truth
from tests.color.cure_truth import Floats

DATA = Path(__file__).parent / "data"
Y_OF_ALBEDO = 0.94
NOTHING = cure.track([], np.empty((0, 3)), np.empty((0, 3)))
FIVE_YEARS = weathering.SETTLED_DAY + 5 * 365.25


def published(key: str) -> float:
    with (DATA / "published_statements.csv").open() as file:
        return next(float(row["value"]) for row in csv.DictReader(file) if row["key"] == key)


def lightness(y: float) -> float:
    return 116 * float(np.cbrt(y)) - 16


def curve(ages: list[float]) -> Floats:
    """L* of a slab of which nothing is known, at these ages in days."""
    return cure.fit(NOTHING, learn.unlearned().prior(None)).at(ages)[0][:, 0]


def expected(draws: int = 20_000) -> Floats:
    """θ (draws, 7) of slabs of which nothing is known."""
    prior = learn.unlearned().prior(None)
    return np.random.default_rng(5).multivariate_normal(prior.mean, prior.cov, draws)


def test_most_of_the_change_is_over_by_day_21_and_nearly_all_by_six_weeks() -> None:
    """Takano et al. 2000: little change after day 21; Levinson & Akbari 2001: stable within six weeks."""
    first, little, stable, last = curve(
        [1, published("little_change_from"), 7 * published("stable_within"), 45.0]
    )
    assert 0.75 <= (little - first) / (last - first) <= 0.95
    assert (stable - first) / (last - first) >= 0.95


def test_what_is_left_from_day_seven_holds_what_hydration_brought() -> None:
    """Levinson & Akbari 2001: albedo + .08, 4.5 to 6 L* at the albedo of the mean and of the darkest mix."""
    rise = Y_OF_ALBEDO * published("hydration")
    least, most = (
        lightness(y) - lightness(y - rise)
        for y in (Y_OF_ALBEDO * published("albedo"), Y_OF_ALBEDO * published("least_albedo"))
    )
    assert (least, most) == (pytest.approx(4.5, abs=0.1), pytest.approx(5.9, abs=0.1))
    theta = expected()
    left = -theta[:, 3] * np.exp(-7 / np.exp(theta[:, 6]))
    low, high = np.quantile(left, (0.05, 0.95))
    print(f"\nleft from day 7: {low:.1f} to {high:.1f} L*")
    assert low <= 4.5
    assert high >= 6
    assert high - low < 12  # a range that held anything would say nothing


def test_drying_shows_most_of_the_first_lightening() -> None:
    """Levinson & Akbari 2001: wetting takes .23 of albedo, hydration brings .08."""
    share = NormalDist(drying.Drying().share, drying.Drying().sd)
    likely = share.cdf(0.8) - share.cdf(0.6)
    print(f"\nP(.6 < drying share < .8) = {likely:.3f}")
    assert likely >= 0.5
    wet, hydration = -published("wetting"), published("hydration")
    assert abs(wet / (wet + hydration) - share.mean) < NORMAL_90 * share.stdev


def test_gray_flatwork_may_darken_within_five_years() -> None:
    """Young, middle, old gray flatwork 68, 59, 51 L* (different pours); pavements in seven states darken."""
    pace = weathering.learn_pace([])
    years = float(weathering.effective_years(FIVE_YEARS))
    moved = NormalDist(years * float(pace.mean[0]), years * float(pace.sd[0]))
    print(f"\nP(darker after five years) = {moved.cdf(0):.2f}")
    assert moved.cdf(0) >= 0.4
    assert moved.cdf(0) <= 0.8  # dark pigmented concrete lightens, the trade says
    assert published("pavement_with_age") < 0
    y = Y_OF_ALBEDO * published("albedo")
    worn = Y_OF_ALBEDO * (published("weathering") + published("soiling"))
    assert abs(lightness(y + worn) - lightness(y) - moved.mean) < NORMAL_90 * moved.stdev


def test_a_film_darkens_as_wetting_and_computed_films_do() -> None:
    """Y × .40 to .59 by a computed film, × .61 by wetting: the range holds .45 to .75."""
    film = weathering.learn_look([])
    low, high = np.exp(film.log_factors[0] + NORMAL_90 * film.sd[0] * np.array([-1, 1]))
    print(f"\na film of sealer: Y × {low:.2f} to {high:.2f}")
    assert low <= 0.45
    assert high >= 0.75
    wet = 1 + published("wetting") / published("albedo")
    assert low < wet < high < 1
    thin, deep = np.exp(film.log_factors[1] + NORMAL_90 * film.sd[1] * np.array([-1, 1]))
    assert thin < 0.77 < 1.11 < deep


def test_a_penetrating_sealer_is_none_of_these() -> None:
    soaked = weathering.learn_look([], figures.PENETRATING)
    assert np.exp(soaked.log_factors[0] - NORMAL_90 * soaked.sd[0]) > 0.75
    assert np.exp(soaked.log_factors[0] + NORMAL_90 * soaked.sd[0]) > 1


def test_jobs_differ_more_than_one_works_tile_and_less_than_strangers_concrete() -> None:
    """Runs of one brown tile within 1.0 L*; five new grays of several pours (Ilehag et al. 2019) 3.8."""
    new_gray = measured_truth.colors("cement")[2:7, 0]
    assert new_gray.std(ddof=1) == pytest.approx(3.8, abs=0.05)
    assert 1.0 < figures.FINAL_JOBS.sd[0] < new_gray.std(ddof=1)
    assert figures.FINAL_JOBS.sd[0] == np.sqrt(learn.START_WITHIN[0, 0])


def test_more_pigment_changes_less_and_from_day_28_the_dose_no_longer_shows() -> None:
    """Takano et al. 2000, 0 to 3 %: sign of both effects, and when the first is gone."""
    early, late = 1.0, published("no_dose_effect_from")
    more = figures.lightening_at(3.0) - figures.lightening_at(0.0)
    assert np.sign(more) == published("dose_effect_on_change")
    at = {age: more * figures.LIGHTENING.value[0] * np.exp(-age / figures.TAU.one) for age in (early, late)}
    assert np.sign(at[early]) == published("early_dose_effect")
    assert at[early] > 1
    assert abs(at[late]) < 0.5


def test_the_spectra_have_the_measured_colors() -> None:
    """Of the mixtures (`tests/color/pigment`): what they are made of is what was measured."""
    for role in ("cement", *measured_truth.FULL):
        drawn = measured_truth.spectra(role)
        assert measured_truth.lab_of_spectrum(drawn) == pytest.approx(measured_truth.colors(role), abs=1e-6)
        assert (drawn > 0).all()
        assert (drawn < 1).all()
