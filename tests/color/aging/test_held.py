"""How often the ranges held on a log's own readings: on logs drawn from the model itself, and recounted one by one."""

from __future__ import annotations

import numpy as np
import pytest

from finishlog.color.aging import cure, held, learn
from finishlog.color.aging.learn import Learned, PastSlab
from finishlog.color.notation.space import delta_e_2000
from tests.color.cure_truth import AGES, READING_SD, Floats, Shop, Truth


def drawn(seed: int, jobs: int, noise: float = 1.0) -> list[PastSlab]:
    """A log of 8 recipes drawn from the learner's own start, its readings `noise` times as wide as they state."""
    rng = np.random.default_rng(seed)
    start = learn.unlearned()
    recipes = rng.multivariate_normal(start.origin + start.center, start.between, 8)
    slabs = []
    for job in range(jobs):
        recipe = int(rng.integers(8))
        theta = rng.multivariate_normal(recipes[recipe], start.within)
        ages = np.array([age for age in AGES if rng.random() > 0.15] or [7.0])
        color = theta[:3] + np.exp(-ages[:, None] / np.exp(theta[6])) * theta[3:6]
        color += rng.normal(size=color.shape) * cure.CURVE_SD
        color += rng.normal(size=color.shape) * np.hypot(READING_SD, cure.MOISTURE_SD) * noise
        slabs.append(PastSlab(f"j{job}", f"r{recipe}", cure.track(ages, color, READING_SD)))
    return slabs


def shares(logs: list[list[PastSlab]]) -> dict[int, Floats]:
    """By day, how many ranges were met, and the share of L*, a*, b* and the whole color that held: (5,)."""
    found: dict[int, list[Floats]] = {}
    for log in logs:
        for one in held.check(learn.learn(log), log):
            found.setdefault(one.day, []).append(one.held)
    whole = {day: np.concatenate(some) for day, some in found.items()}
    return {day: np.array([len(each), *each.mean(axis=0)]) for day, each in whole.items()}


def test_a_log_drawn_from_the_model_holds_nine_in_ten() -> None:
    """Of a hundred slabs the readings of one stand together: .03 is chance."""
    found = np.array(list(shares([drawn(0, 80)]).values()))
    assert np.average(found[:, 1:], axis=0, weights=found[:, 0]) == pytest.approx(0.9, abs=0.05)


@pytest.mark.long
def test_each_day_holds_nine_in_ten() -> None:
    for day, of in shares([drawn(seed, 120) for seed in range(8)]).items():
        assert of[1:] == pytest.approx(0.9, abs=0.025), (day, of)


def test_readings_that_scatter_twice_as_stated_show_low_figures() -> None:
    found = shares([drawn(0, 80, noise=2)])
    assert all(max(each[1:]) < 0.85 for each in found.values()), found
    table = np.array(list(found.values()))
    assert (np.average(table[:, 1:], axis=0, weights=table[:, 0]) < 0.8).all()


def one_by_one(learned: Learned, slab: PastSlab, cut: float, own: bool) -> tuple[Floats, Floats]:
    """What `held` says of one slab at a cut, by the fit that the forecast itself uses; `own`: its message left in."""
    without = () if own else (slab.key,)
    made = cure.fit(slab.readings.until(cut), learned.prior(slab.recipe, without, slab.readings))
    later = slab.readings.since(cut)
    lab, cov = made.at(later.ages)
    sd = np.sqrt(np.einsum("nii->ni", cov) + later.sd**2 + cure.MOISTURE_SD**2)
    return np.abs(later.lab - lab) <= 1.6449 * sd, np.asarray(delta_e_2000(later.lab, lab))


def test_the_count_is_that_of_each_forecast_made_alone() -> None:
    """Solved at once or one by one, a slab unlike its recipe among them, is the same; its own message is out."""
    log = Shop(3, Truth(jobs=24, recipes=3)).past()
    odd = cure.track(
        [1, 3, 7, 14, 28, 45], [[30 + day / 4, 20, -20] for day in (1, 3, 7, 14, 28, 45)], READING_SD
    )
    log.append(PastSlab("odd", log[0].recipe, odd))
    learned = learn.learn(log)
    found = held.check(learned, log)
    assert [one.day for one in found] == list(held.DAYS)
    for one, before, cut in zip(found, (-1.0, *held.CUTS), held.CUTS, strict=False):
        tried = [
            slab for slab in log
            if ((slab.readings.ages > before) & (slab.readings.ages <= cut)).any() and slab.readings.ages[-1] > cut
        ]  # fmt: skip
        each = [one_by_one(learned, slab, cut, own=False) for slab in tried]
        assert one.slabs == len(tried)
        assert (one.held[:, :3] == np.concatenate([inside for inside, _ in each])).all()
        assert one.off == pytest.approx(np.concatenate([off for _, off in each]), abs=1e-6)
        twice = np.concatenate([one_by_one(learned, slab, cut, own=True)[1] for slab in tried])
        assert np.median(twice) < np.median(one.off)


def test_nothing_read_twice_is_nothing_checked() -> None:
    slab = PastSlab("one", None, cure.track([7.0], [[55, 5, 13]], READING_SD))
    late = PastSlab("late", None, cure.track([7.0, 90.0], [[55, 5, 13], [60, 5, 13]], READING_SD))
    assert held.check(learn.unlearned(), []) == ()
    assert held.check(learn.learn([slab, late]), [slab, late]) == ()


def test_a_slab_like_no_other_is_forecast_by_its_dose() -> None:
    """Read at day 1, and settled where its much pigment says: by the usual dose it would be off."""
    readings = cure.track([1.0, 45.0], [[50.0, 5.0, 13.0], [57.0, 5.0, 13.0]], READING_SD)
    off = [
        held.check(learn.unlearned(), [PastSlab("j", None, readings, dose)])[0].off[0]
        for dose in (None, 3.0, 8.0)
    ]
    assert off[1] == pytest.approx(off[0])
    assert off[2] < off[0] - 0.5
