"""A young slab is not warned of what its age has no need of yet; Today's headline is the most pressing work."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from finishlog.desk import words
from finishlog.desk.due import head, today
from finishlog.desk.jobs import page as job_page
from finishlog.desk.placed.still_to_come import for_area
from finishlog.desk.record import record
from finishlog.desk.services import Services
from finishlog.records.due import TodayLine
from tests.desk.care_shop import PATIO, Clock, care_shop, seal


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def services(tmp_path: Path, clock: Clock) -> Iterator[Services]:
    with care_shop(tmp_path, clock) as made:
        yield made


def facts(services: Services) -> dict[str, tuple[str, bool]]:
    page = job_page.lay_open(services, PATIO)
    placed = page.placed[0]
    lines = words.placed_lines(placed, to_come=for_area(page.to_come, placed.area.uid))
    return {line.label: (line.text, line.warn) for line in lines if line.label in ("Rinse", "Sealer")}


def test_what_its_age_has_no_need_of_yet_is_no_warning(services: Services, clock: Clock) -> None:
    clock.to("2026-06-16 08:00")
    record.record(services, PATIO, "pour", {"at": "2026-06-15 18:00"})
    assert facts(services) == {
        "Rinse": ("not yet: opens 12p", False), "Sealer": ("not yet: opens Jul 13", False),
    }  # fmt: skip
    clock.to("2026-06-17 08:00")
    assert facts(services)["Rinse"] == ("not yet: open until Fri 6p", False)
    clock.to("2026-06-27 08:00")
    assert facts(services)["Rinse"] == ("release left not judged; age not logged", True)
    assert facts(services)["Sealer"] == ("not yet: opens Jul 13", False)
    record.record(services, PATIO, "rinse", {"at": "2026-06-17 08:00", "release_left_percent": "20"})
    assert facts(services)["Rinse"] == ("20 % left", False)
    clock.to("2027-06-27 08:00")
    assert facts(services)["Sealer"] == ("not logged", False)
    seal(services, "2027-06-26 10:00")
    assert "Badger Coat" in facts(services)["Sealer"][0]


AT = datetime(2026, 6, 16, 2, 0, tzinfo=UTC)


def line(what: str, title: str, state: str, hours: int) -> TodayLine:
    """A line that closes (open) or opens (to come) in so many hours."""
    at = AT + timedelta(hours=hours)
    said = {"open": "until then", "opens": "4:20a", "slipped": "1 day late"}[state]
    opens, closes = (AT - timedelta(days=1), at) if state == "open" else (at, at + timedelta(days=3))
    return TodayLine("job", "Puddlecombe", "patio", None, what, None, title, what, state,  # type: ignore[arg-type]
                     said, opens, closes, "", "")  # fmt: skip


PHOTO = replace(line("photo", "Photo, day 1", "open", 20), said="open all day", age_days=1)
RINSE = line("rinse", "Rinse", "opens", 3)
RESEAL = line("reseal", "Reseal", "open", 24 * 60)
SLIPPED = line("photo", "Photo, day 7", "slipped", -30)


@pytest.mark.parametrize(
    ("lines", "begins"),
    [
        ([PHOTO, RESEAL, RINSE], "Rinse opens 4:20a. 2 open."),
        ([PHOTO, SLIPPED, RINSE], "Rinse opens 4:20a. 1 open, 1 slipped."),
        (
            [PHOTO, line("rinse", "Rinse", "open", 80), line("joint", "Joints", "opens", 3)],
            "Rinse due by ",
        ),
        ([PHOTO, line("seal", "Seal", "open", 5), RINSE], "Sealing due within 5 h."),
        ([PHOTO, line("seal", "Seal", "open", 80), RINSE], "Rinse opens 4:20a."),
        ([PHOTO, RESEAL], "Reseal due by "),
        ([PHOTO, line("rinse", "Rinse", "opens", 30)], "Take the day-1 photo today. 1 open."),
        (
            [PHOTO, replace(line("pour", "Pour", "opens", 9), said="tomorrow")],
            "The pour is tomorrow. 1 open.",
        ),
        ([RINSE], "Nothing is due. Next: rinse, Puddlecombe · patio, 4:20a."),
    ],
)
def test_the_headline_is_the_most_pressing_work_and_a_photo_only_if_nothing_else(
    lines: list[TodayLine], begins: str
) -> None:
    assert head.sentence(lines, AT).startswith(begins)


def test_the_headline_of_a_list_is_that_of_its_lines(services: Services, clock: Clock) -> None:
    clock.to("2026-06-16 08:00")
    record.record(services, PATIO, "pour", {"at": "2026-06-15 08:20"})
    found = today.today(services)
    assert found.lines[0].what == "photo" or found.lines[0].what == "joint"
    assert found.sentence == head.sentence(found.lines, clock())
    assert not found.sentence.startswith("Photo")
