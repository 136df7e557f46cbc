"""What a job's screen does while its plan waits to be poured: say what the log learned since, make it again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.tui.screens.frame import Frame

if TYPE_CHECKING:
    from finishlog.records.log import JobLine
    from finishlog.tui.desks.views import JobView, PlanView


class PlannedJob(Frame):
    """The part of a job's screen that knows its plan."""

    def __init__(self, line: JobLine) -> None:
        super().__init__()
        self._line = line
        self._view: JobView | None = None
        self.since: tuple[str, ...] = ()

    @property
    def is_planned(self) -> bool:
        """Whether its plan is still to be poured."""
        page = self._view.page if self._view else None
        return page is not None and page.planned is not None and page.line.poured_on is None

    def ask_since(self) -> None:
        """What the plan would say otherwise, were it made again now."""
        if self.is_planned:
            self.ask("since", lambda: self.desks.plan_since(self._line.handle), self._learned, lambda _: None)

    def _learned(self, since: tuple[str, ...]) -> None:
        self.since = since
        self.repaint()

    def action_match(self) -> None:
        """A plan for an addition; of a job that is planned itself, its own plan again."""
        from finishlog.tui.match.measure import MeasureScreen

        if self.is_planned:
            self.ask("again", lambda: self.desks.plan_again(self._line.handle), self._made_again)
        else:
            self.app.push_screen(MeasureScreen(self._line.handle))

    def _made_again(self, view: PlanView) -> None:
        from finishlog.tui.match.screen import MatchScreen

        self.app.push_screen(MatchScreen(view, again=self._line.handle))
