"""What two slabs' readings share where one camera took every photo."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from finishlog.desk.color.learned import Sorted, sort
from finishlog.desk.match.odds import common_sd
from finishlog.records.answers import LearningRow
from finishlog.records.log import Reading

POURED = datetime(2026, 5, 1, 15, tzinfo=UTC)
READ = Reading(58, 8, 15, 3.0, 1.5, 1.5, source="card in the photo", camera="Plum 7")


def side(*readings: Reading) -> Sorted:
    rows = [
        LearningRow(
            "patio", "a", None, POURED, number, POURED + timedelta(days=7 * number), read, False, None, None
        )
        for number, read in enumerate(readings, 1)
    ]
    return sort(rows)


def test_two_thirds_of_the_variance_is_one_cameras() -> None:
    found = common_sd((side(READ, READ), side(READ)))
    assert found == pytest.approx(np.sqrt(2 / 3) * np.array((3.0, 1.5, 1.5)))


@pytest.mark.parametrize(
    "other",
    [replace(READ, camera="Pear 1"), replace(READ, camera=None), Reading(58, 8, 15, source="colorimeter")],
)
def test_nothing_is_known_to_be_common_where_another_instrument_read_one(other: Reading) -> None:
    assert common_sd((side(READ), side(other))) is None
    assert common_sd((side(READ), side(READ, other))) is None


def test_a_slab_that_was_not_read_shares_nothing() -> None:
    assert common_sd((side(READ), side())) is None
