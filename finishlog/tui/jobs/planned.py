"""A job screen's plan before the pour: how it would differ now, and remaking it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.tui.screens.frame import Frame

if TYPE_CHECKING:
    from finishlog.records.log import JobLine
    from finishlog.tui.desks.views import JobView, PlanView


class PlannedJob(Frame):
    """The part of a job's screen about its plan."""

    def __init__(self, line: JobLine) -> None:
        super().__init__()
        self._line = line
        self._view: JobView | None = None
        self.since: tuple[str, ...] = ()

    @property
    def is_planned(self) -> bool:
        """Whether it has a plan and no pour yet."""
        page = self._view.page if self._view else None
        return page is not None and page.planned is not None and page.line.poured_on is None

    def ask_since(self) -> None:
        """How the plan would differ if made now."""
        if self.is_planned:
            self.ask("since", lambda: self.desks.plan_since(self._line.handle), self._learned, lambda _: None)

    def _learned(self, since: tuple[str, ...]) -> None:
        self.since = since
        self.repaint()

    def action_match(self) -> None:
        """Plan an addition; on a planned job, remake its own plan."""
        from finishlog.tui.match.measure import MeasureScreen

        if self.is_planned:
            self.ask("again", lambda: self.desks.plan_again(self._line.handle), self._made_again)
        else:
            self.app.push_screen(MeasureScreen(self._line.handle))

    def _made_again(self, view: PlanView) -> None:
        from finishlog.tui.match.screen import MatchScreen

        self.app.push_screen(MatchScreen(view, again=self._line.handle))
