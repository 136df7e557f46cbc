"""Today: one list of what is due over all jobs, in the order of acting. Enter, Enter logs the marked line."""

from __future__ import annotations

from collections.abc import Callable
from time import monotonic
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical

from finishlog.tui import actions
from finishlog.tui.ink import Line, rule
from finishlog.tui.screens import today_paint
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from finishlog.desk.record import Recorded
    from finishlog.records.due import Today, TodayLine
    from finishlog.tui.desks import JobView

WHY = 2
"""Rows under the list that say why."""
TICK = 5
"""Seconds between two looks at the clock."""

HELD = 0.3
"""Seconds between two Enters of a key that is held down: one hold logs one line at most."""


class Lines(Pane):
    """The list: the arrows move the mark."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(key, f"screen.move({by})", show=False)
        for key, by in (
            ("up", -1), ("down", 1), ("pageup", -10), ("pagedown", 10), ("home", -10_000), ("end", 10_000),
        )
    ]  # fmt: skip


class TodayScreen(Frame):
    SCOPE = "today"
    PLACE = "today"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("today")

    def __init__(self) -> None:
        super().__init__()
        self._found: Today | None = None
        self._told: Today | None = None
        self._mark = 0
        self._minute = ""
        self._in_sheet = False
        self._logged: list[str] = []
        self._entered = 0.0

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Horizontal(id="due"):
            with Vertical():
                with Lines():
                    yield Block(id="lines")
                yield Block(id="why")
            yield Block(id="aside")

    def on_mount(self) -> None:
        for name, painter in (
            ("title", self._paint_title), ("lines", self._paint_lines), ("why", self._paint_why),
            ("aside", self._paint_aside),
        ):  # fmt: skip
            self.query_one(f"#{name}", Block).show(painter)
        self.query_one(Lines).focus()
        self.set_interval(TICK, self._tick)

    def on_screen_resume(self) -> None:
        """A new visit orders the list anew; coming back from its own sheet is none."""
        if self._in_sheet:
            self._in_sheet = False
        else:
            self.reread()

    def reread(self) -> None:
        self.ask("due", self.desks.due, self._came)

    def _came(self, found: Today) -> None:
        """The mark stays on its line, or where that stood."""
        marked = _key(self.current) if self.current else None
        keys = [_key(line) for line in found.lines]
        self._found = self._told = found
        self._mark = keys.index(marked) if marked in keys else min(self._mark, max(len(keys) - 1, 0))
        self.repaint()
        self.call_after_refresh(self._show_mark)

    def _tick(self) -> None:
        """The times count down by the minute; the order stays, so that no line jumps away under a glove."""
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
    def current(self) -> TodayLine | None:
        """The line under the mark."""
        lines = self._told.lines if self._told else ()
        return lines[self._mark] if self._mark < len(lines) else None

    @property
    def sentence(self) -> str:
        return self._told.sentence if self._told else ""

    # painting

    def _paint_title(self, width: int) -> list[Line]:
        fact = self.busy or ("" if self._told else "reading…")
        return [*today_paint.title(self.sentence, fact, width), Line()]

    def _paint_lines(self, width: int) -> list[Line]:
        if self._found is None or self._told is None:
            return []
        return today_paint.page(self._found, self._told, self._mark, width)

    def _paint_why(self, width: int) -> list[Line]:
        if self.wide:
            return []
        told = today_paint.why(self.current, WHY, width)
        blank = [Line()] * (WHY - len(told))  # so that the list keeps its height while the mark moves
        return [rule(width), *told, *blank, *([] if self.low else [Line()])]

    def _paint_aside(self, width: int) -> list[Line]:
        return today_paint.aside(self.current, width) if self.wide else []

    def _show_mark(self) -> None:
        block, pane = self.query_one("#lines", Block), self.query_one(Lines)
        rows = [line.text for line in block.paint(block.size.width)]
        row = next((at for at, text in enumerate(rows) if text.startswith(today_paint.MARK)), 0)
        top, height = round(pane.scroll_offset.y), max(pane.size.height, 1)
        last = self._found is not None and self._mark == len(self._found.lines) - 1
        low, high = max(row - 1, 0), min(row + height - 1, len(rows)) if last else row + 1
        if low < top:
            pane.scroll_to(y=low, animate=False)
        elif high > top + height:
            pane.scroll_to(y=high - height, animate=False)

    # keys

    def action_move(self, by: int) -> None:
        lines = self._told.lines if self._told else ()
        self._mark = max(0, min(self._mark + by, len(lines) - 1))
        self.repaint()
        self._show_mark()

    def action_pick(self, at: int) -> None:
        self._mark = at
        self.repaint()
        self.action_open()

    def _with_line(self, call: Callable[[TodayLine], object]) -> None:
        if self.current is None:
            self.say("no line is marked")
        else:
            call(self.current)

    def action_open(self) -> None:
        """The sheet over the lower rows; a pour is more than one entry, so that its job opens."""
        before, self._entered = self._entered, monotonic()
        if self._entered - before > HELD:
            self._with_line(lambda line: self.action_job() if line.what == "pour" else self._open_sheet(line))

    def _open_sheet(self, line: TodayLine) -> None:
        from finishlog.tui.screens.today_sheet import DueSheet

        self._in_sheet = True
        self.app.push_screen(DueSheet(line, self._written))

    def _written(self, handle: str) -> None:
        self._entered = monotonic()
        self._logged.append(handle)

    def action_put_off(self) -> None:
        from finishlog.tui.screens.today_sheet import PutOffSheet

        def opened(line: TodayLine) -> None:
            self._in_sheet = True
            self.app.push_screen(PutOffSheet(line, self._written))

        self._with_line(opened)

    def action_not_for(self) -> None:
        self._with_line(lambda line: self.put(lambda: self.desks.not_for(line), self._taken_off))

    def _taken_off(self, recorded: Recorded) -> None:
        self._written(recorded.job)
        self.house.done(f"{recorded.sentence} u takes it back.")
        self.house.changed()

    def action_undo(self) -> None:
        """Take back what was written last from here."""
        if not self._logged:
            self.say("nothing was logged from here yet")
            return
        handle = self._logged.pop()
        self.put(lambda: self.desks.undo(handle), self._undone)

    def _undone(self, recorded: Recorded) -> None:
        self.house.done(recorded.sentence)
        self.house.changed()

    def action_log(self) -> None:
        from finishlog.tui.screens.kinds import KindScreen

        self._with_line(lambda line: self.app.push_screen(KindScreen(line.job, line.who, ())))

    def action_rinse(self) -> None:
        from finishlog.tui.screens.rinse import RinseScreen

        if self.current is not None and self.current.what == "rinse":
            self.app.push_screen(RinseScreen(self.current.job, self.current.who))
        else:
            self.say("r is for a rinse line")

    def action_photo(self) -> None:
        from finishlog.tui.screens.photos import PhotosScreen

        self._with_line(lambda line: self.app.push_screen(PhotosScreen(line.job, line.who)))

    def action_job(self) -> None:
        self._with_line(lambda line: self.ask("job", lambda: self.desks.job(line.job), self._open_job))

    def _open_job(self, view: JobView) -> None:
        from finishlog.tui.screens.job import JobScreen

        self.app.push_screen(JobScreen(view.page.line))


def _key(line: TodayLine) -> tuple[str, str, str | None, int | None]:
    """What makes a line the same one after it was read again."""
    return line.job, line.what, line.area, line.age_days
