"""What is promised of a slab not poured yet is kept: on simulated logs where lot and cement move the color."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pytest

from finishlog.color.aging import cure, effects, learn, odds, promise, weathering
from finishlog.color.aging.effects import Effects
from finishlog.color.notation.space import delta_e_2000
from tests.color.batch_truth import Batched, BatchShop
from tests.color.cure_truth import Slab

LIMIT = 3.0
LIKE_NEW = weathering.Pace(np.zeros(3), np.full(3, 1e-3))
LOOK = weathering.learn_look([])
NONE = np.empty((0, 3))
EMPTY = cure.track(np.empty(0), NONE, NONE)


def side(key: str, readings: cure.Track) -> odds.Slab:
    return odds.Slab(key, readings, np.empty(0), NONE, NONE)


@dataclass(frozen=True)
class Told:
    """Of each new slab: how it stood to the old one, what was promised, whether it matched, which log."""

    kind: str
    said: float
    matched: bool
    log: int


def promises(seeds: range, olds: int, jobs: int = 40) -> list[Told]:
    return [one for seed in seeds for one in _of_shop(seed, olds, jobs)]


def _of_shop(seed: int, olds: int, jobs: int) -> list[Told]:
    shop = BatchShop(seed, jobs)
    slabs = [learn.PastSlab(f"j{i}", one.slab.recipe, one.slab.read()) for i, one in enumerate(shop.batches)]
    of: Mapping[str, Mapping[effects.Factor, str]] = {f"j{i}": one.of for i, one in enumerate(shop.batches)}  # type: ignore[misc]
    learned = learn.learn(slabs)
    found = effects.learn(promise.made(learned, slabs, of))
    rows = []
    for i, old in enumerate(shop.batches[:olds]):
        for kind in ("same", "changed", "sample"):
            rows.append(_one(shop, learned, found, of, (f"j{i}", old), kind, seed))
        if (seen := _seen(shop, found, old)) is not None:
            rows.append(_one(shop, learned, found, of, (f"j{i}", old), "seen", seed, seen))
    return rows


def _seen(shop: BatchShop, found: Effects, old: Batched) -> str | None:
    """Another lot that this recipe was read with."""
    lots = [f"lot {i}" for i in range(5) if f"lot {i}" != old.of["lot"]]
    return next((lot for lot in lots if found.seen(old.slab.recipe, "lot", old.of["lot"], lot)), None)


def _one(shop, learned, found, of, old, kind, seed, lot=None) -> Told:  # type: ignore[no-untyped-def]
    key, before = old
    made = dict(before.of)
    steps: list[promise.Step] = []
    if kind == "seen":
        made["lot"] = lot
        steps = [("lot", before.of["lot"], lot)]
    elif kind != "same":
        made = {"lot": f"fresh {len(shop.moves)}", "cement": f"other {len(shop.moves)}"}
        steps = [("lot", before.of["lot"], None), ("cement", before.of["cement"], None)]
    new = shop.batched(shop.another(before.slab.recipe), made)
    sample = None
    if kind == "sample":
        poured = shop.batched(shop.another(before.slab.recipe), made)
        sample = promise.settled(
            learned, poured.slab.recipe, "sample", shop.read(poured.slab, (3, 7, 14, 28))
        )
    both = side("new", EMPTY), side(key, before.slab.read())

    def given(seen=None, expected=None) -> odds.Matched:  # type: ignore[no-untyped-def]
        batch = promise.batch(found, of, key, steps, seen, expected)
        recipe, ages = before.slab.recipe, [(45.0, 45.0)]
        return odds.odds(learned, recipe, *both, LIKE_NEW, LOOK, ages, LIMIT, batch=batch)[0]

    said = given()
    if sample is not None:
        said = given(sample, said.bare_pair[1])
    p = min(said.probability, promise.CAP) if kind == "changed" else said.probability
    return Told(kind, p, _matched(new.slab, before.slab), seed)


def _matched(new: Slab, old: Slab) -> bool:
    return float(delta_e_2000(new.true(45.0), old.true(45.0))) < LIMIT


def check(rows: list[Told], least: int) -> None:
    for kind in ("same", "seen", "sample", "changed"):
        of = [row for row in rows if row.kind == kind]
        print(
            f"{kind}: {len(of)}, said {_mean(r.said for r in of):.2f}, was {_mean(r.matched for r in of):.2f}"
        )
        for low, high in ((0.8, 1.01), (0.5, 0.8), (0.0, 0.5)):
            some = [row for row in of if low <= row.said < high]
            if some:
                said, was = _mean(r.said for r in some), _mean(r.matched for r in some)
                print(f"   said {low} to {high}: {len(some)}, said {said:.2f}, was {was:.2f}")
    high = [row for row in rows if row.said >= 0.8]
    print(f"promised 8 in 10 or more: {len(high)}, kept {_mean(r.matched for r in high):.3f}")
    assert len(high) >= least
    assert _mean(r.matched for r in high) >= 0.8
    assert max(row.said for row in rows if row.kind == "changed") <= 0.5


def _mean(values) -> float:  # type: ignore[no-untyped-def]
    return float(np.mean(list(values) or [0.0]))


def test_promises_are_kept_where_lot_and_cement_move_the_color() -> None:
    check(promises(range(70, 73), 16), 3)


@pytest.mark.long
@pytest.mark.parametrize("first", [1000, 2000, 3000])
def test_promises_are_kept_at_full_size(first: int) -> None:
    check(promises(range(first, first + 14), 40), 60)


# --- reckoned by hand ---------------------------------------------------------------------------------


def test_a_sample_is_a_look_by_its_own_doubt_that_of_samples_and_the_scatter_of_jobs() -> None:
    found = effects.learn(())
    lab, doubt = promise.look(found, (np.array([60.0, 5.0, 13.0]), np.diag([0.5, 0.2, 0.3])))
    assert lab == pytest.approx((60, 5, 13))
    own = np.array([0.5, 0.2, 0.3]) + np.square([1.0, 0.4, 0.5]) + found.scatter**2
    assert doubt == pytest.approx(np.diag(own))


def test_what_a_batch_changes_is_what_its_steps_do_and_no_less_than_a_sample_shows() -> None:
    """Nothing learned: a lot for an unknown one adds two lots' variances; a sample 9 off at least 9² less doubt."""
    found = effects.learn(())
    steps: list[promise.Step] = [("lot", "a", None)]
    of: Mapping[str, Mapping[effects.Factor, str]] = {"old": {"lot": "a"}, "other": {"lot": "b"}}
    two = 2 * np.square(effects.STARTS["lot"].sd)
    plain = promise.batch(found, of, "old", steps)
    assert (plain.shift, plain.variance, plain.sample) == (pytest.approx([0] * 3), pytest.approx(two), None)
    assert plain.scatter == pytest.approx(found.scatter)
    assert set(plain.off) == {"old", "other"}
    sample = (np.array([60.0, 5.0, 13.0]), np.diag([0.5, 0.2, 0.3]))
    as_expected = promise.batch(found, of, "old", steps, sample, (60.0, 5.0, 13.0))
    assert as_expected.variance == pytest.approx(two)
    assert promise.batch(found, of, "old", steps, sample).variance == pytest.approx(two)
    far = promise.batch(found, of, "old", steps, sample, (51.0, 5.0, 13.0))
    assert far.sample is not None
    assert far.variance == pytest.approx((81 - far.sample[1][0, 0], *two[1:]))


def test_a_sample_still_to_pour_is_as_sure_as_three_readings() -> None:
    lab, cov = promise.like((60, 5, 13))
    assert lab == pytest.approx((60, 5, 13))
    assert cov == pytest.approx(np.diag(np.array([1.0, 0.25, 0.5]) / 3 + cure.CURVE_SD**2))


def test_a_settled_color_is_told_by_its_own_readings_alone() -> None:
    """Read often and late it is where it was read, whatever the recipe; unread it is open, 20 each way and more."""
    learned = learn.unlearned()
    ages = [40.0, 44.0, 48.0, 52.0]
    lab, cov = promise.settled(learned, "r", "s", cure.track(ages, [[41.0, 9.0, 2.0]] * 4, [0.3, 0.3, 0.3]))
    assert lab == pytest.approx((41, 9, 2), abs=0.4)
    assert np.sqrt(cov[0, 0]) < 1
    _, open_cov = promise.settled(learned, "r", "s", EMPTY)
    widened = learned.prior("r").widen ** 2
    expected = [(400 + learned.prior("r").cov[i, i]) * widened for i in (1, 2)]
    assert np.diag(open_cov)[1:] == pytest.approx(expected, rel=0.02)


def test_slabs_of_a_recipe_are_told_with_what_they_were_made_of() -> None:
    learned, track = learn.unlearned(), cure.track([40.0, 48.0], [[41.0, 9.0, 2.0]] * 2, [0.3, 0.3, 0.3])
    slabs = [
        learn.PastSlab("a", "r", track),
        learn.PastSlab("b", None, track),
        learn.PastSlab("c", "r", EMPTY),
    ]
    [one] = promise.made(learned, slabs, {"a": {"lot": "7"}})
    lab, cov = promise.settled(learned, "r", "a", track)
    assert (one.key, one.recipe, one.of) == ("a", "r", {"lot": "7"})
    assert one.lab == pytest.approx(lab)
    assert one.variance == pytest.approx(np.diag(cov))
