"""Today: what is due on all jobs, in the order to act. Enter, Enter logs the marked line."""

from __future__ import annotations

from time import monotonic
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.due import today_paint
from finishlog.tui.due.marked_jobs import MarkedJobs
from finishlog.tui.paint.ink import Line
from finishlog.tui.screens.marked import WHY

if TYPE_CHECKING:
    from finishlog.desk.record.record import Recorded
    from finishlog.records.due import Today, TodayLine

TICK = 5
"""Seconds between checks of the clock."""

HELD = 0.3
"""Seconds within which a repeated Enter counts as held down, so one hold logs one line at most."""


class TodayScreen(MarkedJobs["TodayLine"]):
    """Keeps the list as first read: lines are retold by the minute, not reordered."""

    SCOPE = "today"
    PLACE = "today"
    FOLLOWS = True
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("today")

    def __init__(self) -> None:
        super().__init__()
        self._found: Today | None = None
        self._told: Today | None = None
        self._minute = ""
        self._in_sheet = False
        self._entered = 0.0

    def on_mount(self) -> None:
        super().on_mount()
        self.set_interval(TICK, self._tick)

    def on_screen_resume(self) -> None:
        """Sort again on each visit, but not when its own sheet closes."""
        if self._in_sheet:
            self._in_sheet = False
        else:
            self.reread()

    def reread(self) -> None:
        self.ask("due", self.desks.due, self._came)

    def _came(self, found: Today) -> None:
        before = self.current
        self._found = self._told = found
        self.mark_again(before)

    def _tick(self) -> None:
        """Update the times each minute, not the order: no line may jump from under a finger."""
        minute = f"{self.house.services.clock():%H:%M}"
        found, before = self._found, self._minute
        self._minute = minute
        if before not in ("", minute) and found is not None and self in self.app.screen_stack:
            self.ask("tick", lambda: self.desks.retold(found), lambda told: self._ticked(found, told))

    def _ticked(self, found: Today, told: Today) -> None:
        if found is self._found:
            self._told = told
            self.repaint()

    @property
    def lines(self) -> tuple[TodayLine, ...]:
        return self._told.lines if self._told else ()

    @staticmethod
    def key_of(line: TodayLine) -> object:
        return line.job, line.what, line.area, line.age_days

    @property
    def sentence(self) -> str:
        return self._told.sentence if self._told else ""

    # painting

    def paint_title(self, width: int) -> list[Line]:
        fact = self.busy or ("" if self._told else "reading…")
        return [*today_paint.title(self.sentence, fact, width), Line()]

    def paint_lines(self, width: int) -> list[Line]:
        if self._found is None or self._told is None:
            return []
        return today_paint.page(self._found, self._told, self._mark, width)

    def paint_why(self, width: int) -> list[Line]:
        return today_paint.why(self.current, WHY, width)

    def paint_aside(self, width: int) -> list[Line]:
        return today_paint.aside(self.current, width)

    # keys

    def action_open(self) -> None:
        """Open the sheet; for a pour, which takes several entries, open the job."""
        before, self._entered = self._entered, monotonic()
        if self._entered - before > HELD:
            self.with_line(lambda line: self.action_job() if line.what == "pour" else self._open_sheet(line))

    def _open_sheet(self, line: TodayLine) -> None:
        from finishlog.tui.due.today_sheet import DueSheet

        self._in_sheet = True
        self.app.push_screen(DueSheet(line, self.written))

    def written(self, handle: str) -> None:
        self._entered = monotonic()
        super().written(handle)

    def gone(self) -> None:
        """Say so, and ignore an Enter meant for that line."""
        self._entered = monotonic()
        super().gone()

    def action_put_off(self) -> None:
        from finishlog.tui.due.today_sheet import PutOffSheet

        def opened(line: TodayLine) -> None:
            self._in_sheet = True
            self.app.push_screen(PutOffSheet(line, self.written))

        self.with_line(opened)

    def action_not_for(self) -> None:
        self.with_line(lambda line: self.put(lambda: self.desks.not_for(line), self._taken_off))

    def _taken_off(self, recorded: Recorded) -> None:
        self.written(recorded.job)
        self.house.done(f"{recorded.sentence} u undoes it.")
        self.house.changed()

    def action_log(self) -> None:
        from finishlog.tui.log.kinds import KindScreen

        self.with_line(lambda line: self.app.push_screen(KindScreen(line.job, line.who, ())))

    def action_rinse(self) -> None:
        from finishlog.tui.rinse.screen import RinseScreen

        if self.current is not None and self.current.what == "rinse":
            self.app.push_screen(RinseScreen(self.current.job, self.current.who))
        else:
            self.say("r works on a rinse line")

    def action_photo(self) -> None:
        from finishlog.tui.photo.photos import PhotosScreen

        self.with_line(lambda line: self.app.push_screen(PhotosScreen(line.job, line.who)))
