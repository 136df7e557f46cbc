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
