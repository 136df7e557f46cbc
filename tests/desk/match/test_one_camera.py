"""What two slabs' readings share where one camera took every photo."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from finishlog.color.aging import learn, weathering
from finishlog.color.photo.frame import CAMERA_SHARE
from finishlog.desk.blend.samples import _mean
from finishlog.desk.color.learned import Sorted, State, sort
from finishlog.desk.match.cameras import common_sd
from finishlog.desk.match.odds import Sides, between
from finishlog.records.answers import LearningRow
from finishlog.records.log import Reading
from finishlog.records.shop import Shop

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


def test_a_part_of_the_variance_is_one_cameras_axis_by_axis() -> None:
    found = common_sd((side(READ, READ), side(READ)))
    assert found == pytest.approx(np.sqrt(CAMERA_SHARE) * (3.0, 1.5, 1.5))


@pytest.mark.parametrize(
    "other",
    [replace(READ, camera="Pear 1"), replace(READ, camera=None), Reading(58, 8, 15, source="colorimeter")],
)
def test_nothing_is_known_to_be_common_where_another_instrument_read_one(other: Reading) -> None:
    assert common_sd((side(READ), side(other))) is None
    assert common_sd((side(READ), side(READ, other))) is None


def test_a_slab_that_was_not_read_shares_nothing() -> None:
    assert common_sd((side(READ), side())) is None


def test_photos_of_a_sample_by_one_camera_do_not_average_out_what_they_share() -> None:
    """Three photos of one camera, three instruments, and two of one beside one of another."""
    sd = np.array((3.0, 1.5, 1.5))
    of = [
        _mean([replace(READ, camera=camera) for camera in cameras])[1]
        for cameras in (("Plum 7",) * 3, (None,) * 3, ("Plum 7", "Plum 7", "Pear 1"))
    ]
    share = np.array(CAMERA_SHARE)
    assert of[0] == pytest.approx(sd * np.sqrt(share + (1 - share) / 3))
    assert of[1] == pytest.approx(sd / np.sqrt(3))
    assert of[2] == pytest.approx(sd * np.sqrt((3 + 2 * share) / 9))


def test_two_cameras_that_each_read_one_slab_often_tell_less_of_their_difference() -> None:
    """Many calm photos of each slab say what each camera sees; how the cameras differ they do not say."""
    learned = replace(learn.unlearned(), noise=0.5)
    state = State(learned, weathering.learn_pace(()), weathering.learn_look(()), 0)
    said = [
        between(
            state,
            Sides("base", None, side(*[replace(READ, camera=old)] * 6), "old/a", POURED,
                  side(*[replace(READ, camera=new)] * 6), "new/a", POURED),
            Shop({}),
        ).probability
        for old, new in ((None, None), ("Plum 7", "Pear 1"), ("Plum 7", "Plum 7"))
    ]  # fmt: skip
    assert said[1] < said[0] - 0.1
    assert said[1] < said[2] - 0.1
