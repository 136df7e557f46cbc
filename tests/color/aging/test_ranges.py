"""Ranges neither too narrow nor too wide: the factor, the noise, and input that no log should hold."""

from __future__ import annotations

import warnings
from dataclasses import replace

import numpy as np
import pytest

from finishlog.color.aging import cure, learn, levels, ranges, sweeps
from finishlog.color.priors import figures
from tests.color.cure_truth import READING_SD, Floats, Shop, Truth
from tests.color.cure_truth_two import ShopTwo

NARROW = (0.85, 1.25)


@pytest.mark.parametrize(
    ("family", "seeds"),
    [
        (Shop, range(1001, 1002)),
        pytest.param(Shop, range(4000, 4024), marks=pytest.mark.long),
        pytest.param(ShopTwo, range(4000, 4024), marks=pytest.mark.long),
    ],
)
def test_chance_does_not_widen_a_sound_log(family: type[Shop], seeds: range) -> None:
    found = [learn.learn(family(seed).past()).widen for seed in seeds]
    print(f"widened by {min(found):.2f} to {max(found):.2f}, mean {np.mean(found):.2f}")
    assert NARROW[0] <= min(found) <= max(found) <= NARROW[1]


def tried(true: float, number: int = 500) -> ranges.Trial:
    """Slabs that were not read, which scatter `true` times as much as was expected, read late and well."""
    rng = np.random.default_rng(4)
    sd = np.array([2.0, 0.8, 1.0])
    mean = np.array([50.0, 5, 13, 0, 0, 0, np.log(11.0)])
    cov = np.diag([*sd**2, 1e-12, 1e-12, 1e-12, 1e-6])
    off = rng.normal(0, 1, (number, 3)) * np.hypot(sd * true, np.hypot(READING_SD, cure.CURVE_SD))
    late = [
        cure.track([40.0], [mean[:3] + one], np.sqrt(READING_SD**2 - np.array([0.25, 0, 0]))) for one in off
    ]
    none = cure.track([], np.empty((0, 3)), np.empty((0, 3)))
    return ranges.Trial(
        cure.stack([none] * number), cure.stack(late), np.tile(mean, (number, 1)),
        np.tile(cov, (number, 1, 1)), 1.0, 1.0, np.ones(number),
    )  # fmt: skip


@pytest.mark.parametrize("true", [0.7, 1.0, 1.45, 2.1])
def test_the_factor_is_found_where_many_slabs_tell_of_it(true: float) -> None:
    trial = tried(true)
    told = [ranges._log_likelihood(trial, factor) for factor in ranges.FACTORS]
    assert ranges.FACTORS[int(np.argmax(told))] == true


def test_one_slab_gone_wrong_moves_the_factor_little() -> None:
    """As a likelihood of bells it would ask for a factor of its own: its cost grows as a logarithm."""
    square = np.array([3.0, 100.0, 1000.0])
    cost = ranges._cost(square)
    assert cost[2] - cost[1] == pytest.approx(3 / 2.463 * 8 * np.log(1005 / 105), rel=1e-3)
    assert cost[1] < 40


def test_a_slab_unlike_its_recipe_is_still_flagged() -> None:
    """Eight L* darker and redder throughout, read up to day 28."""
    shop = Shop(1003)
    learned = learn.learn(shop.past())
    odd, sound = [], []
    for k in range(24):
        read = shop.another(f"r{k % 8}").read(35.0)
        off = cure.track(read.ages, read.lab + np.array([-8.0, 2.0, 2.5]), READING_SD)
        for of, readings in ((odd, off), (sound, read)):
            of.append(cure.fit(readings, learned.prior(f"r{k % 8}")).unlike)
    print(f"flagged: odd {np.mean(odd):.2f}, sound {np.mean(sound):.2f}")
    assert np.mean(odd) >= 0.85
    assert np.mean(sound) <= 0.05


# --- noise --------------------------------------------------------------------------------------------


def test_readings_better_than_stated_are_learned_as_such() -> None:
    found = learn.learn(Shop(61, Truth(jobs=20, noise=0.5)).past())
    assert sweeps.LEAST_NOISE <= found.noise < 0.8
    assert learn.learn(Shop(61, Truth(jobs=20, noise=2.0)).past()).noise > 1.5
    assert (
        learn.learn(Shop(61, Truth(jobs=20, noise=0.5)).past()[:1]).noise > 0.8
    )  # shrunk: four readings tell little


@pytest.mark.parametrize("leverage", [0.0, 0.4, 0.8])
def test_the_expected_square_of_a_reading_that_the_curve_follows(leverage: float) -> None:
    square = np.random.default_rng(2).chisquare(3, 400_000)
    seen = (1 - leverage) * square
    mean = np.mean(np.minimum(1, 8 / (5 + seen)) * (seen + 3 * leverage))
    assert sweeps.usual_square(np.array([leverage])) == pytest.approx([mean], rel=0.005)


def test_correlations_that_few_slabs_happen_to_show_are_shrunk() -> None:
    start = np.diag([4.0, 1.0, 1.0, 4.0, 1.0, 1.0, 0.04])
    root = np.sqrt(np.diag(start))
    seen = (0.8 * np.ones((7, 7)) + 0.2 * np.eye(7)) * root[:, None] * root
    found = sweeps._shrunk(10 * seen, 10, start, 3)
    assert np.diag(found) == pytest.approx(np.diag(start))
    assert found[0, 3] == pytest.approx(0.8 * 4 * (10 / 13) * 13 / (13 + sweeps.CORRELATIONS_WORTH))
    many = sweeps._shrunk(10_000 * seen, 10_000, start, 3)
    assert many[0, 3] == pytest.approx(0.8 * 4, rel=0.01)


# --- dose ---------------------------------------------------------------------------------------------


def test_a_recipe_with_more_pigment_is_expected_to_lighten_less() -> None:
    unlearned = levels.unlearned()
    lightening = [unlearned.prior(None, dose=dose).mean[3] for dose in (None, 0.0, 3.0, 6.0)]
    assert lightening[0] == lightening[2] == levels.START_D[0]
    assert lightening[1] < lightening[2] < lightening[3] < 0
    assert lightening[3] == pytest.approx(levels.START_D[0] * figures.lightening_at(6.0))


def test_what_strong_recipes_teach_of_weak_ones_allows_for_the_dose() -> None:
    """All of the log at 8 %, lightening as that dose should: a new recipe of 1 % is expected to lighten more."""
    shop = Shop(5, Truth(jobs=24, lightening=levels.START_D[0] * figures.lightening_at(8.0)))
    strong = learn.learn([replace(slab, dose=8.0) for slab in shop.past()])
    blind = learn.learn(shop.past())
    assert strong.center[3] < blind.center[3] - 2.0
    known = next(iter(strong.told))
    assert strong.prior("new", dose=1.0).mean[3] < strong.prior("new", dose=8.0).mean[3] - 3.0
    assert strong.prior(known).mean[3] == pytest.approx(blind.prior(known).mean[3], abs=1.0)
    assert strong.prior("new", dose=8.0).mean[3] == pytest.approx(blind.prior("new").mean[3], abs=1.0)


# --- what no log should hold --------------------------------------------------------------------------


def hostile(seed: int) -> list[learn.PastSlab]:
    """Sd of 1e-6 to 1e4, ages to 1e8, colors of nothing, equal readings; now and then what is no number, or twice."""
    rng = np.random.default_rng(seed)
    return [_hostile_slab(rng, i) for i in range(rng.integers(1, 14))]


def _hostile_slab(rng: np.random.Generator, number: int) -> learn.PastSlab:
    n = int(rng.integers(1, 9))
    wild = rng.choice([0.0, 0.01, 1.0, 7.0, 28.0, 59.9, 60.0, 1e4, 1e8], n)
    ages = np.sort(wild if rng.random() < 0.5 else rng.uniform(0, 60, n))
    lab = rng.normal([55, 5, 13], [8, 5, 6], (n, 3))
    if rng.random() < 0.3:
        lab[rng.integers(n)] = rng.choice(
            [0.0, 125.0, 100.0, -15.0, 190.0 if rng.random() < 0.1 else 60.0], 3
        )
    if rng.random() < 0.2:
        lab[:] = lab[0]
    sd = 10 ** rng.uniform(-6, 4, (n, 3)) if rng.random() < 0.6 else np.full((n, 3), 0.7)
    _spoiled(rng, ages, lab, sd)
    key = f"j{number if rng.random() < 0.995 else 0}"
    dose = None if rng.random() < 0.5 else float(rng.choice([0.0, 3.0, 50.0, 100.0]))
    return learn.PastSlab(key, [None, "r0", "r1"][rng.integers(3)], cure.Track(ages, lab, sd), dose)


def _spoiled(rng: np.random.Generator, ages: Floats, lab: Floats, sd: Floats) -> None:
    for of, values in (
        (ages, (-1.0, np.nan, np.inf)), (lab, (np.nan, 300.0, -np.inf)), (sd, (0.0, -1.0, np.inf, np.nan)),
    ):  # fmt: skip
        if rng.random() < 0.004:
            of.flat[0] = rng.choice(values)


@pytest.mark.parametrize("seeds", [range(20), pytest.param(range(20, 320), marks=pytest.mark.long)])
def test_wild_input_is_refused_by_name_or_borne(seeds: range) -> None:
    found = [_learned_or_refused(hostile(seed)) for seed in seeds]
    learned = [one for one in found if isinstance(one, learn.Learned)]
    print(f"{len(found) - len(learned)} of {len(found)} refused")
    assert all(str(one).startswith("slab j") for one in found if isinstance(one, Exception))
    assert len(learned) > len(found) / 2
    for one in learned:
        for recipe in ("r0", "r1", None):
            prior = one.prior(recipe)
            _, cov = cure.fit(cure.track([3.0], [[50, 5, 12]], READING_SD), prior).at([45.0])
            assert np.isfinite(prior.mean).all()
            assert (np.linalg.eigvalsh(prior.cov) > 0).all()
            assert (np.linalg.eigvalsh(cov[0]) > 0).all()


def _learned_or_refused(slabs: list[learn.PastSlab]) -> learn.Learned | ValueError:
    """What it taught, or the refusal; whatever else is raised, a warning too, fails the test."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            return learn.learn(slabs)
        except np.linalg.LinAlgError:
            raise
        except ValueError as error:
            return error


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"lab": np.array([[300.0, 5, 13]])}, "no color"),
        ({"lab": np.array([[50.0, np.nan, 13]])}, "finite"),
        ({"sd": np.array([[1.0, 0.0, 1.0]])}, "sd above 0"),
        ({"ages": np.array([-1.0])}, "age is 0 or more"),
        ({"ages": np.array([1.0, 2.0])}, "needs its age"),
    ],
)
def test_what_is_refused_is_named(change: dict[str, Floats], words: str) -> None:
    readings = cure.track([7.0], [[50.0, 5, 13]], READING_SD)
    slab = learn.PastSlab("j7", "r0", replace(readings, **change))
    with pytest.raises(ValueError, match=f"slab j7: .*{words}"):
        learn.learn([slab])
    with pytest.raises(ValueError, match="slab j7"):
        learn.told_too(learn.unlearned(), [slab])


def test_a_slab_that_comes_twice_is_refused_and_one_told_again_replaced() -> None:
    past = Shop(3, Truth(jobs=6)).past()
    with pytest.raises(ValueError, match="slab j2: comes twice"):
        learn.learn([*past, past[2]])
    learned = learn.learn(past)
    more = replace(past[2], readings=past[2].readings.until(8.0))
    again = learn.told_too(learn.told_too(learned, [more]), [past[2]])
    assert again.slabs == learned.slabs
    assert again.told.keys() == learned.told.keys()
    first, second = (one.told[past[2].name][past[2].key] for one in (learned, again))
    assert np.diag(second[0]) == pytest.approx(np.diag(first[0]), rel=0.35)
