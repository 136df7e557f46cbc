"""Jobs: find one, open it, plan from it, or start a new one."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.desks import looking
from finishlog.tui.jobs.finder import JobFinder
from finishlog.tui.widgets.canvas import Block


class JobsScreen(JobFinder):
    """The finder, with what can be done to the marked job."""

    SCOPE = "jobs"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("jobs")

    def action_open(self) -> None:
        from finishlog.tui.jobs.job import JobScreen

        if (line := self.rows.current) is not None:
            self.app.push_screen(JobScreen(line))

    def action_photo(self) -> None:
        """Start a search by photo in the find box."""
        self.box.value = looking.PHOTO
        self.box.focus()
        self.box.cursor_position = len(looking.PHOTO)

    def action_archived(self) -> None:
        """Toggle archived jobs."""
        self._archived = not self._archived
        self.query_one("#find-hint", Block).repaint()
        self._ask()

    def action_match(self) -> None:
        from finishlog.tui.match.measure import MeasureScreen

        if (line := self.rows.current) is not None:
            self.app.push_screen(MeasureScreen(line.handle))

    def action_new(self) -> None:
        from finishlog.tui.jobs.new import NewJobScreen

        self.app.push_screen(NewJobScreen())
