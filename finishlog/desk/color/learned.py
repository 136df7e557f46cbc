"""What the log's readings taught: asked here by whoever forecasts, matches or rinses.

It is kept in the log and learned once (`finishlog.desk.color.kept`, which states the rule).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from finishlog.color.aging.learn import Learned, PastSlab
from finishlog.desk.color import kept, taught
from finishlog.desk.color.slabs import Coats, Row, Sorted, age_days, is_concrete, key_of, lab_sd, sort
from finishlog.desk.color.taught import State, learned
from finishlog.desk.services import Services

if TYPE_CHECKING:
    from finishlog.color.release.drying import Drying, WetDry
    from finishlog.records.answers import LearningRow

__all__ = [
    "Coats", "Row", "Sorted", "State", "age_days", "drying", "is_concrete", "key_of", "lab_sd", "learned",
    "sort", "state",
]  # fmt: skip

NEW_TO_DAY = 7.0
"""Until then a damp and a dry reading of one spot tell how drying goes on rinse day."""
_DAY = 86400.0


def state(services: Services, spot: str = "base", *handles: str) -> State:
    """What was learned of a spot, with all that the recipes of these jobs tell; of none, what taught the shop."""
    return kept.state(services, spot, handles)


def drying(services: Services, final_day: float) -> Drying:
    """How much of the lightening to come drying a spot brings back, by spots read damp and dry within a day."""
    from finishlog.color.release.drying import learn as learn_drying

    learnt = state(services).learned
    with services.log().reading() as log:
        rows = [row for row in log.learning_rows() if row.reading.spot == "base" and not row.apart]
    damp = [row for row in rows if row.reading.damp and not row.reading.sealed]
    pairs = [(row, near) for row in damp if (near := _dried(row, rows)) is not None]
    return learn_drying(_wet_dry(learnt, rows, row, near, final_day) for row, near in pairs)


def _dried(damp: LearningRow, rows: Sequence[LearningRow]) -> LearningRow | None:
    """The dry, bare reading of the same spot nearest in time, within a day; None where the slab was not new."""
    age = age_days(damp)
    if age is None or not 0 <= age <= NEW_TO_DAY:
        return None
    same = [
        row for row in rows
        if (row.job, row.area, row.reading.sample) == (damp.job, damp.area, damp.reading.sample)
        and not (row.reading.damp or row.reading.sealed)
        and abs((row.happened - damp.happened).total_seconds()) <= _DAY
    ]  # fmt: skip
    return min(same, key=lambda row: abs(row.happened - damp.happened), default=None)


def _wet_dry(
    learnt: Learned, rows: Sequence[LearningRow], damp: LearningRow, dry: LearningRow, final_day: float
) -> WetDry:
    from finishlog.color.release.drying import WetDry

    slab = [row for row in rows if (row.job, row.area) == (damp.job, damp.area)]
    own = PastSlab(key_of(damp.job, damp.area), damp.recipe, sort(slab).track(), damp.dose_percent)
    made = taught.fit(learnt, own)
    settled, cov = made.at([final_day])
    return WetDry(
        damp.reading.L, dry.reading.L, float(settled[0, 0]),
        lab_sd(damp)[0] ** 2, lab_sd(dry)[0] ** 2, float(cov[0, 0, 0]),
    )  # fmt: skip
