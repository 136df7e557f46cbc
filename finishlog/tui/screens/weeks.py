"""The week plan: the open reseals spread over weeks, with how that was decided."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.ink import Line, hanging, heading
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.pane import Pane
from finishlog.units import write_weekday

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from finishlog.records.care import Visit, WeekPlan


class WeeksScreen(Frame):
    SCOPE = "weeks"
    PLACE = "care"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("weeks")

    def __init__(self) -> None:
        super().__init__()
        self._made: WeekPlan | None = None

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Pane():
            yield Block(id="weeks")

    def on_mount(self) -> None:
        self.query_one("#title", Block).show(self._paint_title)
        self.query_one("#weeks", Block).show(lambda width: page(self._made, width))
        self.query_one(Pane).focus()
        self.reread()

    def reread(self) -> None:
        self.ask("weeks", self.desks.weeks, self._came)

    def _came(self, made: WeekPlan) -> None:
        self._made = made
        self.repaint()

    @property
    def sentence(self) -> str:
        return self._made.how[0] if self._made else ""

    def _paint_title(self, width: int) -> list[Line]:
        fact = f"{self._made.per_week} a week at most" if self._made else "planning…"
        return self.head("Week plan", fact, width)

    def action_keep(self) -> None:
        """Keep the plan's days with their jobs; what people set stays."""
        made = self._made
        if made is not None:
            self.put(lambda: self.desks.keep_weeks(made), self._kept)

    def _kept(self, changed: int) -> None:
        self.house.done(f"The day of {changed} {'job' if changed == 1 else 'jobs'} was kept.")
        self.house.changed()


def page(made: WeekPlan | None, width: int) -> list[Line]:
    """Week by week, then what found no place, then how it was decided."""
    if made is None:
        return []
    lines: list[Line] = []
    for week in made.weeks:
        year = "" if week.monday.year == made.weeks[0].monday.year else f" {week.monday.year}"
        name = f"Week of {write_weekday(week.monday)}{year}"
        lines.append(Line().bold(name).muted("  full" if week.full else ""))
        lines += [_visit(visit, width) for visit in week.visits]
        lines.append(Line())
    if made.left:
        lines += heading("No place", width)
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
    row = Line().put(glyph, tone).gap(1).put(write_weekday(visit.on)).to(14).put(visit.title)
    return row.facing(Line().muted(visit.why).crop((width - 14) // 2), width)
