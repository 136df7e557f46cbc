"""Match: the plan for an addition that should look like the old slab."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.desk.plan import words
from finishlog.tui import actions
from finishlog.tui.match import paint
from finishlog.tui.paint import wording
from finishlog.tui.paint.ink import Line
from finishlog.tui.screens.frame import HIGH, Frame
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from finishlog.tui.desks.views import PlanView


class MatchScreen(Frame):
    """Nothing is saved until asked; then it becomes a planned job."""

    SCOPE = "match"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("match")

    def __init__(self, view: PlanView, again: str = "") -> None:
        """`again` is the planned job this plan was remade for."""
        super().__init__()
        self._again = again
        self._view = view
        self._saved = ""

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Pane():
            yield Block(id="plan")

    def on_mount(self) -> None:
        self.query_one("#title", Block).show(self._paint_title)
        self.query_one("#plan", Block).show(self._paint_plan)
        self.query_one(Pane).focus()

    @property
    def site_zone(self) -> str:
        return self._view.plan.reference_job.site.zone

    @property
    def sentence(self) -> str:
        return paint.verdict(self._view.plan)[0]

    # painting

    def _paint_title(self, width: int) -> list[Line]:
        draft = "remade, not saved" if self._again else "draft, not saved"
        fact = "saved" if self._saved else draft
        notes = wording.cannot_show(self.house.depth, width) if self._view.base is not None else []
        if under := words.under_headline(self._view.plan):
            notes = [Line().muted(under).crop(width), *notes]
        tone = paint.verdict(self._view.plan)[1]
        return self.head(self._view.plan.title, fact, width, *notes, tone=tone)

    def _paint_plan(self, width: int) -> list[Line]:
        plan, system = self._view.plan, self.house.units
        joint = paint.joint(self._view, width, self._joint_rows, self.house.depth, self.house.palette.dark)
        if self.wide:
            return [
                *joint,
                Line(),
                paint.dates(plan, width),
                Line(),
                *paint.wide(plan, width, system),
            ]
        gap = [] if self.low else [Line()]
        return [
            *joint,
            *gap,
            *paint.short(plan, width, system),
            Line(),
            *paint.whole(plan, width, system),
        ]

    @property
    def _joint_rows(self) -> int:
        return 6 if self.size.height >= HIGH else 2 if self.low else 3

    # keys

    def action_whole(self) -> None:
        pane = self.query_one(Pane)
        if pane.scroll_offset.y >= pane.max_scroll_y:
            pane.scroll_home(animate=False)
        else:
            pane.scroll_page_down(animate=False)

    def action_edit(self) -> None:
        self.app.pop_screen()

    def action_save(self) -> None:
        if self._saved:
            self.say("already saved")
            return
        plan, again = self._view.plan, self._again
        if again:
            self.put(lambda: self.desks.save_again(again, plan), self._kept)
        else:
            self.put(lambda: self.desks.save(plan, plan.request.name), self._kept)

    def _kept(self, handle: str) -> None:
        self._saved = handle
        self.repaint()
        new = "Saved. Find it under Jobs as planned."
        self.house.done("Saved with its job; the earlier plan stays in the log." if self._again else new)
        self.house.changed()

    def action_paper(self) -> None:
        from finishlog.tui.forms.paper import PlanPaper

        self.app.push_screen(PlanPaper(self._view.plan))
