"""The rinse helper's estimate: acceptance figures on truth of another family, and what it must never do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest

from finishlog.color.notation.space import delta_e_2000
from finishlog.color.release import drying, rinse
from finishlog.color.release.rinse import Habit, Known, Patch
from finishlog.desk.placed import left as placed_left
from tests.color import film_truth, rinse_truth

SEEDS = (11, 12, 13)
FAST, FULL = 200, 3000
NO_COVARIANCE = ((1e-9, 0.0, 0.0), (0.0, 1e-9, 0.0), (0.0, 0.0, 1e-9))
SIZES = (FAST, pytest.param(FULL, marks=pytest.mark.long))
Draw = Callable[[np.random.Generator, float, float, bool], rinse_truth.Scene]
of_two_kinds = pytest.mark.parametrize(
    "draw", [pytest.param(rinse_truth.draw, id="spots"), pytest.param(film_truth.draw, id="film")]
)


@dataclass(frozen=True)
class Trial:
    """What was found on many scenes: errors of the mean, whether the range held it, verdicts."""

    errors: rinse_truth.Floats
    held: rinse_truth.Floats
    verdicts: list[str]

    def rmse(self, verdict: str | None = None) -> float:
        kept = [verdict in (None, each) for each in self.verdicts]
        return float(np.sqrt(np.mean(self.errors[kept] ** 2)))

    def part(self, verdict: str) -> float:
        return self.verdicts.count(verdict) / len(self.verdicts)


def patch(lab: rinse_truth.Floats, sd: float) -> Patch:
    return Patch((float(lab[0]), float(lab[1]), float(lab[2])), (sd, sd, sd))


def tried(
    draw: Draw, contrast: float, sd: float, scenes: int, *, dried: bool, seeds: tuple[int, ...] = SEEDS
) -> Trial:
    errors, held, verdicts = [], [], []
    for seed in seeds:
        rng = np.random.default_rng(seed)
        for _ in range(scenes):
            scene = draw(rng, contrast, sd, dried)
            field, rinsed, unrinsed = (patch(p, sd) for p in (scene.field, scene.rinsed, scene.unrinsed))
            left = rinse.estimate(field, rinsed, unrinsed, Habit())
            errors.append(left.mean - scene.left)
            held.append(left.range90[0] <= scene.left <= left.range90[1])
            verdicts.append(left.verdict)
    return Trial(np.array(errors), np.array(held), verdicts)


@of_two_kinds
@pytest.mark.parametrize("scenes", SIZES)
def test_dried_patches_tell(scenes: int, draw: Draw) -> None:
    # Acceptance: base and release color ΔE 3 apart wet, dried, one patch's sd .5.
    trial = tried(draw, 3.0, 0.5, scenes, dried=True)
    print(
        f"\ndried, ΔE 3: RMSE {trial.rmse():.3f} (at most .075), cover {trial.held.mean():.3f} (.85 to .96)"
    )
    assert trial.rmse() <= 0.075
    assert 0.85 <= trial.held.mean() <= 0.96


@of_two_kinds
@pytest.mark.parametrize("scenes", SIZES)
def test_wet_patches_cannot_tell(scenes: int, draw: Draw) -> None:
    # Acceptance: wet at ΔE 2.
    trial = tried(draw, 2.0, 0.7, scenes, dried=False)
    print(f"\nwet, ΔE 2: cannot tell {trial.part('cannot tell'):.3f} (at least .90)")
    assert trial.part("cannot tell") >= 0.90


@of_two_kinds
@pytest.mark.parametrize("scenes", SIZES)
def test_the_verdict_says_how_much_to_trust_it(scenes: int, draw: Draw) -> None:
    # Acceptance: clear RMSE at most .055, rough at most .09; contrasts from hopeless to plain.
    parts = [
        tried(draw, c, 0.5, max(scenes // 3, 40), dried=True, seeds=(c + 100, c + 200)) for c in (3, 8, 14)
    ]
    trial = Trial(
        np.concatenate([p.errors for p in parts]),
        np.concatenate([p.held for p in parts]),
        [verdict for p in parts for verdict in p.verdicts],
    )
    print(f"\nclear {trial.part('clear'):.2f}: RMSE {trial.rmse('clear'):.3f} (at most .055), ", end="")
    print(f"rough {trial.part('rough'):.2f}: RMSE {trial.rmse('rough'):.3f} (at most .09)")
    assert trial.part("clear") > 0.1
    assert trial.part("rough") > 0.1
    assert trial.rmse("clear") <= 0.055
    assert trial.rmse("rough") <= 0.09


@of_two_kinds
@pytest.mark.parametrize("scenes", SIZES)
def test_a_photo_without_patches_and_almost_no_release_cannot_tell(scenes: int, draw: Draw) -> None:
    # Acceptance: at least .95; the library's colors are as sure as a forecast and another job's reading.
    rng, told = np.random.default_rng(5), 0
    for _ in range(scenes):
        scene = draw(rng, rng.uniform(1, 3), 0.5, True)
        base = Patch(
            tuple(scene.settled_base - [5, 0, 0] + rng.normal(size=3)), (2.5, 0.9, 1.2), library=True
        )
        release = Patch(tuple(scene.release + rng.normal(size=3)), (1.5, 0.7, 1.0), library=True)
        field = patch(0.97 * scene.rinsed + 0.03 * scene.unrinsed, 0.5)
        told += rinse.estimate(field, base, release, Habit()).verdict == "cannot tell"
        told += rinse.from_habit(Habit(), seen=True).verdict == "cannot tell"
    print(f"\nno patches, almost no release: cannot tell {told / scenes / 2:.3f} (at least .95)")
    assert told / scenes / 2 >= 0.95


@pytest.mark.parametrize("contrast", [6.0, 12.0, 20.0, 28.0])
def test_without_patches_almost_no_release_cannot_tell_at_any_contrast(contrast: float) -> None:
    # The same acceptance where base and release color are plainly apart: the habit must not answer.
    rng = np.random.default_rng(6)
    for _ in range(60):
        base = rng.uniform([46, 2, 8], [64, 8, 18])
        release = base - contrast * np.array([0.95, 0.1, 0.3])
        share = rng.uniform(0, 0.04)
        field = np.array(rinse.mixed(share, base, release)) + rng.normal(size=3) * (1.1, 0.7, 0.85)
        known = [
            Patch(tuple(color + rng.normal(size=3) * sd), sd, library=True)  # type: ignore[arg-type]
            for color, sd in ((base, (1.5, 0.8, 1.0)), (release, (1.0, 0.5, 0.7)))
        ]
        assert rinse.estimate(patch(field, 0.5), known[0], known[1], Habit()).verdict == "cannot tell"


BASE, RELEASE = (54.0, 4.0, 14.0), (36.0, 3.0, 7.0)


def seen(share: float, move: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Patch:
    """A field with that much release left, under a patch covered to 97 percent; `move` spoils it, in L*a*b*."""
    lab = rinse.mixed(share / rinse.UNRINSED, BASE, RELEASE)
    return Patch(tuple(x + m for x, m in zip(lab, move, strict=True)), (0.5, 0.5, 0.5))  # type: ignore[arg-type]


RINSED, UNRINSED = Patch(BASE, (0.5, 0.5, 0.5)), Patch(RELEASE, (0.5, 0.5, 0.5))


@pytest.mark.parametrize("share", [0.05, 0.15, 0.25, 0.4, 0.6])
def test_a_field_without_noise_gives_its_share_back(share: float) -> None:
    left = rinse.estimate(seen(share), RINSED, UNRINSED, Habit())
    assert left.mean == pytest.approx(share, abs=0.025)  # the habit pulls a little
    assert left.verdict == "clear"
    assert left.range90[0] < share < left.range90[1]
    assert left.sd >= rinse.MODEL_SD
    assert sum(left.chances) == pytest.approx(1)


@pytest.mark.parametrize(
    ("move", "why"),
    [
        ((0.0, 4.0, 4.0), "off the line"),
        ((0.0, -3.0, 3.0), "off the line"),
        ((12.0, 0.65, 4.6), "outside"),
        ((-25.0, -1.4, -9.7), "outside"),
    ],
)
def test_a_field_that_is_no_mix_of_its_patches_cannot_tell(
    move: tuple[float, float, float], why: str
) -> None:
    left = rinse.estimate(seen(0.25, move), RINSED, UNRINSED, Habit())
    assert (left.verdict, left.why) == ("cannot tell", why)


def test_a_missing_patch_is_said_and_costs_certainty() -> None:
    library = Patch(RELEASE, (0.5, 0.5, 0.5), library=True)
    whole = rinse.estimate(seen(0.25), RINSED, UNRINSED, Habit())
    without = rinse.estimate(seen(0.25), RINSED, library, Habit())
    assert without.sd > whole.sd
    assert without.verdict == "clear"  # one color from elsewhere serves where the frame itself tells
    vague = Patch(BASE, (2.5, 1.0, 1.2), library=True)
    lost = rinse.estimate(seen(0.25), vague, library, Habit())
    assert (lost.verdict, lost.why) == ("cannot tell", "no patches")


@pytest.mark.parametrize("end", [0.0, 1.0])
def test_a_field_beyond_an_end_by_chance_is_no_surer_than_one_between(end: float) -> None:
    """Base and release color 8 apart, one sd of f is about .08; the posterior is cut off at the end, and narrow."""
    close = Patch((46.0, 3.6, 11.5), (0.5, 0.5, 0.5))
    base, far = Patch(BASE, (0.5, 0.5, 0.5)), 0.5 + (end - 0.5) * 1.16
    field = tuple(b + far * (a - b) / rinse.UNRINSED for a, b in zip(close.lab, BASE, strict=True))
    left = rinse.estimate(Patch(field, (0.5, 0.5, 0.5)), base, close, Habit(end, 0.2))  # type: ignore[arg-type]
    assert left.sd < rinse.CLEAR
    assert left.verdict == "rough"


def test_a_narrow_habit_never_answers_for_a_frame_that_is_silent() -> None:
    habit = Habit(0.25, 0.05, 30)
    close = Patch((53.0, 4.0, 13.6), (0.7, 0.7, 0.7))
    assert rinse.estimate(close, Patch(BASE, (0.7, 0.7, 0.7)), close, habit).verdict == "cannot tell"


def test_habit_is_learned_and_never_certain() -> None:
    assert rinse.learn([]) == Habit(0.25, 0.20, 0)
    assert rinse.learn([0.1, 0.1]) == Habit(0.25, 0.20, 2)
    three, many = rinse.learn([0.2] * 3), rinse.learn([0.18, 0.2, 0.22] * 10)
    assert three.sd > 0.1
    assert many.mean == pytest.approx(0.203, abs=0.002)
    assert 0.02 < many.sd < 0.08


def test_a_vague_value_teaches_less_and_its_vagueness_is_no_scatter_of_the_crew() -> None:
    """Of the model itself: slabs N(.30, .05), each value with its own known sd, a third sure, the rest by eye."""
    rng = np.random.default_rng(3)
    sd = np.tile([0.03, 0.15, 0.15], 12)
    weighed, plain = [], []
    for _ in range(60):
        left = rng.normal(0.30, 0.05, 36) + rng.normal(size=36) * sd
        weighed.append(rinse.learn(left.tolist(), sd=sd.tolist()))
        plain.append(rinse.learn(left.tolist()))

    def miss(of: list[Habit]) -> float:
        return float(np.sqrt(np.mean([(habit.mean - 0.30) ** 2 for habit in of])))

    assert miss(weighed) < 0.8 * miss(plain)
    assert np.mean([habit.sd for habit in weighed]) < 0.8 * np.mean([habit.sd for habit in plain])
    assert np.mean([habit.sd for habit in weighed]) > 0.05


def test_without_a_photo_the_answer_is_the_habit_and_never_clear() -> None:
    usual = rinse.from_habit(Habit())
    assert (usual.verdict, usual.why) == ("cannot tell", "no photo")
    assert usual.range90[1] - usual.range90[0] > 0.4
    crew = rinse.from_habit(Habit(0.3, 0.03, 40))
    assert (crew.verdict, crew.why) == ("rough", "habit only")


def test_what_will_be_seen_moves_with_the_base_and_with_what_is_left() -> None:
    now, later = Known(BASE, NO_COVARIANCE), Known((62.0, 4.0, 13.5), NO_COVARIANCE)
    release = Known(RELEASE, NO_COVARIANCE)
    little, much = rinse.settle_at(0.1, later, release), rinse.settle_at(0.5, later, release)
    assert little.contrast_de00 > rinse.settle_at(0.1, now, release).contrast_de00
    assert little.field.lab[0] > much.field.lab[0]
    assert little.field.lab == pytest.approx(rinse.mixed(0.1, later.lab, release.lab), abs=0.01)
    wide = Known((62.0, 4.0, 13.5), ((9.0, 0.0, 0.0), (0.0, 0.5, 0.0), (0.0, 0.0, 1.0)))
    left = rinse.estimate(seen(0.25), RINSED, UNRINSED, Habit())
    known, vague = rinse.settle(left, later, release), rinse.settle(left, wide, release)
    assert vague.field.high90[0] - vague.field.low90[0] > known.field.high90[0] - known.field.low90[0] > 0
    assert vague.contrast90[0] < known.contrast_de00 < vague.contrast90[1]
    assert rinse.settle(left, wide, release) == vague


def test_one_absurd_slab_changes_neither_habit_nor_drying() -> None:
    sane = [0.18, 0.22, 0.2, 0.25, 0.19]
    clean, wrong = rinse.learn(sane, sd=0.03), rinse.learn([*sane, 1.0], sd=0.03)
    assert wrong.mean == pytest.approx(clean.mean, abs=0.02)
    assert wrong.sd == pytest.approx(clean.sd, abs=0.02)
    usual = drying.learn([])
    swapped = drying.learn([drying.WetDry(40.0, 98.0, 60.0, 1.0, 1.0, 1.0)])
    assert swapped.share == pytest.approx(usual.share, abs=0.05)
    assert swapped.sd <= usual.sd


def test_a_slabs_record_and_the_helper_know_one_least_error() -> None:
    """The record of a slab is read without numpy, so it says the number again."""
    assert rinse.MODEL_SD * 100 == placed_left.LEAST_SD_PERCENT


# --- reckoned another way -----------------------------------------------------------------------------


def test_the_habit_of_sure_slabs_is_their_mean_with_the_usual_one_as_two_more() -> None:
    """.2, .3, .4: mean (2·.25 + .9)/5; scatter (2·.2² + Σ off²)/5, and a third more for the mean of three."""
    found = rinse.learn([0.2, 0.3, 0.4])
    assert found.mean == pytest.approx(0.28)
    assert found.sd == pytest.approx(np.sqrt((0.08 + 0.08**2 + 0.02**2 + 0.12**2) / 5 * 4 / 3))
    assert found.slabs == 3
    assert rinse.learn([0.0, 0.5, 1.0]).sd == rinse.USUAL_SD  # never wider than the usual


@pytest.mark.parametrize(("sd", "slabs", "seen", "verdict"), [
    (0.097, 3, False, "rough"), (0.099, 3, False, "cannot tell"), (0.05, 2, False, "cannot tell"),
    (0.05, 9, True, "cannot tell"),
])  # fmt: skip
def test_a_narrow_habit_of_three_slabs_is_rough(sd: float, slabs: int, seen: bool, verdict: str) -> None:
    """With the model's own .02: √(.097² + .02²) = .0990."""
    left = rinse.from_habit(Habit(0.3, sd, slabs), seen)
    assert (left.verdict, left.mean, left.sd) == (verdict, 0.3, pytest.approx(np.hypot(sd, 0.02)))
    assert left.why == {"rough": "habit only"}.get(verdict, "no patches" if seen else "no photo")
    assert left.range90 == pytest.approx((0.3 - 1.645 * left.sd, 0.3 + 1.645 * left.sd), abs=0.006)


def posterior(field: Patch, base: Patch, release: Patch, habit: Habit) -> tuple[float, float]:
    """Mean and sd of f from the three colors, share by share, as the docstring of `estimate` has it."""
    shares, weights = np.arange(0, 1.00001, 0.002), []
    for f in shares:
        off = np.array(field.lab) - rinse.mixed(f / rinse.UNRINSED, base.lab, release.lab)
        sd = [np.array(patch.sd) for patch in (field, base, release)]
        alien = (1 - f) * base.library + f * release.library
        variance = (
            sd[0] ** 2
            + (1 - f) ** 2 * sd[1] ** 2
            + f**2 * sd[2] ** 2
            + (alien * np.array((1.0, 0.5, 0.7))) ** 2
        )
        prior = np.exp(-0.5 * ((f - habit.mean) / habit.sd) ** 2)
        weights.append(prior * np.exp(-0.5 * (off**2 / variance).sum()) / np.sqrt(variance.prod()))
    chances = np.array(weights) / np.sum(weights)
    mean = float(chances @ shares)
    return mean, float(np.sqrt(chances @ (shares - mean) ** 2))


@pytest.mark.parametrize("library", [(False, False), (True, False), (False, True)])
def test_the_posterior_share_by_share(library: tuple[bool, bool]) -> None:
    base = Patch(BASE, (0.8, 0.5, 1.1), library=library[0])
    release = Patch(RELEASE, (0.4, 1.5, 0.6), library=library[1])
    field = Patch(seen(0.4, (0.5, 0.3, -0.3)).lab, (0.9, 0.6, 0.7))
    habit = Habit(0.3, 0.15, 9)
    left = rinse.estimate(field, base, release, habit)
    mean, sd = posterior(field, base, release, habit)
    assert left.mean == pytest.approx(mean, abs=0.001)
    assert left.sd == pytest.approx(np.hypot(sd, rinse.MODEL_SD), abs=0.001)
    assert left.range90 == pytest.approx((mean - 1.645 * left.sd, mean + 1.645 * left.sd), abs=0.008)


def test_how_likely_more_is_left_than_wanted() -> None:
    left = rinse.from_habit(Habit(0.5, 0.1, 9))
    assert left.chance_above(0.5) == pytest.approx(0.5, abs=0.02)
    assert left.chance_above(0.5 + 1.2816 * left.sd) == pytest.approx(0.1, abs=0.012)
    assert left.chance_above(1.0) == 0


def test_what_will_be_seen_has_the_spread_of_the_base() -> None:
    """L* to 3: nine in ten within 1.645 sd. Of two surely known colors the contrast is their ΔE00."""
    base = Known((62.0, 4.0, 13.0), ((9.0, 0.0, 0.0), (0.0, 0.25, 0.0), (0.0, 0.0, 1.0)))
    found = rinse.settle_at(0.0, base, Known(RELEASE, NO_COVARIANCE)).field
    assert found.lab == pytest.approx(base.lab, abs=0.2)
    assert found.sd == pytest.approx((3.0, 0.5, 1.0), rel=0.05)
    assert found.low90[0] == pytest.approx(62 - 1.645 * 3, abs=0.3)
    assert found.high90[0] == pytest.approx(62 + 1.645 * 3, abs=0.3)
    sure = rinse.settle_at(0.3, Known(BASE, NO_COVARIANCE), Known(RELEASE, NO_COVARIANCE))
    assert sure.contrast_de00 == pytest.approx(float(delta_e_2000(BASE, RELEASE)))
    assert sure.contrast90 == pytest.approx((sure.contrast_de00, sure.contrast_de00), abs=1e-3)
    assert rinse.mixed(0.0, BASE, RELEASE) == pytest.approx(BASE)
    assert rinse.mixed(1.0, BASE, RELEASE) == pytest.approx(RELEASE)
