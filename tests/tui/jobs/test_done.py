"""What was done, by day, and how it looked: chips, spots, a list that stands still."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from finishlog.records.log import Entry, Reading
from finishlog.records.page import Doing
from finishlog.tui.desks.views import JobView, Look
from finishlog.tui.jobs import done

POURED = datetime(2025, 5, 14, 15, tzinfo=UTC)
SPOTS = (("base", 59.0, "#a9927a"), ("release color", 45.0, "#6f5443"), ("field", 56.0, "#9c8570"))


@pytest.fixture
def view(fake: Any) -> JobView:
    """A load, three readings of one moment on day 28, one sealed reading later."""
    made: JobView = fake.job_view(fake.lines[0])
    load = Doing(1, POURED, "May 14 2025, about 10:30a", "load 6.50 yd³, Wet Biscuit 110 lb", "Odd Nils", None,
                 further=tuple(f"fact {n} of the load, long enough for a row" for n in range(9)))  # fmt: skip
    entries, looks, doings = [Entry(1, "u1", "load", POURED, POURED)], [], [load]
    for number, (spot, level, color) in enumerate((*SPOTS, ("base", 50.0, "#8a7159")), 2):
        days = 28 if number < 5 else 40
        when = POURED + timedelta(days=days, hours=2)
        reading = Reading(level, 4.5, 16.0, 1.5, spot=spot, sealed=days == 40)
        entries.append(Entry(number, f"u{number}", "reading", when, when, reading=reading))
        looks.append(Look(reading, days, when.date(), color, "light grayish yellowish brown"))
        doings.append(
            Doing(number, when, f"{when:%b} {when.day} 2025, 12p", f"{spot} read, L*a*b* …", "Maud", None)
        )
    job = replace(made.page.job, entries=tuple(entries), history=tuple(entries),
                  site=replace(made.page.job.site, zone="UTC"))  # fmt: skip
    line = replace(made.page.line, poured_on=date(2025, 5, 14))
    return replace(
        made, page=replace(made.page, job=job, line=line, doings=tuple(doings)), looks=tuple(looks)
    )


def texts(lines: list[Any]) -> list[str]:
    return [line.text.rstrip() for line in lines]


def test_readings_of_one_moment_stand_in_one_row_under_their_day(view: JobView) -> None:
    rows = texts(done.was_done(view, 58, 3))
    assert rows[0] == "May 14  pour"
    assert rows[1].startswith("  ~10:30a load 6.50 yd³")
    assert rows[1].endswith("Odd Nils")
    at = next(at for at, row in enumerate(rows) if row.startswith("Jun 11"))
    assert rows[at] == "Jun 11  day 28"
    assert rows[at + 1].startswith("▌     12p ")
    assert [word for word in rows[at + 1].split() if word.isalnum()] == [
        "12p", "base", "59", "release", "45", "field", "56", "Maud"]  # fmt: skip
    assert "base 50, sealed" in rows[-1]


def test_moving_the_mark_moves_no_row(view: JobView) -> None:
    """Nor does what is told of the marked entry: it has its own rows, as many for each."""
    numbers = done.standing(view)
    still = [[row[2:] for row in texts(done.was_done(view, 58, number))] for number in numbers]
    assert all(rows == still[0] for rows in still)
    assert len({len(done.entry(view, number, 58, 4)) for number in numbers}) == 1
    assert "fact 0 of the load" in " ".join(texts(done.entry(view, 1, 58, 4)))
    assert "fact 0" not in " ".join(texts(done.entry(view, 2, 58, 4)))


def test_the_marked_one_of_a_row_is_told_apart(view: JobView) -> None:
    for number, word in ((2, "base 59"), (3, "release 45"), (4, "field 56")):
        pieces = [piece for line in done.was_done(view, 58, number) for piece in line.pieces]
        bold = [
            piece.text
            for piece in pieces
            if piece.bold and "May" not in piece.text and "Ju" not in piece.text
        ]
        assert bold == [word]


@pytest.mark.parametrize("width", [58, 78, 118])
@pytest.mark.parametrize("depth", ["full", "gray", "glyphs"])
def test_every_look_has_its_chip_and_its_spot(view: JobView, width: int, depth: Any) -> None:
    rows = done.looked(view, width, (depth, True))[1:]
    assert all(line.width <= width for line in rows)
    for line, (spot, *_) in zip(rows, SPOTS, strict=False):
        assert done.SHORT.get(spot, spot) in line.text.split()
    chips = [next(p for p in line.pieces if p.back or set(p.text) & set("░▒▓█")) for line in rows[:2]]
    assert chips[0] != chips[1]  # base and release color are told apart


def test_an_age_stands_before_the_first_of_its_readings(view: JobView) -> None:
    rows = texts(done.looked(view, 78))[1:]
    assert [row.startswith("day") for row in rows] == [True, False, False, True]


async def test_the_list_of_a_job_stands_still_on_a_small_screen(open_log: Callable[..., Any]) -> None:
    """From one marked entry to the next, as long as the list does not scroll."""
    async with open_log(size=(60, 20)) as stage:
        await stage.enter("wobblestone")
        await stage.press("enter", "right")

        def list_of() -> list[str]:
            end = max(at for at, row in enumerate(stage.rows) if "──" in row)
            return [row[3:57] for row in stage.rows[11:end]]

        before, entry = list_of(), stage.rows[-3]
        await stage.press("up")
        assert list_of() == before
        assert stage.rows[-3] != entry
