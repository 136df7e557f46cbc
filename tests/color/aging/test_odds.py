"""The odds of a match: honest on simulated pairs, and moved by what should move them.

Limits: color-methods.md, "Odds of a match", Accept.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from finishlog.color.aging import cure, learn, odds, weathering
from finishlog.color.notation.space import delta_e_2000
from tests.color.cure_truth import READING_SD, Floats, Shop, Slab
from tests.color.cure_truth_two import ShopTwo

LIMIT = 3.0
LIKE_NEW = weathering.Pace(np.zeros(3), np.full(3, 1e-3))
LOOK = weathering.learn_look([])
NONE = np.empty((0, 3))


def side(key: str, readings: cure.Track) -> odds.Slab:
    return odds.Slab(key, readings, np.empty(0), NONE, NONE)


def pairs(seeds: range, number: int, until: float, family: type[Shop] = Shop) -> Floats:
    """(n, 3): said, whether it matched, log. New slabs read up to `until` against old ones of their recipe."""
    rows = []
    for seed in seeds:
        shop = family(seed)
        learned = learn.learn(shop.past())
        for i, old in enumerate(shop.log[:number]):
            new = shop.another(old.recipe)
            both = side("new", new.read(until)), side(f"j{i}", old.read())
            [found] = odds.odds(learned, old.recipe, *both, LIKE_NEW, LOOK, [(45.0, 45.0)], LIMIT)
            rows.append((found.probability, float(_matched(new, old)), float(seed)))
    return np.array(rows)


def _matched(new: Slab, old: Slab) -> bool:
    return float(delta_e_2000(new.true(45.0), old.true(45.0))) < LIMIT


def brier(rows: Floats) -> tuple[float, float]:
    """Of the odds, and of the base rate said each time."""
    base = rows[:, 1].mean()
    return float(((rows[:, 0] - rows[:, 1]) ** 2).mean()), float(base * (1 - base))


def test_odds_at_day_14_beat_the_base_rate() -> None:
    rows = pairs(range(400, 403), 20, 19.0)
    ours, base = brier(rows)
    print(f"{len(rows)} pairs, day 14: Brier {ours:.3f}, base rate {base:.3f}")
    assert ours <= 0.12
    assert ours < base


@pytest.mark.long
@pytest.mark.parametrize("family", [Shop, ShopTwo])
@pytest.mark.parametrize("first", [1000, 2000, 3000])
@pytest.mark.parametrize("until", [4.5, 19.0, 35.0])
def test_odds_are_reliable_at_full_size(first: int, until: float, family: type[Shop]) -> None:
    rows = pairs(range(first, first + 14), 40, until, family)
    ours, base = brier(rows)
    print(
        f"\n{len(rows)} pairs, up to day {until}, seeds from {first}: Brier {ours:.3f}, base rate {base:.3f}"
    )
    if until == 19.0:
        assert ours <= 0.12
        assert ours < base
    for low, high in ((0.0, 0.4), (0.4, 0.6), (0.6, 0.75), (0.75, 0.85), (0.85, 0.95), (0.95, 1.01)):
        kept = rows[(rows[:, 0] >= low) & (rows[:, 0] < high)]
        if len(kept) >= 50:
            gap, error = _gap(kept)
            print(
                f"  said {kept[:, 0].mean():.2f}, was {kept[:, 1].mean():.2f}, {len(kept)} pairs, se {error:.3f}"
            )
            assert gap <= 0.12 + error


def _gap(rows: Floats) -> tuple[float, float]:
    """How far said and was lie apart, and its standard error by the jackknife over logs."""
    logs = np.unique(rows[:, 2])

    def gap(of: Floats) -> float:
        return float(of[:, 0].mean() - of[:, 1].mean())

    left = np.array([gap(rows[rows[:, 2] != log]) for log in logs if (rows[:, 2] != log).any()])
    n = len(left)
    return abs(gap(rows)), float(np.sqrt((n - 1) / n * ((left - left.mean()) ** 2).sum()))


@pytest.fixture(scope="module")
def shop() -> tuple[Shop, learn.Learned]:
    made = Shop(70)
    return made, learn.learn(made.past())


def test_a_slab_read_far_off_will_not_match_and_one_read_alike_may(shop: tuple[Shop, learn.Learned]) -> None:
    made, learned = shop
    old = made.log[0]
    far = cure.track(old.ages, old.lab + np.array([14.0, 0, 0]), READING_SD)
    said = [
        odds.odds(
            learned, old.recipe, side("new", new), side("j0", old.read()), LIKE_NEW, LOOK, [(45, 45)], LIMIT
        )[0]
        for new in (old.read(), far)
    ]
    assert said[0].probability > 0.8
    assert said[1].probability < 0.05
    assert said[1].verdict == "don't promise a match"


def test_the_scatter_between_jobs_is_the_largest_term_before_the_pour(
    shop: tuple[Shop, learn.Learned],
) -> None:
    made, learned = shop
    old = made.log[0]
    [found] = odds.odds(learned, old.recipe, side("new", made.log[0].read(0.0)), side("j0", old.read()),
                        LIKE_NEW, LOOK, [(45.0, 45.0)], LIMIT)  # fmt: skip
    assert found.dominant == "job_scatter"
    assert all(0 <= share <= 1 for _, share in found.shares)
    assert dict(found.shares)["weathering"] < 0.01


def test_weathering_lowers_the_odds_and_a_reading_of_today_wins_them_back(
    shop: tuple[Shop, learn.Learned],
) -> None:
    made, learned = shop
    old = made.log[0]
    pace = weathering.learn_pace([])
    age = 12 * 365.25
    empty = side("new", old.read(0.0))

    def said(one: odds.Slab) -> odds.Matched:
        return odds.odds(learned, old.recipe, empty, one, pace, LOOK, [(45.0, age)], LIMIT)[0]

    unread = said(side("j0", old.read()))
    settled = cure.fit(old.read(), learned.prior(old.recipe, ("j0",))).at([60.0])[0]
    reread = odds.Slab("j0", old.read(), np.array([age - 45.0]), settled, np.array([[1.25, 0.25, 0.5]]))
    assert unread.dominant == "weathering"
    assert said(reread).probability > unread.probability + 0.1
    assert dict(said(reread).shares)["weathering"] < dict(unread.shares)["weathering"]


def test_a_wider_limit_never_lowers_the_odds_and_both_sealed_is_near_both_bare(
    shop: tuple[Shop, learn.Learned],
) -> None:
    made, learned = shop
    old = made.log[1]
    both = side("new", old.read(4.5)), side("j1", old.read())
    said = [
        odds.odds(learned, old.recipe, *both, LIKE_NEW, LOOK, [(45, 45)], limit)[0]
        for limit in (1.0, 2.0, 3.0, 5.0)
    ]
    assert [one.probability for one in said] == sorted(one.probability for one in said)
    assert abs(said[2].probability - said[2].probability_sealed) < 0.1


@pytest.mark.parametrize(
    ("probability", "radius", "words"),
    [
        (0.85, 2.0, "should match"),
        (0.8499, 2.0, "close: pour a sample first"),
        (0.60, 2.0, "close: pour a sample first"),
        (0.5999, 2.0, "don't promise a match"),
        (0.99, 4.01, "cannot tell yet"),
    ],
)
def test_the_words(probability: float, radius: float, words: str) -> None:
    assert odds.verdict(probability, radius) == words


# --- weathering and the sealed look -------------------------------------------------------------------


def test_the_sealed_look_is_learned_from_pairs() -> None:
    """Truth Y × .75, chroma × 1.3 (the start is .60 and 1.0): the more pairs, the nearer and narrower."""
    rng = np.random.default_rng(11)
    truth = weathering.Look(np.log([0.75, 1.3]), np.zeros(2))

    def pair() -> weathering.Pair:
        bare = np.array([58.0, 6.0, 14.0]) + rng.normal(0, 4, 3)
        sealed = weathering.sealed_colors(truth, bare) + rng.normal(0, 1, 3) * READING_SD
        return weathering.Pair(bare, np.full(3, 0.2), sealed, READING_SD**2)

    looks = [weathering.learn_look([pair() for _ in range(n)]) for n in (0, 1, 12)]
    off = [float(np.abs(look.log_factors - truth.log_factors).max()) for look in looks]
    assert off[0] > off[1] > off[2]
    assert off[2] < 0.05
    assert [look.pairs for look in looks] == [0, 1, 12]
    assert (looks[2].sd < looks[0].sd).all()


def test_sealed_is_darker_and_comes_back() -> None:
    """Signs: check-values.md §12, wetting and sealing darken. Computed films leave the chroma about as it was."""
    bare = np.array([[58.0, 6.0, 14.0], [40.0, 2.0, 5.0]])
    sealed = weathering.sealed_colors(LOOK, bare)
    assert (sealed[:, 0] < bare[:, 0]).all()
    assert np.hypot(sealed[:, 1], sealed[:, 2]) == pytest.approx(np.hypot(bare[:, 1], bare[:, 2]))
    assert weathering.bare_colors(LOOK, sealed) == pytest.approx(bare)
    assert ((sealed[:, 0] + 16) / (bare[:, 0] + 16)) ** 3 == pytest.approx([0.60, 0.60])


def test_weathering_starts_at_day_45_and_slows() -> None:
    years = weathering.effective_years([10, 45, 45 + 365.25, 45 + 20 * 365.25])
    assert years[:2] == pytest.approx([0, 0])
    assert 0.85 < years[2] < 1
    assert years[3] < weathering.SLOWS_IN_YEARS


def test_the_pace_of_weathering_is_learned_from_late_readings() -> None:
    rng = np.random.default_rng(12)
    years = np.array([1.0, 2.0])

    def aged() -> weathering.Aged:
        pace = np.array([-1.5, 0.0, 0.4]) + rng.normal(0, 0.3, 3)
        lab = np.array([58.0, 5, 13]) + years[:, None] * pace + rng.normal(0, 1, (2, 3)) * READING_SD
        return weathering.Aged(
            years, lab, np.tile(READING_SD**2, (2, 1)), np.array([58.0, 5, 13]), np.full(3, 0.3)
        )

    learned = weathering.learn_pace([aged() for _ in range(60)])
    assert learned.mean == pytest.approx([-1.5, 0.0, 0.4], abs=0.4)
    assert weathering.learn_pace([]).mean == pytest.approx([0.0, 0.0, 0.0])


def test_another_lot_makes_no_further_recipe() -> None:
    """The middle of the recipes is as uncertain as there are recipes, whatever the new slab is made of."""
    learned = learn.learn(Shop(3).past())
    same = odds.Batch(np.zeros(3), np.zeros(3), np.full(3, 99.0), {})
    for recipe in ("r1", "never poured", None):
        leveled = odds._leveled(learned, recipe, same)
        for seen in (recipe, "r2", None):
            for before, after in zip(learned.recipe(seen), leveled.recipe(seen), strict=True):
                assert after == pytest.approx(before)


COMMON = np.array([2.0, 1.2, 1.6])
"""Sd of an error that all photos of one camera share, beside the readings' own."""


def by_one_camera(slab: Slab, off: Floats, until: float = 60.0) -> cure.Track:
    read = slab.read(until)
    return cure.track(read.ages, read.lab + off, np.hypot(read.sd, COMMON))


@pytest.mark.parametrize("shops", [4, pytest.param(8, marks=pytest.mark.long)])
def test_what_one_camera_is_off_by_everywhere_is_no_difference(shops: int) -> None:
    """Brier of pairs in shops that read all their slabs by one camera; most of the variance is its common error."""
    scores = []
    for seed in range(shops):
        made, off = Shop(200 + seed), np.random.default_rng(seed).normal(0, COMMON)
        learned = learn.learn(
            [learn.PastSlab(f"j{i}", one.recipe, by_one_camera(one, off)) for i, one in enumerate(made.log)]
        )
        for i, old in enumerate(made.log[:25]):
            new = made.another(old.recipe)
            both = side("new", by_one_camera(new, off, 14.0)), side(f"j{i}", by_one_camera(old, off))
            said = [
                odds.odds(learned, old.recipe, *both, LIKE_NEW, LOOK, [(45.0, 45.0)], LIMIT, common=common)[0]
                for common in (None, COMMON)
            ]
            scores.append([(one.probability - _matched(new, old)) ** 2 for one in said])
    apart, together = np.mean(scores, axis=0)
    print(f"Brier {together:.3f}, as if independent {apart:.3f}")
    assert together < apart


def test_a_common_error_moves_both_slabs_and_not_their_odds(shop: tuple[Shop, learn.Learned]) -> None:
    made, learned = shop
    old = made.log[0]
    read = old.read()
    said = []
    for off in ((0.0, 0.0, 0.0), (3.0, 1.0, -1.5)):
        track = cure.track(read.ages, read.lab + np.array(off), np.hypot(read.sd, COMMON))
        both = side("new", track), side("j0", track)
        said.append(
            odds.odds(learned, old.recipe, *both, LIKE_NEW, LOOK, [(45, 45)], LIMIT, common=COMMON)[0]
        )
    assert said[0].probability == pytest.approx(said[1].probability, abs=0.05)


def test_a_log_that_scatters_less_than_stated_makes_one_cameras_photos_no_surer(
    shop: tuple[Shop, learn.Learned],
) -> None:
    """What does not scatter is what they share: it would be taken off twice."""
    made, learned = shop
    old = made.log[0]
    both = side("new", made.another(old.recipe).read(14.0)), side("j0", old.read())
    calm, plain = (
        odds.odds(replace(learned, noise=noise), old.recipe, *both, LIKE_NEW, LOOK, [(45, 45)], LIMIT,
                  common=COMMON)[0]
        for noise in (0.5, 1.0)
    )  # fmt: skip
    assert calm.radius90_de00 == pytest.approx(plain.radius90_de00)


def test_odds_of_a_recipe_that_taught_nothing_go_by_its_dose() -> None:
    """Six percent of pigment lightens a sixth less: at day 1 of the new slab more of the final color is there."""
    learned = learn.unlearned()
    old = side("old", cure.track([1.0], [[50.0, 5.0, 13.0]], READING_SD))
    said = [
        odds.odds(learned, None, side("", cure.track([], NONE, NONE)), replace(old, dose=dose), LIKE_NEW, LOOK,
                  [(45.0, 45.0)], LIMIT)[0].bare_pair[0][0]
        for dose in (None, 3.0, 8.0)
    ]  # fmt: skip
    assert said[1] == pytest.approx(said[0])
    assert said[2] < said[0] - 0.5
