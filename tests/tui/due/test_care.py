"""Care on the demo's log: the list by month, who was called, what is booked, the week plan, what goes out."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.due import care
from finishlog.records.care import CARE_STATES, Book, MonthCount, Reseal
from finishlog.records.log import Customer
from finishlog.tui.app import FinishlogApp
from finishlog.tui.due import care_paint
from tests.tui.book_rows import painted

Open = Callable[..., Any]
FIRST = "Prudence Wobblestone · back patio"
NASTY = "[/nope] \x1b[31mred \x9b1m \u202egnp"


@pytest.fixture
def shop(made_demo: Path, tmp_path: Path) -> Iterator[Any]:
    from finishlog import wiring

    built = wiring.build(str(shutil.copy(made_demo, tmp_path / "demo.finishlog")))
    built.clock = lambda: datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
    built.find_zone = lambda: ZoneInfo("America/Chicago")
    yield built
    built.close()


@pytest.fixture
def opened(shop: Any, drive: Callable[..., Any]) -> Open:
    @asynccontextmanager
    async def opened(size: tuple[int, int] = (80, 24)) -> AsyncIterator[Any]:
        app = FinishlogApp(shop)
        async with app.run_test(size=size, notifications=True) as pilot:
            stage = drive(app, pilot)
            await stage.settle()
            await stage.press("escape", "3")
            yield stage

    return opened


def state_of_first(shop: Any) -> str:
    return next(line.state for line in care.book(shop).lines if line.title == FIRST)


def reseal(**more: Any) -> Reseal:
    base = Reseal(
        "u", 1, "job", "patio", Customer("c", "Puddlecombe"), "12 Teakettle Walk", None, (), 1,
        date(2023, 8, 1), date(2026, 6, 1), date(2028, 6, 1), "due", "Three years.", month=(2026, 6),
    )  # fmt: skip
    return replace(base, **more)


async def test_the_book_by_month_with_the_season_and_a_mark_for_each_reseal(opened: Open) -> None:
    async with opened() as stage:
        assert "season: Apr to Oct" in stage.row("season")
        assert "9 reseals are open in the next 12 months." in stage.text
        assert stage.row("▌").startswith(f"▌ ○ due        {FIRST}")
        assert "off season" in stage.text
        glyphs = [glyph for glyph, *_ in care_paint.STATES.values()]
        assert sum(map(stage.row("○○○").count, glyphs)) == stage.app.screen.count


async def test_space_calls_then_books_on_the_day_the_week_plan_offers(opened: Open, shop: Any) -> None:
    async with opened() as stage:
        await stage.press("space")
        assert state_of_first(shop) == "contacted"
        assert stage.app.screen.current.title == FIRST
        await stage.press("space")
        assert stage.field("state").value == "booked"
        assert stage.field("on").value == care.offered_day(shop, stage.app.screen._line.job).isoformat()
        await stage.press("ctrl+s")
        assert state_of_first(shop) == "booked"
        assert "● booked" in stage.row(FIRST)
        await stage.press("u", "u")
        assert state_of_first(shop) == "due"


async def test_a_booking_without_its_day_is_asked_for_it(opened: Open, shop: Any) -> None:
    async with opened() as stage:
        await stage.press("enter")
        await stage.fill("state", "booked")
        await stage.press("ctrl+s")
        assert "1 field to fix" in stage.text
        assert "A booking needs a day." in stage.text
        await stage.fill("on", "2030-01-05")
        assert "Sat Jan 5 2030, outside" in stage.text
        assert state_of_first(shop) == "due"
        await stage.press("escape")
        assert state_of_first(shop) == "due"


async def test_months_are_jumped_and_the_ends_hold(opened: Open) -> None:
    async with opened() as stage:
        months = list(dict.fromkeys(line.month for line in stage.app.screen.lines))
        await stage.press("left")
        assert stage.app.screen.current.month == months[0]
        await stage.press("right", "right")
        assert stage.app.screen.current.month == months[2]
        await stage.press(*["right"] * len(months))
        assert stage.app.screen.current.month == months[-1]
        assert "▌" in stage.text


async def test_the_week_plan_says_how_and_is_kept(opened: Open, shop: Any) -> None:
    async with opened(size=(80, 50)) as stage:
        await stage.press("k")
        assert "Week of Mon Jun 15" in stage.text
        assert "How it was decided" in stage.text
        await stage.press("s")
        assert "The day of 9 jobs was kept." in stage.toast()
        assert all(line.planned and line.on for line in care.book(shop).lines)


@pytest.mark.parametrize(
    ("what", "start"),
    [
        ("calendar", b"BEGIN:VCALENDAR"),
        ("letters", b"%PDF"),
        ("table", b"\xef\xbb\xbfcustomer,street,town,phone"),
    ],
)
async def test_what_goes_out_is_written(opened: Open, tmp_path: Path, what: str, start: bytes) -> None:
    target = tmp_path / "out"
    async with opened() as stage:
        await stage.press("w")
        await stage.fill("sheet", what)
        await stage.fill("file", str(target))
        await stage.press("ctrl+s")
        assert target.read_bytes().startswith(start)
        assert f"in {target}" in stage.toast()


async def test_mail_drafts_are_a_folder_with_one_each(opened: Open, shop: Any, tmp_path: Path) -> None:
    from email import policy
    from email.parser import BytesParser

    with shop.log().writing() as log:
        log.update_customer(care.book(shop).lines[0].job, email="prudence@example.com")
    target = tmp_path / "drafts"
    async with opened() as stage:
        await stage.press("w")
        await stage.fill("sheet", "mail")
        await stage.fill("file", str(target))
        await stage.press("ctrl+s")
        assert "draft" in stage.toast()
    read = [BytesParser(policy=policy.default).parsebytes(file.read_bytes()) for file in target.iterdir()]
    assert "prudence@example.com" in [message["To"].addresses[0].addr_spec for message in read]


async def test_the_first_letter_asks_who_writes_and_what_comes_back_is_noted(
    opened: Open, shop: Any, tmp_path: Path
) -> None:
    from finishlog.desk.jobs import sender

    sender.keep(shop, {"shop_name": "", "shop_street": ""})
    async with opened() as stage:
        await stage.press("w")
        await stage.fill("sheet", "letters")
        await stage.fill("file", str(tmp_path / "first.pdf"))
        await stage.press("ctrl+s")
        assert "No letter goes out without a sender." in stage.text
        await stage.press("ctrl+s")
        assert "A letter needs the shop's street." in stage.text
        await stage.fill("shop_name", "Teakettle Slabs")
        await stage.fill("shop_street", "1 Kiln Yard")
        await stage.press("ctrl+s")
        assert (tmp_path / "first.pdf").read_bytes().startswith(b"%PDF")
        assert "□ written" in stage.row(FIRST)
        await stage.press("f", "ctrl+s")
        assert "letter came back" in stage.row(FIRST)
        assert state_of_first(shop) == "due"
        await stage.press("u")
        assert state_of_first(shop) == "written"


async def test_what_was_said_in_the_call_offers_its_day_and_stands_beside_the_booking(
    opened: Open, shop: Any
) -> None:
    first = care.book(shop).lines[0].job
    care.keep_plan(shop, care.plan(shop))
    care.set_state(shop, first, "contacted", note="dog; wants Aug 21")
    async with opened() as stage:
        await stage.press("home", "b")
        assert stage.field("on").value == "2026-08-21"
        await stage.press("ctrl+s")
        assert "ask again" in stage.row("□ written")
        assert "→ moved to Fri Aug 21; dog" in stage.row("● booked     P")
        assert "Said: dog; wants Aug 21." in " ".join(stage.text.split())


async def test_while_files_are_written_it_says_so(
    opened: Open, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from threading import Event

    from finishlog.papers.reminders import send

    gate, real = Event(), send.write

    def slow(*args: Any, **more: Any) -> list[str]:
        assert gate.wait(60)
        return real(*args, **more)

    monkeypatch.setattr(send, "write", slow)
    async with opened() as stage:
        await stage.press("w")
        await stage.fill("sheet", "table")
        await stage.fill("file", str(tmp_path / "out"))
        await stage.pilot.press("ctrl+s")
        await stage.until(lambda: "writing…" in stage.text)
        gate.set()
        await stage.settle()
        assert "writing…" not in stage.text
        assert (tmp_path / "out").exists()
        await stage.press("w")
        await stage.fill("file", str(tmp_path / "out"))
        await stage.press("ctrl+s")
        assert "already exists" in stage.text


async def test_ask_again_takes_a_span(opened: Open, shop: Any) -> None:
    async with opened() as stage:
        await stage.press("enter")
        await stage.fill("state", "ask again")
        await stage.fill("on", "in 6 months")
        assert "Wed Dec 16 2026" in stage.text
        assert "outside" not in stage.text
        await stage.press("ctrl+s")
        assert "from Wed Dec 16" in stage.row(FIRST)
    assert state_of_first(shop) == "ask_again"


async def test_who_wants_no_reminders_is_asked_of_with_because(opened: Open, shop: Any) -> None:
    first = care.book(shop).lines[0].job
    with shop.log().writing() as log:
        log.update_customer(first, leave_alone=True)
    async with opened() as stage:
        await stage.press("home")
        while stage.app.screen.current.job != first:
            await stage.press("down")
        assert "wants no reminders" in stage.row("▌")
        await stage.press("enter")
        await stage.fill("state", "contacted")
        await stage.press("ctrl+s")
        assert "? Prudence Wobblestone wants no reminders." in stage.text
        assert stage.field("because").display
        await stage.fill("because", "she called us")
        await stage.press("ctrl+s")
        assert "u undoes it" in stage.toast()
    with shop.log().reading() as log:
        assert log.job(first).of_kind("care")[-1].note == "Because: she called us"


async def test_a_note_leaves_the_planned_day_and_a_person_moves_it(opened: Open, shop: Any) -> None:
    care.keep_plan(shop, care.plan(shop))
    async with opened(size=(120, 36)) as stage:
        assert "planned " in stage.row("▌")
        await stage.press("enter")
        await stage.fill("note", "wants a Friday")
        await stage.press("ctrl+s")
        assert "planned " in stage.row("▌")
        await stage.press("enter")
        await stage.fill("on", "2026-08-14")
        await stage.press("ctrl+s")
        assert "→ moved to Fri Aug 14" in stage.row("due        Prudence Wobblestone")
        await stage.press("k")
        assert "stays where someone put it" in stage.row("Fri Aug 14")
    [line] = [line for line in care.book(shop).lines if line.title == FIRST]
    assert (line.planned, line.moved) == (False, True)


async def test_the_plan_says_how_far_it_is(opened: Open, shop: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    from threading import Event

    gate, real = Event(), care.plan

    def slow(services: Any, *args: Any, progress: Any = None, **more: Any) -> Any:
        if progress is not None:
            progress(500, 2000)
            assert gate.wait(60)
        return real(services, *args, progress=progress, **more)

    monkeypatch.setattr(care, "plan", slow)
    async with opened() as stage:
        await stage.pilot.press("k")
        await stage.until(lambda: "500 of 2000 planned…" in stage.text)
        stage.app.screen.action_keep()  # nothing is there to be kept yet, and that is said
        await stage.until(lambda: "planning…" in stage.text)
        gate.set()
        await stage.settle()
        assert "a week at most" in stage.text


async def test_wide_the_pane_says_why_and_how_to_reach_them(opened: Open) -> None:
    async with opened(size=(120, 36)) as stage:
        assert "Sep 19 2025 to Sep 19 2027" in stage.text
        assert "Phone" in stage.text
        assert "Film" in stage.text
        told = " ".join(stage.text.split())
        assert "no pool, salt or traffic noted" in told
        assert "Wed Jun 17, the soonest with" in stage.row("Best ")


def test_every_state_has_its_own_glyph_and_word() -> None:
    assert set(care_paint.STATES) == set(CARE_STATES)
    assert len({glyph for glyph, *_ in care_paint.STATES.values()}) == len(CARE_STATES)
    assert [care.read_state(word) for _, word, _ in care_paint.STATES.values()] == list(CARE_STATES)


@pytest.mark.parametrize("width", [58, 76])
def test_a_month_with_many_gives_their_number_and_the_next_keeps_its_column(width: int) -> None:
    busy = [MonthCount(2026, 6, ("due",) * 12, False), MonthCount(2026, 7, ("booked",), False)]
    names, marks = care_paint.glance(busy, width)
    assert marks.text.startswith("12 ")
    assert marks.text.index("●") == names.text.index("Jul")


def test_a_booking_in_a_month_without_sealing_is_still_shown() -> None:
    months = [MonthCount(2026, 12, ("booked",), True), MonthCount(2027, 1, (), True)]
    assert "●" in care_paint.glance(months, 76)[1].text


@pytest.mark.parametrize("width", [60, 76])
def test_user_text_stays_in_its_row_and_raw_bytes_never_reach_it(width: int) -> None:
    line = reseal(name=NASTY, note=NASTY * 3, customer=Customer("c", NASTY))
    book = Book(date(2026, 6, 16), date(2027, 6, 16), "", (line,), (), (6,))
    rows = [
        *painted(book, width),
        *care_paint.aside(line, None, 40, "us"),
        *care_paint.why(line, None, 2, width),
    ]
    assert not any(mark in row.text for row in rows for mark in "\x1b\x9b\u202e")
    assert all(row.width <= width for row in rows)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "last Aug 2023"),
        ({"state": "booked", "on": date(2026, 8, 14)}, "Fri Aug 14"),
        ({"on": date(2026, 8, 14), "planned": True}, "planned Fri Aug 14"),
        ({"note": "wants a Friday"}, "wants a Friday"),
        ({"left_alone": True, "note": "x"}, "wants no reminders"),
    ],
)
def test_the_remark_is_the_day_the_note_or_the_last_coat(more: dict[str, Any], said: str) -> None:
    assert care_paint.remark(reseal(**more)) == said
