"""A book of thousands: pages come as they are looked at, and only what is in view is painted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

from finishlog.records.care import Book, MonthCount, Reseal
from finishlog.records.log import Customer
from finishlog.tui.due import care_paint
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.roll import Roll

Open = Callable[..., Any]
MANY, FIRST_MONTH = 3_412, 2_000
TODAY = date(2026, 6, 16)


def line(at: int) -> Reseal:
    month = (2026, 6) if at < FIRST_MONTH else (2026, 7)
    return Reseal(f"u{at}", 1, f"job-{at}", f"piece {at}", Customer("c", "Puddlecombe"), "1 Owl Hollow", None, (), 1,
                  date(2023, 8, 1), date(2026, 6, 1), date(2028, 6, 1), "due", "Three years.", month=month)  # fmt: skip


def desks(fake: Any) -> Any:
    class Desks(fake.desks):  # type: ignore[misc]
        many = MANY

        def reseals(self, limit: int, offset: int) -> Any:
            from finishlog.tui.desks.office import BookView

            self.asked.append(f"reseals {limit} {offset}")
            months = (MonthCount(2026, 6, (), False, FIRST_MONTH), MonthCount(2026, 7, (), False, 1_412))
            lines = tuple(line(at) for at in range(offset, min(offset + limit, self.many)))
            starts = (((2026, 6), 0), ((2026, 7), FIRST_MONTH))
            book = Book(TODAY, TODAY, "Many are due.", lines, months, (6, 7), self.many, offset, starts)
            return BookView(book, "Jun to Jul")

        def best_days(self) -> Any:
            self.asked.append("best days")
            return {}

    return Desks()


async def test_the_end_of_a_long_book_reads_its_last_page_alone(open_app: Open, fake: Any) -> None:
    shop = desks(fake)
    async with open_app(desks=shop) as stage:
        await stage.press("3")
        assert "1 of 3,412" in stage.text
        assert "piece 0" in stage.text
        await stage.press("end")
        assert f"{MANY:,} of {MANY:,}" in stage.text
        assert f"▌ ○ due        Puddlecombe · piece {MANY - 1}" in stage.text
        calls = [call for call in shop.asked if call.startswith("reseals")]
        assert calls == ["reseals 50 0", "reseals 50 3400"]


async def test_the_best_days_of_a_short_book_stand_beside_it_unasked(open_app: Open, fake: Any) -> None:
    shop = desks(fake)
    async with open_app(desks=shop) as stage:
        await stage.press("3")
        assert "best days" not in shop.asked
        shop.many = 300
        stage.app.screen.reread()
        await stage.settle()
        assert "best days" in shop.asked


async def test_a_move_in_a_long_book_notes_no_row_and_lays_nothing_out_again(
    open_app: Open, fake: Any
) -> None:
    """Textual notes every row of what is painted again: 4 ms a key in a book of 125,000."""
    async with open_app(desks=desks(fake), size=(120, 36)) as stage:
        await stage.press("3", "down")
        screen, roll = stage.app.screen, stage.app.screen.query_one(Roll)
        laid_out = {block: block._layout_updates for block in screen.query(Block)}
        screen.put_mark(5)
        assert len(roll._styles_cache._dirty_lines) < stage.app.size.height
        assert {block: block._layout_updates for block in screen.query(Block)} == laid_out
        await stage.settle()
        assert "▌ ○ due        Puddlecombe · piece 5" in stage.text
        assert stage.text.count("▌") == 1


async def test_a_heading_stands_on_the_same_ground_as_the_reseals(open_app: Open, fake: Any) -> None:
    async with open_app(desks=desks(fake)) as stage:
        await stage.press("3", "down")
        roll = stage.app.screen.query_one(Roll)
        grounds = [
            {piece.style.bgcolor for piece in roll.render_line(y) if piece.style} for y in (0, 1)
        ]  # Jun, and its first reseal
        assert grounds[0] == grounds[1]
        assert None not in grounds[0]


async def test_months_are_gone_to_whose_lines_were_never_read(open_app: Open, fake: Any) -> None:
    async with open_app(desks=desks(fake)) as stage:
        await stage.press("3", "right")
        assert stage.app.screen.current.name == "piece 2000"
        assert "Jul" in stage.row("  Jul").strip()
        await stage.press("up")
        assert stage.app.screen.current.name == "piece 1999"


async def test_a_page_of_a_list_that_changed_meanwhile_is_not_mixed_in(open_app: Open, fake: Any) -> None:
    shop = desks(fake)
    async with open_app(desks=shop) as stage:
        await stage.press("3")
        shop.many = MANY - 1
        await stage.press("end")
        assert stage.app.screen.count == MANY - 1
        assert stage.app.screen.current.name == f"piece {MANY - 2}"


def test_every_row_of_a_book_is_a_month_a_reseal_or_a_blank() -> None:
    lines = [
        replace(line(at), month=month)
        for at, month in enumerate(((2026, 6), (2026, 6), (2027, 1), (2027, 4)))
    ]
    book = Book(TODAY, TODAY, "", (), (), (6,), 4, 0, (((2026, 6), 0), ((2027, 1), 2), ((2027, 4), 3)))
    for width, blanks in ((60, 0), (80, 2)):
        height = care_paint.height(book, width)
        rows = [care_paint.row(book, y, lines.__getitem__, 0, width)[0].text for y in range(height)]
        assert len(rows) == 4 + 3 + blanks
        for at, one in enumerate(lines):
            assert one.name in rows[care_paint.row_of(book, at, width)]
        assert sum(not row.strip() for row in rows) == blanks


def test_a_line_that_has_not_come_says_which_it_is() -> None:
    book = Book(TODAY, TODAY, "", (), (), (6,), 9, 0, (((2026, 6), 0),))
    row, lacks = care_paint.row(book, 5, lambda _: None, 0, 80)
    assert (row.text.strip(), lacks) == ("…", 4)
