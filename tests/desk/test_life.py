"""A whole life of one slab through the desks: what is due at every point, from the plan to the fifth reseal."""

from __future__ import annotations

from pathlib import Path

import pytest

from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.due import care, today
from finishlog.desk.shelf import shelf
from tests.desk.life_story import JOB, LIFE, Clock, by_desks, care_says, life_shop, shelf_says, today_says


def test_a_whole_life(tmp_path: Path) -> None:
    clock = Clock()
    told: dict[str, list[str]] = {}
    resealed: list[tuple[str, bool]] = []
    with life_shop(tmp_path, clock) as shop:
        for moment in LIFE:
            clock.set(moment.at)
            if moment.does == "reseal" and (line := care.of_job(shop, JOB)):
                resealed.append((line.due_from.isoformat(), line.wipe))
            if moment.refused:
                with pytest.raises(Doubt, match=moment.refused):
                    by_desks(shop, tmp_path, moment)
            else:
                by_desks(shop, tmp_path, moment)
            told |= moment.says
            now = {
                "today": today_says(today.today(shop)), "care": care_says(care.book(shop)),
                "shelf": shelf_says(shelf.shelf(shop)),
            }  # fmt: skip
            assert now == told, f"{moment.at} {moment.does}"
    opened = ["2029-07-03", "2034-06-03", "2038-08-03", "2043-06-04", "2048-05-03"]
    assert resealed == list(zip(opened, [False] * 4 + [True], strict=True))  # a wipe about every fifth time
