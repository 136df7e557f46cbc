"""How much of the way to its settled color a damp spot comes back by drying, on cases reckoned by hand."""

from __future__ import annotations

import pytest

from finishlog.color.release import drying
from finishlog.color.release.drying import ASSUMED, ASSUMED_SD, Drying, WetDry

SURE = (1e-9, 1e-9, 1e-9)


def pair(dry: float, *, settled: float = 60.0, variances: tuple[float, float, float] = SURE) -> WetDry:
    return WetDry(40.0, dry, settled, *variances)


def test_the_share_of_sure_pairs_is_their_mean_with_the_assumed_one_as_two_more() -> None:
    found = drying.learn([pair(50.0), pair(53.0)])  # .50 and .65 of the 20 to come
    assert found.share == pytest.approx((2 * ASSUMED + 0.50 + 0.65) / 4, abs=1e-4)
    assert found.sd <= ASSUMED_SD
    assert found.pairs == 2


def test_a_spot_with_little_way_to_go_tells_nothing() -> None:
    assert drying.learn([pair(41.0, settled=42.9)]) == Drying()
    assert drying.learn([pair(41.0, settled=43.0)]).pairs == 1


@pytest.mark.parametrize("which", [0, 1, 2])
def test_a_vague_reading_teaches_less(which: int) -> None:
    vague = tuple(64.0 if i == which else 1e-9 for i in range(3))
    sure, less = drying.learn([pair(50.0)]), drying.learn([pair(50.0, variances=vague)])  # type: ignore[arg-type]
    assert sure.share < less.share - 0.005 < ASSUMED


def test_dried_it_is_that_share_of_the_way_on_every_axis() -> None:
    assert drying.dried((40.0, 2.0, 10.0), (60.0, 4.0, 14.0), Drying(0.5)) == (50.0, 3.0, 12.0)
    assert drying.dried((40.0, 2.0, 10.0), (60.0, 4.0, 14.0), Drying(0.25)) == (45.0, 2.5, 11.0)
