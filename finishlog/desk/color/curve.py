"""One slab's color at any age, from its own readings and its recipe's history."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.aging import cure, weathering
from finishlog.desk.color.learned import Sorted, State

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Curve:
    """One slab's color at any age: the cure up to day 60, then weathering, late readings taken in."""

    fit: cure.Fit
    old: weathering.Settled

    def at(self, ages: Sequence[float]) -> tuple[Floats, Floats]:
        """L*a*b* expected (m, 3) and covariance (m, 3, 3) at ages in days from 0 up."""
        lab, cov = self.fit.at(ages)
        later = np.asarray(ages) > cure.LEARN_TO_DAY
        if later.any():
            lab[later], cov[later] = self.old.at(np.asarray(ages)[later])
        return lab, cov


def curve(
    state: State, recipe: str | None, held: Sorted, without: Sequence[str], dose: float | None = None
) -> Curve:
    """The curve of a slab whose own readings `held` are taken out of what its recipe tells.

    `dose` in percent of cement, for a recipe that tells none.
    """
    readings = held.track()
    made = cure.fit(readings, state.learned.prior(recipe, without, readings, dose))
    lab, cov = made.at([cure.LEARN_TO_DAY])
    return Curve(made, weathering.settle(lab[0], cov[0], state.pace, *held.late_arrays()))
