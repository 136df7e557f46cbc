"""What lots, cements and plants do is learned from slabs that differ by them, and starts from a named table."""

from __future__ import annotations

import numpy as np
import pytest

from finishlog.color.aging import effects
from finishlog.color.aging.effects import Made

LIGHT = np.array([60.0, 5.0, 13.0])


def slabs(number: int, shift: tuple[float, float, float], recipes: int = 2) -> list[Made]:
    """Slabs of two recipes 15 L* apart, half of them of lot B, which is off by the shift."""
    rng = np.random.default_rng(number)
    made = []
    for i in range(number):
        lot, recipe = "ab"[i // recipes % 2], i % recipes
        lab = LIGHT - np.array([15.0 * recipe, 0, 0]) + rng.normal(0, 1, 3) * (0.8, 0.3, 0.4)
        lab = lab + (np.array(shift) if lot == "b" else 0)
        made.append(Made(f"s{i}", f"r{recipe}", {"lot": lot}, lab, np.full(3, 0.2)))
    return made


def test_every_start_has_its_source_and_nothing_read_leaves_it() -> None:
    found = effects.learn(())
    for factor, start in effects.STARTS.items():
        assert start.basis in ("common practice", "from memory")
        assert start.source
        assert found.sd[factor] == pytest.approx(start.sd)
    change = found.change([("lot", "a", None), ("cement", None, None)])
    lot, cement = (np.square(effects.STARTS[factor].sd) for factor in ("lot", "cement"))
    assert change.shift == pytest.approx([0, 0, 0])
    assert change.variance == pytest.approx(2 * lot + 2 * cement)


def test_a_lot_that_is_off_is_learned_the_surer_the_more_slabs() -> None:
    shift = (-5.0, 1.0, 2.0)
    few, many = (effects.learn(slabs(n, shift)) for n in (8, 60))
    told = [found.change([("lot", "a", "b")]) for found in (few, many)]
    assert told[1].shift == pytest.approx(shift, abs=0.6)
    assert (told[1].variance < told[0].variance).all()
    assert many.sd["lot"][0] > effects.STARTS["lot"].sd[0]
    assert many.scatter[0] < 1.4
    assert many.change([("lot", "b", "a")]).shift == pytest.approx(-told[1].shift)
    assert many.of_slab({"lot": "b"}, {"lot": "a"}) == pytest.approx(told[1].shift)


def test_pairs_are_counted_within_a_recipe() -> None:
    found = effects.learn([*slabs(8, (0, 0, 0)), Made("x", "r9", {"lot": "c"}, LIGHT, np.full(3, 0.2))])
    assert found.seen("r0", "lot", "a", "b") == 4
    assert found.seen("r0", "lot", "a", "a") == 0
    assert found.seen("r0", "lot", "a", "c") == 0
    assert found.seen(None, "lot", "a", "b") == 0


def test_a_lot_of_one_slab_teaches_nothing_and_stays_with_the_scatter() -> None:
    apart = [
        Made(f"s{i}", "r", {"lot": f"l{i}"}, LIGHT + np.array([4.0 * (i % 2), 0, 0]), np.full(3, 0.2))
        for i in range(20)
    ]
    found = effects.learn(apart)
    assert found.names == ()
    assert found.sd["lot"] == pytest.approx(effects.STARTS["lot"].sd)
    assert found.scatter[0] > 1.5


def test_what_is_learned_is_what_the_marginal_model_gives() -> None:
    """At its own variances: effects σ²ZᵀV⁻¹(y - recipe means), V = σ²ZZᵀ + scatter + noise, by generalized least

    squares; and the variances are the fixed point of their own step: a lot counts 4 of the start, a job 6.
    """
    read = slabs(12, (-3.0, 1.0, 0.5))
    found = effects.learn(read)
    axis, start, base = 0, 0.9**2, 2.2**2
    y = np.array([one.lab[axis] for one in read])
    z = np.array([[one.of["lot"] == lot for _, lot in found.names] for one in read], float)
    x = np.array([[one.recipe == recipe for recipe in ("r0", "r1")] for one in read], float)
    own, scatter = found.sd["lot"][axis] ** 2, found.scatter[axis] ** 2
    tight = np.linalg.inv(own * z @ z.T + (scatter + 0.2) * np.eye(12))
    means = np.linalg.solve(x.T @ tight @ x, x.T @ tight @ y)
    assert found.mean[:, axis] == pytest.approx(own * z.T @ tight @ (y - x @ means), abs=0.01)
    project = tight - tight @ x @ np.linalg.solve(x.T @ tight @ x, x.T @ tight)
    cov = own * np.eye(2) - own**2 * z.T @ project @ z
    assert found.cov[axis] == pytest.approx(cov, abs=0.02)
    assert own == pytest.approx(
        ((found.mean[:, axis] ** 2).sum() + np.trace(cov) + 4 * start) / (2 + 4), rel=0.01
    )
    off = scatter * project @ y
    blur = scatter - scatter**2 * np.diag(project)
    assert scatter == pytest.approx((off @ off + blur.sum() + 6 * base) / (12 + 6), rel=0.01)


def test_changes_of_two_things_add_up_and_only_what_both_have_is_taken_back() -> None:
    found = effects.learn(slabs(12, (-3.0, 1.0, 0.5)))
    lot, cement = found.change([("lot", "a", "b")]), found.change([("cement", "x", "y")])
    both = found.change([("lot", "a", "b"), ("cement", "x", "y")])
    assert both.shift == pytest.approx(lot.shift)
    assert both.variance == pytest.approx(lot.variance + cement.variance)
    assert found.change([("lot", "a", "new")]).variance[0] > found.sd["lot"][0] ** 2
    assert found.of_slab({"lot": "new"}, {"lot": "a"}) == pytest.approx([0, 0, 0])
    assert found.of_slab({"lot": "b", "cement": "x"}, {"cement": "y"}) == pytest.approx([0, 0, 0])
    assert found.slabs == 12
