"""Care: reseals due by month, who was contacted, what is booked."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.due import care_paint
from finishlog.tui.due.marked_jobs import OpensJobs
from finishlog.tui.paint.ink import Line, paragraph
from finishlog.tui.screens.marked import WHY
from finishlog.tui.screens.paged import PagedScreen
from finishlog.tui.screens.pages import PAGE, around, place

if TYPE_CHECKING:
    from datetime import date

    from finishlog.desk.record.record import Recorded
    from finishlog.records.care import CareState, Reseal, Visit
    from finishlog.tui.desks.office import BookView


BEST_MOST = 300
"""Reseals for which the best days stand beside a book unasked: above, the week plan says them."""


class CareScreen(OpensJobs["Reseal"], PagedScreen["Reseal"]):
    """Shows the list first; the week plan's best days follow."""

    SCOPE = "care"
    PLACE = "care"
    FOLLOWS = True
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("care")

    def __init__(self) -> None:
        super().__init__()
        self._found: BookView | None = None
        self._best: Mapping[str, Visit] = {}

    def reread(self) -> None:
        limit, offset = around(self._mark)
        self.ask("reseals", lambda: self.desks.reseals(limit, offset), self._came)

    def _came(self, found: BookView) -> None:
        row = self._row_now()
        self._found = found
        self.filled(found.book.lines, found.book.offset, found.book.total, row)
        self._best = self._best if self.count <= BEST_MOST else {}
        if 0 < self.count <= BEST_MOST:
            self.ask("best", self.desks.best_days, self._best_came)

    def read_page(self, offset: int) -> None:
        def came(found: BookView) -> None:
            self.page_came(found.book.lines, offset, found.book.total)

        self.ask(f"page {offset}", lambda: self.desks.reseals(PAGE, offset), came)

    def _best_came(self, best: Mapping[str, Visit]) -> None:
        self._best = best
        self.repaint()

    @property
    def best(self) -> Visit | None:
        """The week plan's visit for the marked line; None if not planned."""
        return self._best.get(self.current.job) if self.current else None

    @staticmethod
    def key_of(line: Reseal) -> object:
        return line.uid

    @property
    def sentence(self) -> str:
        return self._found.book.sentence if self._found else ""

    # painting

    def paint_title(self, width: int) -> list[Line]:
        found = self._found
        if found is None:
            return self.head("Care", "reading…", width)
        at = place(self._mark, self.count)
        head = self.head("Care", f"{at} · {found.season}" if at else f"season: {found.season}", width)
        glance = care_paint.glance(found.book.months, width)
        return [*head, *glance, *([] if self.low else [care_paint.legend(width), Line()])]

    def row_count(self, width: int) -> int:
        if self._found is None:
            return 0
        return care_paint.height(self._found.book, width) or len(self._nothing(width))

    def row_of(self, index: int, width: int) -> int:
        return care_paint.row_of(self._found.book, index, width) if self._found else 0

    def paint_row(self, y: int, width: int) -> tuple[Line, int | None]:
        if self._found is None or not self.count:
            return self._nothing(width)[y], None
        return care_paint.row(self._found.book, y, self.pages.at, self._mark, width)

    def _nothing(self, width: int) -> list[Line]:
        return paragraph("Sealed slabs show up here when their window opens.", width - 2, "muted", indent=2)

    def paint_why(self, width: int) -> list[Line]:
        return care_paint.why(self.current, self.best, WHY, width)

    def paint_aside(self, width: int) -> list[Line]:
        return care_paint.aside(self.current, self.best, width, self.house.units)

    # keys

    def action_month(self, by: int) -> None:
        """Mark the first line of the next or the previous month."""
        starts = [at for _, at in self._found.book.starts] if self._found else []
        if starts:
            at = bisect_right(starts, self._mark) - 1 + by
            self.put_mark(starts[max(0, min(at, len(starts) - 1))])

    def action_month_at(self, year: int, month: int) -> None:
        """Mark the first line of the clicked month."""
        starts = dict(self._found.book.starts) if self._found else {}
        if (year, month) in starts:
            self.put_mark(starts[year, month])

    def action_open(self) -> None:
        """Open the form with the likely next state: contacted after a reminder."""
        self.with_line(
            lambda line: self._form(line, "contacted" if line.state == "written" else line.state, line.on)
        )

    def _form(self, line: Reseal, state: CareState, on: date | None) -> None:
        from finishlog.tui.due.care_form import ResealScreen

        self.app.clear_notifications()  # they would cover the form
        self.app.push_screen(ResealScreen(line, state, on, self.written))

    def action_next(self) -> None:
        """Due, contacted, booked; a booking asks for its day."""
        self.with_line(self._step)

    def _step(self, line: Reseal) -> None:
        still_due = line.state in ("due", "written")
        if still_due and line.left_alone:
            self._form(line, "contacted", None)
        elif still_due:
            self.put(
                lambda: self.desks.set_care(line, "contacted", None, "", "", None), self._done,
                lambda error: self._asked(error, line),
            )  # fmt: skip
        elif line.state == "contacted":
            self._book(line)
        else:
            self.say("Enter logs how it went")

    def _asked(self, error: Exception, line: Reseal) -> None:
        """Someone else just logged it, so the form asks why."""
        if hasattr(error, "doubts"):
            self._form(line, "contacted", None)
        else:
            self.fail(error)

    def action_book(self) -> None:
        self.with_line(self._book)

    def _book(self, line: Reseal) -> None:
        """On the day set by hand, else the customer's, else the week plan's."""
        asked = line.planned and (line.wanted is not None or line.weekday is not None)
        if line.on is not None and line.state != "done" and not asked:
            self._form(line, "booked", line.on)
        else:
            self.ask(
                "day", lambda: self.desks.offered_day(line.job), lambda on: self._form(line, "booked", on)
            )

    def _done(self, recorded: Recorded) -> None:
        self.written(recorded.job)
        self.house.done(" ".join((recorded.sentence, *recorded.warnings, "u undoes it.")))
        self.house.changed()

    def action_came_back(self) -> None:
        """The last reminder bounced, or was refused."""
        self.with_line(self._reminder_back)

    def _reminder_back(self, line: Reseal) -> None:
        from finishlog.tui.due.care_back import CameBackScreen

        if line.last_written is None:
            self.say("nothing was sent to them this season")
        else:
            self.app.push_screen(CameBackScreen(line, self.written))

    def action_weeks(self) -> None:
        from finishlog.tui.due.weeks import WeeksScreen

        self.app.push_screen(WeeksScreen())

    def action_paper(self) -> None:
        from finishlog.tui.due.care_paper import ResealPaper

        if self._found is not None:
            self.app.clear_notifications()
            self.app.push_screen(ResealPaper(self._found.book))
