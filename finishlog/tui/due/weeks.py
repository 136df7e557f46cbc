"""The week plan: open reseals spread over weeks, and how that was decided."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType
from textual.message import Message

from finishlog.tui import actions
from finishlog.tui.paint.ink import Line, hanging, heading
from finishlog.tui.running.work import seldom
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.pane import Pane
from finishlog.units import write_weekday

if TYPE_CHECKING:
    from datetime import date

    from textual.app import ComposeResult

    from finishlog.desk.due.care import Progress
    from finishlog.records.care import Visit, WeekPlan
    from finishlog.tui.desks.views import JobView

START = 14
"""Column where titles start."""
FAILED = "not planned"
"""Seconds between progress reports."""


class WeeksScreen(Frame):
    """Plans in a worker on opening; the visits can be kept as the jobs' days."""

    SCOPE = "weeks"
    FOLLOWS = True
    PLACE = "care"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("weeks")

    class Told(Message, bubble=False):
        """Progress of the solver."""

        def __init__(self, sofar: str) -> None:
            super().__init__()
            self.sofar = sofar

    def __init__(self) -> None:
        super().__init__()
        self._made: WeekPlan | None = None
        self._sofar = ""
        self._planning = self._again = False

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Pane():
            yield Block(id="weeks")

    def on_mount(self) -> None:
        self.query_one("#title", Block).show(self._paint_title)
        self.query_one("#weeks", Block).show(self._paint_weeks)
        self.query_one(Pane).focus()
        self.reread()

    def reread(self) -> None:
        tell = self._progress("planned")
        self._planning = True
        self.ask("weeks", lambda: self.desks.weeks(tell), self._came, self._failed)

    def follow(self, *, in_sight: bool) -> None:
        """A plan that is being made is finished first: others who keep writing would keep it from ever being there."""
        self._again = self._planning
        if not self._again:
            super().follow(in_sight=in_sight)

    def _came(self, made: WeekPlan) -> None:
        self._made, self._sofar, self._planning = made, "", False
        self.repaint()
        if self._again:
            self.follow(in_sight=self.is_current)

    def _progress(self, what: str) -> Progress:
        return seldom(lambda done, total: self.post_message(self.Told(f"{done} of {total} {what}…")))

    def on_weeks_screen_told(self, event: Told) -> None:
        self._sofar = event.sofar
        self.query_one("#title", Block).repaint()

    @property
    def sentence(self) -> str:
        return self._made.how[0] if self._made else ""

    def _paint_title(self, width: int) -> list[Line]:
        fact = f"{self._made.per_week} a week at most" if self._made else "planning…"
        return self.head("Week plan", self._sofar or fact, width)

    def _paint_weeks(self, width: int) -> list[Line]:
        return page(self._made, width, self.house.services.today()) if self._made else []

    def action_keep(self) -> None:
        """Save the plan's days to their jobs, except days people set."""
        made = self._made
        if made is None:
            self.say("no plan yet" if self._sofar == FAILED else "planning…")
            return
        tell = self._progress("kept")
        self.put(lambda: self.desks.keep_weeks(made, tell), self._kept, self._failed)

    def _failed(self, error: Exception) -> None:
        """The work is done: clear the progress in the title."""
        self._planning = False
        self._sofar = FAILED if self._made is None else ""
        self.repaint()
        self.fail(error)

    def action_job(self, handle: str) -> None:
        """Open the job of the clicked visit."""
        self.ask("job", lambda: self.desks.job(handle), self._open_job)

    def _open_job(self, view: JobView) -> None:
        from finishlog.tui.jobs.job import JobScreen

        self.app.push_screen(JobScreen(view.page.line))

    def _kept(self, changed: int) -> None:
        self._sofar = ""
        self.house.done(f"The day of {changed} {'job' if changed == 1 else 'jobs'} was kept.")
        self.house.changed()


def page(made: WeekPlan, width: int, today: date) -> list[Line]:
    """The weeks, then what did not fit, then how it was decided."""
    lines: list[Line] = []
    for week in made.weeks:
        name = f"Week of {write_weekday(week.monday, today)}"
        lines.append(Line().bold(name).muted("  full" if week.full else ""))
        lines += [_visit(visit, width) for visit in week.visits]
        lines.append(Line())
    if made.left:
        lines += heading("No room", width)
        lines += [
            row
            for job, why in made.left
            for row in hanging(Line().put("! ", "warn").put(f"{job}  "), why, width)
        ]
        lines.append(Line())
    lines += heading("How it was decided", width)
    return [*lines, *(row for how in made.how[1:] for row in hanging(Line().muted("· "), how, width))]


def _visit(visit: Visit, width: int) -> Line:
    glyph, tone = ("●", "ok") if visit.fixed else ("!", "warn") if visit.outside else ("○", "text")
    act = f"job({visit.job!r})"
    row = Line().put(glyph, tone, act=act).put(" ", act=act).put(write_weekday(visit.on), act=act)
    row.to(START).put(visit.title, act=act)
    half = (width - START) // 2
    why = visit.why if len(visit.why) <= half else visit.why.split(", ")[0]
    return row.facing(Line().muted(why).crop(half), width)
