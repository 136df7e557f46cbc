"""Truth for what another lot, cement or plant does to a color, from another family than the estimator's.

Each lot, cement and plant moves the color of a recipe by a ΔE00 of 2 to 6, drawn evenly, in any direction, and not
quite the same in every recipe. Curves, weather and readings are those of `cure_truth`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from finishlog.color.aging import cure
from finishlog.color.notation.space import delta_e_2000
from tests.color.cure_truth import Floats, Shop, Slab, Truth

KINDS = (("lot", 5), ("cement", 3))


@dataclass(frozen=True)
class Batched:
    """A slab and what it was made with."""

    slab: Slab
    of: dict[str, str]


class BatchShop(Shop):
    """A shop whose slabs differ by lot and cement too; `batches` stands beside `log`."""

    def __init__(self, seed: int, jobs: int = 40, recipes: int = 4) -> None:
        self.moves: dict[tuple[str, str, str], Floats] = {}
        super().__init__(seed, replace(Truth(), jobs=jobs, recipes=recipes))
        self.batches = [self.batched(slab, self._made()) for slab in self.log]

    def batched(self, slab: Slab, of: dict[str, str]) -> Batched:
        """The slab as it comes out of that lot and cement."""
        move = sum((self._move(slab.recipe, kind, name) for kind, name in of.items()), np.zeros(3))
        curve = slab.curve
        return Batched(Slab(slab.recipe, lambda when: curve(when) + move, slab.ages, slab.lab + move), of)

    def _made(self) -> dict[str, str]:
        return {kind: f"{kind} {int(self.rng.integers(0, number))}" for kind, number in KINDS}

    def _move(self, recipe: str, kind: str, name: str) -> Floats:
        whole = self.moves.setdefault(("", kind, name), self._drawn())
        own = self.moves.setdefault((recipe, kind, name), self.rng.normal(0, 0.15, 3) * np.abs(whole))
        return whole + own

    def _drawn(self) -> Floats:
        """A shift whose ΔE00 on a usual gray is drawn evenly from 2 to 6."""
        gray, way = np.array([58.0, 5.0, 13.0]), self.rng.normal(0, 1, 3) * (1.0, 0.5, 0.7)
        wanted = self.rng.uniform(2, 6)
        sizes = np.linspace(0.1, 12, 400)[:, None] * way / np.linalg.norm(way)
        return sizes[int(np.argmin(np.abs(delta_e_2000(gray + sizes, gray) - wanted)))]

    def read(self, slab: Slab, ages: tuple[float, ...]) -> cure.Track:
        """New readings of a slab, or of a sample of it."""
        at = np.array(ages)
        return cure.track(at, self._seen(slab.curve, at), (1.0, 0.5, 0.7))
