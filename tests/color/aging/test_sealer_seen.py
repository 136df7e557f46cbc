"""A coat that nobody logged is noticed, on slabs of three families; a bare slab seldom looks like one."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from finishlog.color.aging import cure, learn, sealer_seen, weathering
from tests.color.batch_truth import BatchShop
from tests.color.coat_truth import DryingShop, coated, whole
from tests.color.cure_truth import READING_SD, Shop, Slab, Truth

LOOK, PACE = weathering.learn_look([]), weathering.learn_pace([])
FAMILIES = ("mixed curves", "drying", "lots and cements")


@cache
def shop_of(family: str, seed: int) -> tuple[Shop, learn.Learned]:
    if family == "lots and cements":
        made: Shop = BatchShop(seed, jobs=24)
        slabs = [(one.slab, one.slab.read()) for one in made.batches]  # type: ignore[attr-defined]
    else:
        made = (Shop if family == "mixed curves" else DryingShop)(seed, Truth(jobs=24, recipes=6))
        slabs = [(slab, slab.read()) for slab in made.log]
    past = [learn.PastSlab(f"j{at}", slab.recipe, read) for at, (slab, read) in enumerate(slabs)]
    return made, learn.learn(past)


def slabs_of(family: str, seed: int, number: int) -> tuple[list[Slab], learn.Learned]:
    shop, learned = shop_of(family, seed)
    if isinstance(shop, BatchShop):
        batched = [shop.batched(shop.another(f"r{at % 4}"), shop._made()) for at in range(number)]
        return [one.slab for one in batched], learned
    return shop.new(number), learned


def seen(slabs: list[Slab], learned: learn.Learned) -> list[int | None]:
    tracks = [whole(slab) for slab in slabs]
    priors = [learned.prior(slab.recipe, (), one) for slab, one in zip(slabs, tracks, strict=True)]
    return sealer_seen.first_sealed(tracks, priors, PACE)


def shares(family: str, seeds: int, number: int) -> tuple[float, float, float]:
    """Of coated slabs those noticed, and those noticed at the right reading; of bare ones those flagged."""
    noticed, right, wrong, total = 0, 0, 0, 0
    for seed in range(seeds):
        slabs, learned = slabs_of(family, seed, number)
        rng = np.random.default_rng(700 + seed)
        sealed = [coated(slab, rng) for slab in slabs]
        found = seen([slab for slab, _ in sealed], learned)
        noticed += sum(one is not None for one in found)
        right += sum(one == first for one, (_, first) in zip(found, sealed, strict=True))
        wrong += sum(one is not None for one in seen(slabs, learned))
        total += number
    return noticed / total, right / total, wrong / total


@pytest.mark.parametrize("family", FAMILIES)
def test_a_coat_nobody_logged_is_noticed_and_a_bare_slab_is_left_alone(family: str) -> None:
    noticed, right, wrong = shares(family, 1, 50)
    assert noticed >= 0.86
    assert right >= 0.75
    assert wrong <= 0.04  # of fifty; the limits themselves are held at full size


@pytest.mark.long
@pytest.mark.parametrize("family", FAMILIES)
def test_at_full_size(family: str) -> None:
    noticed, right, wrong = shares(family, 12, 60)
    print(f"\n{family}: noticed {noticed:.3f}, at the right reading {right:.3f}; bare flagged {wrong:.4f}")
    assert noticed >= 0.90
    assert right >= 0.80
    assert wrong <= 0.02


# by hand: a slab whose curve is known, of a prior that knows it

AGES = (1.0, 3.0, 7.0, 14.0, 28.0, 45.0)
THETA = np.array([58.0, 5.0, 13.0, -12.0, 0.0, 0.6, np.log(11.0)])
PRIOR = cure.Prior(THETA, learn.START_WITHIN)


def track(lab: np.ndarray, ages: tuple[float, ...] = AGES) -> cure.Track:
    return cure.track(ages, lab, READING_SD)


def bare(ages: tuple[float, ...] = AGES) -> np.ndarray:
    return THETA[:3] + np.exp(-np.array(ages) / 11.0)[:, None] * THETA[3:6]


def one(lab: np.ndarray, ages: tuple[float, ...] = AGES) -> int | None:
    return sealer_seen.first_sealed([track(lab, ages)], [PRIOR], PACE)[0]


def test_it_is_told_from_which_reading_on() -> None:
    for first in range(1, len(AGES)):
        lab = bare()
        lab[first:] = weathering.sealed_colors(LOOK, lab)[first:]
        assert one(lab) == first
    assert one(bare()) is None


def test_one_odd_reading_that_the_next_takes_back_is_no_coat() -> None:
    lab = bare()
    lab[3] = weathering.sealed_colors(LOOK, lab)[3]
    assert one(lab) is None


@pytest.mark.parametrize("move", [(-7.5, -3.0, -6.0), (7.0, 2.0, 3.0)], ids=["darker and grayer", "lighter"])
def test_a_change_no_sealer_makes_is_no_coat(move: tuple[float, float, float]) -> None:
    lab = bare()
    lab[4:] += move
    assert one(lab) is None


def test_years_of_weather_are_no_coat() -> None:
    ages = (1.0, 7.0, 28.0, 45.0, 800.0, 1500.0)
    lab = bare(ages)
    lab[4:] += (-2.5, 0.0, -1.0)
    assert one(lab, ages) is None


def test_a_coat_years_later_is_noticed() -> None:
    ages = (1.0, 7.0, 28.0, 45.0, 400.0, 500.0, 600.0)
    lab = bare(ages) + weathering.effective_years(ages)[:, None] * PACE.mean
    lab[5:] = weathering.sealed_colors(LOOK, lab)[5:]
    assert one(lab, ages) == 5


def test_what_years_without_a_reading_may_do_is_no_coat() -> None:
    ages = (1.0, 7.0, 28.0, 45.0, 800.0)
    lab = bare(ages)
    lab[4:] = weathering.sealed_colors(LOOK, lab)[4:]
    assert one(lab, ages) is None


@pytest.mark.parametrize("off", [(-20.0, 0.0, 0.0), (-12.0, 0.0, 0.0), (-14.0, 3.0, 6.0), (12.0, 0.0, 0.0)])
def test_a_slab_of_another_color_from_the_start_is_no_coat(off: tuple[float, float, float]) -> None:
    rng = np.random.default_rng(3)
    labs = [bare() + rng.normal(0, 1, (6, 3)) * READING_SD + np.array(off) for _ in range(6)]
    assert [one(lab) for lab in labs].count(None) >= 5


def test_what_is_expected_of_readings_together_is_what_is_expected_of_each() -> None:
    made = cure.solve(cure.stack([track(bare()[:3], AGES[:3])]), PRIOR.mean, PRIOR.cov)
    ages = np.array([AGES[3:]])
    lab, whole_cov = sealer_seen._joint(made, ages)
    each, cov = made.colors(ages)
    assert lab == pytest.approx(each)
    for at in range(3):
        block = slice(3 * at, 3 * at + 3)
        assert whole_cov[0, block, block] == pytest.approx(cov[0, at])
    assert whole_cov[0] == pytest.approx(whole_cov[0].T)
    assert np.linalg.eigvalsh(whole_cov[0]).min() > -1e-9


def test_nothing_to_compare_says_nothing() -> None:
    assert sealer_seen.first_sealed([], [], PACE) == []
    single = track(bare((7.0,)), (7.0,))
    assert sealer_seen.first_sealed([single], [PRIOR], PACE) == [None]
